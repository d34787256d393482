//! One device, wherever a form names it: its fields, their reading with the
//! ranges of the trade, and the words a page shows it by.
//!
//! Used by evaluations, the loan pool, decisions, prescriptions and receipts
//! alike, so that a part of a specification means the same everywhere. Ranges
//! are those of the optics in [`crate::vision::telescope`] and
//! [`crate::vision::magnifier`]; a value outside the ordinary is confirmed, one
//! outside the possible is refused. A label's "×" is kept and never used.

use super::check::{Check, LONG_TEXT, NAME, SHORT_TEXT};
use super::confirm;
use super::form::{Entry, FormView};
use super::page::Context;
use super::part::{Group, Piece};
use super::words::{self, options};
use crate::care::device::DeviceSpec;
use crate::care::named_device::NamedDevice;
use crate::care::track::{DeviceKind, Eye, Light, Track, WithGlasses};
use crate::care::typed::Typed;
use crate::vision::telescope::{Label, Unusual, exit_pupil};
use crate::vision::units::{Degrees, Dioptres, Magnification, Metres, Millimetres, OutOfRange};

/// The names of the fields, without their prefix.
const FIELDS: [&str; 18] = [
    "kind",
    "power",
    "objective",
    "field",
    "near_focus",
    "cap",
    "equivalent",
    "lens",
    "stand",
    "label",
    "light",
    "glasses",
    "eye",
    "filter",
    "purpose",
    "limits",
    "note",
    "confirmed",
];

/// The fields of one device, ready to be printed into a form.
pub type DeviceFields = Group;

/// A part of the form that a page may leave out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Which eye it is for.
    Eye,
    /// What it is for.
    Purpose,
    /// Where it is not to be used.
    Limits,
    /// The free note.
    Note,
}

impl From<Part> for &'static str {
    fn from(part: Part) -> Self {
        match part {
            Part::Eye => "eye",
            Part::Purpose => "purpose",
            Part::Limits => "limits",
            Part::Note => "note",
        }
    }
}

/// The fields of one device; `prefix` keeps several on one form apart, for
/// example `first_`. A page that has no use for a part leaves it out:
/// `fields(form, "").without(Part::Eye)`.
pub fn fields(form: &FormView, prefix: &str) -> DeviceFields {
    let at = |name: &str| format!("{prefix}{name}");
    let number = |name: &str, label: &str, hint: &str| form.decimal(&at(name), label).hint(hint).optional();
    let text = |name: &str, label: &str, hint: &str| form.text(&at(name), label).hint(hint).optional().wide();
    let mut group = Group::default().nested();
    group.push(form.select(&at("kind"), "Kind of device", &options!(DeviceKind)).blank("Choose a kind"));
    group.tagged(Part::Eye.into(), form.select(&at("eye"), "Eye", &options!(Eye)).blank("Not stated").optional());
    group.push(Piece::head("Telescopes, and the power of electronic devices"));
    group.push(number("power", "Power (×)", "For example 6"));
    group.push(number("objective", "Objective lens (mm)", "The second number of 8 × 20"));
    group.push(number("field", "True field (degrees)", "As seen through it, not the apparent field"));
    group.push(number("near_focus", "Nearest focus, with its unit", "For example 30 cm or 1 ft"));
    group.push(number("cap", "Reading cap (D)", "Only when it is used with one"));
    group.push(form.select(&at("glasses"), "With glasses", &options!(WithGlasses)).blank("Not stated").optional());
    group.push(Piece::head("Magnifiers and high adds"));
    group.push(number("equivalent", "Equivalent power (D)", "In dioptres, with its stand if it has one"));
    group.push(number("lens", "Lens diameter (mm)", "The smaller side if it is not round"));
    group.push(number("stand", "Stand height (mm)", ""));
    group.push(form.select(&at("light"), "Built-in light", &options!(Light)).blank("Not stated").optional());
    group.push(Piece::head("Every device"));
    group.push(text("label", "Printed on it", "Kept as printed. Labels with × are not compared."));
    group.push(text("filter", "Filter", "Tint and how much light it lets through, for example amber, 40 %"));
    let purpose = "For example the board in science, bus numbers standing still";
    group.tagged(Part::Purpose.into(), text("purpose", "What it is for", purpose));
    group.tagged(Part::Limits.into(), text("limits", "Limits", "Where not, how long, with whom"));
    group.tagged(Part::Note.into(), text("note", "Note", ""));
    if let Some(tick) = confirm::tick(form, &at("confirmed")) {
        group.push(tick);
    }
    group
}

/// Whether nothing was entered under this prefix.
pub fn is_blank(check: &Check<'_>, prefix: &str) -> bool {
    FIELDS.iter().all(|field| check.typed(&format!("{prefix}{field}")).is_empty())
}

/// Puts a device into the fields of a form.
pub fn fill(entry: &mut Entry, prefix: &str, device: &NamedDevice) {
    let spec = &device.spec;
    let number = |value: Option<f64>| value.map(|value| value.to_string()).unwrap_or_default();
    let values = [
        ("kind", spec.kind.code().to_owned()),
        ("power", number(spec.power.map(Magnification::get))),
        ("objective", number(spec.objective.map(Millimetres::get))),
        ("field", number(spec.true_field.map(Degrees::get))),
        ("near_focus", device.near_focus_typed.clone()),
        ("cap", number(spec.reading_cap.map(Dioptres::get))),
        ("equivalent", number(spec.equivalent_power.map(Dioptres::get))),
        ("lens", number(spec.lens_diameter.map(Millimetres::get))),
        ("stand", number(spec.stand_height.map(Millimetres::get))),
        ("label", device.label.clone()),
        ("light", spec.light.map(Light::code).unwrap_or_default().to_owned()),
        ("glasses", spec.with_glasses.map(WithGlasses::code).unwrap_or_default().to_owned()),
        ("eye", spec.eye.map(Eye::code).unwrap_or_default().to_owned()),
        ("filter", device.filter.clone()),
        ("purpose", device.purpose.clone()),
        ("limits", device.limits.clone()),
        ("note", device.note.clone()),
    ];
    for (field, value) in values {
        if !value.is_empty() {
            entry.set(format!("{prefix}{field}"), value);
        }
    }
}

/// Reads the device under a prefix; its kind must be there. With a track, as a
/// recommendation needs it: it may stand on that track and its power is stated.
///
/// Gives nothing when something is at fault; the faults are in the check.
pub fn read(check: &mut Check<'_>, prefix: &str, track: Option<Track>) -> Option<NamedDevice> {
    Reader { check, prefix, unusual: Vec::new() }.read(track)
}

struct Reader<'c, 'e> {
    check: &'c mut Check<'e>,
    prefix: &'c str,
    unusual: Vec<String>,
}

impl Reader<'_, '_> {
    fn at(&self, name: &str) -> String {
        format!("{}{name}", self.prefix)
    }

    fn fault(&mut self, name: &str, message: impl Into<String>) {
        let at = self.at(name);
        self.check.fault(at, message);
    }

    fn text(&mut self, name: &str, label: &str, most: usize) -> String {
        let at = self.at(name);
        self.check.opt_text(&at, label, most)
    }

    /// A number in a unit: refused outside `possible`, confirmed outside `usual`.
    fn number<T>(&mut self, asked: &Asked, make: impl FnOnce(f64) -> Result<T, OutOfRange>) -> Option<T> {
        let at = self.at(asked.name);
        let value = self.check.opt_number(&at, asked.label, asked.unit, asked.possible.0..=asked.possible.1)?;
        if value < asked.usual.0 || value > asked.usual.1 {
            self.unusual.push(format!("{} {value} {}", asked.label.to_lowercase(), asked.unit));
        }
        make(value).ok()
    }

    fn near_focus(&mut self) -> Option<Typed<Metres>> {
        let at = self.at("near_focus");
        let typed = self.check.opt_length(&at, "Nearest focus", 0.05..=10.0)?;
        if !(0.1..=5.0).contains(&typed.value.get()) {
            self.unusual.push(format!("nearest focus {}", typed.typed));
        }
        Some(typed)
    }

    fn read(mut self, track: Option<Track>) -> Option<NamedDevice> {
        let kind_at = self.at("kind");
        let kind = self.check.opt_code::<DeviceKind>(&kind_at, "Kind of device");
        if self.check.typed(&kind_at).is_empty() {
            self.fault("kind", "Choose the kind of device.");
        }
        let telescope = kind.is_none_or(|kind| kind.is_telescope() || kind == DeviceKind::Other);
        let power = self.number(if telescope { &POWER } else { &ELECTRONIC_POWER }, Magnification::new);
        let objective = self.number(&OBJECTIVE, Millimetres::new);
        let true_field = self.number(&TRUE_FIELD, Degrees::new);
        let near_focus = self.near_focus();
        let reading_cap = self.number(&CAP, Dioptres::new);
        let equivalent_power = self.number(&EQUIVALENT, Dioptres::new);
        let lens_diameter = self.number(&LENS, Millimetres::new);
        let stand_height = self.number(&STAND, Millimetres::new);
        let (light_at, glasses_at, eye_at) = (self.at("light"), self.at("glasses"), self.at("eye"));
        let light = self.check.opt_code(&light_at, "Built-in light");
        let with_glasses = self.check.opt_code(&glasses_at, "With glasses");
        let eye = self.check.opt_code(&eye_at, "Eye");
        let label = self.text("label", "Printed on it", NAME);
        let filter = self.text("filter", "Filter", SHORT_TEXT);
        let purpose = self.text("purpose", "What it is for", LONG_TEXT);
        let limits = self.text("limits", "Limits", LONG_TEXT);
        let note = self.text("note", "Note", LONG_TEXT);
        let spec = DeviceSpec {
            kind: kind?,
            power,
            objective,
            true_field,
            near_focus: near_focus.as_ref().map(|typed| typed.value),
            reading_cap,
            equivalent_power,
            lens_diameter,
            stand_height,
            light,
            with_glasses,
            eye,
        };
        self.belongs(&spec);
        self.optics(&spec);
        if let Some(track) = track {
            self.stands_on(track, &spec);
        }
        let confirmed_at = self.at("confirmed");
        let confirmed = confirm::settle(self.check, &confirmed_at, &self.unusual);
        let near_focus_typed = near_focus.map(|typed| typed.typed).unwrap_or_default();
        Some(NamedDevice { spec, near_focus_typed, label, filter, purpose, limits, note, confirmed })
    }

    /// No part may be stated that this kind of device does not have.
    fn belongs(&mut self, spec: &DeviceSpec) {
        let kind = spec.kind;
        let other = kind == DeviceKind::Other;
        let telescope = kind.is_telescope() || other;
        let magnifier = kind.is_magnifier() || other;
        let electronic = kind == DeviceKind::ElectronicHandheld;
        let parts = [
            (
                "power",
                spec.power.is_some(),
                telescope || electronic,
                "power in ×: write its equivalent power in dioptres",
            ),
            ("objective", spec.objective.is_some(), telescope, "objective lens"),
            ("field", spec.true_field.is_some(), telescope, "true field"),
            ("near_focus", spec.near_focus.is_some(), telescope || electronic, "nearest focus"),
            ("cap", spec.reading_cap.is_some(), telescope, "reading cap"),
            ("equivalent", spec.equivalent_power.is_some(), telescope || magnifier || electronic, "equivalent power"),
            ("lens", spec.lens_diameter.is_some(), magnifier, "lens to measure"),
            ("stand", spec.stand_height.is_some(), magnifier, "stand"),
        ];
        for (name, stated, has, what) in parts {
            if stated && !has {
                let kind = with_article(kind.words());
                self.fault(name, format!("{kind} has no {what}. Clear this field or choose another kind."));
            }
        }
    }

    /// The figures of one device must agree with each other.
    fn optics(&mut self, spec: &DeviceSpec) {
        if !spec.kind.is_telescope() {
            if let (Some(power), Some(height)) = (spec.equivalent_power, spec.stand_height)
                && height.in_metres().get() * power.get() >= 1.0
            {
                self.fault(
                    "stand",
                    "With this power the page would lie beyond the focus of the lens. Check height and power.",
                );
            }
            return;
        }
        if let (Some(power), Some(objective), Some(field)) = (spec.power, spec.objective, spec.true_field) {
            match (Label { power, objective, field }).check() {
                Ok(found) if found.contains(&Unusual::ExitPupil) => self.unusual_pupil(power, objective),
                Ok(_) => {}
                Err(error) => self.fault("field", format!("{}.", words::capital(&error.to_string()))),
            }
        } else if let (Some(power), Some(objective)) = (spec.power, spec.objective) {
            match exit_pupil(objective, power) {
                Ok(pupil) if !(1.5..=8.0).contains(&pupil.get()) => self.unusual_pupil(power, objective),
                Ok(_) => {}
                Err(error) => self.fault("objective", format!("{}.", words::capital(&error.to_string()))),
            }
        }
    }

    fn unusual_pupil(&mut self, power: Magnification, objective: Millimetres) {
        if let Ok(pupil) = exit_pupil(objective, power) {
            self.unusual.push(format!("exit pupil {:.1} mm", pupil.get()));
        }
    }

    /// A recommendation names what the rules compare by.
    fn stands_on(&mut self, track: Track, spec: &DeviceSpec) {
        if spec.kind == DeviceKind::FilterLens {
            return self.fault("kind", "A filter is advice, not a device to train with. Write it under advice.");
        }
        if !spec.kind.tracks().contains(&track) {
            let kind = with_article(spec.kind.words());
            return self
                .fault("kind", format!("{kind} does not stand on the {} track. Choose another kind.", track.words()));
        }
        if !spec.may_stand_on(track) {
            return self.fault(
                "cap",
                "A telescope reads a page only with a reading cap. Write the cap, or the equivalent power with it.",
            );
        }
        if spec.strength(track).is_none() {
            let (name, message) = if spec.kind.is_magnifier() {
                ("equivalent", "Equivalent power is needed, in dioptres. A label with × is not enough.")
            } else {
                ("power", "Power is needed, for example 6.")
            };
            self.fault(name, message);
        }
    }
}

/// A number that is asked for.
struct Asked {
    name: &'static str,
    label: &'static str,
    unit: &'static str,
    /// Refused outside.
    possible: (f64, f64),
    /// Confirmed outside.
    usual: (f64, f64),
}

// Common practice, as the optics modules use it: 1.5 to 12 × is a telescope a
// person looks through; weaker and stronger ones exist and are confirmed.
const POWER: Asked = Asked { name: "power", label: "Power", unit: "×", possible: (1.1, 20.0), usual: (1.5, 12.0) };
const ELECTRONIC_POWER: Asked =
    Asked { name: "power", label: "Power", unit: "×", possible: (1.0, 100.0), usual: (1.5, 30.0) };
const OBJECTIVE: Asked =
    Asked { name: "objective", label: "Objective lens", unit: "mm", possible: (4.0, 60.0), usual: (6.0, 50.0) };
const TRUE_FIELD: Asked =
    Asked { name: "field", label: "True field", unit: "degrees", possible: (0.5, 60.0), usual: (2.0, 25.0) };
const CAP: Asked = Asked { name: "cap", label: "Reading cap", unit: "D", possible: (0.25, 40.0), usual: (0.5, 20.0) };
const EQUIVALENT: Asked =
    Asked { name: "equivalent", label: "Equivalent power", unit: "D", possible: (2.0, 60.0), usual: (3.0, 50.0) };
const LENS: Asked =
    Asked { name: "lens", label: "Lens diameter", unit: "mm", possible: (5.0, 400.0), usual: (15.0, 150.0) };
const STAND: Asked =
    Asked { name: "stand", label: "Stand height", unit: "mm", possible: (0.0, 200.0), usual: (0.0, 80.0) };

/// A device in a few words: "6× handheld telescope, monocular".
pub fn name(spec: &DeviceSpec) -> String {
    let kind = spec.kind.words();
    match (spec.power, spec.equivalent_power, spec.reading_cap) {
        (Some(power), None, Some(cap)) => format!("{}× {kind} with a {} D reading cap", power.get(), cap.get()),
        (Some(power), _, None) => format!("{}× {kind}", power.get()),
        (_, Some(power), _) => format!("{} D {kind}", power.get()),
        (None, None, _) => kind.to_owned(),
    }
}

/// Everything stated of a device, as terms and values in the reader's units.
pub fn facts(device: &NamedDevice, context: &Context) -> Vec<(String, String)> {
    let spec = &device.spec;
    let number = |value: Option<f64>, unit: &str| value.map(|value| format!("{value} {unit}")).unwrap_or_default();
    let near_focus = match spec.near_focus {
        Some(metres) => as_typed(&device.near_focus_typed, &words::distance(metres, context)),
        None => String::new(),
    };
    let all = [
        ("Kind", words::capital(spec.kind.words())),
        ("Power", number(spec.power.map(Magnification::get), "×")),
        ("Objective lens", number(spec.objective.map(Millimetres::get), "mm")),
        ("True field", number(spec.true_field.map(Degrees::get), "degrees")),
        ("Nearest focus", near_focus),
        ("Reading cap", number(spec.reading_cap.map(Dioptres::get), "D")),
        ("Equivalent power", number(spec.equivalent_power.map(Dioptres::get), "D")),
        ("Lens diameter", number(spec.lens_diameter.map(Millimetres::get), "mm")),
        ("Stand height", number(spec.stand_height.map(Millimetres::get), "mm")),
        ("Built-in light", spec.light.map(Light::words).unwrap_or_default().to_owned()),
        ("With glasses", spec.with_glasses.map(WithGlasses::words).unwrap_or_default().to_owned()),
        ("Eye", spec.eye.map(Eye::words).unwrap_or_default().to_owned()),
        ("Printed on it", device.label.clone()),
        ("Filter", device.filter.clone()),
        ("What it is for", device.purpose.clone()),
        ("Limits", device.limits.clone()),
        ("Note", device.note.clone()),
        ("Unusual, confirmed", device.confirmed.clone()),
    ];
    all.into_iter().filter(|(_, value)| !value.is_empty()).map(|(term, value)| (term.to_owned(), value)).collect()
}

/// What was typed, with the reader's own unit behind it where that differs.
fn as_typed(typed: &str, shown: &str) -> String {
    if typed.is_empty() || typed == shown { shown.to_owned() } else { format!("{typed} ({shown})") }
}

fn with_article(words: &str) -> String {
    let article = if words.starts_with(['a', 'e', 'i', 'o', 'u']) { "An" } else { "A" };
    format!("{article} {words}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::web::form::Faults;

    fn entry(fields: &[(&str, &str)]) -> Entry {
        fields.iter().map(|(name, value)| (format!("d_{name}"), *value)).collect()
    }

    fn read_one(entry: &Entry, track: Option<Track>) -> Result<NamedDevice, Faults> {
        let mut check = Check::new(entry);
        let device = read(&mut check, "d_", track);
        check.build(|| device)
    }

    const EIGHT_BY_TWENTY: [(&str, &str); 5] = [
        ("kind", "handheld_monocular"),
        ("power", "8x"),
        ("objective", "20 mm"),
        ("field", "7°"),
        ("near_focus", "30 cm"),
    ];

    #[test]
    fn a_trade_label_is_read_with_its_units() {
        let device = read_one(&entry(&EIGHT_BY_TWENTY), Some(Track::Distance)).unwrap();
        assert_eq!(device.spec.power.map(Magnification::get), Some(8.0));
        assert_eq!(device.near_focus_typed, "30 cm");
        assert_eq!(device.spec.near_focus.map(Metres::get), Some(0.3));
        assert_eq!(name(&device.spec), "8× handheld telescope, monocular");
    }

    #[test]
    fn a_recommendation_without_power_is_asked_for_it() {
        let faults = read_one(&entry(&[("kind", "handheld_monocular")]), Some(Track::Distance)).err().unwrap();
        assert!(faults.of("d_power").is_some());
        let faults = read_one(&entry(&[("kind", "hand_magnifier"), ("label", "5x")]), Some(Track::Near)).err().unwrap();
        assert!(faults.of("d_equivalent").is_some_and(|words| words.contains("label")));
        assert!(read_one(&entry(&[("kind", "handheld_monocular")]), None).is_ok());
    }

    #[test]
    fn a_kind_is_refused_on_the_other_track_and_a_filter_on_both() {
        let hand = entry(&[("kind", "hand_magnifier"), ("equivalent", "20")]);
        assert!(read_one(&hand, Some(Track::Distance)).err().unwrap().of("d_kind").is_some());
        assert!(read_one(&hand, Some(Track::Near)).is_ok());
        for track in [Track::Distance, Track::Near] {
            assert!(read_one(&entry(&[("kind", "filter_lens")]), Some(track)).err().unwrap().of("d_kind").is_some());
        }
    }

    #[test]
    fn a_telescope_reads_a_page_only_with_a_cap() {
        let mut fields = EIGHT_BY_TWENTY.to_vec();
        assert!(read_one(&entry(&fields), Some(Track::Near)).err().unwrap().of("d_cap").is_some());
        fields.push(("cap", "2.5"));
        assert!(read_one(&entry(&fields), Some(Track::Near)).is_ok());
    }

    #[test]
    fn an_unusual_value_is_taken_only_with_its_own_confirmation() {
        let mut fields = vec![("kind", "handheld_monocular"), ("power", "14")];
        let faults = read_one(&entry(&fields), None).err().unwrap();
        let asked = faults.of("d_confirmed").unwrap().to_owned();
        assert!(asked.contains("14 ×"), "{asked}");
        fields.push(("confirmed", &asked));
        assert_eq!(read_one(&entry(&fields), None).unwrap().confirmed, "power 14 ×");
        // A confirmation of 14 says nothing about 16.
        let other = entry(&fields).with("d_power", "16");
        assert!(read_one(&other, None).err().unwrap().of("d_confirmed").is_some());
    }

    #[test]
    fn figures_that_contradict_each_other_or_the_kind_are_refused() {
        let apparent = entry(&[("kind", "handheld_monocular"), ("power", "8"), ("objective", "20"), ("field", "56")]);
        assert!(read_one(&apparent, None).err().unwrap().of("d_field").is_some());
        let stand = entry(&[("kind", "stand_magnifier"), ("equivalent", "20"), ("stand", "60")]);
        assert!(read_one(&stand, None).err().unwrap().of("d_stand").is_some());
        let mixed = entry(&[("kind", "hand_magnifier"), ("equivalent", "20"), ("objective", "20")]);
        assert!(read_one(&mixed, None).err().unwrap().of("d_objective").is_some());
        for bad in ["0", "-6", "1e999", "NaN", "six", "6; drop"] {
            let faults = read_one(&entry(&[("kind", "handheld_monocular"), ("power", bad)]), None).err().unwrap();
            assert!(faults.of("d_power").is_some(), "{bad}");
        }
    }

    #[test]
    fn what_was_read_fills_the_form_again() {
        let first = read_one(&entry(&EIGHT_BY_TWENTY), None).unwrap();
        let mut filled = Entry::default();
        fill(&mut filled, "d_", &first);
        assert!(read_one(&filled, None).unwrap() == first);
        assert!(is_blank(&Check::new(&Entry::default()), "d_"));
        assert!(!is_blank(&Check::new(&filled), "d_"));
    }
}
