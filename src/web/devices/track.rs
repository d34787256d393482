//! One track of a student's devices: what is recommended, what was asked of the
//! clinician, what may be done next.

use jiff::civil::Date;

use super::lent::{LoanPart, PastLoan};
use super::own::OwnPart;
use super::{Kept, part};
use crate::access::Role;
use crate::access::action::{Create, Sign};
use crate::access::resource::{LoanDecision, Loans, Receipt};
use crate::care::gates::safe_to_train;
use crate::care::journey::fact::Source;
use crate::care::journey::{Basis, Journey, Recommendation};
use crate::care::loan::LoanRecord;
use crate::care::named_device::NamedDevice;
use crate::web::page::Context;
use crate::web::part::{Facts, Notice, Table};
use crate::web::today::due::follow_ups;
use crate::web::visit::Visit;
use crate::web::{device_fields, steps, words};

/// One track of the page.
pub(super) struct TrackPart {
    pub(super) title: String,
    pub(super) name: &'static str,
    pub(super) stage: String,
    pub(super) notices: Vec<Notice>,
    pub(super) recommended: Vec<Facts>,
    pub(super) recommended_line: String,
    pub(super) open: Vec<LoanPart>,
    pub(super) past: Table,
    pub(super) has_past: bool,
    pub(super) past_corrected: Vec<PastLoan>,
    pub(super) errors: Vec<(String, String)>,
    pub(super) own: Vec<OwnPart>,
    pub(super) lend: String,
    pub(super) receipt: String,
    pub(super) brought: String,
    pub(super) ask: String,
    pub(super) asked: Table,
    pub(super) has_asked: bool,
    pub(super) leave: Vec<LeavePart>,
}

/// A clinician's leave to lend a device, as long as it holds.
pub(super) struct LeavePart {
    pub(super) words: String,
    pub(super) reason: String,
    pub(super) take_back: String,
    pub(super) tag: String,
}

pub(super) struct TrackPage<'a> {
    pub(super) visit: &'a Visit,
    pub(super) context: &'a Context,
    pub(super) today: Date,
    /// The track with everything that happened on it.
    pub(super) whole: &'a Journey,
    /// What this reader may read of the recommendation.
    pub(super) readable: Option<&'a Recommendation>,
    pub(super) kept: &'a Kept,
}

impl TrackPage<'_> {
    pub(super) fn part(&self, shown: &Journey) -> TrackPart {
        let track = self.whole.track;
        let of_track = |loan: &&LoanRecord| loan.entered.track == track;
        let (open, past): (Vec<_>, Vec<_>) =
            self.kept.loans.iter().filter(of_track).partition(|loan| loan.returned_on.is_none());
        let may_lend = self.visit.may::<Loans, Create>();
        let gate = safe_to_train(self.whole);
        let mut notices = Vec::new();
        if may_lend && let Err(blocked) = &gate {
            let href = steps::address(self.visit.student(), blocked.first);
            notices.push(
                part::notice("plain", "No loan yet on this track", &blocked.to_string())
                    .link(&href, "Go to the step that comes first"),
            );
        }
        notices.extend(self.open_requests());
        if self.visit.role() != Some(Role::Parent) {
            let lines = follow_ups(std::iter::once(shown), self.today);
            notices.extend(lines.iter().map(|line| part::notice("caution", "Follow-up of the own device", line)));
        }
        let receipt =
            shown.prescription.as_ref().filter(|_| self.visit.may::<Receipt, Create>()).map(|now| {
                self.visit.at(&format!("/devices/receipt/new?track={}&prescription={}", track.code(), now.id))
            });
        TrackPart {
            title: format!("{} track", words::capital(track.words())),
            name: track.words(),
            stage: words::capital(shown.stage.words()),
            notices,
            recommended: self.recommended(),
            recommended_line: self.recommended_line(shown),
            open: open.into_iter().map(|loan| self.loan(loan)).collect(),
            has_past: !past.is_empty(),
            past: self.past_loans(&past),
            past_corrected: self.past_corrected(&past),
            errors: self
                .kept
                .errors
                .iter()
                .filter(|(of, ..)| *of == track)
                .map(|(_, what, why)| (what.clone(), why.clone()))
                .collect(),
            own: self.kept.own.iter().filter(|own| own.track == track).map(|own| self.own(own)).collect(),
            asked: self.asked(),
            has_asked: self.kept.requests.iter().any(|asked| asked.track == track && asked.answer.is_some()),
            leave: self.leave(),
            ask: if may_lend && gate.is_ok() && !self.all_replaced() {
                self.visit.at(&format!("/devices/ask/{}", track.code()))
            } else {
                String::new()
            },
            lend: if may_lend && gate.is_ok() && !self.all_replaced() {
                self.visit.at(&format!("/devices/lend/{}", track.code()))
            } else {
                String::new()
            },
            receipt: receipt.unwrap_or_default(),
            brought: if self.visit.may::<Receipt, Create>() {
                self.visit.at(&format!("/devices/brought/{}", track.code()))
            } else {
                String::new()
            },
        }
    }

    /// Whether the own devices stand in for all that is recommended (G6).
    fn all_replaced(&self) -> bool {
        let mut wanted = self.whole.recommendation.iter().flat_map(|now| &now.devices).peekable();
        wanted.peek().is_some() && wanted.all(|device| self.whole.replacing(device.kind).next().is_some())
    }

    fn recommended(&self) -> Vec<Facts> {
        recommended_facts(self.readable, self.context)
    }

    fn recommended_line(&self, shown: &Journey) -> String {
        match (&shown.recommendation, self.readable) {
            (Some(now), Some(_)) => {
                let from = match now.basis {
                    Basis::Decision(_) => "a clinician\u{2019}s decision",
                    Basis::Evaluation(_) if now.keeps_own => "an evaluation: keep the own device",
                    Basis::Evaluation(_) => "an evaluation",
                };
                let confirmed = match now.safety.map(|safety| safety.source) {
                    Some(Source::Transcribed) => " Transcribed, not confirmed.",
                    _ => "",
                };
                let any = if now.devices.len() > 1 { " Any of these will do." } else { "" };
                format!("In force since {}, from {from}.{confirmed}{any}", words::date(now.since))
            }
            (Some(now), None) => format!("A recommendation is in force since {}.", words::date(now.since)),
            (None, _) => "No recommendation is in force on this track.".to_owned(),
        }
    }

    /// Questions that wait: to the clinician with the way to answer, to everyone
    /// else as waiting.
    fn open_requests(&self) -> Vec<Notice> {
        let open = self.kept.requests.iter().filter(|asked| asked.track == self.whole.track && asked.answer.is_none());
        let now = self.whole.recommendation.as_ref().map(|now| now.basis);
        open.map(|asked| {
            let on = words::date(asked.on);
            if now != Some(asked.under) {
                let body = format!(
                    "{} asked about {} on {on}. The recommendation changed since, so nothing is open any more.",
                    asked.by, asked.tag
                );
                return part::notice("plain", "A question that no longer counts", &body);
            }
            let body = format!("{} asks about {} since {on}: {}", asked.by, asked.tag, asked.reason);
            if self.visit.may::<LoanDecision, Create>() {
                part::notice("caution", "Another device is asked for", &body)
                    .link(&self.visit.at(&format!("/devices/requests/{}", asked.id)), "Compare and answer")
            } else {
                part::notice("plain", "Waiting for the clinician to allow another device", &body)
            }
        })
        .collect()
    }

    /// What was asked before, and what the clinician said.
    fn asked(&self) -> Table {
        let mut table = part::table(&format!("Asked of the clinician, {} track", self.whole.track.words()))
            .column("Device")
            .column("Asked")
            .column("Why")
            .column("Answer");
        for asked in self.kept.requests.iter().filter(|asked| asked.track == self.whole.track) {
            let Some(answer) = &asked.answer else { continue };
            let said = if answer.allowed { "Allowed" } else { "Left as recommended" };
            table.push([
                asked.tag.clone(),
                format!("{} by {}", words::date(asked.on), asked.by),
                asked.reason.clone(),
                format!("{said} on {} by {}: {}", words::date(answer.on), answer.by, answer.reason),
            ]);
        }
        table
    }

    /// Leave that holds under the recommendation in force.
    fn leave(&self) -> Vec<LeavePart> {
        let holds = self.kept.allowances.iter().filter(|given| self.holds(given));
        holds
            .map(|given| LeavePart {
                words: format!("{}: allowed by {} on {}.", given.tag, given.by, words::date(given.on)),
                reason: given.reason.clone(),
                take_back: if self.visit.may::<LoanDecision, Sign>() {
                    self.visit.at(&format!("/devices/allowances/{}/withdraw", given.id))
                } else {
                    String::new()
                },
                tag: given.tag.clone(),
            })
            .collect()
    }

    /// Whether leave holds today: not taken back, and its recommendation in force.
    pub(super) fn holds(&self, given: &crate::store::allowance::Allowance) -> bool {
        given.track == self.whole.track
            && given.withdrawn.is_none()
            && self.whole.recommendation.as_ref().is_some_and(|now| now.basis == given.under)
    }
}

/// The devices of a recommendation, one after the other.
pub(super) fn recommended_facts(now: Option<&Recommendation>, context: &Context) -> Vec<Facts> {
    let devices = now.into_iter().flat_map(|now| &now.devices);
    devices.map(|device| part::facts(&device_fields::facts(&NamedDevice::of(device.clone()), context))).collect()
}
