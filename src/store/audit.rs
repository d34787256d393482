//! The technical log: who did what to which record, each line chained to the
//! one before by its hash. No content, no names.

use sha2::{Digest, Sha256};
use sqlx::{Row as _, query};

use super::{Result, Snapshot, Tx, event};
use crate::access::action::{Action, Writes};
use crate::access::resource::{OfficeResource, Resource, Row};
use crate::access::{Access, Actor, Office};
use crate::care::ids::{AccountId, StudentId};
use crate::care::track::Track;
use crate::clock::fresh_uuid;
use crate::db::column::{Columns, stamp};
use jiff::civil::Date;

/// What a commit says about itself.
#[must_use]
pub struct Audit {
    account: Option<AccountId>,
    acting: &'static str,
    action: String,
    resource: &'static str,
    record: Option<String>,
    student: Option<StudentId>,
    told: Option<Told>,
    reason: Option<String>,
}

/// The line that the thread shows for a write.
struct Told {
    verb: &'static str,
    on: Option<Date>,
    track: Option<Track>,
}

impl Audit {
    /// A write made under a proof about one student.
    pub fn by<R: Resource, A: Action>(access: &Access<R, A>) -> Self {
        Self {
            account: Some(access.actor().account),
            acting: acting(access.actor()),
            action: A::VERB.code().to_owned(),
            resource: R::ROW.name(),
            record: None,
            student: Some(access.student()),
            told: None,
            reason: None,
        }
    }

    /// A write made under a proof that is not about one student.
    pub fn office<R: OfficeResource, A: Action>(office: &Office<R, A>) -> Self {
        Self {
            account: Some(office.actor().account),
            acting: acting(office.actor()),
            action: A::VERB.code().to_owned(),
            resource: R::ROW.name(),
            record: None,
            student: None,
            told: None,
            reason: None,
        }
    }

    /// A reading that took content to the other side.
    pub(super) fn read(actor: &Actor, student: StudentId, row: Row) -> Self {
        Self {
            account: Some(actor.account),
            acting: acting(actor),
            action: "read".to_owned(),
            resource: row.name(),
            record: None,
            student: Some(student),
            told: None,
            reason: None,
        }
    }

    /// The note that somebody asked for a record that is kept from them.
    pub(super) fn refused(actor: &Actor, student: StudentId) -> Self {
        Self {
            account: Some(actor.account),
            acting: acting(actor),
            action: "refused".to_owned(),
            resource: "record",
            record: None,
            student: Some(student),
            told: None,
            reason: None,
        }
    }

    /// A write about a person's own sign-in or account.
    pub fn own(account: Option<AccountId>, action: &'static str) -> Self {
        Self {
            account,
            acting: "own account",
            action: action.to_owned(),
            resource: "account",
            record: account.map(|account| account.to_string()),
            student: None,
            told: None,
            reason: None,
        }
    }

    /// A write by the operator's command line.
    pub fn operator(action: &'static str) -> Self {
        Self {
            account: None,
            acting: "operator",
            action: action.to_owned(),
            resource: "installation",
            record: None,
            student: None,
            told: None,
            reason: None,
        }
    }

    /// A write that the program makes by itself, about no student.
    pub fn program(action: &'static str) -> Self {
        Self { acting: "program", ..Self::operator(action) }
    }

    /// Says more exactly what was done, for example `withdraw` for an edit.
    pub fn doing(mut self, action: &'static str) -> Self {
        action.clone_into(&mut self.action);
        self
    }

    /// Keeps the reason a privileged act was given.
    pub fn because(mut self, reason: impl Into<String>) -> Self {
        self.reason = Some(reason.into());
        self
    }

    /// Names the record that was written.
    pub fn record(mut self, id: impl std::fmt::Display) -> Self {
        self.record = Some(id.to_string());
        self
    }

    /// Lets the thread tell of it: `verb` as in "signed", "recorded", "released".
    pub fn told(mut self, verb: &'static str) -> Self {
        self.told = Some(Told { verb, on: None, track: None });
        self
    }

    /// The day the thing happened, where that is not the day it was entered.
    pub fn on(mut self, day: Date) -> Self {
        if let Some(told) = &mut self.told {
            told.on = Some(day);
        }
        self
    }

    /// The track the thing belongs to.
    pub fn track(mut self, track: Track) -> Self {
        if let Some(told) = &mut self.told {
            told.track = Some(track);
        }
        self
    }

    pub(super) async fn write(self, tx: &mut Tx) -> Result<()> {
        if let (Some(told), Some(student)) = (&self.told, self.student) {
            let line = event::Line {
                student,
                account: self.account,
                resource: self.resource,
                record: self.record.clone(),
                verb: told.verb,
                on: told.on,
                track: told.track,
            };
            event::append(tx, line).await?;
        }
        let head = query("update audit_head set seq = seq + 1 where id = 1 returning seq, hash")
            .fetch_one(tx.connection())
            .await?;
        let seq: i64 = head.try_get("seq")?;
        let previous: String = head.try_get("hash")?;
        let at = stamp(tx.now());
        let account = self.account.map(|account| account.to_string());
        let student = self.student.map(|student| student.to_string());
        let outcome = self.reason.unwrap_or_else(|| "done".to_owned());
        let mut hasher = Sha256::new();
        let seq_text = seq.to_string();
        for part in [
            previous.as_str(),
            seq_text.as_str(),
            at.as_str(),
            account.as_deref().unwrap_or(""),
            self.acting,
            self.action.as_str(),
            self.resource,
            self.record.as_deref().unwrap_or(""),
            student.as_deref().unwrap_or(""),
            outcome.as_str(),
        ] {
            hasher.update(part.as_bytes());
            hasher.update([0]);
        }
        let hash = hex::encode(hasher.finalize());
        query(
            "insert into audit (seq, at, account_id, acting_role, action, resource, record_id, student_id, outcome, previous_hash, hash)
             values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
        )
        .bind(seq)
        .bind(at)
        .bind(account)
        .bind(self.acting.to_owned())
        .bind(self.action)
        .bind(self.resource.to_owned())
        .bind(self.record)
        .bind(student)
        .bind(outcome)
        .bind(previous)
        .bind(hash.clone())
        .execute(tx.connection())
        .await?;
        query("update audit_head set hash = $1 where id = 1").bind(hash).execute(tx.connection()).await?;
        Ok(())
    }
}

/// Who wrote a record last, by name, and when; for whoever was about to write it.
///
/// # Errors
/// When the database fails.
pub async fn last<R: Resource, A: Writes>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    record: &str,
) -> Result<Option<(String, jiff::Timestamp)>> {
    let row = query(
        "select a.name, u.at from audit u join account a on a.id = u.account_id
         where u.student_id = $1 and u.record_id = $2 and u.action <> 'read' order by u.seq desc limit 1",
    )
    .bind(access.student().to_string())
    .bind(record.to_owned())
    .fetch_optional(snapshot.connection())
    .await?;
    Ok(row.map(|row| Ok::<_, sqlx::Error>((row.text("name")?, row.instant("at")?))).transpose()?)
}

/// The same for a record that is about no student.
///
/// # Errors
/// When the database fails.
pub async fn last_in_office<R: OfficeResource, A: Action>(
    snapshot: &mut Snapshot,
    _office: &Office<R, A>,
    record: &str,
) -> Result<Option<(String, jiff::Timestamp)>> {
    let row = query(
        "select a.name, u.at from audit u join account a on a.id = u.account_id
         where u.student_id is null and u.resource = $1 and u.record_id = $2 order by u.seq desc limit 1",
    )
    .bind(R::ROW.name().to_owned())
    .bind(record.to_owned())
    .fetch_optional(snapshot.connection())
    .await?;
    Ok(row.map(|row| Ok::<_, sqlx::Error>((row.text("name")?, row.instant("at")?))).transpose()?)
}

fn acting(actor: &Actor) -> &'static str {
    actor.role.map_or("steward", |role| role.code())
}

/// A fresh id of any kind.
pub(super) fn fresh<T>(of: impl Fn(uuid::Uuid) -> T) -> T {
    of(fresh_uuid())
}
