//! What follows from a device's figures, as a page shows it: each figure with
//! how it was computed, and every assumption named as one.
//!
//! The formulas are in [`crate::vision::telescope`] and
//! [`crate::vision::magnifier`]; here are words and roundings only. What is not
//! stated of a device gives no figure.

use super::guidance::{field_asked, pupil_asked};
use super::outside::ask;
use super::page::Context;
use super::part::{self, Figure, How};
use super::words;
use crate::care::device::DeviceSpec;
use crate::care::track::DeviceKind;
use crate::vision::magnifier::hand_field;
use crate::vision::telescope::near::reading_cap;
use crate::vision::telescope::{brightness, exit_pupil, field_width};
use crate::vision::units::{Fraction, Metres, Millimetres};

/// The eye's pupil that an exit pupil is held against. Common practice for a
/// lit room; nobody measured it.
const PUPIL: Millimetres = Millimetres::literal(3.0);
/// The distances at which a telescope's field is told.
const FIELDS_AT: [Metres; 2] = [Metres::literal(3.0), Metres::literal(6.0)];
/// The distance from the eye to a hand magnifier. Common practice.
const EYE_TO_LENS: Metres = Metres::literal(0.25);

/// What follows from this specification, each figure with how it was computed;
/// nothing when too little is stated.
pub fn of(spec: &DeviceSpec, context: &Context) -> Vec<(Figure, Option<How>)> {
    if spec.kind.is_magnifier() { magnifier(spec, context) } else { telescope(spec, context) }
}

fn telescope(spec: &DeviceSpec, context: &Context) -> Vec<(Figure, Option<How>)> {
    let mut figures = Vec::new();
    figures.extend(pupil(spec).map(|(figure, how)| (figure, Some(how))));
    if let Some(field) = spec.true_field {
        for at in FIELDS_AT {
            let Ok(width) = field_width(field, at) else { continue };
            let (far, wide) = (words::distance(at, context), words::distance(width, context));
            let how = part::how(&["Twice the distance, times the tangent of half the true field."])
                .input("True field", &format!("{} degrees", field.get()))
                .input("Distance", &far)
                .source("Geometry.")
                .asks(field_asked(field, at, &format!("{wide} wide")));
            figures.push((part::figure(&format!("Seen at once from {far}"), &format!("{wide} wide")), Some(how)));
        }
    }
    if let Some(nearest) = spec.near_focus {
        let stated = "as stated for the device, not computed; nothing nearer is clear without a reading cap";
        figures.push((part::figure("Nearest focus", &words::distance(nearest, context)).basis(stated), None));
    }
    if let (Some(power), Some(cap)) = (spec.power, spec.reading_cap)
        && let Ok(capped) = reading_cap(power, cap)
    {
        let how = part::how(&["Power of the telescope times power of the cap; the page lies at the focus of the cap."])
            .input("Power", &format!("{} ×", power.get()))
            .input("Reading cap", &format!("{} D", cap.get()))
            .source("Derived for thin lenses in line.");
        let value = format!("{} D", round(capped.equivalent.get()));
        let page = words::distance(capped.working_distance, context);
        let how = how.asks(
            ask("telemicroscope")
                .with("telescope_power", power.get())
                .with("cap_power_D", cap.get())
                .gives("equivalent_power_D", &value)
                .gives("working_distance_from_cap_m", &page),
        );
        let from = format!("page {page} from the cap");
        figures.push((part::figure("With the reading cap", &value).basis(&from), Some(how)));
    }
    figures
}

fn pupil(spec: &DeviceSpec) -> Option<(Figure, How)> {
    let (power, objective) = (spec.power?, spec.objective?);
    let exit = exit_pupil(objective, power).ok()?;
    let light = brightness(exit, PUPIL, Fraction::literal(1.0)).ok()?;
    let against = if exit.get() < PUPIL.get() {
        format!(
            "narrower than a pupil of {} mm (assumed): at most {} % of the light the bare eye gets",
            PUPIL.get(),
            (light.get() * 100.0).round()
        )
    } else {
        format!("at least as wide as a pupil of {} mm (assumed): it takes no light away", PUPIL.get())
    };
    let how = part::how(&[
        "Objective lens divided by power.",
        "Light: the square of exit pupil over pupil, never more than all of it. Losses in the glass come on top.",
        "A pupil of 3 mm is an assumption for a lit room. This student's pupil was not measured.",
    ])
    .input("Objective lens", &format!("{} mm", objective.get()))
    .input("Power", &format!("{} ×", power.get()))
    .source("Schwartz, Geometrical and Visual Optics, ch. 12; the 3 mm are common practice.")
    .asks(pupil_asked(objective, power, exit));
    let how = if exit.get() < PUPIL.get() {
        how.asks(
            ask("relative_retinal_illuminance")
                .with("exit_pupil_mm", exit.get())
                .with("eye_pupil_mm", PUPIL.get())
                .with("transmittance", 1.0)
                .gives("ratio", &format!("{} %", (light.get() * 100.0).round())),
        )
    } else {
        how
    };
    Some((part::figure("Exit pupil", &format!("{:.1} mm", exit.get())).basis(&against), how))
}

fn magnifier(spec: &DeviceSpec, context: &Context) -> Vec<(Figure, Option<How>)> {
    let mut figures = Vec::new();
    let Some(power) = spec.equivalent_power else { return figures };
    if let Ok(viewing) = power.focal_length() {
        let told = words::distance(viewing, context);
        let alone = ask("equivalent_power")
            .with("magnifier_power_D", power.get())
            .with("add_or_accommodation_D", 0.0)
            .with("separation_m", 0.0)
            .gives("equivalent_viewing_distance_m", &told);
        let how = part::how(&["One metre divided by the equivalent power."])
            .input("Equivalent power", &format!("{} D", power.get()))
            .source("Definition of equivalent viewing distance. The × on a label is not used.")
            .asks(alone);
        figures.push((part::figure("Works like looking from", &told), Some(how)));
    }
    if let (DeviceKind::HandMagnifier, Some(lens)) = (spec.kind, spec.lens_diameter)
        && let Ok(strip) = hand_field(lens.in_metres(), power, EYE_TO_LENS)
    {
        let how = part::how(&[
            "Lens diameter divided by the product of power and the distance from eye to lens; page at the focus.",
            "Real fields are smaller: the edge of the lens is not clear.",
        ])
        .input("Lens diameter", &format!("{} mm", lens.get()))
        .input("Equivalent power", &format!("{} D", power.get()))
        .input("Eye to lens, assumed", &words::distance(EYE_TO_LENS, context))
        .source("A teaching note's worked example; the distance is common practice.")
        .asks(
            ask("hand_magnifier_field")
                .with("lens_diameter_m", lens.in_metres().get())
                .with("power_D", power.get())
                .with("eye_to_lens_m", EYE_TO_LENS.get())
                .gives("field_width_m", &format!("{} wide", words::distance(strip, context))),
        );
        let from = format!("with the eye {} from the lens (assumed)", words::distance(EYE_TO_LENS, context));
        figures.push((
            part::figure("Print seen at once", &format!("{} wide", words::distance(strip, context))).basis(&from),
            Some(how),
        ));
    }
    figures
}

fn round(number: f64) -> f64 {
    (number * 10.0).round() / 10.0
}
