//! One way in words: what to do, what it costs, and why it stands where it does.

use super::super::guidance::{demand_words, used_words};
use super::super::part::{self, Figure, How};
use super::super::words;
use super::asked::demand;
use super::{Asked, WayShown};
use crate::care::device::Strength;
use crate::care::goal::{reached_told, size_told};
use crate::care::options::{
    Change, CopyAt, Direction, LettersTo, LightTo, Limit, Options, PowerTo, ScreenTo, SeatTo, Stated, View, Way,
};
use crate::care::sight::AtHand;
use crate::care::task::Marker;
use crate::care::track::Track;
use crate::vision::acuity::near::MUnits;
use crate::vision::demand::straight_on;
use crate::vision::readable::{Basis, ContrastStanding};
use crate::vision::telescope::Steadiness;
use crate::vision::telescope::coverage::scan_time;
use crate::vision::units::{Metres, Seconds};

const FORMULA_SOURCE: &str = "Angles: geometry. Demand: the definition of logMAR. \
     Exit pupil: Schwartz, Geometrical and Visual Optics, chapter 12.";
const RESERVE_SOURCE: &str = "Reserves: Whittaker and Lovie-Kitchin 1993 and 1994, by their abstracts. The reserves a goal needs: as said beside them; \
     the contrast of a marker: the site's table; of a screen: Lambert's law. Steadiness by power and the order of the list: common practice and our own proposal.";

impl Asked<'_> {
    /// A device as this reader names it, with its tags and what comes first.
    pub(super) fn named(&self, index: usize) -> String {
        let Some(candidate) = self.devices.get(index) else { return "device".to_owned() };
        let name = self.known.named(&candidate.device);
        if candidate.tags.is_empty() { name } else { format!("{name} ({})", candidate.tags.join(", ")) }
    }

    pub(super) fn way(&self, way: &Way, options: &Options) -> WayShown {
        let mut shown = WayShown {
            title: self.title(way),
            reason: if self.known.plain { self.plain_reason(way) } else { way.rank.reason() },
            figures: Vec::new(),
            lines: Vec::new(),
            how: self.account(way, options),
        };
        for change in &way.changes {
            match change {
                Change::Seat(seat) => self.seat(seat, &mut shown),
                Change::Letters(letters) => self.letters(letters, &mut shown),
                Change::Marker(markers) => marker(markers, &mut shown),
                Change::Copy(copies) => self.copy(copies, &mut shown),
                Change::Light(light) => self.light(light, &mut shown),
                Change::Screen(to) => screen(to, self.known.plain, &mut shown),
                Change::Device(_) | Change::Power(_) => {}
            }
        }
        if let Some(view) = &way.view {
            self.view(view, &mut shown);
        }
        if self.known.plain {
            if way.view.as_ref().is_some_and(|view| view.used.acuity.basis == Basis::AtBest) {
                shown.lines.push("This is the best that can be hoped for; trying it tells.".to_owned());
            }
        } else {
            shown.figures.push(self.reserve(way));
        }
        shown
    }

    fn title(&self, way: &Way) -> String {
        let parts: Vec<String> = way
            .changes
            .iter()
            .map(|change| match change {
                Change::Seat(seat) if self.near() => {
                    format!("hold it {} from the eye", words::distance(seat.to, self.context))
                }
                Change::Seat(seat) => {
                    let middle = if seat.to_the_middle { ", in front of the middle" } else { "" };
                    let place = if self.seat.is_some() { "sit within" } else { "look from within" };
                    format!("{place} {}{middle}", words::distance(seat.to, self.context))
                }
                Change::Letters(letters) => {
                    format!("small letters {} tall", words::height(letters.height, self.context))
                }
                Change::Marker(markers) => {
                    format!("write {}", markers.first().map_or("darker", |marker| marker.words()))
                }
                Change::Copy(_) => "bring it near, on a screen or a copy at the desk".to_owned(),
                Change::Device(index) => format!("use the {}", self.named(*index)),
                Change::Power(PowerTo { strength: Strength::Times(power) }) => {
                    format!("a telescope of {}\u{d7}", power.get())
                }
                Change::Power(PowerTo { strength: Strength::Dioptres(power) }) => {
                    format!("something held to the page of {} D equivalent power", power.get())
                }
                Change::Light(LightTo { direction: Direction::More, .. }) => "more light on it".to_owned(),
                Change::Light(LightTo { direction: Direction::Less, .. }) => "less light on it".to_owned(),
                Change::Screen(to) => {
                    format!("a darker room: at most {:.0} lux of its light on the screen", to.at_most.get())
                }
            })
            .collect();
        words::capital(&words::list(&parts))
    }

    fn plain_reason(&self, way: &Way) -> String {
        match (way.rank.of_the_student, way.rank.hard.is_empty()) {
            (_, false) => "This works by numbers, but it is hard to live with.".to_owned(),
            (0, true) => "Nothing changes for your child. Whoever writes does this.".to_owned(),
            (1, true) => "One thing changes for your child.".to_owned(),
            (_, true) => "Two things change for your child.".to_owned(),
        }
    }

    fn seat(&self, seat: &SeatTo, shown: &mut WayShown) {
        let label = if self.near() { "Farthest from the eye" } else { "Farthest place" };
        let nearer = if seat.nearer.get() < 0.005 {
            "as far back as now".to_owned()
        } else {
            format!("{} nearer than now", words::distance(seat.nearer, self.context))
        };
        let middle = if seat.to_the_middle { ", in front of the middle of the board" } else { "" };
        shown
            .figures
            .push(part::figure(label, &words::distance(seat.to, self.context)).basis(&format!("{nearer}{middle}")));
        if self.near() && !self.known.plain {
            shown.lines.push(format!(
                "The eyes must focus for {:.1} D there. Whether they can, and for how long, is for the clinician to say.",
                1.0 / seat.to.get()
            ));
        }
    }

    fn letters(&self, letters: &LettersTo, shown: &mut WayShown) {
        let across = letters
            .across
            .map_or(String::new(), |across| format!("; about {across} such letters fit across the board"));
        shown.figures.push(
            part::figure("Small letters at least", &words::height(letters.height, self.context))
                .basis(&format!("{:.1} times as tall as now{across}", letters.times.get())),
        );
    }

    fn copy(&self, copies: &[CopyAt], shown: &mut WayShown) {
        for copy in copies {
            let at = words::distance(copy.distance, self.context);
            shown.figures.push(
                part::figure(&format!("Small letters on a copy {at} away"), &words::height(copy.height, self.context))
                    .basis("the distance is assumed; measure the letters as they stand on the screen or page"),
            );
        }
        shown.lines.push(
            "A mirrored screen, the camera of a tablet pointed at the board, or the slides beforehand. The contrast is taken to be that of the original, no better."
                .to_owned(),
        );
    }

    fn view(&self, view: &View, shown: &mut WayShown) {
        if let Some(near) = view.like_from.filter(|_| !self.known.plain) {
            let power = self.held(view).and_then(|device| device.spec.strength(Track::Near));
            let basis = match power {
                Some(Strength::Dioptres(power)) => format!("equivalent power {:.1} D", power.get()),
                _ => "from its equivalent power".to_owned(),
            };
            shown
                .figures
                .push(part::figure("Works like looking from", &words::distance(near, self.context)).basis(&basis));
        }
        if let Some(lens) = view.lens_to_page {
            shown.figures.push(
                part::figure("Lens to page", &words::distance(lens, self.context))
                    .basis("for eyes that look far through it; who focuses nearer holds it nearer"),
            );
        }
        if let Some(print) = view.smallest_print {
            let figure = part::figure("Smallest print for this goal", &words::height(print, self.context));
            let in_m = straight_on(print, Metres::literal(0.4))
                .and_then(|acuity| MUnits::just_read_by(acuity, Metres::literal(0.4)));
            shown.figures.push(match in_m {
                Ok(m) if !self.known.plain => figure.basis(&format!("small letters; {:.1} M", m.get())),
                _ => figure.basis("the height of its small letters"),
            });
        }
        if let Some(field) = view.seen.field {
            let seen = &view.seen;
            let mut basis: Vec<String> = Vec::new();
            basis.extend(seen.letters.map(|letters| format!("about {letters} letters of this size")));
            basis.extend(seen.share.map(|share| format!("{:.0} % of the width of the board", share.get() * 100.0)));
            basis.extend(seen.looks.map(|looks| match looks {
                1 => "one look takes in a whole line".to_owned(),
                looks => format!("{looks} looks to follow one line across"),
            }));
            let label = match view.like_from {
                None => format!("Seen at once from {}", words::distance(view.distance, self.context)),
                Some(_) => "Print seen at once".to_owned(),
            };
            let at_most = if seen.stated == Stated::AtMost { "at most " } else { "" };
            let figure = part::figure(&label, &format!("{at_most}{} wide", words::distance(field, self.context)));
            shown.figures.push(if basis.is_empty() { figure } else { figure.basis(&basis.join("; ")) });
            shown.lines.extend(seen.looks.and_then(|looks| self.about_how_long(looks, seen.stated)));
        }
        if let Some(lens) = view.objective_wanted.filter(|_| !self.known.plain) {
            shown.figures.push(
                part::figure(
                    "Objective with an exit pupil as wide as the eye's",
                    &format!("{:.0} mm", lens.get().ceil()),
                )
                .basis("a smaller one makes the picture darker; the eye's pupil as measured, times the power"),
            );
        }
        if let Some(pupil) = view.exit_pupil.filter(|_| !self.known.plain) {
            let against = match self.known.sight.pupil() {
                Some(eye) if pupil < eye => {
                    format!("smaller than the eye's pupil of {:.1} mm, so the picture is darker", eye.get())
                }
                Some(eye) => format!("at least the eye's pupil of {:.1} mm, so no light is lost to it", eye.get()),
                None => "the eye's pupil was not measured".to_owned(),
            };
            shown.figures.push(part::figure("Exit pupil", &format!("{:.1} mm", pupil.get())).basis(&against));
        }
        if let Some(steady) = view.steadiness {
            shown.lines.push(steadiness(steady).to_owned());
        }
        // A family is not told of dioptres; what to try first stands in every line.
        let clinical =
            [Limit::AtBest, Limit::TubeTravel, Limit::KeepGlasses, Limit::OverGlasses, Limit::PowerAtThatEye];
        let limits = view.limits.iter().filter(|limit| !self.known.plain || !clinical.contains(limit));
        shown.lines.extend(limits.map(|limit| format!("{}.", words::capital(limit.words()))));
        if let Some(candidate) = view.device.and_then(|index| self.devices.get(index)) {
            shown.lines.extend(candidate.before.iter().map(|before| format!("{}.", words::capital(before))));
        }
    }

    /// The device that a view is through; none for a power that nobody has here.
    pub(super) fn held(&self, view: &View) -> Option<&AtHand> {
        self.at_hand.get(view.device?)
    }

    /// How long the looks of one line take this student, where it was measured.
    fn about_how_long(&self, looks: u32, stated: Stated) -> Option<String> {
        let own = self.spotting.filter(|_| stated == Stated::OfTheDevice)?;
        let whole = scan_time(looks, own.median, Seconds::new(0.0).ok()?).ok()?;
        Some(format!(
            "About {:.0} s for one line: {looks} {} of {:.1} s each, the median of {} spotting exercises with a device, without help ({:.1} to {:.1} s).",
            whole.get(),
            if looks == 1 { "look" } else { "looks" },
            own.median.get(),
            own.exercises,
            own.least.get(),
            own.most.get(),
        ))
    }

    fn light(&self, light: &LightTo, shown: &mut WayShown) {
        let now = light.now.map_or(String::new(), |now| format!("; a meter at the desk read {:.0} lux", now.get()));
        match light.to {
            Some((to, on)) => shown.figures.push(
                part::figure("Light there", &format!("about {:.0} lux", to.get()))
                    .basis(&format!("the light that was found to suit on {}{now}", words::date(on))),
            ),
            None => shown.lines.push(format!(
                "How much light is not known: nobody recorded which light suits{now}. Measure it where the writing is, and ask the clinician."
            )),
        }
        shown.lines.push(
            "All figures hold for the light in which the eyes were examined. More light is not better for every eye: the student says which is best."
                .to_owned(),
        );
    }

    /// The reserves reached, with the interval of what is only promised.
    fn reserve(&self, way: &Way) -> Figure {
        let judged = way.judged;
        let contrast = match judged.contrast {
            ContrastStanding::Reserve(reserve) => {
                let needed = judged.needed.contrast;
                format!("contrast {} times the threshold, {} needed", reached_told(reserve, needed), needed.get())
            }
            ContrastStanding::SensitivityUnknown => "the student's contrast sensitivity is not known".to_owned(),
            ContrastStanding::TargetUnknown => "the contrast of the writing is not known".to_owned(),
        };
        let reached = judged.acuity_reserve.get();
        let told = reached_told(judged.acuity_reserve, judged.needed.acuity);
        let figure = part::figure("Reserve reached", &format!("{told} times the threshold size"))
            .basis(&format!("{} needed; {contrast}", size_told(judged.needed.acuity)));
        if way.view.as_ref().is_some_and(|view| view.used.acuity.basis == Basis::AtBest) {
            figure.interval(&format!(
                "{:.1} to {:.1} if 0.1 to 0.2 logMAR are lost in the hand",
                reached * 10_f64.powf(-0.2),
                reached * 10_f64.powf(-0.1)
            ))
        } else {
            figure
        }
    }

    fn account(&self, way: &Way, options: &Options) -> How {
        let mut lines = vec![if self.known.plain {
            "How large the writing looks is compared with what the eyes could just see when they were last examined, and with how much more is needed to do this with ease."
        } else {
            "Each step was judged as the task itself: acuity reserve = 10 to the power of (demand \u{2212} acuity), contrast reserve = contrast \u{f7} threshold contrast, both at least what the goal needs."
        }];
        for change in &way.changes {
            lines.push(match change {
                Change::Copy(_) if self.known.plain => {
                    "For a copy the near acuity counts, and the letters are rounded up."
                }
                Change::Device(_) if self.known.plain && self.near() => "The size of the lens says how much print is seen at once.",
                Change::Device(_) if self.known.plain => {
                    "The field of the device and the distance say how much is seen at once; each look overlaps the last by a fifth."
                }
                Change::Seat(_) => {
                    "The farthest place at which it holds, step by step toward the writing, rounded down; at the far edge of the board where its width is known."
                }
                Change::Letters(_) => "The smallest letters, larger than now, with which it holds, rounded up.",
                Change::Light(_) => "No figure allows for another light than the one in which the eyes were examined, so it is mended first. Light that differs by less than a third from what suits counts as the same; meters in telephones err by as much.",
                Change::Power(_) if self.near() => "The least equivalent power, of those that are had, with which it holds: the bare eye at 1 \u{f7} that power.",
                Change::Power(_) => "The least power, of those that are had, with which it holds. Seen at once: at most what power times field of 75\u{b0} allows, 2 \u{d7} distance \u{d7} tan(75\u{b0} \u{f7} power \u{f7} 2).",
                Change::Screen(_) if self.known.plain => "Three readings of a light meter on the screen say how much light is the projector\u{2019}s own and how much is the room\u{2019}s.",
                Change::Screen(_) => "The projector\u{2019}s own white and black = the readings with a white and a black slide, each less the one with the projector off. Light of the room at most = (white \u{2212} black) \u{f7} contrast needed \u{2212} white, rounded down.",
                Change::Marker(_) => "The contrast of each marker is read off the site's table.",
                Change::Copy(_) => "Height = 2 \u{d7} distance \u{d7} tan(5 minutes of arc \u{d7} reserve \u{d7} 10 to the power of near acuity \u{f7} 2), rounded up.",
                Change::Device(_) if self.near() => {
                    "A magnifier works like the bare eye at 1 \u{f7} equivalent power. Print seen at once = lens \u{f7} (power \u{d7} distance from eye to lens) for a lens in the hand or on a stand; with a reading cap 2 \u{d7} distance from cap to page \u{d7} tan(true field \u{f7} 2). Smallest print = 2 \u{d7} that distance \u{d7} tan(5 minutes of arc \u{d7} reserve \u{d7} 10 to the power of near acuity \u{f7} 2)."
                }
                Change::Device(_) => {
                    "Seen at once = 2 \u{d7} distance \u{d7} tan(true field \u{f7} 2); the share and the looks are counted in angle, each look overlapping the last by a fifth. Exit pupil = objective \u{f7} power."
                }
            });
        }
        let account = part::how(&lines).inputs(&super::super::task::facts_of(self.task, self.context));
        let mut account = if self.known.plain {
            account.source("Geometry. How much more than the least is needed, and the order of the list: common practice and our own proposal.")
        } else {
            account.source(FORMULA_SOURCE).source(RESERVE_SOURCE)
        };
        if let Some(width) = crate::care::sight::board_across(self.task, self.seat) {
            account = account.input("Board width", &words::distance(width, self.context));
        }
        if let Some((aside, _)) = self.seat.and_then(|seat| seat.what.aside.as_ref()) {
            account = account.input("To the side", &words::distance(aside.value, self.context));
        }
        let spec = way.view.as_ref().and_then(|view| self.held(view)).map(|device| &device.spec);
        if let Some(field) = spec.and_then(|spec| spec.true_field) {
            account = account.input("Field of the device", &format!("{}\u{b0}", field.get()));
        }
        if self.known.plain {
            return account.asks_all(self.asked(way, options));
        }
        let like_from = way.view.as_ref().and_then(|view| view.like_from);
        if let Some((letter, ..)) = demand(&way.scene, like_from) {
            account = account.input("The writing then asks for", &demand_words(&letter));
        }
        account = account.input("Acuity", &used_words(&self.used(way, options)));
        account = self.known.contrast_inputs(self.task, account);
        if let Some(target) = way.scene.target.filter(|_| way.changes.iter().any(gives_contrast)) {
            account = account.input("Its contrast then", &format!("{:.2} Weber", target.get()));
        }
        account
            .input("The goal needs", &super::super::task::goals::needed(&self.known.in_use, self.task.what.goal.into()))
            .asks_all(self.asked(way, options))
    }
}

/// Whether a change gives the writing another contrast.
const fn gives_contrast(change: &Change) -> bool {
    matches!(change, Change::Marker(_) | Change::Screen(_))
}

/// A darker room for a projector.
fn screen(to: &ScreenTo, plain: bool, shown: &mut WayShown) {
    let figure = part::figure("Light of the room on the screen, at most", &format!("{:.0} lux", to.at_most.get()));
    let now = format!("now {} lux, as read with the projector off", to.now.get());
    shown.figures.push(if plain {
        figure.basis(&now)
    } else {
        figure.basis(&format!("{now}; the writing then has a contrast of {:.2} Weber", to.contrast.get()))
    });
    shown.lines.push(
        "Blinds down, and the lamps before the screen off: measure again with the projector off. A brighter projector or a smaller picture does the same."
            .to_owned(),
    );
    shown
        .lines
        .push("Whoever writes still needs light at the desk: a lamp that does not shine on the screen.".to_owned());
}

fn marker(markers: &[Marker], shown: &mut WayShown) {
    let Some((first, others)) = markers.split_first() else { return };
    let figure = part::figure("Marker", &words::capital(first.words()));
    let others: Vec<&str> = others.iter().map(|marker| marker.words()).collect();
    shown.figures.push(match others.is_empty() {
        true => figure.basis("from the site's table of markers; the student says which is clearest"),
        false => figure.basis(&format!("{} would do, too; the student says which is clearest", words::list(&others))),
    });
}

/// What a power asks of the hand.
const fn steadiness(steady: Steadiness) -> &'static str {
    match steady {
        Steadiness::FreeHand => "Most children hold it free-hand.",
        Steadiness::FromAboutSeven => "From about six to eight years it can be held free-hand.",
        Steadiness::ElbowsSupported => "It asks for elbows on the desk.",
        Steadiness::UpperLimit => "It is at the limit of what can be held by hand every day.",
        Steadiness::OnlySupported => "It has to be supported; by hand alone the picture shakes too much.",
        Steadiness::NotHandHeld => "It cannot be held still by hand. A camera or a nearer seat serves better.",
    }
}
