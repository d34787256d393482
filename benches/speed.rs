//! How fast is the arithmetic, beside the same arithmetic in NumPy?
//!
//! `./tests/benchmark` runs both. This half draws inputs with a fixed seed,
//! writes them for Python where it is told to, takes the median of several
//! rounds on one core, and prints one line for each measurement: its name, how
//! many were computed in a round, the median seconds, and a sum over the
//! results, by which both halves show that they computed the same.
//! Nothing here fails for being slow.

use std::hint::black_box;
use std::io::{BufWriter, Write};
use std::time::Instant;

use farpoint::care::device::DeviceSpec;
use farpoint::care::evaluation::Correction;
use farpoint::care::ids::{AccountId, SeatId, VisualTaskId};
use farpoint::care::journey::fact::Source;
use farpoint::care::options::{self, Prescriber, Question};
use farpoint::care::room::Layout;
use farpoint::care::sight::{AtHand, AtHandAs, Bearing, Evaluated, InClass, Sight, SightRow};
use farpoint::care::task::{
    Aside, Display, Goal, Marker, NewSeat, NewTask, ScreenLight, Seat, TargetClass, TaskCode, VisualTask,
};
use farpoint::care::track::{DeviceKind, Eye, Track};
use farpoint::care::typed::Typed;
use farpoint::vision::acuity::{LogMar, Measured};
use farpoint::vision::contrast::LogContrastSensitivity;
use farpoint::vision::contrast::marker::MarkerTable;
use farpoint::vision::length::shown::Units;
use farpoint::vision::readable::Goals;
use farpoint::vision::stats::everyday::{self, Cell, Guess, Observation, Prior, Saw, everyday};
use farpoint::vision::stats::observing::Tally;
use farpoint::vision::telescope::field_width;
use farpoint::vision::telescope::optics::Afocal;
use farpoint::vision::units::{Degrees, Dioptres, Lux, Magnification, Metres, Millimetres};

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

const MANY: usize = 1_000_000;
const ROUNDS: usize = 7;
/// Students whose thresholds are computed in a round.
const STUDENTS: usize = 100;

/// Numbers that look random and are the same every time (SplitMix64).
struct Dice(u64);

impl Dice {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        low + (high - low) * (((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64)
    }
}

/// The median seconds of a round, and what the last one computed.
fn median_of(mut round: impl FnMut() -> Outcome<f64>) -> Outcome<(f64, f64)> {
    let mut times = Vec::with_capacity(ROUNDS);
    let mut sum = round()?;
    for _ in 0..ROUNDS {
        let begun = Instant::now();
        sum = black_box(round()?);
        times.push(begun.elapsed().as_secs_f64());
    }
    times.sort_by(f64::total_cmp);
    Ok((times[ROUNDS / 2], sum))
}

/// Test and letter distances in metres: acuity of 0.3 below to 2 above the normal line.
fn fractions() -> Vec<[f64; 2]> {
    let mut dice = Dice(1);
    (0..MANY)
        .map(|_| {
            let test = dice.between(0.5, 6.0);
            [test, test * 10_f64.powf(dice.between(-0.3, 2.0))]
        })
        .collect()
}

/// Objective and ocular in dioptres, the objective's width, the object's distance, the field in degrees.
fn telescopes() -> Vec<[f64; 5]> {
    let mut dice = Dice(2);
    (0..MANY)
        .map(|place| {
            let objective = dice.between(5.0, 16.0);
            let times = dice.between(2.0, 8.0);
            let ocular = if place % 2 == 0 { objective * times } else { -objective * times };
            [objective, ocular, dice.between(0.01, 0.04), dice.between(1.0, 10.0), dice.between(3.0, 12.0)]
        })
        .collect()
}

fn acuity(inputs: &[[f64; 2]]) -> Outcome<f64> {
    let mut sum = 0.0;
    for [test, letter] in inputs {
        let acuity = LogMar::from_fraction(Metres::new(*test)?, Metres::new(*letter)?)?;
        sum += acuity.get() + acuity.decimal() + acuity.var_score() + acuity.mar_arcminutes();
    }
    Ok(sum)
}

fn telescope(inputs: &[[f64; 5]]) -> Outcome<f64> {
    let mut sum = 0.0;
    for [objective, ocular, width, away, field] in inputs {
        let device = Afocal::new(Dioptres::new(*objective)?, Dioptres::new(*ocular)?)?;
        let away = Metres::new(*away)?;
        let near = device.focused_for(away)?;
        sum += device.signed_power()
            + device.exit_pupil(Metres::new(*width)?)?.get()
            + field_width(Degrees::new(*field)?, away)?.get()
            + near.tube.get()
            + near.power_at_objective.get()
            + near.power_at_ocular.get()
            + near.equivalent.get();
    }
    Ok(sum)
}

/// A task at the student's own distance, with small letters this tall.
fn task(distance: f64, height_mm: f64) -> Outcome<VisualTask> {
    Ok(VisualTask {
        id: VisualTaskId::of(uuid::Uuid::nil()),
        what: NewTask {
            code: TaskCode::BoardWords,
            name: "Board".to_owned(),
            place: String::new(),
            seat: None,
            track: Track::Distance,
            goal: Goal::Copy,
            own_distance: Some(Typed::new(format!("{distance} m"), Metres::new(distance)?)),
            x_height: Some(Typed::new(format!("{height_mm} mm"), Millimetres::new(height_mm)?)),
            display: Some(Display::Whiteboard),
            marker: Some(Marker::BlackOnWhite),
            light: None,
            screen: None,
            target: TargetClass::Words,
            choices: None,
            measured: true,
            wanted_by: String::new(),
        },
        room: None,
        seat_distance: None,
        created_by: AccountId::of(uuid::Uuid::nil()),
        retired: false,
        version: 1,
    })
}

/// A seat to the side of a board of three metres, the rows before it known.
fn seat(distance: f64) -> Outcome<Seat> {
    let metres =
        |value: f64| Ok::<_, Box<dyn std::error::Error>>(Typed::new(format!("{value} m"), Metres::new(value)?));
    Ok(Seat {
        id: SeatId::of(uuid::Uuid::nil()),
        what: NewSeat {
            room: "Room 4".to_owned(),
            distance: metres(distance)?,
            aside: Some((metres(1.0)?, Aside::Left)),
            board_width: Some(metres(3.0)?),
            illuminance: None,
            light: None,
            glare: Vec::new(),
            layout: Layout { first_row: Some(metres(1.2)?), ..Layout::default() },
            note: String::new(),
            confirmed: String::new(),
            measured_on: None,
        },
        created_by: AccountId::of(uuid::Uuid::nil()),
        retired: false,
        version: 1,
    })
}

/// A task of the same kind seen from a seat; every second one thrown by a
/// projector in a lit room, whose screen was measured.
fn task_from_a_seat(place: u32) -> Outcome<(VisualTask, Option<Seat>)> {
    let distance = 1.5 + 0.2 * f64::from(place % 20);
    let mut task = task(distance, 10.0 + f64::from(place))?;
    task.what.own_distance = None;
    task.what.seat = Some(SeatId::of(uuid::Uuid::nil()));
    if place % 2 == 1 {
        let lux = |value: f64| Ok::<_, Box<dyn std::error::Error>>(Typed::new(format!("{value}"), Lux::new(value)?));
        task.what.code = TaskCode::Projector;
        task.what.display = Some(Display::Projector);
        task.what.screen = Some(ScreenLight { white: lux(550.0)?, black: lux(151.0)?, off: lux(150.0)? });
    }
    Ok((task, Some(seat(distance)?)))
}

/// The options of each of these tasks, each with the seat it is seen from.
fn solved(
    tasks: &[(VisualTask, Option<Seat>)],
    (sight, devices): (&Sight, &[AtHand]),
    prescriber: Option<Prescriber>,
) -> Outcome<f64> {
    let (goals, table) = (Goals::default(), MarkerTable::default());
    let mut answered = 0.0;
    for (task, seat) in black_box(tasks) {
        let question = Question {
            task,
            seat: seat.as_ref(),
            sight,
            devices,
            goals: &goals,
            table: &table,
            units: Units::Metric,
            look: None,
            prescriber,
        };
        // A task without a figure would make the measurement worth nothing.
        black_box(options::of(&question).map_err(|why| why.to_string())?);
        answered += 1.0;
    }
    Ok(answered)
}

fn device(place: u32) -> Outcome<AtHand> {
    let spec = DeviceSpec {
        power: Some(Magnification::new(2.0 + 0.5 * f64::from(place))?),
        objective: Some(Millimetres::literal(16.0)),
        true_field: Some(Degrees::literal(9.0)),
        near_focus: Some(Metres::literal(0.25)),
        eye: Some(Eye::Right),
        ..DeviceSpec::of(DeviceKind::HandheldMonocular)
    };
    Ok(AtHand { spec, track: Track::Distance, source: AtHandAs::Loan })
}

fn row(eye: Eye, distance: f64) -> Outcome<SightRow> {
    Ok(SightRow {
        eye,
        worn: Correction::HabitualGlasses,
        distance: Some(Metres::new(distance)?),
        distance_typed: format!("{distance} m"),
        as_recorded: "1.0 logMAR".to_owned(),
        measured: Some(Measured::new(LogMar::new(1.0)?)?),
        device: None,
    })
}

/// An invented student who reads 1.0 logMAR far and near.
fn student() -> Outcome<Sight> {
    Ok(Sight {
        evaluations: vec![Evaluated {
            source: Source::Signed,
            on: jiff::civil::date(2026, 9, 1),
            rows: vec![row(Eye::Both, 3.0)?, row(Eye::Right, 3.0)?, row(Eye::Both, 0.4)?],
            better_eye: None,
            contrast: None,
            colour_loss: false,
            pupil: None,
            refraction: Vec::new(),
            lighting: None,
            bearing: Bearing::default(),
        }],
        in_class: InClass::Wears,
        devices: Vec::new(),
        head_turn: None,
    })
}

/// Tallies of ten letters in six sizes, three of each: size, right, tried.
fn tallies() -> Vec<[f64; 3]> {
    let mut dice = Dice(3);
    let threshold: f64 = 0.9;
    let sizes = [-0.2, -0.11, -0.02, 0.07, 0.16, 0.25].map(|apart| ((threshold + apart) * 100.0).round() / 100.0);
    sizes
        .into_iter()
        .flat_map(|size| [size; 3])
        .map(|size| {
            // A logistic course as wide as the probit of spread 0.10.
            let chance = 0.04 + 0.96 / (1.0 + (-(size - threshold) / 0.0588).exp());
            let right = (0..10).filter(|_| dice.between(0.0, 1.0) < chance).count();
            [size, right as f64, 10.0]
        })
        .collect()
}

/// The thresholds of so many students, each with these tallies.
fn thresholds(tallies: &[[f64; 3]], students: usize) -> Outcome<f64> {
    let entries = (0_u64..)
        .zip(tallies)
        .map(|(day, [size, right, tried])| {
            let tally = Tally::new(*right as u32, *tried as u32)?;
            Ok(Observation::new(LogMar::new(*size)?, Guess::LETTERS, day, Saw::Tally(tally))?)
        })
        .collect::<Outcome<Vec<_>>>()?;
    let mut sum = 0.0;
    for _ in 0..students {
        let device =
            everyday::Device { prior: Prior::new(LogMar::new(0.9)?, 0.5)?, settings: vec![black_box(entries.clone())] };
        sum += everyday(&[device])?.threshold(Cell { device: 0, setting: 0 })?.mean;
    }
    Ok(sum / students as f64)
}

fn print(name: &str, count: usize, (seconds, sum): (f64, f64)) {
    println!("{name}\t{count}\t{seconds:e}\t{sum:e}");
}

/// Little-endian numbers, as NumPy reads them.
fn keep<const N: usize>(folder: &str, name: &str, rows: &[[f64; N]]) -> Outcome<()> {
    let mut file = BufWriter::new(std::fs::File::create(std::path::Path::new(folder).join(name))?);
    for number in rows.iter().flatten() {
        file.write_all(&number.to_le_bytes())?;
    }
    Ok(file.flush()?)
}

fn main() -> Outcome<()> {
    let (fractions, telescopes, tallies) = (fractions(), telescopes(), tallies());
    if let Ok(folder) = std::env::var("SPEED_INPUTS") {
        keep(&folder, "acuity", &fractions)?;
        keep(&folder, "telescope", &telescopes)?;
        keep(&folder, "threshold", &tallies)?;
    }
    print("acuity", MANY, median_of(|| acuity(black_box(&fractions)))?);
    print("telescope", MANY, median_of(|| telescope(black_box(&telescopes)))?);

    print("threshold", STUDENTS, median_of(|| thresholds(&tallies, STUDENTS))?);

    let mut sight = student()?;
    let devices = (0..12).map(device).collect::<Outcome<Vec<_>>>()?;
    let tasks = (0..40_u32)
        .map(|place| Ok((task(1.5 + 0.2 * f64::from(place % 20), 10.0 + f64::from(place))?, None)))
        .collect::<Outcome<Vec<_>>>()?;
    print("options", tasks.len(), median_of(|| solved(&tasks, (&sight, &devices), None))?);

    // All that a clinician may be told: seats before a board, screens that were
    // measured, a contrast sensitivity, and the powers that nobody has here.
    for evaluation in &mut sight.evaluations {
        evaluation.contrast = Some(LogContrastSensitivity::new(1.1)?);
    }
    let tasks = (0..40_u32).map(task_from_a_seat).collect::<Outcome<Vec<_>>>()?;
    let prescriber = Some(Prescriber { eye: None, glasses: None });
    print("options-all", tasks.len(), median_of(|| solved(&tasks, (&sight, &devices), prescriber))?);
    Ok(())
}
