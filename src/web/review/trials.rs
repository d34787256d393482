//! Device trials as a drawing: which device, from when to when, how much it was
//! trained with, and the decision that followed.
//!
//! A loan is a full bar, a device of the student's own an open one; one that is
//! still here ends in an arrow at today. Decisions are numbered marks on the same
//! time. Read next: [`crate::care::loan::trials`].

use askama::Template;
use askama::filters::HtmlSafe;
use jiff::civil::Date;

use crate::access::Access;
use crate::access::action::Read;
use crate::access::resource::{Loans, Training};
use crate::care::gates::Named;
use crate::care::loan::short_words;
use crate::care::loan::trials::{Decision, Trained, Trial, followed_by, in_order};
use crate::care::track::Track;
use crate::care::training::Session;
use crate::store::{Snapshot, decision, loan, own_device, training};
use crate::web::error::Result;
use crate::web::part::{self, Table};
use crate::web::picture::{At, Frame, Label, WIDE, label, wrapped};
use crate::web::words::{self, capital};

const LEFT: f64 = 6.0;
const RIGHT: f64 = WIDE - 10.0;
/// What a line of text needs on a narrow page.
const LINE: f64 = 26.0;
/// How many letters fit into a line.
const LETTERS: usize = 36;
/// How thick a bar is.
const BAR: f64 = 12.0;

/// One device.
struct Row {
    heading: Vec<Label>,
    x: At,
    y: At,
    wide: At,
    own: bool,
    /// The head of the arrow of one that is still here.
    arrow: String,
    beside: Vec<Label>,
}

/// The drawing with its frame.
#[derive(Template)]
#[template(path = "picture/device_trials.html")]
pub(super) struct TrialsPicture {
    frame: Frame,
    rows: Vec<Row>,
    axis: At,
    ends: Vec<Label>,
    decisions: Vec<(At, Label)>,
    list: Vec<Label>,
}

impl HtmlSafe for TrialsPicture {}

impl TrialsPicture {
    const fn left(&self) -> At {
        At(LEFT)
    }

    const fn right(&self) -> At {
        At(RIGHT)
    }

    const fn thick(&self) -> At {
        At(BAR)
    }
}

/// The trials of a track as far as this reader may read them; none where no
/// device was ever handed over.
pub(super) async fn trials(
    snapshot: &mut Snapshot,
    loans: Option<&Access<Loans, Read>>,
    sessions: Option<&Access<Training, Read>>,
    made: &[decision::Decision],
    track: Track,
) -> Result<Option<TrialsPicture>> {
    let Some(access) = loans else { return Ok(None) };
    let sessions = match sessions {
        Some(access) => Some(training::list(snapshot, access).await?),
        None => None,
    };
    let trained = |named: Named| sessions.as_deref().map(|all| trained(all, named));
    let mut found: Vec<Trial> = Vec::new();
    for loan in loan::list(snapshot, access).await?.into_iter().filter(|loan| loan.entered.track == track) {
        let named = Named::Loan(loan.id);
        found.push(Trial {
            named,
            words: short_words(&loan.spec),
            tag: loan.tag,
            from: loan.entered.lent_on,
            to: loan.returned_on,
            trained: trained(named),
        });
    }
    for own in own_device::list(snapshot, access).await?.into_iter().filter(|own| own.track == track) {
        let named = Named::Own(own.id);
        found.push(Trial {
            named,
            words: short_words(&own.device.spec),
            tag: own.tag,
            from: own.received_on,
            to: None,
            trained: trained(named),
        });
    }
    let standing = made.iter().filter(|one| one.track == track && one.after.ended.is_none());
    let mut decisions: Vec<Decision> =
        standing.map(|one| Decision { on: one.decided_on, choice: one.choice }).collect();
    in_order(&mut found, &mut decisions);
    Ok(drawn(&found, &decisions, snapshot.today()))
}

fn trained(all: &[Session], named: Named) -> Trained {
    let mut sum = Trained::default();
    for session in all.iter().filter(|session| session.entered.device == named) {
        sum.sessions += 1;
        sum.minutes += session.entered.minutes;
    }
    sum
}

fn is_own(trial: &Trial) -> bool {
    matches!(trial.named, Named::Own(_))
}

fn named(trial: &Trial) -> String {
    let whose = if is_own(trial) { "own" } else { "on loan" };
    let tag = if trial.tag.is_empty() { String::new() } else { format!(", {}", trial.tag) };
    format!("{}, {whose}{tag}", capital(&trial.words))
}

fn trained_words(trial: &Trial) -> String {
    match trial.trained {
        None => "training not shared".to_owned(),
        Some(Trained { sessions: 0, .. }) => "no session with it".to_owned(),
        Some(Trained { sessions: 1, minutes }) => format!("1 session, {minutes} minutes"),
        Some(Trained { sessions, minutes }) => format!("{sessions} sessions, {minutes} minutes"),
    }
}

fn decided(decision: &Decision) -> String {
    format!("{}, {}", decision.choice.words(), words::date(decision.on))
}

/// Words in lines that fit, from `y` downwards.
fn lines(words: &str, y: f64) -> Vec<Label> {
    let lines = wrapped(words, LETTERS).into_iter().enumerate();
    lines.map(|(place, words)| label(0.0, y + LINE * place as f64, words, "start")).collect()
}

/// Where the last of these lines stands.
fn foot(labels: &[Label], none: f64) -> f64 {
    labels.last().map_or(none, |label| label.y.0)
}

fn days(from: Date, to: Date) -> f64 {
    from.until(to).map_or(0.0, |span| f64::from(span.get_days()))
}

fn drawn(trials: &[Trial], decisions: &[Decision], today: Date) -> Option<TrialsPicture> {
    let first = trials.iter().map(|trial| trial.from).min()?;
    // An entry for tomorrow does not happen; one of today still has a length.
    let last = trials.iter().filter_map(|trial| trial.to).chain([today]).max()?;
    let all = days(first, last).max(1.0);
    let x = |day: Date| LEFT + (RIGHT - LEFT) * (days(first, day) / all).clamp(0.0, 1.0);
    let mut y = 18.0;
    let mut rows = Vec::new();
    for trial in trials {
        let heading = lines(&named(trial), y);
        let bar = foot(&heading, y) + 10.0;
        let (from, to) = (x(trial.from), x(trial.to.unwrap_or(last)));
        let to = to.max(from + 4.0).min(RIGHT);
        let from = from.min(to - 4.0);
        let then = match followed_by(trial, decisions) {
            Some(place) => format!("; then decision {}", place + 1),
            None => String::new(),
        };
        let beside = lines(&format!("{}{then}", trained_words(trial)), bar + BAR + 20.0);
        let middle = bar + BAR / 2.0;
        let arrow = if trial.to.is_none() {
            format!(
                "M{} {}L{} {}L{} {}",
                At(to - 8.0),
                At(middle - 10.0),
                At(to + 4.0),
                At(middle),
                At(to - 8.0),
                At(middle + 10.0)
            )
        } else {
            String::new()
        };
        y = foot(&beside, bar) + LINE + 12.0;
        rows.push(Row { heading, x: At(from), y: At(bar), wide: At(to - from), own: is_own(trial), arrow, beside });
    }
    // Marks that stand close to each other have their numbers above each other.
    let (mut marks, mut before, mut raised) = (Vec::new(), f64::NEG_INFINITY, 0.0);
    let inside: Vec<(usize, &Decision)> =
        decisions.iter().enumerate().filter(|(_, decision)| decision.on >= first).collect();
    for (_, decision) in &inside {
        let at = x(decision.on);
        raised = if at - before < 22.0 { raised + LINE } else { 0.0 };
        before = at;
        marks.push((at, raised));
    }
    let highest = marks.iter().map(|(_, raised)| *raised).fold(0.0, f64::max);
    let axis = if marks.is_empty() { y } else { y + highest + LINE };
    let mut at = axis + 2.0 * LINE + 4.0;
    let mut list = Vec::new();
    for (place, decision) in &inside {
        let said = lines(&format!("{}: {}", place + 1, decided(decision)), at);
        at = foot(&said, at) + LINE;
        list.extend(said);
    }
    let end = if last == today { "today".to_owned() } else { last.strftime("%b %Y").to_string() };
    Some(TrialsPicture {
        frame: Frame {
            id: "device-trials",
            title: "Devices tried".to_owned(),
            description: described(trials, decisions),
            height: At(at),
            caption: found(trials, decisions),
            table: table(trials, decisions),
        },
        rows,
        axis: At(axis),
        ends: vec![
            label(LEFT, axis + LINE - 2.0, first.strftime("%b %Y").to_string(), "start"),
            label(RIGHT, axis + LINE - 2.0, end, "end"),
        ],
        decisions: inside
            .iter()
            .zip(&marks)
            .map(|((place, _), (at, raised))| {
                (
                    At(*at),
                    label(at.clamp(LEFT + 6.0, RIGHT - 6.0), axis - 20.0 - raised, (place + 1).to_string(), "middle"),
                )
            })
            .collect(),
        list,
    })
}

fn described(trials: &[Trial], decisions: &[Decision]) -> String {
    let many =
        |count: usize, one: &str, more: &str| if count == 1 { format!("1 {one}") } else { format!("{count} {more}") };
    format!(
        "{} as bars along time, full for a loan and open for the student\u{2019}s own, with {} as numbered marks below.",
        many(trials.len(), "device", "devices"),
        many(decisions.len(), "decision", "decisions"),
    )
}

fn found(trials: &[Trial], decisions: &[Decision]) -> String {
    let said: Vec<String> = trials
        .iter()
        .map(|trial| {
            let to = trial.to.map_or_else(|| "still here".to_owned(), |day| format!("until {}", words::date(day)));
            let then = followed_by(trial, decisions).and_then(|place| decisions.get(place));
            let then = then.map_or_else(|| "no decision since".to_owned(), |one| format!("then: {}", decided(one)));
            format!("{}: from {}, {to}; {}; {then}.", named(trial), words::date(trial.from), trained_words(trial))
        })
        .collect();
    said.join(" ")
}

fn table(trials: &[Trial], decisions: &[Decision]) -> Table {
    let mut table = part::table("Devices tried, with the decision that followed")
        .column("Device")
        .column("Whose")
        .column("From")
        .column("To")
        .number("Sessions")
        .number("Minutes")
        .column("Decision that followed");
    for trial in trials {
        let then = followed_by(trial, decisions).and_then(|place| decisions.get(place));
        let (sessions, minutes) = match trial.trained {
            Some(trained) => (trained.sessions.to_string(), trained.minutes.to_string()),
            None => ("not shared".to_owned(), "not shared".to_owned()),
        };
        let tag = if trial.tag.is_empty() { String::new() } else { format!(", {}", trial.tag) };
        table.push([
            format!("{}{tag}", capital(&trial.words)),
            if is_own(trial) { "the student\u{2019}s own" } else { "on loan" }.to_owned(),
            words::date(trial.from),
            trial.to.map_or_else(|| "still here".to_owned(), words::date),
            sessions,
            minutes,
            then.map_or_else(|| "none yet".to_owned(), |one| capital(&decided(one))),
        ]);
    }
    table
}
