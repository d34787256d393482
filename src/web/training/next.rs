//! What could come next: skill, size, distance and number of targets, with the
//! reasons, for the vision teacher to take over into the form of a session.
//!
//! The arithmetic is [`crate::care::progress::next`]. Where a gate stands before
//! training with a device there is nothing to propose, and the page says which
//! step comes first. Nothing here is stored.

use std::collections::BTreeMap;

use askama::Template;
use askama::filters::HtmlSafe;
use jiff::civil::Date;

use super::new::{self, Known};
use super::read;
use crate::access::action::{Create, Read};
use crate::access::resource::{Loans, Training, VisualTasks};
use crate::care::gates::Purpose;
use crate::care::loan::{InHand, code_of};
use crate::care::progress::next::{NoSize, Proposal, Proposed, Question, WhySkill, WhyTargets, prepared, proposals};
use crate::care::sight::{AtHand, AtHandAs, Sight};
use crate::care::track::Track;
use crate::vision::stats::everyday::next::AIM;
use crate::web::error::Result;
use crate::web::form::Entry;
use crate::web::outside::ask;
use crate::web::page::Context;
use crate::web::part::{self, How};
use crate::web::state::App;
use crate::web::through::same;
use crate::web::visit::Visit;
use crate::web::words;
use serde_json::json;

/// What the form says that was filled in from a proposal.
pub(super) const TAKEN_OVER: &str = "Filled in from the proposal: device, skill, size, distance and number of targets of exercise 1; the rest as last time. Change what differs, and count what was really tried.";

/// What could come next on a track.
#[derive(Default, Template)]
#[template(path = "training/next.html")]
pub(super) struct Part {
    shown: bool,
    /// Why there is nothing to propose.
    none: String,
    offers: Vec<Offer>,
}

impl HtmlSafe for Part {}

/// One proposal in words.
struct Offer {
    sentence: String,
    reasons: Vec<String>,
    href: String,
    words: String,
    how: Option<How>,
}

/// What could come next, by track; nothing for who does not record sessions.
pub(super) async fn parts(app: &App, visit: &Visit, context: &Context, today: Date) -> Result<BTreeMap<Track, Part>> {
    let mut parts = BTreeMap::new();
    if !visit.may::<Training, Create>() {
        return Ok(parts);
    }
    let access = visit.open::<Training, Create>().await?;
    for track in Track::ALL {
        let mut snapshot = app.store.snapshot().await?;
        let known = new::known(&mut snapshot, visit, &access, (*track, today), None).await?;
        drop(snapshot);
        let mut part = Part { shown: true, ..Part::default() };
        match device(&known, *track) {
            Ok(device) => {
                let found = found(app, visit, (&known, *track), device).await?;
                part.offers = found
                    .iter()
                    .enumerate()
                    .map(|(place, proposal)| offer(visit, context, (*track, place), device, proposal))
                    .collect();
            }
            // Nothing was ever begun on this track: the page says so already.
            Err(None) => part.shown = false,
            Err(Some(why)) => part.none = why,
        }
        if part.none.is_empty() && part.offers.is_empty() {
            part.shown = false;
        }
        parts.insert(*track, part);
    }
    Ok(parts)
}

/// The form of a session filled in from a proposal; none where it is gone.
pub(super) async fn taken_over(
    app: &App,
    visit: &Visit,
    context: &Context,
    (known, track, day): (&Known, Track, Date),
    place: usize,
) -> Result<Option<Entry>> {
    let Ok(device) = device(known, track) else { return Ok(None) };
    let found = found(app, visit, (known, track), device).await?;
    let Some(proposal) = found.get(place) else { return Ok(None) };
    let mut entry = new::from_last(known, track, day);
    entry.set("device", code_of(proposal.device));
    entry.set(read::name(1, "skill"), proposal.skill.code());
    entry.set(read::name(1, "tries"), proposal.targets.to_string());
    entry.set(read::name(1, "task"), proposal.task.map(|task| task.to_string()).unwrap_or_default());
    let size = proposal.size.as_ref().ok();
    let height = size.map(|size| prepared(size.height, track, words::units(context)));
    let distance = size.and_then(|size| size.distance).map(|far| words::distance(far, context));
    entry.set(read::name(1, "height"), height.unwrap_or_default());
    entry.set(read::name(1, "distance"), distance.unwrap_or_default());
    Ok(Some(entry))
}

/// The device for the next session: the student's own before a loan, of several
/// the one used last; else why there is none, in words, if there is more to say.
fn device(known: &Known, track: Track) -> std::result::Result<&InHand, Option<String>> {
    let of_track: Vec<&InHand> = known.in_hand.iter().filter(|device| device.track == track).collect();
    if let Some(blocked) = &known.blocked {
        return Err((!of_track.is_empty()).then(|| blocked.to_string()));
    }
    let last = |device: &&&InHand| {
        let used = known.sessions.iter().filter(|session| session.entered.device == device.named);
        (!device.is_loan(), used.map(|session| session.entered.held_on).max())
    };
    let usable = of_track.iter().filter(|device| device.against(Purpose::Session).is_none());
    match (usable.max_by_key(last), of_track.first()) {
        (Some(device), _) => Ok(device),
        (None, Some(first)) => Err(first.against(Purpose::Session).map(ToString::to_string)),
        (None, None) => Err(None),
    }
}

/// How the student sees, as far as this reader may read it.
async fn sight(app: &App, visit: &Visit) -> Result<Sight> {
    let Some(tasks) = visit.open_if::<VisualTasks, Read>().await? else { return Ok(Sight::unknown()) };
    let known = crate::web::guidance::known(app, visit, &tasks).await?;
    Ok(known.map_or_else(Sight::unknown, |known| known.sight))
}

async fn found(app: &App, visit: &Visit, (known, track): (&Known, Track), device: &InHand) -> Result<Vec<Proposal>> {
    let sight = sight(app, visit).await?;
    let loans = visit.open_if::<Loans, Read>().await?;
    let mut alike = vec![device.named];
    if let (Some(loans), Some(spec)) = (&loans, &device.spec) {
        let mut snapshot = app.store.snapshot().await?;
        alike.extend(same(&mut snapshot, loans, (track, spec)).await?);
    }
    let source = if device.is_loan() { AtHandAs::Loan } else { AtHandAs::Own };
    let at_hand = device.spec.clone().map(|spec| AtHand { spec, track, source });
    Ok(proposals(&Question {
        track,
        sessions: &known.sessions,
        steady: &known.steady,
        device: device.named,
        alike: &alike,
        at_hand: at_hand.as_ref(),
        sight: &sight,
        tasks: &known.tasks,
    }))
}

fn offer(
    visit: &Visit,
    context: &Context,
    (track, place): (Track, usize),
    device: &InHand,
    proposal: &Proposal,
) -> Offer {
    let skill = words::capital(proposal.skill.words());
    let at = match &proposal.size {
        Ok(size) => {
            let tall = prepared(size.height, track, words::units(context));
            match size.distance {
                Some(far) => format!(", small letters {tall} tall from {}", words::distance(far, context)),
                None => format!(", small letters {tall} tall"),
            }
        }
        Err(_) => String::new(),
    };
    let mut reasons = vec![match proposal.why {
        WhySkill::NextInOrder => format!("{skill} is the first skill of the order that is not steady yet."),
        WhySkill::PractisedLast => format!(
            "{skill} was practised last. An earlier skill is not steady yet, so the form asks why it comes first."
        ),
    }];
    reasons.extend(size_reasons(proposal, context));
    reasons.push(match proposal.why_targets {
        WhyTargets::ToTell => {
            format!("{} targets: with fewer, four of five cannot be told from less.", proposal.targets)
        }
        WhyTargets::Tired => {
            format!("{} targets only: last time the student was tired, or did not want to go on.", proposal.targets)
        }
    });
    reasons.push(
        if device.kind.is_telescope() {
            "Seated or standing still, strap on, away from the sun."
        } else {
            "Seated, away from the sun, and the lens never left in it."
        }
        .to_owned(),
    );
    let number = place + 1;
    Offer {
        sentence: format!("{skill} with the {}{at}, {} targets.", device.words, proposal.targets),
        reasons,
        href: visit.at(&format!("/training/new?track={}&next={number}", track.code())),
        words: format!("Take {} over into a new session", proposal.skill.words()),
        how: proposal.size.as_ref().ok().map(account),
    }
}

fn size_reasons(proposal: &Proposal, context: &Context) -> Vec<String> {
    let size = match &proposal.size {
        Ok(size) => size,
        Err(why) => {
            return match why {
                NoSize::OfTheSkill => Vec::new(),
                NoSize::NothingKnown => vec!["No size is proposed: neither the clinic\u{2019}s figures nor an exercise without help say where to begin. Begin with what the student finds at once, and note its height and distance.".to_owned()],
                NoSize::NoDistance => vec!["No size is proposed: no distance was noted yet, and no task has one. Note it with the next exercise.".to_owned()],
                NoSize::NoneReaches => vec!["No size is proposed: at no size are eight of ten expected. Look at the way of holding and at the light first.".to_owned()],
                NoSize::Beyond => vec!["No size is proposed: the numbers lie outside what the formula holds for.".to_owned()],
            };
        }
    };
    let items: u32 = size.observed.iter().map(|(_, tally, _)| tally.tried()).sum();
    let from = match (size.observed.len(), size.from_clinic) {
        (0, _) => "the clinic\u{2019}s figures alone, so it is deliberately easy".to_owned(),
        (1, clinic) => format!("1 exercise without help ({items} items){}", and_clinic(clinic)),
        (many, clinic) => format!("{many} exercises without help ({items} items){}", and_clinic(clinic)),
    };
    let mut reasons = vec![format!(
        "At this size about {} of 10 are expected to be right: easy enough to go on, hard enough to learn by. That rests on {from}.",
        (AIM.get() * 10.0).round()
    )];
    if let Some(last) = size.so_far.last {
        let step = size.next.practical.get() - last.get();
        reasons.push(if step > 0.025 {
            "Larger than last time, because less than four of five is expected there.".to_owned()
        } else if step < -0.025 {
            "Smaller than last time, because more than four of five is expected there; never much smaller than what was passed.".to_owned()
        } else {
            "The size of last time still fits.".to_owned()
        });
    }
    if size.pushed_out
        && let Some(far) = size.distance
    {
        reasons
            .push(format!("From {}, because the device cannot be made sharp nearer.", words::distance(far, context)));
    }
    reasons
}

const fn and_clinic(clinic: bool) -> &'static str {
    if clinic { " and the clinic\u{2019}s figures" } else { ", for no figure of the clinic can be read here" }
}

fn account(size: &Proposed) -> How {
    let logmar = |size: f64| format!("{size:.2} logMAR");
    let told = logmar(size.next.practical.get());
    let observed: Vec<_> = size
        .observed
        .iter()
        .map(|(at, tally, session)| {
            json!({"x": at.get(), "kind": "tally", "k": tally.right(), "n": tally.tried(), "g": size.guess.get(), "sid": session})
        })
        .collect();
    let mut asked = ask("next_practice_size")
        .nested("observations", observed.into())
        .nested("prior", json!({"mean": size.prior.mean().get(), "sd": size.prior.deviation()}))
        .with("guess", size.guess.get())
        .with("target", AIM.get())
        .gives("x_next_rounded", &told);
    for (key, at) in [("last", size.so_far.last), ("smallest_passed", size.so_far.smallest_passed)] {
        if let Some(at) = at {
            asked = asked.with(key, at.get());
        }
    }
    part::how(&[
        "From all exercises of this skill with this device without help, and from what the clinic\u{2019}s figures let one assume before any: the size at which the expected share right is 0.80.",
        "Rounded to 0.05 log units, at most 0.20 from the last size, and not more than 0.10 below the smallest size ever passed with four of five.",
        "The height is that size at this distance, rounded up. Sizes follow the student, so the share right stays flat; progress then shows as a smaller size.",
    ])
    .summary("How this size was computed")
    .input("Size aimed at", &told)
    .source("The everyday acuity model, see its head; aim and limits common practice, near what Wilson et al. 2019 derived for learners of two choices.")
    .asks(asked)
}
