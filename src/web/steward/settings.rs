//! Settings of the site: whose records these are, whom to call, ages and intervals.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::super::check::{Check, NAME, SHORT_TEXT};
use super::super::error::Result;
use super::super::form::{Entry, Faults, FormView, Posted};
use super::super::page::{Again, Context};
use super::super::state::App;
use super::{Forms, build};
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

/// The settings as they stand.
pub(super) fn entry_of(site: &Site) -> Entry {
    Entry::default()
        .with("owner", site.owner())
        .with("help", site.help())
        .with("emergency_number", site.emergency_number())
        .with("evaluation_months", site.evaluation_months().to_string())
        .with("transfer_age", site.transfer_age().to_string())
}

/// The settings as a form gives them: name and value each.
fn checked(entry: &Entry) -> std::result::Result<Vec<(&'static str, String)>, Faults> {
    let mut check = Check::new(entry);
    let owner = check.text("owner", "Record owner", NAME);
    let help = check.text("help", "Whom to call for help", SHORT_TEXT);
    let emergency = check.text("emergency_number", "Emergency number", NAME);
    let months = check.whole("evaluation_months", "Months between evaluations", MONTHS);
    let age = check.whole("transfer_age", "Age at which rights pass to the student", AGES);
    check.build(|| {
        Some(vec![
            ("owner", owner),
            ("help", help),
            ("emergency_number", emergency),
            ("evaluation_months", months?.to_string()),
            ("transfer_age", age?.to_string()),
        ])
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
        setting::change(&mut tx, &changing, name, value).await?;
    }
    tx.commit_at(Audit::office(&changing), "/steward").await?;
    Ok(Redirect::to("/steward").into_response())
}
