//! The lines to recompute what a way promises.
//!
//! What rests on the eyes stands only where the clinic's figures are read; what
//! follows from a device and a distance alone stands for a family, too.

use super::super::guidance::{field_asked, pupil_asked};
use super::super::outside::{self, Asked as Line, ask};
use super::super::words;
use super::Asked;
use crate::care::device::Strength;
use crate::care::options::{Change, EYE_TO_LENS, OVERLAP, Options, Scene, Stated, View, Way};
use crate::care::sight::Used;
use crate::care::track::{DeviceKind, Track};
use crate::vision::acuity::LogMar;
use crate::vision::demand::{BoardDemand, LetterSeen, Seat, letter_seen, on_board};
use crate::vision::readable::Basis;
use crate::vision::units::{Degrees, Dioptres, Metres, Ratio};

/// What the writing asks for in a scene, held to the page or seen from a place.
pub(super) fn demand(scene: &Scene, like_from: Option<Metres>) -> Option<(LetterSeen, Seat, Option<Metres>)> {
    if let Some(near) = like_from {
        let from = Seat::in_front(near);
        return Some((letter_seen(scene.height, scene.height, from).ok()?, from, None));
    }
    match on_board(scene.height, scene.from, scene.width).ok()? {
        BoardDemand::Seen(letter) => Some((letter, scene.from, scene.width)),
        BoardDemand::MoveTheSeat { .. } => None,
    }
}

impl Asked<'_> {
    /// The acuity that a way rests on.
    pub(super) fn used(&self, way: &Way, options: &Options) -> Used {
        let copied = way.changes.iter().any(|change| matches!(change, Change::Copy(_)));
        let near = self.known.sight.unaided(Track::Near).ok().filter(|_| copied);
        let used = way.view.as_ref().map_or(&options.used, |view| &view.used);
        near.unwrap_or_else(|| used.clone())
    }

    /// Every line of a way that this reader may read.
    pub(super) fn asked(&self, way: &Way, options: &Options) -> Vec<Line> {
        let mut lines = Vec::new();
        if !self.known.plain {
            lines.extend(self.reserves(way, options));
            lines.extend(way.changes.iter().flat_map(|change| self.of_change(change, way, options)));
        }
        if let Some(view) = &way.view {
            lines.extend(self.of_view(view, way));
        }
        lines
    }

    fn reserves(&self, way: &Way, options: &Options) -> Vec<Line> {
        let like_from = way.view.as_ref().and_then(|view| view.like_from);
        let Some((letter, from, width)) = demand(&way.scene, like_from) else { return Vec::new() };
        let (used, demand) = (self.used(way, options), letter.working_demand());
        let mut lines = vec![outside::demand(way.scene.height, from, width, &letter)];
        lines.extend(self.known.judged_asked(demand, &used, &way.judged, way.scene.target));
        if used.acuity.basis == Basis::AtBest && way.view.is_some() {
            let lost = [(0.2, " to "), (0.1, " if 0.1")];
            lines.extend(lost.iter().filter_map(|(log, behind)| {
                let acuity = LogMar::new(used.acuity.acuity.get() + log).ok()?;
                let reached = way.judged.acuity_reserve.get() * 10_f64.powf(-log);
                let line = ask("acuity_reserve")
                    .with("threshold_logmar", acuity.get())
                    .with("demand_logmar", demand.get())
                    .with("required_reserve_ratio", way.judged.needed.acuity.get());
                Some(line.gives("reserve_ratio", &format!("{reached:.1}{behind}")))
            }));
        }
        lines
    }

    fn of_change(&self, change: &Change, way: &Way, options: &Options) -> Vec<Line> {
        match change {
            Change::Seat(seat) if self.near() => {
                let told = format!("{:.1} D there", 1.0 / seat.to.get());
                vec![ask("accommodative_demand").with("distance_m", seat.to.get()).gives("demand_D", &told)]
            }
            Change::Copy(copies) => copies
                .iter()
                .map(|copy| {
                    let told = words::height(copy.height, self.context);
                    smallest_letter(self.used(way, options).acuity.acuity, copy.distance, way.judged.needed.acuity)
                        .gives_up("letter_height_m", &told)
                })
                .collect(),
            Change::Screen(to) => vec![
                ask("max_ambient_for_contrast")
                    .with("projector_white_lux", to.white.get())
                    .with("projector_black_lux", to.black.get())
                    .with("weber_dark_text", to.wanted.get())
                    .gives_down("max_ambient_lux", &format!("{:.0} lux", to.at_most.get())),
            ],
            _ => Vec::new(),
        }
    }

    /// What is seen through a device.
    fn of_view(&self, view: &View, way: &Way) -> Vec<Line> {
        let spec = self.held(view).map(|device| &device.spec);
        let mut lines = Vec::new();
        if let Some(told) = view.seen.field.map(|field| format!("{} wide", words::distance(field, self.context))) {
            lines.extend(match view.like_from {
                Some(near) => spec.and_then(|spec| {
                    let lens = spec.lens_diameter.map(|lens| lens.in_metres().get());
                    let power = Dioptres::new(1.0 / near.get()).ok()?;
                    window_asked(spec.kind, lens, power, &told).or_else(|| {
                        let cap = spec.reading_cap.filter(|_| spec.kind.is_telescope())?;
                        Some(field_asked(spec.true_field?, cap.focal_length().ok()?, &told))
                    })
                }),
                None => self.field(view, way).map(|field| field_asked(field, view.distance, &told)),
            });
        }
        if let (Some(field), Some(width), None) = (self.field(view, way), way.scene.width, view.like_from)
            && let Some(share) = view.seen.share
        {
            let line = ask("board_views_oblique")
                .with("board_width_m", width.get())
                .with("perpendicular_distance_m", way.scene.from.to_the_board.get())
                .with("offset_to_board_centre_m", way.scene.from.aside.get())
                .with("true_field_deg", field.get())
                .with("overlap_fraction", OVERLAP.get())
                .gives("share_of_width", &format!("{:.0} % of the width", share.get() * 100.0));
            lines.push(match view.seen.looks {
                Some(looks @ 2..) => line.gives("views_across", &format!("{looks} looks")),
                _ => line,
            });
        }
        if self.known.plain {
            return lines;
        }
        if let Some(near) = view.like_from {
            if let Some(Strength::Dioptres(power)) = spec.and_then(|spec| spec.strength(Track::Near))
                && (2.0..=60.0).contains(&power.get())
            {
                lines.push(
                    ask("equivalent_power")
                        .with("magnifier_power_D", power.get())
                        .with("add_or_accommodation_D", 0.0)
                        .with("separation_m", 0.0)
                        .gives("equivalent_viewing_distance_m", &words::distance(near, self.context)),
                );
            }
            if let Some(print) = view.smallest_print {
                let told = words::height(print, self.context);
                lines.push(
                    smallest_letter(view.used.acuity.acuity, near, way.judged.needed.acuity)
                        .gives("letter_height_m", &told),
                );
            }
        }
        if let (Some(pupil), Some(spec)) = (view.exit_pupil, spec)
            && let (Some(objective), Some(power)) = (spec.objective, spec.power)
        {
            lines.push(pupil_asked(objective, power, pupil));
        }
        lines
    }

    /// The field of a telescope, or the most that its power allows.
    fn field(&self, view: &View, way: &Way) -> Option<Degrees> {
        match view.seen.stated {
            Stated::OfTheDevice => self.held(view)?.spec.true_field,
            Stated::AtMost => way.changes.iter().find_map(|change| match change {
                Change::Power(power) => power.widest_field(),
                _ => None,
            }),
        }
    }
}

/// The smallest letters with which an eye reaches a reserve from there.
fn smallest_letter(acuity: LogMar, from: Metres, needed: Ratio) -> Line {
    ask("smallest_letter_with_power")
        .with("threshold_logmar", acuity.get())
        .with("distance_m", from.get())
        .with("angular_power", 1.0)
        .with("required_reserve_ratio", needed.get())
}

/// How wide a strip of print a lens in the hand or on a stand shows; `told` is the
/// width as printed.
pub(in crate::web) fn window_asked(kind: DeviceKind, lens: Option<f64>, power: Dioptres, told: &str) -> Option<Line> {
    let (op, key) = match kind {
        DeviceKind::HandMagnifier => ("hand_magnifier_field", "power_D"),
        DeviceKind::StandMagnifier | DeviceKind::DomeMagnifier => ("window_magnifier_field", "equivalent_power_D"),
        _ => return None,
    };
    Some(
        ask(op)
            .with("lens_diameter_m", lens?)
            .with(key, power.get())
            .with("eye_to_lens_m", EYE_TO_LENS.get())
            .gives("field_width_m", told),
    )
}
