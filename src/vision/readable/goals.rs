//! Which reserves does a reading goal need?
//!
//! Starting values of common practice, passed in by whoever asks: a site may
//! change them, and a student's own measurement replaces them. Does not judge;
//! see [`super::judge`].

use std::fmt;

use crate::vision::units::Ratio;

/// What the student wants to do with the writing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Goal {
    /// Notice or name one thing: a clock, a name on a door.
    NameIt,
    /// Read a phrase.
    Phrase,
    /// Read on and copy.
    Copy,
}

impl fmt::Display for Goal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NameIt => "name it",
            Self::Phrase => "phrase",
            Self::Copy => "copy",
        })
    }
}

/// The reserves that a goal needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Needed {
    /// Size over threshold size.
    pub acuity: Ratio,
    /// Contrast over threshold contrast.
    pub contrast: Ratio,
}

/// The reserves that each goal needs, for a site or for one student.
///
/// The default is common practice: 1.3, 2 and 2.5 times the threshold size, 4,
/// 10 and 10 times the threshold contrast. Children with low vision needed 2.5
/// to 7 times (Lovie-Kitchin, Bevan and Hein 2001, abstract seen), so a
/// student's own ratio of comfortable to threshold print replaces it.
///
/// ```
/// use farpoint::vision::readable::{Goal, Goals};
/// use farpoint::vision::units::Ratio;
/// let own = Goals::default().with_acuity_reserve(Goal::Copy, Ratio::new(3.2)?);
/// assert_eq!(own.needed(Goal::Copy).acuity.get(), 3.2);
/// assert_eq!(own.needed(Goal::Phrase).acuity.get(), 2.0);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Goals {
    /// For [`Goal::NameIt`].
    pub name_it: Needed,
    /// For [`Goal::Phrase`].
    pub phrase: Needed,
    /// For [`Goal::Copy`].
    pub copy: Needed,
}

impl Default for Goals {
    fn default() -> Self {
        const fn needed(acuity: f64, contrast: f64) -> Needed {
            Needed { acuity: Ratio::literal(acuity), contrast: Ratio::literal(contrast) }
        }
        const STARTING_VALUES: Goals =
            Goals { name_it: needed(1.3, 4.0), phrase: needed(2.0, 10.0), copy: needed(2.5, 10.0) };
        STARTING_VALUES
    }
}

impl Goals {
    /// The reserves that this goal needs.
    pub const fn needed(&self, goal: Goal) -> Needed {
        match goal {
            Goal::NameIt => self.name_it,
            Goal::Phrase => self.phrase,
            Goal::Copy => self.copy,
        }
    }

    /// The same goals with one acuity reserve replaced, as by a measured ratio.
    #[must_use]
    pub const fn with_acuity_reserve(mut self, goal: Goal, reserve: Ratio) -> Self {
        match goal {
            Goal::NameIt => self.name_it.acuity = reserve,
            Goal::Phrase => self.phrase.acuity = reserve,
            Goal::Copy => self.copy.acuity = reserve,
        }
        self
    }

    /// The same goals with one contrast reserve replaced, as by a site's setting.
    #[must_use]
    pub const fn with_contrast_reserve(mut self, goal: Goal, reserve: Ratio) -> Self {
        match goal {
            Goal::NameIt => self.name_it.contrast = reserve,
            Goal::Phrase => self.phrase.contrast = reserve,
            Goal::Copy => self.copy.contrast = reserve,
        }
        self
    }
}
