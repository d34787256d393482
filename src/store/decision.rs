//! A clinician's decisions, per track: signed at once, never changed.
//!
//! What is decided carries what it needs: a change of device its devices, to
//! finalise the token of G8. Does not know the screen it is made on.

pub mod correct;

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::any::AnyRow;
use sqlx::query;

use super::account::Reentered;
use super::audit::fresh;
use super::document::{self, After};
use super::journey::Tracks;
use super::sending::{self, Document};
use super::spec::{self, OfDocuments, Owner};
use super::{Result, Snapshot, StoreError, Tx, reach};
use crate::access::Access;
use crate::access::action::{Create, Reads, Sign};
use crate::access::resource::Prescription as Row;
use crate::care::device_words;
use crate::care::document::Kind;
use crate::care::gates::{Evidence, MayFinalise};
use crate::care::ids::{AccountId, DecisionId, SummaryId};
use crate::care::journey::fact::Choice;
use crate::care::journey::{Basis, Journey};
use crate::care::named_device::NamedDevice;
use crate::care::task::{ContrastClass, LightLevel};
use crate::care::track::Track;
use crate::care::typed::Typed;
use crate::db::column::{Columns, json, number, stamp};
use crate::vision::units::{Metres, Millimetres};

/// What is decided, with all that it needs.
pub enum Decided {
    /// Go on as it is.
    KeepGoing,
    /// Other devices, any of which will do.
    ChangeDevice(Vec<NamedDevice>),
    /// Another seat.
    ChangeSeat(Typed<Metres>),
    /// Other material; at least one thing of it.
    ChangeMaterial(Material),
    /// See somebody else, or treat, first.
    ReferOrTreatFirst,
    /// No device.
    Stop,
    /// Prescribe. G8.
    Finalise(MayFinalise, Vec<NamedDevice>),
}

/// What is to change about the material.
#[derive(Default, Clone)]
pub struct Material {
    /// Height of the small letters.
    pub x_height: Option<Typed<Millimetres>>,
    /// How strongly it stands out.
    pub contrast: Option<ContrastClass>,
    /// The light.
    pub light: Option<LightLevel>,
    /// A filter.
    pub filter: String,
}

impl Material {
    /// Whether nothing of it is to change.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.x_height.is_none() && self.contrast.is_none() && self.light.is_none() && self.filter.is_empty()
    }
}

impl Decided {
    /// Which choice it is.
    #[must_use]
    pub const fn choice(&self) -> Choice {
        match self {
            Self::KeepGoing => Choice::KeepGoing,
            Self::ChangeDevice(_) => Choice::ChangeDevice,
            Self::ChangeSeat(_) => Choice::ChangeSeat,
            Self::ChangeMaterial(_) => Choice::ChangeMaterial,
            Self::ReferOrTreatFirst => Choice::ReferOrTreatFirst,
            Self::Stop => Choice::Stop,
            Self::Finalise(..) => Choice::Finalise,
        }
    }

    fn devices(&self) -> &[NamedDevice] {
        match self {
            Self::ChangeDevice(devices) | Self::Finalise(_, devices) => devices,
            _ => &[],
        }
    }
}

/// What a decision names besides what it is made of; all of it may be empty.
#[derive(Default, Clone)]
pub struct Besides {
    /// The seat.
    pub seat: Option<Typed<Metres>>,
    /// The material.
    pub material: Material,
}

/// A decision as it is about to be signed.
pub struct NewDecision {
    /// The track.
    pub track: Track,
    /// What is decided.
    pub decided: Decided,
    /// What else changes with it: a nearer seat for the new device.
    pub besides: Besides,
    /// The summary that lay before the clinician.
    pub summary: Option<SummaryId>,
    /// Why.
    pub reason: String,
    /// When to look again.
    pub next_on: Option<Date>,
    /// The decision whose place it takes, and why.
    pub supersedes: Option<(DecisionId, String)>,
}

/// A decision, as its reader is shown it.
#[derive(Clone)]
pub struct Decision {
    /// Which decision.
    pub id: DecisionId,
    /// The track.
    pub track: Track,
    /// The summary it was made on.
    pub summary: Option<SummaryId>,
    /// What was decided.
    pub choice: Choice,
    /// The devices it names.
    pub devices: Vec<NamedDevice>,
    /// The seat, as typed and in metres.
    pub seat: Option<Typed<Metres>>,
    /// The material.
    pub material: Material,
    /// Why.
    pub reason: String,
    /// Why it was finalised without a summary; empty, it was not.
    pub no_summary_reason: String,
    /// The day.
    pub decided_on: Date,
    /// When to look again.
    pub next_on: Option<Date>,
    /// When it was signed.
    pub signed_at: Timestamp,
    /// Who signed it, by name.
    pub by: String,
    /// The decision whose place it took.
    pub supersedes: Option<DecisionId>,
    /// What became of it.
    pub after: After,
}

fn typed<T>(text: String, value: Option<T>) -> Option<Typed<T>> {
    value.map(|value| Typed::new(text, value))
}

fn decision(row: &AnyRow, specs: &OfDocuments) -> std::result::Result<Decision, sqlx::Error> {
    let track = row.parsed("track")?;
    Ok(Decision {
        id: row.parsed("id")?,
        track,
        summary: row.opt_parsed("summary_id")?,
        choice: row.parsed("choice")?,
        devices: spec::of_document(specs, Owner::Decision, &row.text("id")?, track),
        seat: typed(row.text("seat_typed")?, row.opt_unit("seat_m", Metres::new)?),
        material: Material {
            x_height: typed(row.text("x_height_typed")?, row.opt_unit("x_height_mm", Millimetres::new)?),
            contrast: row.opt_parsed("contrast")?,
            light: row.opt_parsed("light")?,
            filter: row.text("filter")?,
        },
        reason: row.text("reason")?,
        no_summary_reason: row.text("no_summary_reason")?,
        decided_on: row.date("decided_on")?,
        next_on: row.opt_date("next_on")?,
        signed_at: row.instant("signed_at")?,
        by: row.text("by_name")?,
        supersedes: row.opt_parsed("supersedes_id")?,
        after: After::default(),
    })
}

/// Every decision this reader reaches, newest first.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Row, impl Reads>) -> Result<Vec<Decision>> {
    let reach = reach::of(snapshot, access, Document::Decision).await?;
    let specs = spec::of_student(snapshot, access.student()).await?;
    let history = document::history(snapshot, access, Kind::Decision).await?;
    let rows = query(
        "select d.id, d.track, d.summary_id, d.choice, d.seat_typed, d.seat_m, d.x_height_typed, d.x_height_mm, d.contrast, d.light,
         d.filter, d.reason, d.no_summary_reason, d.supersedes_id, d.decided_on, d.next_on, d.signed_at, d.signed_by, d.state, a.name as by_name
         from decision d join account a on a.id = d.signed_by where d.student_id = $1 order by d.signed_at desc, d.id desc",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let mut found = Vec::new();
    for row in &rows {
        let author: AccountId = row.parsed("signed_by")?;
        let id = row.text("id")?;
        if reach.allows(&id, author, true) {
            let (mut one, after) = (decision(row, &specs)?, history.of(&id));
            after.reword(&mut one);
            one.after = after;
            found.push(one);
        }
    }
    Ok(found)
}

/// Signs a decision. It is never changed afterwards.
///
/// # Errors
/// [`StoreError::Missing`] when the password is another person's, or when the
/// summary is none of this student's and track's.
pub async fn sign(
    tx: &mut Tx,
    access: &Access<Row, Sign>,
    reentered: &Reentered,
    new: &NewDecision,
) -> Result<DecisionId> {
    if reentered.account() != access.actor().account {
        return Err(StoreError::Missing);
    }
    if let Some(summary) = new.summary {
        belongs(tx, access, summary, new.track).await?;
    }
    let id = fresh(DecisionId::of);
    let (at, today) = (stamp(tx.now()), tx.today().to_string());
    let seat = match &new.decided {
        Decided::ChangeSeat(seat) => Some(seat),
        _ => new.besides.seat.as_ref(),
    };
    let material = match &new.decided {
        Decided::ChangeMaterial(material) => material.clone(),
        _ => new.besides.material.clone(),
    };
    let (evidence, past_gate) = match &new.decided {
        Decided::Finalise(may, _) => rests_on(&[may]),
        _ => rests_on(&[]),
    };
    query(
        "insert into decision (id, student_id, track, summary_id, choice, seat_typed, seat_m, x_height_typed, x_height_mm, contrast,
         light, filter, reason, evidence, no_summary_reason, decided_on, next_on, signed_at, signed_by, supersedes_id)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(new.track.code().to_owned())
    .bind(new.summary.map(|summary| summary.to_string()))
    .bind(new.decided.choice().code().to_owned())
    .bind(seat.map(|seat| seat.typed.clone()).unwrap_or_default())
    .bind(number(seat.map(|seat| seat.value.get())))
    .bind(material.x_height.as_ref().map(|height| height.typed.clone()).unwrap_or_default())
    .bind(number(material.x_height.as_ref().map(|height| height.value.get())))
    .bind(material.contrast.map(ContrastClass::code).unwrap_or_default().to_owned())
    .bind(material.light.map(LightLevel::code).unwrap_or_default().to_owned())
    .bind(material.filter)
    .bind(new.reason.clone())
    .bind(evidence)
    .bind(past_gate)
    .bind(today)
    .bind(new.next_on.map(|day| day.to_string()))
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(new.supersedes.as_ref().map(|(old, _)| old.to_string()))
    .execute(tx.connection())
    .await?;
    if let Some((old, reason)) = &new.supersedes {
        correct::take_place(tx, access, (*old, new.track), (id, reason)).await?;
    }
    let student = access.student();
    spec::replace(tx, student, Owner::Decision, &id.to_string(), new.track, new.decided.devices()).await?;
    sending::at_signing(tx, student, Document::Decision, &id.to_string()).await?;
    Ok(id)
}

async fn belongs(tx: &mut Tx, access: &Access<Row, Sign>, summary: SummaryId, track: Track) -> Result<()> {
    let row = query("select id from summary where id = $1 and student_id = $2 and track = $3 and state = 'sent'")
        .bind(summary.to_string())
        .bind(access.student().to_string())
        .bind(track.code().to_owned())
        .fetch_optional(tx.connection())
        .await?;
    row.map(|_| ()).ok_or(StoreError::Missing)
}

/// What G8 tokens rest on, as columns: the summaries as JSON, and the reason
/// that let a clinician past the gate; empty, none was needed.
pub(super) fn rests_on(tokens: &[&MayFinalise]) -> (String, String) {
    let mut summaries = Vec::new();
    let mut reason = String::new();
    for token in tokens {
        match token.evidence() {
            Evidence::Summaries(ids) => summaries.extend(ids.iter().map(ToString::to_string)),
            Evidence::Reason(given) => given.as_str().clone_into(&mut reason),
            Evidence::LensesAlone => {}
        }
    }
    (json(&summaries), reason)
}

/// The devices that may be finalised on a track: those recommended now, with
/// what was said beside them, and the student's own in force.
///
/// # Errors
/// When the database fails.
pub async fn candidates(
    snapshot: &mut Snapshot,
    access: &Access<Row, Create>,
    tracks: &Tracks,
) -> Result<BTreeMap<Track, Vec<NamedDevice>>> {
    let specs = spec::of_student(snapshot, access.student()).await?;
    let of = |track: Track| (track, on_track(&specs, tracks.of(track)));
    Ok([of(Track::Distance), of(Track::Near)].into_iter().collect())
}

fn on_track(specs: &OfDocuments, journey: &Journey) -> Vec<NamedDevice> {
    let named = |owner, id: String| spec::of_document(specs, owner, &id, journey.track);
    let recommended = match journey.recommendation.as_ref().map(|now| now.basis) {
        Some(Basis::Evaluation(id)) => named(Owner::Evaluation, id.to_string()),
        Some(Basis::Decision(id)) => named(Owner::Decision, id.to_string()),
        None => Vec::new(),
    };
    let own = journey.own_in_force().flat_map(|own| named(Owner::OwnDevice, own.id.to_string()));
    let mut found: Vec<NamedDevice> = Vec::new();
    for device in recommended.into_iter().chain(own) {
        if found.iter().all(|known| device_words::line(&known.spec) != device_words::line(&device.spec)) {
            found.push(device);
        }
    }
    found
}
