//! Reading and filling the form of eyes and glasses as known.

use jiff::civil::{Date, date};

use crate::care::intake::{Concern, Eyes, Glasses, HeadTurn, MedicalAlert, OtherAid, ReadsUpClose, ReferralSource};
use crate::web::check::{Check, LONG_TEXT, NAME, SHORT_TEXT};
use crate::web::form::{Entry, Faults};
use crate::web::words;

/// The closed lists of the form.
pub(super) struct EyesLists {
    pub(super) sources: Vec<(&'static str, String)>,
    pub(super) concerns: Vec<(&'static str, String)>,
    pub(super) glasses: Vec<(&'static str, String)>,
    pub(super) aids: Vec<(&'static str, String)>,
    pub(super) alerts: Vec<(&'static str, String)>,
    pub(super) reads: Vec<(&'static str, String)>,
    pub(super) heads: Vec<(&'static str, String)>,
}

impl EyesLists {
    pub(super) fn new() -> Self {
        Self {
            sources: words::options!(ReferralSource),
            concerns: words::options!(Concern),
            glasses: words::options!(Glasses),
            aids: words::options!(OtherAid),
            alerts: words::options!(MedicalAlert),
            reads: words::options!(ReadsUpClose),
            heads: words::options!(HeadTurn),
        }
    }
}

/// The earliest date that a report or a referral may carry: before it, the
/// oldest student here was not born.
const EARLIEST: Date = date(1990, 1, 1);

/// Reads the form.
pub(super) fn checked(entry: &Entry, today: Date) -> Result<Eyes, Faults> {
    let mut check = Check::new(entry);
    let referral_source = check.opt_code("referral_source", "Who asked");
    let referral_on = check.opt_date("referral_on", "Asked on", EARLIEST..=today);
    let referral_reason = check.opt_text("referral_reason", "Why", LONG_TEXT);
    let concerns = check.codes("concerns", "What people see");
    let eye_report_on = check.opt_date("eye_report_on", "Date of the eye report", EARLIEST..=today);
    let eye_report_note = check.opt_text("eye_report_note", "About the eye report", SHORT_TEXT);
    if eye_report_on.is_none() && check.typed("eye_report_on").is_empty() && !eye_report_note.is_empty() {
        check.fault("eye_report_on", "Write the date of this report, for example 2026-09-14.");
    }
    let glasses = check.opt_code("glasses", "Glasses");
    let glasses_note = check.opt_text("glasses_note", "About the glasses", SHORT_TEXT);
    let other_aids = check.codes("other_aids", "What helps already");
    let medical_alerts = check.codes("medical_alerts", "Medical alerts");
    let medical_note = check.opt_text("medical_note", "About the medical alerts", LONG_TEXT);
    let other_needs = check.opt_text("other_needs", "Other needs", LONG_TEXT);
    let near_distance = check.opt_length("near_distance", "Eye to page", 0.01..=0.8);
    let smallest_print = check.opt_text("smallest_print", "Smallest print", NAME);
    let reads_up_close = check.opt_code("reads_up_close", "Reads words up close");
    let head_turn: Option<HeadTurn> = check.opt_code("head_turn", "How the head is held");
    let head_turn_degrees = check.opt_whole("head_turn_degrees", "Degrees of the head turn", 0..=60);
    let tires_after = check.opt_whole("tires_after", "Minutes until tired", 0..=240);
    let mobility_note = check.opt_text("mobility_note", "Getting about", LONG_TEXT);
    let student_words = check.opt_text("student_words", "The student's own words", LONG_TEXT);
    check.build(|| {
        Some(Eyes {
            referral_source,
            referral_on,
            referral_reason,
            concerns,
            eye_report_on,
            eye_report_note,
            glasses,
            glasses_note,
            other_aids,
            medical_alerts,
            medical_note,
            other_needs,
            near_distance,
            smallest_print,
            reads_up_close,
            head_turn,
            head_turn_degrees,
            tires_after,
            mobility_note,
            student_words,
        })
    })
}

/// The form filled with what is known.
pub(super) fn entry_of(eyes: &Eyes) -> Entry {
    let day = |on: Option<Date>| on.map_or(String::new(), |on| on.to_string());
    let number = |number: Option<i64>| number.map_or(String::new(), |number| number.to_string());
    let mut entry = Entry::default()
        .with("referral_source", eyes.referral_source.map_or("", ReferralSource::code))
        .with("referral_on", day(eyes.referral_on))
        .with("referral_reason", eyes.referral_reason.clone())
        .with("eye_report_on", day(eyes.eye_report_on))
        .with("eye_report_note", eyes.eye_report_note.clone())
        .with("glasses", eyes.glasses.map_or("", Glasses::code))
        .with("glasses_note", eyes.glasses_note.clone())
        .with("medical_note", eyes.medical_note.clone())
        .with("other_needs", eyes.other_needs.clone())
        .with("near_distance", eyes.near_distance.as_ref().map_or(String::new(), |near| near.typed.clone()))
        .with("smallest_print", eyes.smallest_print.clone())
        .with("reads_up_close", eyes.reads_up_close.map_or("", ReadsUpClose::code))
        .with("head_turn", eyes.head_turn.map_or("", HeadTurn::code))
        .with("head_turn_degrees", number(eyes.head_turn_degrees))
        .with("tires_after", number(eyes.tires_after))
        .with("mobility_note", eyes.mobility_note.clone())
        .with("student_words", eyes.student_words.clone());
    for concern in &eyes.concerns {
        entry.add("concerns", concern.code());
    }
    for aid in &eyes.other_aids {
        entry.add("other_aids", aid.code());
    }
    for alert in &eyes.medical_alerts {
        entry.add("medical_alerts", alert.code());
    }
    entry
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_filled_form_reads_back_as_the_same_eyes() {
        let today = date(2026, 11, 25);
        let mut entry = Entry::default()
            .with("referral_source", "parent")
            .with("eye_report_on", "2024-02-29")
            .with("near_distance", "9 cm")
            .with("head_turn", "left")
            .with("head_turn_degrees", "15")
            .with("student_words", "I can't see the board \u{1f622}");
        entry.add("concerns", "moves_close");
        entry.add("concerns", "tires");
        let read = checked(&entry, today).unwrap_or_else(|faults| panic!("{faults:?}"));
        assert_eq!(read.concerns, [Concern::MovesClose, Concern::Tires]);
        assert!(read.report_is_old(today));
        assert!(checked(&entry_of(&read), today).is_ok_and(|again| again == read));
    }

    #[test]
    fn a_date_in_1890_or_to_come_is_refused_beside_its_field() {
        let today = date(2026, 11, 25);
        for typed in ["1890-05-01", "2027-01-01", "2026-02-30", "yesterday"] {
            let faults = checked(&Entry::default().with("referral_on", typed), today).err();
            assert!(faults.is_some_and(|faults| faults.of("referral_on").is_some()), "{typed}");
        }
    }
}
