//! The people and students that the walk over the routes needs.
//!
//! Three students: with both consents in force, with both withdrawn and of age
//! by now, and with none ever given. On each team every role; beside them those
//! who left, who were never there, whose clinic no consent names, a parent with
//! limited rights, and parents of the student of age.

use farpoint::access::Role;
use farpoint::access::standing::{Categories, Given, InForce, Password, Sent, Tie};
use farpoint::care::consent::{Category, Direction};
use jiff::SignedDuration;
use tokio::sync::OnceCell;

use super::worlds::{self, FULL, LIMITED};
use crate::lap::{DISTANCE, Team};
use crate::people::{PASSWORD, Person};
use crate::world::{Frozen, Pupil, World};

/// Somebody, one student, and what is true between them: typed by hand, to be
/// held against what the service makes of it.
pub(super) struct Walker {
    pub(super) title: &'static str,
    pub(super) person: Person,
    pub(super) pupil: Pupil,
    pub(super) role: Option<Role>,
    pub(super) steward: bool,
    pub(super) signed_in: bool,
    /// Whether the entries of this role are this person's own.
    pub(super) author: bool,
    pub(super) facts: worlds::World,
}

/// A state of the service, and everybody who walks through it.
pub(super) struct Fixture {
    pub(super) state: Frozen,
    pub(super) walkers: Vec<Walker>,
}

fn facts(tie: Tie) -> worlds::World {
    worlds::World { tie, consents: Vec::new(), sent: Vec::new(), password: Password::NotEntered }
}

fn consented(role: Role) -> worlds::World {
    let direction = worlds::way(Some(role));
    let all = InForce { consent: worlds::consent(), direction, categories: Categories::all(), kind: Given::Consent };
    worlds::World { consents: vec![all], ..facts(Tie::OnTeam) }
}

fn sent(direction: Direction, categories: &[Category]) -> worlds::World {
    let sent = categories.iter().map(|category| Sent { direction, category: *category }).collect();
    worlds::World { sent, ..facts(Tie::OnTeam) }
}

/// What needs no consent.
async fn records(world: &World, team: &Team) {
    let (pupil, teacher) = (&team.pupil, &team.teacher);
    let flag = [("sign", "rf4"), ("note", "says the eye hurts")];
    team.parent.presses(&pupil.at("/safety"), "Send the red flag", &flag).await.redirected_to();
    let letters = [("often", "at_once"), ("address", "teacher@people.example")];
    teacher.presses("/account", "Save how often", &letters).await.redirected_to();
    team.parent.presses(&pupil.at("/thread"), "Send", &[("to", "note"), ("body", "She waved.")]).await.redirected_to();
    world.passes(SignedDuration::from_mins(11));
    farpoint::web::telling::gather(world.app()).await.expect("a letter is queued");
    let question = [("to", "clinician"), ("body", "Which eye takes the telescope?")];
    teacher.presses(&pupil.at("/thread"), "Send", &question).await.redirected_to();
    let account = team.parent.actor().account.to_string();
    let contact = [("name", "Solveig Ashdown-Lal"), ("phone", "555 0142"), ("account", account.as_str())];
    teacher.presses(&pupil.at("/people/contacts/new"), "Save", &contact).await.redirected_to();
    world.link(teacher, pupil, Role::ClassroomTeacher).await;
}

/// The student comes of age, and lets the parent read two kinds of record.
async fn of_age(world: &World, team: &Team) {
    world.turns(18, &team.pupil, &team.teacher).await;
    let steward = world.steward().await;
    steward.enters_password_again().await;
    world.lets(&steward, &team.parent, &team.pupil, &[Category::Training, Category::Summary]).await;
}

/// Another device asked for and allowed, and the own device in repair: one of
/// each record that stands past a gate.
async fn goes_past_the_usual(world: &World, team: &Team) {
    let other = team.stocks(world, DISTANCE.other_device).await;
    let device = other.rsplit('/').next().unwrap_or_default();
    let question = [("device", device), ("reason", "The board is far in the hall.")];
    let ask = team.at("/devices/ask/distance");
    team.teacher.presses(&ask, "Ask the clinician", &question).await.redirected_to();
    let answer = team.clinician.opens(&team.at("/devices")).await.ok().link("Compare and answer");
    let allowed = [("answer", "allow"), ("reason", "For the hall, seated.")];
    team.clinician.presses(&answer, "Send the answer", &allowed).await.redirected_to();
    team.receives(&DISTANCE).await;
    let own = world.newest("own_device", &team.pupil).await.expect("what arrived");
    let repair = team.at(&format!("/devices/own/{own}/repair"));
    let broken = [("reason", "The focus ring is stuck.")];
    team.parent.presses(&repair, "Record the repair", &broken).await.redirected_to();
}

/// Made once; whoever walks goes on from a copy.
pub(super) async fn fixture() -> &'static Fixture {
    static MADE: OnceCell<Fixture> = OnceCell::const_new();
    MADE.get_or_init(made).await
}

async fn made() -> Fixture {
    let world = World::new().await;
    let with = Team::around_a_student(&world).await;
    let withdrawn = Team::around_a_student(&world).await;
    let never = Team::around_a_student(&world).await;
    for team in [&with, &withdrawn] {
        // Over by itself long before anybody walks.
        let path = team.at("/people/emergency");
        let fields = [("category", "training"), ("reason", "Hurt on a trip"), ("password", PASSWORD)];
        team.clinician.presses(&path, "Open it for 24 hours", &fields).await.redirected_to();
        world.consents(&team.parent, &team.pupil).await;
        // An eye report that is filed, and the draft of another one.
        let report = team.copies_eye_report().await;
        team.files_report(&report).await;
        team.begins_unfinished_report().await;
        team.goes_round_and_on(&world, &DISTANCE).await;
        goes_past_the_usual(&world, team).await;
    }
    never.takes_in(&DISTANCE).await;
    never.asks().await;
    for team in [&with, &withdrawn, &never] {
        records(&world, team).await;
    }
    for team in [&with, &withdrawn] {
        world.attaches_scan_of_consent(&team.teacher, &team.pupil).await;
    }
    world.withdraws(&withdrawn.parent, &withdrawn.pupil).await;
    of_age(&world, &withdrawn).await;
    // Entries are locked by now, and open to whoever may read what is locked.
    world.days_later(2).await;

    let mut walkers = Vec::new();
    let mut walks = |title, person: &Person, team: &Team, author, facts| {
        let role = person.actor().role;
        let steward = person.actor().steward;
        let (person, pupil) = (person.clone(), team.pupil.clone());
        walkers.push(Walker { title, person, pupil, role, steward, signed_in: true, author, facts });
    };
    let parent = |tie| facts(tie);

    walks("vision teacher", &with.teacher, &with, true, consented(Role::VisionTeacher));
    let after = sent(Direction::ClinicToSchool, &[Category::Evaluation, Category::Prescription]);
    walks("vision teacher, consent withdrawn", &withdrawn.teacher, &withdrawn, true, after);
    walks("vision teacher, no consent yet", &never.teacher, &never, true, facts(Tie::OnTeam));
    let left = world.vision_teacher().await;
    world.joins(&left, &with.pupil, &with.teacher).await;
    walks("vision teacher who left", &left, &with, false, facts(Tie::None));
    walks("vision teacher elsewhere", &world.vision_teacher().await, &with, false, facts(Tie::None));

    walks("classroom teacher", &with.classroom, &with, true, consented(Role::ClassroomTeacher));
    let gone = world.classroom_teacher().await;
    world.joins(&gone, &with.pupil, &with.teacher).await;
    walks("classroom teacher who left", &gone, &with, false, facts(Tie::None));
    walks("classroom teacher elsewhere", &never.classroom, &with, false, facts(Tie::None));

    walks("parent", &with.parent, &with, true, parent(FULL));
    let limited = world.parent().await;
    world.joins(&limited, &with.pupil, &with.teacher).await;
    walks("parent with limited rights", &limited, &with, false, parent(LIMITED));
    let former = world.parent().await;
    world.joins(&former, &with.pupil, &with.teacher).await;
    let [silent, ordered] = [world.parent().await, world.parent().await];
    for parent in [&silent, &ordered] {
        world.joins(parent, &withdrawn.pupil, &withdrawn.teacher).await;
    }
    let some = worlds::of_age(&[Category::Training, Category::Summary]);
    walks("parent of a student of age, who lets her read two kinds", &withdrawn.parent, &withdrawn, true, parent(some));
    walks("parent of a student of age, who said nothing yet", &silent, &withdrawn, false, parent(worlds::of_age(&[])));
    walks("parent who left", &former, &with, false, facts(Tie::None));
    walks("parent of another child", &never.parent, &with, false, facts(Tie::None));

    walks("clinician", &with.clinician, &with, true, consented(Role::Clinician));
    let after = sent(Direction::SchoolToClinic, &[Category::Summary, Category::Evaluation]);
    walks("clinician, consent withdrawn", &withdrawn.clinician, &withdrawn, true, after);
    walks("clinician, no consent yet", &never.clinician, &never, true, facts(Tie::OnTeam));
    let unnamed = world.clinician_of("Another Clinic").await;
    world.joins(&unnamed, &with.pupil, &with.teacher).await;
    walks("clinician whom no consent names", &unnamed, &with, false, facts(Tie::OnTeam));
    let past = world.clinician().await;
    world.joins(&past, &with.pupil, &with.teacher).await;
    walks("clinician who left", &past, &with, false, facts(Tie::None));
    walks("clinician elsewhere", &never.clinician, &with, false, facts(Tie::None));

    let steward = world.steward().await;
    walks("steward", &steward, &with, false, facts(Tie::None));
    let entered = world.steward().await;
    entered.enters_password_again().await;
    let fresh = worlds::World { password: Password::JustEntered, ..facts(Tie::None) };
    walks("steward, password entered again", &entered, &with, false, fresh);

    for person in [&left, &gone, &former, &past] {
        world.leaves(person, &with.pupil, &with.teacher).await;
    }
    world.limits(&limited, &with.pupil).await;
    world.limits(&ordered, &withdrawn.pupil).await;
    walkers.insert(
        0,
        Walker {
            title: "nobody signed in",
            person: world.stranger(),
            pupil: with.pupil.clone(),
            role: None,
            steward: false,
            signed_in: false,
            author: false,
            facts: facts(Tie::None),
        },
    );
    // Everybody's browser has seen a page, so that it holds the session's token.
    for walker in &walkers {
        walker.person.opens("/account").await;
    }
    Fixture { state: world.frozen().await, walkers }
}
