//! The form of a prescription: lenses per eye, two devices per track, limits,
//! advice and dates, read into what the document says.
//!
//! A draft may leave anything out; what must be there before signing is said by
//! `care::prescription`.

use std::collections::BTreeMap;

use jiff::ToSpan;
use jiff::civil::Date;

use crate::care::named_device::NamedDevice;
use crate::care::prescription::Contents;
use crate::care::track::Track;
use crate::web::check::{Check, LONG_TEXT};
use crate::web::device_fields;
use crate::web::evaluation::refraction;
use crate::web::form::{Entry, Faults};
use crate::web::words;

/// The eyes: prefix of the fields, heading, and words for a label.
pub(super) const EYES: [(&str, &str, &str); 2] =
    [("right_", "Right eye", "right eye"), ("left_", "Left eye", "left eye")];

/// The prefixes of a track's two devices.
pub(super) const fn prefixes(track: Track) -> (&'static str, &'static str) {
    match track {
        Track::Distance => ("distance_first_", "distance_second_"),
        Track::Near => ("near_first_", "near_second_"),
    }
}

/// Reads the form.
pub(super) fn read(entry: &Entry, today: Date) -> Result<Contents, Faults> {
    let mut check = Check::new(entry);
    let (right, left) = match refraction::read(entry) {
        Ok(both) => both,
        Err(faults) => {
            for (name, words) in faults.iter() {
                check.fault(name, words);
            }
            (None, None)
        }
    };
    let lens_note = check.opt_text("lens_note", "About the lenses", LONG_TEXT);
    let mut devices: BTreeMap<Track, Vec<NamedDevice>> = BTreeMap::new();
    for track in Track::ALL {
        let (first, second) = prefixes(*track);
        for prefix in [first, second] {
            if !device_fields::is_blank(&check, prefix)
                && let Some(device) = device_fields::read(&mut check, prefix, Some(*track))
            {
                devices.entry(*track).or_default().push(device);
            }
        }
    }
    let limits = check.opt_text("limits", "Limits", LONG_TEXT);
    let lighting = check.opt_text("lighting", "Lighting advice", LONG_TEXT);
    let seating = check.opt_text("seating", "Seating advice", LONG_TEXT);
    let no_summary_reason = check.opt_text("no_summary_reason", "Why without a summary", LONG_TEXT);
    let days = today..=today.saturating_add(5.years());
    let review_on = check.opt_date("review_on", "Review on", days.clone());
    let expires_on = check.opt_date("expires_on", "Runs out on", days);
    check.build(|| {
        Some(Contents {
            right,
            left,
            lens_note,
            devices,
            limits,
            lighting,
            seating,
            no_summary_reason,
            review_on,
            expires_on,
        })
    })
}

/// Puts a prescription into the fields of its form.
pub(super) fn fill(contents: &Contents) -> Entry {
    let mut entry = refraction::fill(contents.right.as_ref(), contents.left.as_ref());
    for (track, devices) in &contents.devices {
        let (first, second) = prefixes(*track);
        for (prefix, device) in [first, second].into_iter().zip(devices) {
            device_fields::fill(&mut entry, prefix, device);
        }
    }
    let day = |day: Option<Date>| day.map(|day| day.to_string()).unwrap_or_default();
    for (name, value) in [
        ("lens_note", contents.lens_note.clone()),
        ("limits", contents.limits.clone()),
        ("lighting", contents.lighting.clone()),
        ("seating", contents.seating.clone()),
        ("no_summary_reason", contents.no_summary_reason.clone()),
        ("review_on", day(contents.review_on)),
        ("expires_on", day(contents.expires_on)),
    ] {
        entry.set(name, value);
    }
    entry
}

/// The name of a field as words, for a page that shows two versions.
pub(super) fn label(name: &str) -> String {
    words::capital(&name.replace('_', " "))
}

#[cfg(test)]
mod tests {
    use super::*;

    const TODAY: Date = jiff::civil::date(2026, 11, 25);

    fn entry(fields: &[(&str, &str)]) -> Entry {
        fields.iter().copied().collect()
    }

    #[test]
    fn a_lens_and_a_device_are_read_and_fill_the_form_again() {
        let typed = entry(&[
            ("right_sphere", "-3.00"),
            ("right_cylinder", "-2.00"),
            ("right_axis", "180"),
            ("distance_first_kind", "handheld_monocular"),
            ("distance_first_power", "4"),
            ("limits", "Not while walking."),
            ("review_on", "2027-03-01"),
            ("expires_on", "2028-11-25"),
        ]);
        let contents = read(&typed, TODAY).expect("all of it is ordinary");
        assert!(contents.missing().is_empty());
        let equivalent = contents.right.as_ref().expect("typed").lens.spherical_equivalent().expect("in range");
        // vision-science.md, check value T09-vector-a: M is -4.
        assert!((equivalent.get() + 4.0).abs() < 1e-9);
        let again = read(&fill(&contents), TODAY).expect("its own words");
        assert!(again.right.as_ref().map(|eye| eye.lens) == contents.right.as_ref().map(|eye| eye.lens));
        assert!(again.devices == contents.devices);
    }

    #[test]
    fn each_fault_stands_beside_its_own_field() {
        let cases: [(&[(&str, &str)], &str); 7] = [
            (&[("right_sphere", "3.00")], "right_sphere"),
            (&[("left_sphere", "-3.00"), ("left_cylinder", "-1.00")], "left_axis"),
            (&[("right_sphere", "-3.00"), ("right_axis", "90")], "right_axis"),
            (&[("right_sphere", "+1e999")], "right_sphere"),
            (&[("right_sphere", "-3.00"), ("right_cylinder", "-1.00"), ("right_axis", "200")], "right_axis"),
            (&[("near_first_kind", "hand_magnifier")], "near_first_equivalent"),
            (&[("review_on", "1890-01-01")], "review_on"),
        ];
        for (fields, at) in cases {
            let faults = read(&entry(fields), TODAY).err().expect("a fault");
            assert!(faults.of(at).is_some(), "{at}: {faults:?}");
        }
    }
}
