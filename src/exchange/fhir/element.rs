//! The data types of FHIR R4 that are used here, and how an absent one is left out.
//!
//! **Source** HL7 FHIR R4 (4.0.1), data types. An element without a value is not
//! written at all: FHIR knows no null.

use serde::Serialize;

/// Whether a value is left out.
pub(super) trait Absent {
    fn absent(&self) -> bool;
}

impl Absent for String {
    fn absent(&self) -> bool {
        self.is_empty()
    }
}

impl<T> Absent for Option<T> {
    fn absent(&self) -> bool {
        self.is_none()
    }
}

impl<T> Absent for Vec<T> {
    fn absent(&self) -> bool {
        self.is_empty()
    }
}

macro_rules! always {
    ($($kind:ty),+) => {$(
        impl Absent for $kind {
            fn absent(&self) -> bool {
                false
            }
        }
    )+};
}
always!(&'static str, Concept, Reference, Period, Narrative, f64, bool);

/// Structs whose absent fields are not written, in the order of the fields.
macro_rules! elements {
    ($($(#[$doc:meta])* $name:ident { $($field:ident: $kind:ty),+ $(,)? })+) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Default, PartialEq, Serialize)]
        #[serde(rename_all = "camelCase")]
        pub struct $name {
            $(#[doc = concat!("`", stringify!($field), "`")]
            #[serde(skip_serializing_if = "crate::exchange::fhir::element::Absent::absent")]
            pub $field: $kind,)+
        }
    )+};
}
pub(super) use elements;

elements! {
    /// A code of a system.
    Coding { system: String, code: String, display: String }
    /// Codes with the words they stand for.
    Concept { coding: Vec<Coding>, text: String }
    /// An amount with its unit, as UCUM writes it.
    Quantity { value: Option<f64>, unit: String, system: String, code: String }
    /// A pointer to another resource of the bundle, or only a name.
    Reference { reference: String, display: String }
    /// A number by which others know the thing.
    Identifier { system: String, value: String }
    /// A name.
    HumanName { text: String, family: String, given: Vec<String> }
    /// From when to when.
    Period { start: Option<String>, end: Option<String> }
    /// Words beside the codes.
    Annotation { text: String }
    /// A part of an observation.
    Component { code: Concept, value_quantity: Option<Quantity>, value_string: Option<String>, value_codeable_concept: Option<Concept> }
    /// A part of a device's specification.
    Parameter { code: Concept, value_codeable_concept: Option<Concept>, value_quantity: Option<Quantity>, value_boolean: Option<bool> }
    /// What a device is like.
    Property { r#type: Concept, value_quantity: Vec<Quantity> }
    /// What a device is called.
    DeviceName { name: String, r#type: &'static str }
    /// What somebody is qualified for.
    Qualification { code: Concept }
    /// A prism of a lens.
    Prism { amount: Option<f64>, base: &'static str }
    /// A lens for one eye.
    Lens { product: Concept, eye: &'static str, sphere: Option<f64>, cylinder: Option<f64>, axis: Option<u16>, prism: Vec<Prism>, add: Option<f64>, note: Vec<Annotation> }
    /// An answer of a questionnaire.
    Answer { value_string: Option<String>, value_quantity: Option<Quantity>, value_coding: Option<Coding>, value_integer: Option<i64>, value_boolean: Option<bool> }
    /// A question with its answers.
    Item { link_id: &'static str, text: &'static str, answer: Vec<Answer> }
    /// What a goal measures.
    Target { measure: Concept, detail_quantity: Option<Quantity> }
    /// Who did something.
    Performer { actor: Reference }
    /// Who is named by a consent, and as what.
    Actor { role: Concept, reference: Reference }
    /// What a consent lets happen.
    Provision { r#type: &'static str, period: Option<Period>, actor: Vec<Actor>, action: Vec<Concept>, code: Vec<Concept> }
    /// XHTML for a person to read.
    Narrative { status: &'static str, div: String }
    /// A section of a document.
    Section { title: String, text: Option<Narrative>, entry: Vec<Reference> }
    /// Who vouches for a document.
    Attester { mode: &'static str, time: Option<String>, party: Option<Reference> }
    /// Who had a part in a document's making.
    Agent { r#type: Option<Concept>, who: Reference }
}

impl Concept {
    /// Words alone.
    pub fn words(text: &str) -> Self {
        Self { coding: Vec::new(), text: text.to_owned() }
    }

    /// A code with its words, which stand beside it as text, too.
    pub fn of(coding: Coding) -> Self {
        let text = coding.display.clone();
        Self { coding: vec![coding], text }
    }
}

impl Coding {
    /// A code of a system.
    pub fn of(system: &str, code: &str, display: &str) -> Self {
        Self { system: system.to_owned(), code: code.to_owned(), display: display.to_owned() }
    }
}

impl Reference {
    /// To another entry of the bundle.
    pub fn to(url: &str) -> Self {
        Self { reference: url.to_owned(), display: String::new() }
    }

    /// A name without a resource behind it.
    pub fn named(name: &str) -> Self {
        Self { reference: String::new(), display: name.to_owned() }
    }
}

impl Quantity {
    /// An amount in a UCUM unit, to four decimals: no instrument here gives more.
    pub fn of(value: f64, unit: &str, code: &str) -> Self {
        let value = (value * 10_000.0).round() / 10_000.0;
        Self {
            value: Some(value),
            unit: unit.to_owned(),
            system: "http://unitsofmeasure.org".to_owned(),
            code: code.to_owned(),
        }
    }
}

impl Annotation {
    /// A note, if there is one.
    pub fn of(text: &str) -> Vec<Self> {
        if text.trim().is_empty() { Vec::new() } else { vec![Self { text: text.to_owned() }] }
    }
}
