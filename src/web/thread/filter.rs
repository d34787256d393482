//! Which lines of a thread are shown: codes in the address, and no word about a
//! student.
//!
//! Choices of one kind widen, choices of different kinds narrow. Each is a link
//! or a field of a form that only asks, so that a filtered thread can be kept as
//! a bookmark. Does not know who may read a line: it is asked of lines that were
//! loaded for their reader.

use std::collections::BTreeSet;

use jiff::Timestamp;
use jiff::civil::{Date, date};

use super::line::Line;
use crate::access::Role;
use crate::care::thread::{Group, Setting};
use crate::web::check::Check;
use crate::web::form::{Entry, Faults};
use crate::web::words;

/// A line's place in the order of the thread: what "older" links name.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Cursor {
    at: Timestamp,
    id: String,
}

impl Cursor {
    pub(super) fn of(line: &Line) -> Self {
        Self { at: line.at, id: line.id.clone() }
    }

    /// The instant it stands at.
    pub(super) const fn at(&self) -> Timestamp {
        self.at
    }

    /// As it stands in an address: milliseconds and the line's id.
    pub(super) fn code(&self) -> String {
        format!("{}.{}", self.at.as_millisecond(), self.id)
    }

    pub(super) fn read(code: &str) -> Option<Self> {
        let (millis, id) = code.split_once('.')?;
        let at = Timestamp::from_millisecond(millis.parse().ok()?).ok()?;
        let plain = id.len() <= 36 && id.bytes().all(|byte| byte.is_ascii_hexdigit() || byte == b'-');
        plain.then(|| Self { at, id: id.to_owned() })
    }
}

/// What is asked for. The default asks for everything.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Filter {
    pub(super) kinds: BTreeSet<Group>,
    pub(super) open: bool,
    pub(super) new: bool,
    pub(super) setting: Option<Setting>,
    pub(super) role: Option<Role>,
    pub(super) from: Option<Date>,
    pub(super) until: Option<Date>,
    /// Since when a line counts as new; without it, since the reader last looked.
    pub(super) since: Option<Timestamp>,
    pub(super) older: Option<Cursor>,
}

impl Filter {
    /// Reads an address. What is no choice at all is told beside its field and
    /// leaves the lines alone.
    pub(super) fn read(entry: &Entry) -> (Self, Faults) {
        let mut check = Check::new(entry);
        let days = date(2000, 1, 1)..=date(2199, 12, 31);
        let mut kinds = BTreeSet::new();
        for code in entry.all("kind").into_iter().filter(|code| !code.is_empty()) {
            match code.parse() {
                Ok(group) => {
                    kinds.insert(group);
                }
                Err(_) => check.fault("kind", "Choose among the kinds listed."),
            }
        }
        let filter = Self {
            kinds,
            open: check.ticked("open"),
            new: check.ticked("new"),
            setting: check.opt_code("setting", "Setting"),
            role: check.opt_code("role", "Entered by"),
            from: check.opt_date("from", "From", days.clone()),
            until: check.opt_date("until", "To", days),
            since: check.typed("since").parse().ok().and_then(|millis| Timestamp::from_millisecond(millis).ok()),
            older: Cursor::read(check.typed("older")),
        };
        if filter.from.zip(filter.until).is_some_and(|(from, until)| until < from) {
            check.fault("until", "The last day must not be before the first.");
        }
        match check.build(|| Some(())) {
            Ok(()) => (filter, Faults::default()),
            Err(faults) => (Self::default(), faults),
        }
    }

    /// Whether a line is among what is asked for.
    pub(super) fn keeps(&self, line: &Line) -> bool {
        let of_kind = self.kinds.is_empty() || self.kinds.iter().any(|group| line.is_of(*group));
        of_kind
            && (!self.open || line.open)
            && (!self.new || line.new)
            && self.setting.is_none_or(|setting| line.setting == Some(setting))
            && self.role.is_none_or(|role| line.role == Some(role))
            && self.from.is_none_or(|from| line.day >= from)
            && self.until.is_none_or(|until| line.day <= until)
    }

    /// Whether everything is asked for, from the newest on: then looking is
    /// having read.
    pub(super) fn shows_all(&self) -> bool {
        Self { since: None, new: false, ..self.clone() } == Self::default()
    }

    /// How many of the lines it keeps.
    pub(super) fn count(&self, lines: &[Line]) -> usize {
        lines.iter().filter(|line| self.keeps(line)).count()
    }

    /// The same choices from the newest line on.
    pub(super) fn newest(&self) -> Self {
        Self { older: None, ..self.clone() }
    }

    /// Nothing chosen; what was new when the page was opened stays marked.
    pub(super) fn cleared(&self) -> Self {
        Self { since: self.since, ..Self::default() }
    }

    /// The part of an address behind its path.
    pub(super) fn query(&self) -> String {
        let mut query = form_urlencoded::Serializer::new(String::new());
        for kind in &self.kinds {
            query.append_pair("kind", kind.code());
        }
        let mut put = |name: &str, value: Option<String>| {
            if let Some(value) = value {
                query.append_pair(name, &value);
            }
        };
        put("open", self.open.then(|| "yes".to_owned()));
        put("new", self.new.then(|| "yes".to_owned()));
        put("setting", self.setting.map(|setting| setting.code().to_owned()));
        put("role", self.role.map(|role| role.code().to_owned()));
        put("from", self.from.map(|day| day.to_string()));
        put("until", self.until.map(|day| day.to_string()));
        put("since", self.since.map(|at| at.as_millisecond().to_string()));
        put("older", self.older.as_ref().map(Cursor::code));
        let query = query.finish();
        if query.is_empty() { query } else { format!("?{query}") }
    }

    /// Each choice in words, with what would be asked for without it.
    pub(super) fn chosen(&self) -> Vec<(String, Self)> {
        let all = self.newest();
        let mut chosen: Vec<(String, Self)> = Vec::new();
        for kind in &self.kinds {
            let kinds = self.kinds.iter().copied().filter(|one| one != kind).collect();
            chosen.push((words::capital(kind.words()), Self { kinds, ..all.clone() }));
        }
        if self.open {
            chosen.push(("Open questions only".to_owned(), Self { open: false, ..all.clone() }));
        }
        if self.new {
            chosen.push(("New to you only".to_owned(), Self { new: false, ..all.clone() }));
        }
        if let Some(setting) = self.setting {
            chosen.push((format!("Setting: {}", setting.words()), Self { setting: None, ..all.clone() }));
        }
        if let Some(role) = self.role {
            chosen.push((format!("Entered by a {}", role.words()), Self { role: None, ..all.clone() }));
        }
        if let Some(from) = self.from {
            chosen.push((format!("From {}", words::date(from)), Self { from: None, ..all.clone() }));
        }
        if let Some(until) = self.until {
            chosen.push((format!("To {}", words::date(until)), Self { until: None, ..all }));
        }
        chosen
    }
}
