//! From a step that comes first to the address where it is taken, and from a
//! closed gate to the page that says so.

use super::error::Error;
use crate::care::gates::Blocked;
use crate::care::ids::StudentId;
use crate::care::journey::step::{Act, Screen};

/// Where a step about a student is taken.
pub fn address(student: StudentId, act: Act) -> String {
    let below = match act.screen() {
        Screen::Intake => "/intake",
        Screen::Evaluations => "/evaluations",
        Screen::Training => "/training",
        Screen::Devices => "/devices",
        Screen::People => "/people",
        Screen::Summaries => "/summaries",
        Screen::Review => "/review",
        Screen::Prescription => "/prescription",
        Screen::Safety => "/safety",
        Screen::Overview => "",
    };
    format!("/students/{student}{below}")
}

/// The page of a closed gate, with the way to the step that comes first.
pub fn blocked(student: StudentId, blocked: Blocked) -> Error {
    let first = address(student, blocked.first);
    Error::Blocked(Box::new(blocked), first)
}
