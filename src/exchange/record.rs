//! A student's record as rows: what its reader may read, and no more.
//!
//! Plain data in the units its names say. An id is the text of a uuid; a choice
//! is its code with its words; what was typed stands beside what was computed.
//! Whoever gathers leaves out what the reader may not read: nothing in here
//! asks again.

mod clinic;

use jiff::Timestamp;
use jiff::civil::Date;

use crate::care::track::Track;

pub use clinic::{Acuity, Answer, Evaluation, Named, Prescription, Refraction, Standing, Through};

/// One member of a closed list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Coded {
    /// The stored code, which never changes.
    pub code: &'static str,
    /// The English words.
    pub words: &'static str,
}

/// The code and the words of a member of a list made by `codes!`.
#[macro_export]
macro_rules! coded {
    ($member:expr) => {{
        let member = $member;
        $crate::exchange::record::Coded { code: member.code(), words: member.words() }
    }};
}

/// Everything of one student that one reader may take along.
#[derive(Clone, Default)]
pub struct Record {
    /// Whose record.
    pub student: Student,
    /// The service that keeps the record.
    pub owner: String,
    /// Everybody who is or was on the team.
    pub people: Vec<Person>,
    /// Signed evaluations.
    pub evaluations: Vec<Evaluation>,
    /// Signed prescriptions.
    pub prescriptions: Vec<Prescription>,
    /// Devices lent or owned.
    pub devices: Vec<Device>,
    /// Loans.
    pub loans: Vec<Loan>,
    /// Training sessions.
    pub sessions: Vec<Session>,
    /// What people saw.
    pub observations: Vec<Observation>,
    /// What the student must see.
    pub tasks: Vec<Task>,
    /// Reading goals set for this student.
    pub goals: Vec<Goal>,
    /// Consents.
    pub consents: Vec<Consent>,
    /// Summaries that were sent.
    pub summaries: Vec<Summary>,
    /// Decisions.
    pub decisions: Vec<Decision>,
    /// Posts of the thread.
    pub posts: Vec<Post>,
    /// What was amended with a reason.
    pub amendments: Vec<Amended>,
    /// The disclosure record.
    pub disclosures: Vec<Disclosure>,
}

/// Who the student is.
#[derive(Clone, Default)]
pub struct Student {
    /// Id.
    pub id: String,
    /// The school's own number; none for a reader who may not know it.
    pub number: Option<String>,
    /// The name, or the initials for a reader who may know no more.
    pub name: String,
    /// Whether [`Student::name`] is the initials.
    pub initials_only: bool,
    /// Date of birth, for whoever may know it.
    pub birth_date: Option<Date>,
    /// Languages at home, as written.
    pub languages: String,
}

/// Somebody of the team.
#[derive(Clone)]
pub struct Person {
    /// The account.
    pub id: String,
    /// Name.
    pub name: String,
    /// Role.
    pub role: Coded,
    /// How a parent is related, as written.
    pub relation: String,
    /// Clinic or service.
    pub organisation: String,
    /// First and last day on the team.
    pub from: Date,
    /// The day it ended; none, still on the team.
    pub to: Option<Date>,
}

/// A device that was lent to the student or is the student's own.
#[derive(Clone)]
pub struct Device {
    /// Id.
    pub id: String,
    /// Whether it is the student's own.
    pub own: bool,
    /// Its tag or serial number.
    pub tag: String,
    /// What it is.
    pub named: Named,
    /// Day an own device was received.
    pub received_on: Option<Date>,
    /// Condition on that day.
    pub condition: Option<Coded>,
    /// The prescription it came on.
    pub prescription_id: Option<String>,
    /// Whether it was entered in error.
    pub in_error: bool,
}

/// A loan.
#[derive(Clone)]
pub struct Loan {
    /// Id.
    pub id: String,
    /// The device.
    pub device_id: String,
    /// Its tag.
    pub tag: String,
    /// The track.
    pub track: Track,
    /// The eye it is lent for.
    pub eye: Coded,
    /// Day it went out.
    pub lent_on: Date,
    /// Day it is due.
    pub due_on: Date,
    /// Day it came back.
    pub returned_on: Option<Date>,
    /// Condition as it went out.
    pub condition_out: Coded,
    /// Condition as it came back.
    pub condition_in: Option<Coded>,
    /// What it is for.
    pub purpose: Coded,
    /// Who keeps it.
    pub held_by: Coded,
    /// Who agreed.
    pub agreed_by: Coded,
    /// Whether it may be used at home.
    pub home_use: bool,
    /// Whether it was entered in error.
    pub in_error: bool,
    /// How often it was saved.
    pub version: i64,
}

/// A training session.
#[derive(Clone)]
pub struct Session {
    /// Id.
    pub id: String,
    /// The track.
    pub track: Track,
    /// The day.
    pub on: Date,
    /// Minutes.
    pub minutes: i64,
    /// Where.
    pub place: Coded,
    /// The light.
    pub light: Option<Coded>,
    /// A probe without teaching.
    pub baseline: bool,
    /// The device used: one of [`Record::devices`], or none.
    pub device_id: Option<String>,
    /// How the student felt.
    pub comfort: Option<Coded>,
    /// What the student felt.
    pub symptoms: Vec<Coded>,
    /// Why the student refused; none, the student did not.
    pub refused: Option<String>,
    /// Anything else.
    pub note: String,
    /// The exercises.
    pub exercises: Vec<Exercise>,
    /// Who entered it.
    pub author_id: String,
    /// When.
    pub entered_at: Timestamp,
    /// Whether it was entered in error.
    pub in_error: bool,
}

/// An exercise of a session.
#[derive(Clone)]
pub struct Exercise {
    /// Id.
    pub id: String,
    /// The skill.
    pub skill: Coded,
    /// What was done.
    pub item: String,
    /// The task it practised: one of [`Record::tasks`], or none.
    pub task_id: Option<String>,
    /// Distance in metres.
    pub distance_m: Option<f64>,
    /// Height of the small letters in millimetres.
    pub x_height_mm: Option<f64>,
    /// Items tried.
    pub tries: Option<u32>,
    /// Items right.
    pub right: Option<u32>,
    /// Median time of an item in seconds.
    pub median_s: Option<f64>,
    /// The help it took.
    pub prompt: Coded,
    /// How often help was given.
    pub prompt_count: Option<u32>,
}

/// What somebody saw the student do.
#[derive(Clone)]
pub struct Observation {
    /// Id.
    pub id: String,
    /// Where in the student's life.
    pub setting: Coded,
    /// The day.
    pub on: Date,
    /// The role of whoever entered it.
    pub role: Option<Coded>,
    /// Who entered it.
    pub author_id: String,
    /// When.
    pub entered_at: Timestamp,
    /// Whether it was entered in error.
    pub in_error: bool,
    /// What it says; none while it is its writer's alone.
    pub detail: Option<Detail>,
}

/// What an observation says.
#[derive(Clone, Default)]
pub struct Detail {
    /// The task: one of [`Record::tasks`], or none.
    pub task_id: Option<String>,
    /// What was looked at.
    pub what: String,
    /// Who told of it; empty, the writer saw it.
    pub informant: String,
    /// Where.
    pub place: Option<Coded>,
    /// Distance in metres.
    pub distance_m: Option<f64>,
    /// About how far.
    pub band: Option<Coded>,
    /// Height of the small letters in millimetres.
    pub x_height_mm: Option<f64>,
    /// How strongly it stood out.
    pub contrast: Option<Coded>,
    /// Whether the device was out.
    pub device_out: Option<Coded>,
    /// The device named: one of [`Record::devices`], or none.
    pub device_id: Option<String>,
    /// Why the device stayed away.
    pub non_use: Option<Coded>,
    /// How much was right, in a word.
    pub graded: Option<Coded>,
    /// How many were right.
    pub correct: Option<i64>,
    /// Of how many.
    pub tried: Option<i64>,
    /// How much help.
    pub help: Option<Coded>,
    /// How the eyes felt.
    pub comfort: Option<Coded>,
    /// How the student felt.
    pub mood: Option<Coded>,
    /// How long before tired.
    pub tired: Option<Coded>,
    /// Whether a parent shared it with the classroom; none, this reader is not told.
    pub shared_with_class: Option<bool>,
    /// Anything else.
    pub note: String,
    /// How often it was saved.
    pub version: i64,
}

/// Something the student must see.
#[derive(Clone)]
pub struct Task {
    /// Id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Which kind of thing.
    pub kind: Coded,
    /// The track.
    pub track: Track,
    /// What reading it is for.
    pub goal: Coded,
    /// Where.
    pub place: String,
    /// Distance in metres.
    pub distance_m: Option<f64>,
    /// Distance as typed.
    pub distance_typed: String,
    /// Height of the small letters in millimetres.
    pub x_height_mm: Option<f64>,
    /// That height as typed.
    pub x_height_typed: String,
}

/// A reading goal set for this student.
#[derive(Clone)]
pub struct Goal {
    /// What reading is for.
    pub goal: Coded,
    /// The acuity reserve.
    pub reserve: f64,
    /// As typed.
    pub typed: String,
    /// Where the figure is from.
    pub source: String,
    /// Who set it, by name.
    pub by: String,
    /// The day it was set.
    pub on: Date,
}

/// A consent.
#[derive(Clone)]
pub struct Consent {
    /// Id.
    pub id: String,
    /// Which way.
    pub direction: Coded,
    /// Which kinds of record.
    pub categories: Vec<Coded>,
    /// What for, as written.
    pub purpose: String,
    /// Who gives records away.
    pub from: String,
    /// Who receives them.
    pub to: String,
    /// The first day.
    pub start: Date,
    /// The last day; none, until withdrawn.
    pub end: Option<Date>,
    /// The day it was withdrawn.
    pub withdrawn: Option<Date>,
    /// Who signed, by name and relation.
    pub signer: String,
    /// How it was given.
    pub given: Coded,
    /// The language it was given in.
    pub language: String,
    /// When it was signed.
    pub signed_at: Timestamp,
}

/// A training summary as it was sent.
#[derive(Clone)]
pub struct Summary {
    /// Id.
    pub id: String,
    /// The track.
    pub track: Track,
    /// The first day counted.
    pub from: Date,
    /// The last day counted.
    pub to: Date,
    /// What it says, part by part: a title and its words.
    pub parts: Vec<(String, String)>,
    /// Who sent it.
    pub author_id: String,
    /// When.
    pub sent_at: Timestamp,
    /// Whether it was entered in error.
    pub in_error: bool,
}

/// A clinician's decision.
#[derive(Clone)]
pub struct Decision {
    /// Id.
    pub id: String,
    /// The track.
    pub track: Track,
    /// What was decided.
    pub choice: Coded,
    /// Why.
    pub reason: String,
    /// The day.
    pub on: Date,
    /// The day to look again.
    pub next_on: Option<Date>,
    /// Who signed, by name.
    pub by: String,
    /// The summary it was made on.
    pub summary_id: Option<String>,
    /// Whether it was entered in error.
    pub in_error: bool,
}

/// A post of the thread.
#[derive(Clone)]
pub struct Post {
    /// Id.
    pub id: String,
    /// Note, question or answer.
    pub kind: Coded,
    /// The role it is addressed to.
    pub to: Option<Coded>,
    /// The question it answers.
    pub answers: Option<String>,
    /// The words.
    pub body: String,
    /// When.
    pub at: Timestamp,
    /// Who wrote it.
    pub author_id: String,
    /// Whether it was entered in error.
    pub in_error: bool,
}

/// A field that was amended with a reason.
#[derive(Clone)]
pub struct Amended {
    /// The kind of record.
    pub kind: Coded,
    /// The record.
    pub record_id: String,
    /// The field, by the label of its form.
    pub field: String,
    /// What stood there; empty, nothing did.
    pub before: String,
    /// What stands there now; empty, nothing does.
    pub after: String,
    /// Why.
    pub reason: String,
    /// When.
    pub at: Timestamp,
    /// By whom, by name.
    pub by: String,
}

/// A row of the disclosure record.
#[derive(Clone)]
pub struct Disclosure {
    /// When.
    pub at: Timestamp,
    /// Who received it.
    pub recipient: String,
    /// For whom that person works.
    pub organisation: String,
    /// To which side it went.
    pub to_side: Coded,
    /// Which kind of record.
    pub what: String,
    /// On which ground.
    pub basis: String,
    /// By which way.
    pub channel: String,
    /// Whether it was asked for and refused.
    pub refused: bool,
}

impl Record {
    /// The device of an id.
    #[must_use]
    pub fn device(&self, id: &str) -> Option<&Device> {
        self.devices.iter().find(|device| device.id == id)
    }

    /// The task of an id.
    #[must_use]
    pub fn task(&self, id: &str) -> Option<&Task> {
        self.tasks.iter().find(|task| task.id == id)
    }

    /// The person of an account.
    #[must_use]
    pub fn person(&self, id: &str) -> Option<&Person> {
        self.people.iter().find(|person| person.id == id)
    }
}
