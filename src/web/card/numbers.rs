//! The numbers a card may start from: the seat-and-print line of every room.
//!
//! Computed from what its writer may read; a room without a line says why. The
//! arithmetic is `care::sight` and `vision::seat_print`.

use crate::access::action::Read;
use crate::access::resource::{Evaluation, Guidance, Intake, Loans, Transcription, VisualTasks};
use crate::care::card::Figures;
use crate::care::goal::InUse;
use crate::care::sight::RoomLine;
use crate::care::task::Seat;
use crate::store::sight::Parts;
use crate::store::{Snapshot, goal, seat, sight, task};
use crate::vision::acuity::LogMar;
use crate::vision::length::shown::Units;
use crate::vision::seat_print::{Line, SeatAndPrint, SeatTold};
use crate::web::error::Result;
use crate::web::outside::SeatAsked;
use crate::web::page::Context;
use crate::web::task::goals;
use crate::web::visit::Visit;
use crate::web::{part, words};

/// The numbers of one room, or why there are none.
pub(super) struct Room {
    pub(super) id: String,
    pub(super) name: String,
    pub(super) figures: Figures,
    pub(super) words: Vec<(String, String)>,
    pub(super) why: String,
    pub(super) how: Option<part::How>,
}

/// The line of every room, computed from what this writer may read.
pub(super) async fn rooms(snapshot: &mut Snapshot, context: &Context, visit: &Visit) -> Result<Vec<Room>> {
    let guidance = visit.open::<Guidance, Read>().await?;
    let evaluation = guidance.part::<Evaluation>().ok();
    let transcription = guidance.part::<Transcription>().ok();
    let intake = guidance.part::<Intake>().ok();
    let loans = guidance.part::<Loans>().ok();
    let Ok(tasks_access) = guidance.part::<VisualTasks>() else { return Ok(Vec::new()) };
    let parts = Parts {
        evaluation: evaluation.as_ref(),
        transcription: transcription.as_ref(),
        intake: intake.as_ref(),
        loans: loans.as_ref(),
    };
    let known = sight::of(snapshot, &parts).await?;
    let tasks = task::tasks(snapshot, &tasks_access).await?;
    let seats = seat::seats(snapshot, &tasks_access).await?;
    let in_use = goal::of(snapshot, &tasks_access).await?;
    Ok(seats
        .iter()
        .map(|seat| match known.seat_line(seat, &tasks, in_use.goals(), in_use.markers()) {
            Ok(line) => room(context, seat, &line, &in_use),
            Err(why) => Room {
                id: seat.id.to_string(),
                name: seat.what.room.clone(),
                figures: Figures::default(),
                words: Vec::new(),
                why: words::capital(why.words()),
                how: None,
            },
        })
        .collect())
}

fn room(context: &Context, seat: &Seat, found: &RoomLine, in_use: &InUse) -> Room {
    let units = words::units(context);
    let mut figures = Figures {
        size_mm: Some(found.writing.x_height.get() * 1_000.0),
        usual_m: Some(seat.what.distance.value.get()),
        ..Figures::default()
    };
    let mut why = String::new();
    match &found.line {
        SeatAndPrint::Advice(advice) => {
            figures.seat_m = reachable(&advice.unaided, units);
            figures.letter_mm = Some(advice.unaided.letter.get() * 1_000.0);
            if advice.seen_from_the_side.is_some() {
                "The usual seat is far to the side, so the numbers are too hopeful.".clone_into(&mut why);
            }
        }
        SeatAndPrint::MendContrastFirst { .. } => {
            "The writing is too faint. Mend the contrast first: no seat and no size does.".clone_into(&mut why);
        }
        SeatAndPrint::MoveTheSeat { .. } => {
            "The usual seat is too far to the side. Move the seat first.".clone_into(&mut why);
        }
    }
    let with = found.with.iter().find_map(|(_, used, line)| match line {
        SeatAndPrint::Advice(advice) => Some((used, advice.with_device?)),
        _ => None,
    });
    if let Some((_, line)) = &with {
        figures.with_device_seat_m = reachable(line, units);
        figures.with_device_letter_mm = Some(line.letter.get() * 1_000.0);
    }
    let mut how = part::how(&[
        "Farthest seat: where the smallest measured writing keeps the acuity reserve of its goal, seen straight on.",
        "Letter height: what keeps that reserve from the usual seat.",
        "Seats are rounded down, letters up. With the device the acuity is the one through it.",
    ])
    .input("Small letters measured", &words::height(found.writing.x_height, context))
    .input("Usual seat", &words::distance(seat.what.distance.value, context))
    .input("Reserve needed", &goals::ratio_needed(in_use, found.writing.goal))
    .input(
        "Acuity without device",
        &format!(
            "{} at {} ({}{})",
            found.used.as_recorded,
            found.used.at,
            found.used.acuity.basis,
            found.used.unconfirmed()
        ),
    );
    if let Some((used, _)) = &with {
        let told = format!(
            "{:.2} logMAR, from {} at {} ({}{})",
            used.acuity.acuity.get(),
            used.as_recorded,
            used.at,
            used.acuity.basis,
            used.unconfirmed()
        );
        how = how.input("Acuity with the device", &told);
    }
    let asked = |acuity: LogMar, line: &Line| {
        let needed = in_use.goals().needed(found.writing.goal);
        let seat = crate::care::sight::place(seat);
        SeatAsked { acuity, x_height: found.writing.x_height, seat, needed, units }.of(line)
    };
    if let SeatAndPrint::Advice(advice) = &found.line {
        how = how.asks_all(asked(found.used.acuity.acuity, &advice.unaided));
    }
    if let Some((used, line)) = &with {
        how = how.asks_all(asked(used.acuity.acuity, line));
    }
    how = how.source("Definition of visual angle and acuity reserve; the roundings are common practice.");
    let told = [("Without a device", false), ("With the device", true)]
        .into_iter()
        .filter_map(|(label, with_device)| Some((label.to_owned(), figures.words(with_device, units)?)))
        .collect();
    Room { id: seat.id.to_string(), name: seat.what.room.clone(), figures, words: told, why, how: Some(how) }
}

/// The seat of a line in metres, where there is one to tell.
fn reachable(line: &Line, units: Units) -> Option<f64> {
    matches!(line.seat(units), SeatTold::Within(_)).then(|| line.farthest_seat.get())
}
