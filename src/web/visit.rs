//! One request about one student: who asks, how they stand to the student, and
//! the strip over the page.
//!
//! A page put together from several kinds of record takes its proofs from here;
//! a page about one kind names the proof in its handler's signature.

use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use jiff::civil::Date;

use super::error::{Error, Result};
use super::page::{Context, StudentStrip};
use super::params::named;
use super::state::App;
use super::words;
use crate::access::action::{Action, Create, Export, Read};
use crate::access::resource::{
    Card, Consents, Evaluation, Glimpse, Guidance, HomeObservation, Identity, Initials, Intake, Loans, OfficeResource,
    Pause, Prescription, Resource, Row, SafetyFlag, Stage, Summary, Team, Thread, Training, TryAtHome, VisualTasks,
    WholeRecord,
};
use crate::access::standing::{Password, Standing, Withheld};
use crate::access::{Access, Actor, Office, Role};
use crate::care::ids::StudentId;
use crate::care::student::{Coming, coming_of_age};
use crate::store::account::Reentered;
use crate::store::disclosure::{Together, Written};
use crate::store::journey::Shown;
use crate::store::setting::Site;
use crate::store::{self, Audit, Snapshot, Store, disclosure};

/// One request about one student.
#[derive(Clone)]
pub struct Visit {
    store: Store,
    actor: Actor,
    student: StudentId,
    standing: Standing,
    strip: StudentStrip,
    tracks: Vec<Shown>,
    evaluation_due: Option<Date>,
    coming: Coming,
    written: Written,
}

/// A caseload: one visit for each student whom this reader may know of.
pub struct Caseload {
    /// In the order asked for; who may not be known of is not in it.
    pub visits: Vec<Visit>,
    /// Records kept from this parent, each with the reason; never whose.
    pub withheld: Vec<Withheld>,
}

impl FromRequestParts<App> for Visit {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, state: &App) -> Result<Self> {
        if let Some(visit) = parts.extensions.get::<Self>() {
            return Ok(visit.clone());
        }
        let student: StudentId = named(parts, state, "student").await?;
        let context = Context::from_request_parts(parts, state).await?;
        let password = context.session.as_ref().map_or(Password::NotEntered, |session| session.password);
        let actor = context.actor()?.clone();
        let mut found = Self::begin_all(&state.store, &context.site, &actor, &[student], password).await?;
        if let Some(withheld) = found.withheld.first() {
            return Err(Error::Withheld(*withheld, context.site.owner().to_owned()));
        }
        let visit = found.visits.pop().ok_or(Error::Hidden)?;
        parts.extensions.insert(visit.clone());
        Ok(visit)
    }
}

impl Visit {
    /// Begins a visit to each of a list of students, in as many queries as one
    /// student takes. Asking for what is kept from this reader is written down.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn begin_all(
        store: &Store,
        site: &Site,
        actor: &Actor,
        students: &[StudentId],
        password: Password,
    ) -> Result<Caseload> {
        let mut snapshot = store.snapshot().await?;
        let mut standings = store::standing::of_all(&mut snapshot, site, actor, students, password).await?;
        let consents: Vec<Access<Consents, Read>> =
            standings.iter().filter_map(|standing| Access::grant(actor, standing.student(), standing).ok()).collect();
        // G7: a consent signed ahead sends its documents on its first day.
        let waiting = store::sending::waiting(&mut snapshot, &consents).await?;
        if !waiting.is_empty() {
            drop(snapshot);
            for access in consents.iter().filter(|access| waiting.contains(&access.student())) {
                let mut tx = store.tx().await?;
                store::sending::catch_up(&mut tx, access).await?;
                tx.commit(Audit::by(access).doing("send at start")).await?;
            }
            snapshot = store.snapshot().await?;
            standings = store::standing::of_all(&mut snapshot, site, actor, students, password).await?;
        }
        let (kept, open): (Vec<Standing>, Vec<Standing>) =
            standings.into_iter().partition(|standing| standing.withheld().is_some());
        let visits = open.into_iter().map(|standing| Self {
            store: store.clone(),
            actor: actor.clone(),
            student: standing.student(),
            standing,
            strip: StudentStrip::default(),
            tracks: Vec::new(),
            evaluation_due: None,
            coming: Coming::Later,
            written: Written::default(),
        });
        let mut visits: Vec<Self> = visits.collect();
        know_stages(&mut visits, &mut snapshot).await?;
        let visits = know_names(visits, &mut snapshot, site).await?;
        drop(snapshot);
        store::disclosure::of_refusals(store, actor, &kept).await?;
        Ok(Caseload { visits, withheld: kept.iter().filter_map(Standing::withheld).collect() })
    }

    /// Whose record.
    pub fn student(&self) -> StudentId {
        self.student
    }

    /// Where records and the clock are.
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// Who asks.
    pub fn actor(&self) -> &Actor {
        &self.actor
    }

    /// The role in which they ask; a steward without a role has none.
    pub fn role(&self) -> Option<Role> {
        self.actor.role
    }

    /// An address below this student.
    pub fn at(&self, path: &str) -> String {
        format!("/students/{}{path}", self.student)
    }

    /// Whether a link may be shown; takes nothing across.
    pub fn may<R: Resource, A: Action>(&self) -> bool {
        Access::<R, A>::grant(&self.actor, self.student, &self.standing).is_ok()
    }

    /// Whether this reaches own entries only, for links and before anything is
    /// read; nothing where it may not be done at all. Takes nothing across.
    pub fn own_only<R: Resource, A: Action>(&self) -> Option<bool> {
        Access::<R, A>::grant(&self.actor, self.student, &self.standing).ok().map(|access| access.limits().own_only)
    }

    /// The proof, its disclosure row written first where it takes content across.
    ///
    /// # Errors
    /// [`Error::Hidden`] or [`Error::Forbidden`] as the policy says.
    pub async fn open<R: Resource, A: Action>(&self) -> Result<Access<R, A>> {
        let access = Access::grant(&self.actor, self.student, &self.standing)?;
        // Withdrawn in between: from then on there is nothing here.
        self.once(access).await?.ok_or(Error::Hidden)
    }

    /// The proof if there is one, for a part of a page that is left out otherwise.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn open_if<R: Resource, A: Action>(&self) -> Result<Option<Access<R, A>>> {
        match Access::grant(&self.actor, self.student, &self.standing) {
            Ok(access) => self.once(access).await,
            Err(_) => Ok(None),
        }
    }

    /// Writes the disclosure rows of all the kinds that a page puts together, at
    /// once, before it opens them one by one: a write of its own for each would
    /// make the page as slow as it has parts. A kind that is not opened after all
    /// must not be among them.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn opens_next(&self, kinds: &[Row]) -> Result<()> {
        let parts = Together { needed: None, kinds };
        Ok(self.written.ahead(&self.store, &self.actor, &self.standing, &parts).await?)
    }

    /// The same for a page that there is not without its first kind: then
    /// nothing is read, and nothing written.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn opens_with<R: Resource>(&self, others: &[Row]) -> Result<()> {
        let kinds = [&[R::ROW], others].concat();
        let parts = Together { needed: Some(R::ROW), kinds: &kinds };
        Ok(self.written.ahead(&self.store, &self.actor, &self.standing, &parts).await?)
    }

    /// Remembers that these kinds were written down as taken along by this request.
    pub fn took(&self, access: &Access<WholeRecord, Export>, kinds: &[Row]) {
        self.written.taken(access, kinds);
    }

    /// The proof to read with: written down by this request already, or now.
    async fn once<R: Resource, A: Action>(&self, access: Access<R, A>) -> Result<Option<Access<R, A>>> {
        if let Some(written) = self.written.again(&access) {
            return Ok(Some(written));
        }
        let given = disclosure::of_reading(&self.store, access).await?;
        if let Some(access) = &given {
            self.written.remember(access);
        }
        Ok(given)
    }

    /// The proof about something that is not about one student, if there is one,
    /// for a part of a page that is left out otherwise.
    pub fn office_if<R: OfficeResource, A: Action>(&self) -> Option<Office<R, A>> {
        Office::grant(&self.actor, Password::NotEntered).ok()
    }

    /// The proof for an act that needs the password entered again.
    ///
    /// # Errors
    /// [`Error::Hidden`] or [`Error::Forbidden`] as the policy says.
    pub async fn open_reentered<R: Resource, A: Action>(&self, reentered: &Reentered) -> Result<Access<R, A>> {
        if reentered.account() != self.actor.account {
            return Err(Error::Hidden);
        }
        let mut snapshot = self.store.snapshot().await?;
        let standing = store::standing::of(&mut snapshot, &self.actor, self.student, Password::JustEntered).await?;
        Ok(Access::grant(&self.actor, self.student, &standing)?)
    }

    /// A proof for a number or a decision, such as how much is new or whose an
    /// entry is. Nothing that is read with it is shown, so the disclosure record
    /// says nothing.
    pub fn unshown<R: Resource>(&self) -> Option<Access<R, Read>> {
        self.quiet()
    }

    /// The proofs of a caseload for one thing, as [`Visit::open_if`] gives them,
    /// with all disclosure rows written at once.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn open_all<R: Resource, A: Action>(visits: &[Self]) -> Result<Vec<Access<R, A>>> {
        match visits.first() {
            Some(first) => Ok(disclosure::of_readings(&first.store, quiet_all(visits)).await?),
            None => Ok(Vec::new()),
        }
    }

    /// Whether the policy would allow this with the password entered again: for a
    /// page whose own form asks for the password.
    ///
    /// # Errors
    /// [`Error::Hidden`] or [`Error::Forbidden`] as the policy says.
    pub async fn allows_with_password<R: Resource, A: Action>(&self) -> Result<()> {
        let mut snapshot = self.store.snapshot().await?;
        let standing = store::standing::of(&mut snapshot, &self.actor, self.student, Password::JustEntered).await?;
        Access::<R, A>::grant(&self.actor, self.student, &standing)?;
        Ok(())
    }

    /// Whether this reader may know only the initials until a consent is signed.
    pub fn waits_for_consent(&self) -> bool {
        !self.may::<Glimpse, Read>() && self.may::<Initials, Read>()
    }

    /// The strip over the page.
    pub fn strip(&self) -> StudentStrip {
        self.strip.clone()
    }

    /// The student's name, or the initials where the name may not be read.
    pub fn name(&self) -> &str {
        &self.strip.name
    }

    /// Both tracks as this reader is shown them; empty for one who is shown none.
    pub fn tracks(&self) -> &[Shown] {
        &self.tracks
    }

    /// The day the next evaluation is due, past or not, for whoever may read the
    /// stage; none, nobody was evaluated yet.
    pub fn evaluation_due(&self) -> Option<Date> {
        self.evaluation_due
    }

    /// Whether the rights are the student's, or will be soon; told to whoever may
    /// know the birth date.
    pub fn coming_of_age(&self) -> Coming {
        self.coming
    }

    fn quiet<R: Resource, A: Action>(&self) -> Option<Access<R, A>> {
        Access::grant(&self.actor, self.student, &self.standing).ok()
    }

    fn links(&self) -> Vec<(String, String)> {
        let teacher = self.role() == Some(Role::ClassroomTeacher);
        let all = [
            ("", "Overview", true),
            ("/intake", "Intake", self.may::<Intake, Read>()),
            ("/tasks", "What to see", self.may::<VisualTasks, Read>() && !teacher),
            ("/evaluations", "Evaluations", self.may::<Evaluation, Read>() || self.role() == Some(Role::VisionTeacher)),
            ("/devices", "Devices", self.may::<Loans, Read>()),
            ("/training", "Training", self.may::<Training, Read>()),
            ("/observations", "Observations", self.may::<HomeObservation, Read>() || teacher),
            ("/evidence", "Evidence", self.may::<Guidance, Read>()),
            ("/card", "Classroom card", self.may::<Card, Read>()),
            ("/card/at-home", "To try at home", self.may::<TryAtHome, Read>()),
            ("/summaries", "Summaries", self.may::<Summary, Read>()),
            ("/review", "Review", self.role() == Some(Role::Clinician) && self.may::<Summary, Read>()),
            ("/prescription", "Prescription", self.may::<Prescription, Read>()),
            ("/thread", "Thread", self.may::<Thread, Read>() || self.may::<Thread, Create>()),
            ("/service", "Hold and close", self.may::<Stage, Create>()),
            ("/people", "People and consent", self.may::<Team, Read>() || self.may::<Consents, Read>()),
            ("/safety", "Safety", self.may::<SafetyFlag, Read>()),
        ];
        all.into_iter()
            .filter(|(_, _, shown)| *shown)
            .map(|(path, words, _)| (self.at(path), words.to_owned()))
            .collect()
    }
}

fn quiet_all<R: Resource, A: Action>(visits: &[Visit]) -> Vec<Access<R, A>> {
    visits.iter().filter_map(Visit::quiet).collect()
}

/// Puts the stages, the pause and the next evaluation into each visit whose
/// reader may know them.
async fn know_stages(visits: &mut [Visit], snapshot: &mut Snapshot) -> Result<()> {
    let stages = quiet_all::<Stage, Read>(visits);
    let mut shown = store::journey::shown_all(snapshot, &stages).await?;
    let due = store::around::evaluations_due(snapshot, &stages).await?;
    let paused = store::safety::paused(snapshot, &quiet_all::<Pause, Read>(visits)).await?;
    let held = store::service::now_all(snapshot, &stages).await?;
    for visit in visits {
        visit.tracks = shown.remove(&visit.student).unwrap_or_default();
        let mut stages = if visit.tracks.is_empty() { Vec::new() } else { words::stages(&visit.tracks) };
        if let Some(beside) = held.get(&visit.student) {
            stages.extend(beside.on_hold.map(|day| format!("On hold since {}", words::date(day))));
            stages.extend(beside.closed.map(|day| format!("Closed on {}", words::date(day))));
        }
        visit.evaluation_due = due.get(&visit.student).copied();
        visit.strip = StudentStrip {
            name: String::new(),
            stages,
            paused: paused.contains(&visit.student),
            overdue: overdue(visit, snapshot.today()),
            links: visit.links(),
            safety_href: visit.at("/safety"),
        };
    }
    Ok(())
}

/// G11: what every screen says that uses the figures of an evaluation.
fn overdue(visit: &Visit, today: Date) -> String {
    match visit.evaluation_due {
        Some(due) if due <= today => {
            format!(
                "An evaluation was due on {}. The figures here rest on the last one; training goes on.",
                words::date(due)
            )
        }
        _ => String::new(),
    }
}

/// Puts the name into each visit, or the initials; who may know neither is gone.
async fn know_names(visits: Vec<Visit>, snapshot: &mut Snapshot, site: &Site) -> Result<Vec<Visit>> {
    let today = snapshot.today();
    let known = store::student::identities(snapshot, &quiet_all::<Identity, Read>(&visits)).await?;
    let rest: Vec<Visit> = visits.iter().filter(|visit| !known.contains_key(&visit.student)).cloned().collect();
    let glimpsed = store::student::glimpses(snapshot, &quiet_all::<Glimpse, Read>(&rest)).await?;
    let initials = store::student::all_initials(snapshot, &quiet_all::<Initials, Read>(&rest)).await?;
    let mut named = Vec::new();
    for mut visit in visits {
        let id = visit.student;
        if let Some(student) = known.get(&id) {
            student.called().clone_into(&mut visit.strip.name);
            visit.coming = coming_of_age(student.birth_date, site.transfer_age(), today);
        } else if let Some(name) = glimpsed.get(&id).map(|known| &known.name).or_else(|| initials.get(&id)) {
            visit.strip.name.clone_from(name);
        } else {
            continue;
        }
        named.push(visit);
    }
    Ok(named)
}

/// How somebody stands to each of a list of students, for proofs to count with: as
/// [`Visit::unshown`] for each, without a visit. Nothing is read to be shown, and
/// nobody asked, so nothing is written down.
pub(super) struct Unseen {
    actor: Actor,
    standings: Vec<Standing>,
}

impl Unseen {
    /// # Errors
    /// When the database fails.
    pub(super) async fn of(
        snapshot: &mut Snapshot,
        site: &Site,
        actor: &Actor,
        students: &[StudentId],
    ) -> Result<Self> {
        let standings = store::standing::of_all(snapshot, site, actor, students, Password::NotEntered).await?;
        Ok(Self { actor: actor.clone(), standings })
    }

    /// A proof for each student of whom this person may read this.
    pub(super) fn proofs<R: Resource>(&self) -> Vec<Access<R, Read>> {
        let of = |standing: &Standing| Access::grant(&self.actor, standing.student(), standing).ok();
        self.standings.iter().filter_map(of).collect()
    }
}
