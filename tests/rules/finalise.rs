//! G8: finalising a prescription.

use farpoint::care::device::DeviceSpec;
use farpoint::care::gates::{Evidence, Gate, may_finalise};
use farpoint::care::journey::fact::{Answer, Choice, Safe, Source};
use farpoint::care::journey::step::Act;
use farpoint::care::track::DeviceKind;

use super::story::{Story, magnifier, summary, telescope};

fn finalise(story: &Story, devices: &[DeviceSpec], reason: Option<&str>) -> Result<Evidence, Gate> {
    may_finalise(&story.end(), devices, reason).map(|token| token.evidence().clone()).map_err(|blocked| blocked.gate)
}

fn six() -> DeviceSpec {
    telescope(6.0, 16.0)
}

#[test]
fn a_summary_sent_after_the_recommendation_is_enough() {
    let story = Story::in_training().summary_sent("2027-02-10", 1, six());
    assert_eq!(finalise(&story, &[six()], None), Ok(Evidence::Summaries(vec![summary(1)])));
}

#[test]
fn without_a_summary_the_clinician_writes_why() {
    let story = Story::in_training();
    let blocked = may_finalise(&story.end(), &[six()], None).unwrap_err();
    assert_eq!((blocked.gate, blocked.first), (Gate::Finalise, Act::SendSummary));
    assert_eq!(finalise(&story, &[six()], Some("  ")), Err(Gate::Finalise));
    match finalise(&story, &[six()], Some("moves away tomorrow")) {
        Ok(Evidence::Reason(reason)) => assert_eq!(reason.as_str(), "moves away tomorrow"),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_summary_in_error_was_never_sent() {
    let story = Story::in_training().summary_sent("2027-02-10", 1, six()).in_error();
    assert_eq!(finalise(&story, &[six()], None), Err(Gate::Finalise));
}

#[test]
fn a_summary_sent_before_the_recommendation_says_nothing_about_it() {
    let story = Story::distance().summary_sent("2027-01-10", 1, six()).recommended("2027-01-20", 1, six());
    assert_eq!(finalise(&story, &[six()], None), Err(Gate::Finalise));
}

#[test]
fn of_one_day_the_summary_must_be_entered_after_the_recommendation() {
    let before = Story::distance().summary_sent("2027-01-20", 1, six()).recommended("2027-01-20", 1, six());
    assert_eq!(finalise(&before, &[six()], None), Err(Gate::Finalise));
    let after = Story::distance().recommended("2027-01-20", 1, six()).summary_sent("2027-01-20", 1, six());
    assert!(finalise(&after, &[six()], None).is_ok());
}

#[test]
fn a_summary_about_another_device_is_not_enough() {
    let story = Story::in_training().summary_sent("2027-02-10", 1, telescope(3.0, 9.0));
    assert_eq!(finalise(&story, &[six()], None), Err(Gate::Finalise));
}

#[test]
fn a_summary_about_a_loan_that_stood_for_the_device_covers_it() {
    let story = Story::in_training().summary_sent("2027-02-10", 1, telescope(5.0, 15.0));
    assert!(finalise(&story, &[six()], None).is_ok());
}

#[test]
fn a_repeated_recommendation_does_not_make_a_summary_old() {
    let story = Story::in_training().summary_sent("2027-02-10", 1, six()).recommended("2027-02-20", 2, six());
    assert_eq!(finalise(&story, &[six()], None), Ok(Evidence::Summaries(vec![summary(1)])));
}

#[test]
fn a_summary_from_before_the_change_of_device_does_not_cover_the_new_one() {
    let seven = telescope(7.0, 21.0);
    let changed = Story::in_training().summary_sent("2027-02-10", 1, six()).changed(
        "2027-02-12",
        1,
        Choice::ChangeDevice,
        vec![seven.clone()],
    );
    // Near in power, but the summary is about the time before.
    assert_eq!(finalise(&changed, std::slice::from_ref(&seven), None), Err(Gate::Finalise));
    let again = changed.summary_sent("2027-03-10", 2, seven.clone());
    assert_eq!(finalise(&again, &[seven], None), Ok(Evidence::Summaries(vec![summary(2)])));
}

#[test]
fn a_device_that_was_never_recommended_needs_a_reason() {
    let story = Story::in_training().summary_sent("2027-02-10", 1, telescope(10.0, 30.0));
    let ten = telescope(10.0, 30.0);
    assert_eq!(finalise(&story, std::slice::from_ref(&ten), None), Err(Gate::Finalise));
    assert!(finalise(&story, &[ten], Some("tried in the clinic")).is_ok());
}

#[test]
fn each_of_two_devices_needs_its_summary() {
    let dome = || magnifier(DeviceKind::DomeMagnifier, 8.0);
    let stand = || magnifier(DeviceKind::StandMagnifier, 12.0);
    let story = Story::near()
        .answered("2027-01-20", 1, Safe::Yes, Answer::Devices(vec![dome(), stand()]))
        .summary_sent("2027-02-10", 1, dome());
    assert!(finalise(&story, &[dome()], None).is_ok());
    assert_eq!(finalise(&story, &[dome(), stand()], None), Err(Gate::Finalise));
    let both = story.summary_sent("2027-02-20", 2, stand());
    assert_eq!(finalise(&both, &[dome(), stand()], None), Ok(Evidence::Summaries(vec![summary(1), summary(2)])));
}

#[test]
fn lenses_alone_need_no_summary() {
    assert_eq!(finalise(&Story::distance(), &[], None), Ok(Evidence::LensesAlone));
}

#[test]
fn a_transcribed_evaluation_is_confirmed_before_finalising() {
    let story = |source| {
        Story::distance()
            .evaluated("2027-01-10", 1, source, "2027-01-20", Safe::Yes, Answer::Devices(vec![six()]))
            .summary_sent("2027-02-10", 1, six())
    };
    for reason in [None, Some("a reason is no way past it")] {
        let blocked = may_finalise(&story(Source::Transcribed).end(), &[six()], reason).unwrap_err();
        assert_eq!((blocked.gate, blocked.first), (Gate::Finalise, Act::ConfirmTranscription));
    }
    assert!(finalise(&story(Source::Confirmed), &[six()], None).is_ok());
    // A change of device rests on the same unconfirmed report.
    let changed = story(Source::Transcribed).changed("2027-02-12", 1, Choice::ChangeDevice, vec![six()]).summary_sent(
        "2027-03-01",
        2,
        six(),
    );
    assert_eq!(finalise(&changed, &[six()], None), Err(Gate::Finalise));
}
