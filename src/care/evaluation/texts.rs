//! The words of an evaluation that may be amended once it is signed. What was
//! measured, chosen or dated never is: for that it is superseded.

use super::{Evaluation, TrackChoice};
use crate::care::document::{Look, Worded};
use crate::care::journey::fact::Safe;

impl Worded for Evaluation {
    fn each_text(&mut self, look: &mut Look<'_>) {
        look("place", "Place", false, &mut self.place);
        let found = &mut self.findings;
        look("diagnosis", "Diagnosis", false, &mut found.diagnosis);
        look("alignment_note", "Alignment in words", false, &mut found.alignment_note);
        look("field_note", "The field in words", false, &mut found.field_note);
        look("filter", "Filter tried", false, &mut found.filter_note);
        look("lighting", "Light", false, &mut found.lighting_advice);
        look("seating", "Seat", false, &mut found.seating_advice);
        look("advice_note", "Other advice in words", false, &mut found.other_advice_note);
        for answer in self.answers.iter_mut().filter(|answer| answer.choice != TrackChoice::NotLookedAt) {
            let track = answer.track;
            let needed = matches!(answer.safe, Safe::WithLimits | Safe::No);
            let limits = if answer.safe == Safe::No { "Why training is not safe" } else { "Limits" };
            let label = |what: &str| format!("{what}, {} track", track.words());
            look(&format!("{}_limits", track.code()), &label(limits), needed, &mut answer.limits);
            look(&format!("{}_tasks", track.code()), &label("What to train for"), false, &mut answer.training_tasks);
            for (place, device) in answer.devices.iter_mut().enumerate() {
                let at = |what: &str| format!("{}_device_{}_{what}", track.code(), place + 1);
                let named = |what: &str| label(&format!("{what} of device {}", place + 1));
                look(&at("purpose"), &named("Purpose"), false, &mut device.purpose);
                look(&at("limits"), &named("Limits"), false, &mut device.limits);
            }
        }
    }
}
