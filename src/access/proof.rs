//! Proofs: a value whose existence shows that the policy was asked and said yes.
//!
//! `store` demands a proof where it would otherwise take a student's id, so a
//! handler that forgot to ask has nothing to call. Does not know the rules; they
//! are in [`crate::access::policy`].

use std::fmt;
use std::marker::PhantomData;

use crate::access::action::{Action, Read, Reads};
use crate::access::limits::{Crossing, Denied, Limits};
use crate::access::policy;
use crate::access::resource::{OfficeResource, Resource, Row};
use crate::access::role::Actor;
use crate::access::standing::{Password, Standing};
use crate::care::ids::StudentId;

/// Proof that the actor may do `A` to the `R` of one student, within limits.
pub struct Access<R, A> {
    actor: Actor,
    student: StudentId,
    standing: Standing,
    limits: Limits,
    proves: PhantomData<fn() -> (R, A)>,
}

impl<R: Resource, A: Action> Access<R, A> {
    /// Asks the policy. The only way to a proof for a person.
    ///
    /// # Errors
    ///
    /// [`Denied`], as the table says; always [`Denied::Hidden`] when the
    /// standing is not that of this actor and this student.
    pub fn grant(actor: &Actor, student: StudentId, standing: &Standing) -> Result<Self, Denied> {
        if !standing.is_of(actor.account, student) {
            return Err(Denied::Hidden);
        }
        let limits = policy::decide(actor, standing, R::ROW, A::VERB)?;
        Ok(Self::new(actor.clone(), student, standing.clone(), limits))
    }

    /// A proof to read another row of the same student as the same person.
    ///
    /// For what is put together from several rows, each as far as this reader
    /// may read it: guidance, the thread, an archive.
    ///
    /// # Errors
    ///
    /// [`Denied`], exactly as [`Access::grant`] would.
    pub fn part<P: Resource>(&self) -> Result<Access<P, Read>, Denied> {
        Access::grant(&self.actor, self.student, &self.standing)
    }

    /// The same question asked again on facts found a moment later, for a read
    /// that must not outlive what allowed it.
    ///
    /// # Errors
    ///
    /// [`Denied`], exactly as [`Access::grant`] would.
    pub fn again(&self, standing: &Standing) -> Result<Self, Denied> {
        Self::grant(&self.actor, self.student, standing)
    }

    /// The facts this was granted on.
    #[must_use]
    pub const fn standing(&self) -> &Standing {
        &self.standing
    }

    /// Whether the password had just been entered when this was asked.
    #[must_use]
    pub const fn password(&self) -> Password {
        self.standing.password()
    }

    /// Who.
    #[must_use]
    pub const fn actor(&self) -> &Actor {
        &self.actor
    }

    /// Whose record.
    #[must_use]
    pub const fn student(&self) -> StudentId {
        self.student
    }

    /// What the proof leaves out; for the `where` clause.
    #[must_use]
    pub const fn limits(&self) -> &Limits {
        &self.limits
    }

    /// Whether reading with this proof is a disclosure to the other side, and on which basis.
    #[must_use]
    pub const fn crossing(&self) -> Option<&Crossing> {
        self.limits.crossing.as_ref()
    }

    /// The row this proof is for.
    #[must_use]
    pub const fn row(&self) -> Row {
        R::ROW
    }

    const fn new(actor: Actor, student: StudentId, standing: Standing, limits: Limits) -> Self {
        Self { actor, student, standing, limits, proves: PhantomData }
    }
}

impl<R: Resource, A: Reads> Access<R, A> {
    /// The same proof, for reading only. It reaches what this one reaches, which
    /// may be less than a proof to read would; ask [`Access::part`] for that.
    #[must_use]
    pub fn read(&self) -> Access<R, Read> {
        Access::new(self.actor.clone(), self.student, self.standing.clone(), self.limits)
    }
}

impl<R: Resource, A: Action> fmt::Debug for Access<R, A> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Access")
            .field("row", &R::ROW)
            .field("verb", &A::VERB)
            .field("actor", &self.actor)
            .field("student", &self.student)
            .finish_non_exhaustive()
    }
}

/// Whether reading this row would be allowed and, if so, whether it would be a
/// disclosure to the other side: for one who is about to ask for several proofs.
/// It is no proof itself.
///
/// # Errors
///
/// [`Denied`], exactly as [`Access::grant`] would.
pub fn would_cross(actor: &Actor, standing: &Standing, row: Row) -> Result<Option<Crossing>, Denied> {
    if standing.account() != actor.account {
        return Err(Denied::Hidden);
    }
    Ok(policy::decide(actor, standing, row, Read::VERB)?.crossing)
}

/// Proof that the actor may do `A` to an `R` that is not about one student.
pub struct Office<R, A> {
    actor: Actor,
    limits: Limits,
    proves: PhantomData<fn() -> (R, A)>,
}

impl<R: OfficeResource, A: Action> Office<R, A> {
    /// Asks the policy. The only way to such a proof.
    ///
    /// # Errors
    ///
    /// [`Denied`], as the table says.
    pub fn grant(actor: &Actor, password: Password) -> Result<Self, Denied> {
        let limits = policy::decide_office(actor, password, R::ROW, A::VERB)?;
        Ok(Self { actor: actor.clone(), limits, proves: PhantomData })
    }

    /// Who.
    #[must_use]
    pub const fn actor(&self) -> &Actor {
        &self.actor
    }

    /// What the proof leaves out.
    #[must_use]
    pub const fn limits(&self) -> &Limits {
        &self.limits
    }
}

impl<R: OfficeResource, A: Action> fmt::Debug for Office<R, A> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Office")
            .field("row", &R::ROW)
            .field("verb", &A::VERB)
            .field("actor", &self.actor)
            .finish_non_exhaustive()
    }
}
