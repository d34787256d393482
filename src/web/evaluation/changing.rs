//! All values of a filed report in one form, each part under a beginning of its own.
//!
//! Only what differs from the stored report is read again; of that both texts are
//! given. Does not know who changes it, but for the words over the form, nor
//! whether it may be stored; that is `confirm.rs`.

use askama::Template;

use super::acuity_row;
use super::edit::{self, Checked};
use super::kind::Drafts;
use super::paper::file_links;
use crate::access::Access;
use crate::access::action::Read;
use crate::access::resource::Transcription;
use crate::care::amendment::{Change, Correction, Refused};
use crate::care::evaluation::{Evaluation, Section};
use crate::care::ids::EvaluationId;
use crate::store::evaluation::Changes;
use crate::web::error::{Error, Result};
use crate::web::form::{Entry, Faults, FormView};
use crate::web::page::{Context, Shell, shell_about};
use crate::web::part::{Group, Piece};
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words::capital;

/// The parts of a report that are changed as a whole section.
const SECTIONS: [Section; 7] = [
    Section::Exam,
    Section::Refraction,
    Section::Sight,
    Section::Eyes,
    Section::Advice,
    Section::Distance,
    Section::Near,
];

/// Where a report lies.
pub(super) fn base(visit: &Visit, id: EvaluationId) -> String {
    visit.at(&format!("{}/{id}", Transcription::BASE))
}

#[derive(Template)]
#[template(path = "evaluation/paper_change.html")]
pub(super) struct ChangePage {
    shell: Shell,
    title: &'static str,
    lede: &'static str,
    files: Vec<(String, String)>,
    form: FormView,
    action: String,
    fields: Group,
    end_words: &'static str,
    with_password: bool,
    submit_words: &'static str,
    back: String,
}

/// Who changes: the clinician who confirms, or the vision teacher who copied.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum By {
    Clinician,
    Copyist,
}

/// Under which beginning a section stands in the one form.
fn beginning(section: Section) -> String {
    format!("{}.", section.code())
}

fn row_beginning(row: crate::care::ids::AcuityId) -> String {
    format!("row.{row}.")
}

/// Everything that the report says, as the fields of one form.
pub(super) fn whole(report: &Evaluation) -> Entry {
    let mut entry = Entry::default();
    for section in SECTIONS {
        entry.put_part(&beginning(section), &edit::entry_of(section, report));
    }
    for row in &report.acuities {
        entry.put_part(&row_beginning(row.id), &acuity_row::fill(&row.row));
    }
    entry
}

pub(super) async fn change_view(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Transcription, Read>,
    (report, by): (&Evaluation, By),
    form: FormView,
) -> Result<ChangePage> {
    let mut fields = Group::default();
    let mut folded = |words: String, prefix: &str, pieces: Vec<Piece>| {
        // What has a fault stands open, or it would not be found.
        let faulty = form.faults.iter().any(|(name, _)| name.starts_with(prefix));
        if faulty {
            fields.push(Piece::head(words));
            fields.push(Piece::Group(pieces.into_iter().collect()));
        } else {
            fields.push(Piece::Folded(words, pieces.into_iter().collect()));
        }
    };
    for row in &report.acuities {
        let prefix = row_beginning(row.id);
        let words = format!("Acuity: {}, {}", acuity_row::named(&row.row), row.row.as_recorded);
        folded(words, &prefix, acuity_row::pieces(acuity_row::fields(&form.part(&prefix), &[])));
    }
    for section in SECTIONS {
        let prefix = beginning(section);
        folded(capital(section.words()), &prefix, edit::section_pieces(&form.part(&prefix), report, section));
    }
    let base = base(visit, report.id);
    let mut snapshot = app.store.snapshot().await?;
    let files = file_links(&mut snapshot, visit, access, report.id).await?;
    Ok(match by {
        By::Clinician => ChangePage {
            shell: shell_about(context, visit, "Confirm with values changed").of_form(&form),
            title: "Confirm with values changed",
            lede: "Open a part and write what is right.",
            files,
            action: format!("{base}/confirm/change"),
            fields,
            end_words: "Confirm",
            with_password: true,
            submit_words: "Confirm with these values",
            back: format!("{base}/confirm"),
            form,
        },
        By::Copyist => ChangePage {
            shell: shell_about(context, visit, "Correct what was copied").of_form(&form),
            title: "Correct what was copied",
            lede: "Open a part and write what the paper says.",
            files,
            action: format!("{base}/amend"),
            fields,
            end_words: "Save the correction",
            with_password: false,
            submit_words: "Save the correction",
            back: base,
            form,
        },
    })
}

/// The fields of one part whose texts differ.
fn differing(part: &str, before: &Entry, after: &Entry) -> Vec<Change> {
    let mut names: Vec<&str> = Vec::new();
    for (name, _) in before.iter().chain(after.iter()) {
        // A tick that confirms something unusual is no value.
        if !name.ends_with("confirmed") && !names.contains(&name) {
            names.push(name);
        }
    }
    let said = |entry: &Entry, name: &str| entry.all(name).join(", ").trim().replace('_', " ");
    names
        .into_iter()
        .map(|name| {
            let field = format!("{}: {}", capital(part), name.replace('_', " "));
            Change::of(field, said(before, name), said(after, name))
        })
        .filter(|change| change.before != change.after)
        .collect()
}

/// What the form changes: the values to store, and both texts of each.
pub(super) fn read_changes(
    report: &Evaluation,
    entry: &Entry,
    today: jiff::civil::Date,
) -> std::result::Result<(Changes, Vec<Change>), Faults> {
    let (mut changes, mut texts, mut faults) = (Changes::default(), Vec::new(), Faults::default());
    let mut findings = report.clone();
    for section in SECTIONS {
        let prefix = beginning(section);
        let after = entry.part(&prefix);
        let changed = differing(section.words(), &edit::entry_of(section, report), &after);
        if changed.is_empty() || after.iter().next().is_none() {
            continue;
        }
        texts.extend(changed);
        // Three sections write into one set of findings: each goes on from the last.
        match edit::checked(section, &after, &findings, today) {
            Ok(Checked::Paper(head)) => changes.head = Some(head),
            Ok(Checked::Refraction(both)) => changes.refraction = Some(both),
            Ok(Checked::Findings(found)) => {
                findings.findings = (*found).clone();
                changes.findings = Some(found);
            }
            Ok(Checked::Answer(answer)) => changes.answers.push(answer),
            Ok(Checked::Exam(_)) => {}
            Err(wrong) => wrong.iter().for_each(|(name, words)| faults.add(format!("{prefix}{name}"), words)),
        }
    }
    for row in &report.acuities {
        let prefix = row_beginning(row.id);
        let after = entry.part(&prefix);
        let changed = differing(&acuity_row::named(&row.row), &acuity_row::fill(&row.row), &after);
        if changed.is_empty() || after.iter().next().is_none() {
            continue;
        }
        texts.extend(changed);
        match acuity_row::read(&after) {
            Ok(read) => changes.acuities.push((row.id, read)),
            Err(wrong) => wrong.faults.iter().for_each(|(name, words)| faults.add(format!("{prefix}{name}"), words)),
        }
    }
    if faults.is_empty() { Ok((changes, texts)) } else { Err(faults) }
}

/// The correction with its reason, or what is wrong with it.
pub(super) fn correction(texts: Vec<Change>, reason: &str, unchanged: &str) -> std::result::Result<Correction, Faults> {
    Correction::because(texts, reason).map_err(|refused| match refused {
        Refused::Nothing => Faults::one("", unchanged),
        Refused::NoReason => {
            Faults::one("reason", "Write why it is changed: what the paper says, or what you measured.")
        }
    })
}

/// Both texts of a report that moved on while a form was open.
pub(super) fn both(visit: &Visit, report: &Evaluation, yours: &Entry) -> Error {
    let mut yours = yours.clone();
    yours.remove("password");
    yours.remove("reason");
    super::meanwhile::both(base(visit, report.id), &whole(report), &yours)
}
