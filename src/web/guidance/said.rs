//! Single findings in words: a device, a demand, a verdict, and what an acuity
//! rests on.

use super::super::page::Context;
use super::super::words;
use crate::care::evaluation::Correction;
use crate::care::sight::{AtHand, AtHandAs, Used};
use crate::care::task;
use crate::care::track::Eye;
use crate::vision::demand::LetterSeen;
use crate::vision::readable::{Basis, Goal, Verdict};
use crate::vision::seat_print::Line;

/// A device by its source, its power where the reader gets figures, and its kind.
pub(in crate::web) fn named(device: &AtHand, plain: bool) -> String {
    // "handheld telescope, monocular" reads ill in the middle of a sentence.
    let kind = match device.spec.kind.words().split_once(", ") {
        Some((what, which)) => format!("{which} {what}"),
        None => device.spec.kind.words().to_owned(),
    };
    let source = match device.source {
        AtHandAs::Own => "own ",
        AtHandAs::Loan => "lent ",
        AtHandAs::Pool => "pool ",
    };
    match device.spec.power {
        Some(power) if !plain => format!("{source}{}\u{d7} {kind}", power.get()),
        _ => format!("{source}{kind}"),
    }
}

/// What the writing asks for, and how large its small letters look.
pub(in crate::web) fn demand_words(letter: &LetterSeen) -> String {
    let aside = if letter.obliquity.get() < 0.5 {
        String::new()
    } else {
        format!(" and {:.1} wide, {:.0}\u{b0} from the side", letter.width.get(), letter.obliquity.get())
    };
    format!(
        "{:.2} logMAR: the small letters are seen {:.1} minutes of arc tall{aside}",
        letter.working_demand().get(),
        letter.height.get(),
    )
}

pub(super) fn goal_words(goal: Goal) -> &'static str {
    match goal {
        Goal::NameIt => task::Goal::NameIt,
        Goal::Phrase => task::Goal::Phrase,
        Goal::Copy => task::Goal::Copy,
    }
    .words()
}

pub(super) fn line_words(line: &Line, context: &Context) -> String {
    line.words(words::units(context))
        .unwrap_or_else(|_| "these numbers lie outside what the formula holds for".to_owned())
}

pub(in crate::web) fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Readable => "Readable",
        Verdict::LargeEnoughContrastUnknown => "Large enough",
        Verdict::TooSmall => "Too small",
        Verdict::TooFaint => "Too faint",
        Verdict::TooSmallAndTooFaint => "Too small and too faint",
    }
}

pub(super) fn shape(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Readable | Verdict::LargeEnoughContrastUnknown => "good",
        Verdict::TooSmall | Verdict::TooFaint | Verdict::TooSmallAndTooFaint => "caution",
    }
}

pub(super) fn basis_words(used: &Used) -> String {
    match used.acuity.basis {
        Basis::BetterEye => format!("the better eye alone, {}, {}", used.eye.words(), worn(used)),
        Basis::AtBest => format!("at best, from the power and the {} {}", used.eye.words(), worn(used)),
        Basis::NearRow if used.worn == Correction::BestCorrection => {
            "a near row with best correction, not what is worn in class".to_owned()
        }
        Basis::NearRow => format!("a near row, {}, {}", used.eye.words(), worn(used)),
        basis => basis.to_string(),
    }
}

/// What was worn, for the middle of a sentence.
pub(super) fn worn(used: &Used) -> &'static str {
    match used.worn {
        Correction::None => "without glasses",
        worn => worn.words(),
    }
}

/// An acuity as written, with its eye, correction, distance and date.
pub(in crate::web) fn used_words(used: &Used) -> String {
    let eye = if used.eye == Eye::Either { "" } else { used.eye.words() };
    let promised = if used.acuity.basis == Basis::AtBest { ", less log10 of the power" } else { "" };
    format!(
        "{:.2} logMAR, from {} at {}, {eye}, {}, {}{promised}{}",
        used.acuity.acuity.get(),
        used.as_recorded,
        used.at,
        worn(used),
        words::date(used.on),
        used.unconfirmed(),
    )
}
