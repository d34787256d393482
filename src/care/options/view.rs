//! What is seen through a device from one place, and what limits it?
//!
//! Each kind of device has its own field: a telescope's is an angle, a lens in
//! the hand or on a stand is a window seen from the eye, and a lens worn at the
//! eye, a bar or a screen has none that these formulas hold for. Such a field is
//! not computed, and the reason is a [`Limit`].
//!
//! Does not know what a view costs; read `rank.rs` for that.

use super::glasses::{self, TubeAt};
use super::scene::{Held, Known, Looker, Scene};
use super::{Change, Question};
use crate::care::codes::codes;
use crate::care::device::DeviceSpec;
use crate::care::sight::Used;
use crate::care::task::Goal;
use crate::care::track::{DeviceKind, Track, WithGlasses};
use crate::vision::magnifier::{hand_field, window_field};
use crate::vision::readable::Basis;
use crate::vision::reserve::smallest_letter;
use crate::vision::telescope::coverage::views_from_the_side;
use crate::vision::telescope::near::Reach;
use crate::vision::telescope::{Steadiness, exit_pupil, field_width, steadiness};
use crate::vision::units::{Dioptres, Fraction, Magnification, Metres, Millimetres, count};

/// How much two views overlap when a line is followed. Common practice.
pub const OVERLAP: Fraction = Fraction::literal(0.2);
/// From the eye to a lens held before a page. Common practice.
pub const EYE_TO_LENS: Metres = Metres::literal(0.25);

codes! {
    /// What limits a device, or is not known of it.
    pub enum Limit {
        AtBest = "at_best" : "at best: nobody has measured what is seen through it, and 0.1 to 0.2 logMAR are often lost by hand, light and focus",
        FocusNotStated = "focus_not_stated" : "its nearest focus is not stated: try it at this distance first",
        FieldNotStated = "field_not_stated" : "its field is not stated, so what is seen at once cannot be said",
        LensNotStated = "lens_not_stated" : "the size of its lens is not stated, so how much print is seen at once cannot be said",
        WornAtTheEye = "worn_at_the_eye" : "its lens is worn at the eye, so its rim does not bound the print; how much is clear at once is not computed: try it",
        FieldOfABar = "field_of_a_bar" : "a bar makes print taller along its whole length; how much is seen at once is not computed",
        FieldOfAScreen = "field_of_a_screen" : "what is seen at once depends on its screen, whose size is not stated",
        MustFocusThere = "must_focus_there" : "whichever device of this power is chosen, it has to focus as near as this",
        LensDecides = "lens_decides" : "how much print is seen at once follows from the lens that is chosen",
        TakeCapOff = "take_cap_off" : "for the board its reading cap comes off",
        CapSetsDistance = "cap_sets_distance" : "with its reading cap it is clear at one distance from the page only",
        TubeTravel = "tube_travel" : "used without glasses, its tube must focus out the eye's own error: whether it has the travel follows from lenses that are not stated, so try it first",
        KeepGlasses = "keep_glasses" : "a tube does not correct the cylinder of this eye: above 1.5 D keep the glasses on",
        OverGlasses = "over_glasses" : "held over glasses the eye stands farther behind it, so less is seen at once than its stated field says; how much less follows from lenses that are not stated",
        PowerAtThatEye = "power_at_that_eye" : "its equivalent power holds at the distance of the eye for which it was stated",
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
    /// Its place in [`Question::devices`]; none for a power that nobody has here.
    pub device: Option<usize>,
    /// The acuity that counts with it.
    pub used: Used,
    /// From the eye to the middle of what is looked at.
    pub distance: Metres,
    /// How much is seen at once.
    pub seen: Seen,
    /// The exit pupil.
    pub exit_pupil: Option<Millimetres>,
    /// For a power that nobody has here: the objective whose exit pupil is as
    /// wide as the eye's own pupil.
    pub objective_wanted: Option<Millimetres>,
    /// How steadily its power can be held.
    pub steadiness: Option<Steadiness>,
    /// For something held to a page: it works like looking from so near.
    pub like_from: Option<Metres>,
    /// From its lens, or its cap, to the page, where that follows from its power.
    pub lens_to_page: Option<Metres>,
    /// The smallest print with which the goal is reached through it.
    pub smallest_print: Option<Metres>,
    /// What limits it.
    pub limits: Vec<Limit>,
}

/// How much is seen at once.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Seen {
    /// Whether this is what the device shows, or the most that any of its power does.
    pub stated: Stated,
    /// How wide a part is seen at once.
    pub field: Option<Metres>,
    /// How many letters of this size that is, each as wide as tall.
    pub letters: Option<u32>,
    /// The share of the board's width seen at once.
    pub share: Option<Fraction>,
    /// The looks it takes to follow one line across the board.
    pub looks: Option<u32>,
}

/// Where a field comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Stated {
    /// The device's own.
    #[default]
    OfTheDevice,
    /// The most of its power: beyond it a label contradicts itself.
    AtMost,
}

/// Power times true field above this is a wrong label, in degrees. Common
/// practice; the bound of [`crate::vision::telescope::Label::check`].
pub(super) const WIDEST_APPARENT: f64 = 75.0;

impl Seen {
    /// What is seen at once from there; without any copying of words, because
    /// every seat of a search asks for it.
    pub(super) fn of(held: &Held, scene: &Scene) -> Self {
        let spec = &held.device.spec;
        let mut seen = Self::default();
        if let Looker::Page { like_from, .. } = held.looker {
            seen.field = field_on_a_page(spec, like_from);
        } else {
            let mut field = spec.true_field;
            if held.is_a_power() {
                seen.stated = Stated::AtMost;
                field = match &held.change {
                    Change::Power(power) => power.widest_field(),
                    _ => None,
                };
            }
            seen.field = field.and_then(|field| field_width(field, scene.sight()).ok());
            let across = field
                .zip(scene.width)
                .and_then(|(field, width)| views_from_the_side(width, scene.from, field, OVERLAP).ok());
            seen.looks = across.map(|across| across.views_across);
            seen.share = across.zip(field).and_then(|(across, field)| across.share_of_width(field).ok());
        }
        seen.letters = seen.field.and_then(|field| count((field.get() / scene.height.get()).floor()));
        seen
    }
}

impl View {
    pub(super) fn of(question: &Question<'_>, known: Known, held: &Held, scene: &Scene) -> Self {
        let spec = &held.device.spec;
        let mut view = Self {
            device: match held.change {
                Change::Device(index) => Some(index),
                _ => None,
            },
            used: held.used.clone(),
            distance: scene.sight(),
            seen: Seen::of(held, scene),
            exit_pupil: None,
            objective_wanted: None,
            steadiness: None,
            like_from: None,
            lens_to_page: None,
            smallest_print: None,
            limits: Vec::new(),
        };
        if let Looker::Page { like_from, .. } = held.looker {
            view.like_from = Some(like_from);
            view.lens_to_page = lens_to_page(spec, like_from);
            let alone = Magnification::literal(1.0);
            view.smallest_print = smallest_letter(held.used.acuity.acuity, like_from, known.needed.acuity, alone).ok();
        } else {
            view.exit_pupil = spec.objective.zip(spec.power).and_then(|(lens, power)| exit_pupil(lens, power).ok());
            view.steadiness = spec.power.and_then(|power| steadiness(power).ok());
            view.objective_wanted = question
                .sight
                .pupil()
                .zip(spec.power)
                .filter(|_| held.is_a_power())
                .and_then(|(eye, power)| Millimetres::new(eye.get() * power.get()).ok());
        }
        view.limits = limits(question, held, &view);
        view
    }
}

/// How wide a strip of print is seen at once, by the kind of device.
pub(in crate::care) fn field_on_a_page(spec: &DeviceSpec, like_from: Metres) -> Option<Metres> {
    let power = Dioptres::new(1.0 / like_from.get()).ok()?;
    let lens = spec.lens_diameter.map(Millimetres::in_metres);
    match spec.kind {
        DeviceKind::HandMagnifier => hand_field(lens?, power, EYE_TO_LENS).ok(),
        DeviceKind::StandMagnifier | DeviceKind::DomeMagnifier => window_field(lens?, power, EYE_TO_LENS).ok(),
        DeviceKind::HandheldMonocular | DeviceKind::HandheldBinocular | DeviceKind::SpectacleTelescope => {
            field_width(spec.true_field?, spec.reading_cap?.focal_length().ok()?).ok()
        }
        DeviceKind::BarMagnifier
        | DeviceKind::SpectacleMagnifier
        | DeviceKind::HighAdd
        | DeviceKind::FilterLens
        | DeviceKind::ElectronicHandheld
        | DeviceKind::Other => None,
    }
}

/// How far from the page its lens is held, where its power says it.
///
/// A stand sets it itself, and a screen needs none.
fn lens_to_page(spec: &DeviceSpec, like_from: Metres) -> Option<Metres> {
    match spec.kind {
        DeviceKind::HandMagnifier | DeviceKind::SpectacleMagnifier | DeviceKind::HighAdd => Some(like_from),
        kind if kind.is_telescope() => spec.reading_cap?.focal_length().ok(),
        _ => None,
    }
}

/// Why the field of this kind is not known, where it is not.
pub(in crate::care) const fn no_field(kind: DeviceKind) -> Limit {
    match kind {
        DeviceKind::BarMagnifier => Limit::FieldOfABar,
        DeviceKind::SpectacleMagnifier | DeviceKind::HighAdd => Limit::WornAtTheEye,
        DeviceKind::ElectronicHandheld => Limit::FieldOfAScreen,
        DeviceKind::HandMagnifier | DeviceKind::StandMagnifier | DeviceKind::DomeMagnifier => Limit::LensNotStated,
        _ => Limit::FieldNotStated,
    }
}

fn limits(question: &Question<'_>, held: &Held, view: &View) -> Vec<Limit> {
    let (device, spec) = (&held.device, &held.device.spec);
    let mut limits = Vec::new();
    if view.used.acuity.basis == Basis::AtBest {
        limits.push(Limit::AtBest);
    }
    if held.is_a_power() {
        limits.push(match device.track {
            Track::Distance => Limit::MustFocusThere,
            Track::Near => Limit::LensDecides,
        });
    } else if view.seen.field.is_none() {
        limits.push(no_field(spec.kind));
    }
    if device.track == Track::Near {
        if spec.kind.is_telescope() && spec.reading_cap.is_some() {
            limits.push(Limit::CapSetsDistance);
        }
        if spec.kind == DeviceKind::StandMagnifier {
            limits.push(Limit::PowerAtThatEye);
        }
        return limits;
    }
    if spec.near_focus.is_none() && !held.is_a_power() {
        limits.push(Limit::FocusNotStated);
    }
    if spec.reading_cap.is_some() {
        limits.push(Limit::TakeCapOff);
    }
    match glasses::without(question.sight, device, &view.used) {
        Some(lens) => {
            if glasses::too_much_cylinder(lens) {
                limits.push(Limit::KeepGlasses);
            }
            let measured = view.used.acuity.basis == Basis::MeasuredThroughDevice;
            let tube = TubeAt::of(device, lens).filter(|_| !measured);
            if tube.is_some_and(|tube| tube.reach(view.distance) != Reach::Reaches) {
                limits.push(Limit::TubeTravel);
            }
        }
        None if spec.with_glasses == Some(WithGlasses::Over) && view.seen.field.is_some() => {
            limits.push(Limit::OverGlasses);
        }
        None => {}
    }
    limits
}
