//! Correcting what was signed: the page with its ways, the reading of its
//! forms, and what a reader is shown of it afterwards.
//!
//! One page for every kind of document: amend its words, let a new one take its
//! place, call it off, or mark it entered in error. Read next: `correct/acts.rs`
//! for the acts, `store::document` for what is kept of them.

pub(super) mod acts;

use askama::Template;
use askama::filters::HtmlSafe;
use jiff::tz::TimeZone;

use super::check::{Check, LONG_TEXT};
use super::error::{Both, Error};
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Context, Shell, shell_about};
use super::part::{self, Group, Piece};
use super::visit::Visit;
use super::words;
use crate::care::amendment::{Change, Correction, Refused};
use crate::care::document::{Kind, Mark, Wording};
use crate::store::StoreError;
use crate::store::document::After;

/// One way to correct a document.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    Amend,
    Supersede,
    Cancel,
    Error,
}

impl Way {
    const fn code(self) -> &'static str {
        match self {
            Self::Amend => "amend",
            Self::Supersede => "supersede",
            Self::Cancel => "cancel",
            Self::Error => "error",
        }
    }

    const fn heading(self) -> &'static str {
        match self {
            Self::Amend => "Amend its words",
            Self::Supersede => "Put a new one in its place",
            Self::Cancel => "Cancel it",
            Self::Error => "Mark it entered in error",
        }
    }

    /// The field of the reason.
    fn reason(self) -> String {
        format!("{}_reason", self.code())
    }

    /// The field of the password.
    fn password(self) -> String {
        format!("{}_password", self.code())
    }

    const fn signs(self) -> bool {
        matches!(self, Self::Cancel | Self::Error)
    }
}

/// The document that is to be corrected.
pub(super) struct Subject<'a> {
    /// Its kind.
    pub(super) kind: Kind,
    /// What it is called on the page.
    pub(super) title: String,
    /// Where it is read; its acts lie below.
    pub(super) href: String,
    /// Its texts as they read now; none, they cannot be amended by this person.
    pub(super) wordings: Vec<Wording>,
    /// What became of it so far.
    pub(super) after: &'a After,
    /// The ways open to this person.
    pub(super) ways: Vec<Way>,
    /// Where a new one is written, if that is a page of its own.
    pub(super) anew: Option<String>,
}

#[derive(Template)]
#[template(path = "correct/page.html")]
pub(super) struct CorrectPage {
    shell: Shell,
    crumbs: part::Crumbs,
    errors: part::Summary,
    title: String,
    document: String,
    parts: Vec<Part>,
}

/// One way on the page.
struct Part {
    heading: &'static str,
    words: String,
    link: Option<String>,
    form: FormView,
    action: String,
    fields: Group,
    button: &'static str,
    grave: bool,
}

/// The page; with a form that came back, if one did.
pub(super) fn page(
    context: &Context,
    visit: &Visit,
    subject: &Subject<'_>,
    back: Option<(Way, FormView)>,
) -> CorrectPage {
    let title = format!("Correct this {}", subject.kind.words());
    let mut shell = shell_about(context, visit, &title);
    shell.has_faults = back.is_some();
    CorrectPage {
        shell,
        crumbs: part::crumbs(&[(subject.href.as_str(), subject.title.as_str())]),
        errors: back.as_ref().map_or_else(|| FormView::default().errors(), |(_, form)| form.errors()),
        title,
        document: subject.title.clone(),
        parts: subject.ways.iter().map(|way| one_way(context, subject, *way, back.as_ref())).collect(),
    }
}

fn one_way(context: &Context, subject: &Subject<'_>, way: Way, back: Option<&(Way, FormView)>) -> Part {
    let form = match back {
        Some((of, form)) if *of == way => form.clone(),
        _ => FormView::filled(context, entry_of(subject, way)).at_version(subject.after.seen),
    };
    let kind = subject.kind.words();
    let (words, button) = match way {
        Way::Amend => (
            "For words only. What it said stays readable beside what it says then, with your name, the day and the reason. \
             Figures, choices and dates are never amended: put a new one in its place for those."
                .to_owned(),
            "Amend it",
        ),
        Way::Supersede => (
            format!(
                "A new {kind} starts as a copy of this one. Once it is signed, this one counts no longer; it stays readable, and \
                 the new one shows what changed."
            ),
            "Write the new one",
        ),
        Way::Cancel => (
            "It was right, and is not to be carried out any more. It stays listed. A device already received stays the student\u{2019}s."
                .to_owned(),
            "Cancel it",
        ),
        Way::Error => (
            "It should never have been signed, for example because it is about somebody else. It then counts as never signed: \
             what rested on it is looked at again. It stays listed, and what was sent stays sent."
                .to_owned(),
            "Mark it entered in error",
        ),
    };
    let link = subject.anew.clone().filter(|_| way == Way::Supersede);
    Part {
        heading: way.heading(),
        words,
        fields: fields(&form, subject, way),
        action: format!("{}/{}", subject.href, way.code()),
        button,
        grave: way == Way::Error,
        link,
        form,
    }
}

fn entry_of(subject: &Subject<'_>, way: Way) -> Entry {
    let mut entry = Entry::default();
    if way == Way::Amend {
        for one in &subject.wordings {
            entry.set(format!("text_{}", one.field), one.text.clone());
        }
    }
    entry
}

fn fields(form: &FormView, subject: &Subject<'_>, way: Way) -> Group {
    let mut pieces: Vec<Piece> = Vec::new();
    if way == Way::Amend {
        for one in &subject.wordings {
            let field = form.area(&format!("text_{}", one.field), &one.label).rows(2);
            pieces.push(if one.needed { field.into() } else { field.optional().into() });
        }
    }
    let asked = match way {
        Way::Amend => "Why it is amended",
        Way::Supersede => "Why a new one takes its place",
        Way::Cancel => "Why it is cancelled",
        Way::Error => "Why it was an error",
    };
    pieces.push(form.area(&way.reason(), asked).hint("Stays with the document").rows(2).into());
    if way.signs() {
        pieces.push(form.password(&way.password(), "Your password").into());
    }
    pieces.into_iter().collect()
}

/// The form as it came back, without its password.
pub(super) fn again(context: &Context, posted: &Posted, way: Way, faults: Faults) -> (Way, FormView) {
    let mut form = FormView::again(context, posted, faults);
    form.entry.set(way.password(), "");
    (way, form)
}

/// The password of a way that signs, as typed, with its field.
pub(super) fn password(posted: &Posted, way: Way) -> (&str, String) {
    let field = way.password();
    (posted.entry.get(&field), field)
}

/// Reads the reason of a way.
pub(super) fn reason(entry: &Entry, way: Way) -> Result<String, Faults> {
    let mut check = Check::new(entry);
    let reason = check.text(&way.reason(), "The reason", LONG_TEXT);
    check.build(|| Some(reason))
}

/// Reads what is to be amended, and why.
pub(super) fn changes(entry: &Entry, wordings: &[Wording]) -> Result<Correction, Faults> {
    let mut check = Check::new(entry);
    let mut changes = Vec::new();
    for one in wordings {
        let field = format!("text_{}", one.field);
        // A text that the form did not carry stays as it is.
        if !entry.iter().any(|(name, _)| name == field) {
            continue;
        }
        let (before, after) =
            (one.text.replace("\r\n", "\n"), check.opt_text(&field, &one.label, LONG_TEXT).trim().to_owned());
        if one.needed && after.is_empty() {
            check.fault(&field, format!("{} must say something here: it was signed with it.", one.label));
        }
        if before.trim() != after {
            changes.push(Change::of(one.label.clone(), before, after));
        }
    }
    let reason = check.text(&Way::Amend.reason(), "The reason", LONG_TEXT);
    let correction = match Correction::because(changes, &reason) {
        Err(Refused::Nothing) => {
            let first = wordings.first().map_or_else(String::new, |one| format!("text_{}", one.field));
            check.fault(first, "Nothing is changed yet. Write one of the texts anew, then amend it.");
            None
        }
        other => other.ok(),
    };
    check.build(|| correction)
}

/// What a refused write shows: somebody else marked the document meanwhile.
pub(super) fn refused(error: StoreError, subject: &Subject<'_>, yours: &[Change]) -> Error {
    match error {
        StoreError::Stale => {
            let rows = yours
                .iter()
                .map(|change| {
                    let found = subject.wordings.iter().find(|one| one.label == change.field);
                    (change.field.clone(), found.map(|one| one.text.clone()).unwrap_or_default(), change.after.clone())
                })
                .collect();
            Error::Stale(Box::new(Both { back: subject.href.clone(), rows }))
        }
        error => error.into(),
    }
}

/// What became of a document, ready to be printed above it.
#[derive(Template)]
#[template(path = "correct/after.html")]
pub(super) struct AfterView {
    /// What it has become, printed large over it on paper.
    stamp: &'static str,
    ended: Option<part::Notice>,
    replaces: Option<part::Notice>,
    changed: Option<part::Table>,
    amended: part::Amended,
    correct: Option<String>,
    correct_words: String,
}

impl HtmlSafe for AfterView {}

/// What became of a document; `next` is where the one that took its place is read.
pub(super) fn after_view(kind: Kind, after: &After, next: impl Fn(&str) -> String, zone: &TimeZone) -> AfterView {
    let stamp = after.ended.as_ref().map_or("", |ended| match ended.mark {
        Mark::Superseded => "Superseded. Do not use.",
        Mark::Cancelled => "Cancelled. Do not use.",
        Mark::Withdrawn => "Withdrawn. Do not use.",
        Mark::EnteredInError | Mark::Amended => "Entered in error. Do not use.",
    });
    let ended = after.ended.as_ref().map(|ended| {
        let said = format!("On {}, by {}. Why: {}", words::instant(ended.at, zone), ended.by, ended.reason);
        let (title, more) = match ended.mark {
            Mark::Superseded => ("Superseded", "A newer one has taken its place; this one counts no longer."),
            Mark::Cancelled => ("Cancelled", "It is not to be carried out any more."),
            Mark::Withdrawn => ("Withdrawn", "It is not released now."),
            Mark::EnteredInError | Mark::Amended => ("Entered in error", "It counts as never signed."),
        };
        let notice = part::notice("stop", title, &format!("{more} {said}"));
        match &ended.next {
            Some(id) => notice.link(&next(id), "Open the newer one"),
            None => notice,
        }
    });
    AfterView {
        stamp,
        ended,
        replaces: None,
        changed: None,
        amended: amended(after, zone),
        correct: None,
        correct_words: format!("Correct this {}", kind.words()),
    }
}

impl AfterView {
    /// Where it is corrected, for those who may.
    pub(super) fn correct_at(mut self, href: Option<String>) -> Self {
        self.correct = href;
        self
    }

    /// As it stands on paper, where nothing is pressed.
    pub(super) fn on_paper(mut self) -> Self {
        self.correct = None;
        self.ended = self.ended.map(part::Notice::on_paper);
        self
    }

    /// Which one it takes the place of, why, and what is different.
    pub(super) fn replacing(mut self, (href, title): (String, String), changed: &[(String, String, String)]) -> Self {
        let said = if changed.is_empty() { "No text or figure differs." } else { "What changed is listed below." };
        self.replaces = Some(part::notice("plain", "It takes the place of an earlier one", said).link(&href, &title));
        self.changed = (!changed.is_empty()).then(|| changes_table(changed));
        self
    }
}

/// Both texts of what a newer document says differently.
pub(super) fn changes_table(changed: &[(String, String, String)]) -> part::Table {
    let mut table = part::table("What changed").column("Field").column("Before").column("Now");
    let shown = |value: &str| if value.is_empty() { "nothing".to_owned() } else { value.to_owned() };
    for (label, before, now) in changed {
        table.push([words::capital(label), shown(before), shown(now)]);
    }
    table
}

/// Newest first, as elsewhere.
fn amended(after: &After, zone: &TimeZone) -> part::Amended {
    after.amended.iter().rev().fold(part::amended(), |shown, one| {
        let when = words::instant(one.at, zone);
        shown.field([&one.by, &when, &one.reason], [&one.field, &one.before, &one.after])
    })
}
