//! What does a way cost, and where does it stand among the others?
//!
//! The weights are our own proposal and serve to order ways, never to judge
//! one. Halving the distance to the board, or doubling the letters, is 2, and
//! each halving more costs more than the one before: o(1 + o) for o halvings, so
//! that two people who each give a little come before one who gives everything.
//! Another line of seats is 0.5, another marker or another light 1, a copy at
//! the desk 3, a device that is at hand 3, one from the pool 4, one that nobody
//! has here 5, with up to 3 more for a power that is hard to hold still; and
//! each further change costs 0.5 for having to be agreed on, too.

use std::cmp::Ordering;

use super::scene::Scene;
use super::view::{Seen, Stated, View, letters_wanted};
use super::{Change, Question, SeatTo};
use crate::care::codes::codes;
use crate::care::sight::AtHandAs;
use crate::vision::telescope::Steadiness;
use crate::vision::telescope::coverage::{scan_time, too_many_looks};
use crate::vision::units::{Metres, Seconds};

/// Letters more than so many times as tall fill a board. Our own proposal.
const MUCH_TALLER: f64 = 3.0;

codes! {
    /// Why a way is hard to live with, and so stands behind the others.
    pub enum Hard {
        NotByHand = "not_by_hand" : "a device this strong cannot be held still by hand",
        ManyLooks = "many_looks" : "following one line takes more than 12 looks, or more than a minute at the student's own pace",
        FewLetters = "few_letters" : "too few letters are seen at once to do this with ease",
        MuchTaller = "much_taller" : "letters more than three times as tall fill the board soon",
        FewAcross = "few_across" : "too few letters would fit across the board",
    }
}

/// Where a way stands, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Rank {
    /// Why it is hard to live with; empty, it may serve every day.
    pub hard: Vec<Hard>,
    /// How many of its changes the student makes.
    pub of_the_student: usize,
    /// How many changes it is.
    pub changes: usize,
    /// The weight of all changes, for the order only.
    pub cost: f64,
}

/// What a second change costs, for having to be agreed on, too.
const EACH_FURTHER_CHANGE: f64 = 0.5;

/// Whether letters so many times as tall fill a board soon.
pub(super) fn much_taller(times: f64) -> bool {
    times > MUCH_TALLER + 1e-9
}

/// What it costs to halve a distance, or to double letters, so many times.
pub(super) fn of_halvings(ratio: f64) -> f64 {
    let halvings = ratio.log2().max(0.0);
    halvings * (1.0 + halvings)
}

/// What another seat costs.
pub(super) fn cost_of_seat(now: Metres, seat: SeatTo) -> f64 {
    let across_the_room = if seat.to_the_middle { 0.5 } else { 0.0 };
    across_the_room + of_halvings(now.get() / seat.to.get())
}

impl Seen {
    /// Whether following one line takes more looks than serve; `look` is how
    /// long one takes this student, and counts where the field is the device's own.
    pub(super) fn many_looks(&self, look: Option<Seconds>) -> bool {
        let look = look.filter(|_| self.stated == Stated::OfTheDevice);
        self.looks.is_some_and(|looks| {
            let time = look.and_then(|look| scan_time(looks, look, Seconds::literal(0.0)).ok());
            too_many_looks(looks, time).unwrap_or(false)
        })
    }

    /// Whether too few letters are seen at once.
    pub(super) fn few_letters(&self, wanted: u32) -> bool {
        self.letters.is_some_and(|letters| letters < wanted)
    }
}

impl Rank {
    pub(super) fn of(question: &Question<'_>, before: &Scene, changes: &[Change], view: Option<&View>) -> Self {
        let wanted = letters_wanted(question.task.what.goal);
        let mut rank = Self { hard: Vec::new(), of_the_student: 0, changes: changes.len(), cost: 0.0 };
        for change in changes {
            rank.cost += match change {
                Change::Marker(_) | Change::Light(_) | Change::Screen(_) => 1.0,
                Change::Letters(letters) => {
                    if much_taller(letters.times.get()) {
                        rank.hard.push(Hard::MuchTaller);
                    }
                    if letters.across.is_some_and(|across| across < wanted) {
                        rank.hard.push(Hard::FewAcross);
                    }
                    of_halvings(letters.times.get())
                }
                Change::Seat(seat) => cost_of_seat(before.from.to_the_board, *seat),
                Change::Copy(_) => 3.0,
                Change::Device(_) | Change::Power(_) => {
                    let had = match change {
                        Change::Device(index) => question.devices.get(*index).map(|device| device.source),
                        _ => None,
                    };
                    let to_be_had = match had {
                        Some(AtHandAs::Own | AtHandAs::Loan) => 3.0,
                        Some(AtHandAs::Pool) => 4.0,
                        None => 5.0,
                    };
                    to_be_had + view.map_or(0.0, |view| rank.of_view(view, wanted, question.look))
                }
            };
            let by_the_student =
                !matches!(change, Change::Marker(_) | Change::Letters(_) | Change::Light(_) | Change::Screen(_));
            rank.of_the_student += usize::from(by_the_student);
        }
        if changes.len() > 1 {
            rank.cost += EACH_FURTHER_CHANGE;
        }
        rank
    }

    /// What a view adds to the cost; notes what is hard about it.
    fn of_view(&mut self, view: &View, wanted: u32, look: Option<Seconds>) -> f64 {
        if view.steadiness == Some(Steadiness::NotHandHeld) {
            self.hard.push(Hard::NotByHand);
        }
        if view.seen.many_looks(look) {
            self.hard.push(Hard::ManyLooks);
        }
        if view.seen.few_letters(wanted) {
            self.hard.push(Hard::FewLetters);
        }
        match view.steadiness {
            None | Some(Steadiness::FreeHand) => 0.0,
            Some(Steadiness::FromAboutSeven) => 0.5,
            Some(Steadiness::ElbowsSupported) => 1.0,
            Some(Steadiness::UpperLimit) => 1.5,
            Some(Steadiness::OnlySupported) => 2.0,
            Some(Steadiness::NotHandHeld) => 3.0,
        }
    }

    /// The order of ways, best first.
    #[must_use]
    pub fn compare(&self, other: &Self) -> Ordering {
        self.hard
            .is_empty()
            .cmp(&other.hard.is_empty())
            .reverse()
            .then(self.of_the_student.cmp(&other.of_the_student))
            .then(self.changes.cmp(&other.changes))
            .then(self.cost.total_cmp(&other.cost))
    }

    /// Why it stands where it does, in one sentence.
    #[must_use]
    pub fn reason(&self) -> String {
        let student = match (self.of_the_student, self.changes) {
            (0, 1) => "one change, and nothing is asked of the student",
            (0, _) => "two changes, and nothing is asked of the student",
            (1, 1) => "one change, which the student makes",
            (1, _) => "two changes, one of them for the student",
            _ => "two changes, both for the student",
        };
        if self.hard.is_empty() {
            return format!("Stands here because it is {student}.");
        }
        let hard: Vec<&str> = self.hard.iter().map(|hard| hard.words()).collect();
        format!("Stands behind the others because {}. It is {student}.", hard.join(", and "))
    }
}
