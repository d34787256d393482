//! A summary as a document: a bundle that says when it was made, by whom, and
//! what it is about, with the words for a person to read.
//!
//! **Source** FHIR R4, bundles: bdl-9 an identifier with system and value,
//! bdl-10 a time, bdl-11 the composition first.

use super::element::{Agent, Attester, Concept, Identifier, Narrative, Reference, Section};
use super::resource::{Bundle, Composition, Provenance, Resource};
use super::terms::Terms;
use super::{Builder, device, entries};
use crate::exchange::record::{Record, Summary};

/// The document of a summary that was sent.
#[must_use]
pub fn document(record: &Record, summary: &Summary, terms: &Terms) -> Bundle {
    let mut to = Builder::new(record, terms);
    let head = to.derived(&summary.id, "composition");
    to.people();
    let mut device_refs = Vec::new();
    let mut session_refs = Vec::new();
    let counted = record.sessions.iter().filter(|session| {
        session.track == summary.track && session.on >= summary.from && session.on <= summary.to && !session.in_error
    });
    for session in counted {
        entries::session(&mut to, session);
        session_refs.push(Reference::to(&to.url(&session.id)));
        if let Some(used) = session.device_id.as_deref().and_then(|id| record.device(id)) {
            let reference = Reference::to(&to.url(&used.id));
            if !device_refs.contains(&reference) {
                device::thing(&mut to, used);
                device_refs.push(reference);
            }
        }
    }
    let mut section: Vec<Section> = summary
        .parts
        .iter()
        .filter(|(_, words)| !words.trim().is_empty())
        .map(|(title, words)| Section { title: title.clone(), text: Some(narrative(words)), entry: Vec::new() })
        .collect();
    let lists = [("Devices used", device_refs), ("Training sessions", session_refs)];
    for (title, entry) in lists {
        if !entry.is_empty() {
            section.push(Section { title: title.to_owned(), text: None, entry });
        }
    }
    let author = to.person(&summary.author_id);
    let at = summary.sent_at.to_string();
    let composition = Composition {
        status: if summary.in_error { "entered-in-error" } else { "final" },
        r#type: Concept::of(terms.own("document-kind", "training-summary", "Device training summary")),
        subject: to.subject(),
        date: at.clone(),
        author: vec![author.clone().unwrap_or_else(|| Reference::to(&to.owner()))],
        title: format!("Device training summary, {} track, {} to {}", summary.track.words(), summary.from, summary.to),
        confidentiality: "R",
        attester: vec![Attester { mode: "professional", time: Some(at.clone()), party: author.clone() }],
        custodian: Some(Reference::to(&to.owner())),
        section,
    };
    let made = Provenance {
        target: vec![Reference::to(&head)],
        recorded: at.clone(),
        agent: vec![Agent {
            r#type: Some(Concept::words("who signed and sent it")),
            who: author.unwrap_or_else(|| Reference::to(&to.owner())),
        }],
    };
    to.add(to.derived(&summary.id, "provenance"), Resource::Provenance(made));
    let identifier = Identifier { system: terms.ids("document"), value: summary.id.clone() };
    let mut bundle = to.into_bundle("document", &at);
    bundle.identifier = Some(identifier);
    bundle.entry.insert(
        0,
        super::resource::Entry { full_url: head, resource: Some(Resource::Composition(Box::new(composition))) },
    );
    bundle
}

/// Words as XHTML: nothing of what somebody typed is markup.
fn narrative(words: &str) -> Narrative {
    let mut div = String::from("<div xmlns=\"http://www.w3.org/1999/xhtml\">");
    for line in words.lines().filter(|line| !line.trim().is_empty()) {
        div.push_str("<p>");
        for letter in line.trim().chars() {
            match letter {
                '&' => div.push_str("&amp;"),
                '<' => div.push_str("&lt;"),
                '>' => div.push_str("&gt;"),
                letter => div.push(letter),
            }
        }
        div.push_str("</p>");
    }
    div.push_str("</div>");
    Narrative { status: "additional", div }
}
