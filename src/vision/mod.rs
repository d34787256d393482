//! The arithmetic of sight: pure, in units, and a small textbook to read.
//!
//! Read it in this order; each chapter needs only those before it, opens with its
//! question and says where to go on.
//!
//! **1. What people type.** Numbers with their units, before anything is computed.
//!
//! | question | module |
//! |---|---|
//! | Why can millimetres not be added to dioptres? | [`units`] |
//! | What length did somebody type, and how is one told? | [`length`], [`length::shown`] |
//!
//! **2. An eye is measured.** How fine a detail it just sees.
//!
//! | question | module |
//! |---|---|
//! | Which acuity was typed, in any notation of the trade? | [`acuity`], [`acuity::notation`] |
//! | What is it in the other notations; is it a row of a chart? | [`acuity::equivalents`], [`acuity::rows`] |
//! | What is a count of letters, a print size in M? | [`acuity::letters`], [`acuity::near`] |
//! | Did it change, or was it only tested twice? | [`acuity::change`] |
//! | What lens is this, and may it be typed so? | [`refraction`], [`refraction::check`] |
//!
//! **3. A target asks something of it.** Size, contrast and light.
//!
//! | question | module |
//! |---|---|
//! | How fine a detail does writing show from a seat? | [`demand`] |
//! | How much does it stand out from its ground? | [`contrast`], [`contrast::marker`] |
//! | How much of that is left on a screen in a lit room? | [`contrast::screen`] |
//! | How much light is there? | [`light`] |
//!
//! **4. The two are compared.** From here on everything is a reserve.
//!
//! | question | module |
//! |---|---|
//! | How far above the threshold is it; what would mend it? | [`reserve`], [`reserve::advice`] |
//! | Is it readable for this goal? | [`readable`] |
//! | Where to sit, how large to write? | [`seat_print`] |
//! | Where does each seat of a room stand before the board? | [`room`] |
//!
//! **5. A device for far away** changes one side of the comparison, and has a field.
//!
//! | question | module |
//! |---|---|
//! | What does a telescope show, how does it focus? | [`telescope`], [`telescope::optics`] |
//! | How near does it work, with or without a cap? | [`telescope::near`] |
//! | How is it focused for an eye without glasses? | [`telescope::focusing`] |
//! | How wide is a field by design? | [`telescope::field`] |
//! | How much of a board does it show at once? | [`telescope::coverage`] |
//! | Which part of a board is that, from the side, too? | [`telescope::outline`] |
//! | Where do the looks go that follow a line? | [`telescope::sweep`] |
//!
//! **6. A device for the page**, and reading with it.
//!
//! | question | module |
//! |---|---|
//! | How strong must a magnifier be? | [`magnifier`] |
//! | How fast is print read aloud; was it more than noise? | [`reading`] |
//! | How does speed depend on print size? | [`reading::curve`], [`reading::fit`] |
//! | What may be said of it from so few passages? | [`reading::performance`] |
//! | How fast is the board copied? | [`reading::copying`] |
//!
//! **7. What comes of it in use**, each finding with its count.
//!
//! | question | module |
//! |---|---|
//! | How well is the device used, and how sure is that? | [`skill`] |
//! | What do many observations say together, and how surely? | [`stats`] |
//! | What can the student see in everyday life, with which device? | [`stats::everyday`] |
//! | Does it get better, is it mastered? | [`stats::trend`], [`stats::growth`], [`stats::overlap`], [`stats::mastery`] |
//! | How long until it is spotted; which of two is better at it? | [`stats::spotting`], [`stats::better`] |
//!
//! Every function says its formula, its source and its range, and shows one
//! worked example. A source is *seen* (in a text or its abstract), *derived*
//! (here, and computed a second way), *from memory*, or *common practice*; the
//! last two are never shown to anybody as published. Outside its range a
//! function answers with an error that says what would be right; it never
//! clamps and never guesses.
//!
//! Knows no student, no record, no clock and no input or output. Supports
//! decisions; a clinician prescribes.

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
pub mod room;
pub mod seat_print;
pub mod skill;
pub mod stats;
pub mod telescope;
pub mod units;
