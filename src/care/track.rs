//! The two tracks of a student's devices, the kinds of device that may stand on
//! each, and the eyes a device is for.
//!
//! The track stands on the recommendation, not on the kind: a telescope with a
//! reading cap is a near device, so a kind may stand on more than one track.
//! Does not know strengths or sizes; read [`super::device`] next.

use super::codes::codes;

codes! {
    /// One of the two ways a device serves a student; never merged into one stage.
    pub enum Track {
        Distance = "distance" : "distance",
        Near = "near" : "near",
    }

    /// The kinds of device the trade tells apart.
    pub enum DeviceKind {
        HandheldMonocular = "handheld_monocular" : "handheld telescope, monocular",
        HandheldBinocular = "handheld_binocular" : "handheld telescope, binocular",
        SpectacleTelescope = "spectacle_telescope" : "spectacle-mounted telescope",
        HandMagnifier = "hand_magnifier" : "hand magnifier",
        StandMagnifier = "stand_magnifier" : "stand magnifier",
        DomeMagnifier = "dome_magnifier" : "dome magnifier",
        BarMagnifier = "bar_magnifier" : "bar magnifier",
        SpectacleMagnifier = "spectacle_magnifier" : "spectacle magnifier",
        HighAdd = "high_add" : "high reading addition",
        FilterLens = "filter_lens" : "filter lens",
        ElectronicHandheld = "electronic_handheld" : "electronic handheld magnifier",
        Other = "other" : "other device",
    }

    /// Which eye a device is for.
    pub enum Eye {
        Right = "right" : "right eye",
        Left = "left" : "left eye",
        Both = "both" : "both eyes",
        Either = "either" : "either eye",
    }

    /// Whether a telescope is used over the glasses.
    pub enum WithGlasses {
        Over = "over" : "over the glasses",
        Without = "without" : "without glasses",
        Either = "either" : "with or without glasses",
    }

    /// The light built into a magnifier.
    pub enum Light {
        None = "none" : "no light",
        Battery = "battery" : "battery light",
        Rechargeable = "rechargeable" : "rechargeable light",
    }
}

impl DeviceKind {
    /// The tracks a device of this kind may be recommended on.
    ///
    /// A telescope stands on the near track only with a reading cap, which
    /// [`super::device::DeviceSpec::may_stand_on`] asks for. A filter is advice
    /// and stands on none.
    #[must_use]
    pub const fn tracks(self) -> &'static [Track] {
        match self {
            Self::HandheldMonocular | Self::HandheldBinocular | Self::SpectacleTelescope | Self::Other => {
                &[Track::Distance, Track::Near]
            }
            Self::HandMagnifier
            | Self::StandMagnifier
            | Self::DomeMagnifier
            | Self::BarMagnifier
            | Self::SpectacleMagnifier
            | Self::HighAdd
            | Self::ElectronicHandheld => &[Track::Near],
            Self::FilterLens => &[],
        }
    }

    /// Whether it is a telescope, whatever holds it.
    #[must_use]
    pub const fn is_telescope(self) -> bool {
        matches!(self, Self::HandheldMonocular | Self::HandheldBinocular | Self::SpectacleTelescope)
    }

    /// Whether it is an optical magnifier, whose strength is its equivalent power.
    #[must_use]
    pub const fn is_magnifier(self) -> bool {
        matches!(
            self,
            Self::HandMagnifier
                | Self::StandMagnifier
                | Self::DomeMagnifier
                | Self::BarMagnifier
                | Self::SpectacleMagnifier
                | Self::HighAdd
        )
    }
}
