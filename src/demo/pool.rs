//! What is there before the students: how people like their pages, and the nine
//! devices that are lent, of which one is lost.

use super::cast::Who::{Ambrose, Chiamaka, Dev, Lucille, Marisol, Niamh, Petra};
use super::story::{Fields, Step, Story};

fn adds(story: &mut Story, tag: &str, kind: &str, fields: Fields<'_>) {
    let named = [("tag", tag), ("kind", kind)];
    story.press(Marisol, "/devices/new", "Add the device", &[&named[..], fields].concat());
}

pub(super) fn story() -> Vec<Step> {
    let mut story = Story::new("the pool");
    story.on(2026, 8, 28, 9);
    for who in [Dev, Lucille, Petra, Ambrose, Niamh] {
        story.press(who, "/account", "Save", &[("units", "imperial")]);
    }
    // She has low vision herself.
    story.press(Chiamaka, "/account", "Save", &[("units", "imperial"), ("appearance", "dark"), ("text_size", "26")]);
    let telescope = [("owner", "clinic_pool"), ("glasses", "over"), ("strap", "yes"), ("carry_case", "yes"), ("cleaned_on", "@2026-08-27")];
    for (tag, power, objective, field, near, weight, condition) in [
        ("LOAN-T-009", "4", "12", "12.5", "20 cm", "52", "good"),
        ("LOAN-T-011", "4", "12", "12.5", "20 cm", "52", "good"),
        ("LOAN-T-014", "6", "16", "10", "25 cm", "68", "good"),
        ("LOAN-T-017", "6", "18", "8", "30 cm", "85", "scratched"),
        ("LOAN-T-021", "8", "20", "7", "45 cm", "110", "good"),
    ] {
        let optics = [
            ("power", power),
            ("objective", objective),
            ("field", field),
            ("near_focus", near),
            ("weight", weight),
            ("condition", condition),
        ];
        adds(&mut story, tag, "handheld_monocular", &[&telescope[..], &optics].concat());
    }
    let magnifier = [("owner", "district_pool"), ("carry_case", "yes"), ("cleaned_on", "@2026-08-27")];
    for (tag, kind, more) in [
        (
            "LOAN-M-002",
            "hand_magnifier",
            &[("equivalent", "20"), ("lens", "35"), ("light", "battery"), ("condition", "lost"), ("note", "Left on the school bus; asked for twice.")][..],
        ),
        (
            "LOAN-M-003",
            "stand_magnifier",
            &[("equivalent", "12"), ("lens", "60"), ("stand", "55"), ("light", "battery"), ("label", "4x"), ("weight", "190"), ("condition", "good")],
        ),
        (
            "LOAN-M-005",
            "dome_magnifier",
            &[("lens", "65"), ("light", "none"), ("label", "1.8x"), ("weight", "240"), ("condition", "good")],
        ),
        (
            "LOAN-M-007",
            "hand_magnifier",
            &[("equivalent", "16"), ("lens", "40"), ("light", "none"), ("weight", "60"), ("condition", "good")],
        ),
    ] {
        adds(&mut story, tag, kind, &[&magnifier[..], more].concat());
    }
    story.finish()
}
