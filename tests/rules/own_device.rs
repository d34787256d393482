//! G6: own device only.

use farpoint::care::device::Condition;
use farpoint::care::gates::{Gate, Named, PoolDevice, Purpose, Why, device_of_the_track, right_loan, safe_to_train};
use farpoint::care::journey::fact::{Answer, Receipt, Safe, Verdict, What};
use farpoint::care::journey::step::Act;
use farpoint::care::journey::{Fit, Journey, Stage};
use farpoint::care::track::DeviceKind;

use super::story::{Story, day, device, loan, magnifier, own, prescription, telescope};

const LOAN: fn() -> Named = || Named::Loan(loan(1));
const OWN: fn() -> Named = || Named::Own(own(1));

fn session(journey: &Journey, named: Named) -> Result<(), Gate> {
    device_of_the_track(journey, named, Purpose::Session)
        .map(|token| assert_eq!((token.named(), token.day()), (named, journey.day)))
        .map_err(|blocked| blocked.gate)
}

#[test]
fn entries_dated_after_the_receipt_name_the_own_device_or_none() {
    let story = Story::with_own_device();
    for (on, loan_allowed, own_allowed) in [
        ("2027-03-03", true, false),
        ("2027-03-04", true, true),
        ("2027-03-05", false, true),
        ("2027-03-20", false, true),
    ] {
        let then = story.on(on);
        assert_eq!(session(&then, LOAN()).is_ok(), loan_allowed, "loan on {on}");
        assert_eq!(session(&then, OWN()).is_ok(), own_allowed, "own device on {on}");
        assert_eq!(session(&then, Named::NoDevice), Ok(()));
    }
    // The same for what others saw.
    for purpose in [Purpose::Session, Purpose::Observation] {
        let blocked = device_of_the_track(&story.on("2027-03-09"), LOAN(), purpose).unwrap_err();
        assert_eq!((blocked.gate, blocked.first), (Gate::OwnDeviceOnly, Act::StartRepair));
    }
}

#[test]
fn a_replaced_loan_is_due_fourteen_days_after_the_receipt() {
    let now = Story::with_own_device().end();
    assert_eq!(now.loans[0].due, Some(day("2027-03-18")));
    assert_eq!(now.loans[0].replaced.map(|replaced| replaced.by), Some(own(1)));
    let returned = Story::with_own_device().returned("2027-03-10", 1).end();
    assert_eq!(returned.loans[0].due, None);
}

#[test]
fn a_receipt_dated_later_does_not_count_yet() {
    let now = Story::with_own_device().on("2027-03-03");
    assert_eq!(now.stage, Stage::Prescribed);
    assert!(now.loans[0].in_use());
}

#[test]
fn a_repair_record_reopens_the_loan_until_the_device_is_back() {
    let story = Story::with_own_device().repair_started("2027-04-01", 1).repair_ended("2027-04-20", 1);
    assert_eq!(session(&story.on("2027-03-31"), LOAN()), Err(Gate::OwnDeviceOnly));
    let in_repair = story.on("2027-04-05");
    assert_eq!(session(&in_repair, LOAN()), Ok(()));
    assert_eq!(session(&in_repair, OWN()), Err(Gate::OwnDeviceOnly));
    assert_eq!(in_repair.stage, Stage::OwnDevice);
    assert_eq!(in_repair.loans[0].due, None);
    // On the day it went, it may have been used before.
    assert_eq!(session(&story.on("2027-04-01"), OWN()), Ok(()));
    // Back again: the loan is due anew.
    assert_eq!(session(&story.on("2027-04-20"), LOAN()), Ok(()));
    assert_eq!(session(&story.on("2027-04-21"), LOAN()), Err(Gate::OwnDeviceOnly));
    assert_eq!(story.end().loans[0].due, Some(day("2027-05-04")));
}

#[test]
fn a_new_loan_is_opened_only_during_a_repair() {
    let pool = PoolDevice {
        id: device(5),
        spec: telescope(6.0, 16.0),
        condition: Condition::Good,
        cleaned_on: None,
        last_returned: None,
        open_loan: None,
    };
    let story = Story::with_own_device();
    let lend = |now: &Journey| right_loan(now, safe_to_train(now).unwrap(), &pool, &[]);
    assert_eq!(lend(&story.end()).unwrap_err().gate, Gate::OwnDeviceOnly);
    let broken = story.repair_started("2027-04-01", 1);
    assert_eq!(lend(&broken.end()).unwrap().why(), Why::Matches);
}

#[test]
fn a_loan_like_the_own_device_stands_in_for_it_whatever_was_recommended() {
    // A 5x was recommended, an 8x prescribed with a reason; the 8x is in repair.
    let eight = telescope(8.0, 20.0);
    let story = Story::distance()
        .recommended("2027-01-20", 1, telescope(5.0, 16.0))
        .prescribed("2027-02-01", 1, vec![eight.clone()])
        .received("2027-02-20", 1, 1, eight.clone())
        .repair_started("2027-03-01", 1)
        .lent("2027-03-02", 3, eight);
    let now = story.end();
    assert_eq!(now.loans[0].fit, Fit::Repair(own(1)));
    assert_eq!(session(&now, Named::Loan(loan(3))), Ok(()));
    let back = story.repair_ended("2027-03-10", 1);
    assert_eq!(session(&back.end(), Named::Loan(loan(3))), Err(Gate::OwnDeviceOnly));
}

#[test]
fn with_several_prescribed_a_device_replaces_the_loan_of_its_kind() {
    let dome = || magnifier(DeviceKind::DomeMagnifier, 8.0);
    let stand = || magnifier(DeviceKind::StandMagnifier, 12.0);
    let story = Story::near()
        .answered("2027-01-20", 1, Safe::Yes, Answer::Devices(vec![dome(), stand()]))
        .lent("2027-02-01", 1, dome())
        .lent("2027-02-01", 2, stand())
        .prescribed("2027-03-01", 1, vec![dome(), stand()])
        .received("2027-03-10", 1, 1, dome());
    let now = story.on("2027-03-20");
    assert_eq!(now.stage, Stage::OwnDevice);
    assert_eq!(session(&now, Named::Loan(loan(1))), Err(Gate::OwnDeviceOnly));
    assert_eq!(session(&now, Named::Loan(loan(2))), Ok(()));
    assert_eq!(now.loans[0].due, Some(day("2027-03-24")));
    assert_eq!(now.loans[1].due, None);
    let both = story.received("2027-03-21", 2, 1, stand());
    let later = both.on("2027-03-22");
    assert_eq!(session(&later, Named::Loan(loan(2))), Err(Gate::OwnDeviceOnly));
    assert_eq!(later.own_in_force().count(), 2);
    assert_eq!(session(&later, Named::Own(own(1))), Ok(()));
    assert_eq!(session(&later, Named::Own(own(2))), Ok(()));
}

#[test]
fn with_one_prescribed_every_loan_of_the_track_is_replaced() {
    let dome = || magnifier(DeviceKind::DomeMagnifier, 8.0);
    let stand = || magnifier(DeviceKind::StandMagnifier, 12.0);
    let now = Story::near()
        .answered("2027-01-20", 1, Safe::Yes, Answer::Devices(vec![dome(), stand()]))
        .lent("2027-02-01", 1, dome())
        .lent("2027-02-01", 2, stand())
        .prescribed("2027-03-01", 1, vec![dome()])
        .received("2027-03-10", 1, 1, dome())
        .on("2027-03-20");
    for n in [1, 2] {
        assert_eq!(session(&now, Named::Loan(loan(n))), Err(Gate::OwnDeviceOnly), "loan {n}");
    }
}

#[test]
fn a_mismatch_leaves_the_loan_in_use_until_a_clinician_accepts() {
    let story = Story::in_training().prescribed("2027-02-11", 1, vec![telescope(6.0, 16.0)]).received(
        "2027-03-04",
        1,
        1,
        telescope(6.0, 20.0),
    );
    let waiting = story.on("2027-03-09");
    assert_eq!(session(&waiting, LOAN()), Ok(()));
    let blocked = device_of_the_track(&waiting, OWN(), Purpose::Session).unwrap_err();
    assert_eq!((blocked.gate, blocked.first), (Gate::OwnDeviceOnly, Act::SettleMismatch));
    let accepted = story.clone().settled("2027-03-10", 1, Verdict::Accepted);
    assert_eq!(session(&accepted.on("2027-03-11"), LOAN()), Err(Gate::OwnDeviceOnly));
    assert_eq!(session(&accepted.on("2027-03-11"), OWN()), Ok(()));
    assert_eq!(accepted.end().loans[0].due, Some(day("2027-03-24")));
    let refused = story.settled("2027-03-10", 1, Verdict::Refused);
    assert_eq!(session(&refused.on("2027-03-11"), LOAN()), Ok(()));
    assert_eq!(session(&refused.on("2027-03-11"), OWN()), Err(Gate::OwnDeviceOnly));
}

#[test]
fn a_receiver_who_says_it_differs_is_believed() {
    let story = Story::in_training().prescribed("2027-02-11", 1, vec![telescope(6.0, 16.0)]).then(
        "2027-03-04",
        What::OwnDeviceReceived {
            own_device: own(1),
            prescription: Some(prescription(1)),
            spec: telescope(6.0, 16.0),
            receipt: Receipt::Differs,
        },
    );
    assert_eq!(story.stage(), Stage::Prescribed);
    assert_eq!(story.end().mismatches().count(), 1);
}

#[test]
fn an_own_device_in_error_was_never_received() {
    let story = Story::with_own_device().in_error();
    assert_eq!(story.stage(), Stage::Prescribed);
    assert_eq!(session(&story.end(), LOAN()), Ok(()));
    assert_eq!(session(&story.end(), OWN()), Err(Gate::OwnDeviceOnly));
}

#[test]
fn once_another_device_is_recommended_its_loan_is_trained_with() {
    let eight = telescope(8.0, 20.0);
    let story = Story::with_own_device().recommended("2028-01-20", 2, eight.clone()).lent("2028-01-25", 2, eight);
    let now = story.end();
    assert_eq!(session(&now, Named::Loan(loan(2))), Ok(()));
    // The old one takes no session, but what is seen with it is written down.
    assert_eq!(session(&now, OWN()), Err(Gate::RightLoan));
    assert!(device_of_the_track(&now, OWN(), Purpose::Observation).is_ok());
}

#[test]
fn an_unknown_device_is_named_by_no_entry() {
    let now = Story::with_own_device().end();
    assert_eq!(session(&now, Named::Own(own(77))), Err(Gate::OwnDeviceOnly));
    assert_eq!(session(&now, Named::Loan(loan(77))), Err(Gate::RightLoan));
}
