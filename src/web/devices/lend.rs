//! Handing a loan over: which devices of the pool stand for what is
//! recommended (G4), and on which terms one goes out.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::Heeded;
use crate::access::action::{Create, Read};
use crate::access::resource::{Loans, Pool};
use crate::access::{Access, Office};
use crate::care::caution::Occasion;
use crate::care::device::Condition;
use crate::care::gates::{SafeToTrain, right_loan, safe_to_train};
use crate::care::ids::{DeviceId, LoanId};
use crate::care::journey::Journey;
use crate::care::loan::{
    AgreedBy, HeldBy, LOAN_DAYS, LONG_LOAN_DAYS, LoanPurpose, NewLoan, SHORT_LOAN_DAYS, short_words,
};
use crate::care::track::{Eye, Track};
use crate::store::{Audit, Snapshot, StoreError, Tx, journey, loan, pool};
use crate::web::check::Check;
use crate::web::confirm;
use crate::web::error::{Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Word;
use crate::web::part::{self, Choice};
use crate::web::state::App;
use crate::web::steps;
use crate::web::visit::Visit;
use crate::web::words::{self, options};

#[derive(Template)]
#[template(path = "devices/lend.html")]
struct LendPage {
    shell: Shell,
    back: String,
    action: String,
    track: &'static str,
    form: FormView,
    fits: Vec<(String, String)>,
    others: part::Table,
    eyes: Vec<(&'static str, String)>,
    conditions: Vec<(&'static str, String)>,
    agreements: Vec<(&'static str, String)>,
    holders: Vec<(&'static str, String)>,
    purposes: Vec<(&'static str, String)>,
    confirm: Option<Choice>,
    cautions: Heeded,
}

/// The eye of the recommended device, as far as it is stated.
fn wanted_eye(journey: &Journey) -> Eye {
    journey.recommendation.iter().flat_map(|now| &now.devices).find_map(|device| device.eye).unwrap_or(Eye::Either)
}

async fn build(
    snapshot: &mut Snapshot,
    (context, visit): (&Context, &Visit),
    (access, office): (&Access<Loans, Create>, &Office<Pool, Read>),
    (journey, safe): (&Journey, SafeToTrain),
    form: Option<FormView>,
) -> Result<LendPage> {
    let track = journey.track;
    let tasks = loan::task_distances(snapshot, access, track).await?;
    let eye = wanted_eye(journey);
    let mut fits = Vec::new();
    let mut others = part::table("Devices that cannot go out on this track now")
        .column("Tag")
        .column("Device")
        .column("Why not")
        .none("Every device of the pool may go out.");
    for device in pool::list(snapshot, office).await? {
        let own = device.entered.device.spec.eye.filter(|own| *own != Eye::Either);
        let words = short_words(&device.entered.device.spec);
        let tag = &device.entered.tag;
        match right_loan(journey, safe, &device.for_gate(own.unwrap_or(eye)), &tasks) {
            Ok(right) => {
                let known: Vec<&str> = right.warnings().iter().map(|warning| warning.words()).collect();
                let known =
                    if known.is_empty() { String::new() } else { format!(". Know before: {}", known.join("; ")) };
                fits.push((
                    device.id.to_string(),
                    format!("{tag}, {words}, {}{known}", device.entered.condition.words()),
                ));
            }
            Err(blocked) => others.push([tag.clone(), words, blocked.to_string()]),
        }
    }
    let today = snapshot.today();
    let form = form.unwrap_or_else(|| {
        let entry = Entry::default()
            .with("lent_on", today.to_string())
            .with("due_on", today.saturating_add(LOAN_DAYS.days()).to_string())
            .with("eye", eye.code())
            .with("purpose", "trial");
        FormView::filled(context, entry)
    });
    let kinds = journey.recommendation.iter().flat_map(|now| &now.devices).map(|device| device.kind).collect();
    Ok(LendPage {
        shell: shell_about(context, visit, "Hand over a loan").of_form(&form),
        back: visit.at("/devices"),
        action: visit.at(&format!("/devices/lend/{}", track.code())),
        track: track.words(),
        fits,
        others,
        eyes: options!(Eye),
        conditions: Condition::ALL
            .iter()
            .filter(|condition| condition.fit_to_lend())
            .map(|condition| (condition.code(), words::capital(condition.words())))
            .collect(),
        agreements: options!(AgreedBy),
        holders: options!(HeldBy),
        purposes: options!(LoanPurpose),
        confirm: confirm::tick(&form, "confirmed"),
        cautions: super::heeded(&super::or_usual(track, kinds), Occasion::Loan),
        form,
    })
}

pub(super) async fn form(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    office: Office<Pool, Read>,
    Word(track): Word<Track>,
) -> Result<Response> {
    let access = visit.open::<Loans, Create>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let tracks = journey::tracks(&mut snapshot, &access).await?;
    let journey = tracks.of(track);
    let safe = safe_to_train(journey).map_err(|blocked| steps::blocked(visit.student(), blocked))?;
    let page = build(&mut snapshot, (&context, &visit), (&access, &office), (journey, safe), None).await?;
    Ok(Page(page).into_response())
}

/// Device and terms, as typed and checked.
fn wanted(entry: &Entry, track: Track, today: Date) -> std::result::Result<(DeviceId, NewLoan), Faults> {
    let mut check = Check::new(entry);
    let device = check.code::<DeviceId>("device", "Device");
    let eye = check.code::<Eye>("eye", "Eye");
    let lent_on = check.date("lent_on", "Lent on", today.saturating_sub(1.year())..=today);
    let latest = today.saturating_add(2.years());
    let due_on = check.date("due_on", "Due back", lent_on.unwrap_or(today)..=latest);
    let condition_out = check.code::<Condition>("condition", "Condition now");
    if condition_out.is_some_and(|condition| !condition.fit_to_lend()) {
        check.fault("condition", "A device that is broken or lost does not go out. Choose another device.");
    }
    let home_use = check.yes_no("home_use", "Home use");
    let agreement_by = check.code::<AgreedBy>("agreement_by", "Agreed by");
    let held_by = check.code::<HeldBy>("held_by", "Kept by");
    let purpose = check.code::<LoanPurpose>("purpose", "Purpose");
    if let (Some(lent), Some(due)) = (lent_on, due_on) {
        let days = lent.until(due).map_or(0, |span| span.get_days());
        let unusual = if (SHORT_LOAN_DAYS..=LONG_LOAN_DAYS).contains(&days) {
            Vec::new()
        } else {
            vec![format!("a loan of {days} days ({SHORT_LOAN_DAYS} to {LONG_LOAN_DAYS} is common practice)")]
        };
        confirm::settle(&mut check, "confirmed", &unusual);
    }
    if home_use == Some(true) && agreement_by == Some(AgreedBy::School) {
        check.fault("agreement_by", "For home use a parent, or the student of age, agrees.");
    }
    let (strap, carry_case) = (check.ticked("strap"), check.ticked("carry_case"));
    check.build(|| {
        let loan = NewLoan {
            track,
            eye: eye?,
            lent_on: lent_on?,
            due_on: due_on?,
            condition_out: condition_out?,
            strap,
            carry_case,
            home_use: home_use?,
            agreement_by: agreement_by?,
            held_by: held_by?,
            purpose: purpose?,
        };
        Some((device?, loan))
    })
}

pub(super) async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    office: Office<Pool, Read>,
    Word(track): Word<Track>,
    posted: Posted,
) -> Result<Response> {
    let access = visit.open::<Loans, Create>().await?;
    let student = visit.student();
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let today = journey::tracks(&mut tx, &access).await?;
    let safe_today = safe_to_train(today.of(track)).map_err(|blocked| steps::blocked(student, blocked))?;
    let wanted = wanted(&posted.entry, track, tx.today());
    let faults = match wanted {
        Ok((device, new)) => {
            let kept = pool::one(&mut tx, &office, device).await?;
            let own = kept.entered.device.spec.eye.filter(|own| *own != Eye::Either);
            match own {
                Some(own) if own != new.eye => Faults::one("eye", format!("This device is for the {}.", own.words())),
                _ => {
                    let id = hand_over(&mut tx, &visit, (&access, &office), device, &new).await?;
                    let location = visit.at("/devices");
                    let audit = Audit::by(&access).record(id).told("lent").on(new.lent_on).track(track);
                    tx.commit_at(audit, &location).await?;
                    return Ok(Redirect::to(&location).into_response());
                }
            }
        }
        Err(faults) => faults,
    };
    let form = FormView::again(&context, &posted, faults);
    let page =
        build(&mut tx, (&context, &visit), (&access, &office), (today.of(track), safe_today), Some(form)).await?;
    Ok(Again(page).into_response())
}

/// Asks G2 and G4 for the day of the loan and records it.
async fn hand_over(
    tx: &mut Tx,
    visit: &Visit,
    (access, office): (&Access<Loans, Create>, &Office<Pool, Read>),
    device: DeviceId,
    new: &NewLoan,
) -> Result<LoanId> {
    let blocked = |blocked| steps::blocked(visit.student(), blocked);
    let tracks = journey::tracks_on(tx, access, new.lent_on).await?;
    let journey = tracks.of(new.track);
    let safe = safe_to_train(journey).map_err(blocked)?;
    let tasks = loan::task_distances(tx, access, new.track).await?;
    let device = pool::to_lend(tx, office, device, new.eye, new.lent_on).await?;
    let right = right_loan(journey, safe, &device, &tasks).map_err(blocked)?;
    loan::open(tx, access, safe, &right, new).await.map_err(|error| match error {
        // Somebody lent it in the moment between; the page shows it as out.
        StoreError::Taken => Error::Stale(Box::default()),
        error => error.into(),
    })
}
