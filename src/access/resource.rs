//! What can be asked for: one marker type per row of the access table.
//!
//! Where a cell grants some fields only ("name, age in years, grade"), those
//! fields are a row of their own, a *part* of the whole row: a forbidden column
//! is then not even in the struct that `store` returns. Whoever may read the
//! whole may read each part under the same conditions.
//!
//! An attachment has no row: it is read with the proof of the item it hangs on.
//! Does not know who may do what; that is [`crate::access::policy`].

use crate::care::consent::Category;

mod sealed {
    pub trait Sealed {}
}

/// A row about one student, as a type. Sealed.
pub trait Resource: sealed::Sealed + 'static {
    /// The row of the table.
    const ROW: Row;
    /// The category a consent must name; none where any consent will do.
    const CATEGORY: Option<Category>;
}

/// A row that is not about one student, as a type. Sealed.
pub trait OfficeResource: sealed::Sealed + 'static {
    /// The row of the table.
    const ROW: Row;
}

macro_rules! maybe {
    ($path:ident,) => {
        None
    };
    ($path:ident, $member:ident) => {
        Some($path::$member)
    };
}

macro_rules! rows {
    (
        student { $($(#[$doc:meta])* $name:ident $(($category:ident))? $(part of $whole:ident)?;)+ }
        office { $($(#[$office_doc:meta])* $office:ident;)+ }
    ) => {
        /// A row of the access table. Each has a marker type of the same name.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Row {
            $($(#[$doc])* $name,)+
            $($(#[$office_doc])* $office,)+
        }

        impl Row {
            /// Every row about one student, in the order of the table.
            pub const STUDENT: &[Self] = &[$(Self::$name),+];

            /// Every row that is not about one student.
            pub const OFFICE: &[Self] = &[$(Self::$office),+];

            /// The category a consent must name for this row; none where any
            /// consent in that direction will do.
            #[must_use]
            pub const fn category(self) -> Option<Category> {
                match self {
                    $(Self::$name => maybe!(Category, $($category)?),)+
                    $(Self::$office => None,)+
                }
            }

            /// The row of which this one is a few fields or a few kinds of entry.
            #[must_use]
            pub const fn whole(self) -> Option<Self> {
                match self {
                    $(Self::$name => maybe!(Row, $($whole)?),)+
                    $(Self::$office => None,)+
                }
            }

            /// Whether the row is about one student.
            #[must_use]
            pub const fn about_a_student(self) -> bool {
                match self {
                    $(Self::$name => true,)+
                    $(Self::$office => false,)+
                }
            }

            /// The name of the row and of its marker type.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$name => stringify!($name),)+
                    $(Self::$office => stringify!($office),)+
                }
            }
        }

        $(
            $(#[$doc])*
            #[derive(Debug)]
            pub enum $name {}

            impl sealed::Sealed for $name {}

            impl Resource for $name {
                const ROW: Row = Row::$name;
                const CATEGORY: Option<Category> = Row::$name.category();
            }
        )+

        $(
            $(#[$office_doc])*
            #[derive(Debug)]
            pub enum $office {}

            impl sealed::Sealed for $office {}

            impl OfficeResource for $office {
                const ROW: Row = Row::$office;
            }
        )+
    };
}

rows! {
    student {
        /// Who the student is, every field.
        Identity;
        /// Name, age in years, grade and print format.
        Glimpse part of Identity;
        /// The initials, and nothing else: all a clinician sees before a consent.
        Initials part of Glimpse;
        /// How to reach the family.
        Contacts (Contacts);
        /// Court orders and the like: who must not be told what.
        AccessLimits;
        /// That a limit exists; never what it says.
        AccessLimitFlag part of AccessLimits;
        /// Intake and functional check.
        Intake (Intake);
        /// The request for a low-vision evaluation, with its question.
        EvaluationRequest (Intake);
        /// The dates of a request: asked, and when the clinic will see the student.
        RequestDate (Intake) part of EvaluationRequest;
        /// Stage of each track; hold and close.
        Stage;
        /// Consents, their signing and withdrawing.
        Consents;
        /// Emergency access without consent: one category, 24 hours (G7).
        Emergency part of Consents;
        /// What the student must see, from which seat, with its light and notes.
        VisualTasks (ClassObservations);
        /// Name, place, size, distance, contrast and target class of a task.
        TaskGlimpse (ClassObservations) part of VisualTasks;
        /// What was seen in class.
        ClassObservation (ClassObservations);
        /// What was seen at home and in the community.
        HomeObservation (HomeObservations);
        /// A clinical low-vision evaluation, made in here by a clinician.
        Evaluation (Evaluation);
        /// A paper report transcribed by a vision teacher.
        Transcription (Evaluation);
        /// When an evaluation, a transcription, a decision or a prescription was
        /// made and signed; nothing of what it says.
        DocumentDates;
        /// Loans of pool devices.
        Loans (Devices);
        /// The own device received.
        Receipt (Devices) part of Loans;
        /// Repairs of a device, on loan or own.
        Repair (Devices) part of Loans;
        /// A clinician's word on a device: allowing another loan (G4), settling a
        /// mismatch (G6).
        LoanDecision (Devices) part of Loans;
        /// Which device the student has, and when to use it.
        LoanGlimpse (Devices) part of Loans;
        /// Readiness lists and training sessions.
        Training (Training);
        /// Evidence, options, room plan, seat-and-print line. Computed from what
        /// the reader may read: take each ingredient through
        /// [`Access::part`](crate::access::Access::part).
        Guidance;
        /// The classroom card.
        Card (Devices);
        /// What to try at home.
        TryAtHome;
        /// The training summary for the clinician.
        Summary (Summary);
        /// A decision on a summary, and a prescription.
        Prescription (Prescription);
        /// Posts in the thread. What else stands in the thread is read through
        /// [`Access::part`](crate::access::Access::part).
        Thread;
        /// A red flag with all that was said of it.
        SafetyFlag;
        /// Kind and date of a red flag: what crosses to the clinic without a consent.
        FlagKind part of SafetyFlag;
        /// Whether device training is paused; signing it is clearing the flag (G9).
        Pause part of FlagKind;
        /// Visits, service minutes, follow-up.
        Visits;
        /// When visits are.
        VisitTimes part of Visits;
        /// Members and invitations.
        Team;
        /// Which content went to whom, when, and on which consent.
        DisclosureRecord;
        /// Everything this reader may read, as one archive.
        WholeRecord;
        /// Everything there is, sealed for the rights holder.
        SealedRecord;
    }
    office {
        /// The pool of loan devices.
        Pool;
        /// The account of the person who asks.
        OwnAccount;
        /// Everybody's accounts.
        Accounts;
        /// Settings of the site.
        Settings;
        /// Backups.
        Backups;
        /// The audit trail.
        Audit;
        /// Opening a student's record, which makes its first membership.
        OpenRecord;
    }
}

impl Row {
    /// Whether the row holds documents that are sent to the other side when
    /// signed, and stay readable there as sent (G7).
    #[must_use]
    pub const fn is_sent_document(self) -> bool {
        matches!(self, Self::Evaluation | Self::Transcription | Self::Summary | Self::Prescription)
    }
}
