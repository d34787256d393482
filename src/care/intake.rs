//! What is known before the clinic: who asked, what people see, glasses, aids.
//!
//! An intake is written in steps that each save on their own, so that it can be
//! left and resumed. Does not hold identity, tasks, seats, people or consents:
//! each is a record of its own that a step only leads to.

use std::collections::BTreeSet;

use jiff::civil::Date;
use jiff::{Timestamp, ToSpan};

use super::codes::codes;
use super::typed::Typed;
use crate::vision::units::Metres;

codes! {
    /// A step of the intake.
    pub enum Step {
        Student = "student" : "student",
        Eyes = "eyes" : "eyes and glasses as known",
        Tasks = "tasks" : "what the student must see",
        School = "school" : "school and seats",
        People = "people" : "people",
        Consent = "consent" : "consent",
    }

    /// Who asked for help with a student.
    pub enum ReferralSource {
        ClassroomTeacher = "classroom_teacher" : "classroom teacher",
        Parent = "parent" : "parent or guardian",
        SchoolNurse = "school_nurse" : "school nurse",
        EyeDoctor = "eye_doctor" : "eye doctor",
        VisionTeacher = "vision_teacher" : "vision teacher",
        Screening = "screening" : "vision screening",
        Student = "self" : "the student",
    }

    /// What people see that makes them ask.
    pub enum Concern {
        MovesClose = "moves_close" : "moves close",
        Squints = "squints" : "squints",
        LosesPlace = "loses_place" : "loses the place when reading",
        MissesBoard = "misses_board" : "misses what is on the board",
        Bumps = "bumps" : "bumps into things",
        AvoidsStairs = "avoids_stairs" : "avoids stairs",
        CoversEye = "covers_eye" : "covers an eye",
        Tires = "tires" : "tires soon",
        HeadTurn = "head_turn" : "turns or tilts the head",
        LightHurts = "light_hurts" : "light hurts",
        Copies = "copies_from_neighbour" : "copies from a neighbour",
        Other = "other" : "something else",
    }

    /// Glasses, and whether they are worn.
    pub enum Glasses {
        None = "none" : "has none",
        HasWears = "has_wears" : "has glasses and wears them",
        HasDoesNotWear = "has_does_not_wear" : "has glasses and does not wear them",
        Lost = "lost" : "lost or broken",
    }

    /// What helps already.
    pub enum OtherAid {
        LargePrint = "large_print" : "large print",
        ScreenMagnification = "screen_magnification" : "screen magnification",
        VideoMagnifier = "video_magnifier" : "video magnifier",
        TabletCamera = "tablet_camera" : "tablet camera",
        FilterLenses = "filter_lenses" : "filter lenses",
        Cap = "cap" : "cap or visor",
        SlantBoard = "slant_board" : "slant board",
        Cane = "cane" : "cane",
    }

    /// Things that change what is safe.
    pub enum MedicalAlert {
        Seizures = "seizures" : "seizures",
        Shunt = "shunt" : "shunt",
        OneEye = "one_eye_only" : "only one eye sees",
        Surgery = "recent_eye_surgery" : "eye surgery less than 90 days ago",
        HighMyopia = "high_myopia" : "high myopia",
        Glaucoma = "glaucoma" : "glaucoma",
        Medicines = "medicines" : "medicines that matter",
    }

    /// Whether the student reads words of this kind when they are close enough,
    /// so that reading skill is not scored as vision.
    pub enum ReadsUpClose {
        Yes = "yes" : "yes",
        Some = "some" : "some",
        No = "no" : "no",
        NotKnown = "not_known" : "not known",
    }

    /// How the head is held to see best.
    pub enum HeadTurn {
        None = "none" : "straight",
        Left = "left" : "turned to the left",
        Right = "right" : "turned to the right",
        ChinUp = "chin_up" : "chin up",
        ChinDown = "chin_down" : "chin down",
        Tilt = "tilt" : "tilted",
    }

    /// The plan the school works under.
    pub enum PlanType {
        Iep = "iep" : "individualized education program (IEP)",
        FiveOhFour = "section_504" : "504 plan",
        None = "none" : "no plan",
        ReferralOnly = "referral_only" : "referral only",
    }

    /// What service minutes are counted by.
    pub enum Period {
        Week = "week" : "a week",
        Month = "month" : "a month",
    }
}

/// Months after which an outside eye report is worth renewing (common practice).
const EYE_REPORT_MONTHS: i32 = 12;

/// Eyes and glasses as known.
#[derive(Clone, Default, PartialEq)]
pub struct Eyes {
    /// Who asked.
    pub referral_source: Option<ReferralSource>,
    /// When they asked.
    pub referral_on: Option<Date>,
    /// Why, in their words.
    pub referral_reason: String,
    /// What people see.
    pub concerns: Vec<Concern>,
    /// The date of the newest outside eye report on file.
    pub eye_report_on: Option<Date>,
    /// By whom it is and where it lies.
    pub eye_report_note: String,
    /// Glasses.
    pub glasses: Option<Glasses>,
    /// What for, and since when.
    pub glasses_note: String,
    /// What helps already.
    pub other_aids: Vec<OtherAid>,
    /// What changes what is safe.
    pub medical_alerts: Vec<MedicalAlert>,
    /// More about it.
    pub medical_note: String,
    /// Hearing, movement, thinking, behaviour, hand use.
    pub other_needs: String,
    /// Eye to page, as the child chooses it.
    pub near_distance: Option<Typed<Metres>>,
    /// The smallest print read with ease, in words or with its unit.
    pub smallest_print: String,
    /// Reads words of this kind up close.
    pub reads_up_close: Option<ReadsUpClose>,
    /// How the head is held.
    pub head_turn: Option<HeadTurn>,
    /// By how much, in degrees.
    pub head_turn_degrees: Option<i64>,
    /// Minutes until the student tires.
    pub tires_after: Option<i64>,
    /// Steps, kerbs, crowds, dusk.
    pub mobility_note: String,
    /// The student's own words.
    pub student_words: String,
}

impl Eyes {
    /// Whether the outside eye report is more than 12 months old.
    #[must_use]
    pub fn report_is_old(&self, today: Date) -> bool {
        let oldest = today.checked_sub(EYE_REPORT_MONTHS.months()).unwrap_or(today);
        self.eye_report_on.is_some_and(|on| on < oldest)
    }
}

/// The plan the school works under.
#[derive(Clone, Default, PartialEq)]
pub struct Plan {
    /// Which.
    pub plan_type: Option<PlanType>,
    /// Minutes of service.
    pub service_minutes: Option<i64>,
    /// In which time.
    pub period: Option<Period>,
}

/// The intake of a student.
#[derive(Clone)]
pub struct Intake {
    /// Eyes and glasses.
    pub eyes: Eyes,
    /// The plan.
    pub plan: Plan,
    /// The steps that were finished.
    pub done: BTreeSet<Step>,
    /// When it was released to the family and, with consent, the clinic.
    pub released_at: Option<Timestamp>,
    /// When it was last changed.
    pub changed_at: Timestamp,
    /// By whom.
    pub changed_by: String,
    /// For edits by two people.
    pub version: i64,
}

/// A change to a released intake: a label, what stood there, what stands now.
pub type Change = (&'static str, String, String);

fn words<T: Copy>(list: &[T], word: impl Fn(T) -> &'static str) -> String {
    list.iter().map(|one| word(*one)).collect::<Vec<_>>().join(", ")
}

impl Eyes {
    /// Every field as people read it, in the order of the form.
    #[must_use]
    pub fn told(&self) -> Vec<(&'static str, String)> {
        let date = |date: Option<Date>| date.map_or(String::new(), |date| date.strftime("%-d %B %Y").to_string());
        let number = |number: Option<i64>, unit: &str| number.map_or(String::new(), |n| format!("{n} {unit}"));
        vec![
            ("Who asked", self.referral_source.map_or("", ReferralSource::words).to_owned()),
            ("Asked on", date(self.referral_on)),
            ("Why", self.referral_reason.clone()),
            ("What people see", words(&self.concerns, Concern::words)),
            ("Newest eye report", date(self.eye_report_on)),
            ("About the eye report", self.eye_report_note.clone()),
            ("Glasses", self.glasses.map_or("", Glasses::words).to_owned()),
            ("About the glasses", self.glasses_note.clone()),
            ("What helps already", words(&self.other_aids, OtherAid::words)),
            ("Medical alerts", words(&self.medical_alerts, MedicalAlert::words)),
            ("About the medical alerts", self.medical_note.clone()),
            ("Other needs", self.other_needs.clone()),
            ("Eye to page", self.near_distance.as_ref().map_or(String::new(), |near| near.typed.clone())),
            ("Smallest print read with ease", self.smallest_print.clone()),
            ("Reads words of this kind up close", self.reads_up_close.map_or("", ReadsUpClose::words).to_owned()),
            ("Head", self.head_turn.map_or("", HeadTurn::words).to_owned()),
            ("Head turn", number(self.head_turn_degrees, "degrees")),
            ("Tires after", number(self.tires_after, "minutes")),
            ("Getting about", self.mobility_note.clone()),
            ("In the student's words", self.student_words.clone()),
        ]
    }
}

impl Plan {
    /// Every field as people read it.
    #[must_use]
    pub fn told(&self) -> Vec<(&'static str, String)> {
        let minutes = self.service_minutes.map_or(String::new(), |minutes| {
            let period = self.period.unwrap_or(Period::Week);
            format!("{minutes} minutes {period}")
        });
        vec![("Plan", self.plan_type.map_or("", PlanType::words).to_owned()), ("Vision service", minutes)]
    }
}

/// The fields that differ: label, before, after.
#[must_use]
pub fn changes(before: &[(&'static str, String)], after: &[(&'static str, String)]) -> Vec<Change> {
    before
        .iter()
        .zip(after)
        .filter(|((_, old), (_, new))| old != new)
        .map(|((label, old), (_, new))| (*label, old.clone(), new.clone()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn an_eye_report_is_old_after_twelve_months() {
        let today = date(2026, 11, 25);
        let of = |on| Eyes { eye_report_on: Some(on), ..Eyes::default() }.report_is_old(today);
        assert!(!of(date(2025, 11, 25)));
        assert!(of(date(2025, 11, 24)));
        assert!(!Eyes::default().report_is_old(today));
    }

    #[test]
    fn only_what_differs_is_a_change() {
        let before = Eyes { tires_after: Some(20), ..Eyes::default() };
        let after = Eyes { tires_after: Some(30), ..Eyes::default() };
        assert_eq!(
            changes(&before.told(), &after.told()),
            [("Tires after", "20 minutes".to_owned(), "30 minutes".to_owned())]
        );
    }
}
