//! What a figure about a task rests on: the formula in words, and the inputs that
//! this reader may read.

use super::super::page::Context;
use super::super::part::{How, how};
use super::super::task::goals;
use super::super::words;
use super::asked::how_much_is_left;
use super::said::used_words;
use super::{ANGLE_SOURCE, Known, RESERVE_SOURCE};
use crate::care::sight::{self, Used};
use crate::care::task::{Seat, VisualTask};

impl Known {
    pub(super) fn account(
        &self,
        task: &VisualTask,
        seat: Option<&Seat>,
        used: Option<&Used>,
        context: &Context,
    ) -> How {
        let mut account = if self.plain {
            how(&[
                "The height of the small letters and their distance say how large they look.",
                "That is compared with what the eyes could just see when they were last examined, and with how much more is needed to do this with ease.",
            ])
        } else {
            how(&[
                "Angle = 2 \u{d7} atan(height \u{f7} (2 \u{d7} distance)); from the side, the smaller of height and width at the far edge of the board.",
                "Demand = log10(angle in minutes of arc \u{f7} 5).",
                "Acuity reserve = 10 to the power of (demand \u{2212} acuity). Contrast reserve = contrast of the writing \u{f7} threshold contrast.",
                "Readable when both reserves reach what the goal needs.",
            ])
            .source(ANGLE_SOURCE)
            .source(RESERVE_SOURCE)
        };
        if let Some(tall) = &task.what.x_height {
            account = account.input(
                "Small letters",
                &super::super::task::typed_length(&tall.typed, words::height(tall.value.in_metres(), context)),
            );
        }
        if let Some(far) = task.distance() {
            account = account
                .input("Distance", &super::super::task::typed_length(&far.typed, words::distance(far.value, context)));
        }
        if let Some((aside, _)) =
            seat.filter(|_| task.what.own_distance.is_none()).and_then(|seat| seat.what.aside.as_ref())
        {
            account = account.input(
                "To the side",
                &super::super::task::typed_length(&aside.typed, words::distance(aside.value, context)),
            );
        }
        if let Some(width) = seat
            .filter(|_| task.what.own_distance.is_none() && sight::on_the_board(task))
            .and_then(|seat| seat.what.board_width.as_ref())
        {
            account = account.input(
                "Board width",
                &super::super::task::typed_length(&width.typed, words::distance(width.value, context)),
            );
        }
        if self.plain {
            return account;
        }
        if let Some(used) = used {
            account = account.input("Acuity without a device", &used_words(used));
        }
        account = self.contrast_inputs(task, account);
        account.input("The goal needs", &goals::needed(&self.in_use, task.what.goal.into()))
    }

    /// What a contrast reserve rests on, as far as it is known.
    pub(in crate::web) fn contrast_inputs(&self, task: &VisualTask, mut account: How) -> How {
        if let Some(contrast) = self.sight.contrast_of(&task.what, self.in_use.markers()) {
            let told = format!("{:.2} Weber", contrast.get());
            let origin = task.what.marker.map(|marker| goals::said(&self.in_use.marker_origin(marker)));
            let by_table = format!("from the table of markers ({})", origin.unwrap_or_default());
            let words = match &task.what.screen {
                None => format!("{told}, {by_table}"),
                Some(screen) => {
                    let slide = match task.what.marker {
                        None => "; the slide is taken as black and white, nobody said otherwise".to_owned(),
                        marker if sight::is_black_and_white(marker) => String::new(),
                        _ => format!("; on the slide {by_table}"),
                    };
                    let how = how_much_is_left(screen, task.what.marker, self.in_use.markers(), &told);
                    account = account.asks_all(how);
                    format!("{told} by the readings on the screen: {}{slide}", super::super::task::screen::told(screen))
                }
            };
            account = account.input("Contrast of the writing", &words);
        }
        if let Some((sensitivity, on)) = self.sight.contrast() {
            account =
                account.input("Contrast sensitivity", &format!("{:.2} log, {}", sensitivity.get(), words::date(on)));
        }
        account
    }
}
