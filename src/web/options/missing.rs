//! What stands where no option can be computed: what is missing, and who can
//! add it.

use super::super::outside::ask;
use super::super::part::{self, Empty, How};
use super::super::task::goals;
use super::super::{guidance, words};
use super::{Asked, Power};
use crate::access::Role;
use crate::access::action::Create;
use crate::access::resource::EvaluationRequest;
use crate::care::goal::{reached_told, size_told};
use crate::care::options::{
    COPY_AT, EYE_TO_LENS, LeftOut, MAGNIFIERS, Now, Options, PowerNeeded, Prescriber, TELESCOPES, View, What, WhyNot,
    first_row, power_needed,
};
use crate::care::sight::NoFigure;
use crate::care::track::Track;

impl Asked<'_> {
    /// What is missing, in words, with the way to add it where this reader may.
    pub(in crate::web) fn missing(&self, why: NoFigure) -> Empty {
        let edit = self.visit.at(&format!("/tasks/{}", self.task.id));
        let (words, action) = match why {
            NoFigure::NoSize => (
                "The height of the small letters is not known, so nothing can be computed. The vision teacher can measure and add it.",
                self.may_edit().then_some((edit, "Add the height")),
            ),
            NoFigure::NoDistance => (
                "Neither a seat nor a distance is entered, so nothing can be computed. The vision teacher can add one.",
                self.may_edit().then_some((edit, "Add a seat or a distance")),
            ),
            NoFigure::NoEvaluation if !self.known.evaluations => (
                "An evaluation was signed, but none has reached you. It needs a consent from the clinic to the school, which a parent or guardian signs.",
                Some((self.visit.at("/people"), "See people and consent")),
            ),
            NoFigure::NoEvaluation => (
                "No signed evaluation is on file, so nothing can be computed. A clinician examines and signs it; the vision teacher asks for one.",
                self.visit
                    .may::<EvaluationRequest, Create>()
                    .then(|| (self.visit.at("/evaluations/request"), "Ask for an evaluation")),
            ),
            NoFigure::NoAcuity => (
                "No acuity that fits this distance was measured, so nothing can be computed. A clinician can add one with an evaluation.",
                (!self.known.plain).then(|| (self.visit.at("/evaluations"), "See the evaluations")),
            ),
            NoFigure::OnlyCategory if self.known.plain => {
                ("No figure follows from the eye examination. The vision teacher can say more.", None)
            }
            NoFigure::OnlyCategory => (
                "The acuity is a category such as counting fingers. No figure follows from it, so no option is computed. Ask the clinician what is useful to try.",
                Some((self.visit.at("/evaluations"), "See the evaluations")),
            ),
            NoFigure::NoWriting | NoFigure::Beyond => (
                "These numbers lie outside what the formulas hold for. The vision teacher can check the height and the distance.",
                self.may_edit().then_some((edit, "Check the task")),
            ),
        };
        let empty = part::empty(words);
        match action {
            Some((href, words)) => empty.action(&href, words),
            None => empty,
        }
    }

    /// How the task stands now, for the notice at the top.
    pub(super) fn verdict(&self, options: &Options) -> (&'static str, &'static str, String) {
        match options.now {
            Now::Readable(_) => (
                "good",
                "Already readable",
                "From there the writing is large and dark enough for this goal without a device. Nothing has to change.".to_owned(),
            ),
            Now::LargeEnough(_) => (
                "good",
                "Already large enough",
                format!(
                    "From there the writing is large enough for this goal without a device. Whether it is dark enough is not known: {}.",
                    self.dark_not_known()
                ),
            ),
            Now::InAnotherLight(_) => (
                "caution",
                "Not in this light",
                "The writing is large enough for this goal, as far as is known, in the light in which the eyes were examined. The light there is another, and no figure allows for that: mend it first, and try.".to_owned(),
            ),
            Now::MoveTheSeat(aside) => (
                "caution",
                "Move the seat",
                format!(
                    "The seat is {:.0}\u{b0} to the side of the board. Move it toward the middle first; nothing else is computed from so far aside.",
                    aside.get()
                ),
            ),
            Now::Short(_) if options.singles.is_empty() && options.pairs.is_empty() => (
                "caution",
                "No one or two changes do it",
                "Nothing that was looked at reaches what this goal needs, alone or together with one other change. The list below says why.".to_owned(),
            ),
            Now::Short(_) => {
                let unknown = match self.contrast_known() {
                    true => String::new(),
                    false => format!(" Whether the writing is dark enough is not known: {}.", self.dark_not_known()),
                };
                ("plain", "Not readable as it is", format!("These changes would do it, by arithmetic. Try one before it is promised.{unknown}"))
            }
        }
    }

    fn contrast_known(&self) -> bool {
        self.known.sight.contrast().is_some()
            && self.known.sight.contrast_of(&self.task.what, self.known.in_use.markers()).is_some()
    }

    fn dark_not_known(&self) -> &'static str {
        if self.known.sight.contrast().is_none() {
            "the student's contrast sensitivity was not measured"
        } else if self.known.sight.colour_loss() {
            "the table of markers does not hold for this student; ask which marker is clearest"
        } else {
            "nobody entered which marker is used"
        }
    }

    /// What was looked at and is not listed, and why.
    pub(super) fn left_out(&self, left: &LeftOut) -> (String, String) {
        let what = match left.what {
            What::Seat if self.near() => "Holding it nearer".to_owned(),
            What::Seat => "A nearer seat".to_owned(),
            What::Letters => "Larger letters".to_owned(),
            What::Marker => "Another marker".to_owned(),
            What::Copy => "A copy at the desk".to_owned(),
            What::Device(index) => words::capital(&self.named(index)),
            What::Power => "Another power".to_owned(),
            What::Light => "Another light".to_owned(),
        };
        let why = match left.reached {
            Some(reached) if !self.known.plain => format!(
                "{}: {} times the threshold size, {} needed.",
                left.why.words(),
                reached_told(reached.acuity_reserve, reached.needed.acuity),
                size_told(reached.needed.acuity)
            ),
            _ if self.known.plain && left.why == WhyNot::NoStrength => "not enough is known about it.".to_owned(),
            _ if self.known.plain && left.why == WhyNot::GlassesStayOn => {
                "it is used without glasses, and these eyes need their glasses on.".to_owned()
            }
            _ => format!("{}.", left.why.words()),
        };
        (what, words::capital(&why))
    }

    /// The power that would be needed, with the eye it starts from.
    pub(super) fn power_for_a_clinician(&self, prescriber: Prescriber) -> Power {
        match power_needed(&self.question(), prescriber.eye, prescriber.glasses) {
            Err(why) => {
                Power::Words(format!("The power that would be needed cannot be computed: {}.", why.words()), None)
            }
            Ok(needed) => {
                let (figure, how) = self.power_figure(&needed);
                Power::Figure(figure, Box::new(how))
            }
        }
    }

    fn power_figure(&self, needed: &PowerNeeded) -> (part::Figure, How) {
        let reserve = goals::size_needed(&self.known.in_use, self.task.what.goal.into());
        let needed_for = self.known.in_use.goals().needed(self.task.what.goal.into()).acuity;
        // A power is rounded up: less would not do it.
        let up = |value: f64| (value * 10.0 - 1e-9).ceil() / 10.0;
        match needed {
            PowerNeeded::Times { demand, least, often, used } => {
                let practice = if least.get() > 10.0 {
                    ". Above 10\u{d7} a hand-held device is not practical: a camera or a nearer seat"
                } else {
                    ""
                };
                let figure = part::figure("Power needed from this seat", &format!("{:.1}\u{d7}", up(least.get())))
                    .interval(&format!(
                        "{:.1}\u{d7} to {:.1}\u{d7} if 0.1 to 0.2 logMAR are lost by hand, light and focus",
                        up(often[0].get()),
                        up(often[1].get())
                    ))
                    .basis(&format!("for the size alone; no power mends contrast{practice}"));
                let how = part::how(&[
                    "Power = reserve needed \u{f7} reserve that this eye has without the device, at the far edge of the board.",
                    "Reserve = 10 to the power of (demand \u{2212} acuity). Rounded up.",
                ])
                .input("The writing asks for", &format!("{:.2} logMAR", demand.get()))
                .input("Acuity of the eye that would look", &guidance::used_words(used))
                .input("Reserve needed", &reserve)
                .source("Definitions; the loss in use is common practice.")
                .asks_all([(0.0, least), (0.1, &often[0]), (0.2, &often[1])].iter().filter_map(|(lost, power)| {
                    // No power is needed where the reserve is there already.
                    let power = Some(power).filter(|power| power.get() >= 1.0)?;
                    let line = ask("acuity_reserve")
                        .with("threshold_logmar", used.acuity.acuity.get() + lost)
                        .with("demand_logmar", demand.get())
                        .with("required_reserve_ratio", needed_for.get());
                    Some(line.gives_up("magnification_needed", &format!("{:.1}\u{d7}", up(power.get()))))
                }));
                (figure, how)
            }
            PowerNeeded::Dioptres { height, at_arms_length, least, used } => {
                let figure = part::figure("Equivalent power needed", &format!("{:.1} D", up(least.get())))
                    .basis("for the size alone; no power mends contrast");
                let how = part::how(&[
                    "Equivalent power = 1 \u{f7} the distance at which the bare eye would have to hold the page for the reserve that is needed; no less than for arm\u{2019}s length, 40 cm.",
                    "Rounded up. No label is compared.",
                ])
                .input("Small letters", &words::height(*height, self.context))
                .input("Near acuity", &guidance::used_words(used))
                .input("Reserve needed", &reserve)
                .source("Definition of equivalent viewing distance.");
                let told = format!("{:.1} D", up(least.get()));
                let how = how.asks(if *at_arms_length {
                    ask("accommodative_demand").with("distance_m", COPY_AT[0].get()).gives_up("demand_D", &told)
                } else {
                    ask("equivalent_power_for_height")
                        .with("threshold_logmar", used.acuity.acuity.get())
                        .with("letter_height_m", height.get())
                        .with("required_reserve_ratio", needed_for.get())
                        .gives_up("equivalent_power_D", &told)
                });
                (figure, how)
            }
        }
    }

    /// Whether this reader is a clinician, who is shown more of the pool.
    pub(super) fn for_a_clinician(&self) -> bool {
        self.visit.role() == Some(Role::Clinician)
    }

    /// Everything that nobody entered and that the figures rest on.
    pub(super) fn assumed(&self, options: &Options) -> Vec<String> {
        let mut assumed = Vec::new();
        if !matches!(options.now, Now::Short(_) | Now::MoveTheSeat(_)) {
            return assumed;
        }
        if let Some(nearest) = options.nearest {
            let nearest = words::distance(nearest, self.context);
            assumed.push(match self.task.what.track {
                Track::Distance if first_row(self.task, self.seat).is_some() => {
                    format!("The first row is {nearest} from the board, so no place nearer than that is offered.")
                }
                Track::Distance => format!(
                    "No place nearer than {nearest} is offered. Nobody entered where the first row is, so this is assumed."
                ),
                Track::Near => format!("Nothing nearer to the eye than {nearest} is offered. This is assumed."),
            });
        }
        assumed.push("A small letter is taken to be as wide as it is tall.".to_owned());
        let views = options.singles.iter().chain(&options.pairs).filter_map(|way| way.view.as_ref());
        if views.clone().any(|view| view.seen.looks.is_some()) {
            assumed
                .push("When a line is followed through a device, each look overlaps the last by a fifth.".to_owned());
        }
        let window = |view: &View| {
            let device = view.device.and_then(|index| self.at_hand.get(index));
            view.seen.field.is_some() && device.is_some_and(|device| device.spec.kind.is_magnifier())
        };
        if views.clone().any(window) {
            assumed.push(format!(
                "A magnifier is taken to be held {} from the eye.",
                words::distance(EYE_TO_LENS, self.context)
            ));
        }
        if self.for_a_clinician() {
            assumed.push(match self.near() {
                true => format!(
                    "Powers that nobody has here are looked for as they are had: {} D equivalent power (common practice).",
                    words::list(&MAGNIFIERS.map(|power| power.get().to_string()))
                ),
                false => format!(
                    "Powers that nobody has here are looked for as telescopes for the hand are had: {}\u{d7} (common practice). What one shows at once is the most that its power allows: power times field up to 75\u{b0}.",
                    words::list(&TELESCOPES.map(|power| power.get().to_string()))
                ),
            });
            assumed.push(
                "Every device of the pool that can stand on this track is looked at, recommended or not.".to_owned(),
            );
        } else if !self.known.plain {
            assumed.push("From the pool only what is in and matches the recommendation is looked at.".to_owned());
        }
        if options.dim {
            assumed.push(
                "The light there is entered as too little. Acuity and contrast were measured in good light, and no figure here allows for the difference: mend the light first."
                    .to_owned(),
            );
        }
        assumed
    }
}
