//! Questions on the first screen: those that wait for this reader's role, and
//! those that this reader asked and nobody has answered yet.
//!
//! Each is read under the proof of its student's thread, so that a question
//! from the clinic is shown by a consent or not at all, and the reading is in
//! the disclosure record.

use jiff::Timestamp;

use crate::access::Role;
use crate::access::action::{Amend, Create, Read};
use crate::access::resource::{ClassObservation, HomeObservation, Thread};
use crate::store::post::{Which, some_of_student};
use crate::store::suspect;
use crate::web::error::Result;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

/// An open question, finished.
pub(super) struct Question {
    pub(super) student: String,
    pub(super) href: String,
    pub(super) words: &'static str,
    pub(super) by: String,
    pub(super) since: String,
    pub(super) body: String,
    waits: Timestamp,
}

/// Open questions of all students, to be shown oldest first.
#[derive(Default)]
pub(super) struct Questions {
    pub(super) for_you: Vec<Question>,
    pub(super) you_asked: Vec<Question>,
}

impl Questions {
    /// Adds those of one student.
    pub(super) async fn add(&mut self, app: &App, visit: &Visit) -> Result<()> {
        let Some(access) = visit.open_if::<Thread, Read>().await? else { return Ok(()) };
        let mut snapshot = app.store.snapshot().await?;
        let today = snapshot.today();
        let role = visit.role();
        for post in some_of_student(&mut snapshot, &access, Which::OpenQuestions).await? {
            let own = post.account == visit.actor().account;
            let to_them = !own && post.to.is_some() && post.to == role && visit.may::<Thread, Create>();
            if !own && !to_them {
                continue;
            }
            let since = snapshot.date_of(post.waits_since());
            let question = Question {
                student: visit.name().to_owned(),
                href: visit.at(&format!("/thread/{}/{}", post.id, if own { "close" } else { "answer" })),
                words: if own { "Close" } else { "Answer" },
                by: match (own, post.role) {
                    (true, _) => format!("Waiting for the {}", post.to.map_or("", Role::words)),
                    (false, Some(role)) => format!("{}, {}", post.by, role.words()),
                    (false, None) => post.by.clone(),
                },
                since: format!("since {} ({})", words::date(since), words::since(since, today)),
                waits: post.waits_since(),
                body: post.body,
            };
            if own { self.you_asked.push(question) } else { self.for_you.push(question) }
        }
        Ok(())
    }

    /// Adds the questions about this person's own entries of one student: a length
    /// that may carry another unit. Read under the proof to amend them.
    pub(super) async fn add_entries(&mut self, app: &App, visit: &Visit) -> Result<()> {
        let class = visit.open_if::<ClassObservation, Amend>().await?;
        let home = visit.open_if::<HomeObservation, Amend>().await?;
        let mut snapshot = app.store.snapshot().await?;
        let today = snapshot.today();
        let mut waiting = Vec::new();
        if let Some(access) = &class {
            waiting.extend(suspect::waiting(&mut snapshot, access).await?);
        }
        if let Some(access) = &home {
            waiting.extend(suspect::waiting(&mut snapshot, access).await?);
        }
        for entry in waiting.into_iter().filter(|entry| entry.account == visit.actor().account) {
            let since = snapshot.date_of(entry.since);
            self.for_you.push(Question {
                student: visit.name().to_owned(),
                href: visit.at(&format!("/observations/{}", entry.id)),
                words: "Answer",
                by: format!("About your entry of {}", words::date(entry.seen_on)),
                since: format!("since {} ({})", words::date(since), words::since(since, today)),
                waits: entry.since,
                body: entry.words,
            });
        }
        Ok(())
    }

    /// All of them, those that wait longest first.
    pub(super) fn oldest_first(mut self) -> Self {
        self.for_you.sort_by_key(|question| question.waits);
        self.you_asked.sort_by_key(|question| question.waits);
        self
    }
}
