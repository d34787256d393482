//! The arithmetic of sight: pure, in units, and a small textbook to read.
//!
//! | question | module |
//! |---|---|
//! | What length did somebody type, and how is one told? | [`length`], [`length::shown`] |
//! | Which acuity was typed, in any notation of the trade? | [`acuity`], [`acuity::notation`] |
//! | What is it in the other notations; is it a row of a chart? | [`acuity::equivalents`], [`acuity::rows`] |
//! | What is a count of letters, a print size in M? | [`acuity::letters`], [`acuity::near`] |
//! | Did it change, or was it only tested twice? | [`acuity::change`] |
//! | How fine a detail does writing show from a seat? | [`demand`] |
//! | How far above the threshold is it; what would mend it? | [`reserve`], [`reserve::advice`] |
//! | Is it readable for this goal? | [`readable`] |
//! | Where to sit, how large to write? | [`seat_print`] |
//! | What does a telescope show, how does it focus? | [`telescope`], [`telescope::optics`] |
//! | How near does it work, with or without a cap? | [`telescope::near`] |
//! | How is it focused for an eye without glasses? | [`telescope::focusing`] |
//! | How wide is a field by design? | [`telescope::field`] |
//! | How much of a board does it show at once? | [`telescope::coverage`] |
//! | Which part of a board is that, from the side, too? | [`telescope::outline`] |
//! | Where do the looks go that follow a line? | [`telescope::sweep`] |
//! | How strong must a magnifier be? | [`magnifier`] |
//! | How much does it stand out from its ground? | [`contrast`], [`contrast::marker`], [`contrast::screen`] |
//! | How much light is there? | [`light`] |
//! | What lens is this, and may it be typed so? | [`refraction`], [`refraction::check`] |
//! | How well is the device used, and how sure is that? | [`skill`] |
//! | What do many observations say together, and how surely? | [`stats`] |
//! | What can the student see in everyday life, with which device? | [`stats::everyday`] |
//! | Does it get better, is it mastered? | [`stats::trend`], [`stats::growth`], [`stats::overlap`], [`stats::mastery`] |
//! | How long until it is spotted; which of two is better at it? | [`stats::spotting`], [`stats::better`] |
//! | How fast is print read aloud; was it more than noise? | [`reading`] |
//! | How does speed depend on print size? | [`reading::curve`], [`reading::fit`] |
//! | What may be said of it from so few passages? | [`reading::performance`] |
//! | How fast is the board copied? | [`reading::copying`] |
//!
//! Read it from the top: an eye is measured ([`acuity`]), a target asks
//! something of it ([`demand`]), and the two are compared ([`reserve`]). That
//! comparison carries the rest: a verdict ([`readable`]), an advice
//! ([`seat_print`]), and the devices that change one side of it
//! ([`telescope`], [`magnifier`]). [`contrast`] and [`light`] are the other
//! half of seeing; [`skill`] and [`reading`] are what comes of it in use.
//!
//! Every function says its formula, its source and its range, and shows one
//! worked example. A source is *seen* (in a text or its abstract), *derived*
//! (here, and computed a second way), *from memory*, or *common practice*; the
//! last two are never shown to anybody as published. Outside its range a
//! function answers with an error that says what would be right; it never
//! clamps and never guesses.
//!
//! Knows no student, no record, no clock and no input or output. Supports
//! decisions; a clinician prescribes. Read first: [`units`].

pub mod acuity;
pub mod contrast;
pub mod demand;
pub mod length;
pub mod light;
pub mod magnifier;
pub mod readable;
pub mod reading;
pub mod refraction;
pub mod reserve;
pub mod seat_print;
pub mod skill;
pub mod stats;
pub mod telescope;
pub mod units;
