//! Duties of the records office: what waits for a second person, whose rights
//! pass to the student, which consents ended, which records nobody leads. Names and dates, no content.

use jiff::ToSpan;

use super::super::service::draft_words;
use super::super::words;
use crate::access::Office;
use crate::access::action::Read;
use crate::access::resource::Accounts;
use crate::care::student::{Coming, TOLD_MONTHS_BEFORE, coming_of_age};
use crate::store::setting::Site;
use crate::store::{Result, Snapshot, duties};

/// One line, and where it is dealt with.
pub(super) struct Duty {
    pub(super) href: String,
    pub(super) name: String,
    pub(super) words: String,
}

/// Every duty, by kind.
pub(super) struct Duties {
    pub(super) limits: Vec<Duty>,
    pub(super) coming: Vec<Duty>,
    pub(super) consents: Vec<Duty>,
    pub(super) without_lead: Vec<Duty>,
    pub(super) drafts: Vec<Duty>,
}

impl Duties {
    pub(super) async fn of(snapshot: &mut Snapshot, office: &Office<Accounts, Read>, site: &Site) -> Result<Self> {
        let today = snapshot.today();
        let limits = duties::limits_waiting(snapshot, office).await?.into_iter().map(|one| {
            let what = if one.lifts { "lifting a limit" } else { "a limit" };
            let whose =
                if one.own { "you proposed it, so another records officer confirms" } else { "you can confirm it" };
            Duty {
                href: format!("/students/{}/people/limits", one.student),
                name: one.name,
                words: format!("{what}, proposed by {}; {whose}", one.proposed_by),
            }
        });
        let limits = limits.collect();
        let born = today.saturating_sub(i32::from(site.transfer_age()).years());
        let born = born.saturating_add(TOLD_MONTHS_BEFORE.months());
        let coming = duties::born_until(snapshot, office, born).await?.into_iter().filter_map(|one| {
            let words = match coming_of_age(one.born, site.transfer_age(), today) {
                Coming::Later => return None,
                Coming::On(day) => format!("rights pass to the student on {}", words::date(day)),
                // Everybody's access was decided on: nothing is left to do.
                Coming::Since(_) if one.chosen >= one.parents => return None,
                Coming::Since(day) => format!(
                    "of age since {}; the student's word is recorded for {} of {} parents",
                    words::date(day),
                    one.chosen,
                    one.parents
                ),
            };
            Some(Duty { href: format!("/students/{}/people/age", one.student), name: one.name, words })
        });
        let coming = coming.collect();
        let consents = duties::consents_ended(snapshot, office).await?.into_iter().map(|one| Duty {
            href: format!("/students/{}/people", one.student),
            name: one.name,
            words: format!("the consent {} ended on {}", one.direction.words(), words::date(one.on)),
        });
        let consents = consents.collect();
        let without_lead = duties::without_lead(snapshot, office).await?.into_iter().map(|one| {
            let since = one.since.map(|day| format!(" since {}", words::date(day))).unwrap_or_default();
            Duty {
                href: format!("/students/{}/people", one.student),
                name: one.name,
                words: format!("nobody leads the record{since}. Invite a vision teacher, who then leads it"),
            }
        });
        let without_lead = without_lead.collect();
        let drafts = duties::drafts_left(snapshot, office).await?.into_iter().map(|one| {
            let whose =
                if matches!(one.kind.as_str(), "evaluation" | "prescription") { "clinician" } else { "vision teacher" };
            Duty {
                href: format!("/students/{}/people", one.student),
                name: one.name,
                words: format!(
                    "{} left by {} on {}. See that a {whose} is on the team, who goes on with it",
                    draft_words(&one.kind),
                    one.from,
                    words::date(one.since)
                ),
            }
        });
        Ok(Self { limits, coming, consents, without_lead, drafts: drafts.collect() })
    }
}
