//! The closed lists of an evaluation: eyes, corrections, charts, findings,
//! answers. Stored by code, shown by words.

use crate::care::codes::codes;

codes! {
    /// Where an evaluation stands.
    pub enum State {
        Draft = "draft" : "draft",
        Signed = "signed" : "signed",
        Filed = "filed" : "transcribed, not confirmed",
        Confirmed = "confirmed" : "transcribed, confirmed by a clinician",
        EnteredInError = "entered_in_error" : "entered in error",
    }

    /// The eye that was tested. Both is a measurement of its own, no average.
    pub enum TestedEye {
        Right = "right" : "right eye",
        Left = "left" : "left eye",
        Both = "both" : "both eyes",
    }

    /// What was worn. Usual glasses are not best correction.
    pub enum Correction {
        None = "none" : "nothing",
        HabitualGlasses = "habitual_glasses" : "usual glasses",
        BestCorrection = "best_correction" : "best (trial) correction",
        ContactLenses = "contact_lenses" : "contact lenses",
        Pinhole = "pinhole" : "pinhole",
        ThroughDevice = "through_device" : "through a device",
    }

    /// How an acuity was written down.
    pub enum HowRecorded {
        Feet = "feet" : "a fraction in feet",
        Metres = "metres" : "a fraction in metres",
        PrintedFraction = "printed_fraction" : "a fraction printed on the chart",
        Decimal = "decimal" : "decimal",
        LogMar = "logmar" : "logMAR",
        Var = "var" : "VAR",
        Letters = "letters" : "letters read",
        Near = "near" : "M at a distance",
        Category = "category" : "a category",
    }

    /// What an eye does when no row of a chart is read. No figure follows.
    pub enum Sight {
        CountsFingers = "counts_fingers" : "counts fingers",
        HandMovement = "hand_movement" : "hand movement",
        LightPerception = "light_perception" : "light perception",
        NoLightPerception = "no_light_perception" : "no light perception",
    }

    /// What was shown.
    pub enum ChartType {
        RowLetters = "row_letters" : "letters in rows",
        CrowdedLetters = "crowded_letters" : "crowded letters",
        SingleLetters = "single_letters" : "single letters",
        Numbers = "numbers" : "numbers",
        Pictures = "pictures" : "pictures",
        Grating = "grating" : "grating, preferential looking",
        Words = "words" : "words",
        ContinuousText = "continuous_text" : "continuous text",
    }

    /// How far the measurement may be relied on.
    pub enum Effort {
        Good = "good" : "good",
        Fair = "fair" : "fair",
        Poor = "poor" : "poor",
    }

    /// The light of the room.
    pub enum RoomLight {
        Dim = "dim" : "dim",
        Normal = "normal" : "normal",
        Bright = "bright" : "bright",
    }

    /// How a refraction was found.
    pub enum RefractionMethod {
        Objective = "objective" : "objective",
        Subjective = "subjective" : "subjective",
        Cycloplegic = "cycloplegic" : "cycloplegic",
        OverRefraction = "over_refraction" : "over-refraction",
        ExistingGlasses = "existing_glasses" : "from existing glasses",
    }

    /// Where the base of a prism points.
    pub enum PrismBase {
        Up = "up" : "base up",
        Down = "down" : "base down",
        In = "in" : "base in",
        Out = "out" : "base out",
    }

    /// How contrast sensitivity was measured.
    pub enum ContrastMethod {
        Letters = "letters" : "letters",
        Grating = "grating" : "grating",
        Faces = "faces" : "faces",
    }

    /// How the field was measured.
    pub enum FieldMethod {
        Confrontation = "confrontation" : "confrontation",
        TangentScreen = "tangent_screen" : "tangent screen",
        KineticBowl = "kinetic_bowl" : "kinetic bowl",
        StaticPerimetry = "static_perimetry" : "static perimetry",
        Other = "other" : "another method",
    }

    /// What the field looks like.
    pub enum FieldPattern {
        Full = "full" : "full",
        CentralLoss = "central_loss" : "central loss",
        Ring = "ring" : "ring",
        RightSide = "right_side" : "right side missing",
        LeftSide = "left_side" : "left side missing",
        Upper = "upper" : "upper part missing",
        Lower = "lower" : "lower part missing",
        Islands = "islands" : "islands",
        Scattered = "scattered" : "scattered gaps",
        Unknown = "unknown" : "not known",
    }

    /// What a colour test found.
    pub enum ColourVision {
        NoDefect = "no_defect" : "no defect found",
        RedGreen = "red_green" : "red-green type",
        BlueYellow = "blue_yellow" : "blue-yellow type",
        Severe = "severe" : "severe, or no colour",
        CouldNotTest = "could_not_test" : "could not test",
    }

    /// How far light disturbs.
    pub enum Glare {
        None = "none" : "none",
        Mild = "mild" : "mild",
        Moderate = "moderate" : "moderate",
        Strong = "strong" : "strong",
        StopsFunction = "stops_function" : "stops the student from doing things",
    }

    /// How the eyes stand to each other.
    pub enum Alignment {
        Straight = "straight" : "straight",
        InTurn = "in_turn" : "in-turn",
        OutTurn = "out_turn" : "out-turn",
        UpOrDown = "up_or_down" : "up or down",
    }

    /// How the eyes move by themselves.
    pub enum Nystagmus {
        None = "none" : "none",
        Horizontal = "horizontal" : "horizontal",
        Vertical = "vertical" : "vertical",
        Rotary = "rotary" : "rotary",
        Mixed = "mixed" : "mixed",
    }

    /// When it began.
    pub enum Onset {
        Infancy = "infancy" : "in infancy",
        Later = "later" : "later",
        Unknown = "unknown" : "not known",
    }

    /// Where the eyes look when they see best.
    pub enum Gaze {
        Straight = "straight" : "straight ahead",
        Left = "left" : "eyes to the left",
        Right = "right" : "eyes to the right",
        Up = "up" : "eyes up",
        Down = "down" : "eyes down",
    }

    /// The eye the student prefers.
    pub enum PreferredEye {
        Right = "right" : "right",
        Left = "left" : "left",
        None = "none" : "neither",
        Unknown = "unknown" : "not known",
    }

    /// Where the condition is going.
    pub enum Course {
        Stable = "stable" : "stable",
        Improving = "improving" : "improving",
        Worsening = "worsening" : "worsening",
        Unknown = "unknown" : "not known",
    }

    /// Advice that needs no device.
    pub enum OtherAdvice {
        CloserSeat = "closer_seat" : "a closer seat",
        Contrast = "contrast" : "stronger contrast",
        Light = "light" : "other light",
        CapOrFilter = "cap_or_filter" : "a cap or filter lenses",
        PrintSize = "print_size" : "another print size",
        ScreenMagnification = "screen_magnification" : "screen magnification",
        LargePrint = "large_print" : "large-print books",
        BrailleReview = "braille_review" : "a review for braille",
    }

    /// What an evaluation answers for one track.
    pub enum TrackChoice {
        Devices = "devices" : "a device to train with",
        KeepOwnDevice = "keep_own_device" : "keep the own device",
        None = "none" : "no device",
        NotLookedAt = "not_looked_at" : "not looked at this time",
    }

    /// A section of an evaluation, in the order of an examination.
    pub enum Section {
        Exam = "exam" : "day and place",
        Acuity = "acuity" : "acuity",
        Refraction = "refraction" : "refraction",
        Sight = "sight" : "contrast, field, colour and glare",
        Eyes = "eyes" : "eyes and diagnosis",
        Advice = "advice" : "light, seat and other advice",
        Distance = "distance" : "answer for the distance track",
        Near = "near" : "answer for the near track",
    }
}

impl Section {
    /// The section after this one; none after the last.
    #[must_use]
    pub fn next(self) -> Option<Self> {
        let place = Self::ALL.iter().position(|one| *one == self)?;
        Self::ALL.get(place + 1).copied()
    }
}

impl Glare {
    /// Its place from 0, none, to 4, stops function.
    #[must_use]
    pub fn level(self) -> i64 {
        (0..).zip(Self::ALL).find(|(_, one)| **one == self).map_or(0, |(level, _)| level)
    }

    /// The glare at a place from 0 to 4.
    #[must_use]
    pub fn at_level(level: i64) -> Option<Self> {
        usize::try_from(level).ok().and_then(|level| Self::ALL.get(level)).copied()
    }
}
