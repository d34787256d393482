//! One device of the student's own as the page shows it: how it stands, what a
//! clinician said of it, and its repairs.

use jiff::civil::Date;

use super::lent::sentence;
use super::part;
use super::track::TrackPage;
use crate::access::action::Create;
use crate::access::resource::{LoanDecision, Repair};
use crate::care::gates::may_repair;
use crate::care::journey::fact::Verdict;
use crate::care::journey::{OwnDevice, Standing};
use crate::care::loan::short_words;
use crate::store::own_device::Kept;
use crate::web::part::Facts;
use crate::web::{device_fields, words};

/// One own device of the page.
pub(super) struct OwnPart {
    pub(super) title: String,
    pub(super) status: part::Status,
    pub(super) why: String,
    pub(super) settled: String,
    pub(super) repairs: Vec<String>,
    pub(super) facts: Facts,
    pub(super) settle: String,
    pub(super) repair: String,
    pub(super) back: String,
    pub(super) amend: String,
    pub(super) error: String,
    pub(super) amended: part::Amended,
}

impl TrackPage<'_> {
    pub(super) fn own(&self, kept: &Kept) -> OwnPart {
        let derived = self.whole.own_devices.iter().find(|own| own.id == kept.id);
        let (status, why) = self.standing_of(derived, kept);
        let facts = part::facts(&device_fields::facts(&kept.device, self.context))
            .fact("Serial number or tag", &kept.tag)
            .fact("Received on", &words::date(kept.received_on))
            .fact("Received by", &kept.received_by)
            .fact("Condition then", kept.condition.words())
            .fact("Entered by", &kept.entered_by);
        let of_this = || self.kept.repairs.iter().filter(|repair| repair.own_device == kept.id);
        let away = of_this().find(|repair| repair.back.is_none());
        let (may_repair_it, may_settle) =
            (self.visit.may::<Repair, Create>(), self.visit.may::<LoanDecision, Create>());
        let waits = derived.is_some_and(|own| own.standing == Standing::Mismatch);
        let link = |shown: bool, path: String| if shown { self.visit.at(&path) } else { String::new() };
        let tag = if kept.tag.is_empty() { String::new() } else { format!(", {}", kept.tag) };
        OwnPart {
            title: format!("{}{tag}", words::capital(&short_words(&kept.device.spec))),
            status,
            why,
            settled: settled(kept),
            repairs: of_this().map(repair_line).collect(),
            facts,
            amend: link(self.kept.amendable.contains(&kept.id), format!("/devices/own/{}/amend", kept.id)),
            error: link(self.kept.amendable.contains(&kept.id), format!("/devices/own/{}/error", kept.id)),
            amended: self.kept.amended.get(&kept.id.to_string()).cloned().unwrap_or_default().about(&format!(
                "own {}, received on {}",
                short_words(&kept.device.spec),
                words::date(kept.received_on)
            )),
            settle: link(may_settle && waits, format!("/devices/own/{}/settle", kept.id)),
            repair: link(
                may_repair_it && may_repair(self.whole, kept.id).is_ok(),
                format!("/devices/own/{}/repair", kept.id),
            ),
            back: away
                .map_or_else(String::new, |away| link(may_repair_it, format!("/devices/repairs/{}/back", away.id))),
        }
    }

    fn standing_of(&self, derived: Option<&OwnDevice>, kept: &Kept) -> (part::Status, String) {
        let Some(own) = derived else {
            return (part::status("Not yet", "plain"), "It counts from the day it was received.".to_owned());
        };
        match own.standing {
            Standing::InForce(_) | Standing::Held if own.in_repair.is_some() => {
                let since = own.in_repair.map(words::date).unwrap_or_default();
                let why = format!(
                    "It went to be repaired on {since}. Until it is back, later entries do not name it. The loan it \
                     replaced may be used again, or a matching one lent."
                );
                (part::status("In repair", "caution"), why)
            }
            Standing::InForce(since) => {
                let replaced = self.whole.open_loans().filter(|loan| loan.replaced.is_some_and(|one| one.by == own.id));
                let due: Option<Date> = replaced.filter_map(|loan| loan.due).min();
                let due = due.map(|due| format!(" Loans it replaces are due back by {}.", words::date(due)));
                let as_what = match (kept.prescription, kept.differs.is_empty()) {
                    (None, _) => "Kept, as an evaluation says",
                    (Some(_), true) => "As prescribed",
                    (Some(_), false) => "Accepted by the clinician",
                };
                let why = format!(
                    "{as_what}. From {} it is the device of this track: later entries name it, or no device.{}",
                    words::date(since),
                    due.unwrap_or_default()
                );
                (part::status("Own device in force", "good"), why)
            }
            Standing::Mismatch => {
                let parts: Vec<&str> = kept.differs.iter().map(|part| part.words()).collect();
                let why = format!(
                    "Not as prescribed: {}. It waits for the clinician to settle this. Until then it is not used, and the loan stays.",
                    parts.join("; ")
                );
                (part::status("Waits for the clinician", "waiting"), why)
            }
            Standing::Refused => (part::status("Refused by the clinician", "stop"), "It is not used.".to_owned()),
            Standing::Held => {
                (part::status("Not in force", "plain"), "Something else is prescribed or recommended now.".to_owned())
            }
        }
    }
}

/// What a clinician said of a device that is not as prescribed.
fn settled(kept: &Kept) -> String {
    let Some(settled) = &kept.verdict else { return String::new() };
    let parts: Vec<&str> = kept.differs.iter().map(|part| part.words()).collect();
    let said = match settled.verdict {
        Verdict::Accepted => "Accepted as it is",
        Verdict::Refused => "Refused",
    };
    format!(
        "{said} by {} on {}, because: {} What differed: {}.",
        settled.by,
        words::date(settled.on),
        sentence(&settled.reason),
        parts.join("; ")
    )
}

fn repair_line(repair: &crate::store::repair::Kept) -> String {
    let back = match repair.back {
        Some(day) => format!("Back on {}, entered by {}.", words::date(day), repair.back_by),
        None => "Not back yet.".to_owned(),
    };
    format!(
        "In repair from {}, entered by {}: {} {back}",
        words::date(repair.from),
        repair.by,
        sentence(&repair.reason)
    )
}
