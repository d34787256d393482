//! A task in facts: as the list shows them, and field by field as they were typed.

use super::screen;
use crate::care::task::{self as care, Seat, VisualTask};
use crate::web::page::Context;
use crate::web::words;

/// Facts of a task as they were entered.
pub(in crate::web) fn facts_of(task: &VisualTask, context: &Context) -> Vec<(String, String)> {
    let mut facts: Vec<(String, String)> = Vec::new();
    let mut fact = |term: &str, value: String| {
        if !value.is_empty() {
            facts.push((term.to_owned(), value));
        }
    };
    let guessed = if task.what.measured { "" } else { ", not measured" };
    fact("Where", task.place().to_owned());
    fact("Goal", words::capital(task.what.goal.words()));
    fact(
        "How far",
        task.distance()
            .map_or(String::new(), |far| typed_length(&far.typed, words::distance(far.value, context)) + guessed),
    );
    fact(
        "Small letters",
        task.what.x_height.as_ref().map_or(String::new(), |tall| {
            typed_length(&tall.typed, words::height(tall.value.in_metres(), context)) + guessed
        }),
    );
    let shown_on = task.what.display.map_or("", care::Display::words);
    let marker = task.what.marker.map_or("", care::Marker::words);
    let both = [shown_on, marker].into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(", ");
    fact("Shown on", words::capital(&both));
    fact("Light", task.what.light.map_or(String::new(), |light| words::capital(light.words())));
    fact("Light on the screen", task.what.screen.as_ref().map_or(String::new(), screen::told));
    let target = match task.what.choices {
        Some(choices) => format!("one of {choices} choices"),
        None => task.what.target.words().to_owned(),
    };
    fact("To recognise", words::capital(&target));
    fact("Wanted by", task.what.wanted_by.clone());
    facts
}

/// What was typed, and the same in the reader's units where that differs.
pub(in crate::web) fn typed_length(typed: &str, shown: String) -> String {
    if typed.is_empty() {
        shown
    } else if typed == shown {
        typed.to_owned()
    } else {
        format!("{typed} ({shown})")
    }
}

/// Every field of a task as typed, for two people's texts side by side.
pub(super) fn told(task: &VisualTask, seats: &[Seat]) -> Vec<(String, String)> {
    let what = &task.what;
    let room = what.seat.and_then(|id| seats.iter().find(|seat| seat.id == id));
    [
        ("Kind", what.code.words().to_owned()),
        ("Name", what.name.clone()),
        ("Where", what.place.clone()),
        ("Seat", room.map_or(String::new(), |seat| seat.what.room.clone())),
        ("Far or near", what.track.words().to_owned()),
        ("Goal", what.goal.words().to_owned()),
        ("Distance", what.own_distance.as_ref().map_or(String::new(), |far| far.typed.clone())),
        ("Small letters", what.x_height.as_ref().map_or(String::new(), |tall| tall.typed.clone())),
        ("Measured", if what.measured { "yes" } else { "no" }.to_owned()),
        ("Shown on", what.display.map_or("", care::Display::words).to_owned()),
        ("Marker", what.marker.map_or("", care::Marker::words).to_owned()),
        ("Light", what.light.map_or("", care::LightLevel::words).to_owned()),
        ("Screen, white slide", what.screen.as_ref().map_or(String::new(), |read| read.white.typed.clone())),
        ("Screen, black slide", what.screen.as_ref().map_or(String::new(), |read| read.black.typed.clone())),
        ("Screen, projector off", what.screen.as_ref().map_or(String::new(), |read| read.off.typed.clone())),
        ("To recognise", what.target.words().to_owned()),
        ("Choices", what.choices.map_or(String::new(), |choices| choices.to_string())),
        ("Wanted by", what.wanted_by.clone()),
        ("In use", if task.retired { "no" } else { "yes" }.to_owned()),
    ]
    .map(|(label, value)| (label.to_owned(), value))
    .to_vec()
}
