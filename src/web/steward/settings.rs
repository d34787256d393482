//! Settings of the site: whose records these are, whom to call, ages and intervals.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::super::check::{Check, NAME, SHORT_TEXT};
use super::super::error::Result;
use super::super::form::{Entry, Faults, FormView, Posted};
use super::super::page::{Again, Context};
use super::super::state::App;
use super::{Forms, build, reading};
use crate::access::Office;
use crate::access::action::{Edit, Read};
use crate::access::resource::{Accounts, Settings};
use crate::store::Audit;
use crate::store::setting::{self, Site};

/// Ages in years at which rights may pass to the student: 18 in most places,
/// 19 or 21 in some (common practice).
const AGES: std::ops::RangeInclusive<i64> = 16..=21;
/// Months between evaluations that make sense (common practice).
const MONTHS: std::ops::RangeInclusive<i64> = 3..=24;

/// Years a record can be kept after the student leaves (common practice).
const YEARS: std::ops::RangeInclusive<i64> = 1..=99;

/// The settings as they stand.
pub(super) fn entry_of(site: &Site) -> Entry {
    reading::entry_of(site)
        .with("retention_years", site.value("retention_years").unwrap_or_default())
        .with("units", site.units())
        .with("snomed", if site.snomed() { "yes" } else { "no" })
        .with("owner", site.owner())
        .with("help", site.help())
        .with("emergency_number", site.emergency_number())
        .with("evaluation_months", site.evaluation_months().to_string())
        .with("transfer_age", site.transfer_age().to_string())
}

/// The settings as a form gives them: name and value each; none, the default.
fn checked(entry: &Entry) -> std::result::Result<Vec<(String, Option<String>)>, Faults> {
    let mut check = Check::new(entry);
    let owner = check.text("owner", "Record owner", NAME);
    let help = check.text("help", "Whom to call for help", SHORT_TEXT);
    let emergency = check.text("emergency_number", "Emergency number", NAME);
    let months = check.whole("evaluation_months", "Months between evaluations", MONTHS);
    let age = check.whole("transfer_age", "Age at which rights pass to the student", AGES);
    let retention = check.opt_whole("retention_years", "Years a record is kept", YEARS);
    let units = check.one_of("units", "Units of new accounts", &["metric", "imperial"]);
    let snomed = check.one_of("snomed", "SNOMED CT codes", &["no", "yes"]);
    let mut settings = reading::checked(&mut check);
    check.build(|| {
        let retention = retention.filter(|years| *years != setting::RETENTION_YEARS);
        let others = [
            ("owner", Some(owner)),
            ("help", Some(help)),
            ("emergency_number", Some(emergency)),
            ("evaluation_months", Some(months?.to_string())),
            ("transfer_age", Some(age?.to_string())),
            ("retention_years", retention.map(|years| years.to_string())),
            ("snomed", Some(snomed?).filter(|snomed| *snomed == "yes").map(str::to_owned)),
            ("units", Some(units?).filter(|units| *units != "metric").map(str::to_owned)),
        ];
        settings.extend(others.map(|(name, value)| (name.to_owned(), value)));
        Some(settings)
    })
}

pub(super) async fn change(
    State(app): State<App>,
    context: Context,
    office: Office<Accounts, Read>,
    changing: Office<Settings, Edit>,
    posted: Posted,
) -> Result<Response> {
    let settings = match checked(&posted.entry) {
        Ok(settings) => settings,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            let forms = Forms { settings: Some(form), ..Forms::default() };
            return Ok(Again(build(&app, &context, &office, forms).await?).into_response());
        }
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(changing.actor().account)).await?;
    for (name, value) in &settings {
        match value {
            Some(value) => setting::change(&mut tx, &changing, name, value).await?,
            None => setting::unset(&mut tx, &changing, name).await?,
        }
    }
    tx.commit_at(Audit::office(&changing), "/steward").await?;
    Ok(Redirect::to("/steward").into_response())
}
