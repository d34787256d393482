//! Which acuity rows may be held against each other, over time and between two
//! examinations?
//!
//! Only rows of one eye, with one correction, at one distance, of one kind of chart
//! and in one light: anything else differs for other reasons than the eye. Whether a
//! difference is more than two tests differ by anyway is
//! [`crate::vision::acuity::change`]. Does not know who reads.

use jiff::civil::Date;

use super::{AcuityRow, NewAcuity};
use crate::vision::acuity::Measured;
use crate::vision::acuity::change::{Difference, difference};

/// Distances this near to each other are one distance, as a share of the longer:
/// a chart for 3 m is read at 10 ft, one for 6 m at 20 ft. Common practice.
pub const ONE_DISTANCE: f64 = 0.025;

/// Whether a difference between these rows is a difference of the eye.
#[must_use]
pub fn comparable(one: &NewAcuity, other: &NewAcuity) -> bool {
    let (near, far) = (one.distance.value.get(), other.distance.value.get());
    let one_distance = (near - far).abs() <= ONE_DISTANCE * near.max(far);
    // A chart that was not named is taken as the one that was.
    let one_chart = one.chart.zip(other.chart).is_none_or(|(one, other)| one == other);
    // Nor is a light: whom light hurts reads less in the sun on the same day.
    let one_light = one.light.zip(other.light).is_none_or(|(one, other)| one == other);
    one.eye == other.eye
        && one.correction == other.correction
        && one.device == other.device
        && one_distance
        && one_chart
        && one_light
}

/// Rows of one kind, oldest first; every one is comparable with the one before.
#[derive(Clone)]
pub struct Series<'a> {
    /// The rows with the day each was found; never empty.
    pub rows: Vec<(Date, &'a AcuityRow)>,
}

impl<'a> Series<'a> {
    /// The rows with a figure.
    pub fn measured(&self) -> impl Iterator<Item = (Date, &'a AcuityRow, Measured)> {
        self.rows.iter().filter_map(|(on, row)| Some((*on, *row, value(row)?)))
    }

    /// What the newest figure differs from the one before it by.
    #[must_use]
    pub fn newest_difference(&self) -> Option<Difference> {
        let values: Vec<Measured> = self.measured().map(|(_, _, value)| value).collect();
        let [.., before, now] = values.as_slice() else { return None };
        Some(difference(*before, *now))
    }
}

fn value(row: &AcuityRow) -> Option<Measured> {
    row.row.finding.logmar().and_then(|logmar| Measured::new(logmar).ok())
}

/// Rows put together by what may be joined, in the order of their newest row;
/// `rows` is newest first, and a row without a day is left out.
#[must_use]
pub fn series(rows: &[AcuityRow]) -> Vec<Series<'_>> {
    let mut found: Vec<Series<'_>> = Vec::new();
    for row in rows {
        let Some(on) = row.examined_on else { continue };
        // Each against the oldest so far: what stands between two is comparable with
        // both. Two rows of one examination are no change over time.
        let same = |series: &&mut Series<'_>| {
            let oldest = series.rows.last();
            oldest.is_some_and(|(_, other)| other.evaluation != row.evaluation && comparable(&other.row, &row.row))
        };
        match found.iter_mut().find(same) {
            Some(series) => series.rows.push((on, row)),
            None => found.push(Series { rows: vec![(on, row)] }),
        }
    }
    for series in &mut found {
        series.rows.reverse();
    }
    found
}

/// The last two examinations, row by row.
pub struct LastTwo<'a> {
    /// The day of the one before.
    pub then_on: Date,
    /// The day of the newest.
    pub now_on: Date,
    /// Rows that both have: then and now.
    pub pairs: Vec<(&'a AcuityRow, &'a AcuityRow)>,
    /// Rows of the newest without a fellow in the one before.
    pub only_now: Vec<&'a AcuityRow>,
    /// Rows of the one before without a fellow in the newest.
    pub only_then: Vec<&'a AcuityRow>,
}

/// The difference of a pair; none where one of them is a category.
#[must_use]
pub fn of_pair((then, now): (&AcuityRow, &AcuityRow)) -> Option<Difference> {
    value(then).zip(value(now)).map(|(then, now)| difference(then, now))
}

/// The last two examinations with acuities among rows that stand newest first;
/// none where there are not two.
#[must_use]
pub fn last_two(rows: &[AcuityRow]) -> Option<LastTwo<'_>> {
    let newest = rows.iter().find(|row| row.examined_on.is_some())?;
    let before = rows.iter().find(|row| row.evaluation != newest.evaluation && row.examined_on.is_some())?;
    let of = |one: &AcuityRow| {
        let evaluation = one.evaluation;
        rows.iter().filter(move |row| row.evaluation == evaluation)
    };
    let mut then: Vec<&AcuityRow> = of(before).collect();
    let (mut pairs, mut only_now) = (Vec::new(), Vec::new());
    for now in of(newest) {
        match then.iter().position(|older| comparable(&older.row, &now.row)) {
            Some(place) => pairs.push((then.remove(place), now)),
            None => only_now.push(now),
        }
    }
    Some(LastTwo { then_on: before.examined_on?, now_on: newest.examined_on?, pairs, only_now, only_then: then })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::care::evaluation::{ChartType, Correction, Finding, HowRecorded, RoomLight, Sight, TestedEye};
    use crate::care::ids::{AcuityId, EvaluationId};
    use crate::care::typed::Typed;
    use crate::vision::acuity::LogMar;
    use crate::vision::units::Metres;
    use uuid::Uuid;

    fn row(eye: TestedEye, metres: f64, logmar: Option<f64>) -> NewAcuity {
        NewAcuity {
            eye,
            correction: Correction::BestCorrection,
            distance: Typed::new(format!("{metres} m"), Metres::new(metres).expect("a distance")),
            notation: HowRecorded::LogMar,
            as_recorded: logmar.map_or_else(|| "HM".to_owned(), |value| value.to_string()),
            finding: logmar.map_or(Finding::Category(Sight::HandMovement), |value| {
                Finding::Measured(LogMar::new(value).expect("a logMAR"))
            }),
            chart: None,
            rows: None,
            effort: None,
            light: None,
            device: None,
            note: String::new(),
            confirmed: String::new(),
        }
    }

    fn found(evaluation: EvaluationId, year: i16, row: NewAcuity) -> AcuityRow {
        let on = Some(jiff::civil::date(year, 10, 9));
        AcuityRow { id: AcuityId::of(Uuid::nil()), evaluation, examined_on: on, row }
    }

    #[test]
    fn ten_feet_are_three_metres_and_nothing_else_is_let_pass() {
        let one = row(TestedEye::Right, 3.048, Some(1.0));
        assert!(comparable(&one, &row(TestedEye::Right, 3.0, Some(0.9))));
        assert!(!comparable(&one, &row(TestedEye::Right, 4.0, Some(1.0))));
        assert!(!comparable(&one, &row(TestedEye::Left, 3.0, Some(1.0))));
        let usual = NewAcuity { correction: Correction::HabitualGlasses, ..one.clone() };
        assert!(!comparable(&one, &usual), "usual glasses are not best correction");
        let letters = NewAcuity { chart: Some(ChartType::RowLetters), ..one.clone() };
        let pictures = NewAcuity { chart: Some(ChartType::Pictures), ..one.clone() };
        assert!(comparable(&one, &letters) && !comparable(&letters, &pictures));
        let in_light = |light| NewAcuity { light: Some(light), ..one.clone() };
        let [usual, sun] = [RoomLight::ALL[0], RoomLight::ALL[1]].map(in_light);
        assert!(comparable(&one, &sun) && !comparable(&usual, &sun), "another light is another test");
    }

    #[test]
    fn the_last_two_are_compared_row_by_row_and_the_rest_is_named() {
        let [old, before, now] = [1, 2, 3].map(|number| EvaluationId::of(Uuid::from_u128(number)));
        let rows = [
            found(now, 2026, row(TestedEye::Right, 3.0, Some(1.1))),
            found(now, 2026, row(TestedEye::Left, 3.0, None)),
            found(now, 2026, row(TestedEye::Both, 3.0, Some(1.0))),
            found(before, 2025, row(TestedEye::Right, 3.048, Some(0.9))),
            found(before, 2025, row(TestedEye::Left, 3.0, Some(1.2))),
            found(before, 2025, row(TestedEye::Both, 6.0, Some(1.0))),
            found(old, 2024, row(TestedEye::Right, 3.0, Some(0.9))),
        ];
        let two = last_two(&rows).expect("two examinations");
        assert_eq!((two.then_on.year(), two.now_on.year()), (2025, 2026));
        assert_eq!((two.pairs.len(), two.only_now.len(), two.only_then.len()), (2, 1, 1));
        let worse = of_pair(two.pairs[0]).expect("both measured");
        assert!((worse.log_units - 0.2).abs() < 1e-9 && worse.beyond_noise && worse.for_the_clinician);
        assert!(of_pair(two.pairs[1]).is_none(), "a category has no difference");
        assert!(last_two(&rows[6..]).is_none());

        let all = series(&rows);
        let lengths: Vec<usize> = all.iter().map(|one| one.rows.len()).collect();
        assert_eq!(lengths, [3, 2, 1, 1], "the two at other distances are not joined");
        assert_eq!(all[0].rows[0].0.year(), 2024, "oldest first");
        assert_eq!(all[1].measured().count(), 1);
        assert!(all[1].newest_difference().is_none());

        let twice = [
            found(now, 2026, row(TestedEye::Right, 3.0, Some(1.3))),
            found(now, 2026, row(TestedEye::Right, 3.0, Some(1.0))),
        ];
        assert_eq!(series(&twice).len(), 2, "one examination is no course of time");
    }
}
