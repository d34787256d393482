//! Which changes make sense for a thing like this?
//!
//! A board is written by somebody in the room; the number of a bus is not, and
//! nobody walks up to a bus to read it. Our own proposal, by the kind of task.

use crate::care::task::{TaskCode, VisualTask};

/// Whether somebody around the student decides how large and how dark it is.
#[must_use]
pub const fn can_be_written_larger(task: &VisualTask) -> bool {
    matches!(
        task.what.code,
        TaskCode::BoardWords
            | TaskCode::BoardMaths
            | TaskCode::Projector
            | TaskCode::TeacherDemo
            | TaskCode::ClassChart
            | TaskCode::ScienceDemo
            | TaskCode::HallwayDoorNumber
            | TaskCode::NameOnLocker
            | TaskCode::FridgeList
            | TaskCode::Recipe
            | TaskCode::Worksheet
            | TaskCode::Textbook
            | TaskCode::ScreenTablet
            | TaskCode::Phone
            | TaskCode::Music
    )
}

/// Whether the student may come nearer to it, or hold it nearer.
///
/// Nobody is sent nearer to traffic, and a match is watched from its seats.
#[must_use]
pub const fn can_come_nearer(task: &VisualTask) -> bool {
    !matches!(
        task.what.code,
        TaskCode::BusNumber
            | TaskCode::BusStopSign
            | TaskCode::StreetName
            | TaskCode::TrafficSignalWatch
            | TaskCode::SportsWatch
            | TaskCode::Scoreboard
    )
}

/// Whether it can be had at the desk: on a mirrored screen, through the camera
/// of a tablet, or as slides beforehand.
#[must_use]
pub const fn can_be_brought_near(task: &VisualTask) -> bool {
    matches!(
        task.what.code,
        TaskCode::BoardWords
            | TaskCode::BoardMaths
            | TaskCode::Projector
            | TaskCode::TeacherDemo
            | TaskCode::ClassChart
            | TaskCode::ScienceDemo
            | TaskCode::MapFar
            | TaskCode::AssemblyStage
    )
}
