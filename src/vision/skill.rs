//! How well does the student use the device, and how sure is that?
//!
//! Counts, rates and times of exercises, each with what makes it honest: an
//! interval for a success rate, failed searches counted as such and never as
//! a time. Trials are compared only while device, eye, place, size and light
//! stay as they were; a change of any starts a new series.
//!
//! Does not know trends; see the statistics. Does not decide mastery.
//! Read next: [`crate::vision::stats`].

use super::units::{Fraction, Magnification, Metres, OutOfRange, Seconds, above_zero, within};

/// How sure an interval is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// 90 in 100 such intervals hold the true rate.
    Ninety,
    /// 95 in 100.
    NinetyFive,
}

impl Level {
    /// The share of such intervals that hold the true value.
    pub const fn share(self) -> f64 {
        match self {
            Self::Ninety => 0.90,
            Self::NinetyFive => 0.95,
        }
    }

    /// The quantile of the normal distribution.
    pub(crate) const fn quantile(self) -> f64 {
        match self {
            Self::Ninety => 1.644_853_626_951_472_2,
            Self::NinetyFive => 1.959_963_984_540_054,
        }
    }
}

/// A success rate with its uncertainty and its count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SuccessRate {
    /// Right ones of all.
    pub rate: Fraction,
    /// The true rate is hardly lower.
    pub low: Fraction,
    /// The true rate is hardly higher.
    pub high: Fraction,
    /// How sure the interval is.
    pub level: Level,
    /// How many were tried.
    pub trials: u32,
}

/// Which true success rates are compatible with so many right of so many?
///
/// **Formula** Wilson's score interval: (p + z²/2n ± z√(p(1−p)/n + z²/4n²)) /
/// (1 + z²/n). **Source** Wilson 1927 (from memory), recomputed independently
/// (derived). **Range** at least one trial, no more right than tried. Four of
/// five is weak evidence: 0.38 to 0.96.
///
/// ```
/// use farpoint::vision::skill::{Level, success_rate};
/// let four_of_five = success_rate(4, 5, Level::NinetyFive)?;
/// assert!((four_of_five.low.get() - 0.376).abs() < 0.001);
/// assert!((four_of_five.high.get() - 0.964).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// No trials, or more right than tried.
pub fn success_rate(right: u32, trials: u32, level: Level) -> Result<SuccessRate, OutOfRange> {
    let n = within("trials", "", f64::from(trials), 1.0..=1e9)?;
    let k = within("right ones", "", f64::from(right), 0.0..=n)?;
    let (p, z) = (k / n, level.quantile());
    let scale = 1.0 + z * z / n;
    let middle = (p + z * z / (2.0 * n)) / scale;
    let half = z * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt() / scale;
    // With none or all right one end is exactly 0 or 1; rounding may miss it.
    let low = if right == 0 { 0.0 } else { middle - half };
    let high = if right == trials { 1.0 } else { middle + half };
    Ok(SuccessRate { rate: Fraction::new(p)?, low: Fraction::new(low)?, high: Fraction::new(high)?, level, trials })
}

/// The median of times, some of which were cut off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MedianTime {
    /// The median; none when half or more of the trials were cut off.
    pub median: Option<Seconds>,
    /// How many reached the cut-off without success.
    pub cut_off: u32,
    /// How many trials there were.
    pub trials: u32,
}

/// What is the median time, when trials stop at a cut-off?
///
/// **Formula** the middle time, or the mean of the two middle ones, with every
/// cut-off trial counted as longer than all others. **Source** definition; who needs the whole cut-off has not
/// succeeded (common practice, usually 30 s).
/// **Range** at least one trial, no time beyond the cut-off.
///
/// ```
/// use farpoint::vision::{skill::median_time, units::Seconds};
/// let of = |all: &[f64]| all.iter().map(|s| Seconds::new(*s)).collect::<Result<Vec<_>, _>>();
/// let cut = Seconds::new(30.0)?;
/// let spotting = median_time(&of(&[14.0, 9.5, 11.0, 7.5, 30.0])?, cut)?;
/// assert_eq!((spotting.median, spotting.cut_off), (Some(Seconds::new(11.0)?), 1));
/// assert_eq!(median_time(&of(&[8.0, 30.0, 30.0])?, cut)?.median, None);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// No trials, or a time beyond the cut-off.
pub fn median_time(times: &[Seconds], cut_off: Seconds) -> Result<MedianTime, OutOfRange> {
    let limit = within("cut-off", "s", cut_off.get(), above_zero(86_400.0))?;
    let mut trials = 0_u32;
    let mut found = Vec::with_capacity(times.len());
    for time in times {
        let seconds = within("time", "s", time.get(), 0.0..=limit)?;
        trials = trials.saturating_add(1);
        if seconds < limit {
            found.push(*time);
        }
    }
    within("trials", "", f64::from(trials), 1.0..=1e9)?;
    found.sort_unstable();
    let middle = times.len() / 2;
    let upper = found.get(middle).copied();
    let median = if times.len() % 2 == 1 {
        upper
    } else {
        let lower = found.get(middle.saturating_sub(1)).copied();
        match (lower, upper) {
            (Some(lower), Some(upper)) => Some(Seconds::new((lower.get() + upper.get()) / 2.0)?),
            _ => None,
        }
    };
    let measured = found.len();
    let cut = times.len().saturating_sub(measured);
    Ok(MedianTime { median, cut_off: u32::try_from(cut).unwrap_or(u32::MAX), trials })
}

/// How a bounded area with a known number of targets was scanned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScanScore {
    /// Targets missed, of all.
    pub omission_rate: Fraction,
    /// Targets counted twice, per target.
    pub repetition_rate: f64,
    /// Targets found a minute.
    pub targets_per_minute: f64,
}

/// How thoroughly and how fast was the area scanned?
///
/// **Formula** omitted/targets, twice/targets, 60 (targets − omitted)/t.
/// **Source** common practice. **Range** at least one target, none omitted
/// that was not there, at least a tenth of a second.
///
/// ```
/// use farpoint::vision::{skill::scan_score, units::Seconds};
/// let scan = scan_score(20, 3, 1, Seconds::new(95.0)?)?;
/// assert!((scan.targets_per_minute - 10.74).abs() < 0.01);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn scan_score(targets: u32, omitted: u32, counted_twice: u32, time: Seconds) -> Result<ScanScore, OutOfRange> {
    let n = within("targets", "", f64::from(targets), 1.0..=1e6)?;
    let missed = within("targets omitted", "", f64::from(omitted), 0.0..=n)?;
    let twice = within("targets counted twice", "", f64::from(counted_twice), 0.0..=1e6)?;
    let t = within("time", "s", time.get(), 0.1..=86_400.0)?;
    Ok(ScanScore {
        omission_rate: Fraction::new(missed / n)?,
        repetition_rate: twice / n,
        targets_per_minute: 60.0 * (n - missed) / t,
    })
}

/// How a moving target was followed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrackingScore {
    /// Times it was lost, a minute.
    pub losses_per_minute: f64,
    /// The share of the time it was in view.
    pub on_target: Fraction,
}

/// How well was the moving target followed?
///
/// **Formula** 60 losses/t and 1 − lost/t. **Source** common practice.
/// **Range** a second or more, no more time lost than there was.
///
/// ```
/// use farpoint::vision::{skill::tracking_score, units::Seconds};
/// let followed = tracking_score(Seconds::new(60.0)?, 4, Seconds::new(9.0)?)?;
/// assert_eq!((followed.losses_per_minute, followed.on_target.get()), (4.0, 0.85));
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn tracking_score(duration: Seconds, losses: u32, time_lost: Seconds) -> Result<TrackingScore, OutOfRange> {
    let t = within("duration", "s", duration.get(), 1.0..=86_400.0)?;
    let lost = within("time lost", "s", time_lost.get(), 0.0..=t)?;
    Ok(TrackingScore { losses_per_minute: 60.0 * f64::from(losses) / t, on_target: Fraction::new(1.0 - lost / t)? })
}

/// How a time changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimeGain {
    /// The logarithm of before over now; positive is faster.
    pub log10_ratio: f64,
    /// How much less time it takes, in per cent; negative for more.
    pub percent_faster: f64,
}

/// How much faster is it now than at the baseline?
///
/// **Formula** log10(b/c) and 100 (b − c)/b. **Source** definition; ratios, not
/// differences, compare times. **Range** both a millisecond or more.
///
/// ```
/// use farpoint::vision::{skill::time_gain, units::Seconds};
/// let gain = time_gain(Seconds::new(24.0)?, Seconds::new(9.0)?)?;
/// assert_eq!(gain.percent_faster, 62.5);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A time of nothing.
pub fn time_gain(baseline: Seconds, now: Seconds) -> Result<TimeGain, OutOfRange> {
    let before = within("baseline time", "s", baseline.get(), 0.001..=1e6)?;
    let current = within("present time", "s", now.get(), 0.001..=1e6)?;
    Ok(TimeGain { log10_ratio: (before / current).log10(), percent_faster: 100.0 * (before - current) / before })
}

/// How fast does the picture shake in the ocular, in degrees a second?
///
/// **Formula** M × hand motion. **Source** definition of angular magnification
/// (derived); the tremor is this hand's, measured. **Range** power 1
/// or more, up to 1000 degrees a second.
///
/// ```
/// use farpoint::vision::{skill::image_speed, units::Magnification};
/// assert_eq!(image_speed(Magnification::new(8.0)?, 1.5)?, 12.0);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn image_speed(power: Magnification, hand_degrees_per_second: f64) -> Result<f64, OutOfRange> {
    let m = within("power", "×", power.get(), 1.0..=100.0)?;
    let speed = within("hand motion", "degrees/s", hand_degrees_per_second, 0.0..=1_000.0)?;
    Ok(m * speed)
}

/// How fast a passer-by moves, in degrees a second.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TargetSpeed {
    /// To the bare eye.
    pub unaided: f64,
    /// Through the device.
    pub through_device: f64,
}

/// How fast does somebody crossing the line of sight move through the device?
///
/// **Formula** v/d in radians a second, as degrees; times M. **Source**
/// kinematics (derived). **Range** crossing at right angles, 0.01 to 100 m/s,
/// 10 cm to 10 km away, power 1 or more.
///
/// ```
/// use farpoint::vision::{skill::target_speed, units::{Magnification, Metres}};
/// let walker = target_speed(Magnification::new(4.0)?, 1.4, Metres::new(10.0)?)?;
/// assert!((walker.unaided - 8.02).abs() < 0.01);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn target_speed(power: Magnification, metres_per_second: f64, distance: Metres) -> Result<TargetSpeed, OutOfRange> {
    let m = within("power", "×", power.get(), 1.0..=100.0)?;
    let v = within("speed", "m/s", metres_per_second, 0.01..=100.0)?;
    let d = within("distance", "m", distance.get(), 0.1..=10_000.0)?;
    let unaided = (v / d).to_degrees();
    Ok(TargetSpeed { unaided, through_device: m * unaided })
}
