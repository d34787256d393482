//! Who is asking: the four roles, the steward's flag, and the side each stands on.
//!
//! Does not know which students a person has to do with; that is
//! [`crate::access::standing`].

use std::fmt;

use crate::care::codes::codes;
use crate::care::consent::Direction;
use crate::care::ids::AccountId;

codes! {
    /// The one role of an account. A person with two roles has two accounts.
    pub enum Role {
        VisionTeacher = "vision_teacher" : "vision teacher",
        ClassroomTeacher = "classroom_teacher" : "classroom teacher",
        Parent = "parent" : "parent",
        Clinician = "clinician" : "clinician",
    }

    /// The side of the team on which a reader stands: consents and sendings
    /// point from one to another.
    pub enum Side {
        School = "school" : "school",
        Clinic = "clinic" : "clinic",
        Family = "family" : "family",
        Office = "office" : "office",
    }
}

impl Role {
    /// The side on which people of this role stand.
    #[must_use]
    pub const fn side(self) -> Side {
        match self {
            Self::VisionTeacher | Self::ClassroomTeacher => Side::School,
            Self::Parent => Side::Family,
            Self::Clinician => Side::Clinic,
        }
    }
}

impl Side {
    /// The direction of the consents that let content reach this side.
    ///
    /// The family and the office are not reached by consent.
    #[must_use]
    pub const fn reached_by(self) -> Option<Direction> {
        match self {
            Self::School => Some(Direction::ClinicToSchool),
            Self::Clinic => Some(Direction::SchoolToClinic),
            Self::Family | Self::Office => None,
        }
    }
}

/// The signed-in person.
///
/// `Debug` prints the id and the role, so that an actor in a log names nobody.
#[derive(Clone, PartialEq, Eq)]
pub struct Actor {
    /// The account that signed in.
    pub account: AccountId,
    /// The name others see beside this person's entries.
    pub name: String,
    /// The role; none for an account that is only steward.
    pub role: Option<Role>,
    /// Whether this is one of the site's records officers.
    pub steward: bool,
    /// Whether this vision teacher is a mobility specialist. It changes which
    /// tasks are offered, never what may be read.
    pub mobility: bool,
    /// The clinic of a clinician, as consents name it.
    pub clinic: Option<String>,
}

impl Actor {
    /// The side this person reads from. A steward with a role stands on the side of the role.
    #[must_use]
    pub const fn side(&self) -> Side {
        match self.role {
            Some(role) => role.side(),
            None => Side::Office,
        }
    }
}

impl fmt::Debug for Actor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Actor")
            .field("account", &self.account)
            .field("role", &self.role)
            .field("steward", &self.steward)
            .finish_non_exhaustive()
    }
}
