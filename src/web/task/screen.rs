//! What a meter read on the screen of a projector: its part of the task form,
//! and how it reads.

use crate::care::task::{Display, ScreenLight};
use crate::care::typed::Typed;
use crate::vision::units::Lux;
use crate::web::check::Check;
use crate::web::form::Entry;

/// The three readings on a projector's screen: the field, its label, its short name.
const READINGS: [(&str, &str, &str); 3] = [
    ("screen_white", "Reading with a white slide", "with a white slide"),
    ("screen_black", "Reading with a black slide", "with a black slide"),
    ("screen_off", "Reading with the projector off", "with the projector off"),
];

/// Whether something stands in the readings.
pub(super) fn is_open(entry: &Entry) -> bool {
    READINGS.iter().any(|(field, ..)| !entry.get(field).trim().is_empty())
}

/// Reads what a meter read on the screen: all three readings, or none.
pub(super) fn read(check: &mut Check<'_>, display: Option<Display>) -> Option<ScreenLight> {
    let given = READINGS.map(|(field, ..)| !check.typed(field).is_empty());
    if given == [false; 3] {
        return None;
    }
    if display != Some(Display::Projector) && check.is_whole("display") {
        check.fault(
            "display",
            "The readings on a screen belong to a projector. Choose it here, or leave the readings empty.",
        );
    }
    let read = READINGS.map(|(field, label, _)| {
        let lux = check.opt_number(field, label, "lux", 0.0..=100_000.0)?;
        Some(Typed::new(check.typed(field), Lux::new(lux).ok()?))
    });
    for ((field, _, short), given) in READINGS.into_iter().zip(given) {
        if !given {
            check.fault(field, format!("Write what the meter read {short}, or leave all three empty."));
        }
    }
    let [Some(white), Some(black), Some(off)] = read else { return None };
    if black.value >= white.value {
        check.fault(
            "screen_black",
            format!("This must be less than with a white slide, {} lux. Were the two mixed up?", white.value.get()),
        );
    } else if off.value > black.value {
        check.fault(
            "screen_off",
            format!(
                "This cannot be more than with a black slide, {} lux: the light of the room is in that reading, too.",
                black.value.get()
            ),
        );
    }
    Some(ScreenLight { white, black, off })
}

/// The form with these readings in it.
pub(super) fn fill(entry: Entry, screen: Option<&ScreenLight>) -> Entry {
    let Some(read) = screen else { return entry };
    entry
        .with("screen_white", read.white.typed.clone())
        .with("screen_black", read.black.typed.clone())
        .with("screen_off", read.off.typed.clone())
}

/// What a meter read on the screen of a projector.
pub(in crate::web) fn told(screen: &ScreenLight) -> String {
    let lux = |read: &Typed<Lux>| format!("{} lux", read.value.get());
    format!(
        "{} with a white slide, {} with a black one, {} with the projector off",
        lux(&screen.white),
        lux(&screen.black),
        lux(&screen.off)
    )
}
