//! What does one entry mean, in a sentence, and how did that come about?
//!
//! The sentence is made of what its reader may read: a classroom teacher's of her
//! own numbers and the released card's, a specialist's of the clinic's figure.
//! Does not compute; read `care::meaning`.

use super::super::error::Result;
use super::super::page::Context;
use super::super::task::goals;
use super::super::visit::Visit;
use super::super::{outside, part, words};
use crate::access::Role;
use crate::access::action::Read;
use crate::access::resource::{Card, Evaluation, Guidance, Intake, LoanGlimpse, Loans, Transcription, VisualTasks};
use crate::care::card::Figures;
use crate::care::gates::Named;
use crate::care::meaning::{self, Expected, Silent};
use crate::care::observation::DeviceOut;
use crate::care::sight::{AtHand, AtHandAs, NoFigure};
use crate::care::track::Track;
use crate::store::observation::{Detail, Entry};
use crate::store::sight::Parts;
use crate::store::{Snapshot, card, goal, loan, sight, task};
use crate::vision::demand::{VisualAngle, straight_on, visual_angle};
use crate::vision::length::shown::{Units, letter_height, letter_rounded_up};
use crate::vision::reserve::acuity_reserve;
use crate::vision::units::Metres;

/// The parts of an entry that its sentence is made of.
fn said(detail: &Detail) -> meaning::Entry {
    meaning::Entry {
        outcome: detail.outcome,
        x_height: detail.x_height.as_ref().map(|length| length.value),
        distance: detail.distance.as_ref().map(|length| length.value),
        device_out: detail.device_out,
        help: detail.help,
    }
}

/// A sentence, and how it came about.
pub(super) type Meaning = (String, Option<part::How>);

/// What an entry means to this reader, as far as they may read what it is held against.
pub(super) async fn meaning_of(
    snapshot: &mut Snapshot,
    context: &Context,
    visit: &Visit,
    entry: &Entry,
) -> Result<Meaning> {
    let Some(detail) = &entry.detail else { return Ok(Meaning::default()) };
    let own = entry.fact.account == visit.actor().account;
    match visit.role() {
        Some(Role::ClassroomTeacher) if own => {
            let card = match visit.open_if::<Card, Read>().await? {
                Some(access) => card::released(snapshot, &access).await?.map(|edition| edition.figures),
                None => None,
            };
            Ok(for_classroom(context, detail, card))
        }
        Some(Role::Parent) if own => Ok((meaning::for_family(&said(detail), detail.place, detail.band), None)),
        Some(Role::VisionTeacher | Role::Clinician) => {
            let expected = expected(snapshot, visit, entry, detail).await?;
            Ok(for_specialist(context, detail, &expected))
        }
        _ => Ok(Meaning::default()),
    }
}

fn for_classroom(context: &Context, detail: &Detail, figures: Option<Figures>) -> Meaning {
    let units = words::units(context);
    let said = said(detail);
    let card = figures.map_or(meaning::Card::NotReleased, meaning::Card::Released);
    let sentence = meaning::for_classroom(&said, card, units);
    let with_device = detail.device_out == DeviceOut::Yes;
    let how = figures.zip(said.x_height).zip(said.distance).and_then(|((figures, height), from)| {
        let letter = Metres::new(figures.letter(with_device)? / 1_000.0).ok()?;
        let usual = Metres::new(figures.usual_m?).ok()?;
        let how = part::how(&[
            "The card's letter height holds for its usual seat. From farther away letters must be taller by as much as the distance grows.",
            "The seat is where your letters look as tall as the card asks. Seats are rounded down and letters up.",
        ])
        .input("Your letters", &words::height(height.in_metres(), context))
        .input("Your distance", &words::distance(from, context))
        .input("The card's letters", &words::height(letter, context))
        .input("The card's usual seat", &words::distance(usual, context))
        .inputs(&visual_angle(letter, usual).map_or(Vec::new(), |angle| vec![("From there they look", angle_told(angle))]))
        .source("Definition of visual angle.");
        Some(how.asks_all(card_asked(&sentence, (letter, usual), from, units)))
    });
    (sentence, how)
}

/// What the card asks for there: the letter that looks as tall as the card's from
/// its seat. The operation that gives a seat speaks of acuity and power, which a
/// class does not read, so the seat has no line.
fn card_asked(sentence: &str, card: (Metres, Metres), from: Metres, units: Units) -> Vec<outside::Asked> {
    let Ok(angle) = visual_angle(card.0, card.1) else { return Vec::new() };
    let looks = outside::ask("visual_angle")
        .with("size_m", card.0.get())
        .with("distance_m", card.1.get())
        .gives("angle_arcmin", &angle_told(angle));
    let needed =
        Metres::new(card.0.get() * from.get() / card.1.get()).and_then(|least| letter_rounded_up(least, units));
    let told = needed.ok().map(|letter| letter_height(letter, units)).filter(|told| sentence.contains(told));
    let letter = told.map(|told| {
        outside::ask("letter_height")
            .with("mar_arcmin", angle.arcminutes() / 5.0)
            .with("distance_m", from.get())
            .gives_up("letter_height_mm", &told)
    });
    std::iter::once(looks).chain(letter).collect()
}

fn angle_told(angle: VisualAngle) -> String {
    format!("{:.1} minutes of arc", angle.arcminutes())
}

fn for_specialist(
    context: &Context,
    detail: &Detail,
    expected: &std::result::Result<(Expected, String), Silent>,
) -> Meaning {
    let said = said(detail);
    let told = expected.as_ref().map(|(expected, _)| expected).map_err(|silent| *silent);
    let sentence = meaning::for_specialist(&said, told, words::units(context));
    let how = said.x_height.zip(said.distance).and_then(|(height, from)| {
        let demand = straight_on(height.in_metres(), from).ok()?;
        let mut how = part::how(&[
            "Demand: the logarithm of the angle of the small letters over 5 minutes of arc, seen straight on.",
            "Reserve: ten to the power of demand minus acuity.",
        ])
        .input("Small letters", &words::height(height.in_metres(), context))
        .input("Distance", &words::distance(from, context))
        .input("Demand", &format!("{:.2} logMAR", demand.get()))
        .asks(
            outside::ask("board_letter_demand")
                .with("letter_height_m", height.in_metres().get())
                .with("letter_width_m", height.in_metres().get())
                .with("perpendicular_distance_m", from.get())
                .with("lateral_offset_m", 0.0)
                .gives("logmar_vertical", &format!("{:.2} logMAR", demand.get())),
        );
        if let Ok((expected, needed)) = expected {
            let acuity = format!("{:.2} logMAR, {}", expected.acuity.get(), expected.which);
            how = how.input("Acuity", &acuity).input("Reserve needed", needed);
            if let Ok(reserve) = acuity_reserve(demand, expected.acuity) {
                how = how.asks(outside::reserve(demand, expected.acuity, reserve, expected.needed, ("", ":1")));
            }
        }
        Some(how.source("Definitions of visual angle and acuity reserve."))
    });
    (sentence, how)
}

/// What the clinic's figure lets this reader expect of the task, and the reserve
/// needed with its origin; or the reason why nothing does.
async fn expected(
    snapshot: &mut Snapshot,
    visit: &Visit,
    entry: &Entry,
    detail: &Detail,
) -> Result<std::result::Result<(Expected, String), Silent>> {
    let Some(guidance) = visit.open_if::<Guidance, Read>().await? else { return Ok(Err(Silent::NotYours)) };
    let Ok(tasks) = guidance.part::<VisualTasks>() else { return Ok(Err(Silent::NotYours)) };
    let Some(id) = detail.task else { return Ok(Err(Silent::NoTask)) };
    let task = task::task_of(snapshot, &tasks, id).await?;
    let evaluation = guidance.part::<Evaluation>().ok();
    let transcription = guidance.part::<Transcription>().ok();
    let intake = guidance.part::<Intake>().ok();
    let loans = guidance.part::<Loans>().ok();
    let parts = Parts {
        evaluation: evaluation.as_ref(),
        transcription: transcription.as_ref(),
        intake: intake.as_ref(),
        loans: loans.as_ref(),
    };
    let known = sight::of(snapshot, &parts).await?;
    let used = match detail.device {
        Named::NoDevice => known.unaided(task.what.track).map_err(|why| match why {
            NoFigure::NoEvaluation => Silent::NotYours,
            why => Silent::NoFigure(why),
        }),
        named => match device_named(snapshot, visit, entry, named).await? {
            None => Err(Silent::DeviceNotRead),
            Some(device) if device.track == Track::Near => Err(Silent::HeldToThePage),
            Some(device) => known.through(&device).map_err(|why| match why {
                NoFigure::NoEvaluation => Silent::NotYours,
                why => Silent::NotThrough(why),
            }),
        },
    };
    let in_use = goal::of(snapshot, &tasks).await?;
    let expected = used.map(|used| Expected {
        acuity: used.acuity.acuity,
        which: format!("{}{}", used.acuity.basis, used.unconfirmed()),
        needed: in_use.goals().needed(task.what.goal.into()).acuity,
        goal: task.what.goal.words().to_owned(),
    });
    Ok(expected.map(|expected| (expected, goals::ratio_needed(&in_use, task.what.goal.into()))))
}

/// The very device that an entry names, as far as its figures may be read.
async fn device_named(snapshot: &mut Snapshot, visit: &Visit, entry: &Entry, named: Named) -> Result<Option<AtHand>> {
    let Some(access) = visit.open_if::<LoanGlimpse, Read>().await? else { return Ok(None) };
    let in_hand = loan::in_hand_on(snapshot, &access, entry.fact.seen_on).await?;
    let found = in_hand.into_iter().find(|one| one.named == named);
    let source = if matches!(named, Named::Own(_)) { AtHandAs::Own } else { AtHandAs::Loan };
    Ok(found.and_then(|one| Some(AtHand { spec: one.spec?, track: one.track, source })))
}
