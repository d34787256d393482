use super::story::Step;

pub(super) fn story() -> Vec<Step> {
    Vec::new()
}
