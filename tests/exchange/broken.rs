//! What a bundle must not be: each of thirteen breaks is found by our own check,
//! by the rule that it breaks. The validators that others wrote are asked about
//! the same files by `tests/formats`.

use farpoint::exchange::feed::{self, Entry, What};
use farpoint::exchange::fhir::{self, Terms, check};
use farpoint::exchange::table::Reader;
use farpoint::exchange::tables;
use jiff::civil::date;
use serde_json::{Value, json};

use super::sample;

/// The name of a break, the rule it breaks, and how it is made.
pub(crate) type Break = (&'static str, &'static str, fn() -> Value);

pub(crate) fn terms(snomed: bool) -> Terms {
    Terms { base: "https://farpoint.example".to_owned(), snomed }
}

pub(crate) fn collection(snomed: bool) -> Value {
    let at = "2026-11-26T12:00:00Z".parse().expect("an instant");
    let bundle = fhir::collection(&sample::record(1), &terms(snomed), at);
    serde_json::from_slice(&fhir::text(&bundle).expect("memory")).expect("JSON")
}

pub(crate) fn document() -> Value {
    let record = sample::record(1);
    let bundle = fhir::document(&record, &record.summaries[0], &terms(false));
    serde_json::from_slice(&fhir::text(&bundle).expect("memory")).expect("JSON")
}

/// The collection with the first resource of a kind changed.
fn with(kind: &str, change: impl FnOnce(&mut Value)) -> Value {
    let mut bundle = collection(false);
    let entries = bundle["entry"].as_array_mut().expect("entries");
    let found = entries.iter_mut().find(|entry| entry["resource"]["resourceType"] == kind);
    change(&mut found.unwrap_or_else(|| panic!("no {kind}"))["resource"]);
    bundle
}

fn without(kind: &str, element: &str) -> Value {
    with(kind, |resource| {
        resource.as_object_mut().expect("an object").remove(element).expect("it was there");
    })
}

fn lens(change: impl FnOnce(&mut Value)) -> Value {
    with("VisionPrescription", |resource| change(&mut resource["lensSpecification"][0]))
}

pub(crate) const BREAKS: [Break; 13] = [
    ("no-created", "a required element is there", || without("VisionPrescription", "created")),
    ("no-prescriber", "a required element is there", || without("VisionPrescription", "prescriber")),
    ("no-lens", "a required element is there", || {
        with("VisionPrescription", |resource| resource["lensSpecification"] = json!([]))
    }),
    ("eye-both", "a lens is for the right eye or the left", || lens(|lens| lens["eye"] = json!("both"))),
    ("axis-200", "an axis is a whole number from 1 to 180", || lens(|lens| lens["axis"] = json!(200))),
    ("axis-90.5", "an axis is a whole number from 1 to 180", || lens(|lens| lens["axis"] = json!(90.5))),
    ("cylinder-alone", "a cylinder has an axis, and an axis a cylinder", || {
        lens(|lens| {
            lens.as_object_mut().expect("an object").remove("axis").expect("it was there");
        })
    }),
    ("sphere-text", "a figure is a number", || lens(|lens| lens["sphere"] = json!("2.25"))),
    ("status-unknown", "a code is of the set it is bound to", || {
        with("VisionPrescription", |resource| resource["status"] = json!("on-hold"))
    }),
    ("no-intent", "a required element is there", || without("DeviceRequest", "intent")),
    ("no-code", "a request says for which device", || without("DeviceRequest", "codeCodeableConcept")),
    ("bdl-9", "bdl-9: a document has an identifier with system and value", || {
        let mut bundle = document();
        bundle.as_object_mut().expect("an object").remove("identifier").expect("it was there");
        bundle
    }),
    ("bdl-11", "bdl-11: a document begins with its composition", || {
        let mut bundle = document();
        bundle["entry"].as_array_mut().expect("entries").swap(0, 1);
        bundle
    }),
];

#[test]
fn whole_bundles_break_no_rule() {
    for bundle in [collection(false), collection(true), document()] {
        assert_eq!(check::faults(&bundle), []);
    }
}

#[test]
fn every_break_is_found_by_its_rule() {
    for (name, rule, broken) in BREAKS {
        let faults = check::faults(&broken());
        assert!(faults.iter().any(|fault| fault.rule == rule), "{name}: {faults:?}");
    }
}

#[test]
fn what_else_is_wrong_is_found_too() {
    let fault = |bundle: &Value, rule: &str| {
        let faults = check::faults(bundle);
        assert!(faults.iter().any(|fault| fault.rule == rule), "{rule}: {faults:?}");
    };
    let mut timeless = document();
    timeless.as_object_mut().expect("an object").remove("timestamp");
    fault(&timeless, "bdl-10: a bundle of ours has a time");
    let mut twice = collection(false);
    twice["entry"][1]["fullUrl"] = twice["entry"][0]["fullUrl"].clone();
    fault(&twice, "bdl-7: an address stands once");
    let away = with("DeviceRequest", |resource| resource["subject"]["reference"] = json!("Patient/1"));
    fault(&away, "a reference ends inside the bundle");
    let mut other = collection(false);
    let organization = other["entry"][1]["fullUrl"].clone();
    let entries = other["entry"].as_array_mut().expect("entries");
    let request = entries.iter_mut().find(|one| one["resource"]["resourceType"] == "DeviceRequest").expect("a request");
    request["resource"]["subject"]["reference"] = organization;
    fault(&other, "a reference points at a kind it may point at");
    fault(&lens(|lens| lens["axis"] = json!(0)), "an axis is a whole number from 1 to 180");
    fault(&lens(|lens| lens["add"] = json!(-2.0)), "an addition is positive");
    fault(&lens(|lens| lens["prism"] = json!([{ "amount": 1.0 }])), "a prism has an amount and a base");
    fault(&with("Patient", |resource| resource["birthDate"] = Value::Null), "what is not known is left out");
}

#[test]
fn the_right_eye_is_the_right_eye() {
    let bundle = collection(true);
    let entries = bundle["entry"].as_array().expect("entries");
    let sites: Vec<(String, String)> = entries
        .iter()
        .filter_map(|entry| {
            let resource = &entry["resource"];
            let eye = resource["bodySite"]["text"].as_str()?;
            Some((eye.to_owned(), resource["bodySite"]["coding"][0]["code"].as_str()?.to_owned()))
        })
        .collect();
    assert!(sites.contains(&("Right eye".to_owned(), "362502000".to_owned())), "{sites:?}");
    assert!(sites.contains(&("Left eye".to_owned(), "362503005".to_owned())), "{sites:?}");
    assert!(sites.iter().all(|(eye, code)| (eye == "Right eye") == (code == "362502000")), "{sites:?}");
    assert!(!collection(false).to_string().contains("snomed.info"), "no SNOMED without a licence");
}

#[test]
fn no_device_is_written_as_a_lens_and_a_category_has_no_figure() {
    let bundle = collection(false);
    let entries = bundle["entry"].as_array().expect("entries");
    let of = |kind: &str| entries.iter().map(|one| &one["resource"]).filter(|one| one["resourceType"] == kind).count();
    assert_eq!((of("VisionPrescription"), of("DeviceRequest")), (1, 3), "two prescribed, one recommended");
    let fingers = entries
        .iter()
        .map(|one| &one["resource"])
        .find(|one| one["component"][0]["valueString"] == "CF @ 1 m")
        .expect("the row");
    assert!(fingers.get("valueQuantity").is_none() && fingers["valueCodeableConcept"]["text"] == "counts fingers");
    let measured = entries
        .iter()
        .map(|one| &one["resource"])
        .find(|one| one["component"][0]["valueString"] == "10/80")
        .expect("the row");
    assert_eq!(measured["valueQuantity"]["code"], "{logMAR}");
    assert_eq!(measured["component"][1]["valueQuantity"]["value"], 3.048);
    assert_eq!(measured["effectiveDateTime"], "2021-09-06", "the examination, not the entry");
}

#[test]
fn the_same_record_gives_the_same_bytes() {
    assert_eq!(collection(false).to_string(), collection(false).to_string());
}

/// The files that `tests/formats` puts to the validators: two that hold, and the
/// thirteen that do not.
#[test]
fn the_files_for_the_validators_are_written() {
    let scratch = tempfile::tempdir().expect("a folder");
    let folder = std::env::var_os("FORMATS_OUT").map_or_else(|| scratch.path().to_owned(), std::path::PathBuf::from);
    let write = |name: &str, bundle: &Value| {
        std::fs::write(folder.join(format!("{name}.json")), bundle.to_string()).expect("room for a file");
    };
    write("whole-collection", &collection(false));
    write("whole-snomed", &collection(true));
    write("whole-document", &document());
    for (name, _, broken) in BREAKS {
        write(&format!("broken-{name}"), &broken());
    }
    let dates = [("loan", 1, What::Due), ("request", 2, What::Appointment)].map(|(key, day, what)| Entry {
        on: date(2026, 12, day),
        what,
        key: key.to_owned(),
    });
    let at = "2026-11-26T12:00:00Z".parse().expect("an instant");
    std::fs::write(folder.join("dates.ics"), feed::text(&dates, at, "https://farpoint.example")).expect("room");
    for table in tables::all(&sample::record(1)) {
        let path = folder.join(format!("{}.csv", table.name));
        std::fs::write(path, table.csv(Reader::Spreadsheet).expect("memory")).expect("room for a file");
    }
    let written = std::fs::read_dir(&folder).expect("the folder").count();
    assert!(written >= 31, "{written} files");
}
