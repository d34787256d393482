//! FHIR R4 (4.0.1): a record as a collection, a summary as a document.
//!
//! Text stands beside every code; every reference ends inside the bundle, or is
//! only a name; the address of a resource follows from the id of the record it
//! says, so the same record gives the same bytes apart from the time. What
//! leaves is held against [`check`] first, because the validators to be had miss
//! most of its rules. **Source** HL7 FHIR R4; `practice.md` 6.2 to 6.6.
//!
//! Does not know who may read what; the record holds nothing else.

pub mod check;
mod device;
mod document;
mod element;
mod entries;
mod prescribed;
mod resource;
mod said;
mod sight;
mod terms;

pub use document::document;
pub use resource::{Bundle, Resource};
pub use said::{Said, said, said_table};
pub use terms::Terms;

use element::{Concept, HumanName, Identifier, Qualification, Reference};
use jiff::Timestamp;
use resource::{Entry, Organization, Patient, Practitioner, RelatedPerson};
use std::collections::BTreeSet;

use crate::exchange::record::Record;

/// Everything of a record that has a resource, as one collection.
#[must_use]
pub fn collection(record: &Record, terms: &Terms, at: Timestamp) -> Bundle {
    let mut to = Builder::new(record, terms);
    to.people();
    for one in &record.evaluations {
        sight::evaluation(&mut to, one);
    }
    for one in &record.prescriptions {
        prescribed::prescription(&mut to, one);
    }
    for one in &record.devices {
        device::thing(&mut to, one);
    }
    for one in &record.loans {
        device::loan(&mut to, one);
    }
    for one in &record.sessions {
        entries::session(&mut to, one);
    }
    for one in &record.observations {
        entries::observation(&mut to, one);
    }
    for one in &record.goals {
        entries::goal(&mut to, one);
    }
    for one in &record.consents {
        entries::consent(&mut to, one);
    }
    for one in &record.decisions {
        entries::decision(&mut to, one);
    }
    to.into_bundle("collection", &at.to_string())
}

/// The bundle as it leaves: JSON, with the name of its kind first.
///
/// # Errors
/// None that a bundle of this module can cause.
pub fn text(bundle: &Bundle) -> serde_json::Result<Vec<u8>> {
    // As the resources within, but not copied: a record of years has megabytes.
    #[derive(serde::Serialize)]
    #[serde(tag = "resourceType")]
    enum Leaving<'a> {
        Bundle(&'a Bundle),
    }
    let mut text = serde_json::to_vec_pretty(&Leaving::Bundle(bundle))?;
    text.push(b'\n');
    Ok(text)
}

/// Collects entries, and knows the addresses of what is not yet among them.
struct Builder<'a> {
    record: &'a Record,
    terms: &'a Terms,
    entries: Vec<Entry>,
    people: BTreeSet<&'a str>,
}

impl<'a> Builder<'a> {
    fn new(record: &'a Record, terms: &'a Terms) -> Self {
        let people = record.people.iter().map(|person| person.id.as_str()).collect();
        Self { record, terms, entries: Vec::new(), people }
    }

    const fn record(&self) -> &'a Record {
        self.record
    }

    const fn terms(&self) -> &'a Terms {
        self.terms
    }

    fn add(&mut self, full_url: String, resource: Resource) {
        self.entries.push(Entry { full_url, resource: Some(resource) });
    }

    /// The address of a record by its id.
    fn url(&self, id: &str) -> String {
        url(id)
    }

    /// The address of a part of a record that has no id of its own.
    fn derived(&self, id: &str, part: &str) -> String {
        derived(id, part)
    }

    fn subject(&self) -> Reference {
        Reference::to(&url(&self.record.student.id))
    }

    fn owner(&self) -> String {
        derived(&self.record.student.id, "owner")
    }

    /// Somebody of the team.
    fn person(&self, id: &str) -> Option<Reference> {
        self.people.contains(id).then(|| Reference::to(&url(id)))
    }

    /// Somebody of the team by name, or the name alone.
    fn named(&self, name: &str) -> Option<Reference> {
        let known = self.record.people.iter().find(|person| person.name == name);
        let named = (!name.is_empty()).then(|| Reference::named(name));
        known.map(|person| Reference::to(&url(&person.id))).or(named)
    }

    /// The student, the service and the team.
    fn people(&mut self) {
        let student = &self.record.student;
        let number =
            student.number.iter().map(|number| Identifier { system: self.terms.ids("student"), value: number.clone() });
        let patient = Patient {
            identifier: number.collect(),
            name: vec![human(&student.name, student.initials_only)],
            birth_date: student.birth_date.map(|day| day.to_string()),
        };
        self.add(url(&student.id), Resource::Patient(patient));
        let owner = Organization { name: self.record.owner.clone() };
        self.add(self.owner(), Resource::Organization(owner));
        let mut done = BTreeSet::new();
        for person in &self.record.people {
            // Somebody who left and came back is one person with two places.
            if !done.insert(person.id.as_str()) {
                continue;
            }
            let name = vec![human(&person.name, false)];
            let made = if person.role.code == "parent" {
                let relation = if person.relation.is_empty() { person.role.words } else { &person.relation };
                Resource::RelatedPerson(RelatedPerson {
                    patient: self.subject(),
                    relationship: vec![Concept::words(relation)],
                    name,
                })
            } else {
                let words = if person.role.code == "vision_teacher" {
                    "Teacher of students with visual impairments"
                } else {
                    person.role.words
                };
                let qualification = vec![Qualification { code: Concept::words(words) }];
                Resource::Practitioner(Practitioner { name, qualification })
            };
            self.add(url(&person.id), made);
        }
    }

    fn into_bundle(self, kind: &'static str, at: &str) -> Bundle {
        let mut seen = BTreeSet::new();
        let mut entry = self.entries;
        // bdl-7: an address once. A device both lent twice and used is one device.
        entry.retain(|one| seen.insert(one.full_url.clone()));
        Bundle { identifier: None, r#type: kind, timestamp: at.to_owned(), entry }
    }
}

/// A name in one text, with the last part as family name; initials are text only.
fn human(name: &str, initials_only: bool) -> HumanName {
    let mut parts: Vec<String> = name.split_whitespace().map(str::to_owned).collect();
    let family = if initials_only || parts.len() < 2 { String::new() } else { parts.pop().unwrap_or_default() };
    let given = if initials_only { Vec::new() } else { parts };
    HumanName { text: name.to_owned(), family, given }
}

fn url(id: &str) -> String {
    format!("urn:uuid:{id}")
}

/// The address of a part: the record's id stirred with the part's name, so that
/// it is the same each time and, of 2^122, nobody else's.
fn derived(id: &str, part: &str) -> String {
    let mut mixed = uuid::Uuid::parse_str(id).map_or(0, |uuid| uuid.as_u128());
    for byte in part.bytes() {
        // FNV-1a over 128 bits; published offset and prime are public domain.
        mixed = (mixed ^ u128::from(byte)).wrapping_mul(0x0000_0000_0100_0000_0000_0000_0000_013B);
    }
    format!("urn:uuid:{}", uuid::Builder::from_custom_bytes(mixed.to_be_bytes()).into_uuid())
}
