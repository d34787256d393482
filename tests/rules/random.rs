//! Laws of the journey on random lists of facts.

use farpoint::care::device::DeviceSpec;
use farpoint::care::gates::{Named, Purpose, device_of_the_track, may_extend, may_finalise, safe_to_train};
use farpoint::care::journey::fact::{Answer, Choice, Fact, Receipt, Safe, Source, Verdict, What};
use farpoint::care::journey::step::{Around, Purpose as Aim, Whose, next_step};
use farpoint::care::journey::{Basis, Fit, Stage, journey};
use farpoint::care::track::{DeviceKind, Track};
use jiff::ToSpan;
use jiff::civil::Date;
use proptest::prelude::*;
use proptest::sample::select;

use super::story::{
    account, at, day, decision, device, evaluation, loan, magnifier, own, prescription, request, summary, telescope,
};

fn spec() -> impl Strategy<Value = DeviceSpec> {
    let mut silent = telescope(6.0, 16.0);
    silent.power = None;
    select(vec![
        telescope(4.0, 12.0),
        telescope(6.0, 16.0),
        telescope(7.0, 16.0),
        silent,
        magnifier(DeviceKind::StandMagnifier, 12.0),
        magnifier(DeviceKind::DomeMagnifier, 8.0),
        DeviceSpec::of(DeviceKind::FilterLens),
    ])
}

fn specs() -> impl Strategy<Value = Vec<DeviceSpec>> {
    prop::collection::vec(spec(), 0..3)
}

fn answer() -> impl Strategy<Value = Answer> {
    prop_oneof![
        3 => specs().prop_map(Answer::Devices),
        1 => Just(Answer::KeepOwnDevice),
        1 => Just(Answer::NoDevice),
        1 => Just(Answer::NotLookedAt),
    ]
}

fn what() -> impl Strategy<Value = What> {
    let n = || 1u128..4;
    let date = || (0i32..60).prop_map(in_days);
    prop_oneof![
        Just(What::RecordOpened),
        n().prop_map(|n| What::EvaluationRequested { request: request(n) }),
        n().prop_map(|n| What::RequestWithdrawn { request: request(n) }),
        (n(), select(Source::ALL), select(Safe::ALL), date(), answer()).prop_map(
            |(n, source, safe, signed_on, answer)| What::EvaluationAnswered {
                evaluation: evaluation(n),
                source,
                signed_on,
                safe,
                answer,
            }
        ),
        (n(), n(), spec()).prop_map(|(n, d, spec)| What::LoanOpened { loan: loan(n), device: device(d), spec }),
        n().prop_map(|n| What::LoanReturned { loan: loan(n) }),
        (n(), n()).prop_map(|(d, e)| What::DeviceAllowed {
            device: device(d),
            under: Basis::Evaluation(evaluation(e)),
            by: account(9),
        }),
        (n(), n())
            .prop_map(|(d, e)| What::AllowanceEnded { device: device(d), under: Basis::Evaluation(evaluation(e)) }),
        (n(), specs()).prop_map(|(n, covers)| What::SummarySent { summary: summary(n), covers }),
        (n(), select(Choice::ALL), specs()).prop_map(|(n, choice, devices)| What::Decided {
            decision: decision(n),
            choice,
            devices,
        }),
        (n(), specs()).prop_map(|(n, devices)| What::PrescriptionSigned { prescription: prescription(n), devices }),
        n().prop_map(|n| What::PrescriptionVoided { prescription: prescription(n) }),
        (n(), prop::option::of(n()), spec(), select(Receipt::ALL)).prop_map(|(n, on, spec, receipt)| {
            What::OwnDeviceReceived { own_device: own(n), prescription: on.map(prescription), spec, receipt }
        }),
        (n(), select(Verdict::ALL)).prop_map(|(n, verdict)| What::MismatchSettled { own_device: own(n), verdict }),
        n().prop_map(|n| What::RepairStarted { own_device: own(n) }),
        n().prop_map(|n| What::RepairEnded { own_device: own(n) }),
    ]
}

fn in_days(days: i32) -> Date {
    day("2027-01-01") + days.days()
}

/// Facts of two months, each entered at an instant of its own.
fn facts() -> impl Strategy<Value = Vec<Fact>> {
    prop::collection::vec((0i32..60, any::<u16>(), prop::bool::weighted(0.1), what()), 0..25).prop_map(|rows| {
        rows.into_iter()
            .enumerate()
            .map(|(place, (days, entered, entered_in_error, what))| Fact {
                on: in_days(days),
                entered: at(i64::from(entered) * 100 + i64::try_from(place).expect("few facts")),
                entered_in_error,
                what,
            })
            .collect()
    })
}

fn track() -> impl Strategy<Value = Track> {
    select(Track::ALL)
}

fn around() -> Around {
    Around { overlay: Default::default(), purpose: Aim::Named, waits_for_consent: None, readiness_signed: None }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn any_facts_make_a_journey_that_agrees_with_itself(
        facts in facts(), track in track(), days in 0i32..60
    ) {
        let now = journey(track, &facts, in_days(days));
        prop_assert!(now.since.is_none_or(|since| since <= now.day));
        prop_assert!(now.loans.iter().all(|loan| loan.opened_on <= now.day));
        prop_assert_eq!(now.stage == Stage::SummaryWithClinician, now.with_clinician.is_some());
        if now.stage == Stage::TrainingOnLoan {
            prop_assert!(now.open_loans().any(|loan| loan.fit != Fit::Not));
        }
        if now.stage == Stage::NoDeviceAdvised {
            prop_assert!(now.recommendation.is_none());
            prop_assert_eq!(now.own_in_force().count(), 0);
        }
        if now.recommendation.is_none() {
            prop_assert!(now.loans.iter().all(|loan| loan.fit == Fit::Not));
        }
        prop_assert!(!next_step(&now, &around()).words_for(Whose::Parent).is_empty());
    }

    #[test]
    fn leave_holds_only_under_its_recommendation_and_until_it_is_taken_back(
        facts in facts(), track in track(), days in 0i32..60
    ) {
        let now = journey(track, &facts, in_days(days));
        let basis = now.recommendation.as_ref().map(|now| now.basis);
        prop_assert!(now.allowed.iter().all(|given| Some(given.under) == basis));
        for given in &now.allowed {
            let mut words: Vec<&Fact> = facts
                .iter()
                .filter(|fact| !fact.entered_in_error && fact.on <= now.day)
                .filter(|fact| match &fact.what {
                    What::DeviceAllowed { device, under, .. } | What::AllowanceEnded { device, under } => {
                        *device == given.device && *under == given.under
                    }
                    _ => false,
                })
                .collect();
            words.sort_by_key(|fact| (fact.on, fact.entered));
            let last = words.last().map(|fact| &fact.what);
            prop_assert!(matches!(last, Some(What::DeviceAllowed { .. })), "{:?}", last);
        }
        for out in now.open_loans() {
            let called_back = out.fit == Fit::Not || out.replaced.is_some();
            prop_assert_eq!(may_extend(&now, out.id).is_err(), called_back);
            prop_assert_eq!(out.due.is_some(), called_back);
        }
    }

    #[test]
    fn the_order_of_the_list_never_matters(
        (facts, shuffled) in facts().prop_flat_map(|facts| {
            (Just(facts.clone()), Just(facts).prop_shuffle())
        }),
        track in track()
    ) {
        let last = in_days(60);
        prop_assert_eq!(journey(track, &facts, last), journey(track, &shuffled, last));
    }

    #[test]
    fn facts_in_error_change_nothing(facts in facts(), track in track()) {
        let last = in_days(60);
        let mut good = facts.clone();
        good.retain(|fact| !fact.entered_in_error);
        prop_assert_eq!(journey(track, &facts, last), journey(track, &good, last));
    }

    #[test]
    fn nothing_later_reaches_back(facts in facts(), track in track(), days in 0i32..60) {
        let then = in_days(days);
        let mut earlier = facts.clone();
        earlier.retain(|fact| fact.on <= then);
        prop_assert_eq!(journey(track, &facts, then), journey(track, &earlier, then));
    }

    #[test]
    fn training_opens_only_with_a_safe_evaluation_signed_by_that_day(
        facts in facts(), track in track(), days in 0i32..60
    ) {
        let now = journey(track, &facts, in_days(days));
        if let Ok(token) = safe_to_train(&now) {
            let signed = facts.iter().any(|fact| matches!(
                &fact.what,
                What::EvaluationAnswered { evaluation, signed_on, safe, source, .. }
                    if *evaluation == token.evaluation()
                        && safe.opens()
                        && *source != Source::Background
                        && *signed_on <= now.day
                        && fact.on <= now.day
                        && !fact.entered_in_error
            ));
            prop_assert!(signed);
        }
    }

    #[test]
    fn no_session_names_a_loan_after_an_own_device_of_its_kind_came(
        facts in facts(), track in track(), days in 0i32..60
    ) {
        let now = journey(track, &facts, in_days(days));
        for out in &now.loans {
            let named = Named::Loan(out.id);
            if device_of_the_track(&now, named, Purpose::Session).is_ok() {
                let replaced = now.own_in_force().any(|own| {
                    own.in_repair.is_none()
                        && own.spec.kind == out.spec.kind
                        && own.in_force().is_some_and(|since| since < now.day)
                        && own.repaired_on.is_none_or(|back| back < now.day)
                });
                prop_assert!(!replaced);
                prop_assert!(out.covers(now.day) && out.fit != Fit::Not);
            }
        }
    }

    #[test]
    fn finalising_without_a_reason_names_summaries_that_were_sent(
        facts in facts(), track in track(), spec in spec()
    ) {
        let now = journey(track, &facts, in_days(60));
        if let Ok(token) = may_finalise(&now, std::slice::from_ref(&spec), None) {
            let farpoint::care::gates::Evidence::Summaries(ids) = token.evidence() else {
                return Err(TestCaseError::fail("a device needs a summary"));
            };
            prop_assert!(ids.iter().all(|id| now.summaries.iter().any(|sent| sent.id == *id)));
        }
    }
}
