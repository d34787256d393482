//! Values that are possible but unusual: asked back once, taken when confirmed.
//!
//! The fault beside the tick box is the very text that ticking sends back, so a
//! confirmation counts for the values it named and for no others. What was
//! confirmed is stored with the record. Does not know what is unusual.

use super::check::Check;
use super::form::FormView;
use super::part::Choice;

/// The question put beside an unusual value.
fn question(unusual: &[String]) -> String {
    format!("Unusual: {}. Is that right? Tick the box if it is, or mend it.", unusual.join("; "))
}

/// Takes unusual values when they were confirmed and asks otherwise; gives what
/// is to be stored.
pub fn settle(check: &mut Check<'_>, name: &str, unusual: &[String]) -> String {
    if unusual.is_empty() {
        return String::new();
    }
    let asked = question(unusual);
    if check.typed(name) != asked {
        check.fault(name, asked);
    }
    unusual.join("; ")
}

/// The tick box, shown once something was asked back.
pub fn tick(form: &FormView, name: &str) -> Option<Choice> {
    let asked = form.faults.of(name).unwrap_or_else(|| form.entry.get(name));
    (!asked.is_empty()).then(|| form.checks(name, "Unusual values", &[(asked, "Yes, it is right as written")]))
}
