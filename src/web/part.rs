//! Which pieces is every page made of, and how does each keep its promises?
//!
//! A piece is a small struct with its own template under `templates/part/`.
//! It escapes what it is given, writes its own `aria-` links, and may be
//! printed from any page template without a filter: `{{ form.text("name",
//! "Name").hint("As the school writes it") }}`.
//! It does not know what a student is, what a field means, or who is reading;
//! whoever calls it has already decided that, in words.
//! Read next: [`field`] and [`choice`] for what people type, [`open`] for the
//! form around them, [`mod@table`] and [`block`] for what they read, [`shape`] for
//! the marks that stand beside colours.

pub mod amended;
pub mod block;
pub mod choice;
pub mod field;
pub mod group;
pub mod list;
pub mod open;
pub mod shape;
pub mod table;

pub use amended::{Amended, amended};
pub use block::{Empty, Facts, Figure, How, Notice, arithmetic, empty, entered, facts, figure, how, notice};
pub use choice::Choice;
pub use field::Field;
pub use group::{Group, Piece};
pub use list::{Cautions, Crumbs, SectionNav, Steps, cautions, crumbs, nav, steps};
pub use open::{Button, Close, Hidden, Open, Summary};
pub use shape::{Mark, Shape, Status, mark, status};
pub use table::{Cell, Table, table};

/// Pairs of a value and its words, owned, from whatever the caller holds.
fn pairs<V: AsRef<str>, W: AsRef<str>>(given: &[(V, W)]) -> Vec<(String, String)> {
    given.iter().map(|(value, words)| (value.as_ref().to_owned(), words.as_ref().to_owned())).collect()
}

/// A fragment identifier made of the name of a field: letters, digits and
/// hyphens, so that it can stand in a link, a `for` and an `aria-` list.
fn id_of(name: &str) -> String {
    let plain: String = name.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
    format!("f-{plain}")
}
