//! Which consents end soon or have ended with nothing in their place?
//!
//! A pure rule over the consents of one student. A consent is not due once
//! another of the same direction and party carries all its categories further.
//! Does not know who is told.

use jiff::ToSpan;
use jiff::civil::Date;

use super::Consent;

/// How many days before its end a consent is spoken of (common practice).
pub const WARNING_DAYS: i64 = 30;

/// How many days after its end it is still spoken of: a school year (common practice).
pub const REMEMBERED_DAYS: i64 = 365;

/// What is to be said of a consent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Due {
    /// Its last day is near.
    EndsSoon(Date),
    /// Its last day is over.
    Ended(Date),
}

/// The consents to renew, in the order given.
#[must_use]
pub fn due(consents: &[Consent], today: Date) -> Vec<(&Consent, Due)> {
    let soon = today.saturating_add(WARNING_DAYS.days());
    let long_ago = today.saturating_sub(REMEMBERED_DAYS.days());
    consents
        .iter()
        .filter(|consent| consent.withdrawn.is_none())
        .filter_map(|consent| {
            let end = consent.end?;
            let due = if end < today {
                (end >= long_ago).then_some(Due::Ended(end))?
            } else {
                (end <= soon && consent.start <= today).then_some(Due::EndsSoon(end))?
            };
            (!carried_on(consent, end, consents)).then_some((consent, due))
        })
        .collect()
}

/// Whether later consents name every category of this one. One that was
/// withdrawn since counts too: the family looked at it and decided.
fn carried_on(consent: &Consent, end: Date, consents: &[Consent]) -> bool {
    consent.categories.iter().all(|category| {
        consents.iter().any(|other| {
            other.id != consent.id
                && other.direction == consent.direction
                && other.to == consent.to
                && other.categories.contains(category)
                && other.end.is_none_or(|later| later > end)
        })
    })
}
