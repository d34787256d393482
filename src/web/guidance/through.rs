//! What a telescope shows at a task's distance, in the reader's words.

use super::{Known, SeenLine, TaskSeen};
use crate::care::sight::{self, AtHand};
use crate::vision::units::{Degrees, Magnification, Metres, Millimetres};
use crate::web::outside::{Asked, ask};
use crate::web::page::Context;
use crate::web::part::{how, status};
use crate::web::words;

const TELESCOPE_SOURCE: &str = "Width: geometry. Exit pupil: Schwartz, Geometrical and Visual Optics, chapter 12. \
     Acuity at best: the definition of angular magnification.";

/// How wide this field is from there; `told` is the width as printed.
pub(in crate::web) fn field_asked(field: Degrees, from: Metres, told: &str) -> Asked {
    ask("linear_field").with("true_field_deg", field.get()).with("distance_m", from.get()).gives("field_width_m", told)
}

/// How wide the exit pupil is.
pub(in crate::web) fn pupil_asked(objective: Millimetres, power: Magnification, pupil: Millimetres) -> Asked {
    ask("exit_pupil")
        .with("objective_diameter_mm", objective.get())
        .with("power", power.get())
        .gives("exit_pupil_mm", &format!("{:.1} mm", pupil.get()))
}

impl Known {
    pub(super) fn telescope(&self, seen: &mut TaskSeen, device: &AtHand, far: Metres, context: &Context) {
        let Some(through) = sight::through_telescope(&device.spec, far) else { return };
        let mut said = Vec::new();
        let mut account = if self.plain {
            how(&["How wide the view through the device is at this distance: 2 \u{d7} distance \u{d7} tan(field \u{f7} 2)."])
        } else {
            how(&[
                "Width seen at once = 2 \u{d7} distance \u{d7} tan(true field \u{f7} 2). Exit pupil = objective \u{f7} power.",
                "At best, the acuity through a telescope is the acuity of that eye less log10 of the power.",
            ])
        }
        .summary(&format!("How the field of the {} was computed", self.named(device)))
        .source(if self.plain { "Width: geometry." } else { TELESCOPE_SOURCE })
        .input("Distance", &words::distance(far, context));
        if let Some(width) = through.field_width {
            let told = words::distance(width, context);
            said.push(format!("it shows {told} at once there"));
            if let Some(field) = device.spec.true_field {
                account = account.asks(field_asked(field, far, &told));
            }
        }
        if let (false, Some(pupil)) = (self.plain, through.exit_pupil) {
            let dims = self.sight.pupil().filter(|eye| pupil < *eye).map_or(String::new(), |eye| {
                format!(", smaller than the eye's pupil of {:.1} mm, so the picture is darker", eye.get())
            });
            said.push(format!("exit pupil {:.1} mm{dims}", pupil.get()));
            if let (Some(objective), Some(power)) = (device.spec.objective, device.spec.power) {
                account = account.asks(pupil_asked(objective, power, pupil));
            }
        }
        if through.too_near == Some(true) {
            said.push("it cannot be focused as near as this".to_owned());
        }
        if said.is_empty() {
            return;
        }
        if let Some(field) = device.spec.true_field {
            account = account.input("Field of the device", &format!("{}\u{b0}", field.get()));
        }
        if !self.plain
            && let (Some(objective), Some(power)) = (device.spec.objective, device.spec.power)
        {
            account = account.input("Objective and power", &format!("{} mm, {}\u{d7}", objective.get(), power.get()));
        }
        seen.lines.push(SeenLine {
            status: status("Field", if through.too_near == Some(true) { "caution" } else { "plain" }),
            words: format!("{}: {}.", words::capital(&self.named(device)), said.join("; ")),
        });
        seen.how.push(account);
    }
}
