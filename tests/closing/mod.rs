//! The loop closed: the summary sent, the decision made, the prescription signed.
//!
//! Told by the people of one team; what is refused leaves every document as it
//! was.

mod decision;
mod pictures;
mod prescription;
mod summary;
mod today;

use std::collections::BTreeMap;

use crate::clinic::setup::Team;
use crate::page::Page;
use crate::people::PASSWORD;

/// Few sessions, so every summary here says why it is sent all the same.
const TEXTS: [(&str, &str); 3] = [
    ("words", "She finds the board and reads two words."),
    ("questions", "Is the field wide enough for the board?"),
    ("few_reason", "The loan came late."),
];

impl Team {
    /// A signed evaluation that recommends a telescope.
    async fn evaluated(&self) {
        let draft = self.writes().await;
        self.signs(&draft).await.redirected_to();
    }

    /// The teacher begins a draft of the distance track; gives its address.
    async fn drafts(&self) -> String {
        let page = self.teacher.presses(&self.at("/summaries"), "Draft the summary", &[("track", "distance")]).await;
        page.redirected_to()
    }

    /// The teacher writes what has to be written.
    async fn fills(&self, draft: &str) {
        self.teacher.presses(draft, "Save the draft", &TEXTS).await.redirected_to();
    }

    /// The teacher signs and sends what was written.
    async fn sends(&self, draft: &str) -> Page {
        let fields = [("password", PASSWORD)];
        self.teacher.presses(&format!("{draft}/preview"), "Sign and send", &fields).await
    }

    /// A summary with the clinician; gives its address.
    async fn summed(&self) -> String {
        let draft = self.drafts().await;
        self.fills(&draft).await;
        self.sends(&draft).await.redirected_to();
        draft
    }

    /// The clinician decides on the distance track.
    async fn decides(&self, fields: &[(&str, &str)]) -> Page {
        let all = [fields, &[("password", PASSWORD)]].concat();
        self.clinician.presses(&self.at("/review/distance"), "Sign the decision", &all).await
    }

    /// Every document of the loop and what tells of it.
    async fn documents(&self) -> BTreeMap<String, u64> {
        let kept = ["summary", "decision", "prescription", "device_spec", "sending", "event"];
        let mut content = self.world.content().await;
        content.retain(|table, _| kept.contains(&table.as_str()));
        assert_eq!(content.len(), kept.len());
        content
    }
}
