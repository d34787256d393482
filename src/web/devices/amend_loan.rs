//! Amending a loan: days, condition, who keeps it, what was agreed; and a loan
//! that should not have been entered.
//!
//! The device stays the one that was lent. Another day it went out asks G2 again;
//! under another recommendation it would have been another loan.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::stale_texts;
use crate::access::Access;
use crate::access::action::Amend;
use crate::access::resource::Loans;
use crate::care::device::Condition;
use crate::care::gates::{SafeToTrain, safe_to_train};
use crate::care::ids::LoanId;
use crate::care::loan::texts::{Returned, texts};
use crate::care::loan::{AgreedBy, HeldBy, LONG_LOAN_DAYS, LoanPurpose, NewLoan, SHORT_LOAN_DAYS, short_words};
use crate::store::correct::loan::{Against, Amended, Stored, against, amend, stored};
use crate::store::{Audit, Snapshot, StoreError, journey};
use crate::web::amend::{self as correction, Lasting, lasting, lasting_page, refused};
use crate::web::check::Check;
use crate::web::confirm;
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::part::Choice;
use crate::web::stale;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words::{self, options};

#[derive(Template)]
#[template(path = "devices/amend_loan.html")]
struct AmendPage {
    shell: Shell,
    back: String,
    action: String,
    error: String,
    device: String,
    returned: bool,
    form: FormView,
    conditions: Vec<(&'static str, String)>,
    conditions_back: Vec<(&'static str, String)>,
    agreements: Vec<(&'static str, String)>,
    holders: Vec<(&'static str, String)>,
    purposes: Vec<(&'static str, String)>,
    confirm: Option<Choice>,
}

fn at(visit: &Visit, id: LoanId, path: &str) -> String {
    visit.at(&format!("/devices/loans/{id}/{path}"))
}

fn device(stored: &Stored) -> String {
    format!("{}, {}", stored.loan.tag, short_words(&stored.loan.spec))
}

fn build(context: &Context, visit: &Visit, stored: &Stored, form: FormView) -> AmendPage {
    AmendPage {
        shell: shell_about(context, visit, "Amend this loan").of_form(&form),
        back: visit.at("/devices"),
        action: at(visit, stored.loan.id, "amend"),
        error: at(visit, stored.loan.id, "error"),
        device: device(stored),
        returned: stored.loan.returned_on.is_some(),
        conditions: Condition::ALL
            .iter()
            .filter(|condition| condition.fit_to_lend())
            .map(|condition| (condition.code(), words::capital(condition.words())))
            .collect(),
        conditions_back: options!(Condition),
        agreements: options!(AgreedBy),
        holders: options!(HeldBy),
        purposes: options!(LoanPurpose),
        confirm: confirm::tick(&form, "confirmed"),
        form,
    }
}

fn filled(stored: &Stored) -> Entry {
    let loan = &stored.loan.entered;
    let mut entry = Entry::default()
        .with("lent_on", loan.lent_on.to_string())
        .with("due_on", loan.due_on.to_string())
        .with("condition", loan.condition_out.code())
        .with("purpose", loan.purpose.code())
        .with("home_use", if loan.home_use { "yes" } else { "no" })
        .with("agreement_by", loan.agreement_by.code())
        .with("held_by", loan.held_by.code());
    if loan.strap {
        entry.set("strap", "yes");
    }
    if loan.carry_case {
        entry.set("carry_case", "yes");
    }
    if let Some((day, condition)) = stored.returned() {
        entry.set("returned_on", day.to_string());
        entry.set("condition_in", condition.map_or("", |one| one.code()));
    }
    entry
}

pub(super) async fn form(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<LoanId>,
) -> Result<Response> {
    let access = visit.open::<Loans, Amend>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let stored = stored(&mut snapshot, &access, id).await?;
    if stored.in_error {
        return Ok(Redirect::to(&visit.at("/devices")).into_response());
    }
    let form = FormView::filled(&context, filled(&stored)).at_version(stored.loan.version);
    Ok(Page(build(&context, &visit, &stored, form)).into_response())
}

/// A loan as it was sent.
struct Wanted {
    loan: NewLoan,
    returned: Option<Returned>,
    reason: String,
}

fn wanted(entry: &Entry, stored: &Stored, today: Date) -> std::result::Result<Wanted, Faults> {
    let mut check = Check::new(entry);
    let was = &stored.loan.entered;
    let lent_on = check.date("lent_on", "Lent on", was.lent_on.saturating_sub(1.year())..=today);
    let due_on = check.date("due_on", "Due back", lent_on.unwrap_or(was.lent_on)..=today.saturating_add(2.years()));
    let condition_out = check.code::<Condition>("condition", "Condition when it went out");
    if condition_out.is_some_and(|condition| !condition.fit_to_lend()) {
        check.fault("condition", "A device that is broken or lost does not go out. Choose what it was when it went.");
    }
    let purpose = check.code::<LoanPurpose>("purpose", "Purpose");
    let home_use = check.yes_no("home_use", "Home use");
    let agreement_by = check.code::<AgreedBy>("agreement_by", "Agreed by");
    let held_by = check.code::<HeldBy>("held_by", "Kept by");
    if home_use == Some(true) && agreement_by == Some(AgreedBy::School) {
        check.fault("agreement_by", "For home use a parent, or the student of age, agrees.");
    }
    if let (Some(lent), Some(due)) = (lent_on, due_on)
        && (lent, due) != (was.lent_on, was.due_on)
    {
        let days = lent.until(due).map_or(0, |span| span.get_days());
        let unusual = if (SHORT_LOAN_DAYS..=LONG_LOAN_DAYS).contains(&days) {
            Vec::new()
        } else {
            vec![format!("a loan of {days} days ({SHORT_LOAN_DAYS} to {LONG_LOAN_DAYS} is common practice)")]
        };
        confirm::settle(&mut check, "confirmed", &unusual);
    }
    let returned = stored.returned().map(|_| {
        let day = check.date("returned_on", "Came back on", lent_on.unwrap_or(was.lent_on)..=today);
        (day, check.code::<Condition>("condition_in", "Condition when it came back"))
    });
    let reason = correction::reason(&mut check);
    let (strap, carry_case) = (check.ticked("strap"), check.ticked("carry_case"));
    check.build(|| {
        Some(Wanted {
            loan: NewLoan {
                track: was.track,
                eye: was.eye,
                lent_on: lent_on?,
                due_on: due_on?,
                condition_out: condition_out?,
                strap,
                carry_case,
                home_use: home_use?,
                agreement_by: agreement_by?,
                held_by: held_by?,
                purpose: purpose?,
            },
            returned: match returned {
                Some((day, condition)) => Some((day?, Some(condition?))),
                None => None,
            },
            reason,
        })
    })
}

/// G2 on the day it is to have gone out, under the recommendation it was lent
/// under; and nothing else that stands against the days.
async fn days(
    snapshot: &mut Snapshot,
    access: &Access<Loans, Amend>,
    stored: &Stored,
    wanted: &Wanted,
) -> Result<std::result::Result<Option<SafeToTrain>, Faults>> {
    let (lent, back) = (wanted.loan.lent_on, wanted.returned.map(|(day, _)| day));
    let mut safe = None;
    if lent != stored.loan.entered.lent_on {
        let tracks = journey::tracks_on(snapshot, access, lent).await?;
        safe = safe_to_train(tracks.of(wanted.loan.track)).ok().filter(|safe| stored.rests_on(*safe));
        if safe.is_none() {
            return Ok(Err(Faults::one(
                "lent_on",
                "On that day the recommendation it was lent under was not in force. Write another day, or mark this loan as \
                 entered in error and hand the device over anew.",
            )));
        }
    }
    if (lent, back) == (stored.loan.entered.lent_on, stored.loan.returned_on) {
        return Ok(Ok(safe));
    }
    Ok(match against(snapshot, access, stored, (lent, back)).await? {
        None => Ok(safe),
        Some(Against::UsedBefore(day)) => Err(Faults::one(
            "lent_on",
            format!("An entry of {} names this loan, so it was out by then.", words::date(day)),
        )),
        Some(Against::UsedAfter(day)) => Err(Faults::one(
            "returned_on",
            format!("An entry of {} names this loan, so it was still out.", words::date(day)),
        )),
        Some(Against::OutThen) => {
            Err(Faults::one("lent_on", "The device was out on another loan within these days. Write other days."))
        }
    })
}

pub(super) async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<LoanId>,
    posted: Posted,
) -> Result<Response> {
    let access = visit.open::<Loans, Amend>().await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let stored = stored(&mut tx, &access, id).await?;
    let again = |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        Ok(Again(build(&context, &visit, &stored, form)).into_response())
    };
    let location = visit.at("/devices");
    if stored.in_error {
        return Err(Error::Stale(Box::new(Both { back: location, rows: Vec::new() })));
    }
    let wanted = match wanted(&posted.entry, &stored, tx.today()) {
        Ok(wanted) => wanted,
        Err(faults) => return again(faults),
    };
    let both = || {
        let theirs = texts(&stored.loan.entered, stored.returned());
        Both { back: location.clone(), rows: stale_texts(theirs, texts(&wanted.loan, wanted.returned)) }
    };
    if posted.version != Some(stored.loan.version) {
        return Err(stale::error(&mut tx, &access, (id, stored.loan.version), both()).await?);
    }
    let safe = match days(&mut tx, &access, &stored, &wanted).await? {
        Ok(safe) => safe,
        Err(faults) => return again(faults),
    };
    let new = Amended { entered: &wanted.loan, returned: wanted.returned, safe, reason: &wanted.reason };
    let outcome = match amend(&mut tx, &access, (&stored, posted.version), &new).await {
        Err(StoreError::Stale) => return Err(Error::Stale(Box::new(both()))),
        other => other?,
    };
    if let Some(faults) = refused(outcome) {
        return again(faults);
    }
    let audit = Audit::by(&access).record(id).told("amended").track(stored.loan.entered.track);
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}

fn marking(visit: &Visit, stored: &Stored) -> Lasting {
    Lasting {
        what: format!("{}, lent on {}", device(stored), words::date(stored.loan.entered.lent_on)),
        track: stored.loan.entered.track,
        counts: "It then counts as never lent: it drops out of every figure and of the stage, and the device can be lent again.",
        back: visit.at("/devices"),
        back_words: "Devices",
        action: at(visit, stored.loan.id, "error"),
        amend: at(visit, stored.loan.id, "amend"),
    }
}

pub(super) async fn error_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<LoanId>,
) -> Result<Response> {
    let access = visit.open::<Loans, Amend>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let stored = stored(&mut snapshot, &access, id).await?;
    if stored.in_error {
        return Ok(Redirect::to(&visit.at("/devices")).into_response());
    }
    Ok(lasting_page(&context, &visit, marking(&visit, &stored)))
}

pub(super) async fn error(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<LoanId>,
    posted: Posted,
) -> Result<Response> {
    let access = visit.open::<Loans, Amend>().await?;
    let mut tx = app.store.tx().await?;
    let stored = stored(&mut tx, &access, id).await?;
    lasting(tx, (&context, &visit), &access, id, (marking(&visit, &stored), &posted)).await
}
