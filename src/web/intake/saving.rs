//! Saving the two steps that write into the intake itself.

use axum::response::{IntoResponse, Redirect, Response};
use sha2::{Digest, Sha256};

use super::{address, eyes};
use crate::access::Access;
use crate::access::action::Edit;
use crate::access::resource::Intake;
use crate::care::intake::{Change, Period, Plan, PlanType, Step, changes};
use crate::store::{Audit, Tx, intake};
use crate::web::check::{Check, SHORT_TEXT};
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, Posted};
use crate::web::stale as over;
use crate::web::state::App;
use crate::web::task::both;
use crate::web::visit::Visit;

/// What a step held when its form was opened, so that a save over somebody
/// else's is noticed although other steps may have been saved meanwhile.
pub(super) fn fingerprint(told: &[(&'static str, String)]) -> String {
    let mut hasher = Sha256::new();
    for (label, value) in told {
        hasher.update(label.as_bytes());
        hasher.update([0]);
        hasher.update(value.as_bytes());
        hasher.update([0]);
    }
    hex::encode(hasher.finalize())
}

pub(super) fn plan_entry(plan: &Plan) -> Entry {
    Entry::default()
        .with("plan_type", plan.plan_type.map_or("", PlanType::code))
        .with("service_minutes", plan.service_minutes.map_or(String::new(), |minutes| minutes.to_string()))
        .with("period", plan.period.map_or("", Period::code))
        .with("was", fingerprint(&plan.told()))
}

fn plan(entry: &Entry) -> std::result::Result<Plan, Faults> {
    let mut check = Check::new(entry);
    let plan_type = check.opt_code("plan_type", "Plan");
    let service_minutes = check.opt_whole("service_minutes", "Minutes of vision service", 0..=1_500);
    let period: Option<Period> = check.opt_code("period", "Minutes are counted by");
    if service_minutes.is_some() && period.is_none() {
        check.fault("period", "Say whether the minutes are for a week or for a month.");
    }
    check.build(|| Some(Plan { plan_type, service_minutes, period }))
}

/// The reason for changing a released intake.
fn reason(entry: &Entry, released: bool, faults: &mut Faults) -> String {
    if !released {
        return String::new();
    }
    let mut check = Check::new(entry);
    let reason = check.text("reason", "Reason for the change", SHORT_TEXT);
    if let Err(found) = check.build(|| Some(())) {
        for (field, message) in found.iter() {
            faults.add(field, message);
        }
    }
    reason
}

/// A step as it was told then and as it is sent now.
struct Told {
    step: Step,
    theirs: Vec<(&'static str, String)>,
    yours: Vec<(&'static str, String)>,
}

/// What the other wrote against what was sent, when the form was opened before.
async fn stale(
    tx: &mut Tx,
    access: &Access<Intake, Edit>,
    (visit, entry): (&Visit, &Entry),
    told: &Told,
) -> Result<()> {
    let rows = both(&told.theirs, &told.yours);
    let now = fingerprint(&told.theirs);
    if entry.get("was") == now || rows.is_empty() {
        return Ok(());
    }
    let both = Both { back: address(visit, told.step), rows };
    Err(over::part_error(tx, access, access.student(), ("was", now), both).await?)
}

fn audit(access: &Access<Intake, Edit>, amended: &[Change]) -> Audit {
    let audit = Audit::by(access).record(access.student());
    if amended.is_empty() { audit } else { audit.doing("amend").told("changed") }
}

pub(super) async fn save_eyes(
    app: &App,
    visit: &Visit,
    access: &Access<Intake, Edit>,
    posted: &Posted,
    next: &str,
) -> Result<std::result::Result<Response, Faults>> {
    let mut tx = app.store.tx().await?;
    let today = tx.today();
    let before = intake::of(&mut tx, access).await?.ok_or(Error::Hidden)?;
    let read = eyes::checked(&posted.entry, today);
    let mut faults = read.as_ref().err().cloned().unwrap_or_default();
    let differs = read.as_ref().is_ok_and(|new| *new != before.eyes);
    let reason = reason(&posted.entry, before.released_at.is_some() && differs, &mut faults);
    let new = match read {
        Ok(new) if faults.is_empty() => new,
        _ => return Ok(Err(faults)),
    };
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let told = Told { step: Step::Eyes, theirs: before.eyes.told(), yours: new.told() };
    stale(&mut tx, access, (visit, &posted.entry), &told).await?;
    intake::save_eyes(&mut tx, access, &new, before.version).await?;
    intake::finish(&mut tx, access, Step::Eyes).await?;
    let amended = if before.released_at.is_some() { changes(&before.eyes.told(), &new.told()) } else { Vec::new() };
    intake::amended(&mut tx, access, &amended, &reason).await?;
    tx.commit_at(audit(access, &amended), next).await?;
    Ok(Ok(Redirect::to(next).into_response()))
}

pub(super) async fn save_plan(
    app: &App,
    visit: &Visit,
    access: &Access<Intake, Edit>,
    posted: &Posted,
) -> Result<std::result::Result<Response, Faults>> {
    let mut tx = app.store.tx().await?;
    let before = intake::of(&mut tx, access).await?.ok_or(Error::Hidden)?;
    let read = plan(&posted.entry);
    let mut faults = read.as_ref().err().cloned().unwrap_or_default();
    let differs = read.as_ref().is_ok_and(|new| *new != before.plan);
    let reason = reason(&posted.entry, before.released_at.is_some() && differs, &mut faults);
    let new = match read {
        Ok(new) if faults.is_empty() => new,
        _ => return Ok(Err(faults)),
    };
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let told = Told { step: Step::School, theirs: before.plan.told(), yours: new.told() };
    stale(&mut tx, access, (visit, &posted.entry), &told).await?;
    intake::save_plan(&mut tx, access, &new, before.version).await?;
    intake::finish(&mut tx, access, Step::School).await?;
    let amended = if before.released_at.is_some() { changes(&before.plan.told(), &new.told()) } else { Vec::new() };
    intake::amended(&mut tx, access, &amended, &reason).await?;
    // The same page again: its seats come next.
    let to = format!("{}#seats", address(visit, Step::School));
    tx.commit_at(audit(access, &amended), &to).await?;
    Ok(Ok(Redirect::to(&to).into_response()))
}
