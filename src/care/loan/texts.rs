//! A loan field by field, each under the label of its form: what an amendment
//! sets side by side.

use jiff::civil::Date;

use super::NewLoan;
use crate::care::device::Condition;

/// The day a loan came back, and in which condition.
pub type Returned = (Date, Option<Condition>);

/// Every field that can be amended, with its text; empty where nothing is stated.
#[must_use]
pub fn texts(entered: &NewLoan, returned: Option<Returned>) -> Vec<(&'static str, String)> {
    let date = |day: Date| day.strftime("%-d %B %Y").to_string();
    let yes = |yes: bool| if yes { "yes" } else { "no" }.to_owned();
    let condition = |condition: Condition| condition.words().to_owned();
    vec![
        ("Lent on", date(entered.lent_on)),
        ("Due back", date(entered.due_on)),
        ("Condition when it went out", condition(entered.condition_out)),
        ("Strap", yes(entered.strap)),
        ("Case", yes(entered.carry_case)),
        ("Purpose", entered.purpose.words().to_owned()),
        ("May it be used at home?", yes(entered.home_use)),
        ("Agreed by", entered.agreement_by.words().to_owned()),
        ("Kept by", entered.held_by.words().to_owned()),
        ("Came back on", returned.map(|(day, _)| date(day)).unwrap_or_default()),
        ("Condition when it came back", returned.and_then(|(_, one)| one).map(condition).unwrap_or_default()),
    ]
}
