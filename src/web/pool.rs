//! The loan pool: which devices there are, which are in, and what they can do.
//!
//! No student is named here, except to somebody on that student's own team.

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;

use super::check::{Check, LONG_TEXT, NAME};
use super::device_fields::{self, DeviceFields, Part};
use super::error::{Both, Error, Result};
use super::form::{Entry, Faults, FormView, Posted};
use super::optics;
use super::page::{Again, Context, Page, Shell};
use super::params::Record;
use super::part::{self, Cell};
use super::routes::Routes;
use super::stale;
use super::state::App;
use super::visit::Visit;
use super::words::{self, options};
use crate::access::action::{Create, Edit, Read};
use crate::access::resource::{Loans, Pool};
use crate::access::{Office, Role};
use crate::care::caution::{Caution, Occasion, cautions};
use crate::care::device::Condition;
use crate::care::ids::DeviceId;
use crate::care::loan::{NewDevice, Owner, short_words};
use crate::care::track::{DeviceKind, Eye};
use crate::store::{Audit, StoreError, caseload, pool};

/// The routes of the loan pool.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/devices", list)
        .get("/devices/new", blank)
        .post("/devices/new", add)
        .get("/devices/{record}", page)
        .post("/devices/{record}", change)
        .post("/devices/{record}/retire", retire)
}

#[derive(Template)]
#[template(path = "pool/list.html")]
struct ListPage {
    shell: Shell,
    table: part::Table,
    cautions: Vec<&'static str>,
}

#[derive(Template)]
#[template(path = "pool/device.html")]
struct DevicePage {
    shell: Shell,
    title: String,
    form: FormView,
    fields: DeviceFields,
    action: String,
    button: &'static str,
    owners: Vec<(&'static str, String)>,
    conditions: Vec<(&'static str, String)>,
    known: Option<Known>,
}

/// What a page of a device says above its form.
struct Known {
    facts: part::Facts,
    optics: Vec<(part::Figure, Option<part::How>)>,
    out: String,
    cautions: Vec<&'static str>,
    retire: FormView,
    retire_to: String,
}

/// The texts of cautions.
pub(super) fn texts(list: &[Caution]) -> Vec<&'static str> {
    list.iter().map(|caution| caution.words()).collect()
}

async fn list(State(app): State<App>, context: Context, office: Office<Pool, Read>) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let devices = pool::list(&mut snapshot, &office).await?;
    drop(snapshot);
    let holders = holders(&app, &context).await?;
    let mut table = part::table("Devices of the pool")
        .column("Tag")
        .column("Device")
        .column("State")
        .column("Condition")
        .column("Cleaned")
        .none("No device is in the pool yet.");
    for device in &devices {
        table.push(row(device, holders.get(&device.entered.tag)));
    }
    let page = ListPage {
        shell: context.shell("Loan pool"),
        table,
        cautions: texts(&cautions(DeviceKind::Other, Occasion::Screen)),
    };
    Ok(Page(page).into_response())
}

/// Who has which device, by its tag: among this vision teacher's own students
/// only, each asked for like any other page about the student.
async fn holders(app: &App, context: &Context) -> Result<BTreeMap<String, (String, String)>> {
    let actor = context.actor()?;
    if actor.role != Some(Role::VisionTeacher) {
        return Ok(BTreeMap::new());
    }
    let password = context.session.as_ref().ok_or(Error::SignInNeeded)?.password;
    let listed = caseload::students(&mut app.store.snapshot().await?, actor).await?;
    let visits = Visit::begin_all(&app.store, &context.site, actor, &listed, password).await?.visits;
    let proofs = Visit::open_all::<Loans, Read>(&visits).await?;
    let out = caseload::loans_due(&mut app.store.snapshot().await?, &proofs, Date::MAX).await?;
    let mut holders = BTreeMap::new();
    for loan in out {
        if let Some(visit) = visits.iter().find(|visit| visit.student() == loan.student) {
            holders.insert(loan.tag, (visit.at("/devices"), visit.name().to_owned()));
        }
    }
    Ok(holders)
}

fn row(device: &pool::Kept, holder: Option<&(String, String)>) -> [Cell; 5] {
    let entered = &device.entered;
    let state = match &device.out {
        None if entered.condition.fit_to_lend() => Cell::status("In", "good"),
        None => Cell::status("Not to be lent", "stop"),
        Some(out) => match holder {
            Some((href, name)) => Cell::link(href, &format!("Out, with {name}")),
            None => Cell::status(&format!("Out since {}", words::date(out.since)), "plain"),
        },
    };
    let cleaned = match entered.cleaned_on {
        _ if device.out.is_some() => "when it is back".into(),
        Some(day) if device.is_clean() => words::date(day).into(),
        None if device.last_returned.is_none() => "never lent yet".into(),
        _ => Cell::status("Not since it came back", "caution"),
    };
    [
        Cell::link(&format!("/devices/{}", device.id), &entered.tag),
        short_words(&entered.device.spec).into(),
        state,
        entered.condition.words().into(),
        cleaned,
    ]
}

fn form_page(context: &Context, title: &str, form: FormView, action: String, known: Option<Known>) -> DevicePage {
    let fields = device_fields::fields(&form, "").without(Part::Purpose).without(Part::Limits);
    DevicePage {
        shell: context.shell(title).of_form(&form),
        title: title.to_owned(),
        fields,
        action,
        button: if known.is_some() { "Save the changes" } else { "Add the device" },
        owners: options!(Owner),
        conditions: options!(Condition),
        form,
        known,
    }
}

async fn blank(context: Context, _office: Office<Pool, Create>) -> Result<Response> {
    let form = FormView::filled(&context, Entry::default().with("condition", "good").with("eye", "either"));
    Ok(Page(form_page(&context, "Add a device", form, "/devices/new".to_owned(), None)).into_response())
}

fn known(context: &Context, device: &pool::Kept) -> Known {
    let entered = &device.entered;
    let mut facts = part::facts(&device_fields::facts(&entered.device, context));
    let yes_no = |yes: bool| if yes { "yes" } else { "no" };
    facts = facts
        .fact("Owner", entered.owner.words())
        .fact("Weight", &entered.weight_g.map(|weight| format!("{weight} g")).unwrap_or_default())
        .fact("Strap", yes_no(entered.strap))
        .fact("Case", yes_no(entered.carry_case))
        .fact("Condition", entered.condition.words())
        .fact("Cleaned", &entered.cleaned_on.map_or("not since it came back".to_owned(), words::date));
    if entered.cleaned_on.is_none() && device.last_returned.is_none() {
        facts = facts.fact("Lent", "never yet");
    }
    Known {
        facts,
        optics: optics::of(&entered.device.spec, context),
        out: device.out.as_ref().map(|out| format!("Out since {}.", words::date(out.since))).unwrap_or_default(),
        cautions: texts(&cautions(entered.device.spec.kind, Occasion::Screen)),
        retire: FormView::blank(context).at_version(device.version),
        retire_to: format!("/devices/{}/retire", device.id),
    }
}

fn filled(entered: &NewDevice) -> Entry {
    let flag = |yes: bool| if yes { "yes" } else { "" };
    let mut entry = Entry::default()
        .with("tag", entered.tag.clone())
        .with("owner", entered.owner.code())
        .with("weight", entered.weight_g.map(|weight| weight.to_string()).unwrap_or_default())
        .with("strap", flag(entered.strap))
        .with("carry_case", flag(entered.carry_case))
        .with("condition", entered.condition.code())
        .with("cleaned_on", entered.cleaned_on.map(|day| day.to_string()).unwrap_or_default());
    device_fields::fill(&mut entry, "", &entered.device);
    entry
}

async fn page(
    State(app): State<App>,
    context: Context,
    office: Office<Pool, Read>,
    Record(id): Record<DeviceId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let device = pool::one(&mut snapshot, &office, id).await?;
    let form = FormView::filled(&context, filled(&device.entered)).at_version(device.version);
    let known = known(&context, &device);
    Ok(Page(form_page(&context, &device.entered.tag, form, format!("/devices/{id}"), Some(known))).into_response())
}

fn wanted(entry: &Entry, today: Date) -> std::result::Result<NewDevice, Faults> {
    let mut check = Check::new(entry);
    let tag = check.text("tag", "Tag", NAME);
    let owner = check.code::<Owner>("owner", "Owner");
    let device = device_fields::read(&mut check, "", None);
    let weight_g = check.opt_whole("weight", "Weight", 5..=5_000);
    let condition = check.code::<Condition>("condition", "Condition");
    let cleaned_on = check.opt_date("cleaned_on", "Cleaned on", earliest(today)..=today);
    let (strap, carry_case) = (check.ticked("strap"), check.ticked("carry_case"));
    check.build(|| {
        let mut device = device?;
        // In the pool a device that is for no particular eye is for either.
        device.spec.eye = device.spec.eye.or(Some(Eye::Either));
        Some(NewDevice { tag, owner: owner?, device, weight_g, strap, carry_case, condition: condition?, cleaned_on })
    })
}

/// The first day a form about devices takes: ten years ago.
pub(super) fn earliest(today: Date) -> Date {
    today.saturating_sub(jiff::Span::new().years(10))
}

const TAG_TAKEN: &str = "This tag is on another device of the pool. Write another one.";

async fn add(
    State(app): State<App>,
    context: Context,
    office: Office<Pool, Create>,
    posted: Posted,
) -> Result<Response> {
    let again = |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        Ok(Again(form_page(&context, "Add a device", form, "/devices/new".to_owned(), None)).into_response())
    };
    let new = match wanted(&posted.entry, app.store.clock().today()) {
        Ok(new) => new,
        Err(faults) => return again(faults),
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(office.actor().account)).await?;
    match pool::add(&mut tx, &office, &new).await {
        Ok(id) => {
            let location = format!("/devices/{id}");
            tx.commit_at(Audit::office(&office).record(id), &location).await?;
            Ok(Redirect::to(&location).into_response())
        }
        Err(StoreError::Taken) => again(Faults::one("tag", TAG_TAKEN)),
        Err(error) => Err(error.into()),
    }
}

async fn change(
    State(app): State<App>,
    context: Context,
    reading: Office<Pool, Read>,
    office: Office<Pool, Edit>,
    Record(id): Record<DeviceId>,
    posted: Posted,
) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(office.actor().account)).await?;
    let device = pool::one(&mut tx, &reading, id).await?;
    let location = format!("/devices/{id}");
    let again = |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        let known = known(&context, &device);
        Ok(Again(form_page(&context, &device.entered.tag, form, location.clone(), Some(known))).into_response())
    };
    let new = match wanted(&posted.entry, tx.today()) {
        Ok(new) => new,
        Err(faults) => return again(faults),
    };
    if posted.version != Some(device.version) {
        let both = both(&location, &device.entered, &new, &context);
        return Err(stale::office_error(&mut tx, &office, (id, device.version), both).await?);
    }
    if device.out.is_some() && new.device.spec != device.entered.device.spec {
        let words =
            "This device is out, and the loan was checked against what it is. Take it back before you change that.";
        return again(Faults::one("kind", words));
    }
    match pool::change(&mut tx, &office, id, device.version, &new).await {
        Ok(()) => {
            tx.commit_at(Audit::office(&office).record(id), &location).await?;
            Ok(Redirect::to(&location).into_response())
        }
        Err(StoreError::Taken) => again(Faults::one("tag", TAG_TAKEN)),
        Err(error) => Err(error.into()),
    }
}

/// Takes a device out of the pool for good; what was lent of it stays readable.
async fn retire(
    State(app): State<App>,
    context: Context,
    reading: Office<Pool, Read>,
    office: Office<Pool, Edit>,
    Record(id): Record<DeviceId>,
    posted: Posted,
) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(office.actor().account)).await?;
    let device = pool::one(&mut tx, &reading, id).await?;
    let mut check = Check::new(&posted.entry);
    let reason = check.text("retired_reason", "Reason", LONG_TEXT);
    if device.out.is_some() {
        check
            .fault("retired_reason", "This device is out. Take it back, or report it lost, before it leaves the pool.");
    }
    let reason = match check.build(|| Some(reason)) {
        Ok(reason) => reason,
        Err(faults) => {
            let mut known = known(&context, &device);
            known.retire = FormView::again(&context, &posted, faults.clone()).at_version(device.version);
            let form = FormView::filled(&context, filled(&device.entered)).at_version(device.version);
            let form = FormView { faults, ..form };
            return Ok(Again(form_page(&context, &device.entered.tag, form, format!("/devices/{id}"), Some(known)))
                .into_response());
        }
    };
    if posted.version != Some(device.version) {
        let rows = vec![("Condition".to_owned(), device.entered.condition.words().to_owned(), reason)];
        return Err(Error::Stale(Box::new(Both { back: format!("/devices/{id}"), rows })));
    }
    pool::retire(&mut tx, &office, id, device.version, &reason).await?;
    tx.commit_at(Audit::office(&office).doing("retire").record(id), "/devices").await?;
    Ok(Redirect::to("/devices").into_response())
}

/// What differs between the device as saved meanwhile and as just sent.
fn both(back: &str, theirs: &NewDevice, yours: &NewDevice, context: &Context) -> Both {
    let told = |device: &NewDevice| {
        let flag = |yes: bool| if yes { "yes" } else { "no" }.to_owned();
        let spec: Vec<String> = device_fields::facts(&device.device, context)
            .into_iter()
            .map(|(term, value)| format!("{term}: {value}"))
            .collect();
        vec![
            ("Tag", device.tag.clone()),
            ("Owner", device.owner.words().to_owned()),
            ("Specification", spec.join("; ")),
            ("Weight", device.weight_g.map(|weight| format!("{weight} g")).unwrap_or_default()),
            ("Strap", flag(device.strap)),
            ("Case", flag(device.carry_case)),
            ("Condition", device.condition.words().to_owned()),
            ("Cleaned on", device.cleaned_on.map(words::date).unwrap_or_default()),
        ]
    };
    let rows = told(theirs)
        .into_iter()
        .zip(told(yours))
        .filter(|((_, theirs), (_, yours))| theirs != yours)
        .map(|((label, theirs), (_, yours))| (label.to_owned(), theirs, yours))
        .collect();
    Both { back: back.to_owned(), rows }
}
