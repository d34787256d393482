//! A student with a team around: setup for stories about what the team says.

use std::collections::BTreeSet;

use farpoint::access::action::{Create, Sign};
use farpoint::access::resource::{Consents, Resource, VisualTasks};
use farpoint::access::standing::Password;
use farpoint::access::{Access, action::Action};
use farpoint::care::consent::{Direction, Party};
use farpoint::care::ids::VisualTaskId;
use farpoint::care::task::{Display, Goal, Marker, NewTask, TargetClass, TaskCode};
use farpoint::care::typed::Typed;
use farpoint::store::{Audit, Tx, account, consent, standing, task};
use farpoint::vision::units::{Metres, Millimetres};
use jiff::ToSpan;

use crate::people::{CLINIC, PASSWORD, Person};
use crate::world::{Pupil, World};

/// A student and one person of every role on the team.
pub(crate) struct Circle {
    pub(crate) pupil: Pupil,
    pub(crate) teacher: Person,
    pub(crate) class: Person,
    pub(crate) parent: Person,
    pub(crate) clinician: Person,
}

impl World {
    /// Setup: a whole team, and no consent yet.
    pub(crate) async fn circle(&self) -> Circle {
        let teacher = self.vision_teacher().await;
        let pupil = self.student_of(&teacher).await;
        let (class, parent, clinician) = (self.classroom_teacher().await, self.parent().await, self.clinician().await);
        for person in [&class, &parent, &clinician] {
            self.joins(person, &pupil, &teacher).await;
        }
        Circle { pupil, teacher, class, parent, clinician }
    }

    /// Setup: a proof as the service would give it to this person now.
    pub(crate) async fn proof<R: Resource, A: Action>(
        &self,
        tx: &mut Tx,
        person: &Person,
        pupil: &Pupil,
    ) -> Access<R, A> {
        let standing = standing::of(tx, person.actor(), pupil.id, Password::JustEntered).await.expect("a standing");
        Access::grant(person.actor(), pupil.id, &standing).expect("this person may")
    }

    /// Setup: the parent signs a consent in this direction, for everything that
    /// can go that way.
    pub(crate) async fn signs_consent(&self, circle: &Circle, direction: Direction) {
        let reentered = account::reenter(self.store(), &self.app().passwords, circle.parent.actor(), PASSWORD)
            .await
            .expect("answers");
        let Ok(reentered) = reentered else { panic!("the password is right") };
        let mut tx = self.store().tx().await.expect("a transaction");
        let owner = farpoint::store::setting::site(&mut tx).await.expect("settings").owner().to_owned();
        let party = |name: &str| Party::new(name).expect("a name");
        let (from, to) = match direction {
            Direction::SchoolToClinic => (party(&owner), party(CLINIC)),
            Direction::ClinicToSchool => (party(CLINIC), party(&owner)),
        };
        let access = self.proof::<Consents, Sign>(&mut tx, &circle.parent, &circle.pupil).await;
        let new = consent::NewConsent {
            direction,
            categories: direction.categories().collect::<BTreeSet<_>>(),
            purpose: "low vision care".to_owned(),
            from,
            to,
            start: self.today(),
            end: self.today().checked_add(1.year()).expect("a year on"),
            relation: "mother".to_owned(),
            language: "en".to_owned(),
        };
        let id = consent::sign(&mut tx, &access, &reentered, &new).await.expect("it is signed");
        tx.commit(Audit::by(&access).record(id)).await.expect("it is kept");
    }

    /// Setup: something the student must see, 5.2 m away in letters of 35 mm.
    pub(crate) async fn task(&self, circle: &Circle, code: TaskCode, name: &str) -> VisualTaskId {
        let mut tx = self.store().tx().await.expect("a transaction");
        let access = self.proof::<VisualTasks, Create>(&mut tx, &circle.teacher, &circle.pupil).await;
        let new = NewTask {
            code,
            name: name.to_owned(),
            place: "Room 9".to_owned(),
            seat: None,
            track: code.usual_track(),
            goal: Goal::Copy,
            own_distance: Some(Typed::new("5.2 m", Metres::literal(5.2))),
            x_height: Some(Typed::new("3.5 cm", Millimetres::literal(35.0))),
            display: Some(Display::Whiteboard),
            marker: Some(Marker::RedOnWhite),
            light: None,
            screen: None,
            target: TargetClass::Digits,
            choices: None,
            measured: true,
            wanted_by: String::new(),
        };
        let id = task::add(&mut tx, &access, &new).await.expect("a task");
        tx.commit(Audit::by(&access).record(id)).await.expect("it is kept");
        id
    }
}
