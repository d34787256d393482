//! How a cell of the access table is written: `"CR:ao, R:a (if shared)"`.
//!
//! A cell is `-` or clauses with commas between them. A clause is the verbs, a
//! colon and the conditions that must all hold, and at most one remark in
//! brackets. The cells are read while compiling: a letter or a remark that the
//! table does not know is a compile error. Does not know rows or people.

use crate::access::action::Verb;

/// What somebody may do, and when: one clause of a cell.
#[derive(Debug, Clone, Copy)]
pub(super) struct Clause {
    verbs: u8,
    /// a: on the student's team now.
    pub(super) team: bool,
    /// k: own child, full rights, before transfer or by the student's choice after.
    pub(super) child: bool,
    /// c: consent toward the reader's side.
    pub(super) consent: bool,
    /// g: re-enters the password, gives a reason, is logged.
    pub(super) password: bool,
    /// r: released only.
    pub(super) released: bool,
    /// o: own entries only.
    pub(super) own: bool,
    /// l: after the lock.
    pub(super) locked: bool,
    /// What stands in brackets.
    pub(super) remark: Remark,
}

/// What the letters cannot say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Remark {
    /// Nothing in brackets.
    None,
    /// `(and addressed)`: besides the own ones, posts addressed to the role.
    AndAddressed,
    /// `(if shared)`: only what the parent shared with the classroom.
    IfShared,
    /// `(unsent waits)`: what rests on an unsent document reads `waiting for consent`.
    UnsentWaits,
    /// `(a clinician's post: c)`: all but those, and those with consent.
    CliniciansPostC,
    /// `(once the name is readable)`: any consent toward the reader's side.
    OnceTheNameIsReadable,
    /// `(their parts)`: computed from what the reader may read.
    TheirParts,
    /// `(plain words)`: without clinical figures.
    PlainWords,
    /// `(witnessed)`: on paper or in person, signer named, scan or witness.
    Witnessed,
    /// `(safety)`: crosses to the clinic without a consent.
    Safety,
}

/// One cell: what one column may do to one row.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cell {
    clauses: [Clause; MOST],
    used: usize,
}

/// No cell of the table needs more clauses.
const MOST: usize = 4;

impl Clause {
    const EMPTY: Self = Self {
        verbs: 0,
        team: false,
        child: false,
        consent: false,
        password: false,
        released: false,
        own: false,
        locked: false,
        remark: Remark::None,
    };

    /// Whether the clause names the verb.
    pub(super) const fn names(&self, verb: Verb) -> bool {
        self.verbs & bit(verb) != 0
    }

    /// The clause as it counts for the verb, if it does.
    ///
    /// "Whoever may C also has R, U and A on what is his or her own, under the
    /// same conditions."
    pub(super) const fn toward(&self, verb: Verb) -> Option<Self> {
        if self.names(verb) {
            return Some(*self);
        }
        match verb {
            Verb::Read | Verb::Edit | Verb::Amend if self.names(Verb::Create) => {
                let mut own = *self;
                own.own = true;
                Some(own)
            }
            _ => None,
        }
    }

    const fn with_verb(mut self, letter: u8) -> Self {
        let verb = match letter {
            b'C' => Verb::Create,
            b'R' => Verb::Read,
            b'U' => Verb::Edit,
            b'A' => Verb::Amend,
            b'S' => Verb::Sign,
            b'X' => Verb::Export,
            _ => panic!("a verb of the access table is one of C R U A S X"),
        };
        self.verbs |= bit(verb);
        self
    }

    const fn with_condition(mut self, letter: u8) -> Self {
        match letter {
            b'a' => self.team = true,
            b'k' => self.child = true,
            b'c' => self.consent = true,
            b'g' => self.password = true,
            b'r' => self.released = true,
            b'o' => self.own = true,
            b'l' => self.locked = true,
            _ => panic!("a condition of the access table is one of a k c g r o l"),
        }
        self
    }
}

impl Cell {
    /// Reads a cell.
    ///
    /// # Panics
    ///
    /// On a letter or remark that is not of the notation. The table is a `const`,
    /// so this happens while compiling or never.
    pub(super) const fn read(text: &str) -> Self {
        let bytes = text.as_bytes();
        let mut cell = Self { clauses: [Clause::EMPTY; MOST], used: 0 };
        if same(bytes, b"-") {
            return cell;
        }
        let mut clause = Clause::EMPTY;
        let mut after_colon = false;
        let mut at = 0;
        while at < bytes.len() {
            match bytes[at] {
                b',' => {
                    cell = cell.with(clause);
                    clause = Clause::EMPTY;
                    after_colon = false;
                }
                b' ' => {}
                b':' => after_colon = true,
                b'(' => {
                    let (_, rest) = bytes.split_at(at + 1);
                    let length = until_bracket(rest);
                    let (words, _) = rest.split_at(length);
                    clause.remark = remark(words);
                    at += length + 1;
                }
                letter if after_colon => clause = clause.with_condition(letter),
                letter => clause = clause.with_verb(letter),
            }
            at += 1;
        }
        cell.with(clause)
    }

    /// The clauses, as written.
    pub(super) fn clauses(&self) -> impl Iterator<Item = &Clause> {
        self.clauses.iter().take(self.used)
    }

    const fn with(mut self, clause: Clause) -> Self {
        assert!(clause.verbs != 0, "a clause of the access table needs a verb");
        self.clauses[self.used] = clause;
        self.used += 1;
        self
    }
}

const fn bit(verb: Verb) -> u8 {
    match verb {
        Verb::Create => 1,
        Verb::Read => 2,
        Verb::Edit => 4,
        Verb::Amend => 8,
        Verb::Sign => 16,
        Verb::Export => 32,
    }
}

const fn remark(words: &[u8]) -> Remark {
    const REMARKS: [(&[u8], Remark); 9] = [
        (b"and addressed", Remark::AndAddressed),
        (b"if shared", Remark::IfShared),
        (b"unsent waits", Remark::UnsentWaits),
        (b"a clinician's post: c", Remark::CliniciansPostC),
        (b"once the name is readable", Remark::OnceTheNameIsReadable),
        (b"their parts", Remark::TheirParts),
        (b"plain words", Remark::PlainWords),
        (b"witnessed", Remark::Witnessed),
        (b"safety", Remark::Safety),
    ];
    let mut at = 0;
    while at < REMARKS.len() {
        if same(REMARKS[at].0, words) {
            return REMARKS[at].1;
        }
        at += 1;
    }
    panic!("a remark that the access table does not know")
}

const fn until_bracket(bytes: &[u8]) -> usize {
    let mut at = 0;
    while bytes[at] != b')' {
        at += 1;
    }
    at
}

const fn same(a: &[u8], b: &[u8]) -> bool {
    if a.len() != b.len() {
        return false;
    }
    let mut at = 0;
    while at < a.len() {
        if a[at] != b[at] {
            return false;
        }
        at += 1;
    }
    true
}
