//! Who moves next, and what stands beside the stage.

use farpoint::care::flag::{PAUSED, Pause};
use farpoint::care::ids::FlagId;
use farpoint::care::journey::fact::{Answer, Choice, Safe};
use farpoint::care::journey::overlay::{Change, Event, Overlay, evaluation_due};
use farpoint::care::journey::step::{Act, Around, Purpose, Whose, next_step, to_decide};
use farpoint::care::track::DeviceKind;

use super::story::{Story, at, day, id, magnifier, summary, telescope};

fn around() -> Around {
    Around {
        overlay: Overlay::default(),
        purpose: Purpose::Named,
        waits_for_consent: None,
        readiness_signed: Some(day("2027-02-02")),
    }
}

fn act(story: &Story, around: &Around) -> Option<Act> {
    next_step(&story.end(), around).act
}

#[test]
fn each_stage_waits_for_its_next_move() {
    let six = telescope(6.0, 16.0);
    let asked = Story::distance().requested("2027-01-05", 1);
    let sent = Story::in_training().summary_sent("2027-02-10", 1, six.clone());
    let prescribed = Story::in_training().prescribed("2027-02-11", 1, vec![six.clone()]);
    let table = [
        (Story::distance(), Some(Act::RequestEvaluation)),
        (asked, Some(Act::SignEvaluation)),
        (Story::distance().recommended("2027-01-20", 1, six.clone()), Some(Act::OpenLoan)),
        (Story::in_training(), Some(Act::Train)),
        (sent.clone(), Some(Act::Decide)),
        (sent.decided("2027-02-11", 1, Choice::Finalise), Some(Act::SignPrescription)),
        (prescribed.clone(), Some(Act::RecordReceipt)),
        (prescribed.received("2027-03-01", 1, 1, telescope(8.0, 20.0)), Some(Act::SettleMismatch)),
        (Story::with_own_device(), Some(Act::TrainOwn)),
        (Story::with_own_device().repair_started("2027-04-01", 1), Some(Act::EndRepair)),
        (Story::with_own_device().returned("2027-03-10", 1).repair_started("2027-04-01", 1), Some(Act::OpenLoan)),
        (Story::distance().answered("2027-01-20", 1, Safe::Yes, Answer::KeepOwnDevice), Some(Act::RecordOwnDevice)),
        (Story::distance().answered("2027-01-20", 1, Safe::Yes, Answer::NoDevice), None),
    ];
    for (story, expected) in table {
        assert_eq!(act(&story, &around()), expected, "in {}", story.stage());
    }
}

#[test]
fn with_one_of_two_own_devices_in_repair_training_goes_on_with_the_other() {
    let dome = || magnifier(DeviceKind::DomeMagnifier, 8.0);
    let stand = || magnifier(DeviceKind::StandMagnifier, 12.0);
    let story = Story::near()
        .prescribed("2027-02-01", 1, vec![dome(), stand()])
        .received("2027-02-10", 1, 1, dome())
        .received("2027-02-10", 2, 1, stand())
        .repair_started("2027-03-01", 1);
    assert_eq!(act(&story, &around()), Some(Act::TrainOwn));
    let both = story.repair_started("2027-03-02", 2);
    assert_eq!(act(&both, &around()), Some(Act::OpenLoan));
}

#[test]
fn readiness_and_purpose_come_before_what_rests_on_them() {
    let unsigned = Around { readiness_signed: None, ..around() };
    assert_eq!(act(&Story::in_training(), &unsigned), Some(Act::SignReadiness));
    assert_eq!(act(&Story::with_own_device(), &unsigned), Some(Act::SignReadiness));
    let aimless = Around { purpose: Purpose::Missing, ..around() };
    assert_eq!(act(&Story::distance(), &aimless), Some(Act::NameATask));
}

#[test]
fn a_request_waits_for_consent_and_says_since_when() {
    let waiting = Around { waits_for_consent: Some(day("2027-01-06")), ..around() };
    let step = next_step(&Story::distance().requested("2027-01-05", 1).end(), &waiting);
    assert_eq!((step.act, step.since), (Some(Act::SignConsent), Some(day("2027-01-06"))));
    assert_eq!(step.whose(), Some(Whose::Parent));
}

#[test]
fn a_step_reads_as_an_order_to_one_and_as_waiting_to_the_others() {
    let story = Story::in_training().summary_sent("2027-02-10", 1, telescope(6.0, 16.0));
    let step = next_step(&story.end(), &around());
    assert_eq!(step.since, Some(day("2027-02-10")));
    assert_eq!(step.words_for(Whose::Clinician), "Decide on the training summary");
    assert_eq!(step.words_for(Whose::Parent), "Waiting for the clinician to decide on the training summary");
    assert_eq!(to_decide(&story.end()), Some(summary(1)));
    let finalised = story.decided("2027-02-11", 1, Choice::Finalise);
    assert_eq!(to_decide(&finalised.end()), None);
}

#[test]
fn pause_hold_and_close_come_before_the_stage() {
    let beside = |overlay| {
        let around = Around { overlay, ..around() };
        next_step(&Story::in_training().end(), &around)
    };
    let since = Some(day("2027-03-08"));
    let paused = beside(Overlay { paused: since, ..Overlay::default() });
    assert_eq!((paused.act, paused.since), (Some(Act::ClearFlag), since));
    assert_eq!(paused.note, Some(PAUSED));
    let held = beside(Overlay { on_hold: since, ..Overlay::default() });
    assert_eq!(held.act, Some(Act::Resume));
    let closed = beside(Overlay { closed: since, ..Overlay::default() });
    assert_eq!((closed.act, closed.since), (None, since));
    // An evaluation that is due blocks nothing (G11).
    let due = beside(Overlay { evaluation_due: since, ..Overlay::default() });
    assert_eq!(due.act, Some(Act::Train));
}

#[test]
fn hold_and_close_are_what_was_recorded_last_by_date_then_entry() {
    let event = |on: &str, entered, change| Event { on: day(on), entered: at(entered), change };
    let events = [
        event("2027-03-01", 9, Change::Held),
        event("2027-03-05", 2, Change::Resumed),
        event("2027-03-05", 3, Change::Held),
        event("2027-04-01", 1, Change::Closed),
    ];
    let on = |text: &str| {
        let mut turned = events;
        turned.reverse();
        let overlay = Overlay::on(day(text), &events, &[], None);
        assert_eq!(overlay, Overlay::on(day(text), &turned, &[], None));
        overlay
    };
    assert_eq!(on("2027-02-28"), Overlay::default());
    assert_eq!(on("2027-03-04").on_hold, Some(day("2027-03-01")));
    assert_eq!(on("2027-03-05").on_hold, Some(day("2027-03-05")));
    assert_eq!(on("2027-04-01").closed, Some(day("2027-04-01")));
}

#[test]
fn a_pause_shows_from_its_first_open_flag() {
    let flag = |n, raised: &str, cleared: Option<&str>| Pause {
        flag: id(FlagId::of, n),
        raised_on: day(raised),
        raised_at: at(0),
        cleared_on: cleared.map(day),
    };
    let flags = [flag(1, "2027-03-08", Some("2027-03-10")), flag(2, "2027-03-09", None)];
    let paused = |on: &str| Overlay::on(day(on), &[], &flags, None).paused;
    assert_eq!(paused("2027-03-07"), None);
    assert_eq!(paused("2027-03-09"), Some(day("2027-03-08")));
    assert_eq!(paused("2027-03-10"), Some(day("2027-03-09")));
}

#[test]
fn the_next_evaluation_is_due_an_interval_after_the_last() {
    let due = evaluation_due(day("2026-02-16"), 12);
    assert_eq!(due, day("2027-02-16"));
    assert_eq!(evaluation_due(day("2024-02-29"), 12), day("2025-02-28"));
    let shown = |on: &str| Overlay::on(day(on), &[], &[], Some(due)).evaluation_due;
    assert_eq!(shown("2027-02-15"), None);
    assert_eq!(shown("2027-02-16"), Some(due));
    // No date overflows.
    assert_eq!(evaluation_due(day("9999-12-01"), u16::MAX), day("9999-12-31"));
}
