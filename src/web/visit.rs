//! One request about one student: who asks, how they stand to the student, and
//! the strip over the page.
//!
//! A page put together from several kinds of record takes its proofs from here;
//! a page about one kind names the proof in its handler's signature.

use axum::extract::FromRequestParts;
use axum::http::request::Parts;

use super::error::{Error, Result};
use super::page::{Context, StudentStrip};
use super::params::named;
use super::state::App;
use super::words;
use crate::access::action::{Action, Create, Read};
use crate::access::resource::{
    Card, Consents, Evaluation, Glimpse, HomeObservation, Identity, Initials, Intake, Loans, OfficeResource, Pause,
    Prescription, Resource, SafetyFlag, Stage, Summary, Team, Thread, Training, VisualTasks,
};
use crate::access::standing::{Password, Standing};
use crate::access::{Access, Actor, Office, Role};
use crate::care::ids::StudentId;
use crate::store::account::Reentered;
use crate::store::journey::Shown;
use crate::store::{self, Audit, Store, disclosure};

/// One request about one student.
#[derive(Clone)]
pub struct Visit {
    store: Store,
    actor: Actor,
    student: StudentId,
    standing: Standing,
    strip: StudentStrip,
    tracks: Vec<Shown>,
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
        let visit = Self::begin(&state.store, context.actor()?.clone(), student, password).await?;
        parts.extensions.insert(visit.clone());
        Ok(visit)
    }
}

impl Visit {
    /// Begins a visit to one of a list of students, for a page across students.
    ///
    /// # Errors
    /// [`Error::Hidden`] when the student is not this person's.
    pub async fn begin(store: &Store, actor: Actor, student: StudentId, password: Password) -> Result<Self> {
        let mut snapshot = store.snapshot().await?;
        let mut standing = store::standing::of(&mut snapshot, &actor, student, password).await?;
        // G7: a consent signed ahead sends its documents on its first day.
        if let Ok(access) = Access::<Consents, Read>::grant(&actor, student, &standing)
            && store::sending::waits(&mut snapshot, &access).await?
        {
            drop(snapshot);
            let mut tx = store.tx().await?;
            store::sending::catch_up(&mut tx, &access).await?;
            tx.commit(Audit::by(&access).doing("send at start")).await?;
            snapshot = store.snapshot().await?;
            standing = store::standing::of(&mut snapshot, &actor, student, password).await?;
        }
        let mut visit =
            Self { store: store.clone(), actor, student, standing, strip: StudentStrip::default(), tracks: Vec::new() };
        if let Some(access) = visit.quiet::<Stage, Read>() {
            visit.tracks = store::journey::shown(&mut snapshot, &access).await?;
        }
        visit.strip = visit.build_strip(&mut snapshot).await?;
        Ok(visit)
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

    /// The proof, its disclosure row written first where it takes content across.
    ///
    /// # Errors
    /// [`Error::Hidden`] or [`Error::Forbidden`] as the policy says.
    pub async fn open<R: Resource, A: Action>(&self) -> Result<Access<R, A>> {
        let access = Access::grant(&self.actor, self.student, &self.standing)?;
        // Withdrawn in between: from then on there is nothing here.
        disclosure::of_reading(&self.store, access).await?.ok_or(Error::Hidden)
    }

    /// The proof if there is one, for a part of a page that is left out otherwise.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn open_if<R: Resource, A: Action>(&self) -> Result<Option<Access<R, A>>> {
        match Access::grant(&self.actor, self.student, &self.standing) {
            Ok(access) => Ok(disclosure::of_reading(&self.store, access).await?),
            Err(_) => Ok(None),
        }
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

    fn quiet<R: Resource, A: Action>(&self) -> Option<Access<R, A>> {
        Access::grant(&self.actor, self.student, &self.standing).ok()
    }

    async fn build_strip(&self, snapshot: &mut store::Snapshot) -> Result<StudentStrip> {
        let name = if let Some(access) = self.quiet::<Identity, Read>() {
            store::student::identity(snapshot, &access).await?.called().to_owned()
        } else if let Some(access) = self.quiet::<Glimpse, Read>() {
            store::student::glimpse(snapshot, &access).await?.name
        } else if let Some(access) = self.quiet::<Initials, Read>() {
            store::student::initials_of(snapshot, &access).await?
        } else {
            return Err(Error::Hidden);
        };
        let mut stages = if self.tracks.is_empty() { Vec::new() } else { words::stages(&self.tracks) };
        if let Some(access) = self.quiet::<Stage, Read>() {
            let beside = store::service::now(snapshot, &access).await?;
            stages.extend(beside.on_hold.map(|day| format!("On hold since {}", words::date(day))));
            stages.extend(beside.closed.map(|day| format!("Closed on {}", words::date(day))));
        }
        let paused = match self.quiet::<Pause, Read>() {
            Some(access) => store::safety::is_paused(snapshot, &access).await?,
            None => false,
        };
        Ok(StudentStrip { name, stages, paused, links: self.links(), safety_href: self.at("/safety") })
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
            ("/card", "Classroom card", self.may::<Card, Read>()),
            ("/summaries", "Summaries", self.may::<Summary, Read>()),
            ("/review", "Review", self.role() == Some(Role::Clinician) && self.may::<Summary, Read>()),
            ("/prescription", "Prescription", self.may::<Prescription, Read>()),
            ("/thread", "Thread", self.may::<Thread, Read>() || self.may::<Thread, Create>()),
            ("/people", "People and consent", self.may::<Team, Read>() || self.may::<Consents, Read>()),
            ("/safety", "Safety", self.may::<SafetyFlag, Read>()),
        ];
        all.into_iter()
            .filter(|(_, _, shown)| *shown)
            .map(|(path, words, _)| (self.at(path), words.to_owned()))
            .collect()
    }
}
