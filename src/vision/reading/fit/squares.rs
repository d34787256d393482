//! The small linear algebra of the fits: a straight line and a 3 × 3 inverse.
//!
//! Does not know what is fitted.
//! Read next: [`super::log_exponential`], which uses it.

/// A straight line by least squares: y = level + slope · z.
#[derive(Debug, Clone, Copy)]
pub(super) struct Straight {
    pub(super) level: f64,
    pub(super) slope: f64,
    /// The sum of squared residuals.
    pub(super) squares: f64,
}

/// The line through the points with each x turned into a z; none if all z are one.
pub(super) fn straight(points: &[(f64, f64)], z: impl Fn(f64) -> f64) -> Option<Straight> {
    let n = f64::from(u32::try_from(points.len()).ok()?);
    let mean_z = points.iter().map(|(x, _)| z(*x)).sum::<f64>() / n;
    let mean_y = points.iter().map(|(_, y)| *y).sum::<f64>() / n;
    let (mut across, mut both) = (0.0, 0.0);
    for (x, y) in points {
        let dz = z(*x) - mean_z;
        across += dz * dz;
        both += dz * (y - mean_y);
    }
    if across <= f64::MIN_POSITIVE {
        return None;
    }
    let slope = both / across;
    let level = mean_y - slope * mean_z;
    let squares = points.iter().map(|(x, y)| (y - level - slope * z(*x)).powi(2)).sum::<f64>();
    squares.is_finite().then_some(Straight { level, slope, squares })
}

/// The inverse of a symmetric matrix of products; none if its columns hang together.
pub(super) fn inverse(matrix: [[f64; 3]; 3]) -> Option<[[f64; 3]; 3]> {
    let [[a, b, c], [_, d, e], [_, _, f]] = matrix;
    // The size of the columns must not decide what counts as hanging together.
    let scale = [a, d, f].map(f64::sqrt);
    if scale.iter().any(|size| *size <= f64::MIN_POSITIVE || !size.is_finite()) {
        return None;
    }
    let [sa, sd, sf] = scale;
    let (b, c, e) = (b / (sa * sd), c / (sa * sf), e / (sd * sf));
    let determinant = 1.0 + 2.0 * b * c * e - b * b - c * c - e * e;
    if determinant.is_nan() || determinant <= 1e-12 {
        return None;
    }
    let unscaled =
        [[1.0 - e * e, c * e - b, b * e - c], [c * e - b, 1.0 - c * c, b * c - e], [b * e - c, b * c - e, 1.0 - b * b]];
    let mut found = [[0.0; 3]; 3];
    for ((row, plain), one) in found.iter_mut().zip(unscaled).zip(scale) {
        for ((cell, value), other) in row.iter_mut().zip(plain).zip(scale) {
            *cell = value / (determinant * one * other);
        }
    }
    Some(found)
}

/// The square roots of the diagonal: standard errors, from a covariance.
pub(super) fn diagonal(covariance: [[f64; 3]; 3]) -> [f64; 3] {
    let [[a, _, _], [_, b, _], [_, _, c]] = covariance;
    [a, b, c].map(f64::sqrt)
}

#[cfg(test)]
mod tests {
    use super::{inverse, straight};

    #[test]
    fn an_inverse_times_its_matrix_is_one() {
        let matrix = [[4.0, 1.0, -2.0], [1.0, 9.0, 3.0], [-2.0, 3.0, 1_000.0]];
        let found = inverse(matrix).expect("columns that stand alone");
        for (i, row) in matrix.iter().enumerate() {
            for j in 0..3 {
                let product: f64 = row.iter().zip(found).map(|(cell, column)| cell * column[j]).sum();
                let one = if i == j { 1.0 } else { 0.0 };
                assert!((product - one).abs() < 1e-12, "{i} {j}: {product}");
            }
        }
        assert!(inverse([[1.0, 2.0, 3.0], [2.0, 4.0, 6.0], [3.0, 6.0, 9.0]]).is_none());
    }

    #[test]
    fn points_on_a_line_give_the_line_and_equal_ones_none() {
        let found = straight(&[(0.0, 1.0), (1.0, 3.0), (2.0, 5.0)], |x| x).expect("a line");
        assert!((found.level - 1.0).abs() < 1e-12 && (found.slope - 2.0).abs() < 1e-12 && found.squares < 1e-24);
        assert!(straight(&[(1.0, 1.0), (1.0, 3.0)], |x| x).is_none());
        assert!(straight(&[], |x| x).is_none());
    }
}
