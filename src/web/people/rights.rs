//! Whose rights they are, as the pages about a team say it: that a limit is on
//! file, that rights pass to the student, and what each parent can see.
//!
//! Does not decide anything: the policy does. One parent is never told what is
//! on file, or what the student said, about another.

use std::collections::BTreeMap;

use super::super::error::Result;
use super::super::part::{self, Notice};
use super::super::state::App;
use super::super::today::due::rights_pass;
use super::super::visit::Visit;
use super::super::words;
use super::age::chosen_words;
use crate::access::action::Read;
use crate::access::resource::{AccessLimitFlag, Team};
use crate::access::standing::Categories;
use crate::access::{Access, Role};
use crate::care::consent::Category;
use crate::care::ids::AccountId;
use crate::care::student::Coming;
use crate::store::team::Member;
use crate::store::{age, limit};

/// What of the students' and the office's word this reader may know, for the
/// lines that say what everybody can see.
pub(super) struct Rights {
    /// Whether this reader may know that a limit is on file.
    flag: bool,
    coming: Coming,
    /// What a student of age chose, for readers to whom it is told in full.
    chosen: BTreeMap<AccountId, Categories>,
    told_in_full: bool,
    reader_is_parent: bool,
}

impl Rights {
    pub(super) async fn of(app: &App, visit: &Visit, access: &Access<Team, Read>) -> Result<Self> {
        Ok(Self {
            flag: visit.may::<AccessLimitFlag, Read>(),
            coming: visit.coming_of_age(),
            chosen: age::chosen(&mut app.store.snapshot().await?, access).await?,
            told_in_full: !matches!(visit.role(), Some(Role::ClassroomTeacher | Role::Clinician)),
            reader_is_parent: visit.role() == Some(Role::Parent),
        })
    }

    pub(super) fn of_parent(&self, member: &Member, reader: AccountId) -> String {
        if !member.full_rights {
            let told = "Nothing here: an access limit is on file.";
            return if self.flag { told } else { "Ask the school office." }.to_owned();
        }
        if !matches!(self.coming, Coming::Since(_)) {
            return "Everything that is released or signed, and whom it went to.".to_owned();
        }
        match self.chosen.get(&member.account) {
            _ if !self.told_in_full => "What the student, who is of age, lets them see.".to_owned(),
            // One parent is not told what the student said about another.
            _ if self.of_another_parent(member, reader) => "What the student, who is of age, lets them see.".to_owned(),
            None => "Nothing yet: the student is of age, and has not said what this parent may see.".to_owned(),
            Some(chosen) if chosen.is_empty() => "Nothing, as the student, who is of age, said.".to_owned(),
            Some(chosen) => {
                let categories: Vec<Category> = chosen.iter().collect();
                format!("What the student, who is of age, said: {}.", chosen_words(&categories))
            }
        }
    }

    fn of_another_parent(&self, member: &Member, reader: AccountId) -> bool {
        self.reader_is_parent && member.account != reader
    }
}

/// What stands over the page: whose rights they are, and that a limit is on file.
pub(in crate::web) async fn told(app: &App, visit: &Visit) -> Result<Vec<Notice>> {
    let mut told = Vec::new();
    if let Some(access) = visit.open_if::<AccessLimitFlag, Read>().await?
        && limit::is_on_file(&mut app.store.snapshot().await?, &access).await?
    {
        told.push(part::notice(
            "caution",
            "An access limit is on file",
            "Before you invite a parent or guardian, or tell anybody at home anything, ask the records officer.",
        ));
    }
    if let Some(words) = rights_pass(visit) {
        told.push(part::notice("plain", "Coming of age", &format!("{words}.")));
    }
    if let Coming::Since(day) = visit.coming_of_age() {
        let words = format!(
            "Since {}. The student says what each parent may read, and signs consents in person or on paper with the vision teacher. What a parent signed before goes on until it ends.",
            words::date(day)
        );
        told.push(part::notice("plain", "The rights are the student's", &words));
    }
    Ok(told)
}
