//! Odd numbers for acuity, demand, reserve, contrast, light and length.

use std::error::Error;

use farpoint::vision::acuity::letters::Chart;
use farpoint::vision::acuity::near::{MUnits, x_height_of_type};
use farpoint::vision::acuity::{LogMar, Measured};
use farpoint::vision::contrast::screen::{Projector, ScreenReadings, ratio_as_weber};
use farpoint::vision::contrast::{
    LogContrastSensitivity, Polarity, Weber, below_full, contrasts, contrasts_of_surfaces, for_reserve,
    michelson_of_weber, root_mean_square, weber_of_michelson,
};
use farpoint::vision::demand::{
    BoardDemand, Seat, capitals_and_small, focusing_demand, letter_height, letter_seen, on_board, scale, straight_on,
    visual_angle,
};
use farpoint::vision::length::shown::{Units, distance, letter_rounded_up, seat_rounded_down};
use farpoint::vision::length::{feet, parse};
use farpoint::vision::light::{
    from_lamp, illuminance, luminance, lux_of_footcandles, needs_confirming, task_brightness,
};
use farpoint::vision::reserve::advice::{stocked_power, thin_contrast};
use farpoint::vision::reserve::{
    Placed, acuity_needed, acuity_reserve, contrast_reserve, contrast_reserve_of, farthest_seat, power_needed,
    size_check, smallest_letter, standing, total_magnification,
};
use farpoint::vision::units::{
    Arcminutes, Degrees, Fraction, Luminance, Lux, Magnification, Metres, Millimetres, OutOfRange, Ratio,
};

use super::{Answer, Question, whole};

fn m(value: f64) -> Result<Metres, OutOfRange> {
    Metres::new(value)
}

fn l(value: f64) -> Result<LogMar, OutOfRange> {
    LogMar::new(value)
}

fn r(value: f64) -> Result<Ratio, OutOfRange> {
    Ratio::new(value)
}

fn p(value: f64) -> Result<Fraction, OutOfRange> {
    Fraction::new(value)
}

fn w(value: f64) -> Result<Weber, OutOfRange> {
    Weber::new(value)
}

fn chart(x: &[f64]) -> Result<Chart, Box<dyn Error>> {
    Ok(Chart::new(l(x[0])?, x[1], whole(x[2])?)?.designed_for(m(x[3])?))
}

/// The length of what is told: a text always is finite.
fn told(text: &str) -> Answer {
    Ok(vec![parse(text).map_or(0.0, Metres::get)])
}

fn seat(x: &[f64]) -> Result<Seat, OutOfRange> {
    Ok(Seat { to_the_board: m(x[0])?, aside: m(x[1])? })
}

fn readings(x: &[f64]) -> Result<ScreenReadings, OutOfRange> {
    Ok(ScreenReadings { white: Lux::new(x[0])?, black: Lux::new(x[1])?, off: Lux::new(x[2])? })
}

fn projector(x: &[f64]) -> Result<Projector, OutOfRange> {
    Ok(Projector { white: Lux::new(x[0])?, black: Lux::new(x[1])? })
}

fn yes(answer: bool) -> Answer {
    Ok(vec![f64::from(u8::from(answer))])
}

const fn question(name: &'static str, usual: &'static [f64], ask: fn(&[f64]) -> Answer) -> Question {
    Question { name, usual, ask }
}

pub(super) const QUESTIONS: &[Question] = &[
    question("acuity::from_mar", &[10.0], |x| Ok(vec![LogMar::from_mar(Arcminutes::new(x[0])?)?.get()])),
    question("acuity::from_fraction", &[6.0, 60.0], |x| Ok(vec![LogMar::from_fraction(m(x[0])?, m(x[1])?)?.get()])),
    question("acuity::from_decimal", &[0.1], |x| Ok(vec![LogMar::from_decimal(x[0])?.get()])),
    question("acuity::from_var", &[50.0], |x| Ok(vec![LogMar::from_var(x[0])?.get()])),
    question("acuity::below_the_line", &[1.0, 20.0], |x| Ok(vec![l(x[0])?.below_the_line(x[1])?])),
    question("acuity::worse_by", &[1.0, 0.1], |x| Ok(vec![l(x[0])?.worse_by(x[1])?.get()])),
    question("acuity::every_notation", &[1.0], |x| {
        let value = l(x[0])?;
        Ok(vec![value.mar_arcminutes(), value.decimal(), value.var_score(), value.cycles_per_degree()])
    }),
    question("acuity::measured", &[1.0], |x| Ok(vec![Measured::new(l(x[0])?)?.logmar().get()])),
    question("acuity::letters::top_at", &[1.0, 0.1, 5.0, 4.0, 1.0], |x| Ok(vec![chart(x)?.top_at(m(x[4])?)?.get()])),
    question("acuity::letters::score", &[1.0, 0.1, 5.0, 4.0, 1.0, 37.0], |x| {
        Ok(vec![chart(x)?.score(whole(x[5])?, m(x[4])?)?.get(), chart(x)?.letter_worth()])
    }),
    question("acuity::letters::acuity", &[1.0, 0.1, 5.0, 4.0, 1.0, 37.0], |x| {
        Ok(vec![chart(x)?.acuity(whole(x[5])?, m(x[4])?)?.logmar().get()])
    }),
    question("acuity::near::of_height", &[1.45], |x| Ok(vec![MUnits::of_height(Millimetres::new(x[0])?)?.get()])),
    question("acuity::near::height", &[4.0], |x| Ok(vec![MUnits::new(x[0])?.height()?.get()])),
    question("acuity::near::read_at", &[4.0, 0.4], |x| Ok(vec![MUnits::new(x[0])?.read_at(m(x[1])?)?.get()])),
    question("acuity::near::just_read_by", &[1.0, 0.4], |x| Ok(vec![MUnits::just_read_by(l(x[0])?, m(x[1])?)?.get()])),
    question("acuity::near::of_n_points", &[8.0], |x| Ok(vec![MUnits::of_n_points(x[0])?.get()])),
    question("acuity::near::x_height_of_type", &[12.0, 0.45], |x| Ok(vec![x_height_of_type(x[0], p(x[1])?)?.get()])),
    question("demand::visual_angle", &[0.025, 3.0], |x| {
        let angle = visual_angle(m(x[0])?, m(x[1])?)?;
        Ok(vec![angle.exact.get(), angle.small_angle.get(), angle.small_angle_error_percent, angle.arcminutes()])
    }),
    question("demand::letter_height", &[10.0, 4.0], |x| {
        let letter = letter_height(Arcminutes::new(x[0])?, m(x[1])?)?;
        Ok(vec![letter.height.get(), letter.critical_detail.get()])
    }),
    question("demand::scale", &[0.573], |x| {
        let scale = scale(m(x[0])?)?;
        Ok(vec![scale.angle_per_millimetre.get(), scale.length_per_degree.get()])
    }),
    question("demand::straight_on", &[0.025, 3.0], |x| Ok(vec![straight_on(m(x[0])?, m(x[1])?)?.get()])),
    question("demand::capitals_and_small", &[0.03, 4.0, 0.7], |x| {
        let both = capitals_and_small(m(x[0])?, m(x[1])?, p(x[2])?)?;
        Ok(vec![both.capitals.get(), both.small.get()])
    }),
    question("demand::obliquity", &[3.0, 2.0], |x| Ok(vec![seat(x)?.obliquity()?.get()])),
    question("demand::letter_seen", &[3.0, 2.0, 0.03, 0.03], |x| {
        let letter = letter_seen(m(x[2])?, m(x[3])?, seat(x)?)?;
        Ok(vec![letter.height.get(), letter.width.get(), letter.working_demand().get(), letter.sight_distance.get()])
    }),
    question("demand::on_board", &[3.0, 2.0, 0.03, 2.4], |x| {
        Ok(vec![match on_board(m(x[2])?, seat(x)?, Some(m(x[3])?))? {
            BoardDemand::Seen(letter) => letter.working_demand().get(),
            BoardDemand::MoveTheSeat { obliquity } => obliquity.get(),
        }])
    }),
    question("demand::focusing_demand", &[0.25], |x| Ok(vec![focusing_demand(m(x[0])?)?.get()])),
    question("reserve::acuity_reserve", &[0.7, 0.3], |x| Ok(vec![acuity_reserve(l(x[0])?, l(x[1])?)?.get()])),
    question("reserve::standing", &[1.2], |x| {
        standing(r(x[0])?);
        Ok(vec![0.0])
    }),
    question("reserve::size_check", &[0.6, 0.9, 2.5], |x| {
        let check = size_check(l(x[0])?, l(x[1])?, r(x[2])?)?;
        Ok(vec![check.reserve.get(), check.reserve_log, check.magnification_needed.get(), check.acuity_needed.get()])
    }),
    question("reserve::acuity_needed", &[0.72, 2.5], |x| Ok(vec![acuity_needed(l(x[0])?, r(x[1])?)?.get()])),
    question("reserve::contrast_reserve", &[0.8, 0.05], |x| Ok(vec![contrast_reserve(w(x[0])?, w(x[1])?)?.get()])),
    question("reserve::contrast_reserve_of", &[0.8, 1.35], |x| {
        Ok(vec![contrast_reserve_of(w(x[0])?, LogContrastSensitivity::new(x[1])?)?.get()])
    }),
    question("reserve::total_magnification", &[6.0, 0.025, 2.0, 0.05, 4.0], |x| {
        let before = Placed { distance: m(x[0])?, height: m(x[1])? };
        let after = Placed { distance: m(x[2])?, height: m(x[3])? };
        let larger = total_magnification(before, after, Magnification::new(x[4])?)?;
        Ok(vec![larger.relative_distance.get(), larger.relative_size.get(), larger.total.get()])
    }),
    question("reserve::power_needed", &[1.0, 0.025, 4.0, 2.5], |x| {
        Ok(vec![power_needed(l(x[0])?, m(x[1])?, m(x[2])?, r(x[3])?)?.get()])
    }),
    question("reserve::farthest_seat", &[1.0, 0.025, 2.5, 4.0], |x| {
        Ok(vec![farthest_seat(l(x[0])?, m(x[1])?, r(x[2])?, Magnification::new(x[3])?)?.get()])
    }),
    question("reserve::smallest_letter", &[1.0, 4.0, 2.5, 4.0], |x| {
        Ok(vec![smallest_letter(l(x[0])?, m(x[1])?, r(x[2])?, Magnification::new(x[3])?)?.get()])
    }),
    question("reserve::advice::stocked_power", &[4.3, 6.0], |x| {
        stocked_power(r(x[0])?, &[Magnification::new(x[1])?])?;
        Ok(vec![0.0])
    }),
    question("reserve::advice::thin_contrast", &[0.6, 8.0, 2.0], |x| {
        yes(thin_contrast(w(x[0])?, r(x[1])?, r(x[2])?).is_some())
    }),
    question("contrast::threshold", &[1.65], |x| Ok(vec![LogContrastSensitivity::new(x[0])?.threshold()?.get()])),
    question("contrast::from_letters", &[36.0, 3.0, 0.05], |x| {
        Ok(vec![LogContrastSensitivity::from_letters(whole(x[0])?, whole(x[1])?, x[2])?.get()])
    }),
    question("contrast::contrasts", &[8.0, 80.0], |x| {
        let found = contrasts(Luminance::new(x[0])?, Luminance::new(x[1])?)?;
        Ok([Some(found.weber.get()), Some(found.michelson.get()), found.luminance_ratio]
            .into_iter()
            .flatten()
            .collect())
    }),
    question("contrast::contrasts_of_surfaces", &[0.05, 0.8], |x| {
        let found = contrasts_of_surfaces(p(x[0])?, p(x[1])?)?;
        Ok([Some(found.weber.get()), Some(found.michelson.get()), found.luminance_ratio]
            .into_iter()
            .flatten()
            .collect())
    }),
    question("contrast::root_mean_square", &[8.0, 80.0, 0.1], |x| {
        Ok(vec![root_mean_square(Luminance::new(x[0])?, Luminance::new(x[1])?, p(x[2])?)?])
    }),
    question("contrast::weber_of_michelson", &[0.5], |x| {
        let dark = weber_of_michelson(p(x[0])?, Polarity::DarkOnLight)?;
        Ok(vec![dark.get(), weber_of_michelson(p(x[0])?, Polarity::LightOnDark)?.get()])
    }),
    question("contrast::michelson_of_weber", &[0.5], |x| {
        let light = michelson_of_weber(w(x[0])?, Polarity::LightOnDark)?;
        Ok(vec![light.get(), michelson_of_weber(w(x[0])?, Polarity::DarkOnLight)?.get()])
    }),
    question("contrast::for_reserve", &[0.5], |x| {
        let light = for_reserve(w(x[0])?, Polarity::LightOnDark)?;
        Ok(vec![light.get(), for_reserve(w(x[0])?, Polarity::DarkOnLight)?.get()])
    }),
    question("contrast::below_full", &[0.3], |x| Ok(vec![below_full(x[0])?.get()])),
    question("contrast::screen::in_room", &[400.0, 1.0, 150.0, 1.0], |x| {
        let left = projector(x)?.in_room(Lux::new(x[2])?, r(x[3])?)?;
        Ok(vec![left.white.get(), left.black.get(), left.system_ratio, left.dark_text.get(), left.michelson.get()])
    }),
    question("contrast::screen::most_ambient", &[400.0, 1.0, 7.0], |x| {
        Ok(vec![projector(x)?.most_ambient(r(x[2])?)?.get()])
    }),
    question("contrast::screen::most_ambient_for", &[400.0, 1.0, 0.8], |x| {
        Ok(vec![projector(x)?.most_ambient_for(w(x[2])?)?.get()])
    }),
    question("contrast::screen::projector", &[550.0, 151.0, 150.0], |x| {
        let own = readings(x)?.projector()?;
        Ok(vec![own.white.get(), own.black.get()])
    }),
    question("contrast::screen::left_of", &[550.0, 151.0, 150.0, 0.9], |x| {
        Ok(vec![readings(x)?.left_of(w(x[3])?)?.get()])
    }),
    question("contrast::screen::ratio_as_weber", &[4.5, 1.0], |x| {
        let text = ratio_as_weber(r(x[0])?, p(x[1])?)?;
        Ok(vec![text.text.get(), text.no_flare.get(), text.with_flare.get()])
    }),
    question("light::luminance", &[500.0, 0.7], |x| Ok(vec![luminance(Lux::new(x[0])?, p(x[1])?)?.get()])),
    question("light::illuminance", &[85.0, 0.8], |x| Ok(vec![illuminance(Luminance::new(x[0])?, p(x[1])?)?.get()])),
    question("light::lux_of_footcandles", &[50.0], |x| Ok(vec![lux_of_footcandles(x[0])?.get()])),
    question("light::from_lamp", &[200.0, 0.5, 30.0], |x| {
        Ok(vec![from_lamp(x[0], m(x[1])?, Degrees::new(x[2])?)?.get()])
    }),
    question("light::needs_confirming", &[300.0], |x| yes(needs_confirming(Lux::new(x[0])?))),
    question("light::task_brightness", &[100.0], |x| {
        task_brightness(Luminance::new(x[0])?);
        Ok(vec![0.0])
    }),
    question("length::feet", &[20.0], |x| Ok(vec![feet(x[0])?.get()])),
    question("length::shown::distance", &[2.6], |x| told(&distance(m(x[0])?, Units::Imperial))),
    question("length::shown::letter_height", &[0.035], |x| {
        told(&farpoint::vision::length::shown::letter_height(m(x[0])?, Units::Metric))
    }),
    question("length::shown::seat_rounded_down", &[2.69], |x| {
        Ok(vec![seat_rounded_down(m(x[0])?, Units::Imperial).map_or(0.0, Metres::get)])
    }),
    question("length::shown::letter_rounded_up", &[0.067], |x| {
        Ok(vec![letter_rounded_up(m(x[0])?, Units::Metric)?.get()])
    }),
];
