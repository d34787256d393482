//! Views for reading and transactions for writing.
//!
//! A [`Tx`] can do all that a [`Snapshot`] can, not the other way round, and it
//! cannot be committed without saying for the log what was done.

use std::ops::{Deref, DerefMut};

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use sqlx::{Any, AnyConnection, Transaction, query};

use super::files::OnDisk;
use super::{Audit, Files, Result, submission};
use crate::care::ids::AccountId;
use crate::clock::Clock;
use crate::db::Db;

/// The store: a database, the folder of attachments, and the clock it stamps with.
#[derive(Clone)]
pub struct Store {
    db: Db,
    clock: Clock,
    files: Files,
}

impl Store {
    /// Puts a store over an open, migrated database.
    pub fn over(db: Db, clock: Clock, files: Files) -> Self {
        Self { db, clock, files }
    }

    /// Where attachments lie.
    pub fn files(&self) -> &Files {
        &self.files
    }

    /// The clock records are stamped with.
    pub fn clock(&self) -> &Clock {
        &self.clock
    }

    /// The database underneath, for backup and closing.
    pub fn db(&self) -> &Db {
        &self.db
    }

    /// One consistent view for reading.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn snapshot(&self) -> Result<Snapshot> {
        let inner = self.db.begin_read().await?;
        Ok(Snapshot { inner, now: self.clock.now(), today: self.clock.today(), zone: self.clock.zone().clone() })
    }

    /// A transaction that is undone unless it is committed.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn tx(&self) -> Result<Tx> {
        let inner = self.db.begin_write().await?;
        let snapshot =
            Snapshot { inner, now: self.clock.now(), today: self.clock.today(), zone: self.clock.zone().clone() };
        Ok(Tx { snapshot, claimed: None, laid: Vec::new(), gone: Vec::new() })
    }
}

/// One consistent view for reading.
pub struct Snapshot {
    inner: Transaction<'static, Any>,
    now: Timestamp,
    today: Date,
    zone: TimeZone,
}

impl Snapshot {
    /// The installation's time zone, for the civil date of a stored instant.
    pub fn zone(&self) -> &TimeZone {
        &self.zone
    }

    /// The instant this view was opened.
    pub fn now(&self) -> Timestamp {
        self.now
    }

    /// The day this view was opened, where the installation is.
    pub fn today(&self) -> Date {
        self.today
    }

    /// The civil date of a stored instant, where the installation is.
    pub fn date_of(&self, at: Timestamp) -> Date {
        at.to_zoned_datetime(self.zone.clone()).date()
    }

    /// The first instant of a day, where the installation is.
    pub fn start_of(&self, day: Date) -> Timestamp {
        let midnight = day.to_datetime(jiff::civil::Time::midnight());
        self.zone.to_timestamp(midnight).unwrap_or(Timestamp::UNIX_EPOCH)
    }

    pub(super) fn connection(&mut self) -> &mut AnyConnection {
        &mut self.inner
    }
}

/// A transaction: dropped, it never happened.
pub struct Tx {
    snapshot: Snapshot,
    claimed: Option<String>,
    /// Files that stay only if this transaction does.
    laid: Vec<OnDisk>,
    /// Files whose rows this transaction took out; dropped, they go.
    gone: Vec<OnDisk>,
}

impl Tx {
    /// Ties a file to this transaction: undone, the file goes with it.
    pub(super) fn ties(&mut self, file: OnDisk) {
        self.laid.push(file);
    }

    /// Takes a file away once this transaction is kept.
    pub(super) fn takes_away(&mut self, mut file: OnDisk) {
        file.stays();
        self.gone.push(file);
    }

    /// Claims the key of a sent form, so that a repeat finds the first answer.
    ///
    /// # Errors
    /// [`super::StoreError::Repeated`] with the first answer's address.
    pub async fn claim(&mut self, key: &str, account: Option<AccountId>) -> Result<()> {
        submission::claim(self, key, account).await?;
        self.claimed = Some(key.to_owned());
        Ok(())
    }

    /// Waits until every write that began to say what it did is done, and lets
    /// no other begin until this one ends: what is read from here on stays true
    /// until the commit. For a rule that must hold against a write at the same
    /// moment. SQLite has one writer anyway; PostgreSQL queues at this row.
    pub(super) async fn take_turn(&mut self) -> Result<()> {
        query("update audit_head set seq = seq where id = 1").execute(self.connection()).await?;
        Ok(())
    }

    /// Adds the line of one more write that this transaction makes besides the
    /// one its commit tells of: a red flag raised in a parent's note.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn also(&mut self, audit: Audit) -> Result<()> {
        audit.write(self).await
    }

    /// Makes the write last, with its line in the log.
    ///
    /// # Errors
    /// When the database fails; then nothing was written.
    pub async fn commit(self, audit: Audit) -> Result<()> {
        self.commit_at(audit, "/today").await
    }

    /// Makes the write last and remembers where its answer is shown.
    ///
    /// # Errors
    /// When the database fails; then nothing was written.
    pub async fn commit_at(mut self, audit: Audit, location: &str) -> Result<()> {
        audit.write(&mut self).await?;
        if let Some(key) = self.claimed.take() {
            submission::answer(&mut self, &key, location).await?;
        }
        // From here on nobody knows whether the row is kept until the engine answers.
        // A file without a row is swept away at the next start; a row without its
        // file would be a loss.
        self.laid.iter_mut().for_each(OnDisk::stays);
        self.snapshot.inner.commit().await?;
        self.gone.iter_mut().for_each(OnDisk::goes);
        Ok(())
    }
}

impl Deref for Tx {
    type Target = Snapshot;

    fn deref(&self) -> &Snapshot {
        &self.snapshot
    }
}

impl DerefMut for Tx {
    fn deref_mut(&mut self) -> &mut Snapshot {
        &mut self.snapshot
    }
}
