//! From a step that comes first to the address where it is taken, and from a
//! closed gate to the page that says so.

use super::error::Error;
use super::visit::Visit;
use crate::access::action::Read;
use crate::access::resource::Loans;
use crate::care::gates::Blocked;
use crate::care::ids::StudentId;
use crate::care::journey::step::{Act, Screen};

/// Where a step about a student is taken.
pub fn address(student: StudentId, act: Act) -> String {
    let below = match act.screen() {
        // The screen knows which report it is.
        Screen::Evaluations if act == Act::ConfirmTranscription => "/evaluations/paper/unconfirmed",
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

/// The same for the one whose move it is: straight to the form where there is one.
pub fn own_address(student: StudentId, act: Act) -> String {
    match act {
        // G6: the clinician settles what differs beside the prescription.
        Act::SettleMismatch => format!("/students/{student}/devices/settle"),
        act => address(student, act),
    }
}

/// The page of a closed gate, with the way to the step that comes first.
pub fn blocked(student: StudentId, blocked: Blocked) -> Error {
    let first = address(student, blocked.first);
    Error::Blocked(Box::new(blocked), first)
}

/// The same for a reader who may not open every screen: a classroom teacher, to
/// whom loans are no page, is led to the student instead of nowhere.
pub fn blocked_for(visit: &Visit, blocked: Blocked) -> Error {
    let nowhere = blocked.first.screen() == Screen::Devices && !visit.may::<Loans, Read>();
    let first = if nowhere { visit.at("") } else { address(visit.student(), blocked.first) };
    Error::Blocked(Box::new(blocked), first)
}
