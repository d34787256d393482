//! Telling people by e-mail that something is new: what is new to whom, and
//! sending what waits.
//!
//! What is new is counted as the thread counts it, under each person's own
//! proofs, so that nobody hears of an entry that they may not read. Nothing is
//! shown and nothing crosses, so the disclosure record says nothing. Runs once a
//! minute beside the pages; does not know SMTP (`mail`) or the queue (`store::mail`).

use std::time::Duration;

use jiff::{SignedDuration, Timestamp};

use super::error::Result;
use super::state::App;
use super::thread;
use super::visit::Unseen;
use crate::access::resource::Thread;
use crate::care::mail::{Often, body, is_time, subject};
use crate::mail::Smtp;
use crate::store::mail::{self, Again, Listener};
use crate::store::setting::Site;
use crate::store::{Audit, StoreError, setting, thread_read};

/// An entry is stamped when its form arrives and seen a moment later, when it is
/// stored; told twice is better than never.
const MOMENT: SignedDuration = SignedDuration::from_secs(5);

/// Letters sent in one go before the pages get a turn.
const AT_A_TIME: usize = 50;

/// Tells and sends for as long as the program runs.
pub async fn every_minute(app: App, smtp: Smtp) {
    let mut minute = tokio::time::interval(Duration::from_secs(60));
    minute.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        minute.tick().await;
        if let Err(error) = gather(&app).await {
            tracing::error!(?error, "what is new could not be counted for letters");
        }
        if let Err(error) = deliver(&app, &smtp).await {
            tracing::error!(?error, "letters could not be sent");
        }
    }
}

/// Puts a letter into the outbox for everybody whose time it is and to whom
/// something is new; gives how many.
///
/// # Errors
/// When the database fails.
pub async fn gather(app: &App) -> Result<usize> {
    let clock = app.store.clock();
    let local = |at: Timestamp| clock.zone().to_datetime(at);
    let mut snapshot = app.store.snapshot().await?;
    let (listeners, site) = (mail::listeners(&mut snapshot).await?, setting::site(&mut snapshot).await?);
    drop(snapshot);
    let mut letters = 0;
    for listener in listeners {
        let now = clock.now();
        if !is_time(listener.often, local(listener.told_until), local(now)) {
            continue;
        }
        let new = new_to(app, &site, &listener).await?;
        // With nothing to tell only the day's turn is used up.
        if new.0 == 0 && listener.often != Often::Daily {
            continue;
        }
        let until = now.checked_sub(MOMENT).unwrap_or(now).max(listener.told_until);
        let mut tx = app.store.tx().await?;
        match mail::tell(&mut tx, &listener, new, until).await {
            Ok(Some(letter)) => {
                tx.commit(Audit::program("queue letter").record(letter)).await?;
                letters += 1;
            }
            Ok(None) => tx.commit(Audit::program("nothing to tell").record(listener.actor.account)).await?,
            // Another server told them, or they changed their mind just now.
            Err(StoreError::Stale) => {}
            Err(error) => return Err(error.into()),
        }
    }
    Ok(letters)
}

/// How many entries are new to somebody since they were last told and last
/// looked, and how many of them are questions for them.
async fn new_to(app: &App, site: &Site, listener: &Listener) -> Result<(i64, i64)> {
    let mut snapshot = app.store.snapshot().await?;
    let unread: Vec<_> = thread_read::students(&mut snapshot, &listener.actor).await?.into_iter().collect();
    let proofs = Unseen::of(&mut snapshot, site, &listener.actor, &unread).await?.proofs::<Thread>();
    let (mut entries, mut questions) = (0, 0);
    for access in &proofs {
        let read = thread_read::until(&mut snapshot, access).await?;
        let since = read.map_or(listener.told_until, |read| read.max(listener.told_until));
        let new = thread::count_since(&mut snapshot, access, since).await?;
        entries += i64::try_from(new.entries).unwrap_or(i64::MAX);
        questions += i64::try_from(new.questions).unwrap_or(i64::MAX);
    }
    Ok((entries, questions))
}

/// Sends what waits, one letter after the other; gives how many left.
///
/// # Errors
/// When the database fails. What a mail server refuses is no error: it is kept
/// with the letter.
pub async fn deliver(app: &App, smtp: &Smtp) -> Result<usize> {
    let mut left = 0;
    for _ in 0..AT_A_TIME {
        let mut tx = app.store.tx().await?;
        let Some(letter) = mail::take_next(&mut tx).await? else { break };
        tx.commit(Audit::program("send letter").record(letter.id)).await?;
        let words = (subject(letter.entries, letter.questions), body(letter.entries, letter.questions, &app.address));
        let answer = smtp.send(&letter.address, words.0, words.1).await;
        let mut tx = app.store.tx().await?;
        match answer {
            Ok(()) => {
                mail::sent(&mut tx, &letter).await?;
                tx.commit(Audit::program("letter sent").record(letter.id)).await?;
                left += 1;
            }
            Err(refused) => {
                let again = if refused.for_good { Again::Never } else { Again::Later };
                mail::failed(&mut tx, &letter, again, &refused.words).await?;
                tx.commit(Audit::program("letter refused").record(letter.id)).await?;
            }
        }
    }
    Ok(left)
}
