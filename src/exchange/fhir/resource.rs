//! The resources of FHIR R4 that a record becomes, each with the elements we fill.
//!
//! **Source** HL7 FHIR R4 (4.0.1). Which elements are required is held by
//! [`super::check`], not by these types: a check that looks at what is written
//! finds also what a type allowed.

use serde::Serialize;

use super::element::{
    Agent, Annotation, Attester, Component, Concept, DeviceName, HumanName, Identifier, Item, Lens, Parameter,
    Performer, Period, Property, Provision, Qualification, Quantity, Reference, Section, Target, elements,
};

elements! {
    /// The student.
    Patient { identifier: Vec<Identifier>, name: Vec<HumanName>, birth_date: Option<String> }
    /// A vision teacher, a classroom teacher or a clinician.
    Practitioner { name: Vec<HumanName>, qualification: Vec<Qualification> }
    /// A parent or guardian.
    RelatedPerson { patient: Reference, relationship: Vec<Concept>, name: Vec<HumanName> }
    /// The service that keeps the record.
    Organization { name: String }
    /// Something measured or counted.
    Observation {
        identifier: Vec<Identifier>, part_of: Vec<Reference>, status: &'static str, category: Vec<Concept>, code: Concept,
        subject: Reference, effective_date_time: Option<String>, performer: Vec<Reference>,
        value_quantity: Option<Quantity>, value_codeable_concept: Option<Concept>, data_absent_reason: Option<Concept>,
        note: Vec<Annotation>, body_site: Option<Concept>, method: Option<Concept>, device: Option<Reference>,
        has_member: Vec<Reference>, component: Vec<Component>,
    }
    /// A diagnosis in the clinician's words.
    Condition { code: Concept, subject: Reference, recorded_date: Option<String>, recorder: Option<Reference> }
    /// A clinician's decision on a summary.
    ClinicalImpression {
        status: &'static str, code: Concept, subject: Reference, effective_date_time: Option<String>,
        assessor: Option<Reference>, summary: String, note: Vec<Annotation>,
    }
    /// Lenses, and nothing but lenses.
    VisionPrescription {
        identifier: Vec<Identifier>, status: &'static str, created: String, patient: Reference, date_written: String,
        prescriber: Reference, lens_specification: Vec<Lens>,
    }
    /// A telescope or a magnifier, prescribed or recommended.
    DeviceRequest {
        identifier: Vec<Identifier>, prior_request: Vec<Reference>, status: &'static str, intent: &'static str,
        code_codeable_concept: Concept, parameter: Vec<Parameter>, subject: Reference, authored_on: String,
        requester: Option<Reference>, note: Vec<Annotation>,
    }
    /// A device lent or owned.
    Device {
        identifier: Vec<Identifier>, status: &'static str, device_name: Vec<DeviceName>, r#type: Concept,
        property: Vec<Property>, patient: Option<Reference>,
    }
    /// A loan.
    DeviceUseStatement {
        status: &'static str, subject: Reference, timing_period: Period, device: Reference, note: Vec<Annotation>,
    }
    /// A training session.
    Procedure {
        status: &'static str, status_reason: Option<Concept>, code: Concept, subject: Reference,
        performed_date_time: String, performer: Vec<Performer>, note: Vec<Annotation>, used_reference: Vec<Reference>,
    }
    /// What somebody wrote down in a form.
    QuestionnaireResponse {
        questionnaire: String, status: &'static str, subject: Reference, authored: String, author: Option<Reference>,
        item: Vec<Item>,
    }
    /// A reading goal.
    Goal { lifecycle_status: &'static str, description: Concept, subject: Reference, start_date: String, target: Vec<Target>, note: Vec<Annotation> }
    /// A consent.
    Consent {
        status: &'static str, scope: Concept, category: Vec<Concept>, patient: Reference, date_time: String,
        organization: Vec<Reference>, policy_rule: Concept, provision: Provision,
    }
    /// The head of a document.
    Composition {
        status: &'static str, r#type: Concept, subject: Reference, date: String, author: Vec<Reference>, title: String,
        confidentiality: &'static str, attester: Vec<Attester>, custodian: Option<Reference>, section: Vec<Section>,
    }
    /// Who made a document, and when.
    Provenance { target: Vec<Reference>, recorded: String, agent: Vec<Agent> }
    /// One resource with its address inside the bundle.
    Entry { full_url: String, resource: Option<Resource> }
    /// What is handed over.
    Bundle { identifier: Option<Identifier>, r#type: &'static str, timestamp: String, entry: Vec<Entry> }
}

/// Any of them, under its name.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "resourceType")]
#[expect(missing_docs, reason = "each is documented where it is made")]
pub enum Resource {
    Patient(Patient),
    Practitioner(Practitioner),
    RelatedPerson(RelatedPerson),
    Organization(Organization),
    Observation(Box<Observation>),
    Condition(Condition),
    ClinicalImpression(Box<ClinicalImpression>),
    VisionPrescription(Box<VisionPrescription>),
    DeviceRequest(Box<DeviceRequest>),
    Device(Box<Device>),
    DeviceUseStatement(Box<DeviceUseStatement>),
    Procedure(Box<Procedure>),
    QuestionnaireResponse(Box<QuestionnaireResponse>),
    Goal(Box<Goal>),
    Consent(Box<Consent>),
    Composition(Box<Composition>),
    Provenance(Provenance),
    Bundle(Bundle),
}

impl super::element::Absent for Provision {
    fn absent(&self) -> bool {
        false
    }
}
