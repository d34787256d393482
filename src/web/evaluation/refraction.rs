//! The refraction of both eyes as it is typed and as it is shown.
//!
//! Signs are required, cylinder and axis go together, axis 0 is written 180;
//! what is unusual is confirmed. The ranges are those of
//! [`crate::vision::refraction::check`].

use super::acuity_row::sentence;
use crate::care::evaluation::{PrismBase, Refraction, RefractionMethod};
use crate::vision::refraction::check::{self, RefractionError, sphere_typed};
use crate::vision::refraction::{Axis, Lens};
use crate::vision::units::{Degrees, Dioptres};
use crate::web::check::Check;
use crate::web::confirm;
use crate::web::form::{Entry, Faults, FormView};
use crate::web::part::Piece;
use crate::web::words::options;

/// The two eyes: prefix and words.
const EYES: [(&str, &str); 2] = [("right_", "Right eye"), ("left_", "Left eye")];

/// The largest prism of the dictionary, in prism dioptres.
const LARGEST_PRISM: f64 = 40.0;

/// Both eyes; none where nothing was typed.
pub(in crate::web) type Both = (Option<Refraction>, Option<Refraction>);

/// Reads both eyes.
pub(in crate::web) fn read(entry: &Entry) -> Result<Both, Faults> {
    let mut check = Check::new(entry);
    let right = one_eye(&mut check, EYES[0].0, EYES[0].1);
    let left = one_eye(&mut check, EYES[1].0, EYES[1].1);
    check.build(|| Some((right, left)))
}

fn one_eye(check: &mut Check<'_>, prefix: &str, eye: &str) -> Option<Refraction> {
    let at = |name: &str| format!("{prefix}{name}");
    let typed = |check: &Check<'_>, name: &str| check.typed(&at(name)).to_owned();
    let names = ["sphere", "cylinder", "axis", "add", "prism", "base", "method"];
    if names.iter().all(|name| typed(check, name).is_empty()) {
        return None;
    }
    let mut unusual = Vec::new();
    let sphere_at = at("sphere");
    let sphere = match sphere_typed(check.typed(&sphere_at)) {
        Ok(sphere) => Some(sphere),
        Err(error) => {
            check.fault(&sphere_at, sentence(&error.to_string()));
            None
        }
    };
    let cylinder = cylinder(check, &at("cylinder"));
    let axis = check.opt_whole(&at("axis"), "Axis", 0..=180);
    let (axis_typed, cylinder_typed) = (!typed(check, "axis").is_empty(), !typed(check, "cylinder").is_empty());
    if axis_typed && !cylinder_typed {
        check.fault(at("axis"), "An axis needs its cylinder. Write the cylinder or clear the axis.");
    }
    let add = add(check, &at("add"), &mut unusual);
    let prism = prism(check, &at("prism"), &at("base"));
    let method: Option<RefractionMethod> = check.opt_code(&at("method"), "How it was found");
    let (sphere, cylinder) = (sphere?, cylinder?);
    let axis = axis.and_then(|axis| i32::try_from(axis).ok()).and_then(|axis| Degrees::new(f64::from(axis)).ok());
    let lens = match check::lens(sphere, cylinder, axis) {
        Ok((lens, found)) => {
            if found == check::Check::Confirm {
                unusual.insert(0, lens_words(lens));
            }
            lens
        }
        Err(RefractionError::AxisMissing) => {
            check.fault(at("axis"), "Add the axis of the cylinder, from 1 to 180.");
            return None;
        }
        Err(error) => {
            check.fault(at("sphere"), sentence(&error.to_string()));
            return None;
        }
    };
    let unusual: Vec<String> = unusual.into_iter().map(|what| format!("{} {what}", eye.to_lowercase())).collect();
    let confirmed = confirm::settle(check, &at("confirmed"), &unusual);
    let line = names
        .iter()
        .take(6)
        .filter(|name| !typed(check, name).is_empty())
        .map(|name| format!("{name} {}", typed(check, name)))
        .collect::<Vec<_>>()
        .join(", ");
    Some(Refraction { lens, add, prism, method, typed: line, confirmed })
}

/// A cylinder: nothing typed is none.
fn cylinder(check: &mut Check<'_>, name: &str) -> Option<Dioptres> {
    let typed = check.typed(name);
    if typed.is_empty() {
        return Some(Dioptres::literal(0.0));
    }
    let read = sphere_typed(typed).and_then(|power| {
        check::cylinder(power)?;
        Ok(power)
    });
    match read {
        Ok(power) => Some(power),
        Err(RefractionError::SignMissing) => {
            check.fault(name, "Write the sign of the cylinder, for example -1.50 or +1.50.");
            None
        }
        Err(RefractionError::OutOfRange(_)) => {
            check.fault(name, "Cylinder must be a number from -10 to +10 D.");
            None
        }
        Err(error) => {
            check.fault(name, sentence(&error.to_string()));
            None
        }
    }
}

fn add(check: &mut Check<'_>, name: &str, unusual: &mut Vec<String>) -> Option<Dioptres> {
    let add = check.opt_number(name, "Add", "D", 0.0..=40.0).and_then(|power| Dioptres::new(power).ok())?;
    if check::add(add) == Ok(check::Check::Confirm) {
        unusual.push(format!("add {}", signed(add.get())));
    }
    Some(add)
}

/// A prism and its base: both or neither.
fn prism(check: &mut Check<'_>, name: &str, base_name: &str) -> Option<(f64, PrismBase)> {
    let amount = check.opt_number(name, "Prism", "prism D", 0.0..=LARGEST_PRISM);
    let base: Option<PrismBase> = check.opt_code(base_name, "Base");
    match (amount, base) {
        (Some(amount), Some(base)) => Some((amount, base)),
        (Some(_), None) => {
            check.fault(base_name, "Say where the base of the prism points.");
            None
        }
        (None, Some(_)) => {
            check.fault(name, "Write how strong the prism is, or take its base out.");
            None
        }
        (None, None) => None,
    }
}

/// Both eyes back in their fields.
pub(in crate::web) fn fill(right: Option<&Refraction>, left: Option<&Refraction>) -> Entry {
    let mut entry = Entry::default();
    for ((prefix, _), found) in EYES.iter().zip([right, left]) {
        let Some(found) = found else { continue };
        let lens = found.lens;
        entry.set(format!("{prefix}sphere"), signed(lens.sphere.get()));
        if lens.cylinder.get().abs() >= f64::MIN_POSITIVE {
            entry.set(format!("{prefix}cylinder"), signed(lens.cylinder.get()));
            entry.set(format!("{prefix}axis"), format!("{:.0}", lens.axis.get()));
        }
        if let Some(add) = found.add {
            entry.set(format!("{prefix}add"), signed(add.get()));
        }
        if let Some((amount, base)) = found.prism {
            entry.set(format!("{prefix}prism"), amount.to_string());
            entry.set(format!("{prefix}base"), base.code());
        }
        if let Some(method) = found.method {
            entry.set(format!("{prefix}method"), method.code());
        }
    }
    entry
}

/// The fields of both eyes.
pub(super) fn fields(form: &FormView) -> Vec<Piece> {
    let mut pieces =
        vec![Piece::words("Leave an eye empty that was not refracted. Powers carry their sign; plano is 0.")];
    for (prefix, eye) in EYES {
        let at = |name: &str| format!("{prefix}{name}");
        pieces.push(Piece::head(eye));
        let label = |what: &str, unit: &str| format!("{what}, {}{unit}", eye.to_lowercase());
        pieces.push(
            form.decimal(&at("sphere"), &label("Sphere", " (D)"))
                .hint("For example -2.25, +1.00 or plano")
                .optional()
                .into(),
        );
        pieces.push(
            form.decimal(&at("cylinder"), &label("Cylinder", " (D)"))
                .hint("Either form, with its sign")
                .optional()
                .into(),
        );
        pieces.push(
            form.whole(&at("axis"), &label("Axis", " (degrees)")).hint("1 to 180; 0 is kept as 180").optional().into(),
        );
        pieces.push(form.decimal(&at("add"), &label("Near addition", " (D)")).optional().into());
        pieces.push(form.decimal(&at("prism"), &label("Prism", " (prism D)")).optional().into());
        pieces.push(
            form.select(&at("base"), &label("Base", ""), &options!(PrismBase)).blank("No prism").optional().into(),
        );
        pieces.push(
            form.select(&at("method"), &label("How it was found", ""), &options!(RefractionMethod))
                .blank("Not stated")
                .optional()
                .into(),
        );
        pieces.extend(confirm::tick(form, &at("confirmed")).map(Piece::from));
    }
    pieces
}

/// A power with its sign: +2.00, −1.25, 0.00.
pub(in crate::web) fn signed(power: f64) -> String {
    // Eighths are written with three decimals, quarters with two.
    let quarters = power * 4.0;
    let decimals = if (quarters - quarters.round()).abs() < 1e-9 { 2 } else { 3 };
    match power {
        power if power > 0.0 => format!("+{power:.decimals$}"),
        power if power < 0.0 => format!("-{:.decimals$}", power.abs()),
        _ => "0.00".to_owned(),
    }
}

/// A lens as the trade writes it: -3.00 / -2.00 × 180.
pub(in crate::web) fn lens_words(lens: Lens) -> String {
    if lens.cylinder.get().abs() < f64::MIN_POSITIVE {
        return signed(lens.sphere.get());
    }
    format!("{} / {} × {}", signed(lens.sphere.get()), signed(lens.cylinder.get()), axis_words(lens.axis))
}

fn axis_words(axis: Axis) -> String {
    format!("{:.0}", axis.get())
}
