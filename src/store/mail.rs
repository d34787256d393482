//! The outbox: who wants to be told by e-mail, and every letter until it is sent.
//!
//! Letters hold two counts and no content, so their functions about one's own
//! choice take the actor, those of the steward an office proof, and those of the
//! program itself none: they reach no record of a student. What is new to
//! somebody is counted by the thread, under that person's own proofs.

use jiff::{SignedDuration, Timestamp};
use sqlx::any::AnyRow;
use sqlx::query;

use super::{Result, Snapshot, Tx, met};
use crate::access::action::{Edit, Reads};
use crate::access::resource::{Accounts, Settings};
use crate::access::{Actor, Office};
use crate::care::ids::LetterId;
use crate::care::mail::{LetterState, Often, wait_after};
use crate::clock::fresh_uuid;
use crate::db::column::{Columns, stamp};

/// A letter that a server took and never finished is anybody's again after this.
const LEASE: SignedDuration = SignedDuration::from_mins(10);
/// Letters that ended are listed for this long, then forgotten.
const KEPT: SignedDuration = SignedDuration::from_hours(30 * 24);
/// The most characters of a mail server's answer that are kept.
const TROUBLE: usize = 300;

/// What somebody chose about e-mail.
#[derive(Clone, PartialEq, Eq)]
pub struct Choice {
    /// Where to.
    pub address: String,
    /// How often.
    pub often: Often,
    /// For edits in two windows; 0 before the first choice.
    pub version: i64,
}

/// Somebody who wants to be told.
pub struct Listener {
    /// As whom what is new is counted.
    pub actor: Actor,
    /// Where to.
    pub address: String,
    /// How often.
    pub often: Often,
    /// Until when they were told.
    pub told_until: Timestamp,
}

/// A letter to be sent now.
pub struct Letter {
    /// Which.
    pub id: LetterId,
    /// Where to.
    pub address: String,
    /// How many entries are new.
    pub entries: i64,
    /// How many of them are questions that wait for this person.
    pub questions: i64,
    /// How often it was tried before.
    pub tries: i64,
}

/// A letter as the steward sees it.
pub struct Listed {
    /// Which.
    pub id: LetterId,
    /// To whom, by name.
    pub to: String,
    /// What became of it.
    pub state: LetterState,
    /// Since when it waits.
    pub made_at: Timestamp,
    /// How often it was tried.
    pub tries: i64,
    /// When it is tried next.
    pub next_at: Timestamp,
    /// What the mail server said last.
    pub trouble: String,
    /// When it ended.
    pub ended_at: Option<Timestamp>,
}

/// A person's own choice; before the first, none.
///
/// # Errors
/// When the database fails.
pub async fn own(snapshot: &mut Snapshot, actor: &Actor) -> Result<Choice> {
    let row = query("select address, often, version from mail_choice where account_id = $1")
        .bind(actor.account.to_string())
        .fetch_optional(snapshot.connection())
        .await?;
    let Some(row) = row else { return Ok(Choice { address: String::new(), often: Often::Never, version: 0 }) };
    Ok(Choice { address: row.text("address")?, often: row.parsed("often")?, version: row.whole("version")? })
}

/// Keeps a person's choice. Whoever begins to listen is told of what comes, not
/// of what was.
///
/// # Errors
/// [`super::StoreError::Stale`] when it changed meanwhile.
pub async fn choose(tx: &mut Tx, actor: &Actor, chosen: &Choice) -> Result<()> {
    let now = stamp(tx.now());
    let done = if chosen.version == 0 {
        query(
            "insert into mail_choice (account_id, address, often, told_until) values ($1, $2, $3, $4)
             on conflict (account_id) do nothing",
        )
        .bind(actor.account.to_string())
        .bind(chosen.address.clone())
        .bind(chosen.often.code().to_owned())
        .bind(now)
        .execute(tx.connection())
        .await?
    } else {
        query(
            "update mail_choice set address = $2, often = $3, version = version + 1,
             told_until = case when often = 'never' then $4 else told_until end
             where account_id = $1 and version = $5",
        )
        .bind(actor.account.to_string())
        .bind(chosen.address.clone())
        .bind(chosen.often.code().to_owned())
        .bind(now)
        .bind(chosen.version)
        .execute(tx.connection())
        .await?
    };
    met(done.rows_affected())
}

/// Everybody with an open account and a role who wants to be told.
///
/// # Errors
/// When the database fails.
pub async fn listeners(snapshot: &mut Snapshot) -> Result<Vec<Listener>> {
    let rows = query(
        "select a.id, a.name, a.role, a.steward, a.mobility, a.clinic, c.address, c.often, c.told_until
         from mail_choice c join account a on a.id = c.account_id
         where c.often <> 'never' and a.disabled_at is null and a.role is not null order by a.id",
    )
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter().map(|row| Ok(listener(row)?)).collect()
}

fn listener(row: &AnyRow) -> std::result::Result<Listener, sqlx::Error> {
    Ok(Listener {
        actor: Actor {
            account: row.parsed("id")?,
            name: row.text("name")?,
            role: row.opt_parsed("role")?,
            steward: row.flag("steward")?,
            mobility: row.flag("mobility")?,
            clinic: row.opt_text("clinic")?,
        },
        address: row.text("address")?,
        often: row.parsed("often")?,
        told_until: row.instant("told_until")?,
    })
}

/// Notes until when somebody was told, and puts the letter into the outbox if
/// there is something to tell. A letter that still waits for the same address
/// takes it in: an outage of a day ends with one letter.
///
/// # Errors
/// [`super::StoreError::Stale`] when another server was quicker.
pub async fn tell(
    tx: &mut Tx,
    listener: &Listener,
    (entries, questions): (i64, i64),
    until: Timestamp,
) -> Result<Option<LetterId>> {
    let moved = query("update mail_choice set told_until = $2 where account_id = $1 and told_until = $3")
        .bind(listener.actor.account.to_string())
        .bind(stamp(until))
        .bind(stamp(listener.told_until))
        .execute(tx.connection())
        .await?;
    met(moved.rows_affected())?;
    if entries == 0 {
        return Ok(None);
    }
    let waiting = query("select id from mail where account_id = $1 and address = $2 and state = 'waiting'")
        .bind(listener.actor.account.to_string())
        .bind(listener.address.clone())
        .fetch_optional(tx.connection())
        .await?;
    if let Some(row) = waiting {
        let id: LetterId = row.parsed("id")?;
        query("update mail set entries = entries + $2, questions = questions + $3 where id = $1")
            .bind(id.to_string())
            .bind(entries)
            .bind(questions)
            .execute(tx.connection())
            .await?;
        return Ok(Some(id));
    }
    let id = LetterId::of(fresh_uuid());
    let now = stamp(tx.now());
    query(
        "insert into mail (id, account_id, address, entries, questions, state, made_at, next_at)
         values ($1, $2, $3, $4, $5, 'waiting', $6, $6)",
    )
    .bind(id.to_string())
    .bind(listener.actor.account.to_string())
    .bind(listener.address.clone())
    .bind(entries)
    .bind(questions)
    .bind(now)
    .execute(tx.connection())
    .await?;
    Ok(Some(id))
}

/// Takes the letter whose turn it is, so that no other server sends it as well.
///
/// # Errors
/// When the database fails.
pub async fn take_next(tx: &mut Tx) -> Result<Option<Letter>> {
    let now = tx.now();
    let row = query(
        "update mail set state = 'sending', next_at = $2 where id =
         (select id from mail where state in ('waiting', 'sending') and next_at <= $1 order by next_at, id limit 1)
         and state in ('waiting', 'sending') and next_at <= $1
         returning id, address, entries, questions, tries",
    )
    .bind(stamp(now))
    .bind(stamp(now.checked_add(LEASE).unwrap_or(now)))
    .fetch_optional(tx.connection())
    .await?;
    let Some(row) = row else { return Ok(None) };
    Ok(Some(Letter {
        id: row.parsed("id")?,
        address: row.text("address")?,
        entries: row.whole("entries")?,
        questions: row.whole("questions")?,
        tries: row.whole("tries")?,
    }))
}

/// Notes that a letter left.
///
/// # Errors
/// When the database fails.
pub async fn sent(tx: &mut Tx, letter: &Letter) -> Result<()> {
    let now = tx.now();
    query("update mail set state = 'sent', tries = $2, trouble = '', ended_at = $3 where id = $1")
        .bind(letter.id.to_string())
        .bind(letter.tries.saturating_add(1))
        .bind(stamp(now))
        .execute(tx.connection())
        .await?;
    let long_ago = now.checked_sub(KEPT).unwrap_or(now);
    query("delete from mail where ended_at is not null and ended_at < $1")
        .bind(stamp(long_ago))
        .execute(tx.connection())
        .await?;
    Ok(())
}

/// Whether a mail server may take the same letter later.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Again {
    /// It may.
    Later,
    /// It said never.
    Never,
}

/// Notes that a letter was not taken; it waits, or is given up.
///
/// # Errors
/// When the database fails.
pub async fn failed(tx: &mut Tx, letter: &Letter, again: Again, trouble: &str) -> Result<LetterState> {
    let now = tx.now();
    let tries = letter.tries.saturating_add(1);
    let wait = if again == Again::Later { wait_after(tries) } else { None };
    let next = wait.and_then(|wait| now.checked_add(wait).ok());
    let state = if next.is_some() { LetterState::Waiting } else { LetterState::GivenUp };
    query("update mail set state = $2, tries = $3, next_at = $4, trouble = $5, ended_at = $6 where id = $1")
        .bind(letter.id.to_string())
        .bind(state.code().to_owned())
        .bind(tries)
        .bind(stamp(next.unwrap_or(now)))
        .bind(trouble.chars().take(TROUBLE).collect::<String>())
        .bind(next.is_none().then(|| stamp(now)))
        .execute(tx.connection())
        .await?;
    Ok(state)
}

/// Every letter that is kept, those that wait first.
///
/// # Errors
/// When the database fails.
pub async fn all(snapshot: &mut Snapshot, _office: &Office<Accounts, impl Reads>) -> Result<Vec<Listed>> {
    let rows = query(
        "select m.id, a.name, m.state, m.made_at, m.tries, m.next_at, m.trouble, m.ended_at
         from mail m join account a on a.id = m.account_id
         order by case when m.ended_at is null then 0 else 1 end, m.made_at desc, m.id desc",
    )
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Listed {
                id: row.parsed("id")?,
                to: row.text("name")?,
                state: row.parsed("state")?,
                made_at: row.instant("made_at")?,
                tries: row.whole("tries")?,
                next_at: row.instant("next_at")?,
                trouble: row.text("trouble")?,
                ended_at: row.opt_instant("ended_at")?,
            })
        })
        .collect()
}

/// Tries a letter again at once: one that waits, or that was given up.
///
/// # Errors
/// [`super::StoreError::Stale`] when it is sent or dropped by now.
pub async fn try_again(tx: &mut Tx, _office: &Office<Settings, Edit>, id: LetterId) -> Result<()> {
    let now = stamp(tx.now());
    let done = query(
        "update mail set state = 'waiting', tries = 0, next_at = $2, ended_at = null
         where id = $1 and state in ('waiting', 'given_up')",
    )
    .bind(id.to_string())
    .bind(now)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Drops a letter that was not sent.
///
/// # Errors
/// [`super::StoreError::Stale`] when it is sent or dropped by now.
pub async fn drop_letter(tx: &mut Tx, _office: &Office<Settings, Edit>, id: LetterId) -> Result<()> {
    let now = stamp(tx.now());
    let done =
        query("update mail set state = 'dropped', ended_at = $2 where id = $1 and state in ('waiting', 'given_up')")
            .bind(id.to_string())
            .bind(now)
            .execute(tx.connection())
            .await?;
    met(done.rows_affected())
}
