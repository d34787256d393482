//! How a person stands to a student today: every fact the policy may ask for.
//!
//! Does not know how the facts were found. `store::standing` loads them in one
//! query and is the only place that builds a [`Standing`]: a forged one is the
//! one way round the policy.

use crate::care::consent::{Category, Direction};
use crate::care::ids::{AccountId, ConsentId, StudentId};

/// A set of consent categories.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Categories(u16);

impl Categories {
    /// No category.
    pub const NONE: Self = Self(0);

    /// All categories.
    #[must_use]
    pub fn all() -> Self {
        Category::ALL.iter().copied().collect()
    }

    /// Whether the category is among them.
    #[must_use]
    pub fn contains(self, category: Category) -> bool {
        self.0 & Self::bit(category) != 0
    }

    /// Whether every one of `others` is among them.
    #[must_use]
    pub const fn contains_all(self, others: Self) -> bool {
        others.0 & !self.0 == 0
    }

    /// Whether there is none.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The categories, in the order people read them.
    pub fn iter(self) -> impl Iterator<Item = Category> {
        Category::ALL.iter().copied().filter(move |category| self.contains(*category))
    }

    fn bit(category: Category) -> u16 {
        Category::ALL.iter().position(|each| *each == category).map_or(0, |place| 1 << place)
    }
}

impl FromIterator<Category> for Categories {
    fn from_iter<I: IntoIterator<Item = Category>>(categories: I) -> Self {
        Self(categories.into_iter().fold(0, |set, each| set | Self::bit(each)))
    }
}

/// Whether the person has just entered the password again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Password {
    /// Entered for this very request, or so recently that it counts.
    JustEntered,
    /// Not entered since signing in.
    NotEntered,
}

/// How the actor belongs to the student.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tie {
    /// No membership in force today.
    None,
    /// A membership in force today, in the role of the account; not a parent's.
    OnTeam,
    /// A parent's or guardian's membership in force today.
    Parent {
        /// Whether an access limit narrows the rights.
        rights: Rights,
        /// Whether the student has come of age (G10).
        transfer: Transfer,
    },
}

/// What a court order or the like leaves to a parent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rights {
    /// All of them.
    Full,
    /// Less than all: this parent reads nothing here.
    Limited,
}

/// Coming of age (G10): whose rights they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Transfer {
    /// Still the parents'.
    NotYet,
    /// The student's, who lets this parent have these categories.
    OfAge {
        /// Empty until the student's choice is recorded.
        chosen: Categories,
    },
}

/// Why a parent on the team reads nothing at all: each has a page of its own,
/// which shows nothing of the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Withheld {
    /// Something is on file with the school office. Never said to this reader.
    AskTheOffice,
    /// The student is of age and lets this parent read nothing, or has not said yet.
    ForTheStudentToSay,
}

/// A consent in force today, or an emergency that stands in for one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InForce {
    /// The consent, or the record of the emergency, that disclosures name.
    pub consent: ConsentId,
    /// Which way it lets content go.
    pub direction: Direction,
    /// What it covers.
    pub categories: Categories,
    /// Signed by a rights holder, or opened in an emergency.
    pub kind: Given,
}

/// How content came to be allowed across.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Given {
    /// By a rights holder.
    Consent,
    /// By a vision teacher or clinician for 24 hours, with a reason.
    Emergency,
}

/// Signed documents that went to the reader's side, naming the reader's clinic or service.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sent {
    /// Which way they went.
    pub direction: Direction,
    /// The category of at least one such document.
    pub category: Category,
}

/// What [`Standing::of`] is told.
///
/// Only consents and sendings that name the actor's clinic (a clinician) or
/// service (the school side) belong in here.
#[derive(Debug, Clone)]
pub struct Facts {
    /// The account these facts are about.
    pub account: AccountId,
    /// The student these facts are about.
    pub student: StudentId,
    /// The membership in force today.
    pub tie: Tie,
    /// Consents in force today, and emergencies of the last 24 hours.
    pub consents: Vec<InForce>,
    /// What was sent, whenever that was.
    pub sent: Vec<Sent>,
    /// The password.
    pub password: Password,
}

/// The facts of one account and one student, on one day.
#[derive(Debug, Clone)]
pub struct Standing(Facts);

impl Standing {
    /// Takes the facts as true. For `store::standing` only.
    #[must_use]
    pub const fn of(facts: Facts) -> Self {
        Self(facts)
    }

    /// Whether these are the facts of this account and this student.
    #[must_use]
    pub fn is_of(&self, account: AccountId, student: StudentId) -> bool {
        self.0.account == account && self.0.student == student
    }

    /// The account these facts are about.
    #[must_use]
    pub const fn account(&self) -> AccountId {
        self.0.account
    }

    /// Whose record.
    #[must_use]
    pub const fn student(&self) -> StudentId {
        self.0.student
    }

    /// Why all of the record is kept from a parent who is on the team.
    #[must_use]
    pub const fn withheld(&self) -> Option<Withheld> {
        match self.0.tie {
            Tie::Parent { rights: Rights::Limited, .. } => Some(Withheld::AskTheOffice),
            Tie::Parent { rights: Rights::Full, transfer: Transfer::OfAge { chosen } } if chosen.is_empty() => {
                Some(Withheld::ForTheStudentToSay)
            }
            Tie::Parent { .. } | Tie::OnTeam | Tie::None => None,
        }
    }

    /// Condition a: on the student's team now.
    pub(super) const fn on_team(&self) -> bool {
        matches!(self.0.tie, Tie::OnTeam)
    }

    /// Condition k: the categories this parent may have, and nobody else any.
    ///
    /// All of them before transfer, those the student chose after it.
    pub(super) fn parental(&self) -> Categories {
        match self.0.tie {
            Tie::Parent { rights: Rights::Full, transfer: Transfer::NotYet } => Categories::all(),
            Tie::Parent { rights: Rights::Full, transfer: Transfer::OfAge { chosen } } => chosen,
            Tie::Parent { rights: Rights::Limited, .. } | Tie::OnTeam | Tie::None => Categories::NONE,
        }
    }

    /// Condition c: a consent that way, for the category or, without one, for
    /// anything. A rights holder's consent is named before an emergency.
    pub(super) fn consent(&self, way: Direction, category: Option<Category>) -> Option<InForce> {
        let fits = |each: &&InForce| {
            each.direction == way
                && category.map_or(!each.categories.is_empty(), |category| each.categories.contains(category))
        };
        let fitting = || self.0.consents.iter().filter(fits);
        fitting().find(|each| each.kind == Given::Consent).or_else(|| fitting().next()).copied()
    }

    /// Whether a signed document went that way, of the category or, without
    /// one, of any.
    pub(super) fn was_sent(&self, way: Direction, category: Option<Category>) -> bool {
        self.0
            .sent
            .iter()
            .any(|sent| sent.direction == way && category.is_none_or(|category| sent.category == category))
    }

    /// Condition g: the password was just entered again.
    #[must_use]
    pub const fn password(&self) -> Password {
        self.0.password
    }
}
