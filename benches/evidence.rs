//! Does the everyday acuity keep its promises on students whose truth is known?
//!
//! `cargo bench --bench evidence` invents students with a fixed seed, observes
//! them as adults in a classroom would, and counts how often the intervals hold
//! the truth. The invented world is on purpose *not* the model: another curve,
//! days of its own, slips of units, made-up counts, words. It fails when a
//! promise is broken; times are printed and never judged.

use std::time::Instant;

use farpoint::vision::acuity::LogMar;
use farpoint::vision::stats::everyday::settings::Finding;
use farpoint::vision::stats::everyday::task::Task;
use farpoint::vision::stats::everyday::{Cell, Device, Guess, Observation, Posterior, Prior, Saw, everyday};
use farpoint::vision::stats::observing::{Tally, Word};
use farpoint::vision::units::{Fraction, Magnification};

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

/// Numbers that look random and are the same every time (SplitMix64).
struct Dice(u64);

impl Dice {
    fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.even()
    }

    fn below(&mut self, count: u32) -> u32 {
        (self.even() * f64::from(count)) as u32
    }

    fn normal(&mut self, deviation: f64) -> f64 {
        let radius = (-2.0 * (1.0 - self.even()).ln()).sqrt();
        deviation * radius * (std::f64::consts::TAU * self.even()).cos()
    }

    /// Marsaglia and Tsang's way; a shape below one is raised and lowered again.
    fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            let lower = (1.0 - self.even()).powf(1.0 / shape);
            return self.gamma(shape + 1.0) * lower;
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal(1.0);
            let v = (1.0 + c * x).powi(3);
            if v > 0.0 && (1.0 - self.even()).ln() < 0.5 * x * x + d - d * v + d * v.ln() {
                return d * v;
            }
        }
    }

    fn beta(&mut self, a: f64, b: f64) -> f64 {
        let (x, y) = (self.gamma(a), self.gamma(b));
        x / (x + y)
    }
}

/// A student whose truth is known.
struct Student {
    spread: f64,
    lapse: f64,
    alike: f64,
}

impl Student {
    fn new(dice: &mut Dice) -> Self {
        let spread = 0.10 * (0.35 * dice.normal(1.0)).exp();
        Self { spread, lapse: dice.between(0.0, 0.08), alike: dice.between(0.001, 0.15) }
    }

    /// What an adult writes down about one size on one day.
    fn seen(&self, dice: &mut Dice, threshold: f64, session: u64) -> Outcome<Observation> {
        let size = (threshold + dice.between(-0.25, 0.35)).clamp(-0.55, 2.35);
        let guess = Guess::LETTERS;
        // A logistic curve of the same spread, not the normal one of the model.
        let logistic = 1.0 / (1.0 + (-(size - threshold) / (self.spread * 0.588)).exp());
        let rate = guess.get() + (1.0 - guess.get() - self.lapse) * logistic;
        let precision = 1.0 / self.alike - 1.0;
        let today = dice.beta(rate * precision, (1.0 - rate) * precision);
        let items = 5 + dice.below(8);
        let mut right = (0..items).filter(|_| dice.even() < today).count() as u32;
        if dice.even() < 0.02 {
            right = dice.below(items + 1);
        }
        let mut typed = size;
        if dice.even() < 0.02 {
            let by = if dice.even() < 0.5 { 1.0 } else { 0.405 };
            typed += if dice.even() < 0.5 { by } else { -by };
        }
        let typed = LogMar::new(typed.clamp(-0.6, 2.4))?;
        let saw = if dice.even() < 0.25 {
            Saw::Word(
                match right {
                    0 => Word::None,
                    k if k == items => Word::All,
                    k if k * 2 >= items => Word::Most,
                    _ => Word::Some,
                },
                None,
            )
        } else {
            Saw::Tally(Tally::new(right, items)?)
        };
        Ok(Observation::new(typed, guess, session, saw)?)
    }

    /// Days of three observations each.
    fn cell(&self, dice: &mut Dice, threshold: f64, observations: u32, first: u64) -> Outcome<Vec<Observation>> {
        let mut day = 0.0;
        (0..observations)
            .map(|at| {
                if at % 3 == 0 {
                    day = dice.normal(0.06);
                }
                self.seen(dice, threshold + day, first + u64::from(at / 3))
            })
            .collect()
    }
}

/// How often something held, and by how much estimates were off.
#[derive(Default)]
struct Count {
    all: f64,
    held: f64,
    off: f64,
    squared: f64,
}

impl Count {
    fn add(&mut self, holds: bool, off: f64) {
        self.all += 1.0;
        self.held += f64::from(u8::from(holds));
        self.off += off;
        self.squared += off * off;
    }

    fn share(&self) -> f64 {
        self.held / self.all
    }

    fn bias(&self) -> f64 {
        self.off / self.all
    }

    fn tell(&self, what: &str) {
        let error = (self.squared / self.all).sqrt();
        println!("{what:<48} n {:>5}  held {:.3}  bias {:+.4}  RMSE {error:.4}", self.all, self.share(), self.bias());
    }
}

/// A student with three devices in three settings, and what is true of each.
fn three_devices(dice: &mut Dice) -> Outcome<(Vec<Device>, Vec<Vec<f64>>)> {
    let student = Student::new(dice);
    let clinic = dice.between(0.6, 1.1);
    let acuity = LogMar::new(clinic + dice.normal(0.05))?;
    let shifts = [dice.normal(0.05), dice.normal(0.05), dice.normal(0.05)];
    let (mut devices, mut truths) = (Vec::new(), Vec::new());
    for (at, power) in [1.0, 4.0, 6.0_f64].into_iter().enumerate() {
        let delivered = if at == 0 { 0.0 } else { power.log10() * dice.between(0.6, 1.0) };
        let own = clinic + dice.between(0.0, 0.15) - delivered;
        let prior = match at {
            0 => Prior::bare(Some(acuity))?,
            _ => Prior::by_power(Some(acuity), Magnification::new(power)?)?,
        };
        let (mut settings, mut truth) = (Vec::new(), Vec::new());
        for (setting, shift) in (0_u64..).zip(shifts) {
            let threshold = own + shift + dice.normal(0.04);
            let observations = if at == 0 { 6 + dice.below(7) } else { 2 + dice.below(6) };
            settings.push(student.cell(dice, threshold, observations, 1_000 * (3 * at as u64 + setting))?);
            truth.push(threshold);
        }
        devices.push(Device { prior, settings });
        truths.push(truth);
    }
    Ok((devices, truths))
}

fn coverage(students: u32) -> Outcome<(Count, Count)> {
    let mut dice = Dice(20_261_126);
    let (mut thresholds, mut gains) = (Count::default(), Count::default());
    for _ in 0..students {
        let (devices, truths) = three_devices(&mut dice)?;
        let posterior = everyday(&devices)?;
        for (device, truth) in truths.iter().enumerate() {
            for (setting, threshold) in truth.iter().enumerate() {
                let cell = Cell { device, setting };
                let found = posterior.threshold(cell)?;
                thresholds.add(found.interval.holds(*threshold), found.mean - threshold);
                if device > 0 {
                    let apart = posterior.difference(Cell { device: 0, setting }, cell)?;
                    let gain = truths[0][setting] - threshold;
                    gains.add(apart.interval.holds(gain), apart.mean - gain);
                }
            }
        }
    }
    Ok((thresholds, gains))
}

/// Sixty observations in two settings, so far apart; how often they are said to disagree.
fn two_settings(students: u32, apart: f64) -> Outcome<(Count, Count)> {
    let mut dice = Dice(77);
    let (mut thresholds, mut flags) = (Count::default(), Count::default());
    for _ in 0..students {
        let student = Student::new(&mut dice);
        let threshold = dice.between(0.5, 1.2);
        let prior = Prior::bare(Some(LogMar::new(threshold - 0.05 + dice.normal(0.1))?))?;
        let settings =
            vec![student.cell(&mut dice, threshold, 30, 0)?, student.cell(&mut dice, threshold + apart, 30, 1_000)?];
        let posterior = everyday(&[Device { prior, settings }])?;
        for (setting, truth) in [threshold, threshold + apart].into_iter().enumerate() {
            let found = posterior.threshold(Cell { device: 0, setting })?;
            thresholds.add(found.interval.holds(truth), found.mean - truth);
        }
        for pair in posterior.disagreements()? {
            let off = pair.apart.as_ref().map_or(0.0, |found| found.mean + apart);
            flags.add(pair.finding == Finding::Disagree, off);
        }
    }
    Ok((thresholds, flags))
}

/// One student with so many observations, of six devices in three settings.
fn crowded(observations: u32) -> Outcome<Vec<Device>> {
    let mut dice = Dice(5);
    let student = Student::new(&mut dice);
    (0..6_u32)
        .map(|device| {
            let threshold = 0.9 - 0.12 * f64::from(device);
            let settings = (0..3_u32)
                .map(|setting| {
                    student.cell(&mut dice, threshold, observations / 18 + 1, u64::from(3 * device + setting) << 32)
                })
                .collect::<Outcome<_>>()?;
            Ok(Device { prior: Prior::new(LogMar::new(threshold)?, 0.2)?, settings })
        })
        .collect()
}

/// Everything that is told of one student: thresholds, twelve tasks, gains, the
/// best of each setting, disagreements, entries to ask about.
fn everything(devices: &[Device]) -> Outcome<Posterior> {
    let posterior = everyday(devices)?;
    let cells: Vec<Cell> = (0..6).flat_map(|device| (0..3).map(move |setting| Cell { device, setting })).collect();
    for cell in &cells {
        posterior.threshold(*cell)?;
    }
    let tasks: Vec<Task> = (0..12)
        .map(|at| {
            let size = LogMar::new(0.3 + 0.07 * f64::from(at))?;
            Ok(Task { size, guess: Guess::LETTERS, items: 10, wanted: Fraction::new(0.8)? })
        })
        .collect::<Outcome<_>>()?;
    posterior.successes(&cells, &tasks)?;
    for setting in 0..3 {
        let here: Vec<Cell> = (0..6).map(|device| Cell { device, setting }).collect();
        posterior.best_of(&here)?;
        for device in &here[1..] {
            posterior.effective(here[0], *device, Magnification::new(4.0)?)?;
        }
    }
    posterior.disagreements()?;
    posterior.suspects()?;
    Ok(posterior)
}

fn time(what: &str, mut of: impl FnMut() -> Outcome<()>) -> Outcome<()> {
    let mut best = f64::INFINITY;
    for _ in 0..5 {
        let start = Instant::now();
        of()?;
        best = best.min(start.elapsed().as_secs_f64());
    }
    println!("{what:<48} {:>8.2} ms", best * 1_000.0);
    Ok(())
}

fn main() -> Outcome<()> {
    for observations in [10, 60, 300, 1_000, 10_000, 100_000] {
        let devices = crowded(observations)?;
        time(&format!("posterior of {observations} observations"), || {
            everyday(&devices).map(drop).map_err(Into::into)
        })?;
        time(&format!("all figures of {observations} observations"), || everything(&devices).map(drop))?;
    }
    let (thresholds, gains) = coverage(500)?;
    thresholds.tell("thresholds, 3 devices in 3 settings");
    gains.tell("magnifications, the same");
    let (sixty, alarms) = two_settings(500, 0.0)?;
    sixty.tell("thresholds, 60 observations");
    alarms.tell("false alarms of disagreement");
    let (_, found) = two_settings(200, 0.2)?;
    found.tell("disagreements of 0.2 found");

    let promises = [
        ("90 % intervals of thresholds hold 86 to 94 %", (0.86..=0.94).contains(&thresholds.share())),
        ("bias below 0.02 with 60 observations", sixty.bias().abs() < 0.02),
        ("false alarms below 10 %", alarms.share() < 0.10),
        ("more than half of the disagreements of 0.2 are found", found.share() > 0.5),
    ];
    let broken: Vec<&str> = promises.iter().filter(|(_, kept)| !kept).map(|(promise, _)| *promise).collect();
    if broken.is_empty() { Ok(()) } else { Err(format!("broken: {}", broken.join("; ")).into()) }
}
