//! The ways past G4 and G6: who is asked about what, and when a loan goes on.

use farpoint::care::device::{Condition, Difference, Match};
use farpoint::care::gates::{
    Gate, PoolDevice, another_device, may_extend, may_repair, may_settle, nearest, right_loan, safe_to_train,
};
use farpoint::care::ids::DeviceId;
use farpoint::care::journey::fact::{Answer, Choice, Safe, Verdict, What};
use farpoint::care::journey::step::Act;
use farpoint::care::journey::{Basis, Fit, Journey};
use farpoint::care::track::DeviceKind;

use super::story::{Story, day, decision, device, evaluation, loan, magnifier, own, telescope};

fn pooled(id: DeviceId, power: f64) -> PoolDevice {
    PoolDevice {
        id,
        spec: telescope(power, 16.0),
        condition: Condition::Good,
        cleaned_on: None,
        last_returned: None,
        open_loan: None,
    }
}

fn asked(now: &Journey, power: f64, under: Option<Basis>) -> Result<Vec<Difference>, (Gate, Act)> {
    let safe = safe_to_train(now).unwrap();
    another_device(now, safe, &pooled(device(7), power), under)
        .map(|another| another.differs().to_vec())
        .map_err(|blocked| (blocked.gate, blocked.first))
}

impl Story {
    fn taken_back(self, on: &str, n: u128, under: Basis) -> Self {
        self.then(on, What::AllowanceEnded { device: device(n), under })
    }
}

const FIRST: fn() -> Basis = || Basis::Evaluation(evaluation(1));

#[test]
fn only_a_device_that_differs_is_a_question_and_only_under_the_recommendation_in_force() {
    let story = Story::in_training();
    // 6x is recommended: 4.8 to 7.5 match (x0.8 to x1.25), beyond that it is asked.
    for (power, differs) in [(4.7, true), (4.8, false), (6.0, false), (7.5, false), (7.6, true), (10.0, true)] {
        let answer = asked(&story.end(), power, None);
        let expected = if differs { Ok(vec![Difference::Power]) } else { Err((Gate::RightLoan, Act::OpenLoan)) };
        assert_eq!(answer, expected, "{power}");
    }
    assert!(asked(&story.end(), 10.0, Some(FIRST())).is_ok());
    let changed = story.changed("2027-02-20", 1, Choice::ChangeDevice, vec![telescope(3.0, 15.0)]);
    assert_eq!(asked(&changed.end(), 10.0, Some(FIRST())), Err((Gate::RightLoan, Act::ChooseAnotherDevice)));
    assert!(asked(&changed.end(), 10.0, Some(Basis::Decision(decision(1)))).is_ok());
    // Where the own device is in hand, nothing of its kind is asked for.
    assert_eq!(asked(&Story::with_own_device().end(), 10.0, None), Err((Gate::OwnDeviceOnly, Act::StartRepair)));
}

#[test]
fn leave_taken_back_calls_the_loan_back_that_day_and_not_before() {
    let ten = telescope(10.0, 25.0);
    let story = Story::distance()
        .recommended("2027-01-20", 1, telescope(6.0, 16.0))
        .allowed("2027-01-25", 1, FIRST())
        .lent("2027-02-01", 1, ten)
        .taken_back("2027-02-10", 1, FIRST());
    assert!(matches!(story.on("2027-02-09").loans[0].fit, Fit::Allowed(_)));
    let now = story.on("2027-02-10");
    assert_eq!((now.loans[0].fit, now.loans[0].due), (Fit::Not, Some(day("2027-02-10"))));
    // Given once more, it holds again; what came before stays as it was.
    let again = story.allowed("2027-02-15", 1, FIRST());
    assert!(matches!(again.end().loans[0].fit, Fit::Allowed(_)));
    assert_eq!(again.on("2027-02-12").loans[0].fit, Fit::Not);
    // Taking back leave for another device, or under another recommendation, is nothing.
    let other = Basis::Evaluation(evaluation(2));
    let beside = again.taken_back("2027-02-16", 2, FIRST()).taken_back("2027-02-17", 1, other);
    assert!(matches!(beside.end().loans[0].fit, Fit::Allowed(_)));
}

#[test]
fn an_allowed_device_is_not_asked_for_again_and_may_be_lent() {
    let story = Story::distance().recommended("2027-01-20", 1, telescope(6.0, 16.0)).allowed("2027-01-25", 7, FIRST());
    let now = story.end();
    assert_eq!(asked(&now, 10.0, None), Err((Gate::RightLoan, Act::OpenLoan)));
    assert!(right_loan(&now, safe_to_train(&now).unwrap(), &pooled(device(7), 10.0), &[]).is_ok());
    assert!(right_loan(&now, safe_to_train(&now).unwrap(), &pooled(device(8), 10.0), &[]).is_err());
}

#[test]
fn of_several_recommended_devices_the_nearest_is_compared() {
    let dome = magnifier(DeviceKind::DomeMagnifier, 8.0);
    let stand = magnifier(DeviceKind::StandMagnifier, 16.0);
    let answer = Answer::Devices(vec![dome, stand.clone()]);
    let now = Story::near().answered("2027-01-20", 1, Safe::Yes, answer).end();
    let (wanted, found) = nearest(&now, &magnifier(DeviceKind::StandMagnifier, 30.0), &[]).unwrap();
    assert_eq!((wanted, found), (&stand, Match::Differs(vec![Difference::Power])));
    assert!(nearest(&Story::near().opened("2027-01-04").end(), &stand, &[]).is_none());
}

#[test]
fn a_loan_that_is_called_back_does_not_go_on() {
    assert!(may_extend(&Story::in_training().end(), loan(1)).is_ok());
    assert_eq!(may_extend(&Story::in_training().end(), loan(2)).unwrap_err().first, Act::ReturnLoan);
    let replaced = may_extend(&Story::with_own_device().end(), loan(1)).unwrap_err();
    assert_eq!((replaced.gate, replaced.first), (Gate::OwnDeviceOnly, Act::ReturnLoan));
    let repaired = Story::with_own_device().repair_started("2027-04-01", 1);
    assert!(may_extend(&repaired.end(), loan(1)).is_ok());
    let stopped = Story::in_training().decided("2027-02-20", 1, Choice::Stop);
    assert_eq!(may_extend(&stopped.end(), loan(1)).unwrap_err().gate, Gate::RightLoan);
    assert!(may_extend(&Story::in_training().returned("2027-02-20", 1).end(), loan(1)).is_err());
}

#[test]
fn a_mismatch_is_settled_once_and_repaired_only_when_it_is_the_students() {
    let story = Story::in_training().prescribed("2027-02-11", 1, vec![telescope(6.0, 16.0)]).received(
        "2027-03-04",
        1,
        1,
        telescope(8.0, 20.0),
    );
    assert!(may_settle(&story.end(), own(1)).is_ok());
    assert!(may_settle(&story.on("2027-03-03"), own(1)).is_err());
    assert_eq!(may_repair(&story.end(), own(1)).unwrap_err().first, Act::SettleMismatch);
    assert_eq!(may_repair(&story.on("2027-03-03"), own(1)).unwrap_err().first, Act::RecordReceipt);
    let accepted = story.clone().settled("2027-03-10", 1, Verdict::Accepted);
    assert!(may_settle(&accepted.end(), own(1)).is_err());
    // It counts from the clinician's word, not from the receipt.
    assert_eq!(accepted.end().own_devices[0].in_force(), Some(day("2027-03-10")));
    assert!(may_repair(&accepted.end(), own(1)).is_ok());
    let away = accepted.repair_started("2027-03-20", 1);
    assert_eq!(may_repair(&away.end(), own(1)).unwrap_err().first, Act::EndRepair);
    let refused = story.settled("2027-03-10", 1, Verdict::Refused);
    assert!(may_settle(&refused.end(), own(1)).is_err());
    assert_eq!(may_repair(&refused.end(), own(1)).unwrap_err().first, Act::ChooseAnotherDevice);
    assert!(refused.end().loans[0].in_use());
}
