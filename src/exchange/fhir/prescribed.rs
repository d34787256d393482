//! A prescription as resources: its lenses as a VisionPrescription, everything
//! else as requests for devices.
//!
//! A prescription without lenses has no VisionPrescription: R4 wants at least
//! one lens in it. The one whose place was taken is cancelled, never left out.

use super::element::{Annotation, Coding, Concept, Identifier, Lens, Prism, Reference};
use super::resource::{Resource, VisionPrescription};
use super::{Builder, device};
use crate::care::prescription::State;
use crate::exchange::record::{Coded, Prescription, Refraction};

pub(super) fn prescription(to: &mut Builder<'_>, prescription: &Prescription) {
    if !prescription.lenses.is_empty() {
        let made = VisionPrescription {
            identifier: vec![Identifier { system: to.terms().ids("prescription"), value: prescription.number.clone() }],
            status: match prescription.state {
                State::Draft => "draft",
                State::Active => "active",
                State::Superseded | State::Cancelled => "cancelled",
                State::EnteredInError => "entered-in-error",
            },
            created: prescription.signed_at.to_string(),
            patient: to.subject(),
            date_written: prescription.written_on.to_string(),
            prescriber: to
                .person(&prescription.prescriber_id)
                .unwrap_or_else(|| Reference::named(&prescription.prescriber_line)),
            lens_specification: prescription
                .lenses
                .iter()
                .map(|lens| self::lens(lens, &prescription.lens_note))
                .collect(),
        };
        to.add(to.url(&prescription.id), Resource::VisionPrescription(Box::new(made)));
    }
    device::prescribed(to, prescription);
}

fn lens(lens: &Refraction, note: &str) -> Lens {
    let product = Coding::of("http://terminology.hl7.org/CodeSystem/ex-visionprescriptionproduct", "lens", "Lens");
    Lens {
        product: Concept::of(product),
        eye: if lens.right { "right" } else { "left" },
        // Plano is sent as zero: left out it would read as not stated.
        sphere: Some(lens.sphere_d),
        cylinder: lens.cylinder_d,
        axis: lens.axis_deg,
        prism: lens
            .prism_d
            .zip(lens.prism_base)
            .map(|(amount, base)| Prism { amount: Some(amount), base: base_code(base) })
            .into_iter()
            .collect(),
        add: lens.add_d,
        note: Annotation::of(note),
    }
}

/// The codes of R4 for a base are those of the trade.
const fn base_code(base: Coded) -> &'static str {
    base.code
}
