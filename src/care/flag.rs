//! What a person may see that means eye care today, and what the screen says
//! then (G9).
//!
//! One text for every flag. The software never ranks a symptom, scores it or
//! plays it down, so no flag carries a speed of its own. The list is first-aid
//! and paediatric eye practice (common practice) and must be reviewed by the
//! project's clinician before release.
//! Does not know who is told; the pause itself is [`super::gates::not_paused`].

use jiff::Timestamp;
use jiff::civil::Date;

use super::codes::codes;
use super::ids::FlagId;

codes! {
    /// A red flag; its words are the choice on screen.
    pub enum Sign {
        SuddenLoss = "rf1" : "Sudden loss of sight, or sight suddenly much worse, one or both eyes",
        Flashes = "rf2" : "New flashes of light, many new spots, or a curtain or shadow",
        HitOrSplash = "rf3" : "Hit in the eye, something in the eye, chemical splash",
        Pain = "rf4" : "Bad eye pain, or red eye with pain, light pain or blurry sight",
        DoubleVision = "rf5" : "New double vision",
        TurnedEye = "rf6" : "New turned eye, new drooping lid, pupils of different size (new)",
        ShakingEyes = "rf7" : "New shaking eyes, or shaking that changed",
        WhitePupil = "rf8" : "White glow in the pupil (new, also in photos)",
        Headache = "rf9" : "Headache with vomiting, or with changed sight; child with a shunt and new headache or sleepiness",
        LookedAtSun = "rf10" : "Looked at the sun or a laser and sees a spot",
        SlowWorsening = "rf11" : "Slow worsening over weeks; new bumping or night trouble",
        ChildSays = "rf12" : "Child says: my eyes are different, or I cannot see what I could before",
    }
}

/// What to do now, the same for every flag.
pub const NOW: &str = "Get eye care today. If it feels like an emergency, call your emergency \
     number. Stop using the device. Nobody watches this at night, and it does not call anyone for \
     you.";

/// What comes first when something may have splashed into the eye.
pub const SPLASH: &str = "If something splashed into the eye, rinse with water first.";

/// What the pause says wherever training would be.
pub const PAUSED: &str = "Device training is paused until an eye doctor says it is safe.";

/// Words for harm that is not about eyes; no form goes with them.
pub const HARM: &str = "If you think a child is being harmed, follow your school's reporting rule \
     now. Do not write it here.";

impl Sign {
    /// What the screen says now, sentence by sentence, before anything else.
    #[must_use]
    pub const fn now(self) -> &'static [&'static str] {
        match self {
            Self::HitOrSplash => &[SPLASH, NOW],
            _ => &[NOW],
        }
    }
}

/// One raised flag as the pause rule needs it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pause {
    /// The flag that pauses.
    pub flag: FlagId,
    /// The day it was raised, in the installation's time zone.
    pub raised_on: Date,
    /// The instant it was raised.
    pub raised_at: Timestamp,
    /// The day it was cleared; none, it still pauses.
    pub cleared_on: Option<Date>,
}

/// Who clears a flag, and on what ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Clearing {
    /// A clinician who has seen to it.
    ByClinician,
    /// A steward, with an eye doctor's written note attached.
    BySteward(Note),
}

/// Whether an eye doctor's written note is attached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Note {
    /// It is.
    Attached,
    /// It is not.
    Missing,
}
