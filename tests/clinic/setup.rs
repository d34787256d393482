//! A team around one student, with a task and consents where a story needs them.

use farpoint::access::Access;
use farpoint::access::action::{Create, Sign};
use farpoint::access::resource::{Consents, VisualTasks};
use farpoint::access::standing::Password;
use farpoint::care::consent::{Direction, Party};
use farpoint::care::ids::ConsentId;
use farpoint::care::task::{Goal, NewTask, TargetClass, TaskCode};
use farpoint::care::track::Track;
use farpoint::store::{Audit, account, consent, setting, standing, task};
use jiff::ToSpan;

use crate::page::Page;
use crate::people::{PASSWORD, Person};
use crate::world::{Pupil, World};

/// A vision teacher, a parent and a clinician around one student.
pub(crate) struct Team {
    pub(crate) world: World,
    pub(crate) teacher: Person,
    pub(crate) parent: Person,
    pub(crate) clinician: Person,
    pub(crate) pupil: Pupil,
}

impl Team {
    /// The team, with one thing the student wants to see and no consent.
    pub(crate) async fn new() -> Self {
        let team = Self::without_a_task().await;
        team.names_a_task().await;
        team
    }

    pub(crate) async fn without_a_task() -> Self {
        let world = World::new().await;
        let teacher = world.vision_teacher().await;
        let pupil = world.student_of(&teacher).await;
        let (parent, clinician) = (world.parent().await, world.clinician().await);
        for person in [&parent, &clinician] {
            world.joins(person, &pupil, &teacher).await;
        }
        Self { world, teacher, parent, clinician, pupil }
    }

    /// The team with both consents in force for everything they can name.
    pub(crate) async fn with_consents() -> Self {
        let team = Self::new().await;
        team.consents(Direction::SchoolToClinic).await;
        team.consents(Direction::ClinicToSchool).await;
        team
    }

    pub(crate) fn at(&self, path: &str) -> String {
        self.pupil.at(path)
    }

    /// Setup: something the student wants to see.
    pub(crate) async fn names_a_task(&self) {
        let mut tx = self.world.store().tx().await.unwrap();
        let actor = self.teacher.actor();
        let standing = standing::of(&mut tx, actor, self.pupil.id, Password::NotEntered).await.unwrap();
        let access = Access::<VisualTasks, Create>::grant(actor, self.pupil.id, &standing).unwrap();
        let new = NewTask {
            code: TaskCode::BoardWords,
            name: "Words on the science board".to_owned(),
            place: String::new(),
            seat: None,
            track: Track::Distance,
            goal: Goal::Copy,
            own_distance: None,
            x_height: None,
            display: None,
            marker: None,
            light: None,
            screen: None,
            target: TargetClass::Words,
            choices: None,
            measured: false,
            wanted_by: "the student".to_owned(),
        };
        let id = task::add(&mut tx, &access, &new).await.unwrap();
        tx.commit(Audit::by(&access).record(id)).await.unwrap();
    }

    /// Setup: the parent signs a consent that way, for all it can name.
    pub(crate) async fn consents(&self, direction: Direction) -> ConsentId {
        let (store, actor) = (self.world.store(), self.parent.actor());
        let reentered =
            account::reenter(store, &self.world.app().passwords, actor, PASSWORD).await.unwrap().ok().unwrap();
        let mut tx = store.tx().await.unwrap();
        let owner = setting::site(&mut tx).await.unwrap().owner().to_owned();
        let owner = Party::new(&owner).unwrap_or(Party::new("the district").unwrap());
        let clinic = Party::new(self.clinician.actor().clinic.as_deref().unwrap()).unwrap();
        let (from, to) = match direction {
            Direction::SchoolToClinic => (owner, clinic),
            Direction::ClinicToSchool => (clinic, owner),
        };
        let standing = standing::of(&mut tx, actor, self.pupil.id, Password::JustEntered).await.unwrap();
        let access = Access::<Consents, Sign>::grant(actor, self.pupil.id, &standing).unwrap();
        let new = consent::NewConsent {
            direction,
            categories: direction.categories().collect(),
            purpose: "low-vision care".to_owned(),
            from,
            to,
            start: self.world.today(),
            end: self.world.today().saturating_add(1.year()),
            relation: "mother".to_owned(),
            language: "en".to_owned(),
        };
        let id = consent::sign(&mut tx, &access, &reentered, &new).await.unwrap();
        tx.commit(Audit::by(&access).record(id)).await.unwrap();
        id
    }

    /// Setup: the parent takes a consent back.
    pub(crate) async fn withdraws(&self, id: ConsentId) {
        let (store, actor) = (self.world.store(), self.parent.actor());
        let reentered =
            account::reenter(store, &self.world.app().passwords, actor, PASSWORD).await.unwrap().ok().unwrap();
        let mut tx = store.tx().await.unwrap();
        let standing = standing::of(&mut tx, actor, self.pupil.id, Password::JustEntered).await.unwrap();
        let access = Access::<Consents, Sign>::grant(actor, self.pupil.id, &standing).unwrap();
        consent::withdraw(&mut tx, &access, &reentered, id).await.unwrap();
        tx.commit(Audit::by(&access).record(id)).await.unwrap();
    }

    /// The teacher asks.
    pub(crate) async fn asks(&self, question: &str) -> Page {
        let fields = [("question", question), ("urgency", "before the test in March")];
        self.teacher.presses(&self.at("/evaluations/request"), "Ask, and release the intake", &fields).await
    }

    /// The clinician begins a draft; gives its address.
    pub(crate) async fn begins(&self) -> String {
        let page = self.clinician.presses(&self.at("/evaluations/new"), "Begin", &[]).await;
        let hub = page.redirected_to();
        hub.strip_suffix("/edit").expect("the sections of the draft").to_owned()
    }

    /// The clinician adds an acuity row.
    pub(crate) async fn adds_row(&self, draft: &str, fields: &[(&str, &str)]) -> Page {
        self.clinician.presses(&format!("{draft}/edit/acuity"), "Add this row", fields).await
    }

    /// The clinician saves one section.
    pub(crate) async fn saves(&self, draft: &str, section: &str, fields: &[(&str, &str)]) -> Page {
        self.clinician.presses(&format!("{draft}/edit/{section}"), "Save and go on", fields).await
    }

    /// A draft in which nothing is missing.
    pub(crate) async fn writes(&self) -> String {
        let draft = self.begins().await;
        self.adds_row(&draft, &FAR).await.redirected_to();
        self.saves(&draft, "distance", &TELESCOPE).await.redirected_to();
        self.saves(&draft, "near", &[("answer", "not_looked_at")]).await.redirected_to();
        draft
    }

    /// The clinician signs.
    pub(crate) async fn signs(&self, draft: &str) -> Page {
        self.clinician.presses(&format!("{draft}/preview"), "Sign the evaluation", &[("password", PASSWORD)]).await
    }
}

/// A distance row in the notation of the trade.
pub(crate) const FAR: [(&str, &str); 4] =
    [("eye", "right"), ("correction", "best_correction"), ("distance", "10 ft"), ("value", "10/100")];

/// A telescope to train with, safe with limits.
pub(crate) const TELESCOPE: [(&str, &str); 8] = [
    ("answer", "devices"),
    ("safe", "with_limits"),
    ("limits", "Sitting down, not outdoors yet"),
    ("device_1_kind", "handheld_monocular"),
    ("device_1_power", "6"),
    ("device_1_objective", "16"),
    ("device_1_field", "9"),
    ("device_1_near_focus", "25 cm"),
];
