//! A device as a document names it: its specification, and what is said beside
//! it in words.

use super::device::DeviceSpec;

/// A device in an evaluation, a decision, a prescription or a receipt.
#[derive(Clone, PartialEq)]
pub struct NamedDevice {
    /// What it is.
    pub spec: DeviceSpec,
    /// The nearest focus as typed, with its unit.
    pub near_focus_typed: String,
    /// What is printed on it; never compared.
    pub label: String,
    /// A tint with its transmission.
    pub filter: String,
    /// What it is for.
    pub purpose: String,
    /// Where it is not to be used, and for how long.
    pub limits: String,
    /// Anything else.
    pub note: String,
    /// Which unusual values somebody confirmed as right; empty, none was unusual.
    pub confirmed: String,
}

impl NamedDevice {
    /// A device with nothing said beside its specification.
    pub fn of(spec: DeviceSpec) -> Self {
        Self {
            spec,
            near_focus_typed: String::new(),
            label: String::new(),
            filter: String::new(),
            purpose: String::new(),
            limits: String::new(),
            note: String::new(),
            confirmed: String::new(),
        }
    }
}
