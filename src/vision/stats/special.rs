//! Distributions and their inverses, in the form the statistics need.
//!
//! Inverses are found by halving an interval that surely holds the answer: a
//! fixed number of steps, the same on every machine.
//!
//! Does not know what is asked.

use statrs::function::beta::beta_reg;
use statrs::function::erf::{erfc, erfc_inv};
use statrs::function::gamma::{gamma_lr, ln_gamma};

/// Halvings that leave less than the spacing of the numbers themselves.
const HALVINGS: usize = 200;

/// The share of the normal distribution below z.
pub(super) fn normal_below(z: f64) -> f64 {
    0.5 * erfc(-z / std::f64::consts::SQRT_2)
}

/// The z below which this share of the normal distribution lies.
pub(super) fn normal_quantile(share: f64) -> f64 {
    -std::f64::consts::SQRT_2 * erfc_inv(2.0 * share)
}

/// Where a rising function passes a value, between two ends.
pub(super) fn crossing(low: f64, high: f64, value: f64, rising: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (low, high);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            break;
        }
        if rising(middle) < value { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
}

/// The value below which this share of a gamma distribution (scale 1) lies.
pub(super) fn gamma_quantile(shape: f64, share: f64) -> f64 {
    let mut high = shape + 1.0;
    while gamma_lr(shape, high) < share {
        high *= 2.0;
    }
    crossing(0.0, high, share, |x| if x > 0.0 { gamma_lr(shape, x) } else { 0.0 })
}

/// The share of a beta distribution below p.
pub(super) fn beta_below(a: f64, b: f64, p: f64) -> f64 {
    if p <= 0.0 {
        0.0
    } else if p >= 1.0 {
        1.0
    } else {
        beta_reg(a, b, p)
    }
}

/// The value below which this share of a beta distribution lies.
pub(super) fn beta_quantile(a: f64, b: f64, share: f64) -> f64 {
    crossing(0.0, 1.0, share, |p| beta_below(a, b, p))
}

/// The upper quantile of Student's t: the share lies below it, one half or more.
pub(super) fn t_quantile(freedom: f64, share: f64) -> f64 {
    // P(T > t) is half the regularised beta function at v/(v + t²).
    let beyond = beta_quantile(freedom / 2.0, 0.5, 2.0 * (1.0 - share));
    (freedom * (1.0 - beyond) / beyond).sqrt()
}

/// The logarithm of the number of ways to choose k of n.
pub(super) fn ln_choose(n: f64, k: f64) -> f64 {
    ln_gamma(n + 1.0) - ln_gamma(k + 1.0) - ln_gamma(n - k + 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Printed tables of the distributions, any textbook of statistics.
    #[test]
    fn quantiles_are_those_of_the_printed_tables() {
        assert!((normal_quantile(0.95) - 1.644_853_627).abs() < 1e-8);
        assert!((normal_below(1.959_963_985) - 0.975).abs() < 1e-9);
        assert!((t_quantile(8.0, 0.95) - 1.859_548).abs() < 1e-5);
        assert!((t_quantile(1.0, 0.975) - 12.706_2).abs() < 1e-3);
        assert!((gamma_quantile(1.0, 0.95) - 2.995_732_274).abs() < 1e-8);
        // Chi-squared with 10 degrees of freedom, upper 5 %: 18.307.
        assert!((2.0 * gamma_quantile(5.0, 0.95) - 18.307_038).abs() < 1e-5);
        assert!((ln_choose(10.0, 3.0) - 120_f64.ln()).abs() < 1e-12);
    }
}
