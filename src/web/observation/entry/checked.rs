//! Reading the form: three answers are needed, what is left empty comes from the
//! task, and everything wrong is said beside its field.

use jiff::civil::Date;

use super::{INFORMANTS, Offered, Width};
use crate::care::flag::Sign;
use crate::care::gates::Named;
use crate::care::ids::VisualTaskId;
use crate::care::loan::named_of;
use crate::care::observation::possible::{MOST_TRIED, distance_refused, pair_refused, x_height_refused};
use crate::care::observation::{
    Band, Comfort, DeviceOut, Glasses, Graded, Help, Length, Mood, NewObservation, NonUse, Outcome, Pace, Place, Seen,
    Suggested, Tired,
};
use crate::care::student_words::Said;
use crate::care::task::{ContrastClass, TargetClass, TaskCode};
use crate::care::typed::Typed;
use crate::store::shared_note::Sharing;
use crate::vision::length::shown::Units;
use crate::vision::units::{Metres, Millimetres};
use crate::web::check::{Check, LONG_TEXT, SHORT_TEXT};
use crate::web::form::{Entry, Faults};
use crate::web::safety::noticed_days;
use crate::web::student_words;

/// What the form says, checked: the entry, the device it names and the red flag.
pub(super) struct Checked {
    pub(super) new: NewObservation,
    pub(super) named: Named,
    pub(super) flag: Option<Sign>,
    pub(super) said: Said,
    pub(super) sharing: Sharing,
}

fn seen(check: &mut Check<'_>, offered: &Offered) -> Option<Seen> {
    let typed = check.typed("task");
    let own = typed.parse::<VisualTaskId>().ok().filter(|id| offered.tasks.iter().any(|task| task.id == *id));
    let kind = typed.parse::<TaskCode>().ok().filter(|code| offered.kinds.contains(code));
    let found = own.map(Seen::Task).or(kind.map(Seen::Kind));
    if found.is_none() {
        check.fault(
            "task",
            if typed.is_empty() { "Choose what was looked at." } else { "Choose one of the things listed." },
        );
    }
    found
}

fn outcome(check: &mut Check<'_>) -> Option<Outcome> {
    let graded: Option<Graded> = check.opt_code("result", "How much was right");
    let (right, tried) = (check.typed("correct"), check.typed("tried"));
    match (right.is_empty(), tried.is_empty()) {
        (true, true) => {
            if graded.is_none() && check.typed("result").is_empty() {
                check.fault("result", "Choose how much was right, or write how many of how many.");
            }
            graded.map(Outcome::Graded)
        }
        (false, true) => {
            check.fault("tried", "Write how many were tried, too.");
            None
        }
        (true, false) => {
            check.fault("correct", "Write how many of them were right, too.");
            None
        }
        (false, false) => {
            let right = check.opt_whole("correct", "Right", 0..=MOST_TRIED);
            let tried = check.opt_whole("tried", "Tried", 1..=MOST_TRIED);
            if graded.is_some() {
                check.fault(
                    "result",
                    "Choose a word or write a count, not both. Clear the count, or leave the word as the count says.",
                );
            }
            let (right, tried) = (right?, tried?);
            let counted = Outcome::counted(right, tried);
            if counted.is_none() {
                check.fault("correct", format!("No more can be right than were tried: {tried}."));
            }
            counted
        }
    }
}

fn named(check: &mut Check<'_>, offered: &Offered, out: DeviceOut) -> Option<Named> {
    if out != DeviceOut::Yes {
        return Some(Named::NoDevice);
    }
    let typed = check.typed("device");
    if typed.is_empty() {
        return match (offered.that_day, offered.only()) {
            (_, Some(only)) => Some(only.named),
            (0, None) => {
                check.fault("device_out", "No device is in hand that day. Choose another answer, or ask the vision teacher to enter the loan.");
                None
            }
            (_, None) => {
                check.fault("device", "Choose which device was out.");
                None
            }
        };
    }
    // A device that is not offered is left to the gate, which says what comes first.
    let found = named_of(typed).filter(|named| *named != Named::NoDevice);
    if found.is_none() {
        check.fault("device", "Choose one of the devices listed.");
    }
    found
}

/// A length typed here, or the one of the task, marked so.
fn copied<T: Clone>(typed: Option<Length<T>>, of_task: Option<(String, T)>) -> Option<Length<T>> {
    typed.or_else(|| of_task.map(|(typed, value)| Length { typed, value, from_task: true }))
}

/// A length that something can be seen from or be tall; what cannot be is refused
/// in the units of whoever typed it.
fn possible(
    check: &mut Check<'_>,
    (name, label): (&str, &str),
    refused: impl Fn(Metres) -> Option<String>,
) -> Option<Typed<Metres>> {
    let typed = check.opt_length(name, label, 0.0..=f64::MAX)?;
    match refused(typed.value) {
        None => Some(typed),
        Some(why) => {
            check.fault(name, format!("{label}: {why}."));
            None
        }
    }
}

/// Both lengths may be and their pair may not: said beside the one typed here.
fn pair(check: &mut Check<'_>, tall: Option<&Length<Millimetres>>, far: Option<&Length<Metres>>, units: Units) {
    let (Some(tall), Some(far)) = (tall, far) else { return };
    let typed_here = [(!tall.from_task, "x_height"), (!far.from_task, "distance")];
    let Some((_, name)) = typed_here.into_iter().find(|(typed, _)| *typed) else { return };
    if let Some(why) = pair_refused(tall.value.in_metres(), far.value, units) {
        check.fault(name, format!("{why}."));
    }
}

pub(super) fn checked(
    entry: &Entry,
    offered: &Offered,
    (today, units): (Date, Units),
) -> std::result::Result<Checked, Faults> {
    let width = offered.width;
    let mut check = Check::new(entry);
    let stored = offered.stored.as_ref();
    let flag = if width == Width::Family && stored.is_none() { red_flag(&mut check) } else { Some(None) };
    let place: Option<Place> = match width {
        Width::Class => check.opt_code("place", "Where").or(Some(Place::OwnClass)),
        Width::Family | Width::Teacher => check.code("place", "Where"),
    };
    if place.is_some_and(|place| !offered.places.contains(&place)) {
        check.fault("place", "Choose one of the places listed.");
    }
    let informant = informant(&mut check, width);
    let seen = seen(&mut check, offered);
    let device_out: Option<DeviceOut> = check.code("device_out", "Was the device out");
    let named = device_out.and_then(|out| named(&mut check, offered, out));
    let outcome = outcome(&mut check);
    // What an entry took from its task on its day is not taken anew when it is
    // amended: the task may ask for something else by now.
    let as_stored = stored.filter(|stored| Some(stored.entered.seen) == seen);
    let task = match seen {
        Some(Seen::Task(id)) if as_stored.is_none() => offered.tasks.iter().find(|task| task.id == id),
        _ => None,
    };
    // What the form of a role does not ask is not read from it either.
    let (asks_band, asks_pace) = (width != Width::Class, width != Width::Family);
    let band: Option<Band> = asks_band.then(|| check.opt_code("band", "About how far")).flatten();
    let far = |far| distance_refused(far, units);
    let distance = possible(&mut check, ("distance", "From how far"), far).map(|typed| Length {
        typed: typed.typed,
        value: typed.value,
        from_task: false,
    });
    // Who says "across the room" has seen it from there, not from the task's place.
    let of_task = task.filter(|_| band.is_none()).and_then(|task| task.distance.as_ref());
    let distance = copied(distance, of_task.map(|length| (length.typed.clone(), length.value)));
    let distance = or_stored(distance, as_stored.and_then(|stored| stored.entered.distance.as_ref()));
    let tall = |tall| x_height_refused(tall, units);
    let x_height = possible(&mut check, ("x_height", "Height of the small letters"), tall).map(|typed| Length {
        typed: typed.typed,
        value: typed.value.in_millimetres(),
        from_task: false,
    });
    let of_task = task.and_then(|task| task.x_height.as_ref());
    let x_height = copied(x_height, of_task.map(|length| (length.typed.clone(), length.value)));
    let x_height = or_stored(x_height, as_stored.and_then(|stored| stored.entered.x_height.as_ref()));
    pair(&mut check, x_height.as_ref(), distance.as_ref(), units);
    let contrast: Option<ContrastClass> = check.opt_code("contrast", "How it stood out");
    let target: Option<TargetClass> = check.opt_code("target", "What had to be recognised");
    let choices = check.opt_whole("choices", "Among how many", 2..=99);
    let new = NewObservationParts {
        // The day may be left out: then it was today.
        seen_on: match check.typed("seen_on") {
            "" => Some(today),
            _ => check.date("seen_on", "The day", days(today, stored.map(|stored| stored.entered.seen_on))),
        },
        what: check.opt_text("what", "What it was", SHORT_TEXT),
        non_use: check.opt_code("non_use", "Why it was not out"),
        glasses: check.opt_code("glasses", "Glasses"),
        help: check.opt_code("help", "Help"),
        pace: asks_pace.then(|| check.opt_code("pace", "Pace")).flatten(),
        comfort: check.opt_code("comfort", "Eyes"),
        mood: check.opt_code("mood", "Mood"),
        tired: asks_band.then(|| check.opt_code("tired", "Tired after")).flatten(),
        suggested: asks_band.then(|| check.opt_code("suggested", "Whose idea")).flatten(),
        note: check.opt_text("note", "Note", LONG_TEXT),
    };
    let said = student_words::read(&mut check);
    let shared = width == Width::Family && check.ticked("share");
    check.build(|| {
        let device_out = device_out?;
        Some(Checked {
            said,
            sharing: if shared { Sharing::WithClass } else { Sharing::NotWithClass },
            flag: flag?,
            named: named?,
            new: NewObservation {
                seen_on: new.seen_on?,
                informant,
                seen: seen?,
                what: new.what,
                place,
                device_out,
                non_use: new.non_use.filter(|_| !matches!(device_out, DeviceOut::Yes | DeviceOut::NotNeeded)),
                glasses: new.glasses,
                distance,
                band,
                x_height,
                contrast: contrast.or(task.and_then(|task| Some(task.marker?.contrast_class()))),
                target: target.or(task.map(|task| task.target)),
                choices: choices.or(task.filter(|_| target.is_none()).and_then(|task| task.choices)),
                outcome: outcome?,
                help: new.help,
                pace: new.pace,
                comfort: new.comfort,
                mood: new.mood,
                tired: new.tired,
                suggested: new.suggested,
                note: new.note,
                language: "en".to_owned(),
            },
        })
    })
}

/// A year back from today, and never short of the day that is stored.
fn days(today: Date, stored: Option<Date>) -> std::ops::RangeInclusive<Date> {
    let days = noticed_days(today);
    stored.map_or_else(|| days.clone(), |stored| stored.min(*days.start())..=*days.end())
}

/// A length left as it stands in the form is the one that is stored, with where
/// it came from.
fn or_stored<T: Clone>(typed: Option<Length<T>>, stored: Option<&Length<T>>) -> Option<Length<T>> {
    match (typed, stored) {
        (Some(typed), Some(stored)) if typed.typed == stored.typed => Some(stored.clone()),
        (typed, _) => typed,
    }
}

/// The fields that are read one by one and need nothing else.
struct NewObservationParts {
    seen_on: Option<Date>,
    what: String,
    non_use: Option<NonUse>,
    glasses: Option<Glasses>,
    help: Option<Help>,
    pace: Option<Pace>,
    comfort: Option<Comfort>,
    mood: Option<Mood>,
    tired: Option<Tired>,
    suggested: Option<Suggested>,
    note: String,
}

/// The first question of a family's form: none of these, or which.
fn red_flag(check: &mut Check<'_>) -> Option<Option<Sign>> {
    match check.typed("flag") {
        "no" => Some(None),
        "" => {
            check.fault("flag", "Answer this first. \u{201c}No, none of these\u{201d} is one tap.");
            None
        }
        _ => check.code::<Sign>("flag", "Did you notice any of these").map(Some),
    }
}

fn informant(check: &mut Check<'_>, width: Width) -> String {
    let typed = check.typed("informant");
    if width != Width::Teacher || typed.is_empty() {
        return String::new();
    }
    match INFORMANTS.iter().find(|one| **one == typed) {
        Some(known) => (*known).to_owned(),
        None => {
            check.fault("informant", "Choose who told you, as a relation.");
            String::new()
        }
    }
}
