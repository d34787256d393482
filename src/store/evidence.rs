//! What the evidence of one student is computed from, as far as one reader may
//! read it.
//!
//! Each kind of entry is read under its own proof; where there is none, there
//! are no such rows, and the page names what is left out. The lock of 24 hours
//! hides text, not counts, so it hides nothing here: no text is read. A few wide
//! statements, nothing kept between two views: what was saved a moment ago counts.

use std::collections::BTreeMap;

use sqlx::any::AnyRow;
use sqlx::query;

use super::observation::{device as named, outcome};
use super::{Result, Snapshot, sight, spec};
use crate::access::Access;
use crate::access::action::{Read, Reads};
use crate::access::limits::Limits;
use crate::access::resource::{ClassObservation, Guidance, HomeObservation, Loans, Resource, Training};
use crate::care::device::DeviceSpec;
use crate::care::evidence::{Device, DeviceKey, Drill, Entry, Helped, Known, RefusedSession, Source};
use crate::care::gates::Named;
use crate::care::ids::{DeviceId, LoanId};
use crate::care::observation::{Comfort, DeviceOut, Help, Outcome, Setting};
use crate::care::skill::Prompt;
use crate::care::task::TaskCode;
use crate::care::track::{Eye, Track};
use crate::care::training;
use crate::db::column::{Columns, flag};
use crate::vision::units::{Metres, Millimetres, Seconds};

/// The proofs that a reader has for what the evidence is put together from.
#[derive(Default)]
pub struct Parts {
    /// For what was seen in class.
    pub class: Option<Access<ClassObservation, Read>>,
    /// For what was seen at home and in the community.
    pub home: Option<Access<HomeObservation, Read>>,
    /// For exercises.
    pub training: Option<Access<Training, Read>>,
    /// For what the devices are.
    pub loans: Option<Access<Loans, Read>>,
}

/// Everything that this reader's evidence rests on.
///
/// # Errors
/// When the database fails.
pub async fn known(snapshot: &mut Snapshot, parts: &Parts) -> Result<Known> {
    let mut known = Known::default();
    let lent = match (&parts.loans, &parts.class, &parts.home, &parts.training) {
        (Some(access), ..) => {
            let loans = loans(snapshot, access).await?;
            known.devices = devices(snapshot, access, &loans).await?;
            lent(&loans)?
        }
        (_, Some(access), ..) => lent_alone(snapshot, access).await?,
        (_, _, Some(access), _) => lent_alone(snapshot, access).await?,
        (.., Some(access)) => lent_alone(snapshot, access).await?,
        (None, None, None, None) => Lent::new(),
    };
    if let Some(access) = &parts.class {
        observations(snapshot, access, ["classroom", "classroom"], &lent, &mut known).await?;
    }
    if let Some(access) = &parts.home {
        observations(snapshot, access, ["home", "community"], &lent, &mut known).await?;
    }
    if let Some(access) = &parts.training {
        exercises(snapshot, access, &lent, &mut known).await?;
    }
    let mut used = BTreeMap::new();
    // A device that the reader may not read about is one of several still.
    for entry in &known.entries {
        if let Some((key, track)) = entry.device.zip(entry.track) {
            let first = used.entry((key, track)).or_insert(entry.on);
            *first = (*first).min(entry.on);
        }
    }
    for ((key, track), from) in used {
        if !known.devices.iter().any(|device| device.key == key && device.track == track) {
            known.devices.push(Device { key, track, spec: None, from, at_hand: false });
        }
    }
    Ok(known)
}

/// Whether there is anything of each kind at all, so that a page need not open
/// what is empty and leave a line in the disclosure record about nothing.
#[derive(Debug, Clone, Copy)]
pub struct ThereIs {
    /// Entries of the classroom.
    pub class: bool,
    /// Entries of home and community.
    pub home: bool,
    /// Training sessions.
    pub training: bool,
    /// Loans or own devices.
    pub devices: bool,
}

/// What there is to be read.
///
/// # Errors
/// When the database fails.
pub async fn there_is(snapshot: &mut Snapshot, access: &Access<Guidance, impl Reads>) -> Result<ThereIs> {
    let row = query(
        "select (select count(*) from observation where student_id = $1 and setting = 'classroom') as class,
         (select count(*) from observation where student_id = $1 and setting in ('home', 'community')) as home,
         (select count(*) from training_session where student_id = $1) as training,
         (select count(*) from loan where student_id = $1) + (select count(*) from own_device where student_id = $1) as devices",
    )
    .bind(access.student().to_string())
    .fetch_one(snapshot.connection())
    .await?;
    Ok(ThereIs {
        class: row.whole("class")? > 0,
        home: row.whole("home")? > 0,
        training: row.whole("training")? > 0,
        devices: row.whole("devices")? > 0,
    })
}

/// Which pool device a loan is about.
type Lent = BTreeMap<LoanId, DeviceId>;

fn lent(rows: &[AnyRow]) -> Result<Lent> {
    rows.iter().map(|row| Ok((row.parsed("id")?, row.parsed("device_id")?))).collect()
}

/// For a reader of entries who may not read what the devices are.
async fn lent_alone<R: Resource>(snapshot: &mut Snapshot, access: &Access<R, impl Reads>) -> Result<Lent> {
    let rows = query("select id, device_id from loan where student_id = $1")
        .bind(access.student().to_string())
        .fetch_all(snapshot.connection())
        .await?;
    lent(&rows)
}

/// Every loan with its device; one entered in error still says which device an
/// entry named.
async fn loans(snapshot: &mut Snapshot, access: &Access<Loans, impl Reads>) -> Result<Vec<AnyRow>> {
    Ok(query(
        "select l.id, l.device_id, l.track, l.lent_on, l.returned_on, d.kind, d.power, d.objective_mm, d.field_deg, d.near_focus_m,
         d.reading_cap_d, d.equivalent_power_d, d.lens_mm, d.stand_height_mm, d.light, d.over_glasses,
         case when l.eye in ('', 'either') then d.eye else l.eye end as eye,
         cast(case when l.entered_in_error_at is null then 0 else 1 end as bigint) as in_error
         from loan l join device d on d.id = l.device_id
         where l.student_id = $1 order by l.lent_on, l.id",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?)
}

fn key(named: Named, lent: &Lent) -> Option<DeviceKey> {
    match named {
        Named::NoDevice => None,
        Named::Loan(loan) => lent.get(&loan).copied().map(DeviceKey::Lent),
        Named::Own(own) => Some(DeviceKey::Own(own)),
    }
}

async fn observations<R: Resource>(
    snapshot: &mut Snapshot,
    access: &Access<R, impl Reads>,
    settings: [&'static str; 2],
    lent: &Lent,
    known: &mut Known,
) -> Result<()> {
    let limits: &Limits = access.limits();
    let rows = query(
        "select o.id, o.setting, o.seen_on, o.entered_by, o.visual_task_id, o.what, coalesce(t.track, l.track, w.track) as track,
         o.device_out, o.loan_id, o.own_device_id, o.non_use_reason, o.distance_m, o.x_height_mm, o.contrast, o.target_class,
         o.choices, o.correct, o.tried, o.graded, o.help, o.comfort,
         cast(case when o.asked_state = 'waits' then 1 else 0 end as bigint) as unit_asked,
         cast(case when o.state = 'entered' then 0 else 1 end as bigint) as in_error
         from observation o left join visual_task t on t.id = o.visual_task_id and t.student_id = o.student_id
         left join loan l on l.id = o.loan_id left join own_device w on w.id = o.own_device_id
         where o.student_id = $1 and o.setting in ($2, $3)
         and (o.entered_by = $4 or ($5 = 0 and ($6 = 0 or o.shared_with_class = 1)))
         order by o.seen_on, o.entered_at, o.id",
    )
    .bind(access.student().to_string())
    .bind(settings[0].to_owned())
    .bind(settings[1].to_owned())
    .bind(access.actor().account.to_string())
    .bind(flag(limits.own_only))
    .bind(flag(limits.shared_only))
    .fetch_all(snapshot.connection())
    .await?;
    for row in &rows {
        known.entries.push(observation(row, lent)?);
    }
    Ok(())
}

fn observation(row: &AnyRow, lent: &Lent) -> std::result::Result<Entry, sqlx::Error> {
    let kind: Option<TaskCode> = row.text("what")?.parse().ok();
    let help: Option<Help> = row.opt_parsed("help")?;
    let felt: Option<Comfort> = row.opt_parsed("comfort")?;
    Ok(Entry {
        source: Source::Observation(row.parsed("id")?),
        on: row.date("seen_on")?,
        by: row.parsed("entered_by")?,
        setting: row.parsed("setting")?,
        // Without a task or a device of the record, the kind of thing says the track.
        track: row.opt_parsed("track")?.or_else(|| kind.map(TaskCode::usual_track)),
        task: row.opt_parsed("visual_task_id")?,
        device_out: row.parsed("device_out")?,
        device: key(named(row)?, lent),
        non_use: row.opt_parsed("non_use_reason")?,
        distance: row.opt_unit("distance_m", Metres::new)?,
        x_height: row.opt_unit("x_height_mm", Millimetres::new)?,
        contrast: row.opt_parsed("contrast")?,
        target: row.opt_parsed("target_class")?,
        choices: row.opt_whole("choices")?,
        outcome: outcome(row)?,
        helped: match help {
            Some(Help::None) => Helped::Alone,
            Some(Help::ToldOnce | Help::Helped | Help::PeerRead) => Helped::Helped,
            None => Helped::NotSaid,
        },
        comfort: felt.map(Comfort::words),
        in_error: row.flag("in_error")?,
        unit_asked: row.flag("unit_asked")?,
    })
}

/// Exercises without help enter as observations of the setting `training`; all of
/// them tell times and losses.
async fn exercises(
    snapshot: &mut Snapshot,
    access: &Access<Training, impl Reads>,
    lent: &Lent,
    known: &mut Known,
) -> Result<()> {
    // Limits: the lock hides text, and none is read.
    let sessions = query(
        "select id, track, held_on, refused, comfort, loan_id, own_device_id, entered_by,
         cast(case when state = 'entered' then 0 else 1 end as bigint) as in_error
         from training_session where student_id = $1 order by held_on, entered_at, id",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let rows = query(
        "select e.id, e.session_id, e.skill, e.visual_task_id, e.tries, e.correct, e.median_s, e.seconds_in_view, e.losses,
         e.distance_m, e.x_height_mm, e.prompt_level, t.target_class, t.choices
         from exercise e left join visual_task t on t.id = e.visual_task_id and t.student_id = e.student_id
         where e.student_id = $1 order by e.session_id, e.position",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let mut practised: BTreeMap<String, Vec<&AnyRow>> = BTreeMap::new();
    for row in &rows {
        practised.entry(row.text("session_id")?).or_default().push(row);
    }
    for session in &sessions {
        let (track, in_error) = (session.parsed("track")?, session.flag("in_error")?);
        if session.flag("refused")? && !in_error {
            known.refused.push(RefusedSession { track, on: session.date("held_on")? });
        }
        for row in practised.remove(&session.text("id")?).unwrap_or_default() {
            let (entry, drill) = exercise(session, row, lent)?;
            known.entries.extend(entry);
            if !in_error {
                known.drills.push(drill);
            }
        }
    }
    Ok(())
}

fn exercise(session: &AnyRow, row: &AnyRow, lent: &Lent) -> std::result::Result<(Option<Entry>, Drill), sqlx::Error> {
    let track: Track = session.parsed("track")?;
    let device = key(named(session)?, lent);
    let counted = row.opt_whole("correct")?.zip(row.opt_whole("tries")?);
    let level = row.opt_whole("prompt_level")?.and_then(|level| level.to_string().parse::<Prompt>().ok());
    let felt: Option<training::Comfort> = session.opt_parsed("comfort")?;
    let small = |number: i64| u32::try_from(number).ok();
    let source = Source::Exercise(session.parsed("id")?, row.parsed("id")?);
    let drill = Drill {
        source,
        on: session.date("held_on")?,
        track,
        device,
        skill: row.parsed("skill")?,
        alone: level == Some(Prompt::None),
        counted: counted.and_then(|(right, tried)| small(right).zip(small(tried))),
        median: row.opt_unit("median_s", Seconds::new)?,
        in_view: row.opt_unit("seconds_in_view", Seconds::new)?,
        losses: row.opt_whole("losses")?.and_then(small),
    };
    let Some(outcome) = counted.and_then(|(right, tried)| Outcome::counted(right, tried)) else {
        return Ok((None, drill));
    };
    let entry = Entry {
        source,
        on: session.date("held_on")?,
        by: session.parsed("entered_by")?,
        setting: Setting::Training,
        track: Some(track),
        task: row.opt_parsed("visual_task_id")?,
        device_out: if device.is_some() { DeviceOut::Yes } else { DeviceOut::NotNeeded },
        device,
        non_use: None,
        distance: row.opt_unit("distance_m", Metres::new)?,
        x_height: row.opt_unit("x_height_mm", Millimetres::new)?,
        contrast: None,
        target: row.opt_parsed("target_class")?,
        choices: row.opt_whole("choices")?,
        outcome,
        helped: match level {
            Some(Prompt::None) => Helped::Alone,
            Some(_) => Helped::Helped,
            None => Helped::NotSaid,
        },
        comfort: felt.map(training::Comfort::words),
        in_error: session.flag("in_error")?,
        unit_asked: false,
    };
    Ok((Some(entry), drill))
}

/// Every device that was ever lent or is the student's own, on each track.
async fn devices(snapshot: &mut Snapshot, access: &Access<Loans, impl Reads>, lent: &[AnyRow]) -> Result<Vec<Device>> {
    let own = query(
        "select o.id, o.track, o.received_on, d.kind, d.power, d.objective_mm, d.field_deg, d.near_focus_m, d.reading_cap_d,
         d.equivalent_power_d, d.lens_mm, d.stand_height_mm, d.light, d.over_glasses, d.eye
         from own_device o join device_spec d on d.id = o.spec_id
         where o.student_id = $1 and o.entered_in_error_at is null order by o.received_on, o.id",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let at_hand = sight::devices(snapshot, access).await?;
    let is_at_hand = |spec: &DeviceSpec, track: Track| {
        at_hand.iter().any(|one| one.track == track && one.spec.kind == spec.kind && one.spec.power == spec.power)
    };
    let mut found: Vec<Device> = Vec::new();
    for row in lent {
        if row.flag("in_error")? {
            continue;
        }
        let (key, track) = (DeviceKey::Lent(row.parsed("device_id")?), row.parsed("track")?);
        let mut spec = spec::spec(row)?;
        spec.eye = spec.eye.or(Some(Eye::Either));
        let out = row.opt_date("returned_on")?.is_none() && is_at_hand(&spec, track);
        match found.iter_mut().find(|device| device.key == key && device.track == track) {
            // Lent again: as it was handed over last.
            Some(device) => (device.spec, device.at_hand) = (Some(spec), device.at_hand || out),
            None => {
                let from = row.date("lent_on")?;
                found.push(Device { key, track, spec: Some(spec), from, at_hand: out });
            }
        }
    }
    for row in &own {
        let (spec, track) = (spec::spec(row)?, row.parsed("track")?);
        let at_hand = is_at_hand(&spec, track);
        let key = DeviceKey::Own(row.parsed("id")?);
        found.push(Device { key, track, spec: Some(spec), from: row.date("received_on")?, at_hand });
    }
    Ok(found)
}
