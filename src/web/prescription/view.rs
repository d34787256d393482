//! A prescription as a document: lenses with their other form and spherical
//! equivalent, devices with purpose and limits, advice, dates and the line of
//! who signed it.

use askama::Template;
use askama::filters::HtmlSafe;

use crate::care::caution::{Caution, Occasion, cautions as cautions_for};
use crate::care::evaluation::Refraction;
use crate::care::named_device::NamedDevice;
use crate::care::prescription::{Contents, Prescription};
use crate::web::evaluation::refraction::{lens_words, signed};
use crate::web::evaluation::view::lens_asked;
use crate::web::page::Context;
use crate::web::visit::Visit;
use crate::web::{device_fields, part, words};

/// The document, ready to be printed into a page.
#[derive(Template)]
#[template(path = "prescription/document.html")]
pub(super) struct DocumentView {
    pub(super) title: String,
    facts: Vec<(String, String)>,
    lenses: Option<part::Table>,
    lens_note: String,
    how: Option<part::How>,
    devices: Vec<(String, Vec<(String, String)>)>,
    limits: String,
    lighting: String,
    seating: String,
    no_summary_reason: String,
    signature: String,
    cautions: part::Cautions,
}

impl HtmlSafe for DocumentView {}

/// The cautions of all devices named, each once.
pub(in crate::web) fn cautions_of<'a>(devices: impl Iterator<Item = &'a NamedDevice>) -> part::Cautions {
    let mut list: Vec<Caution> = Vec::new();
    for device in devices {
        for caution in cautions_for(device.spec.kind, Occasion::Screen) {
            if !list.contains(&caution) {
                list.push(caution);
            }
        }
    }
    let texts: Vec<&str> = list.iter().map(|caution| caution.words()).collect();
    part::cautions(&texts)
}

/// The eyes that get a lens.
pub(super) fn eyes(contents: &Contents) -> Vec<(&'static str, &Refraction)> {
    [("Right eye", contents.right.as_ref()), ("Left eye", contents.left.as_ref())]
        .into_iter()
        .filter_map(|(eye, lens)| lens.map(|lens| (eye, lens)))
        .collect()
}

/// A lens in both forms and its spherical equivalent.
pub(super) fn both_forms(found: &Refraction) -> String {
    let Other { transposed, equivalent } = Other::of(found);
    format!("As saved: {} D. Transposed: {transposed}. Spherical equivalent: {equivalent} D.", lens_words(found.lens))
}

/// What a lens is in other words.
struct Other {
    transposed: String,
    equivalent: String,
}

impl Other {
    fn of(found: &Refraction) -> Self {
        let lens = found.lens;
        let cylinder = lens.cylinder.get().abs() >= f64::MIN_POSITIVE;
        Self {
            transposed: if cylinder { lens_words(lens.transposed()) } else { "no cylinder".to_owned() },
            equivalent: lens.spherical_equivalent().map_or_else(|_| "none".to_owned(), |power| signed(power.get())),
        }
    }
}

/// Prepares a prescription for a reader.
pub(super) fn document(one: &Prescription, visit: &Visit, context: &Context) -> DocumentView {
    let contents = &one.contents;
    let mut facts = vec![
        ("For".to_owned(), visit.name().to_owned()),
        ("Number".to_owned(), one.number.clone()),
        ("State".to_owned(), words::capital(one.state.words())),
    ];
    facts.extend(one.written_on.map(|day| ("Written on".to_owned(), words::date(day))));
    facts.extend(contents.review_on.map(|day| ("Review on".to_owned(), words::date(day))));
    facts.extend(contents.expires_on.map(|day| ("Runs out on".to_owned(), words::date(day))));
    let eyes = eyes(contents);
    DocumentView {
        title: format!("Prescription {}", one.number),
        facts,
        lenses: (!eyes.is_empty()).then(|| lenses(&eyes)),
        lens_note: contents.lens_note.clone(),
        how: (!eyes.is_empty()).then(|| how(&eyes)),
        devices: contents
            .named()
            .map(|(track, device)| {
                let title = format!("{} track: {}", words::capital(track.words()), device_fields::name(&device.spec));
                (title, device_fields::facts(device, context))
            })
            .collect(),
        limits: contents.limits.clone(),
        lighting: contents.lighting.clone(),
        seating: contents.seating.clone(),
        no_summary_reason: contents.no_summary_reason.clone(),
        signature: one.prescriber_line.clone(),
        cautions: cautions_of(contents.devices.values().flatten()),
    }
}

/// Everything it says, line by line, so that two versions can be compared.
pub(super) fn lines(one: &Prescription, context: &Context) -> Vec<(String, String)> {
    let contents = &one.contents;
    let day = |day: Option<jiff::civil::Date>| day.map(words::date).unwrap_or_default();
    let mut lines = Vec::new();
    for (eye, found) in eyes(contents) {
        lines.push((eye.to_owned(), lens_words(found.lens)));
        lines.extend(found.add.map(|add| (format!("Near addition, {}", eye.to_lowercase()), signed(add.get()))));
        lines.extend(found.prism.map(|(amount, base)| {
            (format!("Prism, {}", eye.to_lowercase()), format!("{amount} prism D {}", base.words()))
        }));
    }
    for (track, device) in contents.named() {
        let of = |label: &str| format!("{label}, {} track", track.words());
        lines.push((of("Device"), words::capital(&device_fields::name(&device.spec))));
        lines.extend(device_fields::facts(device, context).into_iter().map(|(label, value)| (of(&label), value)));
    }
    for (label, value) in [
        ("About the lenses", contents.lens_note.clone()),
        ("Limits", contents.limits.clone()),
        ("Lighting advice", contents.lighting.clone()),
        ("Seating advice", contents.seating.clone()),
        ("Prescribed without a training summary", contents.no_summary_reason.clone()),
        ("Review on", day(contents.review_on)),
        ("Runs out on", day(contents.expires_on)),
    ] {
        if !value.is_empty() {
            lines.push((label.to_owned(), value));
        }
    }
    lines
}

fn lenses(eyes: &[(&str, &Refraction)]) -> part::Table {
    let mut table = part::table("Lenses")
        .column("Eye")
        .column("Sphere / cylinder \u{d7} axis (D)")
        .column("The same, transposed")
        .number("Spherical equivalent (D)")
        .column("Near addition")
        .column("Prism");
    for (eye, found) in eyes {
        let other = Other::of(found);
        table.push([
            (*eye).to_owned(),
            lens_words(found.lens),
            other.transposed,
            other.equivalent,
            found.add.map_or_else(|| "none".to_owned(), |add| signed(add.get())),
            found
                .prism
                .map_or_else(|| "none".to_owned(), |(amount, base)| format!("{amount} prism D {}", base.words())),
        ]);
    }
    table
}

/// How they came about.
pub(super) fn how(eyes: &[(&str, &Refraction)]) -> part::How {
    let mut inputs: Vec<(String, String)> = Vec::new();
    for (eye, found) in eyes {
        inputs.push(((*eye).to_owned(), lens_words(found.lens)));
        if !found.confirmed.is_empty() {
            inputs.push((format!("{eye}, unusual and confirmed"), found.confirmed.clone()));
        }
    }
    part::how(&[
        "Transposed: sphere + cylinder, the cylinder with the other sign, the axis turned by 90 degrees.",
        "Spherical equivalent: sphere + half the cylinder.",
    ])
    .inputs(&inputs)
    .source("Definitions of the trade (common practice)")
    .asks_all(eyes.iter().flat_map(|(_, found)| lens_asked(found.lens)))
}
