//! Examples of lengths in the hints of both forms, in the reader's units.

/// Hints with examples in the reader's units.
pub(in crate::web) struct Examples {
    pub(in crate::web) distance: &'static str,
    pub(in crate::web) height: &'static str,
    pub(in crate::web) board: &'static str,
    pub(in crate::web) gap: &'static str,
}

impl Examples {
    pub(super) const fn new(imperial: bool) -> Self {
        if imperial {
            Self {
                distance: "With its unit, for example 15 ft or 15 ft 6 in",
                height: "Not the capitals. With its unit, for example 1 1/2 in or 3/4 in",
                board: "For example 8 ft",
                gap: "From the middle of one to the middle of the next, for example 4 ft",
            }
        } else {
            Self {
                distance: "With its unit, for example 4.6 m or 15 ft",
                height: "Not the capitals. With its unit, for example 3.5 cm or 12 mm",
                board: "For example 2.4 m",
                gap: "From the middle of one to the middle of the next, for example 1.2 m",
            }
        }
    }
}
