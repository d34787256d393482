//! Odd numbers for telescopes, magnifiers and refraction.

use farpoint::vision::acuity::LogMar;
use farpoint::vision::acuity::near::MUnits;
use farpoint::vision::demand::Seat;
use farpoint::vision::magnifier::{
    Equivalent, ReadAt, add_for, add_for_distance, characters_in, hand_field, kestenbaum, label_readings,
    of_enlargement, power_for, power_for_height, stand, window_field, with_add, working_distance,
};
use farpoint::vision::refraction::check::{add, cylinder, lens, pupil_distance, sphere, vertex};
use farpoint::vision::refraction::{Axis, Lens, PowerVector, accommodation_by_age, at_other_distance, sustained};
use farpoint::vision::telescope::coverage::{
    Board, ObliqueViews, board_coverage, scan_time, too_many_looks, views_from_the_side,
};
use farpoint::vision::telescope::field::{HalfField, left_behind_exit_pupil};
use farpoint::vision::telescope::near::{Reach, cap_or_tube, focal_of_near_limit, nearest_focus, reach, reading_cap};
use farpoint::vision::telescope::optics::{Afocal, OpticsError};
use farpoint::vision::telescope::{
    FarWidth, Label, apparent_field, brightness, delivered_power, exit_pupil, field_width, predicted_acuity, steadiness,
};
use farpoint::vision::units::{
    Degrees, Dioptres, Fraction, Magnification, Metres, Millimetres, OutOfRange, Ratio, Seconds,
};

use super::{Answer, Question, whole};

fn m(value: f64) -> Result<Metres, OutOfRange> {
    Metres::new(value)
}

fn mm(value: f64) -> Result<Millimetres, OutOfRange> {
    Millimetres::new(value)
}

fn d(value: f64) -> Result<Dioptres, OutOfRange> {
    Dioptres::new(value)
}

fn deg(value: f64) -> Result<Degrees, OutOfRange> {
    Degrees::new(value)
}

fn x_power(value: f64) -> Result<Magnification, OutOfRange> {
    Magnification::new(value)
}

fn device(x: &[f64]) -> Result<Afocal, OpticsError> {
    Afocal::new(d(x[0])?, d(x[1])?)
}

fn both(found: Equivalent) -> Answer {
    Ok(vec![found.power.get(), found.viewing_distance.get()])
}

fn edges(field: HalfField) -> Answer {
    let full = field.full_light.map(Degrees::get);
    Ok([full, Some(field.central_ray.get()), Some(field.last_light.get())].into_iter().flatten().collect())
}

fn glass(x: &[f64]) -> Result<Lens, OutOfRange> {
    Ok(Lens { sphere: d(x[0])?, cylinder: d(x[1])?, axis: Axis::typed(deg(x[2])?)? })
}

fn of_lens(lens: Lens) -> Answer {
    Ok(vec![lens.sphere.get(), lens.cylinder.get(), lens.axis.get()])
}

fn vector(x: &[f64]) -> Result<PowerVector, OutOfRange> {
    Ok(PowerVector { mean: d(x[0])?, straight: d(x[1])?, diagonal: d(x[2])? })
}

const fn question(name: &'static str, usual: &'static [f64], ask: fn(&[f64]) -> Answer) -> Question {
    Question { name, usual, ask }
}

/// Something was decided, without a figure.
const DECIDED: fn() -> Answer = || Ok(vec![0.0]);

pub(super) const QUESTIONS: &[Question] = &[
    question("telescope::exit_pupil", &[20.0, 8.0], |x| Ok(vec![exit_pupil(mm(x[0])?, x_power(x[1])?)?.get()])),
    question("telescope::apparent_field", &[8.0, 7.5], |x| {
        let seen = apparent_field(x_power(x[0])?, deg(x[1])?)?;
        Ok(vec![seen.by_tangent.get(), seen.simple.get()])
    }),
    question("telescope::field_width", &[7.0, 6.0], |x| Ok(vec![field_width(deg(x[0])?, m(x[1])?)?.get()])),
    question("telescope::of", &[8.0], |x| {
        let field = deg(x[0])?;
        Ok(vec![FarWidth::FeetAt1000Yards.of(field)?, FarWidth::MetresAt1000Metres.of(field)?])
    }),
    question("telescope::true_field", &[131.0], |x| Ok(vec![FarWidth::MetresAt1000Metres.true_field(x[0])?.get()])),
    question("telescope::brightness", &[2.5, 3.0, 0.85], |x| {
        Ok(vec![brightness(mm(x[0])?, mm(x[1])?, Fraction::new(x[2])?)?.get()])
    }),
    question("telescope::predicted_acuity", &[0.9, 6.0], |x| {
        Ok(vec![predicted_acuity(LogMar::new(x[0])?, x_power(x[1])?)?.get()])
    }),
    question("telescope::delivered_power", &[0.9, 0.2], |x| {
        Ok(vec![delivered_power(LogMar::new(x[0])?, LogMar::new(x[1])?)?.get()])
    }),
    question("telescope::steadiness", &[6.0], |x| {
        steadiness(x_power(x[0])?).map_err(Into::into).and_then(|_| DECIDED())
    }),
    question("telescope::check", &[8.0, 20.0, 7.0], |x| {
        Label { power: x_power(x[0])?, objective: mm(x[1])?, field: deg(x[2])? }.check()?;
        DECIDED()
    }),
    question("telescope::optics::exit_pupil", &[8.0, 64.0, 0.02], |x| {
        let device = device(x)?;
        let position = device.exit_pupil_position()?.get();
        Ok(vec![device.signed_power(), device.tube_length()?.get(), position, device.exit_pupil(m(x[2])?)?.get()])
    }),
    question("telescope::optics::focused_for", &[8.0, 64.0, 0.5], |x| {
        let near = device(x)?.focused_for(m(x[2])?)?;
        let powers = [near.power_at_objective.get(), near.power_at_ocular.get(), near.equivalent.get()];
        Ok([near.tube.get(), near.extension.get()].into_iter().chain(powers).collect())
    }),
    question("telescope::optics::exit_pupil_focused_for", &[8.0, 64.0, 0.02, 1.0], |x| {
        let (wide, behind) = device(x)?.exit_pupil_focused_for(m(x[2])?, m(x[3])?)?;
        Ok(vec![wide.get(), behind.get()])
    }),
    question("telescope::optics::exit_vergence", &[10.0, -20.0, 0.4], |x| {
        let leaving = device(x)?.exit_vergence(m(x[2])?)?;
        Ok(vec![leaving.exact.get(), leaving.approximate.get()])
    }),
    question("telescope::optics::vergence_at_eye", &[10.0, -20.0, 0.4, 0.015], |x| {
        Ok(vec![device(x)?.vergence_at_eye(m(x[2])?, m(x[3])?)?.get()])
    }),
    question("telescope::optics::for_ametropia", &[8.0, 64.0, -6.0], |x| {
        let set = device(x)?.for_ametropia(d(x[2])?)?;
        Ok(vec![set.signed_power, set.tube.get(), set.change.get()])
    }),
    question("telescope::near::nearest_focus", &[0.125, 0.01], |x| Ok(vec![nearest_focus(m(x[0])?, m(x[1])?)?.get()])),
    question("telescope::near::focal_of_near_limit", &[1.7, 0.01], |x| {
        Ok(vec![focal_of_near_limit(m(x[0])?, m(x[1])?)?.get()])
    }),
    question("telescope::near::reach", &[4.0, 0.5, 3.0, -2.0], |x| {
        let found = reach(x_power(x[0])?, m(x[1])?, m(x[2])?, d(x[3])?)?;
        Ok(vec![match found {
            Reach::TooShort => 0.0,
            _ => 1.0,
        }])
    }),
    question("telescope::near::cap_or_tube", &[10.0, -20.0, 0.4], |x| {
        let found = cap_or_tube(device(x)?, m(x[2])?)?;
        Ok(vec![found.cap.get(), found.tube.get()])
    }),
    question("telescope::near::reading_cap", &[2.0, 2.5], |x| {
        let capped = reading_cap(x_power(x[0])?, d(x[1])?)?;
        Ok(vec![capped.equivalent.get(), capped.working_distance.get(), capped.viewing_distance.get()])
    }),
    question("telescope::field::galilean_field", &[10.0, -20.0, 0.022, 0.012, 0.004], |x| {
        edges(device(x)?.galilean_field(m(x[2])?, m(x[3])?, m(x[4])?)?)
    }),
    question("telescope::field::keplerian_field", &[8.0, 64.0, 0.02, 0.012], |x| {
        edges(device(x)?.keplerian_field(m(x[2])?, m(x[3])?)?)
    }),
    question("telescope::field::field_through_stop", &[8.0, 64.0, 0.0165], |x| {
        let (seen, looks) = device(x)?.field_through_stop(m(x[2])?)?;
        Ok(vec![seen.get(), looks.get()])
    }),
    question("telescope::field::left_behind_exit_pupil", &[0.0025, 0.003, 0.012], |x| {
        let left = left_behind_exit_pupil(m(x[0])?, m(x[1])?, m(x[2])?)?;
        Ok(vec![left.pupil_centre.get(), left.last_light.get()])
    }),
    question("telescope::coverage::board_coverage", &[2.4, 1.2, 4.0, 7.0, 0.2, 0.7], |x| {
        let board = Board { width: m(x[0])?, height: m(x[1])? };
        let looks = board_coverage(board, m(x[2])?, deg(x[3])?, Fraction::new(x[4])?, Fraction::new(x[5])?)?;
        Ok(vec![looks.field_width.get(), looks.seen_at_once.get(), f64::from(looks.views_across)])
    }),
    question("telescope::coverage::views_from_the_side", &[2.4, 3.0, 2.5, 7.0, 0.2], |x| {
        let seat = Seat { to_the_board: m(x[1])?, aside: m(x[2])? };
        let looks = views_from_the_side(m(x[0])?, seat, deg(x[3])?, Fraction::new(x[4])?)?;
        Ok(vec![looks.board.get(), f64::from(looks.views_across)])
    }),
    question("telescope::coverage::scan_time", &[18.0, 2.0, 0.8], |x| {
        Ok(vec![scan_time(whole(x[0])?, Seconds::new(x[1])?, Seconds::new(x[2])?)?.get()])
    }),
    question("telescope::coverage::too_many_looks", &[18.0, 50.0], |x| {
        too_many_looks(whole(x[0])?, Some(Seconds::new(x[1])?))?;
        DECIDED()
    }),
    question("magnifier::with_add", &[20.0, 4.0, 0.1], |x| both(with_add(d(x[0])?, d(x[1])?, m(x[2])?)?)),
    question("magnifier::label_readings", &[12.0], |x| {
        let readings = label_readings(d(x[0])?)?;
        Ok(vec![readings.quarter.get(), readings.quarter_plus_one.get()])
    }),
    question("magnifier::stand", &[20.0, 0.04, 0.25], |x| {
        let used = stand(d(x[0])?, m(x[1])?, m(x[2])?)?;
        let distances = [used.image_below_lens.get(), used.eye_to_image.get()];
        Ok([used.enlargement.get(), used.focus_needed.get(), used.equivalent.power.get()]
            .into_iter()
            .chain(distances)
            .collect())
    }),
    question("magnifier::hand_field", &[0.09, 6.0, 0.25], |x| {
        Ok(vec![hand_field(m(x[0])?, d(x[1])?, m(x[2])?)?.get()])
    }),
    question("magnifier::window_field", &[0.06, 11.1, 0.25], |x| {
        Ok(vec![window_field(m(x[0])?, d(x[1])?, m(x[2])?)?.get()])
    }),
    question("magnifier::power_for_height", &[1.0, 0.00145, 2.0], |x| {
        both(power_for_height(LogMar::new(x[0])?, m(x[1])?, Ratio::new(x[2])?)?)
    }),
    question("telescope::coverage::share_of_width", &[28.0, 7.0], |x| {
        let looks = ObliqueViews { board: deg(x[0])?, views_across: 5 };
        Ok(vec![looks.share_of_width(deg(x[1])?)?.get()])
    }),
    question("magnifier::characters_in", &[0.028, 0.0029], |x| Ok(vec![characters_in(m(x[0])?, m(x[1])?)?])),
    question("magnifier::add_for_distance", &[0.1, 6.0], |x| Ok(vec![add_for_distance(m(x[0])?, d(x[1])?)?.get()])),
    question("magnifier::kestenbaum", &[1.0], |x| Ok(vec![kestenbaum(LogMar::new(x[0])?)?.get()])),
    question("magnifier::add_for", &[5.0, 2.0], |x| Ok(vec![add_for(d(x[0])?, MUnits::new(x[1])?)?.get()])),
    question("magnifier::power_for", &[2.0, 0.4, 1.0, 2.0], |x| {
        let read = ReadAt { print: MUnits::new(x[0])?, distance: m(x[1])? };
        both(power_for(read, MUnits::new(x[2])?, Ratio::new(x[3])?)?)
    }),
    question("magnifier::of_enlargement", &[10.0, 0.25], |x| both(of_enlargement(Ratio::new(x[0])?, m(x[1])?)?)),
    question("magnifier::working_distance", &[0.0, 4.0, -6.0], |x| {
        both(working_distance(d(x[0])?, d(x[1])?, d(x[2])?)?)
    }),
    question("refraction::typed", &[90.0], |x| Ok(vec![Axis::typed(deg(x[0])?)?.get()])),
    question("refraction::transposed", &[-3.0, -2.0, 180.0], |x| of_lens(glass(x)?.transposed())),
    question("refraction::power_vector", &[-3.0, -2.0, 180.0], |x| {
        let vector = glass(x)?.power_vector()?;
        Ok(vec![vector.mean.get(), vector.straight.get(), vector.diagonal.get()])
    }),
    question("refraction::power_in", &[-3.0, -2.0, 180.0, 45.0], |x| Ok(vec![glass(x)?.power_in(deg(x[3])?)?.get()])),
    question("refraction::moved_toward_eye", &[-8.0, -3.0, 180.0, 0.012], |x| {
        of_lens(glass(x)?.moved_toward_eye(m(x[3])?)?)
    }),
    question("refraction::blur_strength", &[-4.0, 1.0, 0.5], |x| Ok(vec![vector(x)?.blur_strength()?.get()])),
    question("refraction::lens", &[-4.0, 1.0, 0.5], |x| of_lens(vector(x)?.lens()?)),
    question("refraction::at_other_distance", &[-10.0, 0.012], |x| {
        Ok(vec![at_other_distance(d(x[0])?, m(x[1])?)?.get()])
    }),
    question("refraction::accommodation_by_age", &[8.0], |x| {
        let able = accommodation_by_age(x[0])?;
        Ok(vec![able.minimum.get(), able.average.get(), able.maximum.get()])
    }),
    question("refraction::sustained", &[13.0], |x| Ok(vec![sustained(d(x[0])?)?.get()])),
    question("refraction::check::sphere", &[-2.0], |x| {
        sphere(d(x[0])?)?;
        DECIDED()
    }),
    question("refraction::check::cylinder", &[-2.0], |x| {
        cylinder(d(x[0])?)?;
        DECIDED()
    }),
    question("refraction::check::add", &[2.0], |x| {
        add(d(x[0])?)?;
        DECIDED()
    }),
    question("refraction::check::vertex", &[12.0], |x| {
        vertex(mm(x[0])?)?;
        DECIDED()
    }),
    question("refraction::check::pupil_distance", &[60.0], |x| {
        pupil_distance(mm(x[0])?)?;
        DECIDED()
    }),
    question("refraction::check::lens", &[-2.0, -1.0, 90.0], |x| {
        of_lens(lens(d(x[0])?, d(x[1])?, Some(deg(x[2])?))?.0)
    }),
];
