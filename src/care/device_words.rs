//! How is a device told in one line?
//!
//! The kind, its strength, the lens, the field and the eye, each with its unit
//! and only where it is stated. Knows no reader: a line that carries a power is
//! for those who may read one.

use super::device::DeviceSpec;
use super::track::{Eye, Light, WithGlasses};

/// The device in one line: "handheld telescope, monocular, 6×, objective 16 mm,
/// field 9°, right eye".
#[must_use]
pub fn line(spec: &DeviceSpec) -> String {
    let mut parts = vec![spec.kind.words().to_owned()];
    parts.extend(strength(spec));
    let measure =
        |value: Option<f64>, before: &str, unit: &str| value.map(|value| format!("{before}{}{unit}", plain(value)));
    parts.extend(measure(spec.objective.map(|mm| mm.get()), "objective ", " mm"));
    parts.extend(measure(spec.true_field.map(|field| field.get()), "true field ", "\u{b0}"));
    parts.extend(measure(spec.near_focus.map(|near| near.get()), "focuses from ", " m"));
    parts.extend(measure(spec.lens_diameter.map(|mm| mm.get()), "lens ", " mm"));
    parts.extend(measure(spec.stand_height.map(|mm| mm.get()), "stand ", " mm"));
    parts.extend(spec.light.filter(|light| *light != Light::None).map(|light| light.words().to_owned()));
    parts.extend(
        spec.with_glasses.filter(|glasses| *glasses != WithGlasses::Either).map(|glasses| glasses.words().to_owned()),
    );
    parts.extend(spec.eye.filter(|eye| *eye != Eye::Either).map(|eye| eye.words().to_owned()));
    parts.join(", ")
}

/// Kind and strength alone, for the head of a table.
#[must_use]
pub fn short(spec: &DeviceSpec) -> String {
    let mut parts = vec![spec.kind.words().to_owned()];
    parts.extend(strength(spec));
    parts.join(", ")
}

fn strength(spec: &DeviceSpec) -> Vec<String> {
    let times = spec.power.map(|power| format!("{}\u{d7}", plain(power.get())));
    let dioptres = spec.equivalent_power.map(|power| format!("equivalent power {} D", plain(power.get())));
    let cap = spec.reading_cap.map(|cap| format!("reading cap {} D", plain(cap.get())));
    times.into_iter().chain(dioptres).chain(cap).collect()
}

/// A number with at most two decimals and no trailing zeros.
fn plain(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::care::track::DeviceKind;
    use crate::vision::units::{Magnification, Millimetres};

    #[test]
    fn what_is_not_stated_is_not_told() {
        let mut spec = DeviceSpec::of(DeviceKind::HandheldMonocular);
        assert_eq!(line(&spec), "handheld telescope, monocular");
        spec.power = Some(Magnification::literal(2.75));
        spec.objective = Some(Millimetres::literal(16.0));
        spec.eye = Some(Eye::Right);
        assert_eq!(line(&spec), "handheld telescope, monocular, 2.75\u{d7}, objective 16 mm, right eye");
        assert_eq!(short(&spec), "handheld telescope, monocular, 2.75\u{d7}");
    }
}
