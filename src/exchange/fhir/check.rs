//! Is what is about to leave a sound FHIR R4 bundle of ours?
//!
//! The validators to be had miss most of what matters to a lens or a document
//! (measured: of thirteen broken resources they catch eight, five, four and
//! three), so the rules stand here, and are asked of what was written, not of
//! what was meant. **Source** HL7 FHIR R4 (4.0.1): required elements and
//! bindings, bdl-7, bdl-9, bdl-10, bdl-11, ppc-1; the rules on lenses are the
//! trade's (common practice, `practice.md` 6.5).
//!
//! Does not replace a schema: those run in the tests, from the registries.

use std::collections::BTreeMap;

use serde_json::Value;

/// What is wrong, and where; never what the record says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The place, as a path from the bundle.
    pub at: String,
    /// The rule that is broken, in words.
    pub rule: &'static str,
}

/// What must be there of each kind: paths of its elements.
const REQUIRED: [(&str, &[&str]); 17] = [
    ("Patient", &[]),
    ("Practitioner", &[]),
    ("RelatedPerson", &["patient"]),
    ("Organization", &["name"]),
    ("Observation", &["status", "code", "subject"]),
    ("Condition", &["subject"]),
    ("ClinicalImpression", &["status", "subject"]),
    ("VisionPrescription", &["status", "created", "patient", "dateWritten", "prescriber", "lensSpecification"]),
    ("DeviceRequest", &["intent", "subject", "status", "authoredOn"]),
    ("Device", &[]),
    ("DeviceUseStatement", &["status", "subject", "device"]),
    ("Procedure", &["status", "subject"]),
    ("QuestionnaireResponse", &["status", "questionnaire"]),
    ("Goal", &["lifecycleStatus", "description", "subject"]),
    ("Consent", &["status", "scope", "category", "policyRule"]),
    ("Composition", &["status", "type", "date", "author", "title"]),
    ("Provenance", &["target", "recorded", "agent"]),
];

/// The codes that R4 binds an element to.
const BOUND: [(&str, &str, &[&str]); 12] = [
    (
        "Observation",
        "status",
        &["registered", "preliminary", "final", "amended", "corrected", "cancelled", "entered-in-error", "unknown"],
    ),
    ("ClinicalImpression", "status", &["in-progress", "completed", "entered-in-error"]),
    ("VisionPrescription", "status", &["active", "cancelled", "draft", "entered-in-error"]),
    ("DeviceRequest", "status", &["draft", "active", "on-hold", "revoked", "completed", "entered-in-error", "unknown"]),
    (
        "DeviceRequest",
        "intent",
        &[
            "proposal",
            "plan",
            "directive",
            "order",
            "original-order",
            "reflex-order",
            "filler-order",
            "instance-order",
            "option",
        ],
    ),
    ("Device", "status", &["active", "inactive", "entered-in-error", "unknown"]),
    ("DeviceUseStatement", "status", &["active", "completed", "entered-in-error", "intended", "stopped", "on-hold"]),
    (
        "Procedure",
        "status",
        &["preparation", "in-progress", "not-done", "on-hold", "stopped", "completed", "entered-in-error", "unknown"],
    ),
    ("QuestionnaireResponse", "status", &["in-progress", "completed", "amended", "entered-in-error", "stopped"]),
    (
        "Goal",
        "lifecycleStatus",
        &[
            "proposed",
            "planned",
            "accepted",
            "active",
            "on-hold",
            "completed",
            "cancelled",
            "entered-in-error",
            "rejected",
        ],
    ),
    ("Consent", "status", &["draft", "proposed", "active", "rejected", "inactive", "entered-in-error"]),
    ("Composition", "status", &["preliminary", "final", "amended", "entered-in-error"]),
];

/// What a reference may point at.
const TARGETS: [(&str, &[&str]); 12] = [
    ("subject", &["Patient"]),
    ("patient", &["Patient"]),
    ("prescriber", &["Practitioner", "PractitionerRole"]),
    ("device", &["Device"]),
    ("usedReference", &["Device"]),
    ("hasMember", &["Observation"]),
    ("partOf", &["Procedure"]),
    ("priorRequest", &["DeviceRequest"]),
    ("custodian", &["Organization"]),
    ("assessor", &["Practitioner", "PractitionerRole"]),
    ("author", &["Practitioner", "PractitionerRole", "RelatedPerson", "Patient", "Organization"]),
    ("requester", &["Practitioner", "PractitionerRole", "Organization"]),
];

/// Everything that is wrong with a bundle; empty, nothing is.
#[must_use]
pub fn faults(bundle: &Value) -> Vec<Fault> {
    let mut found = Found(Vec::new());
    found.bundle(bundle);
    found.0
}

struct Found(Vec<Fault>);

impl Found {
    fn say(&mut self, at: &str, rule: &'static str) {
        self.0.push(Fault { at: at.to_owned(), rule });
    }

    fn unless(&mut self, holds: bool, at: &str, rule: &'static str) {
        if !holds {
            self.say(at, rule);
        }
    }

    fn bundle(&mut self, bundle: &Value) {
        self.unless(text(bundle, "resourceType") == Some("Bundle"), "Bundle", "a bundle says that it is one");
        let kind = text(bundle, "type");
        self.unless(
            matches!(kind, Some("collection" | "document")),
            "Bundle.type",
            "a bundle of ours is a collection or a document",
        );
        let entries = list(bundle, "entry");
        if kind == Some("document") {
            let identifier = bundle.get("identifier");
            let whole = identifier.is_some_and(|one| filled(one, "system") && filled(one, "value"));
            self.unless(whole, "Bundle.identifier", "bdl-9: a document has an identifier with system and value");
            let first = entries.first().and_then(|one| one.get("resource")).and_then(|one| text(one, "resourceType"));
            self.unless(
                first == Some("Composition"),
                "Bundle.entry[0]",
                "bdl-11: a document begins with its composition",
            );
        }
        self.unless(filled(bundle, "timestamp"), "Bundle.timestamp", "bdl-10: a bundle of ours has a time");
        let mut addresses: BTreeMap<&str, &str> = BTreeMap::new();
        for (place, entry) in entries.iter().enumerate() {
            let at = format!("Bundle.entry[{place}]");
            let address = text(entry, "fullUrl").unwrap_or_default();
            let Some(resource) = entry.get("resource") else {
                self.say(&at, "an entry has a resource");
                continue;
            };
            self.unless(address.starts_with("urn:uuid:"), &format!("{at}.fullUrl"), "an address is a urn:uuid");
            let kind = text(resource, "resourceType").unwrap_or_default();
            let fresh = addresses.insert(address, kind).is_none();
            self.unless(fresh, &format!("{at}.fullUrl"), "bdl-7: an address stands once");
        }
        for (place, entry) in entries.iter().enumerate() {
            if let Some(resource) = entry.get("resource") {
                let at = format!("Bundle.entry[{place}].{}", text(resource, "resourceType").unwrap_or("resource"));
                self.resource(&at, resource);
                self.references(&at, "", resource, &addresses);
                self.shape(&at, resource);
            }
        }
    }

    fn resource(&mut self, at: &str, resource: &Value) {
        let kind = text(resource, "resourceType").unwrap_or_default();
        let Some((_, required)) = REQUIRED.iter().find(|(name, _)| *name == kind) else {
            self.say(at, "a kind of resource that we write");
            return;
        };
        for element in *required {
            let there = resource.get(*element).is_some_and(|value| !empty(value));
            self.unless(there, &format!("{at}.{element}"), "a required element is there");
        }
        for (_, element, codes) in BOUND.iter().filter(|(name, ..)| *name == kind) {
            let code = resource.get(*element).and_then(Value::as_str);
            let known = code.is_none_or(|code| codes.contains(&code));
            self.unless(known, &format!("{at}.{element}"), "a code is of the set it is bound to");
        }
        match kind {
            "VisionPrescription" => {
                for (place, lens) in list(resource, "lensSpecification").iter().enumerate() {
                    self.lens(&format!("{at}.lensSpecification[{place}]"), lens);
                }
            }
            "DeviceRequest" => {
                let coded = ["codeCodeableConcept", "codeReference"]
                    .iter()
                    .any(|name| resource.get(*name).is_some_and(|value| !empty(value)));
                self.unless(coded, &format!("{at}.code[x]"), "a request says for which device");
            }
            "Observation" => {
                let value = resource.get("valueQuantity").is_some() || resource.get("valueCodeableConcept").is_some();
                let absent = resource.get("dataAbsentReason").is_some();
                self.unless(!(value && absent), at, "obs-6: a value, or why there is none");
            }
            _ => {}
        }
    }

    fn lens(&mut self, at: &str, lens: &Value) {
        self.unless(
            lens.get("product").is_some_and(|value| !empty(value)),
            &format!("{at}.product"),
            "a lens has a product",
        );
        let eye = text(lens, "eye");
        self.unless(
            matches!(eye, Some("right" | "left")),
            &format!("{at}.eye"),
            "a lens is for the right eye or the left",
        );
        for element in ["sphere", "cylinder", "add", "power", "backCurve", "diameter"] {
            let number = lens.get(element).is_none_or(Value::is_number);
            self.unless(number, &format!("{at}.{element}"), "a figure is a number");
        }
        self.unless(
            lens.get("sphere").is_some(),
            &format!("{at}.sphere"),
            "a lens has a sphere; plano is sent as zero",
        );
        if let Some(axis) = lens.get("axis") {
            let whole = axis.as_i64().is_some_and(|axis| (1..=180).contains(&axis));
            self.unless(whole, &format!("{at}.axis"), "an axis is a whole number from 1 to 180");
        }
        let paired = lens.get("cylinder").is_some() == lens.get("axis").is_some();
        self.unless(paired, &format!("{at}.cylinder"), "a cylinder has an axis, and an axis a cylinder");
        let positive = lens.get("add").is_none_or(|add| add.as_f64().is_some_and(|add| add > 0.0));
        self.unless(positive, &format!("{at}.add"), "an addition is positive");
        for prism in list(lens, "prism") {
            let base = matches!(text(prism, "base"), Some("up" | "down" | "in" | "out"));
            let amount = prism.get("amount").is_some_and(Value::is_number);
            self.unless(base && amount, &format!("{at}.prism"), "a prism has an amount and a base");
        }
    }

    /// Every reference inside a resource ends in the bundle, at a kind it may point at.
    fn references(&mut self, at: &str, element: &str, value: &Value, addresses: &BTreeMap<&str, &str>) {
        match value {
            Value::Array(all) => {
                for one in all {
                    self.references(at, element, one, addresses);
                }
            }
            Value::Object(fields) => {
                if let Some(target) = fields.get("reference").and_then(Value::as_str) {
                    let kind = addresses.get(target);
                    self.unless(kind.is_some(), &format!("{at}.{element}"), "a reference ends inside the bundle");
                    let allowed = TARGETS.iter().find(|(name, _)| *name == element);
                    if let (Some(kind), Some((_, allowed))) = (kind, allowed) {
                        self.unless(
                            allowed.contains(kind),
                            &format!("{at}.{element}"),
                            "a reference points at a kind it may point at",
                        );
                    }
                }
                for (name, inner) in fields {
                    self.references(at, name, inner, addresses);
                }
            }
            _ => {}
        }
    }

    /// FHIR knows no null, no empty text and no empty list.
    fn shape(&mut self, at: &str, value: &Value) {
        match value {
            Value::Array(all) => all.iter().for_each(|one| self.shape(at, one)),
            Value::Object(fields) => {
                for (name, inner) in fields {
                    let at = format!("{at}.{name}");
                    self.unless(!empty(inner), &at, "what is not known is left out");
                    if matches!(inner, Value::Array(_) | Value::Object(_)) {
                        self.shape(&at, inner);
                    }
                }
            }
            _ => {}
        }
    }
}

fn text<'a>(value: &'a Value, name: &str) -> Option<&'a str> {
    value.get(name).and_then(Value::as_str)
}

fn filled(value: &Value, name: &str) -> bool {
    text(value, name).is_some_and(|text| !text.is_empty())
}

fn list<'a>(value: &'a Value, name: &str) -> &'a [Value] {
    value.get(name).and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

fn empty(value: &Value) -> bool {
    match value {
        Value::Null => true,
        Value::String(text) => text.is_empty(),
        Value::Array(all) => all.is_empty(),
        Value::Object(fields) => fields.is_empty(),
        Value::Bool(_) | Value::Number(_) => false,
    }
}
