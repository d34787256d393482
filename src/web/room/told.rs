//! What a plan says in words: the finding, the side to sit on, the best seats,
//! and how it was computed.

use super::super::guidance::{RESERVE_SOURCE, demand_words, used_words};
use super::super::outside;
use super::super::part::{How, how};
use super::super::task::{goals, typed_length};
use super::super::words;
use super::Asked;
use crate::care::goal::{reached_told, size_told};
use crate::care::options::{LABEL_HOLDS_FROM, WhyNot};
use crate::care::room::plan::{Plan, Reach, STRAIGHT_ON, SeatSeen, Through};
use crate::care::room::quiet::{Quiet, Reason};
use crate::care::task::Aside;
use crate::vision::demand::{BoardDemand, FARTHEST_ASIDE, LetterSeen, on_board};
use crate::vision::readable::{Answer, Basis, ContrastStanding, Judgement};
use crate::vision::units::{Degrees, Metres};

/// Best seats that are listed.
const BEST: usize = 5;
/// From this angle on a family reads "from the side": the seat-and-print line says so, too.
const FROM_THE_SIDE: f64 = 30.0;

const ROOM_SOURCE: &str =
    "Places and angles: geometry. Demand: the definition of logMAR. The limit of 60\u{b0}: common practice.";
const QUIET_SOURCE: &str = "The quiet side, what is called straight on, and the order of the best seats: common practice and our own proposal.";

/// A number of seats in words.
pub(super) fn seats(count: usize) -> String {
    if count == 1 { "1 seat".to_owned() } else { format!("{count} seats") }
}

pub(super) fn reach_words(reach: Reach) -> &'static str {
    match reach {
        Reach::Alone => "readable without a device",
        Reach::WithDevice => "readable with the device",
        Reach::Not => "not readable",
    }
}

impl Asked<'_> {
    /// The finding, for the notice at the top.
    pub(super) fn verdict(&self, plan: &Plan) -> (&'static str, String, String) {
        let (shape, title) = match plan.usual().map(SeatSeen::reach) {
            Some(Reach::Alone) => ("good", "Readable from the usual seat".to_owned()),
            Some(Reach::WithDevice) => ("good", "Readable from the usual seat with the device".to_owned()),
            Some(Reach::Not) => ("caution", "Not readable from the usual seat".to_owned()),
            None => {
                let read = plan.seats.len() - plan.count(Reach::Not);
                ("plain", format!("Readable from {} of {}", read, seats(plan.seats.len())))
            }
        };
        (shape, title, self.counted(plan))
    }

    /// How many seats do it, and how.
    pub(super) fn counted(&self, plan: &Plan) -> String {
        let [alone, with, not] = [Reach::Alone, Reach::WithDevice, Reach::Not].map(|reach| plan.count(reach));
        let goal = self.task.what.goal.words();
        let all = seats(plan.seats.len());
        let device = self.device.map(|device| self.known.named(device));
        match (device, &plan.through) {
            (Some(device), Some(Ok(_))) => {
                format!("To {goal}, of {all}: {alone} without a device, {with} more with the {device}, {not} not.")
            }
            _ => format!("To {goal}, of {all}: {alone} without a device, {not} not."),
        }
    }

    /// What stands under the finding, a sentence or two each.
    pub(super) fn lines(&self, plan: &Plan) -> Vec<String> {
        let mut lines = Vec::new();
        match plan.usual() {
            Some(usual) => lines.push(format!(
                "The usual seat, {}: {}, {}. {}.",
                place(usual),
                words::distance(usual.seen.to_the_middle, self.context),
                self.aside(usual.seen.middle),
                words::capital(&self.why(usual)),
            )),
            None => lines.push("Which of these seats is the usual one was not entered.".to_owned()),
        }
        if plan.too_faint() {
            lines.push(
                "The writing is too faint for this goal: no seat mends that. Darker writing or a better marker comes first."
                    .to_owned(),
            );
        }
        lines.extend(self.unknown_contrast(plan).map(str::to_owned));
        if let (Some(device), Some(through)) = (self.device, &plan.through) {
            let device = self.known.named(device);
            match through {
                Ok(used) if used.acuity.basis == Basis::AtBest && self.known.plain => lines.push(format!(
                    "With the {device} this is the best that can be hoped for; trying it tells."
                )),
                Ok(used) if used.acuity.basis == Basis::AtBest => lines.push(format!(
                    "With the {device}, at best: nobody has measured what is seen through it, and 0.1 to 0.2 logMAR are often lost."
                )),
                Ok(_) => {}
                Err(why) if self.known.plain => {
                    let _ = why;
                    lines.push(format!("With the {device} nothing can be said yet. The vision teacher can say more."));
                }
                Err(why) => lines.push(format!("With the {device} nothing is computed: {}.", why.words())),
            }
            lines.extend(self.too_near(plan));
        }
        lines.push(self.quiet(&plan.quiet));
        lines
    }

    /// Seats from which the device does not work at all.
    fn too_near(&self, plan: &Plan) -> Vec<String> {
        let count = |wanted: WhyNot| {
            plan.seats.iter().filter(|seat| seat.through == Some(Through::NotFromHere(wanted))).count()
        };
        let are = |count: usize| format!("{} {}", seats(count), if count == 1 { "is" } else { "are" });
        let mut lines = Vec::new();
        let focus = self.device.and_then(|device| device.spec.near_focus);
        if let (Some(focus), near @ 1..) = (focus, count(WhyNot::FocusTooFar)) {
            lines.push(format!(
                "The device cannot be focused nearer than {}, and {} nearer: not readable with it from there.",
                words::distance(focus, self.context),
                are(near)
            ));
        }
        if let near @ 1.. = count(WhyNot::NotThisNear) {
            lines.push(format!(
                "{} nearer than {}, where a telescope no longer works at the power on its label: with the device nothing is computed there.",
                are(near),
                words::distance(LABEL_HOLDS_FROM, self.context),
            ));
        }
        for why in [WhyNot::TubeTooShort, WhyNot::GlassesStayOn] {
            if let some @ 1.. = count(why) {
                lines.push(format!("With the device {} not readable: {}.", are(some), why.words()));
            }
        }
        lines
    }

    fn unknown_contrast(&self, plan: &Plan) -> Option<&'static str> {
        let standing = plan.seats.iter().find_map(|seat| match &seat.alone {
            Ok(Answer::Judged(judged)) => Some(judged.contrast),
            _ => None,
        })?;
        match standing {
            ContrastStanding::Reserve(_) => None,
            ContrastStanding::SensitivityUnknown => Some(
                "Whether the writing is dark enough is not known: contrast sensitivity was not measured. The plan is of its size only.",
            ),
            ContrastStanding::TargetUnknown => Some(
                "Whether the writing is dark enough is not known: the contrast of the writing is not. The plan is of its size only.",
            ),
        }
    }

    /// The side to sit on, and what says so.
    fn quiet(&self, quiet: &Quiet) -> String {
        let Some(side) = quiet.side() else {
            return if self.known.plain {
                "No side of the room is known to be the better one.".to_owned()
            } else {
                "No quiet side is known: no gaze, field or better eye speaks for one side, and nobody entered where the windows are."
                    .to_owned()
            };
        };
        let for_it = self.reasons(quiet.asking_for(side));
        let against: Vec<Reason> = quiet.against().collect();
        let other = match against.as_slice() {
            [] => String::new(),
            [Reason::Window] => " The windows are on that side, too: mind the light, or draw a blind.".to_owned(),
            against => format!(
                " For the other side speaks {}: which counts is a question for the clinician.",
                self.reasons(against.iter().copied())
            ),
        };
        format!("Quiet side: {} of the middle, facing the board. Why: {for_it}.{other}", side.words())
    }

    fn reasons(&self, reasons: impl Iterator<Item = Reason>) -> String {
        let mut told: Vec<&str> = Vec::new();
        for reason in reasons {
            let words = match reason {
                Reason::Window => reason.words(),
                _ if self.known.plain => "the way the eyes see best",
                _ => reason.words(),
            };
            if !told.contains(&words) {
                told.push(words);
            }
        }
        words::list(&told)
    }

    /// The best seats, each with why.
    pub(super) fn best(&self, plan: &Plan) -> Vec<String> {
        plan.best()
            .into_iter()
            .take(BEST)
            .map(|seat| {
                let mut why =
                    vec![words::distance(seat.seen.to_the_middle, self.context), self.aside(seat.seen.middle)];
                if let Some(quiet) = plan.quiet.side() {
                    let straight = self.known.plain || seat.seen.middle.get() < 0.5;
                    match seat.side() {
                        None if straight => {}
                        None => why.push("near the middle".to_owned()),
                        Some(side) if side == quiet => why.push("on the quiet side".to_owned()),
                        Some(_) => why.push("not on the quiet side".to_owned()),
                    }
                }
                if seat.usual {
                    why.push("the usual seat".to_owned());
                }
                format!("{}: {}. {}.", words::capital(&place(seat)), why.join(", "), words::capital(&self.why(seat)))
            })
            .collect()
    }

    /// What a seat allows, with its figure for those who work with figures.
    fn why(&self, seat: &SeatSeen) -> String {
        let reach = seat.reach();
        if reach == Reach::Not
            && let Ok(Answer::MoveTheSeat { .. }) = seat.alone
        {
            return format!(
                "beyond {:.0}\u{b0} from the side the writing cannot be judged: move the seat toward the middle",
                FARTHEST_ASIDE.get()
            );
        }
        match judged(seat).filter(|_| !self.known.plain) {
            Some(judged) => format!(
                "{}: {} times the threshold size, {} needed",
                reach_words(reach),
                reached_told(judged.acuity_reserve, judged.needed.acuity),
                size_told(judged.needed.acuity)
            ),
            None => reach_words(reach).to_owned(),
        }
    }

    /// How far from straight on, in degrees, or in words for a family.
    pub(super) fn aside(&self, angle: Degrees) -> String {
        let degrees = angle.get();
        if self.known.plain {
            return match degrees {
                degrees if degrees < STRAIGHT_ON => "straight on",
                degrees if degrees < FROM_THE_SIDE => "a little from the side",
                _ => "from the side",
            }
            .to_owned();
        }
        if degrees < 0.5 { "straight on".to_owned() } else { format!("{degrees:.0}\u{b0} from the side") }
    }

    /// How the plan was computed.
    pub(super) fn how(&self, plan: &Plan) -> How {
        let account = if self.known.plain {
            how(&[
                "Where each seat is follows from the rows as they were entered. From there the size of the small letters says how large they look.",
                "That is compared with what the eyes could just see when they were last examined, and with how much more is needed to do this with ease.",
                "The usual seat stands where it was measured.",
            ])
        } else {
            how(&[
                "A seat is (row \u{2212} 1) \u{d7} the distance from row to row behind the first row, and (seat \u{2212} the middle of the row) \u{d7} the distance from seat to seat beside the middle of the rows. The usual seat stands where it was measured.",
                "From the side = atan(to the side of the board's centre \u{f7} straight to the board). Beyond 60\u{b0} the seat is moved first.",
                "Each seat is asked as the task itself is: angle of a small letter at the far edge of the board, the smaller of its height and width; demand = log10(minutes of arc \u{f7} 5); acuity reserve = 10 to the power of (demand \u{2212} acuity).",
                "Readable when both reserves reach what the goal needs. With a device not nearer than its nearest focus, and not nearer than 2 m.",
                "Best first: without a device, then with it; the quiet side or the middle; least from the side; nearest.",
            ])
            .source(ROOM_SOURCE)
            .source(RESERVE_SOURCE)
            .source(QUIET_SOURCE)
        };
        let mut account = account.summary("How this plan was computed");
        if let Some(room) = self.room {
            for (term, value) in super::super::task::seats::plan_facts(room, self.context) {
                account = account.input(&term, &value);
            }
        }
        if let Some(tall) = &self.task.what.x_height {
            let shown = words::height(tall.value.in_metres(), self.context);
            account = account.input("Small letters", &typed_length(&tall.typed, shown));
        }
        account = account.asks_all(self.told_seats(plan).into_iter().filter_map(|seat| self.place_asked(plan, seat)));
        if self.known.plain {
            return account;
        }
        for seat in self.told_seats(plan) {
            let Some((letter, lines)) = self.seat_asked(plan, seat) else { continue };
            account = account
                .input(&format!("{} asks for", words::capital(&place(seat))), &demand_words(&letter))
                .asks_all(lines);
        }
        account = account.input("Acuity without a device", &used_words(&plan.used));
        if let (Some(device), Some(Ok(used))) = (self.device, &plan.through) {
            account = account.input(&format!("Acuity with the {}", self.known.named(device)), &used_words(used));
            if let Some(focus) = device.spec.near_focus {
                account = account.input("Nearest focus", &words::distance(focus, self.context));
            }
        }
        account = self.known.contrast_inputs(self.task, account);
        account.input("The goal needs", &goals::needed(&self.known.in_use, self.task.what.goal.into()))
    }

    /// The seats that are told with figures: the usual one, then the best.
    fn told_seats<'p>(&self, plan: &'p Plan) -> Vec<&'p SeatSeen> {
        let best = plan.best().into_iter().take(BEST).filter(|seat| !seat.usual);
        plan.usual().into_iter().chain(best).collect()
    }

    /// Where a seat stands, by the rows; the usual one stands where it was measured.
    fn place_asked(&self, plan: &Plan, seat: &SeatSeen) -> Option<outside::Asked> {
        if seat.usual {
            return None;
        }
        let grid = &plan.grid;
        let line = outside::ask("seat_in_rows")
            .count("rows", grid.rows)
            .count("row_seats", grid.row_seats)
            .with("first_row_m", grid.first_row.get())
            .with("row_gap_m", grid.row_gap.get())
            .with("seat_gap_m", grid.seat_gap.get())
            .with("board_aside_m", grid.board_aside.get())
            .count("row", seat.place.row)
            .count("seat", seat.place.seat)
            .gives("sight_distance_m", &words::distance(seat.seen.to_the_middle, self.context));
        let aside = seat.seen.middle.get();
        let told = !self.known.plain && aside >= 0.5;
        Some(if told { line.gives("obliquity_deg", &format!("{aside:.0}\u{b0}")) } else { line })
    }

    /// What the writing asks for from a seat, and the reserve that is told of it.
    fn seat_asked(&self, plan: &Plan, seat: &SeatSeen) -> Option<(LetterSeen, Vec<outside::Asked>)> {
        let tall = self.task.what.x_height.as_ref()?.value.in_metres();
        let BoardDemand::Seen(letter) = on_board(tall, seat.from, Some(plan.board)).ok()? else { return None };
        let mut lines = vec![outside::demand(tall, seat.from, Some(plan.board), &letter)];
        let used = match (seat.reach(), &plan.through) {
            (Reach::WithDevice, Some(Ok(through))) => through,
            _ => &plan.used,
        };
        if let Some(judged) = judged(seat) {
            let (acuity, words) = (used.acuity.acuity, ("", " times the threshold size"));
            let needed = judged.needed.acuity;
            lines.push(outside::reserve(letter.working_demand(), acuity, judged.acuity_reserve, needed, words));
        }
        Some((letter, lines))
    }

    /// A length in the reader's units.
    pub(super) fn far(&self, length: Metres) -> String {
        words::distance(length, self.context)
    }
}

/// The judgement that is told of a seat.
fn judged(seat: &SeatSeen) -> Option<&Judgement> {
    match (seat.reach(), &seat.alone, &seat.through) {
        (Reach::WithDevice, _, Some(Through::Judged(Answer::Judged(judged)))) => Some(judged),
        (_, Ok(Answer::Judged(judged)), _) => Some(judged),
        _ => None,
    }
}

/// A place in words.
pub(super) fn place(seat: &SeatSeen) -> String {
    format!("row {}, seat {}", seat.place.row, seat.place.seat)
}

/// A side as an arrow points.
pub(super) const fn points(side: Aside) -> f64 {
    match side {
        Aside::Left => -1.0,
        Aside::Right => 1.0,
    }
}
