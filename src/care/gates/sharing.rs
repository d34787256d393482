//! May something cross between school and clinic (G7)?
//!
//! The token names the consent it crosses under, so that every sending can keep
//! it. A red flag crosses as its kind and date without this gate.
//! Does not know what is already across: what was sent stays as sent.

use jiff::Timestamp;
use jiff::civil::Date;

use super::{Blocked, Gate};
use crate::care::consent::{Category, Consent, Direction, Emergency, Party};
use crate::care::ids::{AccountId, ConsentId};
use crate::care::journey::step::Act;

/// What is to cross, and when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Crossing {
    /// Which way.
    pub direction: Direction,
    /// The kind of record; none for records without one: any consent that way.
    pub category: Option<Category>,
    /// The clinic or service that receives it.
    pub to: Party,
    /// The day, in the installation's time zone.
    pub on: Date,
    /// The instant, for an emergency's 24 hours.
    pub at: Timestamp,
}

/// G7: it may cross.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MayCross {
    crossing: Crossing,
    ground: Ground,
}

/// What a crossing rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ground {
    /// A consent.
    Consent(ConsentId),
    /// An emergency that this account opened.
    Emergency(AccountId),
}

impl MayCross {
    /// What may cross, and when.
    #[must_use]
    pub const fn crossing(&self) -> &Crossing {
        &self.crossing
    }

    /// What it rests on.
    #[must_use]
    pub const fn ground(&self) -> Ground {
        self.ground
    }
}

/// G7: does a consent, or an emergency, let this cross?
///
/// A consent must be in force that way on that day, name the category and name
/// the party that receives. Of several, the newest counts.
///
/// # Errors
/// None does; the message says so without saying what is there.
pub fn may_cross(consents: &[Consent], emergencies: &[Emergency], crossing: Crossing) -> Result<MayCross, Blocked> {
    let Crossing { direction, category, on, at, .. } = crossing;
    let consent = consents
        .iter()
        .filter(|consent| consent.to == crossing.to)
        .filter(|consent| match category {
            Some(category) => consent.in_force(on, direction, category),
            None => consent.counts(on, direction),
        })
        .max_by_key(|consent| (consent.start, consent.id))
        .map(|consent| Ground::Consent(consent.id));
    let emergency = || {
        emergencies
            .iter()
            .filter(|emergency| match category {
                Some(category) => emergency.in_force(at, direction, category),
                None => emergency.counts(at, direction),
            })
            .max_by_key(|emergency| emergency.from)
            .map(|emergency| Ground::Emergency(emergency.by))
    };
    match consent.or_else(emergency) {
        Some(ground) => Ok(MayCross { crossing, ground }),
        None => Err(Blocked::at(
            Gate::Consent,
            Act::SignConsent,
            format!("No consent on file lets this go {} today.", direction.words()),
        )),
    }
}
