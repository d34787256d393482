//! Which figure follows from these inputs, asked by name?
//!
//! Every figure of [`crate::vision`] that a page shows can be computed again
//! from outside: an operation is a name, the keys of its inputs, and the
//! function behind it. The keys name their units (`distance_m`), so that no
//! number travels without one. `farpoint compute` answers lines of JSON with
//! it, the panels of the pages print such lines, and the reference values of
//! the tests go through it.
//!
//! | topic | file |
//! |---|---|
//! | acuity in all notations, print sizes | `acuity.rs` |
//! | angles and letter heights | `size.rs` |
//! | demand and reserve | `board.rs` |
//! | which power, seat or letter | `magnification.rs` |
//! | telescopes and their fields | `telescope.rs`, `field.rs` |
//! | magnifiers | `magnifier.rs` |
//! | contrast and light | `contrast.rs`, `light.rs` |
//! | refraction | `refraction.rs` |
//! | reading and copying | `reading.rs` |
//! | exercises | `skill.rs` |
//! | observations, progress, comparison | `statistics.rs`, `statistics_everyday.rs` |
//!
//! A further operation is one [`Operation`] in the table of its topic; all that
//! can be wrong with its inputs is noticed here, before its function is called.
//! What cannot be computed is refused with the key at fault; no result holds an
//! empty, an infinite or an undefined figure.
//!
//! Does not know a student, a page or a database. Read next: [`Input`] for what
//! an operation declares, [`lines`] for the command.

use std::sync::LazyLock;

use serde_json::{Map, Value};

mod acuity;
mod board;
mod contrast;
mod field;
mod figures;
mod input;
mod inputs;
mod light;
pub mod lines;
mod magnification;
mod magnifier;
mod reading;
mod refraction;
mod refusal;
mod size;
mod skill;
mod statistics;
mod statistics_everyday;
mod telescope;

use figures::Found;
pub use input::{Input, Kind, Need};
use inputs::Inputs;
pub use refusal::Refusal;

/// The operations of every topic, in the order in which they are listed.
const TOPICS: [&[Operation]; 14] = [
    acuity::OPERATIONS,
    size::OPERATIONS,
    board::OPERATIONS,
    magnification::OPERATIONS,
    telescope::OPERATIONS,
    magnifier::OPERATIONS,
    contrast::OPERATIONS,
    light::OPERATIONS,
    refraction::OPERATIONS,
    reading::OPERATIONS,
    skill::OPERATIONS,
    field::OPERATIONS,
    statistics::OPERATIONS,
    statistics_everyday::OPERATIONS,
];

static ALL: LazyLock<Vec<Operation>> = LazyLock::new(|| TOPICS.concat());

/// A question that can be asked by name.
#[derive(Debug, Clone, Copy)]
pub struct Operation {
    /// The name it is asked by.
    pub name: &'static str,
    /// What it is about, in a word or two.
    pub topic: &'static str,
    /// The question in words.
    pub question: &'static str,
    /// What it takes.
    pub inputs: &'static [Input],
    /// The function behind it; it sees inputs that were checked.
    answers: fn(&Inputs<'_>) -> Found,
}

impl Operation {
    /// Answers from these inputs.
    ///
    /// # Errors
    /// Refuses with the key at fault and what would be right.
    pub fn answer(&self, given: &Map<String, Value>) -> Result<Map<String, Value>, Refusal> {
        let inputs = Inputs::checked(self, given)?;
        let found = (self.answers)(&inputs).and_then(figures::Figures::finished);
        found.map_err(|fault| fault.blamed_on(&inputs))
    }
}

/// Every operation there is.
pub fn operations() -> &'static [Operation] {
    &ALL
}

/// Answers an operation by its name.
///
/// ```
/// use farpoint::compute::answer;
/// let inputs = serde_json::json!({"size_m": 0.025, "distance_m": 3.0});
/// let found = answer("visual_angle", inputs.as_object().unwrap())?;
/// assert!((found["angle_arcmin"].as_f64().unwrap() - 28.65).abs() < 0.01);
/// let feet = serde_json::json!({"size_m": 0.025, "distance_ft": 10.0});
/// let refused = answer("visual_angle", feet.as_object().unwrap()).unwrap_err();
/// assert!(refused.to_string().starts_with("distance_ft: give distance_m"));
/// # Ok::<(), farpoint::compute::Refusal>(())
/// ```
///
/// # Errors
/// Refuses an unknown name with those nearest to it, and inputs as
/// [`Operation::answer`].
pub fn answer(op: &str, inputs: &Map<String, Value>) -> Result<Map<String, Value>, Refusal> {
    match ALL.iter().find(|operation| operation.name == op) {
        Some(operation) => operation.answer(inputs),
        None => Err(Refusal::no_operation(op, ALL.iter().map(|operation| operation.name))),
    }
}
