//! Amending one's own entry: the same form, filled with what is stored.
//!
//! Before the lock it is simply changed; after it a reason is kept with both
//! texts. The gates are asked again only where day or device changed.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::{Offered, Width, build, checked, gate, offered, width};
use crate::access::Access;
use crate::access::action::Amend;
use crate::access::resource::{ClassObservation, HomeObservation, Resource, Row};
use crate::care::amendment::Kind;
use crate::care::gates::{DeviceOfTheTrack, Named};
use crate::care::ids::ObservationId;
use crate::care::loan::code_of;
use crate::care::observation::{NewObservation, Outcome, Place, Seen, Setting};
use crate::store::correct::observation::{Amended, Stored, amend, setting_of, stands_in, stored};
use crate::store::suspect::About;
use crate::store::{Audit, Snapshot, StoreError, Tx, amendment, journey, suspect};
use crate::web::amend::{Marking, REASON, mark, mark_page, refused, why};
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page};
use crate::web::params::Record;
use crate::web::stale;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::{steps, words};

/// A proof to correct the entry, in class or outside.
pub(in crate::web::observation) enum Amending {
    Class(Access<ClassObservation, Amend>),
    Outside(Access<HomeObservation, Amend>),
}

impl Amending {
    const fn row(&self) -> Row {
        match self {
            Self::Class(_) => Row::ClassObservation,
            Self::Outside(_) => Row::HomeObservation,
        }
    }
}

impl Amending {
    /// The entry as it is now.
    pub(in crate::web::observation) async fn stored(
        &self,
        snapshot: &mut Snapshot,
        id: ObservationId,
    ) -> Result<Stored> {
        Ok(match self {
            Self::Class(access) => stored(snapshot, access, id).await?,
            Self::Outside(access) => stored(snapshot, access, id).await?,
        })
    }
}

/// The proof under which this person may correct the entry, asked for before any
/// transaction begins: a refused clinician's reading is written down.
pub(in crate::web::observation) async fn asked(app: &App, visit: &Visit, id: ObservationId) -> Result<Amending> {
    let mut snapshot = app.store.snapshot().await?;
    Ok(found(&mut snapshot, visit, id).await?.0)
}

/// The entry and the proof under which this person may correct it.
async fn found(snapshot: &mut Snapshot, visit: &Visit, id: ObservationId) -> Result<(Amending, Stored)> {
    if let Some(access) = visit.open_if::<ClassObservation, Amend>().await? {
        match stored(snapshot, &access, id).await {
            Ok(entry) => return Ok((Amending::Class(access), entry)),
            Err(StoreError::Missing) => {}
            Err(error) => return Err(error.into()),
        }
    }
    if let Some(access) = visit.open_if::<HomeObservation, Amend>().await? {
        match stored(snapshot, &access, id).await {
            Ok(entry) => return Ok((Amending::Outside(access), entry)),
            Err(StoreError::Missing) => {}
            Err(error) => return Err(error.into()),
        }
    }
    Err(refusal(snapshot, visit, id).await?)
}

/// Whose rows the entry stands in and is not this person's to correct is told so;
/// to everybody else it does not exist.
async fn refusal(snapshot: &mut Snapshot, visit: &Visit, id: ObservationId) -> Result<Error> {
    let class = visit.open::<ClassObservation, Amend>().await;
    let home = visit.open::<HomeObservation, Amend>().await;
    Ok(match (class, home) {
        (Err(refused), Ok(access)) if stands_in(snapshot, &access, id).await? == Some(Setting::Classroom) => refused,
        (Ok(access), Err(refused))
            if stands_in(snapshot, &access, id).await?.is_some_and(|setting| setting != Setting::Classroom) =>
        {
            refused
        }
        (Err(_), Err(refused)) => refused,
        _ => Error::Hidden,
    })
}

/// What is stored, as the form takes it.
fn filled(stored: &Stored) -> Entry {
    let entered = &stored.entered;
    let mut entry = Entry::default();
    let mut put = |name: &str, value: String| entry.set(name, value);
    put("informant", entered.informant.clone());
    put("place", entered.place.map_or("", Place::code).to_owned());
    put(
        "task",
        match entered.seen {
            Seen::Task(id) => id.to_string(),
            Seen::Kind(code) => code.code().to_owned(),
        },
    );
    put("what", entered.what.clone());
    put("device_out", entered.device_out.code().to_owned());
    if stored.named != Named::NoDevice {
        put("device", code_of(stored.named));
    }
    match entered.outcome {
        Outcome::Counted { right, tried } => {
            put("correct", right.to_string());
            put("tried", tried.to_string());
        }
        Outcome::Graded(graded) => put("result", graded.code().to_owned()),
    }
    put("non_use", entered.non_use.map_or("", |one| one.code()).to_owned());
    put("band", entered.band.map_or("", |one| one.code()).to_owned());
    put("glasses", entered.glasses.map_or("", |one| one.code()).to_owned());
    put("help", entered.help.map_or("", |one| one.code()).to_owned());
    put("comfort", entered.comfort.map_or("", |one| one.code()).to_owned());
    put("mood", entered.mood.map_or("", |one| one.code()).to_owned());
    put("pace", entered.pace.map_or("", |one| one.code()).to_owned());
    put("tired", entered.tired.map_or("", |one| one.code()).to_owned());
    put("suggested", entered.suggested.map_or("", |one| one.code()).to_owned());
    put("distance", entered.distance.as_ref().map_or(String::new(), |length| length.typed.clone()));
    put("x_height", entered.x_height.as_ref().map_or(String::new(), |length| length.typed.clone()));
    put("contrast", entered.contrast.map_or("", |one| one.code()).to_owned());
    put("target", entered.target.map_or("", |one| one.code()).to_owned());
    put("choices", entered.choices.map(|choices| choices.to_string()).unwrap_or_default());
    put("seen_on", entered.seen_on.to_string());
    put("note", entered.note.clone());
    entry
}

/// What the form offers, the stored task and place among it, in use still or not.
async fn offering(
    snapshot: &mut Snapshot,
    visit: &Visit,
    (width, stored): (Width, Stored),
    day: jiff::civil::Date,
) -> Result<Offered> {
    let mut offered = offered(snapshot, visit, (width, &Entry::default()), day).await?;
    if let Some(task) = &stored.task
        && !offered.tasks.iter().any(|known| known.id == task.id)
    {
        offered.tasks.push(task.clone());
    }
    if let Seen::Kind(code) = stored.entered.seen
        && !offered.kinds.contains(&code)
    {
        offered.kinds.push(code);
    }
    if let Some(place) = stored.entered.place
        && !offered.places.contains(&place)
    {
        offered.places.push(place);
    }
    offered.stored = Some(stored);
    Ok(offered)
}

pub(in crate::web::observation) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<ObservationId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let (_, stored) = found(&mut snapshot, &visit, id).await?;
    if stored.in_error {
        return Ok(Redirect::to(&visit.at(&format!("/observations/{id}/error"))).into_response());
    }
    let form = FormView::filled(&context, filled(&stored)).at_version(stored.version);
    let day = stored.entered.seen_on;
    let width = width(&visit).await?;
    let offered = offering(&mut snapshot, &visit, (width, stored), day).await?;
    Ok(Page(build(&context, &visit, &offered, form)).into_response())
}

/// The gate's token for a new day or device; none where both stay.
async fn token<R: Resource>(
    tx: &mut Tx,
    visit: &Visit,
    access: &Access<R, Amend>,
    stored: &Stored,
    (new, named): (&NewObservation, Named),
) -> Result<Option<DeviceOfTheTrack>> {
    if new.seen_on == stored.entered.seen_on && named == stored.named {
        return Ok(None);
    }
    let tracks = journey::tracks_on(tx, access, new.seen_on).await?;
    gate(&tracks, named).map(Some).map_err(|blocked| steps::blocked_for(visit, blocked))
}

async fn write<R: Resource>(
    tx: &mut Tx,
    visit: &Visit,
    access: &Access<R, Amend>,
    (stored, version): (&Stored, Option<i64>),
    (new, named, reason, about): (&NewObservation, Named, Option<&str>, About),
) -> Result<crate::store::correct::Outcome> {
    let device = token(tx, visit, access, stored, (new, named)).await?;
    match amend(tx, access, stored, version, &Amended { entered: new, named, device, reason }).await {
        Err(StoreError::Stale) => {
            let back = visit.at(&format!("/observations/{}/amend", stored.id));
            let both = Both { back, rows: both(stored, new) };
            Err(stale::error(tx, access, (stored.id, stored.version), both).await?)
        }
        other => {
            let outcome = other?;
            // What stands there now is held against the rest anew.
            if outcome == crate::store::correct::Outcome::Kept {
                suspect::ask(tx, access, stored.id, (new, about)).await?;
            }
            Ok(outcome)
        }
    }
}

/// What stands there now beside what was typed, field by field.
fn both(stored: &Stored, new: &NewObservation) -> Vec<(String, String, String)> {
    use crate::care::observation::texts::texts;
    let (theirs, yours) = (texts(&stored.entered, "", ""), texts(new, "", ""));
    theirs
        .into_iter()
        .zip(yours)
        .filter(|((_, theirs), (_, yours))| theirs != yours)
        .map(|((field, theirs), (_, yours))| (field.to_owned(), theirs, yours))
        .collect()
}

pub(in crate::web::observation) async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<ObservationId>,
    posted: Posted,
) -> Result<Response> {
    let width = width(&visit).await?;
    let amending = asked(&app, &visit, id).await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(visit.actor().account)).await?;
    let stored = amending.stored(&mut tx, id).await?;
    let (today, day) = (tx.today(), stored.entered.seen_on);
    let locked = stored.locked(tx.now());
    let typed_day = posted.entry.get("seen_on").parse().ok().filter(|day| *day <= today).unwrap_or(day);
    let offered = offering(&mut tx, &visit, (width, stored), typed_day).await?;
    let Some(stored) = &offered.stored else { return Err(Error::Hidden) };
    let again = |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        Ok(Again(build(&context, &visit, &offered, form)).into_response())
    };
    if stored.in_error {
        return again(Faults::one(
            "",
            "This entry is marked as entered in error. Say first that it was no error, then amend it.",
        ));
    }
    let mut checked = match checked::checked(&posted.entry, &offered, (today, words::units(&context))) {
        Ok(checked) => checked,
        Err(faults) => return again(faults),
    };
    checked.new.language.clone_from(&stored.entered.language);
    if setting_of(amending.row(), checked.new.place).is_none() {
        return again(Faults::one("place", stays(amending.row())));
    }
    let reason = posted.entry.get(REASON).trim();
    let reason = (locked || !reason.is_empty()).then_some(reason);
    if reason.is_some_and(|reason| reason.chars().count() > crate::web::check::SHORT_TEXT) {
        return again(Faults::one(REASON, "Write the reason in fewer words."));
    }
    let about = offered.about(checked.new.seen);
    let (versions, new) = ((stored, posted.version), (&checked.new, checked.named, reason, about));
    let (outcome, audit) = match &amending {
        Amending::Class(access) => (write(&mut tx, &visit, access, versions, new).await?, Audit::by(access)),
        Amending::Outside(access) => (write(&mut tx, &visit, access, versions, new).await?, Audit::by(access)),
    };
    if let Some(faults) = refused(outcome) {
        return again(faults);
    }
    let location = visit.at(&format!("/observations/{id}"));
    // What its writer changes before the others may read it is no news to them.
    let audit = if locked { audit.record(id).told("amended").on(checked.new.seen_on) } else { audit.record(id) };
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}

const fn stays(row: Row) -> &'static str {
    match row {
        Row::ClassObservation => {
            "What was seen in class stays an entry of the class. Mark this one as entered in error and add it anew for the other place."
        }
        _ => {
            "What was seen at home or in the community stays so. Mark this one as entered in error and add it anew for the class."
        }
    }
}

fn marking(visit: &Visit, stored: &Stored, marked: Option<String>) -> Marking {
    let setting = stored.entered.place.map_or(Setting::Classroom, Place::setting);
    let at = |path: &str| visit.at(&format!("/observations/{}{path}", stored.id));
    Marking {
        what: format!("Observation of {}, {}", words::date(stored.entered.seen_on), setting.words()),
        back: at(""),
        back_words: "The entry",
        action: at("/error"),
        amend: at("/amend"),
        marked,
    }
}

async fn marked(snapshot: &mut Snapshot, amending: &Amending, stored: &Stored) -> Result<Option<String>> {
    if !stored.in_error {
        return Ok(None);
    }
    let mut errors = match amending {
        Amending::Class(access) => amendment::in_error(snapshot, access, Kind::Observation).await?,
        Amending::Outside(access) => amendment::in_error(snapshot, access, Kind::Observation).await?,
    };
    Ok(Some(errors.remove(&stored.id.to_string()).map(|error| why(&error, snapshot.zone())).unwrap_or_default()))
}

pub(in crate::web::observation) async fn error_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<ObservationId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let (amending, stored) = found(&mut snapshot, &visit, id).await?;
    let marked = marked(&mut snapshot, &amending, &stored).await?;
    Ok(mark_page(&context, &visit, marking(&visit, &stored, marked)))
}

pub(in crate::web::observation) async fn error(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<ObservationId>,
    posted: Posted,
) -> Result<Response> {
    let amending = asked(&app, &visit, id).await?;
    let mut tx = app.store.tx().await?;
    let stored = amending.stored(&mut tx, id).await?;
    let marked = marked(&mut tx, &amending, &stored).await?;
    let (who, what) = ((&context, &visit), (marking(&visit, &stored, marked), &posted));
    match &amending {
        Amending::Class(access) => mark(tx, who, access, id, what).await,
        Amending::Outside(access) => mark(tx, who, access, id, what).await,
    }
}
