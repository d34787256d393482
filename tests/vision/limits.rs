//! More laws on random input: there and back, always the same way, and the
//! limits in which a formula becomes a simpler one.

use farpoint::vision::acuity::letters::Chart;
use farpoint::vision::acuity::near::MUnits;
use farpoint::vision::acuity::rows::{named_row, rows};
use farpoint::vision::acuity::{LogMar, Measured, change::difference};
use farpoint::vision::contrast::screen::{Projector, ScreenReadings, colour_pair, ratio_as_weber};
use farpoint::vision::contrast::{
    LogContrastSensitivity, Polarity, Weber, contrasts_of_surfaces, for_reserve, michelson_of_weber, weber_of_michelson,
};
use farpoint::vision::demand::{letter_height, straight_on, visual_angle};
use farpoint::vision::light::{from_lamp, illuminance, luminance};
use farpoint::vision::magnifier::{ReadAt, hand_field, power_for, stand, with_add};
use farpoint::vision::refraction::{Axis, Lens, at_other_distance};
use farpoint::vision::reserve::{Placed, contrast_reserve, size_check, total_magnification};
use farpoint::vision::telescope::coverage::{Board, INSCRIBED_SQUARE, board_coverage};
use farpoint::vision::telescope::near::{cap_or_tube, focal_of_near_limit, nearest_focus};
use farpoint::vision::telescope::optics::Afocal;
use farpoint::vision::telescope::{
    apparent_field, brightness, delivered_power, exit_pupil, field_width, predicted_acuity,
};
use farpoint::vision::units::{
    Arcminutes, Degrees, Dioptres, Fraction, Luminance, Lux, Magnification, Metres, Millimetres, Ratio,
};
use proptest::prelude::*;

fn m(value: f64) -> Metres {
    Metres::new(value).expect("a length of the test")
}

fn l(value: f64) -> LogMar {
    LogMar::new(value).expect("a logMAR of the test")
}

fn d(value: f64) -> Dioptres {
    Dioptres::new(value).expect("a power of the test")
}

fn part(value: f64) -> Fraction {
    Fraction::new(value).expect("a part of the test")
}

fn times(value: f64) -> Magnification {
    Magnification::new(value).expect("a power of the test")
}

fn ratio(value: f64) -> Ratio {
    Ratio::new(value).expect("a ratio of the test")
}

fn close(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-9 * one.abs().max(other.abs()).max(1.0)
}

fn keplerian(objective: f64, power: f64) -> Afocal {
    Afocal::new(d(objective), d(objective * power)).expect("a telescope")
}

fn galilean(objective: f64, power: f64) -> Afocal {
    Afocal::new(d(objective), d(-objective * power)).expect("a telescope")
}

#[test]
fn a_row_is_its_own_name_and_nothing_between_two_rows_has_one() {
    for row in rows() {
        assert_eq!(named_row(row.logmar), Some(row));
        // The names are preferred numbers: at most 0.0052 off.
        for off in [
            LogMar::from_decimal(20.0 / row.under_20_feet),
            LogMar::from_decimal(6.0 / row.under_6_metres),
            LogMar::from_decimal(row.decimal),
        ] {
            let off = off.expect("in range").get() - row.logmar.get();
            assert!(off.abs() < 0.0053, "{row:?} is {off} off its name");
        }
        assert_eq!(named_row(l(row.logmar.get() + 0.05)), None);
    }
}

proptest! {
    #[test]
    fn every_acuity_comes_back_from_every_notation(value in -0.5_f64..2.0, d0 in 0.3_f64..6.1) {
        let acuity = l(value);
        let back = [
            LogMar::from_mar(Arcminutes::new(acuity.mar_arcminutes()).expect("an angle")),
            LogMar::from_decimal(acuity.decimal()),
            LogMar::from_var(acuity.var_score()),
            LogMar::from_fraction(m(d0), m(acuity.below_the_line(d0).expect("in range"))),
            MUnits::just_read_by(acuity, m(d0)).and_then(|print| print.read_at(m(d0))),
        ];
        for found in back {
            prop_assert!(close(found.expect("in range").get(), value));
        }
        prop_assert!(close(acuity.cycles_per_degree() * acuity.mar_arcminutes(), 30.0));
    }

    #[test]
    fn more_letters_are_a_better_acuity_and_half_the_distance_a_worse_one(
        top in 0.5_f64..1.6, step in 0.05_f64..0.2, letters in 1_u32..10, row in 0_u32..9, far in 0.5_f64..6.0,
    ) {
        let chart = Chart::new(l(top), step, letters).expect("a chart").designed_for(m(far));
        let count = row * letters + 1;
        let at = |count, distance| chart.score(count, m(distance)).expect("in range").get();
        prop_assert!(at(count + 1, far) < at(count, far));
        prop_assert!(close(at(count, far / 2.0) - at(count, far), 2.0_f64.log10()));
        prop_assert!(close(at(letters, far), top));
    }

    #[test]
    fn noise_has_no_direction(before in 0.0_f64..1.5, change in -0.4_f64..0.4) {
        let of = |value| Measured::new(l(value)).expect("measured");
        let (there, back) = (difference(of(before), of(before + change)), difference(of(before + change), of(before)));
        prop_assert_eq!(there.beyond_noise, back.beyond_noise);
        prop_assert!(close(there.log_units, -back.log_units));
        prop_assert!(there.beyond_noise || !there.for_the_clinician);
    }

    #[test]
    fn print_and_its_height_are_there_and_back(print in 0.1_f64..40.0, far in 0.05_f64..2.0) {
        let size = MUnits::new(print).expect("a size");
        let height = size.height().expect("in range");
        prop_assert!(close(MUnits::of_height(height).expect("in range").get(), print));
        // M over metres is the demand of its x-height: within 0.1 % of the exact angle below 64 arcmin.
        let exact = straight_on(height.in_metres(), m(far)).expect("in range").get();
        let rule = size.read_at(m(far)).expect("in range").get();
        prop_assume!(10_f64.powf(rule) < 64.0);
        prop_assert!((exact - rule).abs() < 0.0009);
    }

    #[test]
    fn a_letter_of_a_detail_asks_for_that_detail(detail in 0.5_f64..100.0, far in 0.3_f64..10.0) {
        let letter = letter_height(Arcminutes::new(detail).expect("an angle"), m(far)).expect("in range");
        prop_assert!(close(straight_on(letter.height, m(far)).expect("in range").get(), detail.log10()));
    }

    #[test]
    fn the_small_angle_is_always_too_large_and_right_in_the_limit(size in 0.001_f64..3.0, far in 1.0_f64..10.0) {
        let angle = visual_angle(m(size), m(far)).expect("in range");
        prop_assert!(angle.small_angle >= angle.exact);
        let x = size / far;
        // 2 atan(x/2) = x − x³/12 + …: the error is x²/12 in the limit.
        prop_assert!((angle.small_angle_error_percent - 100.0 * x * x / 12.0).abs() < x.powi(4) + 1e-9);
        if x < 0.347 {
            prop_assert!(angle.small_angle_error_percent < 1.0);
        }
    }

    #[test]
    fn weber_and_michelson_are_there_and_back(contrast in 0.01_f64..1.0, times_more in 1.0_f64..500.0) {
        for (weber, polarity) in
            [(contrast, Polarity::DarkOnLight), (contrast * times_more, Polarity::LightOnDark)]
        {
            let weber = Weber::new(weber).expect("a contrast");
            let michelson = michelson_of_weber(weber, polarity).expect("in range");
            prop_assume!(michelson.get() < 0.998);
            let back = weber_of_michelson(michelson, polarity).expect("in range");
            prop_assert!((back.get() / weber.get() - 1.0).abs() < 1e-9);
            prop_assert!(for_reserve(weber, polarity).expect("in range").get() <= 1.0 + 1e-12);
        }
    }

    #[test]
    fn light_and_dark_turned_round_are_one_michelson(dark in 0.01_f64..0.5, more in 0.01_f64..0.5) {
        let one = contrasts_of_surfaces(part(dark), part(dark + more)).expect("in range");
        let other = contrasts_of_surfaces(part(dark + more), part(dark)).expect("in range");
        prop_assert_eq!(one.michelson, other.michelson);
        prop_assert!(other.weber > one.weber && one.weber.get() <= 1.0);
        prop_assert!(close(one.luminance_ratio.expect("light"), 1.0 + other.weber.get()));
    }

    #[test]
    fn a_more_sensitive_eye_has_more_contrast_in_reserve(sensitivity in 0.0_f64..2.5, more in 0.01_f64..0.5) {
        let of = |value| {
            let threshold = LogContrastSensitivity::new(value).and_then(LogContrastSensitivity::threshold);
            contrast_reserve(Weber::literal(0.8), threshold.expect("in range")).expect("in range")
        };
        prop_assert!(of(sensitivity + more) > of(sensitivity));
    }

    #[test]
    fn ambient_light_only_takes_contrast_away(
        white in 50.0_f64..2_000.0, black in 0.1_f64..5.0, ambient in 0.0_f64..1_000.0, more in 1.0_f64..500.0,
    ) {
        let lux = |value| Lux::new(value).expect("light");
        let projector = Projector { white: lux(white), black: lux(black) };
        let room = |ambient| projector.in_room(lux(ambient), ratio(1.0)).expect("in range");
        prop_assert!(room(ambient + more).dark_text < room(ambient).dark_text);
        // What a ratio allows gives that ratio.
        let at = room(ambient).system_ratio;
        prop_assume!(at > 1.001);
        let allowed = projector.most_ambient(ratio(at * (1.0 - 1e-12))).expect("reachable").get();
        prop_assert!((allowed - ambient).abs() < 1e-4 * (1.0 + ambient + white / (at - 1.0)));
    }

    #[test]
    fn readings_of_a_screen_give_the_projector_back_and_darkness_gives_contrast_back(
        white in 50.0_f64..2_000.0, black in 0.1_f64..5.0, ambient in 0.0_f64..1_000.0, wanted in 0.05_f64..0.95,
    ) {
        let lux = |value| Lux::new(value).expect("light");
        let read = ScreenReadings { white: lux(white + ambient), black: lux(black + ambient), off: lux(ambient) };
        let own = read.projector().expect("in order");
        prop_assert!((own.white.get() - white).abs() < 1e-9 && (own.black.get() - black).abs() < 1e-9);
        let full = Weber::literal(1.0);
        let left = read.left_of(full).expect("in order");
        prop_assert!((left.get() - own.in_room(lux(ambient), ratio(1.0)).expect("in range").dark_text.get()).abs() < 1e-9);
        prop_assume!(wanted < (white - black) / white);
        let most = own.most_ambient_for(Weber::new(wanted).expect("a contrast")).expect("reachable");
        let then = ScreenReadings {
            white: lux(own.white.get() + most.get()), black: lux(own.black.get() + most.get()), off: most,
        };
        prop_assert!((then.left_of(full).expect("in order").get() - wanted).abs() < 1e-9);
    }

    #[test]
    fn a_ratio_of_colours_does_not_know_which_is_the_text(one in prop::array::uniform3(0_u8..), other in prop::array::uniform3(0_u8..)) {
        let (there, back) = (colour_pair(one, other).expect("colours"), colour_pair(other, one).expect("colours"));
        prop_assert_eq!(there, back);
        prop_assert!((1.0..=21.0).contains(&there.ratio));
        let weber = ratio_as_weber(ratio(there.ratio.max(1.0)), part(1.0)).expect("in range");
        prop_assert!(weber.with_flare <= weber.no_flare);
    }

    #[test]
    fn light_and_brightness_are_there_and_back(lux in 1.0_f64..50_000.0, reflected in 0.02_f64..1.0, far in 0.1_f64..5.0) {
        let bright = luminance(Lux::new(lux).expect("light"), part(reflected)).expect("in range");
        prop_assert!(close(illuminance(bright, part(reflected)).expect("in range").get(), lux));
        prop_assert!(bright < Luminance::new(lux).expect("in range"));
        let lamp = |far: f64| from_lamp(200.0, m(far), Degrees::literal(0.0)).expect("in range").get();
        prop_assert!(close(lamp(far) / lamp(2.0 * far), 4.0));
    }

    #[test]
    fn magnifications_multiply_and_undo_each_other(
        near in 0.5_f64..6.0, far in 0.5_f64..6.0, small in 0.01_f64..0.1, large in 0.01_f64..0.1,
    ) {
        let (one, other) = (Placed { distance: m(far), height: m(small) }, Placed { distance: m(near), height: m(large) });
        let there = total_magnification(one, other, times(1.0)).expect("in range");
        let back = total_magnification(other, one, times(1.0)).expect("in range");
        prop_assert!(close(there.total.get() * back.total.get(), 1.0));
        prop_assert!(close(there.total.get(), there.relative_distance.get() * there.relative_size.get()));
        // Exact for the tangents of half the angles.
        let tangent = |placed: Placed| (visual_angle(placed.height, placed.distance).expect("in range").exact.radians() / 2.0).tan();
        prop_assert!(close(tangent(other) / tangent(one), there.total.get()));
    }

    #[test]
    fn the_magnification_needed_is_enough_and_no_more(demand in -0.2_f64..1.5, acuity in -0.2_f64..1.5, needed in 1.0_f64..7.0) {
        let check = size_check(l(demand), l(acuity), ratio(needed)).expect("in range");
        let reached = check.reserve.get() * check.magnification_needed.get();
        prop_assert!(reached >= needed * (1.0 - 1e-9));
        prop_assert!(check.magnification_needed.get() <= 1.0 || close(reached, needed));
        let enough = size_check(l(demand), check.acuity_needed, ratio(needed)).expect("in range");
        prop_assert!(close(enough.magnification_needed.get(), 1.0));
    }

    #[test]
    fn what_a_power_promises_is_what_it_delivers(acuity in 0.2_f64..1.8, power in 1.0_f64..12.0) {
        let promised = predicted_acuity(l(acuity), times(power)).expect("in range");
        prop_assert!(close(delivered_power(l(acuity), promised).expect("in range").get(), power));
    }

    #[test]
    fn field_times_power_stays_inside_what_an_eye_sees(power in 1.0_f64..12.0, field in 0.5_f64..25.0, far in 1.0_f64..20.0) {
        let seen = apparent_field(times(power), Degrees::new(field).expect("a field")).expect("in range");
        prop_assert!(seen.by_tangent.get() < 180.0 && seen.by_tangent.get() >= field - 1e-9);
        // In the limit of a small field both rules are one.
        let small = apparent_field(times(power), Degrees::new(field / 1_000.0).expect("a field")).expect("in range");
        prop_assert!((small.by_tangent.get() / small.simple.get() - 1.0).abs() < 1e-4);
        // The field on a wall is the wall seen under the field.
        let width = field_width(Degrees::new(field).expect("a field"), m(far)).expect("in range");
        prop_assert!(close(visual_angle(width, m(far)).expect("in range").exact.get(), field));
    }

    #[test]
    fn no_telescope_brightens_and_a_wide_exit_pupil_dims_only_by_its_glass(
        objective in 10.0_f64..50.0, power in 1.5_f64..12.0, pupil in 2.0_f64..8.0, passed in 0.5_f64..1.0,
    ) {
        let leaving = exit_pupil(Millimetres::new(objective).expect("a lens"), times(power)).expect("in range");
        let bright = brightness(leaving, Millimetres::new(pupil).expect("a pupil"), part(passed)).expect("in range");
        prop_assert!(bright.get() <= passed + 1e-12);
        prop_assert_eq!(leaving.get() >= pupil, (bright.get() - passed).abs() < 1e-12);
    }

    #[test]
    fn the_simple_vergence_is_right_in_the_limit_and_wrong_on_the_known_side(
        objective in 5.0_f64..16.0, power in 1.5_f64..8.0, far in 2.0_f64..20.0,
    ) {
        let of = |device: Afocal, far: f64| {
            let leaving = device.exit_vergence(m(far)).expect("a picture");
            leaving.exact.get() / leaving.approximate.get()
        };
        prop_assert!(of(galilean(objective, power), far) < 1.0, "M²U is too much for a Galilean");
        prop_assert!((of(galilean(objective, power), 90_000.0) - 1.0).abs() < 1e-3);
        prop_assert!((of(keplerian(objective, power), 90_000.0) - 1.0).abs() < 1e-3);
        // Where a Keplerian shows a picture at all, M²U is too little.
        if let Ok(leaving) = keplerian(objective, power).exit_vergence(m(far)) {
            prop_assert!(leaving.exact.get() <= leaving.approximate.get());
        }
    }

    #[test]
    fn an_eye_with_its_glasses_changes_nothing_and_a_myope_shortens_the_tube(
        objective in 5.0_f64..16.0, power in 2.0_f64..8.0, error in 0.25_f64..8.0,
    ) {
        for device in [keplerian(objective, power), galilean(objective, power)] {
            let none = device.for_ametropia(d(0.0)).expect("in range");
            prop_assert!(none.change.get().abs() < 1e-12 && close(none.signed_power, device.signed_power()));
            if let Ok(myope) = device.for_ametropia(d(-error)) {
                prop_assert!(myope.change.get() < 0.0);
                let gains = myope.signed_power.abs() > device.signed_power().abs();
                prop_assert_eq!(gains, device.signed_power() < 0.0, "a Keplerian gains, a Galilean loses");
            }
        }
    }

    #[test]
    fn a_near_limit_tells_its_focal_length_and_a_tube_gives_more_than_a_cap(
        focal in 0.03_f64..0.25, travel in 0.001_f64..0.03, power in 1.5_f64..8.0, beyond in 1.5_f64..10.0,
    ) {
        let nearest = nearest_focus(m(focal), m(travel)).expect("in range");
        prop_assume!(nearest.get() <= 50.0);
        prop_assert!(close(focal_of_near_limit(nearest, m(travel)).expect("in range").get(), focal));
        let far = focal * beyond;
        for device in [keplerian(1.0 / focal, power), galilean(1.0 / focal, power)] {
            let both = cap_or_tube(device, m(far)).expect("beyond the focus");
            prop_assert!(both.tube > both.cap);
            // That much longer a tube is focused there.
            let near = device.focused_for(nearest).expect("beyond the focus");
            prop_assert!((near.extension.get() / travel - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn a_nearer_board_takes_more_looks_and_shows_a_smaller_share(
        width in 1.0_f64..4.0, height in 0.8_f64..1.5, far in 1.0_f64..8.0, field in 3.0_f64..12.0, overlap in 0.0_f64..0.5,
    ) {
        let board = Board { width: m(width), height: m(height) };
        let looks = |far: f64| {
            let field = Degrees::new(field).expect("a field");
            board_coverage(board, m(far), field, part(overlap), INSCRIBED_SQUARE).expect("in range")
        };
        let (near, back) = (looks(far), looks(far * 1.5));
        prop_assert!(near.views_across >= back.views_across && near.strips_down >= back.strips_down);
        prop_assert!(near.seen_at_once <= back.seen_at_once);
        prop_assert!(near.views_across <= near.views_across_full);
    }

    #[test]
    fn a_stand_on_the_page_adds_nothing_and_a_lens_at_the_eye_adds_itself(
        lens in 4.0_f64..40.0, add in 0.0_f64..10.0, eye in 0.02_f64..0.5,
    ) {
        // At no separation powers add; at one focal length the add does nothing.
        let together = with_add(d(lens), d(add), m(0.0)).expect("in range");
        prop_assert!(close(together.power.get(), lens + add));
        let apart = with_add(d(lens), d(add), m(1.0 / lens)).expect("in range");
        prop_assert!(close(apart.power.get(), lens));
        // A stand of no height shows the page as it is, from the lens's distance.
        let flat = stand(d(lens), m(1e-9), m(eye)).expect("inside the focus");
        prop_assert!((flat.enlargement.get() - 1.0).abs() < 1e-6);
        prop_assert!((flat.equivalent.viewing_distance.get() / eye - 1.0).abs() < 1e-6);
        // Twice the distance, half the strip.
        let strip = |eye: f64| hand_field(m(0.05), d(lens), m(eye)).expect("in range").get();
        prop_assert!(close(strip(eye), 2.0 * strip(2.0 * eye)));
    }

    #[test]
    fn the_power_for_what_was_read_is_the_distance_it_was_read_at(print in 0.4_f64..8.0, far in 0.1_f64..0.6) {
        let size = MUnits::new(print).expect("a size");
        let same = power_for(ReadAt { print: size, distance: m(far) }, size, ratio(1.0)).expect("in range");
        prop_assert!(close(same.viewing_distance.get(), far));
    }

    #[test]
    fn a_lens_there_and_back_is_the_same_lens(
        sphere in -15.0_f64..12.0, cylinder in -5.0_f64..5.0, axis in 1_u32..=180, moved in -0.016_f64..0.016,
    ) {
        let lens = Lens { sphere: d(sphere), cylinder: d(cylinder), axis: Axis::new(f64::from(axis)).expect("an axis") };
        let there = lens.moved_toward_eye(m(moved)).expect("in range");
        let back = there.moved_toward_eye(m(-moved)).expect("in range");
        prop_assert!(close(back.sphere.get(), sphere) && close(back.cylinder.get(), cylinder));
        let power = at_other_distance(d(sphere), m(moved)).expect("in range");
        prop_assert!(close(at_other_distance(power, m(-moved)).expect("in range").get(), sphere));
        // Moved toward the eye every minus lens grows weaker and every plus lens stronger.
        prop_assert!(moved.abs() < 1e-6 || sphere.abs() < 1e-6 || ((power.get() - sphere) * moved >= 0.0));
        // The vector does not know in which form the lens was written.
        let (one, other) = (lens.power_vector().expect("in range"), lens.transposed().power_vector().expect("in range"));
        prop_assert!(close(one.mean.get(), other.mean.get()));
        prop_assert!(close(one.blur_strength().expect("in range").get(), other.blur_strength().expect("in range").get()));
    }
}
