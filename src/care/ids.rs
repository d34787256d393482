//! Typed identifiers: an id knows what it identifies, so a loan's id cannot be
//! handed to a function that wants a student's.
//!
//! Does not know how ids are stored, nor how they are made: random ones come
//! from [`crate::clock`], which is the only reader of the outside world.

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(uuid::Uuid);

        impl $name {
            /// Names this kind of thing by a uuid that was made or stored elsewhere.
            pub const fn of(uuid: uuid::Uuid) -> Self {
                Self(uuid)
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.hyphenated().fmt(f)
            }
        }

        impl std::fmt::Debug for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                write!(f, concat!(stringify!($name), "({})"), self.0.hyphenated())
            }
        }

        impl std::str::FromStr for $name {
            type Err = NotAnId;

            fn from_str(text: &str) -> Result<Self, NotAnId> {
                // Only the hyphenated form: one thing, one URL.
                if text.len() != 36 {
                    return Err(NotAnId);
                }
                uuid::Uuid::parse_str(text).map(Self).map_err(|_| NotAnId)
            }
        }
    )+};
}

/// The text is not an identifier.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("not an identifier")]
pub struct NotAnId;

ids! {
    /// A person who can sign in.
    AccountId,
    /// The student whose record it is.
    StudentId,
    /// One person's place on one student's team, with a start and an end.
    MembershipId,
    /// A single-use link to join a team.
    InvitationId,
    /// A consent in one direction.
    ConsentId,
    /// How to reach one adult of the family.
    ContactId,
    /// A room the student works in, with the usual seat.
    SeatId,
    /// Something the student must see.
    VisualTaskId,
    /// A request to a clinician to evaluate.
    RequestId,
    /// A clinical low-vision evaluation.
    EvaluationId,
    /// One acuity row of an evaluation.
    AcuityId,
    /// A device in the loan pool.
    DeviceId,
    /// A loan of one pool device to one student.
    LoanId,
    /// A question to a clinician about a device that does not match.
    LoanRequestId,
    /// A clinician's leave to lend such a device.
    LoanAllowanceId,
    /// A later due date of a loan.
    LoanExtensionId,
    /// A device lost or broken while it was out.
    LoanReportId,
    /// The student's own, prescribed device.
    OwnDeviceId,
    /// A repair of the student's own device.
    RepairId,
    /// A readiness list of one track.
    ReadinessId,
    /// One training session.
    SessionId,
    /// One exercise of a training session.
    ExerciseId,
    /// What somebody saw the student do.
    ObservationId,
    /// A post in the thread.
    PostId,
    /// A classroom card.
    CardId,
    /// An edition of what to try at home.
    TryAtHomeId,
    /// What the student said.
    StudentWordsId,
    /// A training summary.
    SummaryId,
    /// A clinician's decision on a summary.
    DecisionId,
    /// A prescription.
    PrescriptionId,
    /// A red flag.
    FlagId,
    /// A file that hangs on another record.
    AttachmentId,
    /// A document that went to the other side.
    SendingId,
    /// What a student of age lets a parent read.
    ChoiceId,
    /// What an order leaves to an adult.
    LimitId,
    /// A letter of the outbox.
    LetterId,
}
