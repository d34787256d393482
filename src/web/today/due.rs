//! What is due for the students of a list: loans, consents, evaluations,
//! follow-ups of the own device, and rights that pass to a student.
//!
//! Each kind is one query for the whole list; nothing of it blocks anything.
//! How long before, and for how long, is decided in `care::due`.

use jiff::ToSpan;
use jiff::civil::Date;

use super::super::consents::notes_all;
use super::super::error::Result;
use super::super::page::Context;
use super::super::state::App;
use super::super::visit::Visit;
use super::super::words;
use crate::access::Role;
use crate::access::action::{Read, Sign};
use crate::access::resource::{Consents, Loans};
use crate::care::consent::{Consent, Direction, Due, due as consent_due};
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
    emergencies: Vec<(StudentId, String)>,
}

/// A way between school and clinic whose consent ends, or ended.
#[derive(Clone, Copy)]
pub(in crate::web) struct Renewal {
    way: Direction,
    due: Due,
}

impl Renewal {
    /// What is said of it.
    pub(in crate::web) fn words(&self) -> String {
        let way = self.way.words();
        match self.due {
            Due::Ended(day) => format!("The consent {way} ended on {}. Nothing new goes across", words::date(day)),
            Due::EndsSoon(day) => format!("The consent {way} ends on {}", words::date(day)),
        }
    }
}

/// What is to be renewed of one student's consents.
pub(in crate::web) fn renewals(consents: &[Consent], today: Date) -> Vec<Renewal> {
    let found = consent_due(consents, today).into_iter();
    found.map(|(consent, due)| Renewal { way: consent.direction, due }).collect()
}

impl Dues {
    pub(super) async fn of(app: &App, context: &Context, visits: &[Visit]) -> Result<Self> {
        let role = context.actor()?.role;
        let today = app.store.clock().today();
        let mut dues = Self { today, loans: Vec::new(), consents: Vec::new(), emergencies: Vec::new() };
        if role == Some(Role::VisionTeacher) {
            let proofs = Visit::open_all::<Loans, Read>(visits).await?;
            let until = today.saturating_add(LOAN_DAYS.days());
            dues.loans = caseload::loans_due(&mut app.store.snapshot().await?, &proofs, until).await?;
        }
        let proofs = Visit::open_all::<Consents, Read>(visits).await?;
        dues.emergencies = notes_all(&mut app.store.snapshot().await?, &proofs).await?;
        if matches!(role, Some(Role::VisionTeacher | Role::Parent) | None) {
            let all = consent::of_all(&mut app.store.snapshot().await?, &proofs).await?;
            for access in &proofs {
                let own = all.iter().filter(|(student, _)| *student == access.student());
                let own: Vec<Consent> = own.map(|(_, consent)| consent.clone()).collect();
                dues.consents.extend(renewals(&own, today).into_iter().map(|one| (access.student(), one)));
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
        let opened = self.emergencies.iter().filter(|(student, _)| *student == visit.student());
        let mut notes: Vec<String> = opened.map(|(_, line)| line.clone()).collect();
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
