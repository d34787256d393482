//! Which code says it: LOINC where one is confirmed, our own code otherwise.
//!
//! Our own codes live under the address of the installation, never under one of
//! ours. SNOMED CT needs a licence in most countries, so its codes are written
//! only where the site says it has one. Text stands beside every code.
//! **Source** `practice.md` 6.3, read in public FHIR code.

use super::element::{Coding, Concept};
use crate::care::track::DeviceKind;
use crate::exchange::record::{Acuity, Coded};

const LOINC: &str = "http://loinc.org";
const SNOMED: &str = "http://snomed.info/sct";
const CATEGORY: &str = "http://terminology.hl7.org/CodeSystem/observation-category";

/// Under which address our own codes live, and whether SNOMED may be written.
#[derive(Debug, Clone)]
pub struct Terms {
    /// The address of the installation, without a slash at its end.
    pub base: String,
    /// Whether the site holds a licence for SNOMED CT.
    pub snomed: bool,
}

impl Terms {
    /// A system of identifiers of this installation.
    pub(super) fn ids(&self, of: &str) -> String {
        format!("{}/fhir/ids/{of}", self.base)
    }

    /// A code of our own.
    pub(super) fn own(&self, list: &str, code: &str, display: &str) -> Coding {
        Coding::of(&format!("{}/fhir/CodeSystem/{list}", self.base), &code.replace('_', "-"), display)
    }

    /// A member of one of our lists.
    pub(super) fn coded(&self, list: &str, coded: Coded) -> Concept {
        Concept::of(self.own(list, coded.code, coded.words))
    }

    /// The form that entries of people answer.
    pub(super) fn questionnaire(&self) -> String {
        format!("{}/fhir/Questionnaire/observation|1", self.base)
    }

    fn snomed(&self, code: &str, display: &str) -> Option<Coding> {
        self.snomed.then(|| Coding::of(SNOMED, code, display))
    }

    /// What an acuity row measures.
    pub(super) fn acuity(&self, row: &Acuity) -> Concept {
        let right = row.eye.code == "right";
        let both = row.eye.code == "both";
        let loinc = match (row.correction.code, right, both) {
            (_, _, true) => None,
            ("best_correction", true, _) => Some(("65893-0", "Visual acuity best corrected Right eye")),
            ("best_correction", false, _) => Some(("65897-1", "Visual acuity best corrected Left eye")),
            ("none", true, _) => Some(("98499-7", "Visual acuity uncorrected Right eye")),
            ("none", false, _) => Some(("98498-9", "Visual acuity uncorrected Left eye")),
            _ => None,
        };
        let place = if row.near { "near" } else { "distance" };
        let text = format!(
            "{} visual acuity, {}, {}",
            if row.near { "Near" } else { "Distance" },
            row.eye.words,
            row.correction.words
        );
        let own = self.own("visual-acuity", &format!("{place}-{}-{}", row.correction.code, row.eye.code), &text);
        let snomed = match (row.near, both) {
            (true, _) => self.snomed("251743004", "Near visual acuity"),
            (false, true) => self.snomed("251742009", "Distance visual acuity - binocular"),
            (false, false) => self.snomed("251739003", "Distance visual acuity"),
        };
        let loinc = loinc.map(|(code, display)| Coding::of(LOINC, code, display));
        Concept { coding: loinc.into_iter().chain(snomed).chain([own]).collect(), text }
    }

    /// The panel around the acuities of one examination.
    pub(super) fn panel() -> Concept {
        Concept {
            coding: vec![Coding::of(LOINC, "98497-1", "Visual acuity panel")],
            text: "Visual acuity, all rows of one examination".to_owned(),
        }
    }

    /// The eye; none for both, which is no site.
    pub(super) fn eye(&self, eye: &str) -> Option<Concept> {
        let (snomed, display) = match eye {
            "right" => ("362502000", "Entire right eye"),
            "left" => ("362503005", "Entire left eye"),
            _ => return None,
        };
        let words = if eye == "right" { "Right eye" } else { "Left eye" };
        let coding = self.snomed(snomed, display).into_iter().chain([self.own("eye", eye, words)]).collect();
        Some(Concept { coding, text: words.to_owned() })
    }

    /// What an eye does that reads no row of a chart.
    pub(super) fn category(&self, sight: Coded) -> Concept {
        let snomed = (sight.code == "counts_fingers").then(|| self.snomed("422256009", "Counting fingers")).flatten();
        let own = self.own("sight-category", sight.code, sight.words);
        Concept { coding: snomed.into_iter().chain([own]).collect(), text: sight.words.to_owned() }
    }

    /// A kind of device. No confirmed code names a telescope, so it is our own.
    pub(super) fn device(&self, kind: DeviceKind, line: &str) -> Concept {
        Concept {
            coding: vec![self.own("low-vision-device", kind.code(), kind.words())],
            text: if line.is_empty() { kind.words().to_owned() } else { line.to_owned() },
        }
    }

    /// That it was measured in an examination.
    pub(super) fn exam() -> Vec<Concept> {
        vec![Concept { coding: vec![Coding::of(CATEGORY, "exam", "Exam")], text: "Exam".to_owned() }]
    }

    /// That it was counted in training.
    pub(super) fn therapy() -> Vec<Concept> {
        vec![Concept { coding: vec![Coding::of(CATEGORY, "therapy", "Therapy")], text: "Device training".to_owned() }]
    }
}
