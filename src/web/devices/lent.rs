//! One loan as a student's devices show it: whether it still stands, until when
//! it is out and why, and what may be done with it.

use jiff::civil::Date;

use super::track::TrackPage;
use super::{part, stated};
use crate::access::action::{Amend, Edit};
use crate::access::resource::Loans;
use crate::care::device::{Match, Warning};
use crate::care::gates::nearest;
use crate::care::journey::{Basis, Fit, Loan};
use crate::care::loan::{LoanRecord, short_words};
use crate::web::part::Facts;
use crate::web::words;

/// One loan of the page.
pub(super) struct LoanPart {
    pub(super) title: String,
    pub(super) status: part::Status,
    pub(super) why: String,
    pub(super) facts: Facts,
    pub(super) extended: Vec<String>,
    pub(super) give_back: String,
    pub(super) extend: String,
    pub(super) report: String,
    pub(super) amend: String,
    pub(super) error: String,
    pub(super) amended: part::Amended,
}

/// A loan that ended, with its corrections.
pub(super) struct PastLoan {
    pub(super) title: String,
    pub(super) amend: String,
    pub(super) error: String,
    pub(super) amended: part::Amended,
}

impl TrackPage<'_> {
    pub(super) fn loan(&self, record: &LoanRecord) -> LoanPart {
        let entered = &record.entered;
        let derived = self.whole.loans.iter().find(|loan| loan.id == record.id);
        let (status, why) = self.standing(record, derived);
        let due = due(record, derived);
        let late = if due < self.today { format!("{} (overdue)", words::date(due)) } else { words::date(due) };
        let yes_no = |yes: bool| if yes { "yes" } else { "no" };
        let kept: Vec<&str> = record.warnings.iter().map(|warning: &Warning| warning.words()).collect();
        let below = |act: &str| match self.visit.may::<Loans, Edit>() {
            true => self.visit.at(&format!("/devices/{act}/{}", record.id)),
            false => String::new(),
        };
        LoanPart {
            title: format!("{}, {}", record.tag, short_words(&record.spec)),
            extended: self.extended(record),
            status,
            why,
            facts: stated([
                ("Lent on", words::date(entered.lent_on)),
                ("Due back", late),
                ("Eye", entered.eye.words().to_owned()),
                ("Purpose", entered.purpose.words().to_owned()),
                ("Kept by", entered.held_by.words().to_owned()),
                ("Home use", yes_no(entered.home_use).to_owned()),
                ("Agreed by", entered.agreement_by.words().to_owned()),
                ("Condition", entered.condition_out.words().to_owned()),
                ("Strap", yes_no(entered.strap).to_owned()),
                ("Case", yes_no(entered.carry_case).to_owned()),
                ("Known when it was lent", kept.join("; ")),
                ("Entered by", record.entered_by.clone()),
            ]),
            give_back: below("return"),
            extend: if derived.is_some_and(Loan::in_use) { below("extend") } else { String::new() },
            report: below("report"),
            amend: self.correct(record, "amend"),
            error: self.correct(record, "error"),
            amended: self.amended(record),
        }
    }

    /// Where a loan is corrected, for those who may.
    fn correct(&self, record: &LoanRecord, how: &str) -> String {
        match self.visit.may::<Loans, Amend>() {
            true => self.visit.at(&format!("/devices/loans/{}/{how}", record.id)),
            false => String::new(),
        }
    }

    fn amended(&self, record: &LoanRecord) -> part::Amended {
        let amended = self.kept.amended.get(&record.id.to_string()).cloned().unwrap_or_default();
        amended.about(&format!("loan of {}, lent on {}", record.tag, words::date(record.entered.lent_on)))
    }

    /// The loans that ended and were amended or can be.
    pub(super) fn past_corrected(&self, past: &[&LoanRecord]) -> Vec<PastLoan> {
        past.iter()
            .map(|record| PastLoan {
                title: format!("{}, lent on {}", record.tag, words::date(record.entered.lent_on)),
                amend: self.correct(record, "amend"),
                error: self.correct(record, "error"),
                amended: self.amended(record),
            })
            .filter(|one| !one.amend.is_empty() || !one.amended.is_empty())
            .collect()
    }

    /// Whether a loan still stands for what is recommended, and why not.
    fn standing(&self, record: &LoanRecord, derived: Option<&Loan>) -> (part::Status, String) {
        let Some(loan) = derived else {
            return (part::status("Not in use yet", "plain"), "It goes out on a later day.".to_owned());
        };
        if let Some(replaced) = loan.replaced {
            let due = loan.due.map(words::date).unwrap_or_default();
            let why = format!(
                "The own device takes its place. Entries after {} do not name this loan. It is due back by {due}.",
                words::date(replaced.since)
            );
            return (part::status("Own device instead", "caution"), why);
        }
        match loan.fit {
            Fit::Recommended => (part::status("Matches the recommendation", "good"), String::new()),
            Fit::Allowed(_) => (part::status("Allowed by a clinician", "good"), self.allowed(record)),
            Fit::Repair(_) => (part::status("Covers a repair", "good"), "The own device is being repaired.".to_owned()),
            Fit::Not => (part::status("Does not match now", "stop"), self.why_not(record)),
        }
    }

    fn why_not(&self, record: &LoanRecord) -> String {
        let end = "It is due back and takes no session.";
        let Some(now) = self.readable else {
            return format!("It no longer stands for what is recommended. {end}");
        };
        let taken_back = self.taken_back(record, now.basis);
        match nearest(self.whole, &record.spec, &[]) {
            Some((_, Match::Differs(parts))) => {
                let parts: Vec<&str> = parts.iter().map(|part| part.words()).collect();
                format!("{taken_back}Against the recommendation: {}. {end}", parts.join("; "))
            }
            _ => format!("No device is recommended now. {end}"),
        }
    }

    /// Who allowed a device that does not match, when and why.
    fn allowed(&self, record: &LoanRecord) -> String {
        let given = self.kept.allowances.iter().find(|given| given.device == record.device && self.holds(given));
        given.map_or_else(String::new, |given| {
            format!(
                "Allowed by {} on {}, because: {} It holds while this recommendation is in force.",
                given.by,
                words::date(given.on),
                sentence(&given.reason)
            )
        })
    }

    /// That leave for this device under the recommendation in force was taken back.
    fn taken_back(&self, record: &LoanRecord, now: Basis) -> String {
        let of_this = |given: &&crate::store::allowance::Allowance| {
            given.device == record.device && given.track == self.whole.track && given.under == now
        };
        let newest = self.kept.allowances.iter().find(of_this).and_then(|given| given.withdrawn.as_ref());
        newest.map_or_else(String::new, |back| {
            format!("{} took the leave back on {}: {} ", back.by, words::date(back.on), sentence(&back.reason))
        })
    }

    /// Each later due date beside the one before it.
    fn extended(&self, record: &LoanRecord) -> Vec<String> {
        let of_loan = self.kept.extensions.iter().filter(|one| one.loan == record.id);
        of_loan
            .map(|one| {
                format!(
                    "Due {} instead of {}, entered by {} on {}: {}",
                    words::date(one.after),
                    words::date(one.before),
                    one.by,
                    words::date(one.on),
                    one.reason
                )
            })
            .collect()
    }

    pub(super) fn past_loans(&self, past: &[&LoanRecord]) -> part::Table {
        let mut table = part::table(&format!("Loans that ended, {} track", self.whole.track.words()))
            .column("Device")
            .column("Lent")
            .column("Ended")
            .column("Condition")
            .none("No loan has ended yet.");
        for loan in past {
            let told = self.kept.reports.iter().find(|report| report.loan == loan.id);
            let condition = loan.condition_in.map_or("", |condition| condition.words());
            let condition = match told {
                Some(told) => format!("{condition}, told by {}, entered by {}: {}", told.told_by, told.by, told.words),
                None => condition.to_owned(),
            };
            table.push([
                format!("{}, {}", loan.tag, short_words(&loan.spec)),
                words::date(loan.entered.lent_on),
                loan.returned_on.map(words::date).unwrap_or_default(),
                condition,
            ]);
        }
        table
    }
}

/// What was written, ended like a sentence.
pub(super) fn sentence(written: &str) -> String {
    if written.ends_with(['.', '!', '?']) { written.to_owned() } else { format!("{written}.") }
}

/// The day by which a loan is due: as agreed, or earlier by the rules.
pub(super) fn due(record: &LoanRecord, derived: Option<&Loan>) -> Date {
    let agreed = record.entered.due_on;
    derived.and_then(|loan| loan.due).map_or(agreed, |due| due.min(agreed))
}
