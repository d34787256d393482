//! What the contract's access table says, read from `access-table.txt` and
//! weighed by a second, slower reading of it that shares no code with the policy.
//!
//! What a grant reaches is compared entry by entry: there are seven things that
//! can be true of an entry, so 128 kinds of entry, one bit each of a `u128`.

use farpoint::access::action::Verb;
use farpoint::access::resource::Row;
use farpoint::access::standing::{Categories, Given, Password, Rights, Tie, Transfer};
use farpoint::access::{Basis, Denied, Limits, Reason, Role};
use farpoint::care::consent::Category;

use super::worlds::{World, toward};

pub(super) const VERBS: [(char, Verb); 6] = [
    ('C', Verb::Create),
    ('R', Verb::Read),
    ('U', Verb::Edit),
    ('A', Verb::Amend),
    ('S', Verb::Sign),
    ('X', Verb::Export),
];

/// The columns, in the order of the text; the last is the steward's.
pub(super) const COLUMNS: [Option<Role>; 5] =
    [Some(Role::VisionTeacher), Some(Role::ClassroomTeacher), Some(Role::Parent), Some(Role::Clinician), None];

/// One line of the text.
pub(super) struct Line {
    pub(super) title: String,
    pub(super) row: Row,
    pub(super) category: Option<Category>,
}

/// One clause of one cell.
#[derive(Clone, Debug)]
pub(super) struct Clause {
    pub(super) row: Row,
    /// The role, or none for the steward's column.
    pub(super) column: Option<Role>,
    pub(super) verbs: String,
    pub(super) conditions: String,
    pub(super) remark: String,
}

/// The whole text.
pub(super) struct Table {
    pub(super) lines: Vec<Line>,
    pub(super) clauses: Vec<Clause>,
}

pub(super) fn row_named(name: &str) -> Row {
    let all = Row::STUDENT.iter().chain(Row::OFFICE);
    *all.clone().find(|row| row.name() == name).unwrap_or_else(|| panic!("no row {name}"))
}

impl Table {
    pub(super) fn read() -> Self {
        let mut table = Self { lines: Vec::new(), clauses: Vec::new() };
        let text = include_str!("access-table.txt");
        for line in text.lines().filter(|line| !line.is_empty() && !line.starts_with('#')) {
            let cells: Vec<&str> = line.split('|').map(str::trim).collect();
            let [title, row, category, columns @ ..] = cells.as_slice() else { panic!("too short: {line}") };
            assert_eq!(columns.len(), COLUMNS.len(), "{line}");
            let row = row_named(row);
            let category = (*category != "-").then(|| category.parse().expect("a category's code"));
            table.lines.push(Line { title: (*title).to_owned(), row, category });
            for (cell, column) in columns.iter().zip(COLUMNS) {
                if *cell != "-" {
                    table.clauses.extend(cell.split(';').map(|text| clause(text, row, column)));
                }
            }
        }
        table
    }

    /// The clauses that speak of this row and verb to a person of this role,
    /// who may be steward besides.
    pub(super) fn spoken_to(&self, row: Row, role: Option<Role>, steward: bool, verb: char) -> Vec<Clause> {
        let mut found = Vec::new();
        if role.is_some() {
            found.extend(self.speaking(row, role, verb));
        }
        if steward {
            found.extend(self.speaking(row, None, verb));
        }
        found
    }

    /// The clauses that speak of this row and verb in this column: those that
    /// name the verb, those that come with C, and R of the whole.
    pub(super) fn speaking(&self, row: Row, column: Option<Role>, verb: char) -> Vec<Clause> {
        let mut found = Vec::new();
        for clause in self.clauses.iter().filter(|each| each.row == row && each.column == column) {
            if clause.verbs.contains(verb) {
                found.push(clause.clone());
            }
            if clause.verbs.contains('C') && "RUA".contains(verb) {
                let conditions = format!("{}o", clause.conditions);
                found.push(Clause { conditions, ..clause.clone() });
            }
        }
        if verb == 'R'
            && let Some(whole) = row.whole()
        {
            found.extend(self.speaking(whole, column, verb));
        }
        found
    }
}

fn clause(text: &str, row: Row, column: Option<Role>) -> Clause {
    let mut words: Vec<&str> = text.split_whitespace().collect();
    // A part is a word that is more than verbs.
    let part = words[0].chars().any(char::is_lowercase) && !words[0].contains(':');
    let row = if part { row_named(words.remove(0)) } else { row };
    let (verbs, conditions) = words[0].split_once(':').unwrap_or((words[0], ""));
    assert!(verbs.chars().all(|letter| "CRUASX".contains(letter)), "{text}");
    assert!(conditions.chars().all(|letter| "akcrolgn".contains(letter)), "{text}");
    let remark = words.get(1).copied().unwrap_or("").to_owned();
    let known = ["", "addressed", "shared", "waits", "posts", "parts", "plain", "witnessed", "safety"];
    assert!(known.contains(&remark.as_str()) && words.len() <= 2, "{text}");
    Clause { row, column, verbs: verbs.to_owned(), conditions: conditions.to_owned(), remark }
}

/// What is to be expected of one grant.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Grant {
    /// The kinds of entry reached.
    pub(super) reach: u128,
    pub(super) with_reason: bool,
    pub(super) witnessed: bool,
    pub(super) plain_words: bool,
    pub(super) unsent_waits: bool,
    pub(super) crossing: Option<Basis>,
}

/// One question, for the second reading.
#[derive(Clone, Copy)]
pub(super) struct Question<'a> {
    /// What the text says of this row and verb to this person.
    pub(super) clauses: &'a [Clause],
    /// What it says of reading the row.
    pub(super) reading: &'a [Clause],
    pub(super) role: Option<Role>,
    pub(super) world: &'a World,
    pub(super) row: Row,
    pub(super) verb: char,
}

impl Question<'_> {
    pub(super) fn answer(&self) -> Result<Grant, Denied> {
        let granting: Vec<Grant> = self
            .clauses
            .iter()
            .filter(|clause| clause.conditions.chars().all(|letter| self.holds(letter)))
            .map(|clause| self.grant(clause))
            .collect();
        if !granting.is_empty() {
            let reach = granting.iter().fold(0, |sum, grant| sum | grant.reach);
            let full: Vec<&Grant> = granting.iter().filter(|each| each.reach == reach).collect();
            return Ok(Grant {
                reach,
                with_reason: full.iter().all(|each| each.with_reason),
                witnessed: full.iter().all(|each| each.witnessed),
                plain_words: full.iter().all(|each| each.plain_words),
                unsent_waits: full.iter().all(|each| each.unsent_waits),
                // The role's own column comes first, and the row before its whole.
                crossing: full[0].crossing,
            });
        }
        let but_for_password = |clause: &Clause| {
            clause.conditions.contains('g')
                && clause.conditions.chars().all(|letter| letter == 'g' || self.holds(letter))
        };
        if self.clauses.iter().any(but_for_password) {
            return Err(Denied::Forbidden(Reason::EnterPassword));
        }
        if self.verb != 'R' && (Question { clauses: self.reading, verb: 'R', ..*self }).answer().is_ok() {
            return Err(Denied::Forbidden(Reason::ReadOnly));
        }
        Err(Denied::Hidden)
    }

    fn holds(&self, condition: char) -> bool {
        match condition {
            'a' => self.world.tie == Tie::OnTeam,
            'k' => match self.world.tie {
                Tie::Parent { rights: Rights::Full, transfer: Transfer::NotYet } => true,
                Tie::Parent { rights: Rights::Full, transfer: Transfer::OfAge { chosen } } => {
                    self.row.category().map_or(!chosen.is_empty(), |category| chosen.contains(category))
                }
                _ => false,
            },
            'c' => self.consent().is_some(),
            'n' => self.any_consent().is_some(),
            'g' => self.world.password == Password::JustEntered,
            // These shape what is reached.
            'r' | 'o' | 'l' => true,
            unknown => panic!("no condition {unknown}"),
        }
    }

    /// The letter c, and for documents once sent, the sending.
    fn consent(&self) -> Option<Basis> {
        let fits = |categories: Categories| self.row.category().is_none_or(|category| categories.contains(category));
        self.basis(fits).or_else(|| {
            let documents = ["Evaluation", "Transcription", "Summary", "Prescription"];
            let reading = "RX".contains(self.verb);
            (documents.contains(&self.row.name()) && reading && self.sent(self.row.category())).then_some(Basis::AsSent)
        })
    }

    fn any_consent(&self) -> Option<Basis> {
        self.basis(|_| true)
    }

    fn basis(&self, fits: impl Fn(Categories) -> bool) -> Option<Basis> {
        let way = toward(self.role)?;
        let mut best = None;
        for each in &self.world.consents {
            if each.direction == way && fits(each.categories) {
                match each.kind {
                    Given::Consent => return Some(Basis::Consent(each.consent)),
                    Given::Emergency => best = Some(Basis::Emergency(each.consent)),
                }
            }
        }
        best
    }

    fn sent(&self, category: Option<Category>) -> bool {
        self.world.sent.iter().any(|sent| {
            Some(sent.direction) == toward(self.role) && category.is_none_or(|category| sent.category == category)
        })
    }

    fn grant(&self, clause: &Clause) -> Grant {
        let asks = |letter: char| clause.conditions.contains(letter);
        let remark = clause.remark.as_str();
        let as_sent = asks('c') && self.consent() == Some(Basis::AsSent);
        let without_posts = remark == "posts" && self.any_consent().is_none();
        let crossing = match remark {
            _ if self.verb == 'C' || toward(self.role).is_none() => None,
            _ if asks('c') => self.consent(),
            "posts" => self.any_consent(),
            "parts" => self.any_consent().or(self.sent(None).then_some(Basis::AsSent)),
            "safety" => Some(Basis::Safety),
            _ => None,
        };
        Grant {
            reach: if asks('o') {
                OWN
            } else if remark == "addressed" {
                OWN | ADDRESSED
            } else {
                OWN | (only(asks('r'), RELEASED)
                    & only(asks('l'), LOCKED)
                    & only(remark == "shared", SHARED)
                    & only(as_sent, SENT)
                    & only(without_posts, !CLINIC_POST))
            },
            with_reason: asks('g'),
            witnessed: remark == "witnessed",
            plain_words: remark == "plain",
            unsent_waits: remark == "waits",
            crossing,
        }
    }
}

/// The same, of the limits that the policy gave.
pub(super) fn given(limits: &Limits) -> Grant {
    Grant {
        reach: if limits.own_only {
            OWN | if limits.or_addressed { ADDRESSED } else { 0 }
        } else {
            OWN | (only(limits.released_only, RELEASED)
                & only(limits.locked_only, LOCKED)
                & only(limits.shared_only, SHARED)
                & only(limits.sent_only, SENT)
                & only(limits.without_clinic_posts, !CLINIC_POST))
        },
        with_reason: limits.with_reason,
        witnessed: limits.witnessed,
        plain_words: limits.plain_words,
        unsent_waits: limits.unsent_waits,
        crossing: limits.crossing.map(|crossing| crossing.basis),
    }
}

const fn only(limited: bool, entries: u128) -> u128 {
    if limited { entries } else { u128::MAX }
}

const OWN: u128 = entries(0);
const ADDRESSED: u128 = entries(1);
const RELEASED: u128 = entries(2);
const LOCKED: u128 = entries(3);
const SHARED: u128 = entries(4);
const SENT: u128 = entries(5);
const CLINIC_POST: u128 = entries(6);

/// The kinds of entry of which this is true.
const fn entries(of: u32) -> u128 {
    let mut set = 0;
    let mut kind = 0;
    while kind < 128 {
        if (kind >> of) & 1 == 1 {
            set |= 1 << kind;
        }
        kind += 1;
    }
    set
}
