//! People and facts to put to the policy: one reader, one student, and every
//! combination of what may be true between them.

use farpoint::access::action::Verb;
use farpoint::access::policy::decide;
use farpoint::access::resource::Row;
use farpoint::access::standing::{Categories, Facts, Given, InForce, Password, Rights, Sent, Standing, Tie, Transfer};
use farpoint::access::{Actor, Denied, Limits, Role};
use farpoint::care::consent::{Category, Direction};
use farpoint::care::ids::{AccountId, ConsentId, StudentId};
use uuid::Uuid;

pub(super) fn account() -> AccountId {
    AccountId::of(Uuid::from_u128(1))
}

pub(super) fn student() -> StudentId {
    StudentId::of(Uuid::from_u128(2))
}

pub(super) fn consent() -> ConsentId {
    ConsentId::of(Uuid::from_u128(3))
}

pub(super) fn person(role: Option<Role>, steward: bool) -> Actor {
    Actor {
        account: account(),
        name: "Robin Quill".to_owned(),
        role,
        steward,
        mobility: false,
        clinic: (role == Some(Role::Clinician)).then(|| "Lakeside clinic".to_owned()),
    }
}

/// The way content comes to this reader.
pub(super) fn toward(role: Option<Role>) -> Option<Direction> {
    match role? {
        Role::VisionTeacher | Role::ClassroomTeacher => Some(Direction::ClinicToSchool),
        Role::Clinician => Some(Direction::SchoolToClinic),
        Role::Parent => None,
    }
}

/// Facts for one question.
#[derive(Clone, Debug)]
pub(super) struct World {
    pub(super) tie: Tie,
    pub(super) consents: Vec<InForce>,
    pub(super) sent: Vec<Sent>,
    pub(super) password: Password,
}

pub(super) const FULL: Tie = Tie::Parent { rights: Rights::Full, transfer: Transfer::NotYet };

pub(super) const LIMITED: Tie = Tie::Parent { rights: Rights::Limited, transfer: Transfer::NotYet };

pub(super) fn of_age(chosen: &[Category]) -> Tie {
    let chosen = chosen.iter().copied().collect();
    Tie::Parent { rights: Rights::Full, transfer: Transfer::OfAge { chosen } }
}

/// The record of an emergency; unlike that of the consent, so that they are told apart.
pub(super) fn emergency() -> ConsentId {
    ConsentId::of(Uuid::from_u128(4))
}

pub(super) fn in_force(kind: Given, direction: Direction, category: Category) -> InForce {
    let consent = match kind {
        Given::Consent => consent(),
        Given::Emergency => emergency(),
    };
    InForce { consent, direction, categories: Categories::from_iter([category]), kind }
}

pub(super) const fn opposite(way: Direction) -> Direction {
    match way {
        Direction::SchoolToClinic => Direction::ClinicToSchool,
        Direction::ClinicToSchool => Direction::SchoolToClinic,
    }
}

/// A category that is not this one.
pub(super) fn other(category: Category) -> Category {
    *Category::ALL.iter().find(|each| **each != category).expect("there are nine")
}

impl World {
    pub(super) fn standing(&self) -> Standing {
        Standing::of(Facts {
            account: account(),
            student: student(),
            tie: self.tie,
            consents: self.consents.clone(),
            sent: self.sent.clone(),
            password: self.password,
        })
    }

    /// Every combination of what may be true about a reader toward whom content
    /// goes this way, with regard to one category.
    pub(super) fn all(way: Direction, category: Category) -> Vec<Self> {
        let ties =
            [Tie::None, Tie::OnTeam, LIMITED, FULL, of_age(&[]), of_age(&[category]), of_age(&[other(category)])];
        let signed = Given::Consent;
        let consents = [
            vec![],
            vec![in_force(signed, way, category)],
            vec![in_force(signed, opposite(way), category)],
            vec![in_force(signed, way, other(category))],
            vec![in_force(Given::Emergency, way, category)],
            // The consent is the better basis, whichever comes first.
            vec![in_force(Given::Emergency, way, category), in_force(signed, way, category)],
        ];
        let sent = [
            vec![],
            vec![Sent { direction: way, category }],
            vec![Sent { direction: opposite(way), category }],
            vec![Sent { direction: way, category: other(category) }],
        ];
        let mut worlds = Vec::new();
        for tie in ties {
            for consents in &consents {
                for sent in &sent {
                    for password in [Password::JustEntered, Password::NotEntered] {
                        let (consents, sent) = (consents.clone(), sent.clone());
                        worlds.push(Self { tie, consents, sent, password });
                    }
                }
            }
        }
        worlds
    }
}

/// Which way to try consents for a reader whom none reaches.
pub(super) fn way(role: Option<Role>) -> Direction {
    toward(role).unwrap_or(Direction::SchoolToClinic)
}

pub(super) fn category_of(row: Row) -> Category {
    row.category().unwrap_or(Category::Training)
}

/// A world in which a reader of this role has all there is to have about a category.
pub(super) fn best(role: Option<Role>, category: Category) -> World {
    World {
        tie: match role {
            Some(Role::Parent) => FULL,
            Some(_) => Tie::OnTeam,
            None => Tie::None,
        },
        consents: vec![in_force(Given::Consent, way(role), category)],
        sent: vec![],
        password: Password::JustEntered,
    }
}

pub(super) fn asked(role: Option<Role>, world: &World, row: Row, verb: Verb) -> Result<Limits, Denied> {
    decide(&person(role, role.is_none()), &world.standing(), row, verb)
}
