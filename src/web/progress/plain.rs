//! The same finding for a family, at about sixth grade.
//!
//! Counts and seconds as they were written down, and one sentence of what they
//! mean. No figure of statistics, no clinical word.

use super::Known;
use super::told::{Words, counted};
use crate::care::progress::Time;
use crate::care::progress::finding::{NotYet, Stand, Verdict};
use crate::care::skill::{Prompt, Skill};
use crate::web::part::status;

/// What is practised, in everyday words.
pub(super) const fn skill(skill: Skill) -> &'static str {
    match skill {
        Skill::Handling => "taking it out, holding it and caring for it",
        Skill::Focusing => "making it sharp",
        Skill::Spotting => "finding one thing with it",
        Skill::Scanning => "searching a board or a page",
        Skill::Tracing => "following a line",
        Skill::Tracking => "following something that moves",
        Skill::Copying => "looking and writing down",
        Skill::Stamina => "keeping it up",
        Skill::Choosing => "choosing what to use",
        Skill::RealSetting => "using it in daily life",
    }
}

impl Known<'_> {
    pub(super) fn plain(&self) -> Words {
        let verdict = &self.finding.verdict;
        let sessions = counted(self.finding.sessions, "practice", "practices");
        let (mark, sure) = match verdict {
            Verdict::Improving => (
                status("It is getting better", "good"),
                format!("We are quite sure that this is real: {sessions} without help show it."),
            ),
            Verdict::FasterLessAccurate => (
                status("Faster, but fewer right", "caution"),
                "It goes faster, and more goes wrong. So we do not call it better yet; slower and right comes first."
                    .to_owned(),
            ),
            Verdict::Worsening => (
                status("It has become harder", "caution"),
                format!(
                    "The last of {sessions} went less well. The vision teacher looks for the reason: the light, the place or a tired day can do that."
                ),
            ),
            Verdict::NoChangeSeen => (
                status("No change to be seen yet", "plain"),
                format!("From {sessions} we cannot see it change. It may still be changing; more practice will tell."),
            ),
            Verdict::NotYet(why) => (status("Too early to say", "waiting"), early(why)),
        };
        let mut lines = Vec::new();
        lines.extend(self.plain_help());
        (mark, self.plain_sentence(), sure, lines)
    }

    fn plain_sentence(&self) -> String {
        let finding = self.finding;
        let was = finding.was.as_ref().and_then(|stand| self.plain_stand(stand)).map(|stand| {
            if finding.was_before { format!("Before practice began: {stand}.") } else { format!("At first: {stand}.") }
        });
        let is = finding.is.as_ref().and_then(|stand| {
            let when = match stand.sessions {
                1 => "In the last practice without help".to_owned(),
                many => format!("In the last {many} practices without help"),
            };
            Some(format!("{when}: {}.", self.plain_stand(stand)?))
        });
        let parts: Vec<String> = [was, is].into_iter().flatten().collect();
        if parts.is_empty() { "So far your child has done this with help only.".to_owned() } else { parts.join(" ") }
    }

    fn plain_stand(&self, stand: &Stand) -> Option<String> {
        let share = stand.share.map(|share| format!("{} of {} {}", stand.right, share.trials, self.right_word()));
        let time = match stand.time {
            Time::Typical { median, .. } => {
                Some(format!("about {} seconds each", super::told::tenth_or_whole(median.get())))
            }
            Time::NotReached | Time::NotTaken => None,
        };
        let parts: Vec<String> = [share, time].into_iter().flatten().collect();
        (!parts.is_empty()).then(|| parts.join(", "))
    }

    fn plain_help(&self) -> Option<String> {
        let fading = self.fading?;
        let often = match fading.alone_running {
            0 => "The last practice took some help.".to_owned(),
            1 => "The last practice took no help.".to_owned(),
            many => format!("The last {many} practices took no help."),
        };
        let less = fading.is_apart() && fading.last.level() > fading.first.level();
        Some(match (less, fading.last) {
            (true, Prompt::None) => format!("At first it took help ({}). {often}", fading.first.words()),
            (true, last) => format!("It takes less help than at first: {} now. {often}", last.words()),
            (false, _) => often,
        })
    }
}

fn early(why: &NotYet) -> String {
    match why {
        NotYet::Lacks(lacking) => {
            let days = lacking.iter().find(|one| one.what.starts_with("days"));
            let practices = lacking.iter().find(|one| one.what.starts_with("sessions"));
            match (practices, days) {
                (Some(some), _) => format!(
                    "To say whether it changes takes {} practices without help; there are {}.",
                    some.needed, some.given
                ),
                (None, Some(_)) => "To say whether it changes takes three weeks of practice.".to_owned(),
                (None, None) => "To say whether it changes takes more practice.".to_owned(),
            }
        }
        NotYet::Alike => "Every practice went the same.".to_owned(),
        NotYet::NoSize => {
            "How big the things to find were was not written down each time, so we do not compare.".to_owned()
        }
        NotYet::NoProbe | NotYet::ProbeOfAnotherSize | NotYet::Nothing | NotYet::Beyond => {
            "There is too little written down without help to compare.".to_owned()
        }
    }
}
