//! Figures about tasks and seats, put into the reader's words.
//!
//! The arithmetic is [`crate::care::sight`]. Here is decided only how a figure
//! reads: with clinical numbers for those who work with them, in plain words
//! for a family. What a reader may not read was never loaded.

use super::error::Result;
use super::page::Context;
use super::part::{How, Status, how, status};
use super::state::App;
use super::task::goals;
use super::visit::Visit;
use super::words;
use crate::access::Access;
use crate::access::action::Read;
use crate::access::resource::{Evaluation, Guidance, Intake, Loans, Resource, Transcription, VisualTasks};
use crate::care::goal::{InUse, reached_told, size_told};
use crate::care::sight::{self, AtHand, NoFigure, Sight, Used};
use crate::care::task::{Seat, VisualTask};
use crate::care::track::Track;
use crate::store;
use crate::vision::demand::{BoardDemand, FARTHEST_ASIDE};
use crate::vision::readable::{Answer, Basis, ContrastStanding, Judgement, Verdict};
use crate::vision::seat_print::SeatAndPrint;
use crate::vision::units::Metres;

mod account;
mod asked;
mod said;
mod through;

use said::{basis_words, goal_words, line_words, shape};
pub(in crate::web) use said::{demand_words, named, used_words, verdict};
pub(in crate::web) use through::{field_asked, pupil_asked};

/// The sources of the reserves, in one sentence each.
pub(super) const RESERVE_SOURCE: &str = "Reserve: Whittaker and Lovie-Kitchin 1993 and 1994, by their abstracts. \
     The reserves that a goal needs, and the contrast of a marker: as said beside each.";
const ANGLE_SOURCE: &str = "Angle: geometry. Demand: the definition of logMAR.";
/// What is known for the figures of one student, as far as one reader may read it.
pub struct Known {
    /// How the student sees.
    pub sight: Sight,
    /// The reserves and contrasts that count here, and on whose word.
    pub in_use: InUse,
    /// Whether the reader gets plain words without clinical figures.
    pub plain: bool,
    /// Whether nothing that was signed is kept from the reader.
    pub evaluations: bool,
}

/// One finding with its mark.
pub struct SeenLine {
    /// The verdict.
    pub status: Status,
    /// What stands behind it.
    pub words: String,
}

/// What is computed about one task.
pub struct TaskSeen {
    /// One line each: without a device, then with each device at hand.
    pub lines: Vec<SeenLine>,
    /// How the figures were computed.
    pub how: Vec<How>,
}

/// What is computed about one room.
pub struct RoomSeen {
    /// Without a device, then with each.
    pub lines: Vec<String>,
    /// How the figures were computed.
    pub how: Vec<How>,
}

/// What this reader's figures rest on; nothing for one who gets no figures.
///
/// # Errors
/// When the database fails.
pub async fn known(app: &App, visit: &Visit, tasks: &Access<VisualTasks, Read>) -> Result<Option<Known>> {
    let Some(access) = visit.open_if::<Guidance, Read>().await? else { return Ok(None) };
    let seen = sight_of(app, visit, &access).await?;
    let mut snapshot = app.store.snapshot().await?;
    Ok(Some(Known {
        sight: seen.sight,
        in_use: store::goal::of(&mut snapshot, tasks).await?,
        plain: access.limits().plain_words,
        evaluations: seen.evaluations,
    }))
}

/// How the student sees, as far as one reader may read it.
pub(in crate::web) struct SightRead {
    /// What is known.
    pub(in crate::web) sight: Sight,
    /// Whether nothing that was signed is kept from the reader.
    pub(in crate::web) evaluations: bool,
}

/// How the student sees, each part under its own proof.
pub(in crate::web) async fn sight_of(app: &App, visit: &Visit, access: &Access<Guidance, Read>) -> Result<SightRead> {
    let there_is = store::sight::there_is(&mut app.store.snapshot().await?, access).await?;
    // Which glasses are worn in class matters only beside an acuity.
    let acuity = there_is.evaluation || there_is.transcription;
    let next = [
        (there_is.evaluation, Evaluation::ROW),
        (there_is.transcription, Transcription::ROW),
        (acuity, Intake::ROW),
        (there_is.device, Loans::ROW),
    ];
    let next: Vec<_> = next.into_iter().filter_map(|(there, row)| there.then_some(row)).collect();
    visit.opens_next(&next).await?;
    let (mut evaluation, mut transcription, mut intake, mut loans) = (None, None, None, None);
    if there_is.evaluation {
        evaluation = visit.open_if::<Evaluation, Read>().await?;
    }
    if there_is.transcription {
        transcription = visit.open_if::<Transcription, Read>().await?;
    }
    if acuity {
        intake = visit.open_if::<Intake, Read>().await?;
    }
    if there_is.device {
        loans = visit.open_if::<Loans, Read>().await?;
    }
    let mut snapshot = app.store.snapshot().await?;
    let parts = store::sight::Parts {
        evaluation: evaluation.as_ref(),
        transcription: transcription.as_ref(),
        intake: intake.as_ref(),
        loans: loans.as_ref(),
    };
    Ok(SightRead {
        sight: store::sight::of(&mut snapshot, &parts).await?,
        evaluations: !there_is.evaluation || evaluation.is_some(),
    })
}

impl Known {
    /// What is left out, and why, over all figures of the page.
    pub fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        if self.sight.evaluations.is_empty() {
            notes.push(if self.evaluations {
                "No signed evaluation is on file yet. Figures that need one are left out.".to_owned()
            } else {
                "No evaluation has reached you. It needs a consent from the clinic to the school. Figures that need one are left out.".to_owned()
            });
        }
        if self.sight.unconfirmed() {
            notes.push(
                "Figures here rest on a report copied from paper: transcribed, not confirmed by a clinician yet."
                    .to_owned(),
            );
        }
        if self.sight.colour_loss() {
            notes.push(
                "The contrast of a coloured marker is not computed for this student. Ask which marker is clearest."
                    .to_owned(),
            );
        }
        notes
    }

    /// One task from its seat: readable or not, without a device and with each.
    pub fn task(&self, task: &VisualTask, seat: Option<&Seat>, context: &Context) -> TaskSeen {
        let mut seen = TaskSeen { lines: Vec::new(), how: Vec::new() };
        let demand = match sight::demand_of(task, seat) {
            Ok(demand) => demand,
            Err(why) => {
                seen.lines.push(SeenLine { status: status("Not computed", "plain"), words: self.missing(why) });
                return seen;
            }
        };
        let BoardDemand::Seen(letter) = demand else {
            seen.lines.push(self.moved(demand));
            return seen;
        };
        if !self.plain {
            seen.lines
                .push(SeenLine { status: status("Asks for", "plain"), words: format!("{}.", demand_words(&letter)) });
        }
        let unaided = self.sight.unaided(task.what.track);
        seen.lines.push(self.line("Without a device", task, seat, &unaided));
        let mut account = self
            .account(task, seat, unaided.as_ref().ok(), context)
            .asks_all(self.demand_asked(task, seat, &letter))
            .asks_all(self.reserves_asked(task, seat, &unaided));
        for device in self.sight.devices.iter().filter(|device| device.track == task.what.track) {
            if device.track == Track::Near {
                // A magnifier is not judged by a far acuity and a power.
                continue;
            }
            let through = self.sight.through(device);
            seen.lines.push(self.line(&format!("With the {}", self.named(device)), task, seat, &through));
            if let (false, Ok(used)) = (self.plain, &through) {
                account = account.input(&format!("Acuity with the {}", self.named(device)), &used_words(used));
            }
            account = account.asks_all(self.reserves_asked(task, seat, &through));
            if let Ok(from) = sight::looked_from(task, seat) {
                let far = Metres::new(from.to_the_board.get().hypot(from.aside.get())).unwrap_or(from.to_the_board);
                self.telescope(&mut seen, device, far, context);
            }
        }
        // To a family the account says something only beside an answer.
        if !self.plain || unaided.is_ok() {
            seen.how.insert(0, account);
        }
        seen
    }

    fn line(
        &self,
        who: &str,
        task: &VisualTask,
        seat: Option<&Seat>,
        used: &std::result::Result<Used, NoFigure>,
    ) -> SeenLine {
        let answer = used.as_ref().map_err(|why| *why).and_then(|used| {
            self.sight.judge(task, seat, used, self.in_use.goals(), self.in_use.markers()).map(|answer| (used, answer))
        });
        match answer {
            Ok((used, Answer::Judged(judged))) => SeenLine {
                status: status(verdict(judged.verdict), shape(judged.verdict)),
                words: self.judged(who, task, used, &judged),
            },
            Ok((_, Answer::MoveTheSeat { obliquity })) => self.moved(BoardDemand::MoveTheSeat { obliquity }),
            Err(why) => {
                SeenLine { status: status("Not computed", "plain"), words: format!("{who}: {}", self.missing(why)) }
            }
        }
    }

    fn moved(&self, demand: BoardDemand) -> SeenLine {
        let aside = match demand {
            BoardDemand::MoveTheSeat { obliquity } => obliquity,
            BoardDemand::Seen(letter) => letter.obliquity,
        };
        SeenLine {
            status: status("Move the seat", "caution"),
            words: format!(
                "The seat is {:.0}\u{b0} to the side of the board. Beyond {:.0}\u{b0} the writing cannot be judged: move the seat toward the middle.",
                aside.get(),
                FARTHEST_ASIDE.get()
            ),
        }
    }

    fn judged(&self, who: &str, task: &VisualTask, used: &Used, judged: &Judgement) -> String {
        let goal = task.what.goal.words();
        if self.plain {
            let hope = if used.acuity.basis == Basis::AtBest {
                " This is the best that can be hoped for; trying it tells."
            } else {
                ""
            };
            return match judged.verdict {
                Verdict::Readable => format!("{who}: large and dark enough from there to {goal}.{hope}"),
                Verdict::LargeEnoughContrastUnknown => {
                    format!("{who}: large enough from there to {goal}. Whether it is dark enough is not known.{hope}")
                }
                Verdict::TooSmall => format!("{who}: too small from there to {goal}. Closer or larger would help."),
                Verdict::TooFaint => {
                    format!("{who}: large enough, but too faint to {goal}. Darker writing comes first.")
                }
                Verdict::TooSmallAndTooFaint => format!("{who}: too small and too faint from there to {goal}."),
            };
        }
        let contrast = match judged.contrast {
            ContrastStanding::Reserve(reserve) => {
                let needed = judged.needed.contrast;
                format!("contrast {} times the threshold, {} needed", reached_told(reserve, needed), needed.get())
            }
            ContrastStanding::SensitivityUnknown => "the student's contrast sensitivity is not known".to_owned(),
            ContrastStanding::TargetUnknown => "the contrast of the writing is not known".to_owned(),
        };
        format!(
            "{who} ({}): {} times the threshold size, {} needed to {goal}; {contrast}.",
            basis_words(used),
            reached_told(judged.acuity_reserve, judged.needed.acuity),
            size_told(judged.needed.acuity),
        )
    }

    /// The seat-and-print line of one room.
    pub fn room(&self, seat: &Seat, tasks: &[VisualTask], context: &Context) -> RoomSeen {
        let found = match self.sight.seat_line(seat, tasks, self.in_use.goals(), self.in_use.markers()) {
            Ok(found) => found,
            Err(NoFigure::NoWriting) => {
                let line = "No writing on this board was measured yet. Add a task that is shown on the board and seen from this seat, with the measured height of its small letters.";
                return RoomSeen { lines: vec![line.to_owned()], how: Vec::new() };
            }
            Err(why) => return RoomSeen { lines: vec![words::capital(&self.missing(why))], how: Vec::new() },
        };
        let tall = words::height(found.writing.x_height, context);
        let goal = found.writing.goal;
        let what = format!("For writing {tall} tall, to {}", goal_words(goal));
        let mut lines = vec![self.told(&what, &found.line, &found.used, context)];
        for (index, used, line) in &found.with {
            let Some(device) = self.sight.devices.get(*index) else { continue };
            if let SeatAndPrint::Advice(advice) = line
                && let Some(with) = advice.with_device
            {
                lines.push(format!(
                    "With the {}{}: {}.",
                    self.named(device),
                    self.basis(used),
                    line_words(&with, context)
                ));
            }
        }
        if let SeatAndPrint::Advice(advice) = &found.line {
            if let Some(aside) = advice.seen_from_the_side {
                lines.push(format!(
                    "The seat is {:.0}\u{b0} to the side. From there it is harder than this line says.",
                    aside.get()
                ));
            }
            match advice.contrast {
                ContrastStanding::SensitivityUnknown => lines.push(
                    "Whether the writing is dark enough is not known: contrast sensitivity was not measured."
                        .to_owned(),
                ),
                ContrastStanding::TargetUnknown => {
                    lines.push("Whether the writing is dark enough is not known: say which marker is used.".to_owned())
                }
                ContrastStanding::Reserve(_) => {}
            }
        }
        let mut account = if self.plain {
            how(&["The smallest measured writing on this board, the usual seat, and what the eyes could just see when they were last examined."])
        } else {
            how(&[
                "Farthest seat = height \u{f7} (2 \u{d7} tan(5 minutes of arc \u{d7} reserve \u{d7} 10 to the power of acuity \u{f7} 2)), rounded down.",
                "Smallest letter = 2 \u{d7} distance \u{d7} tan(the same angle), rounded up. Both are for a look from straight in front.",
            ])
            .source(RESERVE_SOURCE)
        }
        .input("Smallest measured writing", &tall)
        .input("Seat", &super::task::typed_length(&seat.what.distance.typed, words::distance(seat.what.distance.value, context)));
        if !self.plain {
            account = account
                .input("Acuity without a device", &used_words(&found.used))
                .input("Reserve needed", &goals::size_needed(&self.in_use, goal));
            for (index, used, _) in &found.with {
                if let Some(device) = self.sight.devices.get(*index) {
                    account = account.input(&format!("Acuity with the {}", self.named(device)), &used_words(used));
                }
            }
        }
        account = account.asks_all(self.room_asked(seat, &found, context));
        RoomSeen { lines, how: vec![account] }
    }

    fn told(&self, what: &str, line: &SeatAndPrint, used: &Used, context: &Context) -> String {
        match line {
            SeatAndPrint::Advice(advice) => {
                format!("{what}{}: {}.", self.basis(used), line_words(&advice.unaided, context))
            }
            SeatAndPrint::MendContrastFirst { .. } if self.plain => {
                format!("{what}: the writing is too faint. Darker writing comes first.")
            }
            SeatAndPrint::MendContrastFirst { reserve, needed } => format!(
                "{what}: mend the contrast first. It is {} times the threshold and {} are needed; no seat and no size mends that.",
                reached_told(*reserve, *needed),
                needed.get()
            ),
            SeatAndPrint::MoveTheSeat { obliquity } => {
                self.moved(BoardDemand::MoveTheSeat { obliquity: *obliquity }).words
            }
        }
    }

    fn basis(&self, used: &Used) -> String {
        if self.plain {
            let at_best = if used.acuity.basis == Basis::AtBest { ", at best" } else { "" };
            return format!("{at_best}{}", used.unconfirmed());
        }
        format!(" ({}{})", basis_words(used), used.unconfirmed())
    }

    fn missing(&self, why: NoFigure) -> String {
        match why {
            NoFigure::OnlyCategory if self.plain => {
                "no figure follows from the eye examination. The vision teacher can say more.".to_owned()
            }
            NoFigure::NoEvaluation if !self.evaluations => "no evaluation has reached you.".to_owned(),
            why => format!("{}.", why.words()),
        }
    }

    /// A device as this reader names it.
    pub fn named(&self, device: &AtHand) -> String {
        named(device, self.plain)
    }
}
