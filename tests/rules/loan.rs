//! G4: the right loan.

use farpoint::care::device::{Condition, Warning};
use farpoint::care::gates::{
    Blocked, Gate, Named, PoolDevice, Purpose, RightLoan, Why, device_of_the_track, right_loan, safe_to_train,
};
use farpoint::care::journey::fact::{Answer, Choice, Safe};
use farpoint::care::journey::step::Act;
use farpoint::care::journey::{Basis, Journey};
use farpoint::care::track::{DeviceKind, Eye};
use farpoint::vision::units::{Degrees, Metres};

use super::story::{Story, account, day, decision, device, evaluation, loan, magnifier, telescope};

fn pool(spec: farpoint::care::device::DeviceSpec) -> PoolDevice {
    PoolDevice {
        id: device(1),
        spec,
        condition: Condition::Good,
        cleaned_on: Some(day("2027-01-15")),
        last_returned: Some(day("2027-01-15")),
        open_loan: None,
    }
}

fn lend(journey: &Journey, device: &PoolDevice) -> Result<RightLoan, Blocked> {
    right_loan(journey, safe_to_train(journey)?, device, &[Metres::literal(4.0)])
}

fn recommended() -> Journey {
    Story::distance().recommended("2027-01-20", 1, telescope(6.0, 16.0)).on("2027-02-01")
}

#[test]
fn a_matching_device_in_good_order_may_be_lent() {
    let token = lend(&recommended(), &pool(telescope(7.0, 16.0))).unwrap();
    assert_eq!((token.device(), token.why()), (device(1), Why::Matches));
    assert_eq!(token.basis(), Basis::Evaluation(evaluation(1)));
    assert_eq!(token.warnings(), []);
}

#[test]
fn nothing_is_lent_before_an_evaluation() {
    let before = Story::distance().requested("2027-01-05", 1).end();
    let blocked = lend(&before, &pool(telescope(6.0, 16.0))).unwrap_err();
    assert_eq!(blocked.gate, Gate::EvaluationFirst);
}

#[test]
fn a_refusal_names_what_differs() {
    let mut left = telescope(6.0, 16.0);
    left.eye = Some(Eye::Left);
    for (spec, words) in [
        (telescope(8.0, 20.0), "the power is another"),
        (left, "it is for another eye"),
        (magnifier(DeviceKind::HandMagnifier, 20.0), "the kind is another"),
    ] {
        let blocked = lend(&recommended(), &pool(spec)).unwrap_err();
        assert_eq!((blocked.gate, blocked.first), (Gate::RightLoan, Act::ChooseAnotherDevice));
        assert!(blocked.message.contains(words), "{}", blocked.message);
    }
}

#[test]
fn warnings_do_not_stop_a_loan() {
    let mut narrow = telescope(6.0, 16.0);
    narrow.true_field = Some(Degrees::literal(7.0));
    narrow.near_focus = Some(Metres::literal(5.0));
    let token = lend(&recommended(), &pool(narrow)).unwrap();
    assert_eq!(token.warnings(), [Warning::Field, Warning::NearFocus]);
}

#[test]
fn a_device_that_is_lost_or_broken_is_not_lent() {
    for condition in Condition::ALL {
        let mut device = pool(telescope(6.0, 16.0));
        device.condition = *condition;
        let fit = !matches!(condition, Condition::Broken | Condition::Lost);
        assert_eq!(lend(&recommended(), &device).is_ok(), fit, "{condition}");
    }
}

#[test]
fn a_device_is_cleaned_after_each_loan() {
    let lent_before = |cleaned_on: Option<&str>| {
        let mut device = pool(telescope(6.0, 16.0));
        device.last_returned = Some(day("2027-01-15"));
        device.cleaned_on = cleaned_on.map(day);
        lend(&recommended(), &device)
    };
    assert!(lent_before(Some("2027-01-15")).is_ok());
    assert!(lent_before(Some("2027-01-16")).is_ok());
    for cleaned_on in [None, Some("2027-01-14")] {
        let blocked = lent_before(cleaned_on).unwrap_err();
        assert_eq!((blocked.gate, blocked.first), (Gate::RightLoan, Act::CleanDevice));
    }
    let mut never_lent = pool(telescope(6.0, 16.0));
    (never_lent.last_returned, never_lent.cleaned_on) = (None, None);
    assert!(lend(&recommended(), &never_lent).is_ok());
}

#[test]
fn a_device_has_one_open_loan() {
    let mut device = pool(telescope(6.0, 16.0));
    device.open_loan = Some(loan(7));
    assert_eq!(lend(&recommended(), &device).unwrap_err().gate, Gate::RightLoan);
}

#[test]
fn a_clinician_may_allow_another_device_but_not_a_broken_one() {
    let story = Story::distance().recommended("2027-01-20", 1, telescope(6.0, 16.0)).allowed(
        "2027-01-25",
        1,
        Basis::Evaluation(evaluation(1)),
    );
    let mut other = pool(telescope(8.0, 20.0));
    let now = story.on("2027-02-01");
    assert_eq!(lend(&now, &other).unwrap().why(), Why::Allowed(account(9)));
    // The leave is for that device under that recommendation.
    let changed = story.clone().changed("2027-01-28", 1, Choice::ChangeDevice, vec![telescope(6.0, 16.0)]);
    assert!(lend(&changed.on("2027-02-01"), &other).is_err());
    other.condition = Condition::Broken;
    assert!(lend(&now, &other).is_err());
    other.condition = Condition::Good;
    other.id = device(2);
    assert!(lend(&now, &other).is_err());
}

#[test]
fn any_recommended_device_will_do_and_the_best_fit_counts() {
    let mut wide = telescope(6.0, 16.0);
    wide.true_field = Some(Degrees::literal(13.0));
    let now = Story::distance()
        .answered("2027-01-20", 1, Safe::Yes, Answer::Devices(vec![wide, telescope(5.0, 16.0)]))
        .on("2027-02-01");
    // Warned against the first, but not against the second.
    assert_eq!(lend(&now, &pool(telescope(6.0, 16.0))).unwrap().warnings(), []);
}

#[test]
fn a_token_of_another_track_or_recommendation_lends_nothing() {
    let far = recommended();
    let near = Story::near().recommended("2027-01-20", 1, magnifier(DeviceKind::HandMagnifier, 20.0)).on("2027-02-01");
    let safe = safe_to_train(&near).unwrap();
    let lend = |safe| right_loan(&far, safe, &pool(telescope(6.0, 16.0)), &[]);
    assert_eq!(lend(safe).unwrap_err().gate, Gate::EvaluationFirst);
    let other = Story::distance().recommended("2027-01-20", 2, telescope(6.0, 16.0)).on("2027-02-01");
    let safe = safe_to_train(&other).unwrap();
    assert_eq!(lend(safe).unwrap_err().gate, Gate::EvaluationFirst);
}

#[test]
fn a_loan_that_no_longer_matches_takes_no_session_but_its_days_before_stay() {
    let story = Story::in_training().changed("2027-02-12", 1, Choice::ChangeDevice, vec![telescope(4.0, 12.0)]);
    let named = Named::Loan(loan(1));
    let blocked = device_of_the_track(&story.on("2027-02-12"), named, Purpose::Session).unwrap_err();
    assert_eq!((blocked.gate, blocked.first), (Gate::RightLoan, Act::ReturnLoan));
    assert!(device_of_the_track(&story.on("2027-02-11"), named, Purpose::Session).is_ok());
    // What was seen with it is still written down.
    assert!(device_of_the_track(&story.on("2027-02-20"), named, Purpose::Observation).is_ok());
    assert_eq!(story.end().recommendation.map(|now| now.basis), Some(Basis::Decision(decision(1))));
}

#[test]
fn a_loan_takes_sessions_from_the_day_it_went_to_the_day_it_came_back() {
    let story = Story::in_training().returned("2027-02-20", 1);
    let named = Named::Loan(loan(1));
    for (on, allowed) in [("2027-01-31", false), ("2027-02-01", true), ("2027-02-20", true), ("2027-02-21", false)] {
        let result = device_of_the_track(&story.on(on), named, Purpose::Session);
        assert_eq!(result.is_ok(), allowed, "{on}");
    }
}
