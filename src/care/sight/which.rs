//! Which acuity counts, with and without a device?
//!
//! One rule for every page: as worn in class first, then best correction, then
//! the better eye; through a device what was measured, then what its power
//! promises. A category is never passed over for an older figure.

use super::{AtHand, Evaluated, InClass, NoFigure, Sight, SightRow, Used};
use crate::care::device::same_strength;
use crate::care::evaluation::{Correction, NEAR_LIMIT_M};
use crate::care::track::{Eye, Track, WithGlasses};
use crate::vision::acuity::Measured;
use crate::vision::readable::{AcuityUsed, Basis};

impl Sight {
    /// Which acuity counts without a device, for this track?
    ///
    /// Of the newest evaluation with a row for the track: both eyes as worn in
    /// class; else both eyes with best correction; else the better eye, named
    /// by the clinician or by the smaller logMAR. Near tasks use near rows.
    ///
    /// # Errors
    /// Why there is none.
    pub fn unaided(&self, track: Track) -> Result<Used, NoFigure> {
        self.newest(|evaluated| self.unaided_in(evaluated, track))
    }

    /// Which acuity counts with this device?
    ///
    /// Measured through it at two metres or more; else, for a telescope, what
    /// the power promises of the eye that uses it, marked at best.
    ///
    /// # Errors
    /// Why there is none; always for a magnifier.
    pub fn through(&self, device: &AtHand) -> Result<Used, NoFigure> {
        self.newest(|evaluated| measured_through(evaluated, device))
            .or_else(|why| self.newest(|evaluated| self.promised(evaluated, device)).map_err(|_| why))
    }

    fn newest(&self, pick: impl Fn(&Evaluated) -> Result<Used, NoFigure>) -> Result<Used, NoFigure> {
        let mut why = NoFigure::NoEvaluation;
        for evaluated in &self.evaluations {
            match pick(evaluated) {
                Ok(used) => return Ok(used),
                // A newer evaluation that found a category is not passed over
                // for an older figure.
                Err(NoFigure::OnlyCategory) => return Err(NoFigure::OnlyCategory),
                Err(found) => why = found,
            }
        }
        Err(why)
    }

    fn unaided_in(&self, evaluated: &Evaluated, track: Track) -> Result<Used, NoFigure> {
        let rows: Vec<&SightRow> = evaluated
            .rows
            .iter()
            .filter(|row| row.worn != Correction::ThroughDevice && row.worn != Correction::Pinhole && row.is_on(track))
            .collect();
        if rows.is_empty() {
            return Err(NoFigure::NoAcuity);
        }
        let near = |basis| if track == Track::Near { Basis::NearRow } else { basis };
        let worn: &[Correction] = match self.in_class {
            InClass::Wears => &[Correction::HabitualGlasses, Correction::ContactLenses],
            InClass::Without => &[Correction::None],
            InClass::NotKnown => &[Correction::HabitualGlasses, Correction::ContactLenses, Correction::None],
        };
        let both = |wanted: &[Correction], basis| {
            let found =
                wanted.iter().find_map(|worn| rows.iter().find(|row| row.eye == Eye::Both && row.worn == *worn))?;
            Some(found.used(near(basis), evaluated))
        };
        if let Some(found) =
            both(worn, Basis::BothEyesAsWorn).or_else(|| both(&[Correction::BestCorrection], Basis::BestCorrection))
        {
            return found;
        }
        // Usual glasses are not best correction: as worn comes first here, too.
        let one = |eye: Eye| {
            worn.iter()
                .chain(&[Correction::BestCorrection])
                .find_map(|worn| rows.iter().find(|row| row.eye == eye && row.worn == *worn))
        };
        let better = match evaluated.better_eye {
            Some(eye @ (Eye::Right | Eye::Left)) => one(eye),
            _ => [one(Eye::Right), one(Eye::Left)].into_iter().flatten().min_by_key(|row| row.rank()),
        };
        better.ok_or(NoFigure::NoAcuity)?.used(near(Basis::BetterEye), evaluated)
    }

    /// The acuity of the eye that a telescope would be held to, corrected as it
    /// would be: what [`Sight::through`] takes the power from.
    ///
    /// # Errors
    /// Why there is none.
    pub fn before_a_telescope(&self, eye: Option<Eye>, glasses: Option<WithGlasses>) -> Result<Used, NoFigure> {
        self.newest(|evaluated| self.row_before_a_telescope(evaluated, eye, glasses)?.used(Basis::BetterEye, evaluated))
    }

    fn row_before_a_telescope<'a>(
        &self,
        evaluated: &'a Evaluated,
        eye: Option<Eye>,
        glasses: Option<WithGlasses>,
    ) -> Result<&'a SightRow, NoFigure> {
        let eyes: &[Eye] = match eye {
            Some(Eye::Right) => &[Eye::Right],
            Some(Eye::Left) => &[Eye::Left],
            Some(Eye::Both) => &[Eye::Both],
            // Either: the better eye would be taken to it.
            Some(Eye::Either) | None => match evaluated.better_eye {
                Some(Eye::Right) => &[Eye::Right],
                Some(Eye::Left) => &[Eye::Left],
                _ => &[Eye::Right, Eye::Left],
            },
        };
        let worn: &[Correction] = match glasses {
            Some(WithGlasses::Without) => &[Correction::None],
            Some(WithGlasses::Over | WithGlasses::Either) | None => match self.in_class {
                InClass::Without => &[Correction::None],
                InClass::Wears => &[Correction::HabitualGlasses, Correction::ContactLenses],
                InClass::NotKnown => &[Correction::HabitualGlasses, Correction::ContactLenses, Correction::None],
            },
        };
        eyes.iter()
            .filter_map(|eye| {
                worn.iter().find_map(|worn| {
                    evaluated.rows.iter().find(|row| row.eye == *eye && row.worn == *worn && row.is_on(Track::Distance))
                })
            })
            .min_by_key(|row| row.rank())
            .ok_or(NoFigure::NoAcuity)
    }

    fn promised(&self, evaluated: &Evaluated, device: &AtHand) -> Result<Used, NoFigure> {
        let power = device.spec.power.filter(|_| device.spec.kind.is_telescope()).ok_or(NoFigure::NoAcuity)?;
        if device.track != Track::Distance {
            return Err(NoFigure::NoAcuity);
        }
        let row = self.row_before_a_telescope(evaluated, device.spec.eye, device.spec.with_glasses)?;
        let measured = row.measured.ok_or(NoFigure::OnlyCategory)?;
        let acuity = AcuityUsed::at_best(measured, power).map_err(|_| NoFigure::Beyond)?;
        Ok(Used { acuity, ..row.used(Basis::AtBest, evaluated)? })
    }
}

fn measured_through(evaluated: &Evaluated, device: &AtHand) -> Result<Used, NoFigure> {
    let same = |row: &&SightRow| {
        row.worn == Correction::ThroughDevice
            && row.device.as_ref().is_some_and(|tested| same_strength(device.track, tested, &device.spec))
            && match device.spec.eye {
                Some(Eye::Either) | None => true,
                Some(eye) => row.eye == eye,
            }
    };
    evaluated
        .rows
        .iter()
        .filter(same)
        .filter_map(|row| {
            let acuity = AcuityUsed::through_device(row.measured?, row.distance?)?;
            Some(Used { acuity, ..row.used(Basis::MeasuredThroughDevice, evaluated).ok()? })
        })
        .min_by_key(|used| used.acuity.acuity)
        .ok_or(NoFigure::NoAcuity)
}

impl SightRow {
    /// Whether it is a near row for the near track, a far row for the other.
    #[must_use]
    pub fn is_on(&self, track: Track) -> bool {
        let near = self.distance.is_some_and(|distance| distance.get() <= NEAR_LIMIT_M);
        self.distance.is_some() && near == (track == Track::Near)
    }

    /// The better eye ranks first, a category last.
    const fn rank(&self) -> (bool, Option<Measured>) {
        (self.measured.is_none(), self.measured)
    }

    fn used(&self, basis: Basis, from: &Evaluated) -> Result<Used, NoFigure> {
        let acuity = self.measured.ok_or(NoFigure::OnlyCategory)?.logmar();
        Ok(Used {
            acuity: AcuityUsed { acuity, basis },
            eye: self.eye,
            worn: self.worn,
            as_recorded: self.as_recorded.clone(),
            at: self.distance_typed.clone(),
            on: from.on,
            source: from.source,
        })
    }
}
