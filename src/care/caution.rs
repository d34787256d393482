//! Which warnings stand beside a device, and where?
//!
//! The texts are safety texts of the project, at about sixth grade, keyed so
//! that a catalogue can translate them. The sun rule and the stand-still rule
//! are on every telescope or magnifier screen and print and cannot be switched
//! off, so there is no switch here.
//! Does not know pages; [`cautions`] answers for a kind of device and a place.

use super::codes::codes;
use super::track::DeviceKind;

codes! {
    /// A warning; its words are the full text.
    pub enum Caution {
        Sun = "safe_sun" : "Never look at the sun, or near it, through a telescope or a magnifier. It can burn the eye in a moment and the damage can last forever.",
        Still = "safe_still" : "Stand still or sit down before you look. Do not walk, run, climb stairs, ride or cross a street while looking through it.",
        Fire = "safe_fire" : "A magnifier in sunlight can start a fire or burn skin. Do not leave it in the sun, in a car or on a window sill. Keep it in its case.",
        Cross = "safe_cross" : "The telescope helps you read a sign. It does not tell you that it is safe to cross. Use the crossing skills you were taught.",
        Strap = "safe_strap" : "Keep the strap on your neck or wrist, not both. Take a neck strap off for play, climbing and machines. Use a strap that opens when pulled.",
        Beams = "safe_other" : "Do not look into lasers, welding light or a projector beam.",
        Broken = "safe_glass" : "Do not use a cracked or loose device. Give it to an adult.",
        SmallParts = "safe_small" : "Small parts and batteries can choke a small child or harm if swallowed. Keep away from children under 3. Swallowed battery: get emergency help at once.",
        Share = "safe_share" : "Do not share the eye piece when an eye is red or sticky. Clean the device before another child uses it.",
        Rest = "safe_rest" : "Stop if your eyes hurt, your head hurts or you feel sick or dizzy. Rest. Tell an adult.",
        Glasses = "safe_glasses" : "Wear your glasses with the device if the clinician said so. Do not change lenses or focus locks.",
        Seizure = "safe_seize" : "If flashing light or eye strain has ever set off a seizure, ask the doctor before using lights or moving targets.",
        Adult = "safe_adult" : "For home use: an adult stays near until the child shows the two rules (sun, stand still) without help.",
        Care = "safe_care" : "Wipe with a clean soft cloth. No paper towel, no sleeve, no strong cleaner.",
    }

    /// Where cautions stand.
    pub enum Occasion {
        Screen = "screen" : "a screen about the device",
        Card = "card" : "the classroom card",
        Sheet = "sheet" : "a practice sheet",
        Loan = "loan" : "a loan",
        Session = "session" : "a training session",
        Home = "home" : "at home",
        Street = "street" : "outdoors and at streets",
    }
}

impl Caution {
    /// The cautions that nothing may leave out on any telescope or magnifier
    /// screen or print.
    pub const ALWAYS: &[Self] = &[Self::Sun, Self::Still];
}

/// The cautions for a device of this kind in that place, in reading order.
///
/// The seizure caution hangs on the student's medical alert, not on the device:
/// [`Caution::Seizure`] is added by whoever may read that.
#[must_use]
pub fn cautions(kind: DeviceKind, occasion: Occasion) -> Vec<Caution> {
    Caution::ALL.iter().copied().filter(|caution| concerns(*caution, kind) && stands(*caution, occasion)).collect()
}

fn concerns(caution: Caution, kind: DeviceKind) -> bool {
    let telescope = kind.is_telescope() || kind == DeviceKind::Other;
    let magnifier = kind.is_magnifier() || kind == DeviceKind::Other;
    let electronic = kind == DeviceKind::ElectronicHandheld;
    let filter = kind == DeviceKind::FilterLens;
    match caution {
        Caution::Sun => telescope || magnifier,
        Caution::Still => telescope || magnifier || electronic,
        Caution::Fire => magnifier,
        Caution::Cross | Caution::Strap | Caution::Beams => telescope,
        Caution::SmallParts | Caution::Share | Caution::Adult => !filter,
        Caution::Broken | Caution::Rest | Caution::Glasses | Caution::Care => true,
        Caution::Seizure => false,
    }
}

fn stands(caution: Caution, occasion: Occasion) -> bool {
    match caution {
        Caution::Sun | Caution::Still | Caution::Fire => true,
        Caution::Cross => occasion == Occasion::Street,
        Caution::Strap | Caution::Beams | Caution::Broken | Caution::Glasses | Caution::Rest => {
            occasion != Occasion::Screen
        }
        Caution::SmallParts | Caution::Care => {
            matches!(occasion, Occasion::Loan | Occasion::Home)
        }
        Caution::Share => matches!(occasion, Occasion::Loan | Occasion::Session),
        Caution::Adult => matches!(occasion, Occasion::Loan | Occasion::Home),
        Caution::Seizure => false,
    }
}
