//! What does one observation mean, in the words its reader may have?
//!
//! Three readers, three sentences. A classroom teacher's comes from her own
//! numbers and the released card's numbers only; a vision teacher's or
//! clinician's may name demand and acuity; a parent's is plain words.
//! Whoever calls has read the numbers under a proof: nothing is looked up here.
//! Read next: [`super::card::Figures`].

use super::card::Figures;
use super::goal::size_told;
use super::observation::{Band, DeviceOut, Graded, Help, Outcome, Place};
use super::sight::NoFigure;
use crate::vision::acuity::LogMar;
use crate::vision::demand::straight_on;
use crate::vision::length::shown::{Units, distance, letter_height, letter_rounded_up, seat_rounded_down};
use crate::vision::reserve::acuity_reserve;
use crate::vision::units::{Metres, Millimetres, Ratio};

/// The parts of an entry that a sentence is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Entry {
    /// How much was right.
    pub outcome: Outcome,
    /// How tall the small letters were.
    pub x_height: Option<Millimetres>,
    /// From how far.
    pub distance: Option<Metres>,
    /// Whether the device was out, or why not.
    pub device_out: DeviceOut,
    /// How much help.
    pub help: Option<Help>,
}

impl Entry {
    fn with_device(&self) -> bool {
        self.device_out == DeviceOut::Yes
    }

    fn helped(&self) -> bool {
        self.help.is_some_and(|help| help != Help::None)
    }
}

/// The card as a classroom teacher's sentence needs it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Card {
    /// No card is released.
    NotReleased,
    /// The released card's figures.
    Released(Figures),
}

fn result(outcome: Outcome) -> String {
    match outcome {
        Outcome::Counted { right, tried } => format!("{right} of {tried} right"),
        Outcome::Graded(Graded::All) => "All right".to_owned(),
        Outcome::Graded(Graded::Most) => "Most right".to_owned(),
        Outcome::Graded(Graded::Some) => "Some right".to_owned(),
        Outcome::Graded(Graded::None) => "None right".to_owned(),
        Outcome::Graded(Graded::NotSure) => "Not sure how much was right".to_owned(),
        Outcome::Graded(Graded::DidNotTry) => "Not tried".to_owned(),
    }
}

/// "3 of 8 right at 3.5 cm from 5.2 m", as far as known.
fn seen(entry: &Entry, units: Units) -> String {
    let mut words = result(entry.outcome);
    if let Some(height) = entry.x_height {
        words.push_str(&format!(" at {}", letter_height(height.in_metres(), units)));
    }
    if let Some(from) = entry.distance {
        words.push_str(&format!(" from {}", distance(from, units)));
    }
    if entry.with_device() {
        words.push_str(" with the device");
    }
    words
}

/// What is said of an entry that cannot show what was seen alone.
fn kept(entry: &Entry) -> Option<&'static str> {
    match entry.outcome {
        Outcome::Graded(Graded::DidNotTry) => Some("It is kept as what the student chose, not as a failure."),
        Outcome::Graded(Graded::NotSure) => Some("It is kept, and counted in no figure."),
        _ if entry.helped() => Some("With help, so it is not counted as seen alone."),
        _ => None,
    }
}

/// The sentence for a classroom teacher.
///
/// The card's letter height holds for its usual seat; from another distance it
/// grows with the distance (definition of visual angle, small angles). The seat
/// is the one at which the teacher's own letters look as tall as the card asks.
#[must_use]
pub fn for_classroom(entry: &Entry, card: Card, units: Units) -> String {
    let mut words = format!("{}.", seen(entry, units));
    if let Some(kept) = kept(entry) {
        words.push_str(&format!(" {kept}"));
    }
    let Card::Released(figures) = card else {
        words.push_str(" The classroom card is not released yet.");
        return words;
    };
    words.push_str(&format!(" {}", against_the_card(entry, &figures, units)));
    words
}

fn against_the_card(entry: &Entry, figures: &Figures, units: Units) -> String {
    let with_device = entry.with_device();
    let (Some(letter_mm), Some(usual_m)) = (figures.letter(with_device), figures.usual_m) else {
        return if with_device && figures.letter_mm.is_some() {
            "The card has no numbers with the device yet.".to_owned()
        } else {
            "The card has no numbers for letters and seats yet.".to_owned()
        };
    };
    let (Some(height), Some(from)) = (entry.x_height, entry.distance) else {
        return "To set it against the card, a size and a distance are needed.".to_owned();
    };
    let needed_mm = letter_mm * from.get() / usual_m;
    let asks = if with_device { "With the device the card asks for" } else { "The card asks for" };
    let Some(needed) = Metres::new(needed_mm / 1_000.0).ok().and_then(|least| letter_rounded_up(least, units).ok())
    else {
        return "From there the card's numbers do not reach.".to_owned();
    };
    let needed_words = letter_height(needed, units);
    if height.get() >= needed_mm {
        return format!("{asks} {needed_words} there, and this was large enough.");
    }
    let seat = Metres::new(usual_m * height.get() / letter_mm).ok();
    match seat.and_then(|seat| seat_rounded_down(seat, units)) {
        Some(seat) => format!("{asks} {needed_words} there, or a seat within {}.", distance(seat, units)),
        None => format!("{asks} {needed_words} there."),
    }
}

/// What the clinic's figure lets one expect, for those who may read it.
#[derive(Debug, Clone, PartialEq)]
pub struct Expected {
    /// The acuity used.
    pub acuity: LogMar,
    /// Which acuity that is, in words: "both eyes, as worn in class".
    pub which: String,
    /// The acuity reserve the task's goal needs.
    pub needed: Ratio,
    /// The goal in words.
    pub goal: String,
}

/// Why nothing says what to expect: the reason that is true, not the nearest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Silent {
    /// The figures are not this reader's.
    NotYours,
    /// Without a task there is no goal.
    NoTask,
    /// No acuity counts without a device.
    NoFigure(NoFigure),
    /// What is held to a page follows another rule than an acuity far away.
    HeldToThePage,
    /// Nothing was measured through this device, nor of the eye that uses it.
    NotThrough(NoFigure),
    /// The specification of the device is not this reader's, or it is gone.
    DeviceNotRead,
}

impl Silent {
    /// The reason as a sentence.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::NotYours => "No measured acuity that you may read says what to expect here.".to_owned(),
            Self::NoTask => {
                "It names no task of the list, so there is no goal to set a measured acuity against.".to_owned()
            }
            Self::NoFigure(why) => format!("Nothing says what to expect here: {}.", why.words()),
            Self::HeldToThePage => "It was seen with something held to the page. What to expect with that follows \
                 from its equivalent power and the print, not from an acuity at a distance, so none is set beside it."
                .to_owned(),
            Self::NotThrough(NoFigure::NoAcuity) => "Nothing says what to expect with this device: no acuity was \
                 measured through it, and none of the eye that uses it, corrected as it is used."
                .to_owned(),
            Self::NotThrough(why) => format!("Nothing says what to expect with this device: {}.", why.words()),
            Self::DeviceNotRead => "The figures of the device that was used are not among what you may read, so \
                 nothing says what to expect with it."
                .to_owned(),
        }
    }
}

/// The sentence for a vision teacher or a clinician: with the demand and, where
/// an acuity may be read, what it lets one expect; else why not.
#[must_use]
pub fn for_specialist(entry: &Entry, expected: Result<&Expected, Silent>, units: Units) -> String {
    let mut words = seen(entry, units);
    let demand =
        entry.x_height.zip(entry.distance).and_then(|(height, from)| straight_on(height.in_metres(), from).ok());
    match demand {
        Some(demand) => words.push_str(&format!(", a demand of {:.2} logMAR.", demand.get())),
        None => words.push_str(". Without a size and a distance it counts as use only."),
    }
    if let Some(kept) = kept(entry) {
        words.push_str(&format!(" {kept}"));
    }
    match (demand, expected) {
        (Some(demand), Ok(expected)) => {
            if let Ok(reserve) = acuity_reserve(demand, expected.acuity) {
                let verdict = if reserve >= expected.needed { "holds" } else { "does not hold" };
                words.push_str(&format!(
                    " Measured {:.2} logMAR ({}): a reserve of {:.1}:1, which {verdict} the {}:1 for \u{201c}{}\u{201d}.",
                    expected.acuity.get(),
                    expected.which,
                    reserve.get(),
                    size_told(expected.needed),
                    expected.goal,
                ));
            }
        }
        (Some(_), Err(silent)) => words.push_str(&format!(" {}", silent.words())),
        (None, _) => {}
    }
    words
}

/// The sentence for a parent: plain words, no figure.
#[must_use]
pub fn for_family(entry: &Entry, place: Option<Place>, band: Option<Band>) -> String {
    let mut words = match entry.outcome {
        Outcome::Counted { right, tried } => format!("You saw {right} of {tried} read right"),
        Outcome::Graded(Graded::All) => "You saw all of it read right".to_owned(),
        Outcome::Graded(Graded::Most) => "You saw most of it read right".to_owned(),
        Outcome::Graded(Graded::Some) => "You saw some of it read right".to_owned(),
        Outcome::Graded(Graded::None) => "You saw that it could not be read".to_owned(),
        Outcome::Graded(Graded::NotSure) => "You were not sure how much was read".to_owned(),
        Outcome::Graded(Graded::DidNotTry) => "You saw that your child did not try".to_owned(),
    };
    if let Some(place) = place.filter(|place| *place != Place::Elsewhere) {
        words.push_str(&format!(" {}", place.words()));
    }
    match band {
        Some(Band::ArmsLength) => words.push_str(", at arm's length"),
        Some(band @ (Band::AcrossTable | Band::AcrossRoom | Band::AcrossStreet)) => {
            words.push_str(&format!(", from {}", band.words()));
        }
        Some(Band::Farther) => words.push_str(", from far away"),
        None => {}
    }
    words.push_str(if entry.with_device() { ", with the device." } else { ", without the device." });
    words.push_str(match entry.device_out {
        DeviceOut::ChoseNot => " Choosing not to use it is worth knowing, and nobody is to blame.",
        DeviceOut::Broken => " The vision teacher can now see that the device needs care.",
        _ => " The team can now set it beside what is seen at school.",
    });
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(right: i64, tried: i64, mm: f64, m: f64) -> Entry {
        Entry {
            outcome: Outcome::Counted { right, tried },
            x_height: Millimetres::new(mm).ok(),
            distance: Metres::new(m).ok(),
            device_out: DeviceOut::NotNeeded,
            help: None,
        }
    }

    /// The product's own example: 15.5 cm there, or a seat within 1.2 m.
    fn card() -> Card {
        Card::Released(Figures {
            size_mm: Some(35.0),
            usual_m: Some(5.2),
            seat_m: Some(1.2),
            letter_mm: Some(151.0),
            with_device_seat_m: Some(4.8),
            with_device_letter_mm: Some(38.0),
        })
    }

    #[test]
    fn a_teacher_reads_her_numbers_beside_the_cards() {
        let words = for_classroom(&entry(3, 8, 35.0, 5.2), card(), Units::Metric);
        assert_eq!(
            words,
            "3 of 8 right at 3.5 cm from 5.2 m. The card asks for 15.5 cm there, or a seat within 1.2 m."
        );
    }

    #[test]
    fn from_another_distance_the_letters_grow_with_it() {
        // Twice as far, twice as tall: 302 mm, told as 30.5 cm.
        let words = for_classroom(&entry(0, 4, 35.0, 10.4), card(), Units::Metric);
        assert!(words.contains("asks for 30.5 cm there, or a seat within 1.2 m"), "{words}");
    }

    #[test]
    fn letters_as_tall_as_the_card_asks_are_said_to_be() {
        let words = for_classroom(&entry(8, 8, 160.0, 5.2), card(), Units::Metric);
        assert!(words.ends_with("The card asks for 15.5 cm there, and this was large enough."), "{words}");
    }

    #[test]
    fn with_the_device_the_cards_other_numbers_count() {
        let mut seen = entry(6, 8, 35.0, 5.2);
        seen.device_out = DeviceOut::Yes;
        let words = for_classroom(&seen, card(), Units::Metric);
        assert!(
            words.contains("with the device. With the device the card asks for 4 cm there, or a seat within 4.7 m."),
            "{words}"
        );
    }

    #[test]
    fn before_a_release_it_says_so_and_no_more() {
        let words = for_classroom(&entry(3, 8, 35.0, 5.2), Card::NotReleased, Units::Imperial);
        assert_eq!(words, "3 of 8 right at 1 3/8 in from 17 ft 1 in. The classroom card is not released yet.");
    }

    #[test]
    fn a_classroom_sentence_never_holds_a_clinical_word() {
        let mut entries = vec![entry(3, 8, 35.0, 5.2), entry(8, 8, 500.0, 0.5)];
        for graded in Graded::ALL {
            entries.push(Entry { outcome: Outcome::Graded(*graded), x_height: None, ..entry(1, 1, 35.0, 5.2) });
        }
        for entry in entries {
            for card in [card(), Card::NotReleased, Card::Released(Figures::default())] {
                let words = for_classroom(&entry, card, Units::Metric).to_lowercase();
                for banned in ["acuity", "logmar", "reserve", "power", "dioptre", "20/"] {
                    assert!(!words.contains(banned), "{words}");
                }
            }
        }
    }

    #[test]
    fn what_took_help_is_not_counted_as_seen_alone() {
        let mut seen = entry(8, 8, 35.0, 5.2);
        seen.help = Some(Help::ToldOnce);
        assert!(for_classroom(&seen, card(), Units::Metric).contains("not counted as seen alone"));
        seen.help = Some(Help::None);
        assert!(!for_classroom(&seen, card(), Units::Metric).contains("not counted"));
    }

    #[test]
    fn a_specialist_reads_demand_and_reserve() {
        // 35 mm at 5.2 m: 23.14 arcmin, log10(23.14/5) = 0.665 (definition of logMAR).
        let expected = Expected {
            acuity: LogMar::literal(0.9),
            which: "both eyes, as worn".to_owned(),
            needed: Ratio::literal(2.5),
            goal: "read on and copy".to_owned(),
        };
        let words = for_specialist(&entry(3, 8, 35.0, 5.2), Ok(&expected), Units::Metric);
        assert_eq!(
            words,
            "3 of 8 right at 3.5 cm from 5.2 m, a demand of 0.67 logMAR. Measured 0.90 logMAR (both eyes, as worn): \
             a reserve of 0.6:1, which does not hold the 2.5:1 for \u{201c}read on and copy\u{201d}."
        );
        for (silent, told) in [
            (Silent::NotYours, "No measured acuity that you may read says what to expect here."),
            (Silent::NoTask, "so there is no goal to set a measured acuity against."),
            (Silent::HeldToThePage, "not from an acuity at a distance, so none is set beside it."),
            (Silent::NotThrough(NoFigure::NoAcuity), "and none of the eye that uses it, corrected as it is used."),
            (Silent::NotThrough(NoFigure::OnlyCategory), "and no figure follows from it."),
            (Silent::DeviceNotRead, "so nothing says what to expect with it."),
        ] {
            let words = for_specialist(&entry(3, 8, 35.0, 5.2), Err(silent), Units::Metric);
            assert!(words.contains("a demand of 0.67 logMAR. ") && words.ends_with(told), "{words}");
        }
    }

    #[test]
    fn without_a_size_it_counts_as_use_only() {
        let seen = Entry { x_height: None, ..entry(3, 8, 35.0, 5.2) };
        assert!(for_specialist(&seen, Err(Silent::NotYours), Units::Metric).contains("counts as use only"));
        assert!(for_classroom(&seen, card(), Units::Metric).contains("a size and a distance are needed"));
    }

    #[test]
    fn a_parent_reads_no_figure_but_their_own() {
        let seen =
            Entry { outcome: Outcome::Graded(Graded::Some), device_out: DeviceOut::Yes, ..entry(1, 1, 35.0, 5.2) };
        assert_eq!(
            for_family(&seen, Some(Place::Home), Some(Band::AcrossTable)),
            "You saw some of it read right at home, from across the table, with the device. \
             The team can now set it beside what is seen at school."
        );
    }
}
