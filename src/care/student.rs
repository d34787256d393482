//! Who the student is: names, birth date, school.
//!
//! Does not know who may read which part; see [`crate::access`].

use jiff::ToSpan;
use jiff::civil::Date;

use super::ids::StudentId;

/// The youngest birth date a record may be opened with, in years before today:
/// school services end by the 22nd birthday (common practice).
pub const OLDEST_YEARS: i16 = 22;

/// A student.
#[derive(Clone)]
pub struct Student {
    /// Id.
    pub id: StudentId,
    /// The school's own number; never in an address.
    pub number: String,
    /// Full name.
    pub name: String,
    /// The name the child is called by.
    pub preferred_name: String,
    /// Date of birth.
    pub birth_date: Date,
    /// School.
    pub school: String,
    /// Grade.
    pub grade: String,
    /// Languages at home.
    pub languages: String,
    /// Whether the family needs an interpreter.
    pub interpreter: bool,
    /// What the student reads best.
    pub print_format: String,
    /// For edits by two people.
    pub version: i64,
}

/// A student as checked from a form.
#[derive(Clone)]
pub struct NewStudent {
    /// The school's own number.
    pub number: String,
    /// Full name.
    pub name: String,
    /// The name the child is called by.
    pub preferred_name: String,
    /// Date of birth.
    pub birth_date: Date,
    /// School.
    pub school: String,
    /// Grade.
    pub grade: String,
    /// Languages at home.
    pub languages: String,
    /// Whether the family needs an interpreter.
    pub interpreter: bool,
    /// What the student reads best.
    pub print_format: String,
}

impl Student {
    /// The name to call the child by.
    pub fn called(&self) -> &str {
        if self.preferred_name.is_empty() { &self.name } else { &self.preferred_name }
    }

    /// The initials, for people who may not know the name.
    pub fn initials(&self) -> String {
        initials(&self.name)
    }

    /// The age in whole years on a day.
    pub fn age_on(&self, day: Date) -> i64 {
        age(self.birth_date, day)
    }
}

/// The first letter of each part of a name.
///
/// ```
/// assert_eq!(farpoint::care::student::initials("Ifeoma Tamsin-Okafor"), "IT");
/// ```
pub fn initials(name: &str) -> String {
    let parts: Vec<&str> = name.split_whitespace().collect();
    let first = parts.first().and_then(|part| part.chars().next());
    let last = if parts.len() > 1 { parts.last().and_then(|part| part.chars().next()) } else { None };
    first.into_iter().chain(last).flat_map(char::to_uppercase).collect()
}

/// The age in whole years on a day; before the birth it is nothing.
///
/// A child born on 29 February turns a year older on 1 March of a common year.
pub fn age(born: Date, day: Date) -> i64 {
    let years = i64::from(day.year()) - i64::from(born.year());
    let reached = (day.month(), day.day()) >= (born.month(), born.day());
    (if reached { years } else { years - 1 }).max(0)
}

/// The team is told so many months before the rights pass. Source: rule G10.
pub const TOLD_MONTHS_BEFORE: i32 = 12;

/// The day on which somebody reaches an age, such as the age at which rights
/// pass to the student (G10).
///
/// In step with [`age`]: one born on 29 February reaches it on 1 March of a
/// common year.
///
/// ```
/// use farpoint::care::student::of_age_on;
/// use jiff::civil::date;
///
/// assert_eq!(of_age_on(date(2009, 4, 2), 18), date(2027, 4, 2));
/// assert_eq!(of_age_on(date(2008, 2, 29), 18), date(2026, 3, 1));
/// assert_eq!(of_age_on(date(2008, 2, 29), 20), date(2028, 2, 29));
/// ```
#[must_use]
pub fn of_age_on(born: Date, years: i16) -> Date {
    let year = born.year().saturating_add(years);
    // Only 29 February is missing from a year, or the year is past all calendars.
    Date::new(year, born.month(), born.day()).or_else(|_| Date::new(year, 3, 1)).unwrap_or(Date::MAX)
}

/// Where a student stands on the way to their own rights, on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coming {
    /// More than a year to go.
    Later,
    /// The team is told that rights pass on that day.
    On(Date),
    /// They passed on that day.
    Since(Date),
}

/// Where a student born on a day stands on another.
#[must_use]
pub fn coming_of_age(born: Date, years: i16, today: Date) -> Coming {
    let day = of_age_on(born, years);
    if day <= today {
        Coming::Since(day)
    } else if day.saturating_sub(TOLD_MONTHS_BEFORE.months()) <= today {
        Coming::On(day)
    } else {
        Coming::Later
    }
}
