//! The lines to recompute what is said of tasks and rooms.
//!
//! Nothing of them for a reader with plain words: their inputs are the clinic's.

use super::Known;
use crate::care::sight::{self, NoFigure, RoomLine, Used};
use crate::care::task::{Marker, ScreenLight, Seat, VisualTask};
use crate::vision::acuity::LogMar;
use crate::vision::contrast::Weber;
use crate::vision::contrast::marker::MarkerTable;
use crate::vision::demand::{self, LetterSeen};
use crate::vision::readable::{Answer, ContrastStanding, Judgement};
use crate::vision::seat_print::SeatAndPrint;
use crate::web::outside::{self, Asked, SeatAsked, ask};
use crate::web::page::Context;
use crate::web::words;

/// How much of the contrast of a slide is left on a screen; `told` as printed.
pub(super) fn how_much_is_left(
    screen: &ScreenLight,
    marker: Option<Marker>,
    table: &MarkerTable,
    told: &str,
) -> Option<Asked> {
    let slide = match marker {
        Some(coloured) if !sight::is_black_and_white(marker) => table.contrast(coloured.into()),
        _ => sight::FULL,
    };
    Some(
        ask("screen_readings")
            .with("white_reading_lux", screen.white.value.get())
            .with("black_reading_lux", screen.black.value.get())
            .with("off_reading_lux", screen.off.value.get())
            .with("slide_weber", slide.get())
            .gives("weber_writing", told),
    )
}

impl Known {
    /// What the writing asks for.
    pub(super) fn demand_asked(&self, task: &VisualTask, seat: Option<&Seat>, letter: &LetterSeen) -> Option<Asked> {
        let tall = task.what.x_height.as_ref().filter(|_| !self.plain)?.value.in_metres();
        let from = sight::looked_from(task, seat).ok()?;
        Some(outside::demand(tall, from, sight::board_across(task, seat), letter))
    }

    /// Both reserves of a verdict, as far as they are told.
    pub(super) fn reserves_asked(
        &self,
        task: &VisualTask,
        seat: Option<&Seat>,
        used: &Result<Used, NoFigure>,
    ) -> Vec<Asked> {
        let Some(used) = used.as_ref().ok().filter(|_| !self.plain) else { return Vec::new() };
        let (goals, markers) = (self.in_use.goals(), self.in_use.markers());
        let Ok(Answer::Judged(judged)) = self.sight.judge(task, seat, used, goals, markers) else { return Vec::new() };
        let Ok(demand::BoardDemand::Seen(letter)) = sight::demand_of(task, seat) else { return Vec::new() };
        let target = self.sight.contrast_of(&task.what, self.in_use.markers());
        self.judged_asked(letter.working_demand(), used, &judged, target)
    }

    /// Both reserves of a judgement, as far as they are told, for a target of
    /// this contrast.
    pub(in crate::web) fn judged_asked(
        &self,
        demand: LogMar,
        used: &Used,
        judged: &Judgement,
        target: Option<Weber>,
    ) -> Vec<Asked> {
        let acuity = used.acuity.acuity;
        let words = ("", " times the threshold size");
        let size = outside::reserve(demand, acuity, judged.acuity_reserve, judged.needed.acuity, words);
        let contrast = match (judged.contrast, target, self.sight.contrast()) {
            (ContrastStanding::Reserve(reserve), Some(target), Some((eye, _))) => {
                let words = ("contrast ", " times the threshold");
                Some(outside::contrast(target, eye, reserve, judged.needed.contrast, words))
            }
            _ => None,
        };
        [Some(size), contrast].into_iter().flatten().collect()
    }

    /// The figures of a room's line, without a device and with each.
    pub(super) fn room_asked(&self, seat: &Seat, found: &RoomLine, context: &Context) -> Vec<Asked> {
        if self.plain {
            return Vec::new();
        }
        if let SeatAndPrint::MendContrastFirst { reserve, needed } = &found.line {
            let words = ("", " times the threshold");
            let inputs = found.writing.contrast.zip(self.sight.contrast());
            let asked = inputs.map(|(target, (eye, _))| outside::contrast(target, eye, *reserve, *needed, words));
            return asked.into_iter().collect();
        }
        let asked = |used: &Used, line| {
            let rests_on = SeatAsked {
                acuity: used.acuity.acuity,
                x_height: found.writing.x_height,
                seat: sight::place(seat),
                needed: self.in_use.goals().needed(found.writing.goal),
                units: words::units(context),
            };
            rests_on.of(line)
        };
        let mut all = Vec::new();
        if let SeatAndPrint::Advice(advice) = &found.line {
            all.extend(asked(&found.used, &advice.unaided));
        }
        for (_, used, line) in &found.with {
            if let SeatAndPrint::Advice(advice) = line
                && let Some(with) = &advice.with_device
            {
                all.extend(asked(used, with));
            }
        }
        all
    }
}
