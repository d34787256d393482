//! What a grant leaves out, and what a refusal answers.
//!
//! Yes or no is not enough for the table: "released only" and "own only" must
//! end up in a `where` clause. Does not know the queries; a `store` function that
//! takes a proof and ignores its limits says why.

use crate::access::standing::Categories;
use crate::care::consent::{Category, Direction};
use crate::care::ids::ConsentId;

/// Which entries a proof reaches, and in which form.
///
/// One's own entries are always reached, drafts too. An entry of somebody else
/// is reached when every limit that is set holds for it:
///
/// ```sql
/// entered_by = $actor or (not $own_only
///     and (not $released_only or released_at is not null) and ..)
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// o: nothing that somebody else entered.
    pub own_only: bool,
    /// Softens `own_only`: posts addressed to the actor's role, too.
    pub or_addressed: bool,
    /// r: only what is signed, filed, sent or released.
    pub released_only: bool,
    /// l: only what is locked, 24 hours after entry, or signed. It hides the
    /// entry's text and detail, not its part in a count.
    pub locked_only: bool,
    /// Only what the parent who entered it shared with the classroom.
    pub shared_only: bool,
    /// Only documents with a sending to the actor's side (for a clinician, to
    /// the actor's clinic), as they were sent: no consent is in force now.
    pub sent_only: bool,
    /// Without what clinicians posted.
    pub without_clinic_posts: bool,
    /// A stage that rests on a document not sent to the actor's side reads
    /// `waiting for consent`.
    pub unsent_waits: bool,
    /// In plain words, without clinical figures.
    pub plain_words: bool,
    /// Signed for somebody else: on paper or in person only, with the signer
    /// named and a scan or a witness.
    pub witnessed: bool,
    /// g: the act needs a reason from the actor, and is logged with it.
    pub with_reason: bool,
    /// What a consent signed under this proof may name: all, unless the student
    /// is of age and lets the parent have only some.
    pub may_sign: Categories,
    /// Whether reading this takes content across to the other side.
    pub crossing: Option<Crossing>,
}

impl Limits {
    /// Everything, in full.
    #[must_use]
    pub fn none() -> Self {
        Self {
            own_only: false,
            or_addressed: false,
            released_only: false,
            locked_only: false,
            shared_only: false,
            sent_only: false,
            without_clinic_posts: false,
            unsent_waits: false,
            plain_words: false,
            witnessed: false,
            with_reason: false,
            may_sign: Categories::all(),
            crossing: None,
        }
    }

    /// Whether every entry these limits reach is reached by `wider`, too.
    #[must_use]
    pub const fn within(&self, wider: &Self) -> bool {
        if self.own_only && !self.or_addressed {
            return true;
        }
        if wider.own_only {
            return self.own_only && wider.or_addressed;
        }
        (self.released_only || !wider.released_only)
            && (self.locked_only || !wider.locked_only)
            && (self.shared_only || !wider.shared_only)
            && (self.sent_only || !wider.sent_only)
            && (self.without_clinic_posts || !wider.without_clinic_posts)
    }

    /// Whether these are to be preferred: they reach more, or as much under
    /// fewer terms. Never a union of both: what neither grants is not granted.
    #[must_use]
    pub(super) fn better_than(&self, other: &Self) -> bool {
        if self.within(other) {
            other.within(self)
                && self.terms().into_iter().zip(other.terms()).all(|(a, b)| a <= b)
                && self.terms() != other.terms()
        } else {
            other.within(self)
        }
    }

    /// What is asked of the reader or taken from the form, whatever is reached.
    const fn terms(&self) -> [bool; 4] {
        [self.with_reason, self.witnessed, self.plain_words, self.unsent_waits]
    }
}

/// Content of one side read by the other: one row of the disclosure record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Crossing {
    /// Which way the content goes.
    pub direction: Direction,
    /// The category; none for a row that has none.
    pub category: Option<Category>,
    /// What allows it.
    pub basis: Basis,
}

/// What allows content to cross.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// A consent in force.
    Consent(ConsentId),
    /// An emergency of the last 24 hours.
    Emergency(ConsentId),
    /// A sending made while a consent was in force; the sending names it.
    AsSent,
    /// A red flag, which crosses as its kind and date without a consent.
    Safety,
}

impl Crossing {
    /// The consent, or the record of the emergency, that is the basis.
    #[must_use]
    pub const fn consent(&self) -> Option<ConsentId> {
        match self.basis {
            Basis::Consent(id) | Basis::Emergency(id) => Some(id),
            Basis::AsSent | Basis::Safety => None,
        }
    }
}

/// Why not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Denied {
    /// As if it did not exist: answered 404.
    #[error("nothing here for this person")]
    Hidden,
    /// The person may know that it exists: answered 403.
    #[error("not allowed: {0}")]
    Forbidden(Reason),
}

/// Why something known to exist is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Reason {
    /// It would be allowed with the password entered again, and a reason.
    #[error("the password has to be entered again")]
    EnterPassword,
    /// This person may read it, but not do this with it.
    #[error("this may be read, but not changed or taken along")]
    ReadOnly,
}
