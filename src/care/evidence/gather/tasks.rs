//! What does each task ask, and where is it met?
//!
//! A task has a place on the axis where its letters and its distance are known.
//! Does not know what was seen of it.

use super::seen::{contrast, guess};
use super::{Question, Sized, WANTED_ITEMS};
use crate::care::evidence::WANTED;
use crate::care::observation::Setting;
use crate::care::sight::{board_across, looked_from};
use crate::care::task::{self, VisualTask};
use crate::care::track::Track;
use crate::vision::acuity::near::MUnits;
use crate::vision::demand::{BoardDemand, on_board};
use crate::vision::stats::everyday::task::Task;
use crate::vision::stats::everyday::{Observation, Saw, print_demand};
use crate::vision::stats::observing::Word;

/// Where a task is met, as far as its kind or its seat says.
fn met_in(task: &VisualTask) -> Option<Setting> {
    use crate::care::task::TaskCode as Kind;
    if task.what.seat.is_some() || task.what.code.is_of_school() {
        return Some(Setting::Classroom);
    }
    match task.what.code {
        Kind::BusNumber
        | Kind::BusStopSign
        | Kind::StreetName
        | Kind::TrafficSignalWatch
        | Kind::ShopAisleSign
        | Kind::ShopMenuBoard
        | Kind::PriceLabel => Some(Setting::Community),
        code if code.is_of_home() => Some(Setting::Home),
        _ => None,
    }
}

/// The tasks that have a size on the axis, and those that have none.
pub(super) fn sized(question: &Question<'_>) -> (Vec<Sized>, Vec<usize>) {
    let (mut found, mut without) = (Vec::new(), Vec::new());
    for (place, task) in question.tasks.iter().enumerate().filter(|(_, task)| task.what.track == question.track) {
        match asks(question, task) {
            Some(asks) => found.push(Sized {
                task: place,
                asks,
                contrast: contrast(task.what.marker.map(task::Marker::contrast_class)),
                setting: met_in(task),
            }),
            None => without.push(place),
        }
    }
    (found, without)
}

fn asks(question: &Question<'_>, task: &VisualTask) -> Option<Task> {
    let tall = task.what.x_height.as_ref()?.value;
    let size = match question.track {
        Track::Near => print_demand(MUnits::of_height(tall).ok()?).ok()?,
        Track::Distance => {
            let seat = question.seats.iter().find(|seat| Some(seat.id) == task.what.seat);
            let from = looked_from(task, seat).ok()?;
            match on_board(tall.in_metres(), from, board_across(task, seat)).ok()? {
                BoardDemand::Seen(letter) => letter.working_demand(),
                BoardDemand::MoveTheSeat { .. } => return None,
            }
        }
    };
    let guess = guess(Some(task.what.target), task.what.choices)?;
    let asks = Task { size, guess, items: WANTED_ITEMS, wanted: WANTED };
    // A size off the scale of the model is told as none.
    Observation::new(size, guess, 0, Saw::Word(Word::All, None)).ok().map(|_| asks)
}
