//! The access table, and the two functions that read it.
//!
//! The table is laid out like the one in the product's contract, cell by cell,
//! so that both can be held side by side. Verbs: C create, R read, U change what
//! is not signed, A amend, S sign, release or withdraw, X print or export.
//! Conditions, all of which must hold: a on the student's team now; k own child,
//! full rights, before transfer (or by the student's choice after); c consent in
//! force toward the reader's side; g re-enters the password; r released only;
//! o own entries only; l after the lock. Whoever may C also has R, U and A on
//! what is his or her own, under the same conditions.
//!
//! Does not know how the facts were loaded: [`decide`] is pure and total.

use crate::access::action::Verb;
use crate::access::limits::{Basis, Crossing, Denied, Limits, Reason};
use crate::access::notation::{Cell, Clause, Remark};
use crate::access::resource::Row;
use crate::access::role::{Actor, Role};
use crate::access::standing::{Given, Password, Standing};
use crate::care::consent::Direction;

/// An indented row is a part of the row above it: some of its fields, or one
/// kind of its entries. Whoever may R the whole may R the part, so the cells of
/// a part hold only what its holders have beyond that.
#[rustfmt::skip]
const TABLE: &[Line] = &[
    //                            vision teacher                  classroom teacher             parent               clinician                                   steward
    line(Row::Identity,          ["CRU:a",                        "-",                          "R:k",               "R:ac",                                     "R, U:g"]),
    line(  Row::Glimpse,         ["-",                            "R:a",                        "-",                 "-",                                        "-"]),
    line(  Row::Initials,        ["-",                            "-",                          "-",                 "R:a",                                      "-"]),
    line(Row::Contacts,          ["CRU:a",                        "-",                          "RU:ko",             "R:ac",                                     "RU:g"]),
    line(Row::AccessLimits,      ["-",                            "-",                          "-",                 "-",                                        "CRU:g"]),
    line(  Row::AccessLimitFlag, ["R:a",                          "R:a",                        "-",                 "-",                                        "-"]),
    line(Row::Intake,            ["CRUAS:a",                      "-",                          "R:kr",              "R:acr",                                    "-"]),
    line(Row::EvaluationRequest, ["CRU:a",                        "-",                          "R:k",               "R:ac",                                     "-"]),
    line(  Row::RequestDate,     ["U:a",                          "-",                          "-",                 "U:ac",                                     "R"]),
    line(Row::Stage,             ["CR:a (unsent waits)",          "-",                          "R:k",               "R:ac",                                     "R"]),
    line(Row::Consents,          ["CR:a, S:a (witnessed)",        "-",                          "RS:k",              "R:a",                                      "R"]),
    line(  Row::Emergency,       ["C:ag",                         "-",                          "-",                 "C:ag",                                     "-"]),
    line(Row::VisualTasks,       ["CRU:a",                        "CR:ao",                      "CR:ko, R:k",        "R:ac",                                     "-"]),
    line(  Row::TaskGlimpse,     ["-",                            "R:a",                        "-",                 "-",                                        "-"]),
    line(Row::ClassObservation,  ["CR:a",                         "CRUA:ao",                    "R:kl",              "R:acl",                                    "-"]),
    line(Row::HomeObservation,   ["CR:a",                         "R:al (if shared)",           "CRUA:ko, R:k",      "R:acl",                                    "-"]),
    line(Row::Evaluation,        ["R:acr",                        "-",                          "RX:kr",             "C:a (once the name is readable), RUASX:a", "-"]),
    line(Row::Transcription,     ["CRUAS:a",                      "-",                          "RX:kr",             "R:acr, S:acr",                             "-"]),
    line(Row::DocumentDates,     ["-",                            "-",                          "-",                 "-",                                        "R"]),
    line(Row::Loans,             ["CRUA:a",                       "-",                          "R:k",               "R:ac",                                     "R"]),
    line(  Row::Receipt,         ["CUA:a",                        "-",                          "C:k",               "C:ac",                                     "-"]),
    line(  Row::Repair,          ["CUA:a",                        "-",                          "C:k",               "-",                                        "-"]),
    line(  Row::LoanDecision,    ["-",                            "-",                          "-",                 "CS:ac",                                    "-"]),
    line(  Row::LoanGlimpse,     ["-",                            "R:a",                        "-",                 "-",                                        "-"]),
    line(Row::Training,          ["CRUASX:a",                     "-",                          "RX:kl",             "R:acl",                                    "-"]),
    line(Row::Guidance,          ["R:a (their parts)",            "-",                          "R:k (plain words)", "R:a (their parts)",                        "-"]),
    line(Row::Card,              ["CRUASX:a",                     "RX:ar",                      "RX:kr",             "R:acr",                                    "-"]),
    line(Row::TryAtHome,         ["CRUS:a",                       "-",                          "R:kr",              "R:acr",                                    "-"]),
    line(Row::Summary,           ["CRUASX:a",                     "-",                          "RX:kr",             "RX:acr",                                   "-"]),
    line(Row::Prescription,      ["R:acr",                        "-",                          "RX:kr",             "CRUASX:a",                                 "-"]),
    line(Row::Thread,            ["CR:a (a clinician's post: c)", "CR:ao, R:a (and addressed)", "CR:k",              "CR:ac",                                    "-"]),
    line(Row::SafetyFlag,        ["CR:a",                         "C:a",                        "CR:k",              "C:a, R:ac",                                "-"]),
    line(  Row::FlagKind,        ["-",                            "-",                          "-",                 "R:a (safety)",                             "-"]),
    line(  Row::Pause,           ["-",                            "R:a",                        "-",                 "S:a (safety)",                             "R, S:g"]),
    line(Row::Visits,            ["CRU:a",                        "-",                          "R:k",               "R:ac",                                     "R"]),
    line(  Row::VisitTimes,      ["-",                            "R:a",                        "-",                 "-",                                        "-"]),
    line(Row::Team,              ["CRU:a",                        "R:a",                        "R:k",               "R:a",                                      "CRU:g"]),
    line(Row::DisclosureRecord,  ["R:a",                          "-",                          "RX:k",              "R:ao",                                     "R"]),
    line(Row::WholeRecord,       ["X:ag",                         "-",                          "X:kg",              "X:ag",                                     "-"]),
    line(Row::SealedRecord,      ["-",                            "-",                          "-",                 "-",                                        "X:g"]),
    // Not about one student.
    line(Row::Pool,              ["CRU",                          "-",                          "-",                 "CRU",                                      "CRU"]),
    line(Row::OwnAccount,        ["RU:o",                         "RU:o",                       "RU:o",              "RU:o",                                     "RU:o"]),
    line(Row::Accounts,          ["-",                            "-",                          "-",                 "-",                                        "CRUASX:g"]),
    line(Row::Settings,          ["-",                            "-",                          "-",                 "-",                                        "CRUASX:g"]),
    line(Row::Backups,           ["-",                            "-",                          "-",                 "-",                                        "CRUASX:g"]),
    line(Row::Audit,             ["-",                            "-",                          "-",                 "-",                                        "CRUASX:g"]),
    line(Row::OpenRecord,        ["C",                            "-",                          "-",                 "-",                                        "-"]),
];

/// What the actor may do to a row of the student whom the standing is about.
///
/// # Errors
///
/// [`Denied::Hidden`] where the cell is a dash or a condition fails;
/// [`Denied::Forbidden`] where only the password is missing, or where the actor
/// may read the row but not do this.
pub fn decide(actor: &Actor, standing: &Standing, row: Row, verb: Verb) -> Result<Limits, Denied> {
    if !row.about_a_student() || standing.account() != actor.account {
        return Err(Denied::Hidden);
    }
    let known = Known { standing: Some(standing), password: standing.password() };
    Case { actor, known, row, verb }.decide()
}

/// What the actor may do to a row that is not about one student.
///
/// # Errors
///
/// As [`decide`].
pub fn decide_office(actor: &Actor, password: Password, row: Row, verb: Verb) -> Result<Limits, Denied> {
    if row.about_a_student() {
        return Err(Denied::Hidden);
    }
    let known = Known { standing: None, password };
    Case { actor, known, row, verb }.decide()
}

/// One row of the table.
struct Line {
    row: Row,
    /// Vision teacher, classroom teacher, parent, clinician, steward.
    cells: [Cell; 5],
}

const fn line(row: Row, [vision, classroom, parent, clinician, steward]: [&str; 5]) -> Line {
    Line {
        row,
        cells: [
            Cell::read(vision),
            Cell::read(classroom),
            Cell::read(parent),
            Cell::read(clinician),
            Cell::read(steward),
        ],
    }
}

/// The columns of the table.
#[derive(Clone, Copy)]
enum Column {
    Of(Role),
    Steward,
}

/// What is known for one question.
#[derive(Clone, Copy)]
struct Known<'a> {
    /// None when the question is not about one student.
    standing: Option<&'a Standing>,
    password: Password,
}

/// One question to the table.
#[derive(Clone, Copy)]
struct Case<'a> {
    actor: &'a Actor,
    known: Known<'a>,
    row: Row,
    verb: Verb,
}

/// How a clause answers.
enum Answer {
    Yes(Limits),
    /// Yes, were the password entered again.
    AfterPassword,
    No,
}

impl Case<'_> {
    fn decide(self) -> Result<Limits, Denied> {
        let mut widest: Option<Limits> = None;
        let mut password_would_do = false;
        for clause in self.clauses() {
            match self.weigh(&clause) {
                // Of two equally good the first counts.
                Answer::Yes(limits) => {
                    if widest.is_none_or(|found| limits.better_than(&found)) {
                        widest = Some(limits);
                    }
                }
                Answer::AfterPassword => password_would_do = true,
                Answer::No => {}
            }
        }
        match widest {
            Some(limits) => Ok(limits),
            None if password_would_do => Err(Denied::Forbidden(Reason::EnterPassword)),
            None if self.verb != Verb::Read && self.reading().is_ok() => Err(Denied::Forbidden(Reason::ReadOnly)),
            None => Err(Denied::Hidden),
        }
    }

    fn reading(self) -> Result<Limits, Denied> {
        Case { verb: Verb::Read, ..self }.decide()
    }

    /// Every clause that could allow this: the role's column before the
    /// steward's, so that a crossing is noticed; the row before its whole.
    fn clauses(self) -> impl Iterator<Item = Clause> {
        let steward = self.actor.steward.then_some(Column::Steward);
        let columns = self.actor.role.map(Column::Of).into_iter().chain(steward);
        columns
            .flat_map(move |column| self.rows().filter_map(move |row| cell(row, column)))
            .flat_map(Cell::clauses)
            .filter_map(move |clause| clause.toward(self.verb))
    }

    /// The row, and for reading the rows of which it is a part: R of the whole
    /// is R of the part; no other verb passes down.
    fn rows(self) -> impl Iterator<Item = Row> {
        std::iter::successors(Some(self.row), move |row| row.whole().filter(|_| self.verb == Verb::Read))
    }

    fn weigh(self, clause: &Clause) -> Answer {
        if (clause.team && !self.on_team()) || (clause.child && !self.own_child()) {
            return Answer::No;
        }
        let consent = self.consent();
        let unreadable = clause.remark == Remark::OnceTheNameIsReadable && !self.name_is_readable();
        if unreadable || (clause.consent && consent.is_none()) {
            return Answer::No;
        }
        if clause.password && self.known.password == Password::NotEntered {
            return Answer::AfterPassword;
        }
        Answer::Yes(self.limits(clause, consent))
    }

    fn limits(self, clause: &Clause, consent: Option<Basis>) -> Limits {
        let may_sign = match self.known.standing {
            Some(standing) if clause.child && self.verb == Verb::Sign => standing.parental(),
            _ => Limits::none().may_sign,
        };
        Limits {
            own_only: clause.own || clause.remark == Remark::AndAddressed,
            or_addressed: clause.remark == Remark::AndAddressed,
            released_only: clause.released,
            locked_only: clause.locked,
            shared_only: clause.remark == Remark::IfShared,
            sent_only: clause.consent && consent == Some(Basis::AsSent),
            without_clinic_posts: clause.remark == Remark::CliniciansPostC && consent.is_none(),
            unsent_waits: clause.remark == Remark::UnsentWaits,
            plain_words: clause.remark == Remark::PlainWords,
            witnessed: clause.remark == Remark::Witnessed,
            with_reason: clause.password,
            may_sign,
            crossing: self.crossing(clause, consent),
        }
    }

    /// Content crosses where the table asks for a consent, and in the three
    /// cells whose remark says so.
    fn crossing(self, clause: &Clause, consent: Option<Basis>) -> Option<Crossing> {
        let basis = match clause.remark {
            _ if self.verb == Verb::Create => None,
            _ if clause.consent => consent,
            Remark::CliniciansPostC => consent,
            Remark::TheirParts => consent.or_else(|| self.sent()),
            Remark::Safety => Some(Basis::Safety),
            _ => None,
        };
        let direction = self.direction()?;
        basis.map(|basis| Crossing { direction, category: self.row.category(), basis })
    }

    fn on_team(self) -> bool {
        self.known.standing.is_some_and(Standing::on_team)
    }

    fn own_child(self) -> bool {
        self.known.standing.is_some_and(|standing| match self.row.category() {
            Some(category) => standing.parental().contains(category),
            None => !standing.parental().is_empty(),
        })
    }

    /// What lets this row's content reach the reader, if anything.
    ///
    /// A document once sent stays readable as sent. It may no longer be acted
    /// on: nothing newer crosses.
    fn consent(self) -> Option<Basis> {
        let category = self.row.category();
        let found = self.known.standing?.consent(self.direction()?, category);
        match found {
            Some(found) => Some(match found.kind {
                Given::Consent => Basis::Consent(found.consent),
                Given::Emergency => Basis::Emergency(found.consent),
            }),
            None if self.row.is_sent_document() && matches!(self.verb, Verb::Read | Verb::Export) => self.sent(),
            None => None,
        }
    }

    /// Identity has no category, so any consent will do.
    fn name_is_readable(self) -> bool {
        let (Some(standing), Some(way)) = (self.known.standing, self.direction()) else {
            return false;
        };
        standing.consent(way, Row::Identity.category()).is_some()
    }

    fn sent(self) -> Option<Basis> {
        let sent = self.known.standing?.was_sent(self.direction()?, self.row.category());
        sent.then_some(Basis::AsSent)
    }

    fn direction(self) -> Option<Direction> {
        self.actor.side().reached_by()
    }
}

fn cell(row: Row, column: Column) -> Option<&'static Cell> {
    let [vision, classroom, parent, clinician, steward] = &TABLE.iter().find(|line| line.row == row)?.cells;
    Some(match column {
        Column::Of(Role::VisionTeacher) => vision,
        Column::Of(Role::ClassroomTeacher) => classroom,
        Column::Of(Role::Parent) => parent,
        Column::Of(Role::Clinician) => clinician,
        Column::Steward => steward,
    })
}
