//! What is seen and how it is focused, in the reader's words.
//!
//! Clinical figures for those who work with them, plain words for a family.
//! What is missing is said with where it is entered, and nothing stands in its
//! place.

use super::super::outside;
use super::super::part::{self, Empty};
use super::super::visit::Visit;
use super::super::words;
use super::drawing::{self, MOST_DRAWN, Words};
use super::glasses::{glasses, plain_glasses};
use super::{Asked, Times, Told, named};
use crate::access::Role;
use crate::access::action::{Edit, Read};
use crate::access::resource::{Loans, VisualTasks};
use crate::care::options::{EYE_TO_LENS, Limit, letters_wanted};
use crate::care::sight::on_the_board;
use crate::care::through::{self, Focusing, NotSeen, OwnTimes, Seen, TIMES_NEEDED, View};
use crate::care::track::{DeviceKind, Track, WithGlasses};
use crate::vision::telescope::coverage::{MANY_LOOKS, scan_time, too_many_looks};
use crate::vision::telescope::sweep::Sweep;
use crate::vision::units::{Metres, Seconds, count};

/// What stands where there is no device to look through.
pub(super) fn no_device(visit: &Visit, track: Track) -> Empty {
    let words = match track {
        Track::Distance => {
            "No device for the distance track is at hand: none of the student\u{2019}s own, none on loan, and none in the pool that matches a recommendation."
        }
        Track::Near => {
            "No device for the near track is at hand: none of the student\u{2019}s own, none on loan, and none in the pool that matches a recommendation."
        }
    };
    match visit.may::<Loans, Read>() {
        true => part::empty(words).action(&visit.at("/devices"), "Go to the devices"),
        false => part::empty(words),
    }
}

impl Asked<'_> {
    pub(super) fn told(&self) -> Told {
        let question = self.question();
        let mut told = Told::default();
        if let Some(focusing) = through::focusing(&question) {
            told.focus = self.focus(&focusing);
        }
        match through::view(&question) {
            Ok(view) => self.seen(&view, &mut told),
            Err(why) => told.missing = Some(self.missing(why)),
        }
        told
    }

    pub(super) fn plain(&self) -> bool {
        self.known.plain
    }

    pub(super) fn far(&self, metres: Metres) -> String {
        words::distance(metres, self.context)
    }

    fn editor(&self) -> bool {
        self.visit.may::<VisualTasks, Edit>() && self.visit.role() == Some(Role::VisionTeacher)
    }

    /// What is missing, in words, with the way to add it where this reader may.
    fn missing(&self, why: NotSeen) -> Empty {
        let task = self.visit.at(&format!("/tasks/{}", self.task.id));
        let edit = |words: &'static str| self.editor().then(|| (task.clone(), words));
        let devices = self.visit.may::<Loans, Read>().then(|| (self.visit.at("/devices"), "Go to the devices"));
        let named = words::capital(&named(self.known, self.device));
        let (words, action) = match why {
            NotSeen::NoDistance => (
                "Neither a seat nor a distance is entered for this task, so nothing can be drawn. The vision teacher can add one.".to_owned(),
                edit("Add a seat or a distance"),
            ),
            NotSeen::MoveTheSeat => (
                "The seat is too far to the side of the board, and from there nothing is computed: move it toward the middle first.".to_owned(),
                self.seat_to_edit("Change the seat"),
            ),
            NotSeen::Field(Limit::FieldNotStated) => (
                format!("{named}: {}. It stands on the label, in degrees or as metres at 1000 m, and is entered with the device.", Limit::FieldNotStated.words()),
                devices,
            ),
            NotSeen::Field(Limit::LensNotStated) => (
                format!("{named}: {}. It is entered with the device, and so is its equivalent power.", Limit::LensNotStated.words()),
                devices,
            ),
            NotSeen::Field(limit) => (format!("{named}: {}.", limit.words()), None),
            NotSeen::TooNear => (
                format!("{named}: it cannot be made sharp as near as this seat{}.", self.nearest()),
                self.seat_to_edit("Change the seat"),
            ),
            NotSeen::NotThisNear => (
                "Nearer than 2 m the figures on the label of a telescope no longer hold, so nothing is drawn. Try it and see.".to_owned(),
                None,
            ),
            NotSeen::Beyond => (
                "These numbers lie outside what the formula holds for. The vision teacher can check the distances and the device.".to_owned(),
                edit("Check the task"),
            ),
        };
        let empty = part::empty(&words);
        match action {
            Some((href, words)) => empty.action(&href, words),
            None => empty,
        }
    }

    fn nearest(&self) -> String {
        match self.device.device.spec.near_focus {
            Some(nearest) => format!(": it is clear from {} on", self.far(nearest)),
            None => String::new(),
        }
    }

    fn seat_to_edit(&self, words: &'static str) -> Option<(String, &'static str)> {
        let seat = self.seat.filter(|_| self.editor())?;
        Some((self.visit.at(&format!("/seats/{}", seat.id)), words))
    }

    fn seen(&self, view: &View, told: &mut Told) {
        let Ok(across) = view.across() else {
            told.missing = Some(self.missing(NotSeen::Beyond));
            return;
        };
        let letters = view.height.and_then(|tall| count((across.get() / tall.get()).floor()));
        self.finding(view, across, letters, told);
        if view.height.is_none() {
            told.lines.push(
                "The height of the small letters is not entered, so no letters are drawn. It is entered with the task."
                    .to_owned(),
            );
        }
        match &view.seen {
            Seen::Board { sweep, .. } => {
                self.time(sweep, told);
                told.assumed.push(
                    "The height of the board is not in the record: the line of writing is drawn, at the height of the eyes."
                        .to_owned(),
                );
                told.assumed.push(
                    "The looks stand evenly, the first at the left edge, the last at the right; each overlaps the last by a fifth or more."
                        .to_owned(),
                );
            }
            Seen::Spot(_) => self.no_width(told),
            Seen::Page(_) => {
                told.lines.push(
                    "How many looks a line of print takes cannot be said: how long the lines are is not in the record."
                        .to_owned(),
                );
                if !self.device.device.spec.kind.is_telescope() {
                    told.assumed.push(format!("The lens is taken to be held {} from the eye.", self.far(EYE_TO_LENS)));
                }
            }
        }
        self.limits(view, told);
        told.assumed.push("A small letter is taken to be as wide as it is tall.".to_owned());
        told.picture = Some(drawing::of(view, self.words(view, across, letters)));
        told.how.push(self.account(view));
    }

    /// What the options say of such a device, too.
    fn limits(&self, view: &View, told: &mut Told) {
        let spec = &self.device.device.spec;
        let far = !matches!(view.seen, Seen::Page(_));
        let over = far && spec.with_glasses == Some(WithGlasses::Over);
        let cap = spec.kind.is_telescope() && spec.reading_cap.is_some();
        let stand = spec.kind == DeviceKind::StandMagnifier && !self.plain();
        let limits = [
            (over, Limit::OverGlasses),
            (cap && far, Limit::TakeCapOff),
            (cap && !far, Limit::CapSetsDistance),
            (stand, Limit::PowerAtThatEye),
        ];
        told.lines.extend(
            limits.iter().filter(|(holds, _)| *holds).map(|(_, limit)| format!("{}.", words::capital(limit.words()))),
        );
    }

    /// The finding at the top, and its figures.
    fn finding(&self, view: &View, across: Metres, letters: Option<u32>, told: &mut Told) {
        let wide = format!("{} wide", self.far(across));
        let label = match view.seen {
            Seen::Page(_) => "Print seen at once".to_owned(),
            Seen::Board { .. } | Seen::Spot(_) => format!("Seen at once from {}", self.far(view.distance)),
        };
        let figure = part::figure(&label, &wide);
        told.figures.push(match letters {
            Some(letters) => {
                let wanted = letters_wanted(self.task.what.goal);
                let goal = self.task.what.goal.words();
                figure.basis(&format!("about {letters} letters of this size; {wanted} or more are wanted to {goal}"))
            }
            None => figure,
        });
        let Seen::Board { width, sweep, .. } = &view.seen else {
            let few = letters.is_some_and(|letters| letters < letters_wanted(self.task.what.goal));
            let (kind, title) = if few { ("caution", "Few letters at once") } else { ("plain", "Seen at once") };
            let body = match letters {
                Some(letters) => format!("A part {wide} is seen at once: about {letters} letters of this size."),
                None => format!("A part {wide} is seen at once."),
            };
            told.verdict = Some(part::notice(kind, title, &body));
            return;
        };
        let share = format!("{:.0} %", sweep.seen_at_once.get() * 100.0);
        told.figures.push(
            part::figure("Share of the width of the board seen at once", &share)
                .basis(&format!("the board is {} wide", self.far(*width))),
        );
        told.figures.push(part::figure("Looks to follow one line across", &sweep.looks.len().to_string()));
        let who = if self.plain() { "your child would see" } else { "the student would see" };
        let body = match sweep.looks.len() {
            1 => format!("From this seat {who} the whole width of the board at once: one look takes in a whole line."),
            looks => format!(
                "From this seat {who} about {share} of the width of the board at once. To follow one line across takes {looks} looks."
            ),
        };
        let looks = u32::try_from(sweep.looks.len()).unwrap_or(u32::MAX);
        let time = match &self.times {
            Times::Own(times) => scan_time(looks, times.median, Seconds::literal(0.0)).ok(),
            _ => None,
        };
        told.verdict = Some(if too_many_looks(looks, time).unwrap_or(true) {
            let than = if looks > MANY_LOOKS {
                format!("That is more than {MANY_LOOKS}")
            } else {
                "At the student\u{2019}s own pace that is more than a minute".to_owned()
            };
            let more = format!("{body} {than}: a nearer seat or a copy at the desk may serve better for this.");
            part::notice("caution", "Many looks", &more)
        } else {
            part::notice("plain", "A part at a time", &body)
        });
    }

    /// How long one line takes, by the student's own times and no others.
    fn time(&self, sweep: &Sweep, told: &mut Told) {
        let few = |exercises: usize| {
            let there = match exercises {
                0 => "no exercise in spotting with this device, without help, has a time".to_owned(),
                1 => "one exercise in spotting with this device, without help, has a time".to_owned(),
                many => format!("{many} exercises in spotting with this device, without help, have a time"),
            };
            format!("How long a line takes is not said: {there}, and {TIMES_NEEDED} are needed.")
        };
        match &self.times {
            Times::OfThePool => told.lines.push(
                "How long a line takes is not said: this device is in the pool, and no times with it are recorded."
                    .to_owned(),
            ),
            Times::NotOpen => told.lines.push(
                "How long a line takes is not said: it needs times from training, and those are not open to you."
                    .to_owned(),
            ),
            Times::TooFew(exercises) => told.lines.push(few(*exercises)),
            Times::Own(times) => self.own_time(sweep, times, told),
        }
    }

    fn own_time(&self, sweep: &Sweep, times: &OwnTimes, told: &mut Told) {
        let looks = u32::try_from(sweep.looks.len()).unwrap_or(u32::MAX);
        let of = |one: Seconds| scan_time(looks, one, Seconds::literal(0.0)).map(|time| told_time(time.get()));
        let (Ok(about), Ok(least), Ok(most)) = (of(times.median), of(times.least), of(times.most)) else { return };
        told.figures.push(
            part::figure("One line, at the student\u{2019}s own pace", &format!("about {about}"))
                .interval(&format!("{least} to {most} by the fastest and the slowest exercise"))
                .basis(&format!(
                    "{} timed exercises in spotting with this device, without help: {} s each time, the median",
                    times.exercises,
                    times.median.get()
                )),
        );
        told.lines.push(
            "That is as if every look were found anew. Whoever sweeps along a line is often faster; nobody timed that here."
                .to_owned(),
        );
        told.how.push(
            part::how(&["Time = number of looks \u{d7} the median time to find something through the device."])
                .summary("How the time was computed")
                .input("Looks", &looks.to_string())
                .input("Time to spot", &format!("{} s, from {} to {} s", times.median.get(), times.least.get(), times.most.get()))
                .input("Timed exercises without help", &times.exercises.to_string())
                .source("Arithmetic of our own. Exercises that took help, and items that were not found, are not in these times.")
                .asks_all(about.ends_with(" s").then(|| {
                    outside::ask("scan_time_budget")
                        .count("views", looks)
                        .with("dwell_s", times.median.get())
                        .with("move_s", 0.0)
                        .gives("time_s", &about)
                })),
        );
    }

    /// Why no share and no looks are told.
    fn no_width(&self, told: &mut Told) {
        let own_distance = self.task.what.own_distance.is_some();
        let (words, action) = match (on_the_board(self.task), self.seat) {
            (true, Some(_)) if own_distance => (
                "This task has a distance of its own, and the board is known with a seat only: so how much of the board is seen at once, and in how many looks, cannot be said. Take the distance out to use the seat.",
                self.editor().then(|| (self.visit.at(&format!("/tasks/{}", self.task.id)), "Change the task")),
            ),
            (true, Some(_)) => (
                "The width of the board is not entered, so how much of the board is seen at once, and in how many looks, cannot be said. It is entered with the seat.",
                self.seat_to_edit("Enter the width of the board"),
            ),
            (true, None) => (
                "This task has no seat, so how much of the board is seen at once, and in how many looks, cannot be said. A seat has the width of its board.",
                self.editor().then(|| (self.visit.at(&format!("/tasks/{}", self.task.id)), "Choose a seat")),
            ),
            (false, _) => (
                "This is not entered as writing on a board or screen before the class, so how much of it is seen at once, and in how many looks, cannot be said.",
                self.editor().then(|| (self.visit.at(&format!("/tasks/{}", self.task.id)), "Change the task")),
            ),
        };
        let empty = part::empty(words);
        told.missing = Some(match action {
            Some((href, words)) => empty.action(&href, words),
            None => empty,
        });
    }

    fn focus(&self, focusing: &Focusing) -> Vec<String> {
        let mut lines = Vec::new();
        match focusing.nearest {
            Some(nearest) => lines.push(format!("It can be made sharp from {} on.", self.far(nearest))),
            None => lines.push(
                "Its nearest focus is not stated: try it at this distance first. It is entered with the device."
                    .to_owned(),
            ),
        }
        match focusing.left_far {
            _ if self.plain() => lines.push(
                "It has to be made sharp anew for each distance: the board, and whatever is nearer or farther.".to_owned(),
            ),
            Some(left) => lines.push(format!(
                "It has to be refocused for this distance: left focused far away, the eye would have to make up about {:.1} D, with a Keplerian more, with a Galilean less.",
                left.get()
            )),
            None => lines.push("It has to be refocused for this distance; its power is not stated, so by how much is not said.".to_owned()),
        }
        lines.push(if self.plain() { plain_glasses(&focusing.glasses) } else { glasses(&focusing.glasses) });
        lines
    }

    /// The words of the picture.
    fn words(&self, view: &View, across: Metres, letters: Option<u32>) -> Words {
        let tall = view.height.map(|tall| words::height(tall, self.context));
        let letters_drawn = match &tall {
            Some(tall) => format!(" Letters {tall} tall, to scale, in words of our own."),
            None => " No letters are drawn, because their height is not entered.".to_owned(),
        };
        let mut table;
        let (title, caption, board) = match &view.seen {
            Seen::Board { width, sweep, .. } => {
                table = part::table("Looks along one line")
                    .column("Look")
                    .column("Goes to, from the left edge")
                    .column("Shows, from the left edge")
                    .column("Width seen");
                for look in &sweep.looks {
                    table.push([
                        look.number.to_string(),
                        self.far(look.at),
                        format!("{} to {}", self.along(look.from), self.far(look.to)),
                        self.far(look.width()),
                    ]);
                }
                let drawn = if sweep.looks.len() > MOST_DRAWN {
                    format!(" More than {MOST_DRAWN} looks are not drawn one by one; the table has them all.")
                } else {
                    " Each ring is one look, the first with the heavy edge; the arrow is the way they go.".to_owned()
                };
                (
                    "The board through the device".to_owned(),
                    format!(
                        "{:.0} % of the width of the board at once, {} for one line.{drawn} The height of the board is not in the record.{letters_drawn}",
                        sweep.seen_at_once.get() * 100.0,
                        looks(sweep.looks.len())
                    ),
                    format!("Board, {} wide", self.far(*width)),
                )
            }
            Seen::Spot(_) | Seen::Page(_) => {
                table = part::table("One look").column("What").column("How much");
                table.push(["Seen at once".to_owned(), format!("{} wide", self.far(across))]);
                if let Some(letters) = letters {
                    table.push(["Letters of this size".to_owned(), format!("about {letters}")]);
                }
                (
                    "One look through the device".to_owned(),
                    format!("A part {} wide is seen at once.{letters_drawn}", self.far(across)),
                    String::new(),
                )
            }
        };
        let on_it = match &view.seen {
            Seen::Board { middle, .. } => middle.width(),
            Seen::Spot(outline) => outline.width(),
            Seen::Page(strip) => *strip,
        };
        Words {
            description: format!("{caption} One look is drawn enlarged."),
            title,
            caption,
            board,
            look: if matches!(view.seen, Seen::Board { .. }) {
                "One look at the middle, enlarged".to_owned()
            } else {
                "One look, enlarged".to_owned()
            },
            width: match view.seen {
                Seen::Page(_) => format!("{} of the page", self.far(on_it)),
                Seen::Board { .. } => format!("{} of the board", self.far(on_it)),
                Seen::Spot(_) => self.far(on_it),
            },
            table,
        }
    }

    /// A place from the left edge; the edge itself is no length.
    fn along(&self, place: Metres) -> String {
        if place.get() < 0.000_5 { "the edge".to_owned() } else { self.far(place) }
    }
}

pub(super) fn looks(count: usize) -> String {
    if count == 1 { "one look".to_owned() } else { format!("{count} looks") }
}

/// A time in whole seconds, from two minutes on in minutes.
fn told_time(seconds: f64) -> String {
    if seconds < 120.0 { format!("{seconds:.0} s") } else { format!("{:.0} minutes", seconds / 60.0) }
}
