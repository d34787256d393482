//! Acuity over time: the last two examinations row by row, and every comparable
//! row drawn with the band that two tests of one eye differ by anyway.
//!
//! Stands on the list of evaluations and on the review alike. Nothing is told as
//! a change that is not more than that band. What may be compared is decided in
//! [`crate::care::evaluation::comparable`]. Read next: `drawn.rs`.

mod drawn;

use askama::Template;
use askama::filters::HtmlSafe;

use super::acuity_row::{named, worn};
use crate::access::action::Read;
use crate::access::resource::{Evaluation, Transcription};
use crate::access::{Access, Role};
use crate::care::evaluation::comparable::{LastTwo, last_two, of_pair, series};
use crate::care::evaluation::{AcuityRow, Correction, Finding, NewAcuity, TestedEye};
use crate::store::{Snapshot, evaluation as stored};
use crate::vision::acuity::change::Difference;
use crate::web::error::Result;
use crate::web::outside::{Asked, ask};
use crate::web::page::Context;
use crate::web::part::{self, Cell, How, Notice, Table};
use crate::web::words::{self, capital};
pub(in crate::web) use drawn::AcuityPicture;

/// The comparison and the drawings, ready to be printed into a page.
#[derive(Template)]
#[template(path = "evaluation/over_time.html")]
pub(in crate::web) struct OverTime {
    /// What a clinician, or whoever asks one, should look at.
    notice: Option<Notice>,
    compared: Option<Table>,
    left_out: String,
    how: Option<How>,
    pictures: Vec<AcuityPicture>,
}

impl HtmlSafe for OverTime {}

impl OverTime {
    /// Whether there is nothing measured to show.
    pub(in crate::web) fn is_empty(&self) -> bool {
        self.compared.is_none() && self.pictures.is_empty()
    }

    /// Whether two examinations are held side by side.
    pub(in crate::web) const fn compares(&self) -> bool {
        self.compared.is_some()
    }

    /// The drawings, for a page that has a place of its own for them.
    pub(in crate::web) fn take_pictures(&mut self) -> Vec<AcuityPicture> {
        std::mem::take(&mut self.pictures)
    }
}

/// Every acuity row this reader may read, newest examination first.
async fn rows(
    snapshot: &mut Snapshot,
    clinic: Option<&Access<Evaluation, Read>>,
    paper: Option<&Access<Transcription, Read>>,
) -> Result<Vec<AcuityRow>> {
    let mut rows = match clinic {
        Some(access) => stored::acuities(snapshot, access).await?,
        None => Vec::new(),
    };
    if let Some(access) = paper {
        rows.extend(stored::acuities(snapshot, access).await?);
    }
    // Stable: of one day the clinic's own stand first.
    rows.sort_by_key(|row| std::cmp::Reverse(row.examined_on));
    Ok(rows)
}

/// What changed over time, as far as this reader may read it.
pub(in crate::web) async fn over_time(
    snapshot: &mut Snapshot,
    context: &Context,
    clinic: Option<&Access<Evaluation, Read>>,
    paper: Option<&Access<Transcription, Read>>,
) -> Result<OverTime> {
    let rows = rows(snapshot, clinic, paper).await?;
    let role = context.actor()?.role;
    let two = last_two(&rows);
    let all = series(&rows);
    Ok(OverTime {
        notice: two.as_ref().and_then(|two| differs(two, role)),
        compared: two.as_ref().map(compared),
        left_out: two.as_ref().map(left_out).unwrap_or_default(),
        how: two.as_ref().and_then(how),
        pictures: drawn::pictures(&all, context),
    })
}

/// A difference, signed as logMAR is: positive is worse.
fn log_words(difference: &Difference) -> String {
    let size = format!("{:.2}", difference.log_units.abs());
    if size == "0.00" {
        return size;
    }
    if difference.log_units > 0.0 { format!("+{size} (worse)") } else { format!("-{size} (better)") }
}

/// What a difference may be read as.
fn verdict(difference: &Difference) -> (&'static str, &'static str) {
    match (difference.beyond_noise, difference.log_units > 0.0) {
        (false, _) => ("no more than two tests differ by", "plain"),
        (true, true) => ("worse by more than two tests differ by", "caution"),
        (true, false) => ("better by more than two tests differ by", "good"),
    }
}

/// What was written, with its logMAR where there is one.
fn value(row: &AcuityRow) -> String {
    match row.row.finding {
        Finding::Measured(logmar) => format!("{} ({:.2} logMAR)", row.row.as_recorded, logmar.get()),
        Finding::Category(category) => format!("{}, {}", row.row.as_recorded, category.words()),
    }
}

fn compared(two: &LastTwo<'_>) -> Table {
    let mut table = part::table("The last two examinations")
        .note("Only rows of the same eye, correction and distance. Two tests of one eye differ by up to 0.15 log units although nothing changed (95 % limits of \u{b1}0.136 for children on letter charts, IOVS 2163356).")
        .column("Eye, correction and distance")
        .column(&words::date(two.then_on))
        .column(&words::date(two.now_on))
        .column("Difference (log units)")
        .column("Read as")
        .none("No row of the newest examination has the same eye, correction and distance as one of the examination before.");
    for pair in &two.pairs {
        let (difference, read) = match of_pair(*pair) {
            Some(found) => {
                let (words, shape) = verdict(&found);
                (log_words(&found), Cell::status(&capital(words), shape))
            }
            None => ("no figure".to_owned(), Cell::from("a category is not computed with")),
        };
        let (then, now) = pair;
        table.push([
            Cell::from(capital(&named(&now.row))),
            value(then).into(),
            value(now).into(),
            difference.into(),
            read,
        ]);
    }
    table
}

/// Rows that have no fellow, named.
fn left_out(two: &LastTwo<'_>) -> String {
    let list = |rows: &[&AcuityRow]| {
        let named: Vec<String> =
            rows.iter().map(|row| format!("{} ({})", named(&row.row), row.row.as_recorded)).collect();
        named.join("; ")
    };
    let mut said = Vec::new();
    if !two.only_now.is_empty() {
        said.push(format!("Only on {}: {}.", words::date(two.now_on), list(&two.only_now)));
    }
    if !two.only_then.is_empty() {
        said.push(format!("Only on {}: {}.", words::date(two.then_on), list(&two.only_then)));
    }
    if said.is_empty() { String::new() } else { format!("Not compared. {}", said.join(" ")) }
}

/// That best-corrected acuity fell by so much that a clinician should look.
fn differs(two: &LastTwo<'_>, role: Option<Role>) -> Option<Notice> {
    let worse = |pair: &&(&AcuityRow, &AcuityRow)| {
        pair.1.row.correction == Correction::BestCorrection
            && pair.1.row.eye != TestedEye::Both
            && of_pair(**pair).is_some_and(|found| found.for_the_clinician && found.log_units > 0.0)
    };
    let eyes: Vec<&str> = two.pairs.iter().filter(worse).map(|(_, now)| now.row.eye.words()).collect();
    if eyes.is_empty() {
        return None;
    }
    let which = capital(&words::list(&eyes));
    match role {
        Some(Role::Clinician) => Some(part::notice(
            "caution",
            "This differs from last time",
            &format!(
                "{which}: worse by 0.2 log units or more with best correction. Please check the entry, then decide."
            ),
        )),
        // What it means is the clinician's to say.
        Some(Role::VisionTeacher) => Some(part::notice(
            "plain",
            "The clinician is asked to look",
            &format!("{which}: it differs from last time."),
        )),
        _ => None,
    }
}

fn how(two: &LastTwo<'_>) -> Option<How> {
    let found: Vec<(&AcuityRow, &AcuityRow, Difference)> =
        two.pairs.iter().filter_map(|pair| Some((pair.0, pair.1, of_pair(*pair)?))).collect();
    if found.is_empty() {
        return None;
    }
    let inputs: Vec<(String, String)> = found
        .iter()
        .map(|(then, now, _)| (capital(&named(&now.row)), format!("{} then, {} now", value(then), value(now))))
        .collect();
    Some(
        part::how(&[
            "Difference = logMAR now \u{2212} logMAR then; positive is worse.",
            "Compared are rows of one eye, correction, device, kind of chart and light at one distance, within 2.5 % (10 ft and 3 m are one distance; a chart or a light that was not named counts as the other\u{2019}s; common practice).",
            "Below 0.15 log units it is what two tests of one eye differ by; from 0.2 on a clinician should look (common practice).",
        ])
        .inputs(&inputs)
        .source("95 % limits of \u{b1}0.136 log units for children on letter charts, IOVS 2163356 (abstract seen), rounded up")
        .asks_all(found.iter().filter_map(asked)),
    )
}

fn asked((then, now, difference): &(&AcuityRow, &AcuityRow, Difference)) -> Option<Asked> {
    let (then, now) = (then.row.finding.logmar()?, now.row.finding.logmar()?);
    Some(
        ask("acuity_reserve")
            .with("threshold_logmar", then.get())
            .with("demand_logmar", now.get())
            .with("required_reserve_ratio", 1.0)
            .gives("reserve_log", &log_words(difference)),
    )
}

/// What was worn, and how far away the chart was.
fn worn_at(row: &NewAcuity) -> String {
    format!("{}, at {}", worn(row), row.distance.typed)
}
