//! What does a way cost, and where does it stand among the others?
//!
//! The weights are our own proposal and serve to order ways, never to judge
//! one: halving the distance to the board or doubling the letters is 2, another
//! marker 1, a copy at the desk 3, a device that is at hand 3 and one from the
//! pool 4, with up to 3 more for a power that is hard to hold still.

use std::cmp::Ordering;

use super::scene::{Looker, Scene};
use super::{Change, Question};
use crate::care::codes::codes;
use crate::care::sight::{AtHand, AtHandAs, InClass, Used};
use crate::care::task::Goal;
use crate::care::track::{Eye, Track, WithGlasses};
use crate::vision::magnifier::hand_field;
use crate::vision::readable::Basis;
use crate::vision::telescope::coverage::views_from_the_side;
use crate::vision::telescope::{Steadiness, exit_pupil, field_width, steadiness};
use crate::vision::units::{Dioptres, Fraction, Metres, Millimetres, count};

/// More views than this to follow one line: another way serves better.
/// Common practice.
const MANY_LOOKS: u32 = 12;
/// Letters more than so many times as tall fill a board. Our own proposal.
const MUCH_TALLER: f64 = 3.0;
/// How much two views overlap when a line is followed. Common practice.
pub const OVERLAP: Fraction = Fraction::literal(0.2);
/// Cylinder above this is not focused out by a tube. Common practice.
const TOO_MUCH_CYLINDER: f64 = 1.5;
/// From the eye to a hand magnifier. Common practice.
const EYE_TO_LENS: Metres = Metres::literal(0.25);
/// A sphere that a tube would have to focus out. Our own proposal.
const SPHERE_TO_FOCUS: f64 = 0.5;

codes! {
    /// Why a way is hard to live with, and so stands behind the others.
    pub enum Hard {
        NotByHand = "not_by_hand" : "a device this strong cannot be held still by hand",
        ManyLooks = "many_looks" : "following one line takes more than 12 looks",
        FewLetters = "few_letters" : "too few letters are seen at once to do this with ease",
        MuchTaller = "much_taller" : "letters more than three times as tall fill the board soon",
        FewAcross = "few_across" : "too few letters would fit across the board",
    }

    /// What limits a device, or is not known of it.
    pub enum Limit {
        AtBest = "at_best" : "at best: nobody has measured what is seen through it, and 0.1 to 0.2 logMAR are often lost by hand, light and focus",
        FocusNotStated = "focus_not_stated" : "its nearest focus is not stated: try it at this distance first",
        FieldNotStated = "field_not_stated" : "its field is not stated, so what is seen at once cannot be said",
        TakeCapOff = "take_cap_off" : "for the board its reading cap comes off",
        CapSetsDistance = "cap_sets_distance" : "with its reading cap it is clear at one distance from the page only",
        TubeTravel = "tube_travel" : "used without glasses, its tube must focus out the eye's own error: whether it has the travel is not stated, so try it first",
        KeepGlasses = "keep_glasses" : "a tube does not correct the cylinder of this eye: above 1.5 D keep the glasses on",
    }
}

/// How many letters at once a goal wants: starting values for school use.
/// Common practice.
#[must_use]
pub const fn letters_wanted(goal: Goal) -> u32 {
    match goal {
        Goal::NameIt => 1,
        Goal::Phrase => 5,
        Goal::Copy => 8,
    }
}

/// What is seen through a device from one place.
#[derive(Clone, PartialEq)]
pub struct View {
    /// Its place in [`Question::devices`].
    pub device: usize,
    /// The acuity that counts with it.
    pub used: Used,
    /// From the eye to the middle of what is looked at.
    pub distance: Metres,
    /// How wide a part is seen at once.
    pub field: Option<Metres>,
    /// How many letters of this size that is, each as wide as tall.
    pub letters: Option<u32>,
    /// The share of the board's width seen at once.
    pub share: Option<Fraction>,
    /// The looks it takes to follow one line across the board.
    pub looks: Option<u32>,
    /// The exit pupil.
    pub exit_pupil: Option<Millimetres>,
    /// How steadily its power can be held.
    pub steadiness: Option<Steadiness>,
    /// For something held to a page: it works like looking from so near.
    pub like_from: Option<Metres>,
    /// What limits it.
    pub limits: Vec<Limit>,
}

impl View {
    pub(super) fn of(question: &Question<'_>, index: usize, looker: &Looker, used: &Used, scene: &Scene) -> Self {
        let mut view = Self {
            device: index,
            used: used.clone(),
            distance: scene.sight(),
            field: None,
            letters: None,
            share: None,
            looks: None,
            exit_pupil: None,
            steadiness: None,
            like_from: None,
            limits: Vec::new(),
        };
        let Some(device) = question.devices.get(index) else { return view };
        let spec = &device.spec;
        match looker {
            Looker::Page { like_from, .. } => {
                view.like_from = Some(*like_from);
                let power = Dioptres::new(1.0 / like_from.get()).ok();
                view.field = spec
                    .lens_diameter
                    .zip(power)
                    .filter(|_| spec.kind.is_magnifier())
                    .and_then(|(lens, power)| hand_field(lens.in_metres(), power, EYE_TO_LENS).ok());
            }
            Looker::Bare(_) | Looker::Telescope { .. } => {
                view.field = spec.true_field.and_then(|field| field_width(field, view.distance).ok());
                let across = spec
                    .true_field
                    .zip(scene.width)
                    .and_then(|(field, width)| views_from_the_side(width, scene.from, field, OVERLAP).ok());
                view.looks = across.map(|across| across.views_across);
                view.share = across
                    .zip(spec.true_field)
                    .and_then(|(across, field)| Fraction::new((field.get() / across.board.get()).min(1.0)).ok());
                view.exit_pupil = spec.objective.zip(spec.power).and_then(|(lens, power)| exit_pupil(lens, power).ok());
                view.steadiness = spec.power.and_then(|power| steadiness(power).ok());
            }
        }
        view.letters = view.field.and_then(|field| count((field.get() / scene.height.get()).floor()));
        view.limits = limits(question, device, &view);
        view
    }
}

fn limits(question: &Question<'_>, device: &AtHand, view: &View) -> Vec<Limit> {
    let spec = &device.spec;
    let mut limits = Vec::new();
    if view.used.acuity.basis == Basis::AtBest {
        limits.push(Limit::AtBest);
    }
    if view.field.is_none() {
        limits.push(Limit::FieldNotStated);
    }
    if device.track == Track::Near {
        if spec.kind.is_telescope() && spec.reading_cap.is_some() {
            limits.push(Limit::CapSetsDistance);
        }
        return limits;
    }
    if spec.near_focus.is_none() {
        limits.push(Limit::FocusNotStated);
    }
    if spec.reading_cap.is_some() {
        limits.push(Limit::TakeCapOff);
    }
    let bare = match spec.with_glasses {
        Some(WithGlasses::Without) => true,
        Some(WithGlasses::Over) => false,
        Some(WithGlasses::Either) | None => question.sight.in_class == InClass::Without,
    };
    let eye = spec.eye.filter(|eye| matches!(eye, Eye::Right | Eye::Left)).unwrap_or(view.used.eye);
    if let Some(lens) = question.sight.lens_of(eye).filter(|_| bare) {
        if lens.cylinder.get().abs() > TOO_MUCH_CYLINDER {
            limits.push(Limit::KeepGlasses);
        }
        if lens.spherical_equivalent().is_ok_and(|mean| mean.get().abs() >= SPHERE_TO_FOCUS) {
            limits.push(Limit::TubeTravel);
        }
    }
    limits
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

impl Rank {
    pub(super) fn of(question: &Question<'_>, before: &Scene, changes: &[Change], view: Option<&View>) -> Self {
        let wanted = letters_wanted(question.task.what.goal);
        let mut rank = Self { hard: Vec::new(), of_the_student: 0, changes: changes.len(), cost: 0.0 };
        for change in changes {
            rank.cost += match change {
                Change::Marker(_) => 1.0,
                Change::Letters(letters) => {
                    if letters.times.get() > MUCH_TALLER + 1e-9 {
                        rank.hard.push(Hard::MuchTaller);
                    }
                    if letters.across.is_some_and(|across| across < wanted) {
                        rank.hard.push(Hard::FewAcross);
                    }
                    2.0 * letters.times.get().log2()
                }
                Change::Seat(seat) => {
                    rank.of_the_student += 1;
                    let across_the_room = if seat.to_the_middle { 0.5 } else { 0.0 };
                    across_the_room + 2.0 * (before.from.to_the_board.get() / seat.to.get()).log2()
                }
                Change::Copy(_) => {
                    rank.of_the_student += 1;
                    3.0
                }
                Change::Device(index) => {
                    rank.of_the_student += 1;
                    let from_the_pool =
                        question.devices.get(*index).is_some_and(|device| device.source == AtHandAs::Pool);
                    (if from_the_pool { 4.0 } else { 3.0 }) + view.map_or(0.0, |view| rank.of_view(view, wanted))
                }
            };
        }
        rank
    }

    /// What a view adds to the cost; notes what is hard about it.
    fn of_view(&mut self, view: &View, wanted: u32) -> f64 {
        if view.steadiness == Some(Steadiness::NotHandHeld) {
            self.hard.push(Hard::NotByHand);
        }
        if view.looks.is_some_and(|looks| looks > MANY_LOOKS) {
            self.hard.push(Hard::ManyLooks);
        }
        if view.letters.is_some_and(|letters| letters < wanted) {
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
