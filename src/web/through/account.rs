//! What the share seen at once and the looks rest on, and the lines to recompute them.

use super::super::guidance::field_asked;
use super::super::options::asked::window_asked;
use super::super::{outside, part, words};
use super::Asked;
use super::told::looks;
use crate::care::through::{Seen, View};

impl Asked<'_> {
    pub(super) fn account(&self, view: &View) -> part::How {
        let lines: &[&str] = match (&view.seen, self.plain()) {
            (Seen::Page(_), true) => &["The size and the strength of the lens say how much print is seen at once."],
            (Seen::Page(_), false) if self.device.device.spec.kind.is_telescope() => &[
                "Seen at once = 2 \u{d7} distance of the page from the cap \u{d7} tan(true field \u{f7} 2); that distance = 1 \u{f7} power of the cap.",
            ],
            (Seen::Page(_), false) => {
                &["Print seen at once = lens \u{f7} (equivalent power \u{d7} distance from eye to lens)."]
            }
            (_, true) => &[
                "The field of the device and the distance say how much is seen at once.",
                "How often that goes into the width of the board, each look overlapping the last by a fifth, says how many looks it takes.",
            ],
            (Seen::Spot(_), false) => &["Seen at once = 2 \u{d7} distance \u{d7} tan(true field \u{f7} 2)."],
            (Seen::Board { .. }, false) => &[
                "Seen at once = 2 \u{d7} distance \u{d7} tan(true field \u{f7} 2), across the line of sight to the middle of the board.",
                "Angle of the board = atan((aside + width \u{f7} 2) \u{f7} distance) \u{2212} atan((aside \u{2212} width \u{f7} 2) \u{f7} distance). Share = true field \u{f7} that angle.",
                "Looks = (angle \u{2212} true field) \u{f7} (0.8 \u{d7} true field), rounded up, and one more. They stand evenly in angle.",
                "On the board a look shows the ellipse that the cone of the field cuts out of its plane: from the side it is longer than high.",
            ],
        };
        let mut account = part::how(lines).inputs(&super::super::task::facts_of(self.task, self.context));
        if let Seen::Board { width, sweep, .. } = &view.seen {
            account = account.input("Board width", &self.far(*width));
            if !self.plain() {
                account = account.input("Angle of the board", &format!("{:.1}\u{b0}", sweep.board.get()));
            }
        }
        if let Some((aside, side)) =
            self.seat.filter(|_| self.task.what.own_distance.is_none()).and_then(|seat| seat.what.aside.as_ref())
        {
            account = account.input("To the side", &format!("{}, {}", self.far(aside.value), side.words()));
        }
        let spec = &self.device.device.spec;
        if let Some(field) = view.field {
            account = account.input("Field of the device", &format!("{}\u{b0}", field.get()));
        }
        if let (Seen::Page(_), false) = (&view.seen, self.plain()) {
            if let Some(lens) = spec.lens_diameter {
                account = account.input("Lens", &format!("{} mm", lens.get()));
            }
            if let Some(power) = spec.equivalent_power {
                account = account.input("Equivalent power", &format!("{} D", power.get()));
            }
        }
        account = account.asks_all(self.asked(view));
        account
            .input("Device", &words::capital(&self.known.named(&self.device.device)))
            .source("Geometry; a real field differs by a few per cent. How much looks overlap: common practice.")
    }
}

impl Asked<'_> {
    /// The lines to recompute what is seen at once and how many looks it takes.
    fn asked(&self, view: &View) -> Vec<outside::Asked> {
        let Ok(across) = view.across() else { return Vec::new() };
        let wide = format!("{} wide", self.far(across));
        let spec = &self.device.device.spec;
        if let Seen::Page(_) = view.seen {
            // Equivalent powers are the clinic's; a cap and a field stand on the label.
            let cap = spec.reading_cap.and_then(|cap| cap.focal_length().ok()).filter(|_| spec.kind.is_telescope());
            if let (Some(field), Some(from)) = (view.field, cap) {
                return vec![field_asked(field, from, &wide)];
            }
            let lens = spec.lens_diameter.map(|lens| lens.in_metres().get());
            let power = spec.equivalent_power.filter(|_| !self.plain());
            return power.and_then(|power| window_asked(spec.kind, lens, power, &wide)).into_iter().collect();
        }
        let Some(field) = view.field else { return Vec::new() };
        let Seen::Board { width, sweep, .. } = &view.seen else {
            return vec![field_asked(field, view.distance, &wide)];
        };
        let asked = outside::ask("board_views_oblique")
            .with("board_width_m", width.get())
            .with("perpendicular_distance_m", view.from.to_the_board.get())
            .with("offset_to_board_centre_m", view.from.aside.get())
            .with("true_field_deg", field.get())
            .with("overlap_fraction", 0.2)
            .gives("share_of_width", &format!("{:.0} %", sweep.seen_at_once.get() * 100.0));
        let count = sweep.looks.len();
        let counted = if count > 1 { asked.gives("views_across", &looks(count)) } else { asked };
        let told = match self.plain() {
            true => counted,
            false => counted.gives("board_angle_deg", &format!("{:.1}\u{b0}", sweep.board.get())),
        };
        vec![field_asked(field, view.distance, &wide), told]
    }
}
