//! Training progress: the figures worked by hand, what never enters one, the
//! words each reader gets, and the proposal for the next session.

mod figures;
mod next;
mod pages;

use farpoint::care::gates::Named;
use farpoint::care::ids::{LoanId, SessionId};
use farpoint::care::progress::{Practised, practised};
use farpoint::care::skill::{Prompt, Skill};
use farpoint::care::track::Track;
use farpoint::care::training::{Body, NewExercise, NewSession, Place, Session};
use farpoint::care::typed::Typed;
use farpoint::clock::fresh_uuid;
use farpoint::vision::units::{Metres, Seconds};
use jiff::ToSpan;
use jiff::civil::{Date, date};

/// The device of every session here.
fn loan() -> Named {
    Named::Loan("0197f1a0-0000-7000-8000-000000000001".parse::<LoanId>().expect("an id"))
}

/// The day so many days after the first.
fn day(number: i64) -> Date {
    date(2026, 9, 1).saturating_add(number.days())
}

/// An exercise in spotting: right of tried, the typical seconds, the help.
fn spots(right: u32, tried: u32, seconds: f64, prompt: Prompt) -> NewExercise {
    NewExercise {
        skill: Skill::Spotting,
        item: String::new(),
        task: None,
        distance: Some(Typed::new("4 m", Metres::literal(4.0))),
        x_height: Some(Typed::new("4 cm", Metres::literal(0.04))),
        tries: Some(tried),
        right: Some(right),
        median: Seconds::new(seconds).ok(),
        in_view: None,
        shown: None,
        losses: None,
        prompt,
        prompt_count: None,
        self_corrected: false,
    }
}

/// A session so many days after the first.
fn held(number: i64, exercises: Vec<NewExercise>) -> Session {
    let exercise_ids = exercises.iter().map(|_| fresh_uuid().to_string().parse().expect("an id")).collect();
    Session {
        id: fresh_uuid().to_string().parse::<SessionId>().expect("an id"),
        entered: NewSession {
            track: Track::Distance,
            device: loan(),
            baseline: false,
            held_on: day(number),
            minutes: 20,
            place: Place::QuietRoom,
            light: None,
            body: Body::Seated,
            glasses: None,
            comfort: None,
            symptoms: Vec::new(),
            signs: Vec::new(),
            refused: None,
            order_reason: String::new(),
            note: String::new(),
            exercises,
        },
        exercise_ids,
        by: fresh_uuid().to_string().parse().expect("an id"),
        by_name: String::new(),
        entered_at: "2026-09-01T12:00:00Z".parse().expect("an instant"),
    }
}

/// A probe without teaching.
fn probe(number: i64, exercises: Vec<NewExercise>) -> Session {
    let mut session = held(number, exercises);
    session.entered.baseline = true;
    session
}

/// The one skill of these sessions.
fn of(sessions: &[Session]) -> Practised {
    let mut all = practised(Track::Distance, (sessions, &[]), |named| format!("{named:?}"));
    assert_eq!(all.len(), 1, "one skill with one device");
    all.remove(0)
}
