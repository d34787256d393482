//! A device that the student had before this record: what it is, and since when.
//!
//! It came on no prescription in here, so nothing compares it. It counts as the
//! own device once an evaluation says to keep it; until then it is only listed.

use std::collections::BTreeSet;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::{Date, date};

use super::{Heeded, heeded, or_usual};
use crate::access::action::Create;
use crate::access::resource::Receipt;
use crate::care::caution::Occasion;
use crate::care::device::Condition;
use crate::care::track::Track;
use crate::store::Audit;
use crate::store::own_device::{self, Brought};
use crate::web::check::{Check, NAME};
use crate::web::device_fields::{self, DeviceFields, Part};
use crate::web::error::Result;
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Word;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words::options;

/// No device of a student now at school is older than this.
pub(super) const OLDEST: Date = date(2000, 1, 1);

#[derive(Template)]
#[template(path = "devices/brought.html")]
struct BroughtPage {
    shell: Shell,
    back: String,
    action: String,
    track: &'static str,
    form: FormView,
    fields: DeviceFields,
    conditions: Vec<(&'static str, String)>,
    cautions: Heeded,
}

fn build(context: &Context, visit: &Visit, track: Track, form: FormView) -> BroughtPage {
    BroughtPage {
        shell: shell_about(context, visit, "A device of the student\u{2019}s own").of_form(&form),
        back: visit.at("/devices"),
        action: visit.at(&format!("/devices/brought/{}", track.code())),
        track: track.words(),
        fields: device_fields::fields(&form, "").without(Part::Purpose).without(Part::Limits).without(Part::Note),
        conditions: options!(Condition),
        cautions: heeded(&or_usual(track, BTreeSet::new()), Occasion::Loan),
        form,
    }
}

pub(super) async fn form(context: Context, visit: Visit, Word(track): Word<Track>) -> Result<Response> {
    visit.open::<Receipt, Create>().await?;
    Ok(Page(build(&context, &visit, track, FormView::filled(&context, Entry::default()))).into_response())
}

fn wanted(entry: &Entry, track: Track, today: Date) -> std::result::Result<Brought, Faults> {
    let mut check = Check::new(entry);
    let device = device_fields::read(&mut check, "", Some(track));
    let tag = check.opt_text("tag", "Serial number or tag", NAME);
    let had_since = check.date("had_since", "The student has had it since", OLDEST..=today);
    let received_by = check.opt_text("received_by", "Where it came from", NAME);
    let condition = check.code::<Condition>("condition", "Condition");
    check.build(|| {
        Some(Brought { track, device: device?, tag, had_since: had_since?, received_by, condition: condition? })
    })
}

pub(super) async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Word(track): Word<Track>,
    posted: Posted,
) -> Result<Response> {
    let access = visit.open::<Receipt, Create>().await?;
    let new = match wanted(&posted.entry, track, app.store.clock().today()) {
        Ok(new) => new,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build(&context, &visit, track, form)).into_response());
        }
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let id = own_device::bring(&mut tx, &access, &new).await?;
    let location = visit.at("/devices");
    let audit = Audit::by(&access).record(id).told("recorded as had before").track(track);
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}
