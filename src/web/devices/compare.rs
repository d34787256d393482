//! Two devices side by side, part by part, in words: what is the same, what
//! differs, and which of it the rules compare.

use crate::care::device::Difference;
use crate::care::named_device::NamedDevice;
use crate::web::device_fields;
use crate::web::page::Context;
use crate::web::part::{self, Table};

/// The parts of a specification, in the order a page shows them.
const PARTS: [&str; 12] = [
    "Kind",
    "Power",
    "Objective lens",
    "True field",
    "Nearest focus",
    "Reading cap",
    "Equivalent power",
    "Lens diameter",
    "Stand height",
    "Built-in light",
    "With glasses",
    "Eye",
];

/// The device that is wanted beside another one.
pub(super) fn table(
    caption: &str,
    (wanted_head, other_head): (&str, &str),
    (wanted, other): (&NamedDevice, &NamedDevice),
    differs: &[Difference],
    context: &Context,
) -> Table {
    let (wanted, other) = (device_fields::facts(wanted, context), device_fields::facts(other, context));
    let mut table = part::table(caption).column("Part").column(wanted_head).column(other_head).column("Compared");
    let of = |facts: &[(String, String)], part: &str| {
        facts.iter().find(|(term, _)| term == part).map_or_else(String::new, |(_, value)| value.clone())
    };
    let shown = |value: &str| if value.is_empty() { "not stated".to_owned() } else { value.to_owned() };
    for part in PARTS {
        let (left, right) = (of(&wanted, part), of(&other, part));
        if left.is_empty() && right.is_empty() {
            continue;
        }
        let said = compared(part, (&left, &right), differs);
        table.push([part.to_owned(), shown(&left), shown(&right), said]);
    }
    table
}

fn compared(part: &str, (left, right): (&str, &str), differs: &[Difference]) -> String {
    let rule: &[Difference] = match part {
        "Kind" => &[Difference::Kind],
        "Power" | "Equivalent power" | "Reading cap" => &[Difference::Power, Difference::PowerNotStated],
        "Objective lens" => &[Difference::Objective, Difference::ObjectiveNotStated],
        "Eye" => &[Difference::Eye],
        _ => &[],
    };
    if let Some(found) = differs.iter().find(|found| rule.contains(found)) {
        // A part that both state alike is not what makes the power another.
        if left != right {
            return format!("Differs: {}", found.words());
        }
    }
    match (left, right) {
        (left, right) if left == right => "the same".to_owned(),
        ("", _) | (_, "") => "not stated on both, so not compared".to_owned(),
        _ => "another, which the rule lets pass".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_rule_compares_is_told_apart_from_what_it_lets_pass() {
        let power = [Difference::Power];
        assert_eq!(compared("Power", ("6 ×", "10 ×"), &power), "Differs: the power is another");
        assert_eq!(compared("Power", ("6 ×", "6 ×"), &[Difference::Eye]), "the same");
        assert_eq!(compared("True field", ("9 degrees", "5 degrees"), &power), "another, which the rule lets pass");
        assert_eq!(compared("Objective lens", ("", "16 mm"), &[]), "not stated on both, so not compared");
    }
}
