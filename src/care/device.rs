//! What a device is, and when are two devices the same for a rule?
//!
//! [`DeviceSpec`] is a specification in clinical units; a part that is `None`
//! is `not stated` and compares with nothing. Two questions are answered here:
//! may this loan stand for that recommendation (G4), and is what arrived what
//! was prescribed (G6)?
//! Does not know what was typed (the caller keeps the text beside the value),
//! nor any optics beyond the equivalent power of a reading cap.

use super::codes::codes;
use super::track::{DeviceKind, Eye, Light, Track, WithGlasses};
use crate::vision::units::{Degrees, Dioptres, Magnification, Metres, Millimetres};

/// The weakest loan that stands for a recommendation, as a share of its power.
/// Source: the project's own rule G4.
pub const WEAKEST_LOAN: f64 = 0.8;
/// The strongest loan that stands for a recommendation, as a share of its power.
/// Source: the project's own rule G4.
pub const STRONGEST_LOAN: f64 = 1.25;
/// A difference of true field above this is worth a warning. Source: G4.
pub const FIELD_WARNING: Degrees = Degrees::literal(2.0);

/// So that 4.8 of 6.0 counts as 0.8 although binary fractions disagree.
const ROUNDING: f64 = 1e-9;

/// The specification of one device, recommended, lent or prescribed.
#[derive(Debug, Clone, PartialEq)]
pub struct DeviceSpec {
    /// The kind, always stated.
    pub kind: DeviceKind,
    /// Magnification of a telescope or of an electronic device.
    pub power: Option<Magnification>,
    /// Clear diameter of a telescope's objective lens.
    pub objective: Option<Millimetres>,
    /// The angle seen at once through a telescope.
    pub true_field: Option<Degrees>,
    /// The nearest distance a telescope focuses at.
    pub near_focus: Option<Metres>,
    /// The lens put on a telescope's front for near work; none, no cap.
    pub reading_cap: Option<Dioptres>,
    /// Equivalent power of a magnifier, with its stand if it has one.
    pub equivalent_power: Option<Dioptres>,
    /// Diameter of a magnifier's lens, the smaller side if it is not round.
    pub lens_diameter: Option<Millimetres>,
    /// How far a stand holds the lens from the page.
    pub stand_height: Option<Millimetres>,
    /// The light built in.
    pub light: Option<Light>,
    /// How it goes with the student's glasses.
    pub with_glasses: Option<WithGlasses>,
    /// The eye it is for.
    pub eye: Option<Eye>,
}

/// How strong a device is, in the measure that its kind and track compare by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Strength {
    /// A telescope at a distance, or an electronic device.
    Times(Magnification),
    /// Whatever is held to a page.
    Dioptres(Dioptres),
}

impl DeviceSpec {
    /// A specification with only its kind; every other part is not stated.
    #[must_use]
    pub const fn of(kind: DeviceKind) -> Self {
        Self {
            kind,
            power: None,
            objective: None,
            true_field: None,
            near_focus: None,
            reading_cap: None,
            equivalent_power: None,
            lens_diameter: None,
            stand_height: None,
            light: None,
            with_glasses: None,
            eye: None,
        }
    }

    /// Whether this device may be recommended on that track.
    ///
    /// A telescope reads a page only with a reading cap, so on the near track
    /// its cap, or its equivalent power with it, must be stated.
    #[must_use]
    pub fn may_stand_on(&self, track: Track) -> bool {
        let for_near = !self.kind.is_telescope() || self.reading_cap.is_some() || self.equivalent_power.is_some();
        self.kind.tracks().contains(&track) && (track == Track::Distance || for_near)
    }

    /// The strength that rules on this track compare; none if not stated.
    ///
    /// On the near track a telescope with a reading cap has the equivalent power
    /// M × F of the cap (`vision-science.md`, telescopes), unless one is stated.
    #[must_use]
    pub fn strength(&self, track: Track) -> Option<Strength> {
        let times = self.power.map(Strength::Times);
        let dioptres = self.equivalent_power.map(Strength::Dioptres);
        match track {
            Track::Distance => times,
            Track::Near if self.kind.is_telescope() => dioptres.or_else(|| {
                let power = self.power?.get() * self.reading_cap?.get();
                Dioptres::new(power).ok().map(Strength::Dioptres)
            }),
            Track::Near if self.kind.is_magnifier() => dioptres,
            // Electronic and other near devices state whichever fits them.
            Track::Near => dioptres.or(times),
        }
    }
}

/// Whether a loan may stand for a recommended device.
#[derive(Debug, Clone, PartialEq)]
pub enum Match {
    /// It may, with what is worth knowing.
    Matches(Vec<Warning>),
    /// It may not, because of these.
    Differs(Vec<Difference>),
}

impl Match {
    /// Whether the loan may stand for the recommended device.
    #[must_use]
    pub const fn holds(&self) -> bool {
        matches!(self, Self::Matches(_))
    }
}

codes! {
    /// A part of a specification that two devices disagree on.
    pub enum Difference {
        Kind = "kind" : "the kind is another",
        Power = "power" : "the power is another",
        PowerNotStated = "power_not_stated" : "the power is not stated, so it cannot be compared",
        Objective = "objective" : "the objective lens has another diameter",
        ObjectiveNotStated = "objective_not_stated" : "the diameter of the objective lens is not stated, so it cannot be compared",
        Eye = "eye" : "it is for another eye",
    }

    /// Something about a loan that the teacher should know and may accept.
    pub enum Warning {
        Field = "field" : "its field differs by more than 2 degrees from the recommended one",
        NearFocus = "near_focus" : "it does not focus as near as the task",
    }

    /// The condition of a device in the pool.
    pub enum Condition {
        New = "new" : "new",
        Good = "good" : "good",
        Worn = "worn" : "worn",
        Scratched = "scratched" : "scratched",
        Broken = "broken" : "broken",
        Lost = "lost" : "lost",
    }
}

impl Condition {
    /// Whether a device in this condition can go out on loan.
    #[must_use]
    pub const fn fit_to_lend(self) -> bool {
        !matches!(self, Self::Broken | Self::Lost)
    }
}

/// May `lent` stand for `recommended` on this track (G4)?
///
/// Same kind, power from ×0.8 to ×1.25, same eye unless one says either. The
/// power must be stated on both sides; any other part not stated is passed over.
/// `tasks` are the distances the student needs it at.
#[must_use]
pub fn matches(track: Track, recommended: &DeviceSpec, lent: &DeviceSpec, tasks: &[Metres]) -> Match {
    let mut differences = Vec::new();
    if recommended.kind != lent.kind {
        differences.push(Difference::Kind);
    } else {
        differences.extend(power_apart(
            recommended.strength(track),
            lent.strength(track),
            WEAKEST_LOAN,
            STRONGEST_LOAN,
        ));
    }
    if other_eye(recommended.eye, lent.eye) {
        differences.push(Difference::Eye);
    }
    if differences.is_empty() {
        Match::Matches(warnings(recommended, lent, tasks))
    } else {
        Match::Differs(differences)
    }
}

/// What about the device that arrived is not as prescribed (G6)? Empty, it matches.
///
/// Kind and eye; on the distance track power and objective; on the near track
/// equivalent power. Equal means equal: a tolerance is a clinician's to give, so
/// power, and a prescribed objective, must be stated of what arrived.
#[must_use]
pub fn receipt_differences(track: Track, prescribed: &DeviceSpec, received: &DeviceSpec) -> Vec<Difference> {
    let mut differences = Vec::new();
    if prescribed.kind != received.kind {
        differences.push(Difference::Kind);
    } else {
        differences.extend(power_apart(prescribed.strength(track), received.strength(track), 1.0, 1.0));
        if track == Track::Distance {
            differences.extend(objective_apart(prescribed.objective, received.objective));
        }
    }
    if other_eye(prescribed.eye, received.eye) {
        differences.push(Difference::Eye);
    }
    differences
}

/// How far two devices are apart, for choosing the nearest of several.
///
/// Of another kind is farthest: then the power was not even compared.
#[must_use]
pub fn apart(differences: &[Difference]) -> (bool, usize) {
    (differences.contains(&Difference::Kind), differences.len())
}

/// Whether two devices are of one kind and, on this track, of equal strength.
///
/// Not stated is not equal.
#[must_use]
pub fn same_strength(track: Track, one: &DeviceSpec, other: &DeviceSpec) -> bool {
    one.kind == other.kind && power_apart(one.strength(track), other.strength(track), 1.0, 1.0).is_none()
}

fn power_apart(wanted: Option<Strength>, given: Option<Strength>, low: f64, high: f64) -> Option<Difference> {
    let (wanted, given) = match (wanted, given) {
        (Some(Strength::Times(wanted)), Some(Strength::Times(given))) => (wanted.get(), given.get()),
        (Some(Strength::Dioptres(wanted)), Some(Strength::Dioptres(given))) => (wanted.get(), given.get()),
        // Also one in times and one in dioptres: no label is converted into power.
        _ => return Some(Difference::PowerNotStated),
    };
    let within = given >= wanted * low - ROUNDING && given <= wanted * high + ROUNDING;
    (!within).then_some(Difference::Power)
}

/// A diameter that was prescribed has to be read off what arrived.
fn objective_apart(prescribed: Option<Millimetres>, received: Option<Millimetres>) -> Option<Difference> {
    let prescribed = prescribed?;
    match received {
        None => Some(Difference::ObjectiveNotStated),
        Some(received) => ((prescribed.get() - received.get()).abs() > ROUNDING).then_some(Difference::Objective),
    }
}

/// `Either` goes with every eye; an eye not stated is not compared.
fn other_eye(wanted: Option<Eye>, given: Option<Eye>) -> bool {
    match (wanted, given) {
        (Some(Eye::Either) | None, _) | (_, Some(Eye::Either) | None) => false,
        (Some(wanted), Some(given)) => wanted != given,
    }
}

fn warnings(recommended: &DeviceSpec, lent: &DeviceSpec, tasks: &[Metres]) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if let (Some(wanted), Some(given)) = (recommended.true_field, lent.true_field)
        && (wanted.get() - given.get()).abs() > FIELD_WARNING.get() + ROUNDING
    {
        warnings.push(Warning::Field);
    }
    if let Some(nearest) = lent.near_focus
        && tasks.iter().any(|task| nearest.get() > task.get() + ROUNDING)
    {
        warnings.push(Warning::NearFocus);
    }
    warnings
}
