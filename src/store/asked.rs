//! Which students a statement is about, as its first parameter.
//!
//! A page about one student and a list across a caseload run the same statement,
//! so a caseload costs as many queries as one student does. Neither engine's way
//! of binding a list is known to the other, but an id is text of fixed width:
//! the ids stand in one text, and [`asked!`] takes it apart again.
//! Made from proofs, or by the two lists that lead to them.

use crate::access::Access;
use crate::access::action::Action;
use crate::access::resource::Resource;
use crate::care::ids::StudentId;

/// The end of a statement that begins `… where student_id in `: the students of
/// its first parameter.
macro_rules! asked {
    () => {
        "(with recursive place (n) as (select 1 union all select n + 36 from place where n + 36 < length(cast($1 as text)))
         select substr(cast($1 as text), n, 36) from place)"
    };
}
pub(super) use asked;

/// The ids of these students, side by side.
pub(super) fn ids(students: impl IntoIterator<Item = StudentId>) -> String {
    students.into_iter().map(|student| student.to_string()).collect()
}

/// The ids of the students whom these proofs are about.
pub(super) fn of_proofs<R: Resource, A: Action>(proofs: &[Access<R, A>]) -> String {
    ids(proofs.iter().map(Access::student))
}
