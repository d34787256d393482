//! The stage of a track follows from its facts.

use farpoint::care::journey::fact::{Answer, Choice, Safe, Source, Verdict, What};
use farpoint::care::journey::{Basis, Fit, Stage, Standing, journey};
use farpoint::care::track::{DeviceKind, Track};

use super::story::{Story, day, decision, evaluation, magnifier, request, summary, telescope};

fn six() -> farpoint::care::device::DeviceSpec {
    telescope(6.0, 16.0)
}

#[test]
fn each_fact_moves_the_stage_as_the_contract_says() {
    use Stage::*;
    let eight = telescope(8.0, 20.0);
    let training = Story::in_training;
    let sent = || training().summary_sent("2027-02-10", 1, six());
    let own = Story::with_own_device;
    let none = || Story::distance().answered("2027-01-20", 1, Safe::Yes, Answer::NoDevice);
    let table = [
        ("nothing", Story::distance(), Intake),
        ("record opened", Story::distance().opened("2027-01-04"), Intake),
        ("evaluation requested", Story::distance().requested("2027-01-05", 1), AwaitingEvaluation),
        ("a device and safe", Story::distance().recommended("2027-01-20", 1, six()), WaitingForLoan),
        (
            "safe with limits",
            Story::distance().answered("2027-01-20", 1, Safe::WithLimits, Answer::Devices(vec![six()])),
            WaitingForLoan,
        ),
        (
            "a device but not safe",
            Story::distance().answered("2027-01-20", 1, Safe::No, Answer::Devices(vec![six()])),
            NoDeviceAdvised,
        ),
        (
            "keep own device but not safe",
            Story::distance().answered("2027-01-20", 1, Safe::No, Answer::KeepOwnDevice),
            NoDeviceAdvised,
        ),
        ("no device", none(), NoDeviceAdvised),
        (
            "track not looked at",
            Story::distance().requested("2027-01-05", 1).answered("2027-01-20", 1, Safe::Yes, Answer::NotLookedAt),
            AwaitingEvaluation,
        ),
        ("keep own device", Story::distance().answered("2027-01-20", 1, Safe::Yes, Answer::KeepOwnDevice), OwnDevice),
        ("a matching loan", training(), TrainingOnLoan),
        (
            "a loan that does not match",
            Story::distance().recommended("2027-01-20", 1, six()).lent("2027-02-01", 1, eight.clone()),
            WaitingForLoan,
        ),
        ("the loan returned", training().returned("2027-02-20", 1), WaitingForLoan),
        ("summary sent", sent(), SummaryWithClinician),
        ("keep going", sent().decided("2027-02-12", 1, Choice::KeepGoing), TrainingOnLoan),
        ("change seat", sent().decided("2027-02-12", 1, Choice::ChangeSeat), TrainingOnLoan),
        ("change material", sent().decided("2027-02-12", 1, Choice::ChangeMaterial), TrainingOnLoan),
        ("change device", sent().changed("2027-02-12", 1, Choice::ChangeDevice, vec![eight.clone()]), WaitingForLoan),
        (
            "change device and a loan of it",
            sent().changed("2027-02-12", 1, Choice::ChangeDevice, vec![eight.clone()]).lent(
                "2027-02-15",
                2,
                eight.clone(),
            ),
            TrainingOnLoan,
        ),
        ("stop", sent().decided("2027-02-12", 1, Choice::Stop), NoDeviceAdvised),
        ("refer or treat first", sent().decided("2027-02-12", 1, Choice::ReferOrTreatFirst), NoDeviceAdvised),
        ("finalise", sent().decided("2027-02-12", 1, Choice::Finalise), SummaryWithClinician),
        ("finalise without a summary", training().decided("2027-02-12", 1, Choice::Finalise), TrainingOnLoan),
        (
            "finalise and signature",
            sent().decided("2027-02-12", 1, Choice::Finalise).prescribed("2027-02-12", 1, vec![six()]),
            Prescribed,
        ),
        ("receipt", own(), OwnDevice),
        ("a new summary about the own device", own().summary_sent("2027-04-01", 2, six()), SummaryWithClinician),
        (
            "keep going with the own device",
            own().summary_sent("2027-04-01", 2, six()).decided("2027-04-02", 2, Choice::KeepGoing),
            OwnDevice,
        ),
        ("another device recommended later", own().recommended("2028-01-20", 2, eight.clone()), WaitingForLoan),
        ("kept at the next evaluation", own().answered("2028-01-20", 2, Safe::Yes, Answer::KeepOwnDevice), OwnDevice),
        ("stopped with the own device", own().decided("2028-01-20", 2, Choice::Stop), NoDeviceAdvised),
        ("asked again with the own device", own().requested("2028-01-05", 2), OwnDevice),
        ("superseded by the same device", own().prescribed("2028-02-01", 2, vec![six()]), OwnDevice),
        ("superseded by another device", own().prescribed("2028-02-01", 2, vec![eight.clone()]), Prescribed),
        (
            "the other device received",
            own().prescribed("2028-02-01", 2, vec![eight.clone()]).received("2028-03-01", 2, 2, eight.clone()),
            OwnDevice,
        ),
        ("asked while one is recommended", training().requested("2027-03-01", 2), TrainingOnLoan),
        ("asked where none is advised", none().requested("2027-03-01", 2), AwaitingEvaluation),
        (
            "a request withdrawn",
            none().requested("2027-03-01", 2).then("2027-03-02", What::RequestWithdrawn { request: request(2) }),
            NoDeviceAdvised,
        ),
        (
            "a prescription voided before the device came",
            training().prescribed("2027-02-12", 1, vec![six()]).voided("2027-02-14", 1),
            TrainingOnLoan,
        ),
        (
            "two prescriptions voided, the earlier one first",
            training()
                .prescribed("2027-02-12", 1, vec![six()])
                .prescribed("2027-02-13", 2, vec![six()])
                .voided("2027-02-13", 1)
                .voided("2027-02-14", 2),
            TrainingOnLoan,
        ),
        ("a prescription voided afterwards", own().voided("2027-03-10", 1), OwnDevice),
    ];
    for (told, story, stage) in table {
        assert_eq!(story.stage(), stage, "after {told}");
    }
}

#[test]
fn a_summary_stays_with_the_clinician_whatever_else_is_signed() {
    let story = Story::in_training()
        .summary_sent("2027-02-10", 1, six())
        .recommended("2027-02-15", 2, telescope(8.0, 20.0))
        .prescribed("2027-02-16", 1, vec![six()]);
    assert_eq!(story.stage(), Stage::SummaryWithClinician);
    assert_eq!(story.end().since, Some(day("2027-02-10")));
    // The decision lifts it off; the signature was there already.
    let decided = story.clone().decided("2027-02-17", 1, Choice::Finalise);
    assert_eq!(decided.stage(), Stage::Prescribed);
    let kept_going = story.decided("2027-02-17", 1, Choice::KeepGoing);
    assert_eq!(kept_going.stage(), Stage::Prescribed);
}

#[test]
fn a_second_summary_waits_for_a_second_decision() {
    let story = Story::in_training()
        .summary_sent("2027-02-10", 1, six())
        .decided("2027-02-12", 1, Choice::KeepGoing)
        .summary_sent("2027-03-10", 2, six());
    assert_eq!(story.stage(), Stage::SummaryWithClinician);
    assert_eq!(story.end().with_clinician.map(|with| with.summary), Some(summary(2)));
}

#[test]
fn a_decision_in_error_leaves_the_summary_with_the_clinician() {
    let story =
        Story::in_training().summary_sent("2027-02-10", 1, six()).decided("2027-02-12", 1, Choice::Stop).in_error();
    assert_eq!(story.stage(), Stage::SummaryWithClinician);
}

#[test]
fn an_evaluation_in_error_was_never_signed() {
    let story = Story::distance().requested("2027-01-05", 1).recommended("2027-01-20", 1, six()).in_error();
    assert_eq!(story.stage(), Stage::AwaitingEvaluation);
    assert!(story.end().recommendation.is_none());
    assert!(story.end().history.is_empty());
}

#[test]
fn an_evaluation_in_error_gives_way_to_the_one_before() {
    let story = Story::in_training().answered("2027-02-20", 2, Safe::Yes, Answer::NoDevice).in_error();
    let now = story.end();
    assert_eq!(now.stage, Stage::TrainingOnLoan);
    assert_eq!(now.recommendation.map(|one| one.basis), Some(Basis::Evaluation(evaluation(1))));
}

#[test]
fn a_prescription_in_error_makes_its_receipt_count_for_nothing() {
    let mut story = Story::with_own_device();
    for fact in &mut story.facts {
        if matches!(fact.what, What::PrescriptionSigned { .. }) {
            fact.entered_in_error = true;
        }
    }
    let now = story.end();
    assert_eq!(now.stage, Stage::SummaryWithClinician);
    assert_eq!(now.own_in_force().count(), 0);
}

#[test]
fn an_old_report_transcribed_late_does_not_overtake_a_newer_evaluation() {
    let story =
        Story::in_training().evaluated("2026-03-01", 2, Source::Transcribed, "2027-02-20", Safe::Yes, Answer::NoDevice);
    assert_eq!(story.stage(), Stage::TrainingOnLoan);
}

#[test]
fn of_two_evaluations_of_one_day_the_later_entry_counts() {
    let later_none =
        Story::distance().recommended("2027-01-20", 1, six()).answered("2027-01-20", 2, Safe::Yes, Answer::NoDevice);
    assert_eq!(later_none.stage(), Stage::NoDeviceAdvised);
    let later_device =
        Story::distance().answered("2027-01-20", 2, Safe::Yes, Answer::NoDevice).recommended("2027-01-20", 1, six());
    assert_eq!(later_device.stage(), Stage::WaitingForLoan);
}

#[test]
fn a_transcript_counts_from_the_day_it_was_filed() {
    let story = Story::distance().evaluated(
        "2027-01-05",
        1,
        Source::Transcribed,
        "2027-03-01",
        Safe::Yes,
        Answer::Devices(vec![six()]),
    );
    assert_eq!(story.on("2027-02-28").stage, Stage::Intake);
    assert_eq!(story.on("2027-03-01").stage, Stage::WaitingForLoan);
}

#[test]
fn an_ordinary_eye_report_changes_nothing() {
    for answer in [Answer::NoDevice, Answer::Devices(vec![six()]), Answer::KeepOwnDevice] {
        let story =
            Story::in_training().evaluated("2027-02-20", 2, Source::Background, "2027-02-20", Safe::Yes, answer);
        assert_eq!(story.stage(), Stage::TrainingOnLoan);
    }
}

#[test]
fn a_report_without_a_word_on_safety_recommends_nothing() {
    let story = Story::distance().requested("2027-01-05", 1).answered(
        "2027-01-20",
        1,
        Safe::NotStated,
        Answer::Devices(vec![six()]),
    );
    assert_eq!(story.stage(), Stage::AwaitingEvaluation);
    assert!(story.end().recommendation.is_none());
}

#[test]
fn facts_of_tomorrow_do_not_count_today() {
    let story = Story::in_training();
    assert_eq!(story.on("2027-01-04").stage, Stage::Intake);
    assert_eq!(story.on("2027-01-05").stage, Stage::AwaitingEvaluation);
    assert_eq!(story.on("2027-01-31").stage, Stage::WaitingForLoan);
    assert_eq!(story.on("2027-02-01").stage, Stage::TrainingOnLoan);
}

#[test]
fn a_stage_knows_since_when() {
    let story = Story::in_training();
    assert_eq!(story.on("2027-01-04").since, Some(day("2027-01-04")));
    assert_eq!(story.on("2027-01-19").since, Some(day("2027-01-05")));
    assert_eq!(story.on("2027-01-25").since, Some(day("2027-01-20")));
    assert_eq!(story.end().since, Some(day("2027-02-01")));
    let sent = story.summary_sent("2027-02-10", 1, six());
    assert_eq!(sent.end().since, Some(day("2027-02-10")));
    assert_eq!(Story::distance().end().since, None);
}

#[test]
fn the_order_of_entering_the_list_changes_nothing() {
    let stories = [
        Story::with_own_device().repair_started("2027-04-01", 1).repair_ended("2027-04-20", 1),
        Story::with_own_device().prescribed("2028-02-01", 2, vec![telescope(8.0, 20.0)]).received(
            "2028-03-01",
            2,
            2,
            telescope(8.0, 20.0),
        ),
        Story::in_training()
            .returned("2027-02-05", 1)
            .lent("2027-02-05", 2, six())
            .summary_sent("2027-02-10", 1, six())
            .decided("2027-02-10", 1, Choice::KeepGoing),
    ];
    for story in stories {
        let told = story.end();
        let length = story.facts.len();
        for shift in 0..length {
            let mut turned = story.facts.clone();
            turned.rotate_left(shift);
            assert_eq!(journey(story.track, &turned, told.day), told);
            turned.reverse();
            assert_eq!(journey(story.track, &turned, told.day), told);
        }
    }
}

#[test]
fn the_two_tracks_do_not_touch_each_other() {
    let far = Story::with_own_device();
    let near = Story::near().requested("2027-01-05", 1).answered("2027-01-20", 1, Safe::Yes, Answer::NotLookedAt);
    assert_eq!(far.stage(), Stage::OwnDevice);
    assert_eq!(near.stage(), Stage::AwaitingEvaluation);
    assert_eq!(near.end().track, Track::Near);
}

#[test]
fn a_telescope_with_a_reading_cap_trains_on_the_near_track() {
    let mut capped = telescope(4.0, 12.0);
    capped.reading_cap = Some(farpoint::vision::units::Dioptres::literal(5.0));
    // Four times 5 D is 20 D of equivalent power.
    let mut lent = telescope(5.0, 12.0);
    lent.reading_cap = Some(farpoint::vision::units::Dioptres::literal(4.0));
    let story = Story::near().recommended("2027-01-20", 1, capped).lent("2027-02-01", 1, lent);
    assert_eq!(story.stage(), Stage::TrainingOnLoan);
}

#[test]
fn a_loan_that_no_longer_matches_is_due_back_that_day() {
    let story = Story::in_training().summary_sent("2027-02-10", 1, six()).changed(
        "2027-02-12",
        1,
        Choice::ChangeDevice,
        vec![telescope(4.0, 12.0)],
    );
    let now = story.end();
    assert_eq!(now.stage, Stage::WaitingForLoan);
    assert_eq!(now.loans[0].fit, Fit::Not);
    assert_eq!(now.loans[0].due, Some(day("2027-02-12")));
    assert_eq!(now.recommendation.map(|one| one.basis), Some(Basis::Decision(decision(1))));
}

#[test]
fn a_loan_is_due_back_when_the_recommendation_ends() {
    let now = Story::in_training().decided("2027-02-12", 1, Choice::Stop).end();
    assert_eq!(now.loans[0].fit, Fit::Not);
    assert_eq!(now.loans[0].due, Some(day("2027-02-12")));
    assert!(now.recommendation.is_none());
}

#[test]
fn any_of_several_recommended_devices_will_do() {
    let dome = magnifier(DeviceKind::DomeMagnifier, 8.0);
    let stand = magnifier(DeviceKind::StandMagnifier, 12.0);
    let recommended =
        Story::near().answered("2027-01-20", 1, Safe::Yes, Answer::Devices(vec![dome.clone(), stand.clone()]));
    for spec in [dome, stand] {
        assert_eq!(recommended.clone().lent("2027-02-01", 1, spec).stage(), Stage::TrainingOnLoan);
    }
}

#[test]
fn an_allowed_loan_trains_until_the_recommendation_changes() {
    let other = telescope(8.0, 20.0);
    let story = Story::distance()
        .recommended("2027-01-20", 1, six())
        .allowed("2027-01-25", 1, Basis::Evaluation(evaluation(1)))
        .lent("2027-02-01", 1, other);
    assert_eq!(story.stage(), Stage::TrainingOnLoan);
    // The same morning brings a new evaluation: the leave was under the old one.
    let changed = story.recommended("2027-02-01", 2, six());
    assert_eq!(changed.stage(), Stage::WaitingForLoan);
    assert!(changed.end().allowed.is_empty());
}

#[test]
fn a_loan_returned_before_it_went_out_is_not_out() {
    let story =
        Story::distance().recommended("2027-01-20", 1, six()).lent("2027-02-10", 1, six()).returned("2027-02-01", 1);
    assert_eq!(story.stage(), Stage::WaitingForLoan);
    assert_eq!(story.end().open_loans().count(), 0);
}

#[test]
fn a_receipt_entered_before_the_signature_counts_once_it_is_signed() {
    let story = Story::in_training().received("2027-02-10", 1, 1, six()).prescribed("2027-02-11", 1, vec![six()]);
    let now = story.end();
    assert_eq!(now.stage, Stage::OwnDevice);
    assert_eq!(now.own_devices[0].standing, Standing::InForce(day("2027-02-11")));
}

#[test]
fn a_device_that_differs_waits_for_the_clinician() {
    let story = Story::in_training().prescribed("2027-02-11", 1, vec![six()]).received(
        "2027-03-04",
        1,
        1,
        telescope(8.0, 16.0),
    );
    assert_eq!(story.stage(), Stage::Prescribed);
    assert_eq!(story.end().mismatches().count(), 1);
    let accepted = story.clone().settled("2027-03-06", 1, Verdict::Accepted);
    assert_eq!(accepted.stage(), Stage::OwnDevice);
    assert_eq!(accepted.end().own_devices[0].in_force(), Some(day("2027-03-06")));
    let refused = story.settled("2027-03-06", 1, Verdict::Refused);
    assert_eq!(refused.stage(), Stage::Prescribed);
    assert_eq!(refused.end().mismatches().count(), 0);
}

#[test]
fn a_new_prescription_of_what_arrived_settles_the_difference() {
    let seven = telescope(7.0, 16.0);
    let story =
        Story::in_training().prescribed("2027-02-11", 1, vec![six()]).received("2027-03-04", 1, 1, seven.clone());
    assert_eq!(story.end().mismatches().count(), 1);
    let settled = story.clone().prescribed("2027-03-08", 2, vec![seven]);
    assert_eq!(settled.stage(), Stage::OwnDevice);
    let other = story.prescribed("2027-03-08", 2, vec![telescope(8.0, 20.0)]);
    assert_eq!(other.stage(), Stage::Prescribed);
    assert_eq!(other.end().mismatches().count(), 1);
}

#[test]
fn a_device_that_arrives_after_treat_first_starts_nothing() {
    let story = Story::in_training()
        .prescribed("2027-02-11", 1, vec![six()])
        .decided("2027-02-20", 1, Choice::ReferOrTreatFirst)
        .received("2027-03-04", 1, 1, six());
    assert_eq!(story.stage(), Stage::NoDeviceAdvised);
    assert_eq!(story.end().own_devices[0].standing, Standing::Held);
}

#[test]
fn the_own_device_brought_along_is_in_force_once_an_evaluation_keeps_it() {
    let kept = |story: Story| story.answered("2027-01-20", 1, Safe::Yes, Answer::KeepOwnDevice);
    let before = kept(Story::distance().brought_along("2027-01-04", 1, six()));
    let after = kept(Story::distance()).brought_along("2027-01-25", 1, six());
    for (story, since) in [(before, "2027-01-20"), (after, "2027-01-25")] {
        let now = story.end();
        assert_eq!(now.stage, Stage::OwnDevice);
        assert_eq!(now.own_devices[0].in_force(), Some(day(since)));
        assert_eq!(now.recommendation.expect("kept").devices, vec![six()]);
    }
}

#[test]
fn a_prescribed_device_is_awaited_though_the_student_brought_one_like_it() {
    let story = Story::distance().brought_along("2027-01-04", 1, six()).recommended("2027-01-20", 1, six()).prescribed(
        "2027-02-11",
        1,
        vec![six()],
    );
    assert_eq!(story.stage(), Stage::Prescribed);
}

#[test]
fn a_voided_prescription_does_not_come_back_when_the_next_is_voided_too() {
    let story = Story::in_training().prescribed("2027-02-11", 1, vec![six()]).prescribed(
        "2027-02-15",
        2,
        vec![telescope(8.0, 20.0)],
    );
    let first_voided = story.voided("2027-02-16", 1);
    assert_eq!(first_voided.stage(), Stage::Prescribed);
    assert!(first_voided.voided("2027-02-17", 2).end().prescription.is_none());
}

#[test]
fn voiding_a_superseding_prescription_brings_the_own_device_back() {
    let story = Story::with_own_device().prescribed("2028-02-01", 2, vec![telescope(8.0, 20.0)]);
    assert_eq!(story.stage(), Stage::Prescribed);
    let voided = story.voided("2028-02-10", 2);
    assert_eq!(voided.stage(), Stage::OwnDevice);
    assert_eq!(voided.end().own_devices[0].in_force(), Some(day("2027-03-04")));
}
