//! What the lines of a thread can be told apart by.
//!
//! Closed lists for its filters: their codes stand in addresses, so no word
//! about a student ever does. Does not know who may read a line.

use super::codes::codes;
use super::observation;

codes! {
    /// What kind of thing a line tells of.
    pub enum Group {
        Notes = "notes" : "notes",
        Questions = "questions" : "questions and answers",
        StudentWords = "student_words" : "the student\u{2019}s words",
        Observations = "observations" : "observations",
        Training = "training" : "training",
        Evaluations = "evaluations" : "evaluations",
        Summaries = "summaries" : "summaries",
        Decisions = "decisions" : "decisions and prescriptions",
        Devices = "devices" : "devices",
        Card = "card" : "classroom card and home",
        Tasks = "tasks" : "what to see",
        Consent = "consent" : "consents",
        Safety = "safety" : "safety",
        Record = "record" : "record and team",
    }

    /// Where in the student's life, in the order in which settings stand everywhere.
    pub enum Setting {
        Classroom = "classroom" : "classroom",
        Home = "home" : "home",
        Community = "community" : "community",
        Training = "training" : "training",
        Clinic = "clinic" : "clinic",
    }
}

impl From<observation::Setting> for Setting {
    fn from(setting: observation::Setting) -> Self {
        match setting {
            observation::Setting::Classroom => Self::Classroom,
            observation::Setting::Home => Self::Home,
            observation::Setting::Community => Self::Community,
            observation::Setting::Training => Self::Training,
        }
    }
}
