//! Facts of one invented track, told day by day.

use farpoint::care::device::DeviceSpec;
use farpoint::care::ids::{
    AccountId, DecisionId, DeviceId, EvaluationId, LoanId, OwnDeviceId, PrescriptionId, RequestId, SummaryId,
};
use farpoint::care::journey::fact::{Answer, Choice, Fact, Receipt, Safe, Source, Verdict, What};
use farpoint::care::journey::{Basis, Journey, Stage, journey};
use farpoint::care::track::{DeviceKind, Eye, Track};
use farpoint::vision::units::{Degrees, Dioptres, Magnification, Metres, Millimetres};
use jiff::Timestamp;
use jiff::civil::Date;
use uuid::Uuid;

pub(crate) fn day(text: &str) -> Date {
    text.parse().expect("a date")
}

pub(crate) fn at(second: i64) -> Timestamp {
    Timestamp::from_second(1_800_000_000 + second).expect("an instant")
}

/// A number that makes an id of whatever kind is wanted.
pub(crate) fn id<T>(of: fn(Uuid) -> T, number: u128) -> T {
    of(Uuid::from_u128(number))
}

pub(crate) fn request(n: u128) -> RequestId {
    id(RequestId::of, n)
}
pub(crate) fn evaluation(n: u128) -> EvaluationId {
    id(EvaluationId::of, n)
}
pub(crate) fn loan(n: u128) -> LoanId {
    id(LoanId::of, n)
}
pub(crate) fn device(n: u128) -> DeviceId {
    id(DeviceId::of, n)
}
pub(crate) fn summary(n: u128) -> SummaryId {
    id(SummaryId::of, n)
}
pub(crate) fn decision(n: u128) -> DecisionId {
    id(DecisionId::of, n)
}
pub(crate) fn prescription(n: u128) -> PrescriptionId {
    id(PrescriptionId::of, n)
}
pub(crate) fn own(n: u128) -> OwnDeviceId {
    id(OwnDeviceId::of, n)
}
pub(crate) fn account(n: u128) -> AccountId {
    id(AccountId::of, n)
}

/// A handheld monocular: power, objective in millimetres, right eye, 10 degrees.
pub(crate) fn telescope(power: f64, objective: f64) -> DeviceSpec {
    DeviceSpec {
        power: Some(Magnification::new(power).expect("a power")),
        objective: Some(Millimetres::new(objective).expect("a diameter")),
        true_field: Some(Degrees::literal(10.0)),
        near_focus: Some(Metres::literal(0.5)),
        eye: Some(Eye::Right),
        ..DeviceSpec::of(DeviceKind::HandheldMonocular)
    }
}

/// A near device of that kind and equivalent power, for either eye.
pub(crate) fn magnifier(kind: DeviceKind, dioptres: f64) -> DeviceSpec {
    DeviceSpec {
        equivalent_power: Some(Dioptres::new(dioptres).expect("a power")),
        eye: Some(Eye::Either),
        ..DeviceSpec::of(kind)
    }
}

/// A track told fact by fact; each is entered a minute after the last.
#[derive(Clone)]
pub(crate) struct Story {
    pub(crate) track: Track,
    pub(crate) facts: Vec<Fact>,
}

impl Story {
    pub(crate) fn distance() -> Self {
        Self { track: Track::Distance, facts: Vec::new() }
    }

    pub(crate) fn near() -> Self {
        Self { track: Track::Near, facts: Vec::new() }
    }

    pub(crate) fn then(mut self, on: &str, what: What) -> Self {
        let entered = at(60 * i64::try_from(self.facts.len()).expect("few facts"));
        self.facts.push(Fact { on: day(on), entered, entered_in_error: false, what });
        self
    }

    /// The last fact was entered in error.
    pub(crate) fn in_error(mut self) -> Self {
        self.facts.last_mut().expect("a fact").entered_in_error = true;
        self
    }

    pub(crate) fn opened(self, on: &str) -> Self {
        self.then(on, What::RecordOpened)
    }

    pub(crate) fn requested(self, on: &str, n: u128) -> Self {
        self.then(on, What::EvaluationRequested { request: request(n) })
    }

    pub(crate) fn answered(self, on: &str, n: u128, safe: Safe, answer: Answer) -> Self {
        self.evaluated(on, n, Source::Signed, on, safe, answer)
    }

    pub(crate) fn evaluated(
        self,
        on: &str,
        n: u128,
        source: Source,
        signed_on: &str,
        safe: Safe,
        answer: Answer,
    ) -> Self {
        let evaluation = evaluation(n);
        let signed_on = day(signed_on);
        self.then(on, What::EvaluationAnswered { evaluation, source, signed_on, safe, answer })
    }

    pub(crate) fn recommended(self, on: &str, n: u128, spec: DeviceSpec) -> Self {
        self.answered(on, n, Safe::Yes, Answer::Devices(vec![spec]))
    }

    pub(crate) fn lent(self, on: &str, n: u128, spec: DeviceSpec) -> Self {
        self.then(on, What::LoanOpened { loan: loan(n), device: device(n), spec })
    }

    pub(crate) fn returned(self, on: &str, n: u128) -> Self {
        self.then(on, What::LoanReturned { loan: loan(n) })
    }

    pub(crate) fn allowed(self, on: &str, n: u128, under: Basis) -> Self {
        self.then(on, What::DeviceAllowed { device: device(n), under, by: account(9) })
    }

    pub(crate) fn summary_sent(self, on: &str, n: u128, covers: DeviceSpec) -> Self {
        self.then(on, What::SummarySent { summary: summary(n), covers: vec![covers] })
    }

    pub(crate) fn decided(self, on: &str, n: u128, choice: Choice) -> Self {
        self.changed(on, n, choice, Vec::new())
    }

    pub(crate) fn changed(self, on: &str, n: u128, choice: Choice, devices: Vec<DeviceSpec>) -> Self {
        self.then(on, What::Decided { decision: decision(n), choice, devices })
    }

    pub(crate) fn prescribed(self, on: &str, n: u128, devices: Vec<DeviceSpec>) -> Self {
        self.then(on, What::PrescriptionSigned { prescription: prescription(n), devices })
    }

    pub(crate) fn voided(self, on: &str, n: u128) -> Self {
        self.then(on, What::PrescriptionVoided { prescription: prescription(n) })
    }

    /// The device `n` arrived on prescription `on_which`, and its receiver says
    /// that it is as prescribed.
    pub(crate) fn received(self, on: &str, n: u128, on_which: u128, spec: DeviceSpec) -> Self {
        self.then(
            on,
            What::OwnDeviceReceived {
                own_device: own(n),
                prescription: Some(prescription(on_which)),
                spec,
                receipt: Receipt::AsPrescribed,
            },
        )
    }

    pub(crate) fn brought_along(self, on: &str, n: u128, spec: DeviceSpec) -> Self {
        self.then(
            on,
            What::OwnDeviceReceived { own_device: own(n), prescription: None, spec, receipt: Receipt::AsPrescribed },
        )
    }

    pub(crate) fn settled(self, on: &str, n: u128, verdict: Verdict) -> Self {
        self.then(on, What::MismatchSettled { own_device: own(n), verdict })
    }

    pub(crate) fn repair_started(self, on: &str, n: u128) -> Self {
        self.then(on, What::RepairStarted { own_device: own(n) })
    }

    pub(crate) fn repair_ended(self, on: &str, n: u128) -> Self {
        self.then(on, What::RepairEnded { own_device: own(n) })
    }

    pub(crate) fn on(&self, on: &str) -> Journey {
        journey(self.track, &self.facts, day(on))
    }

    /// How things stand after everything told.
    pub(crate) fn end(&self) -> Journey {
        self.on("2030-12-31")
    }

    pub(crate) fn stage(&self) -> Stage {
        self.end().stage
    }

    /// Evaluated, lent a 6x telescope, and in training.
    pub(crate) fn in_training() -> Self {
        Self::distance()
            .opened("2027-01-04")
            .requested("2027-01-05", 1)
            .recommended("2027-01-20", 1, telescope(6.0, 16.0))
            .lent("2027-02-01", 1, telescope(6.0, 16.0))
    }

    /// As [`Story::in_training`], then prescribed and received on 4 March.
    pub(crate) fn with_own_device() -> Self {
        Self::in_training()
            .summary_sent("2027-02-10", 1, telescope(6.0, 16.0))
            .decided("2027-02-11", 1, Choice::Finalise)
            .prescribed("2027-02-11", 1, vec![telescope(6.0, 16.0)])
            .received("2027-03-04", 1, 1, telescope(6.0, 16.0))
    }
}
