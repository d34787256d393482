//! G1 ask with purpose, G2 evaluation first, G3 readiness first.

use farpoint::care::gates::start::Report;
use farpoint::care::gates::{
    Gate, SafeToTrain, Transcript, ask_with_purpose, may_file, may_sign_readiness, ready, safe_to_train,
};
use farpoint::care::ids::{ReadinessId, VisualTaskId};
use farpoint::care::journey::Basis;
use farpoint::care::journey::fact::{Answer, Choice, Safe, Source};
use farpoint::care::journey::step::{Act, Screen};
use farpoint::care::readiness::{Item, Mark, Marks, Pass, SignedReadiness};
use farpoint::care::track::{DeviceKind, Track};

use super::story::{Story, day, decision, evaluation, id, magnifier, telescope};

#[test]
fn an_evaluation_is_requested_only_for_something_to_see() {
    let blocked = ask_with_purpose(&[]).unwrap_err();
    assert_eq!((blocked.gate, blocked.first), (Gate::AskWithPurpose, Act::NameATask));
    assert_eq!(blocked.first.screen(), Screen::Intake);
    let board = id(VisualTaskId::of, 1);
    assert_eq!(ask_with_purpose(&[board]).unwrap().tasks(), [board]);
}

#[test]
fn nothing_trains_before_an_evaluation_is_signed() {
    let story = Story::distance().opened("2027-01-04");
    let blocked = safe_to_train(&story.end()).unwrap_err();
    assert_eq!((blocked.gate, blocked.first), (Gate::EvaluationFirst, Act::RequestEvaluation));
    let asked = story.requested("2027-01-05", 1);
    assert_eq!(safe_to_train(&asked.end()).unwrap_err().first, Act::SignEvaluation);
}

#[test]
fn an_evaluation_that_is_safe_and_recommends_a_device_opens_its_track() {
    for safe in [Safe::Yes, Safe::WithLimits] {
        let story = Story::distance().answered("2027-01-20", 1, safe, Answer::Devices(vec![telescope(6.0, 16.0)]));
        let token = safe_to_train(&story.on("2027-01-20")).unwrap();
        assert_eq!(token.evaluation(), evaluation(1));
        assert_eq!(token.basis(), Basis::Evaluation(evaluation(1)));
        assert_eq!((token.safe(), token.track()), (safe, Track::Distance));
        // The day before it opens nothing.
        assert!(safe_to_train(&story.on("2027-01-19")).is_err());
    }
}

#[test]
fn an_answer_that_is_no_recommendation_keeps_the_gate_closed() {
    let six = || Answer::Devices(vec![telescope(6.0, 16.0)]);
    for (safe, answer) in [
        (Safe::No, six()),
        (Safe::NotStated, six()),
        (Safe::Yes, Answer::NoDevice),
        (Safe::Yes, Answer::NotLookedAt),
        (Safe::Yes, Answer::Devices(vec![])),
        (Safe::No, Answer::KeepOwnDevice),
    ] {
        let told = format!("{safe} {answer:?}");
        let story = Story::distance().answered("2027-01-20", 1, safe, answer);
        assert_eq!(safe_to_train(&story.end()).unwrap_err().gate, Gate::EvaluationFirst, "{told}");
    }
}

#[test]
fn an_evaluation_in_error_opens_nothing() {
    let story = Story::distance().recommended("2027-01-20", 1, telescope(6.0, 16.0)).in_error();
    assert!(safe_to_train(&story.end()).is_err());
}

#[test]
fn a_decision_to_stop_closes_the_gate_and_to_change_keeps_it_open() {
    let stopped = Story::in_training().decided("2027-02-12", 1, Choice::Stop);
    assert_eq!(safe_to_train(&stopped.end()).unwrap_err().first, Act::RequestEvaluation);
    // A session of the week before is history and stays enterable.
    assert!(safe_to_train(&stopped.on("2027-02-11")).is_ok());
    let changed = Story::in_training().changed("2027-02-12", 1, Choice::ChangeDevice, vec![telescope(4.0, 12.0)]);
    let token = safe_to_train(&changed.end()).unwrap();
    assert_eq!(token.evaluation(), evaluation(1));
    assert_eq!(token.basis(), Basis::Decision(decision(1)));
}

#[test]
fn a_change_of_device_says_nothing_about_safety() {
    let six = telescope(6.0, 16.0);
    let unsafe_first = Story::distance()
        .answered("2027-01-20", 1, Safe::No, Answer::Devices(vec![six.clone()]))
        .changed("2027-02-12", 1, Choice::ChangeDevice, vec![six.clone()]);
    let never_seen = Story::distance().changed("2027-02-12", 1, Choice::ChangeDevice, vec![six]);
    for story in [unsafe_first, never_seen] {
        assert_eq!(safe_to_train(&story.end()).unwrap_err().first, Act::SignEvaluation);
    }
}

#[test]
fn a_transcript_opens_the_gate_only_with_all_five_things() {
    let devices = Answer::Devices(vec![telescope(6.0, 16.0)]);
    let none = Answer::NoDevice;
    let empty = Answer::Devices(vec![]);
    let whole = Transcript {
        clinician: "N. Halloran-Reyes, OD",
        examined_on: Some(day("2027-01-10")),
        attached_files: 1,
        safe: Safe::Yes,
        answer: &devices,
        report: Report::LowVision,
    };
    assert_eq!(may_file(&whole).unwrap().examined_on(), day("2027-01-10"));
    assert_eq!(whole.source(), Source::Transcribed);
    for lacking in [
        Transcript { clinician: "  ", ..whole },
        Transcript { examined_on: None, ..whole },
        Transcript { attached_files: 0, ..whole },
        Transcript { safe: Safe::NotStated, ..whole },
        Transcript { answer: &empty, ..whole },
        Transcript { report: Report::Eye, ..whole },
    ] {
        let blocked = may_file(&lacking).unwrap_err();
        assert_eq!(blocked.gate, Gate::EvaluationFirst);
        assert_eq!(lacking.missing().len(), 1);
        assert!(blocked.message.contains(lacking.missing()[0]));
        assert_eq!(lacking.source(), Source::Background);
    }
    // A report that advises no device opens nothing, and still is an answer.
    let advises_none = Transcript { answer: &none, ..whole };
    assert!(may_file(&advises_none).is_err());
    assert_eq!(advises_none.source(), Source::Transcribed);
}

#[test]
fn a_filed_transcript_opens_the_gate_and_says_that_it_is_not_confirmed() {
    let filed = |source| {
        let story = Story::distance().evaluated(
            "2027-01-10",
            1,
            source,
            "2027-01-20",
            Safe::Yes,
            Answer::Devices(vec![telescope(6.0, 16.0)]),
        );
        safe_to_train(&story.end()).map(SafeToTrain::source)
    };
    assert_eq!(filed(Source::Transcribed), Ok(Source::Transcribed));
    assert_eq!(filed(Source::Confirmed), Ok(Source::Confirmed));
    assert!(filed(Source::Background).is_err());
}

fn safe(track: Track) -> SafeToTrain {
    let story = match track {
        Track::Distance => Story::distance().recommended("2027-01-20", 1, telescope(6.0, 16.0)),
        Track::Near => Story::near().recommended("2027-01-20", 1, magnifier(DeviceKind::HandMagnifier, 20.0)),
    };
    safe_to_train(&story.on("2027-02-01")).expect("safe to train")
}

fn all(track: Track, mark: Mark) -> Marks {
    Item::list(track).iter().map(|item| (*item, mark)).collect()
}

#[test]
fn the_lists_are_those_of_the_contract() {
    assert_eq!(Item::list(Track::Distance).len(), 9);
    assert_eq!(Item::list(Track::Near).len(), 6);
    for track in Track::ALL {
        assert_eq!(Item::list(*track).last(), Some(&Item::AgreesToTry));
    }
}

#[test]
fn a_full_list_may_be_signed_with_or_without_help() {
    for track in Track::ALL {
        for mark in [Mark::Yes, Mark::WithHelp] {
            let token = may_sign_readiness(safe(*track), &all(*track, mark), None).unwrap();
            assert_eq!(token.track(), *track);
            assert_eq!(token.evaluation(), evaluation(1));
            assert_eq!(token.marks().len(), Item::list(*track).len());
        }
    }
}

#[test]
fn every_missing_item_keeps_the_list_open_and_is_named() {
    for track in Track::ALL {
        for item in Item::list(*track) {
            for mark in [Some(Mark::NotYet), None] {
                let mut marks = all(*track, Mark::Yes);
                match mark {
                    Some(mark) => marks.insert(*item, mark),
                    None => marks.remove(item),
                };
                let blocked = may_sign_readiness(safe(*track), &marks, None).unwrap_err();
                assert_eq!(blocked.gate, Gate::ReadinessFirst);
                assert!(blocked.message.contains(item.words()), "{item}");
            }
        }
    }
}

#[test]
fn not_applicable_counts_only_where_a_device_gives_no_occasion() {
    for track in Track::ALL {
        for item in Item::list(*track) {
            let mut marks = all(*track, Mark::Yes);
            marks.insert(*item, Mark::NotApplicable);
            let applies = !matches!(item, Item::HoldingAndBracing | Item::RightSide);
            assert_eq!(may_sign_readiness(safe(*track), &marks, None).is_err(), applies, "{item}");
        }
    }
}

#[test]
fn one_item_may_be_passed_with_a_reason_but_never_safety_or_consent_of_the_child() {
    let fixed = [Item::SunRule, Item::StandStillRule, Item::SunAndFireRule, Item::AgreesToTry];
    for track in Track::ALL {
        for item in Item::list(*track) {
            let mut marks = all(*track, Mark::Yes);
            marks.insert(*item, Mark::NotYet);
            let pass = |reason| may_sign_readiness(safe(*track), &marks, Some(Pass { item: *item, reason }));
            match pass("uses a fixed mount") {
                Ok(token) => {
                    assert!(!fixed.contains(item), "{item}");
                    let (passed, reason) = token.passed().expect("passed");
                    assert_eq!((passed, reason), (*item, "uses a fixed mount"));
                }
                Err(blocked) => {
                    assert!(fixed.contains(item), "{item}");
                    assert!(blocked.message.contains("cannot be passed over"));
                }
            }
            assert!(pass("  ").is_err(), "a blank reason passes nothing");
        }
    }
}

#[test]
fn a_second_missing_item_is_not_passed_with_the_first() {
    let mut marks = all(Track::Distance, Mark::Yes);
    marks.insert(Item::Parts, Mark::NotYet);
    marks.insert(Item::InFocus, Mark::NotYet);
    let pass = Pass { item: Item::Parts, reason: "young" };
    let blocked = may_sign_readiness(safe(Track::Distance), &marks, Some(pass)).unwrap_err();
    assert!(blocked.message.contains(Item::InFocus.words()));
    assert!(!blocked.message.contains(Item::Parts.words()));
}

#[test]
fn training_needs_the_list_of_its_own_track_signed_by_that_day() {
    let signed = |track, on| SignedReadiness { id: id(ReadinessId::of, 1), track, signed_on: day(on) };
    let far = safe(Track::Distance);
    assert_eq!(ready(far, &[signed(Track::Distance, "2027-02-01")]).unwrap().readiness(), id(ReadinessId::of, 1));
    for lists in [vec![], vec![signed(Track::Near, "2027-01-25")], vec![signed(Track::Distance, "2027-02-02")]] {
        let blocked = ready(far, &lists).unwrap_err();
        assert_eq!((blocked.gate, blocked.first), (Gate::ReadinessFirst, Act::SignReadiness));
    }
}
