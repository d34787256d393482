//! What is due for the students of a list: loans, consents, evaluations,
//! follow-ups of the own device, and rights that pass to a student.
//!
//! Each kind is one query for the whole list; nothing of it blocks anything.
//! How long before, and for how long, is decided in `care::due`.

use jiff::ToSpan;
use jiff::civil::Date;

use super::super::error::Result;
use super::super::page::Context;
use super::super::state::App;
use super::super::visit::Visit;
use super::super::words;
use crate::access::Role;
use crate::access::action::{Read, Sign};
use crate::access::resource::{Consents, Loans};
use crate::care::consent::{Consent, Direction};
use crate::care::due::{self, LOAN_DAYS, Near};
use crate::care::ids::StudentId;
use crate::care::journey::Journey;
use crate::care::student::Coming;
use crate::store::{caseload, consent};

/// What is due, for every student of the list.
pub(super) struct Dues {
    today: Date,
    loans: Vec<caseload::Due>,
    consents: Vec<(StudentId, Renewal)>,
}

/// A way between school and clinic whose consent ends, or ended.
#[derive(Clone, Copy)]
pub(in crate::web) struct Renewal {
    way: Direction,
    last_day: Date,
    near: Near,
}

impl Renewal {
    /// What is said of it.
    pub(in crate::web) fn words(&self) -> String {
        let (way, day) = (self.way.words(), words::date(self.last_day));
        match self.near {
            Near::Over => format!("The consent {way} ended on {day}. Nothing new goes across"),
            Near::Soon | Near::Coming => format!("The consent {way} ends on {day}"),
        }
    }
}

/// The ways whose newest consent ends soon or ended, of these consents of one
/// student. One that was withdrawn did not run out: nobody is asked to renew it.
pub(in crate::web) fn renewals<'c>(consents: impl Iterator<Item = &'c Consent>, today: Date) -> Vec<Renewal> {
    let mut newest: Vec<&Consent> = Vec::new();
    for consent in consents.filter(|consent| consent.withdrawn.is_none()) {
        let same = |other: &&Consent| {
            other.direction == consent.direction && other.from == consent.from && other.to == consent.to
        };
        match newest.iter_mut().find(|other| same(other)) {
            Some(known) if known.end.is_some_and(|end| consent.end.is_none_or(|other| other > end)) => *known = consent,
            Some(_) => {}
            None => newest.push(consent),
        }
    }
    newest
        .into_iter()
        .filter_map(|consent| {
            let last_day = consent.end?;
            due::consent(last_day, today).map(|near| Renewal { way: consent.direction, last_day, near })
        })
        .collect()
}

impl Dues {
    pub(super) async fn of(app: &App, context: &Context, visits: &[Visit]) -> Result<Self> {
        let role = context.actor()?.role;
        let today = app.store.clock().today();
        let mut dues = Self { today, loans: Vec::new(), consents: Vec::new() };
        if role == Some(Role::VisionTeacher) {
            let proofs = Visit::open_all::<Loans, Read>(visits).await?;
            let until = today.saturating_add(LOAN_DAYS.days());
            dues.loans = caseload::loans_due(&mut app.store.snapshot().await?, &proofs, until).await?;
        }
        if matches!(role, Some(Role::VisionTeacher | Role::Parent) | None) {
            let proofs = Visit::open_all::<Consents, Read>(visits).await?;
            let all = consent::of_all(&mut app.store.snapshot().await?, &proofs).await?;
            for access in &proofs {
                let own = all.iter().filter(|(student, _)| *student == access.student()).map(|(_, consent)| consent);
                dues.consents.extend(renewals(own, today).into_iter().map(|one| (access.student(), one)));
            }
        }
        Ok(dues)
    }

    fn consents_of(&self, visit: &Visit) -> impl Iterator<Item = &Renewal> {
        let student = visit.student();
        self.consents.iter().filter(move |(of, _)| *of == student).map(|(_, renewal)| renewal)
    }

    /// What is due for one student, in a line each.
    pub(super) fn notes(&self, visit: &Visit) -> Vec<String> {
        let mut notes = Vec::new();
        for loan in self.loans.iter().filter(|loan| loan.student == visit.student()) {
            let when =
                if due::loan(loan.on, self.today) == Some(Near::Over) { "was due back on" } else { "is due back on" };
            notes.push(format!("{} {when} {}", loan.tag, words::date(loan.on)));
        }
        notes.extend(evaluation(visit, self.today));
        notes.extend(self.consents_of(visit).map(Renewal::words));
        if visit.role() == Some(Role::VisionTeacher) {
            notes.extend(follow_ups(visit.tracks().iter().map(|shown| &shown.journey), self.today));
        }
        notes.extend(rights_pass(visit));
        notes
    }

    /// Where this reader may sign again what ends.
    pub(super) fn renewals(&self, visit: &Visit) -> Vec<(String, String)> {
        if visit.role() != Some(Role::Parent) || !visit.may::<Consents, Sign>() {
            return Vec::new();
        }
        let mut ways: Vec<Direction> = Vec::new();
        for renewal in self.consents_of(visit) {
            if !ways.contains(&renewal.way) {
                ways.push(renewal.way);
            }
        }
        let link = |way: Direction| {
            (visit.at(&format!("/people/consent/{}", way.code())), format!("Renew the consent {}", way.words()))
        };
        ways.into_iter().map(link).collect()
    }
}

/// G11: an evaluation that is due never blocks anything.
fn evaluation(visit: &Visit, today: Date) -> Option<String> {
    let day = visit.evaluation_due()?;
    // A request that left a track open is no request for the next evaluation.
    let mut answered = visit.tracks().iter().filter(|shown| !shown.journey.history.is_empty());
    let asked = answered.any(|shown| shown.journey.request.is_some());
    let plans = matches!(visit.role(), Some(Role::VisionTeacher | Role::Clinician));
    let date = words::date(day);
    match due::evaluation(day, today)? {
        Near::Over => Some(format!("The next evaluation was due on {date}")),
        // Whoever asked for it already is not told to ask.
        Near::Soon | Near::Coming if asked || !plans => None,
        Near::Soon if visit.role() == Some(Role::VisionTeacher) => {
            Some(format!("The next evaluation is due on {date}: ask for it now"))
        }
        Near::Soon | Near::Coming => Some(format!("The next evaluation is due on {date}")),
    }
}

/// The follow-up of each own device that is due.
pub(in crate::web) fn follow_ups<'j>(tracks: impl Iterator<Item = &'j Journey>, today: Date) -> Vec<String> {
    tracks
        .flat_map(Journey::own_in_force)
        .filter_map(|own| due::follow_up(own.received_on, today))
        .map(|one| {
            let when = if one.near == Near::Over { "was due on" } else { "is due on" };
            format!("Follow-up {} days after the own device came {when} {}", one.days, words::date(one.on))
        })
        .collect()
}

/// G10: the team is told a year before.
pub(in crate::web) fn rights_pass(visit: &Visit) -> Option<String> {
    let Coming::On(day) = visit.coming_of_age() else { return None };
    let day = words::date(day);
    Some(if visit.role() == Some(Role::Parent) {
        format!("On {day} your child comes of age, and then decides what you may read here")
    } else {
        format!("Rights pass to the student on {day}: from then on the student says what each parent may read")
    })
}
