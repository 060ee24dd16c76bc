//! Nonlinear least squares, with what the answer is worth.

use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

/// A solution.
#[derive(Clone, Debug)]
pub struct LeastSquares {
    /// Parameters.
    pub parameters: DVector<f64>,
    /// Residuals there.
    pub residuals: DVector<f64>,
    /// Sum of their squares.
    pub sum_of_squares: f64,
    /// Inverse of `JᵀJ`: the covariance where each residual has a variance of 1.
    pub covariance: DMatrix<f64>,
    /// Steps taken.
    pub steps: usize,
}

/// Why there is no solution.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FitError {
    /// No number at the start.
    #[error("the residuals at the start are not numbers")]
    Start,
    /// Not closed.
    #[error("the fit did not come to rest in {MOST_STEPS} steps")]
    NotFound,
    /// Parameters that the data cannot tell apart.
    #[error("the data leave some parameters wholly open")]
    Singular,
}

/// Most steps.
const MOST_STEPS: usize = 2000;
/// Relative step of the central difference: the cube root of the rounding.
const DIFFERENCE: f64 = 6e-6;
/// Relative step of the one-sided difference: its square root.
const ONE_SIDED: f64 = 1.5e-8;
/// Relative change of the parameters at which the fit rests.
const AT_REST: f64 = 1e-11;

/// Finds parameters that make the sum of squared residuals least, from `start`.
///
/// The method is Levenberg's and Marquardt's, damping each parameter by the size of its column (Marquardt 1963, J.
/// SIAM 11:431-441), with the gain ratio of Nielsen 1999 (IMM-REP-1999-05, Technical University of Denmark) for
/// the damping. Derivatives are central differences.
pub fn least_squares(
    start: &DVector<f64>,
    residuals: impl Fn(&DVector<f64>) -> Option<DVector<f64>> + Sync,
) -> Result<LeastSquares, FitError> {
    search(start, None, residuals)
}

/// The same, at rest as soon as a step promises to lower the sum of squares by less than `enough`: where residuals are
/// counted in standard deviations, a share of one that nobody sees. Derivatives are one-sided on the way; those of the
/// covariance are central.
pub fn least_squares_within(
    start: &DVector<f64>,
    enough: f64,
    residuals: impl Fn(&DVector<f64>) -> Option<DVector<f64>> + Sync,
) -> Result<LeastSquares, FitError> {
    search(start, Some(enough), residuals)
}

fn search(
    start: &DVector<f64>,
    enough: Option<f64>,
    residuals: impl Fn(&DVector<f64>) -> Option<DVector<f64>> + Sync,
) -> Result<LeastSquares, FitError> {
    let mut p = start.clone();
    let mut r = residuals(&p).filter(|r| r.iter().all(|v| v.is_finite())).ok_or(FitError::Start)?;
    let mut sum = r.norm_squared();
    let (mut damping, mut grow) = (1e-3, 2.0);
    let mut scale: Option<DVector<f64>> = None;
    for step in 0..MOST_STEPS {
        let jacobian = match enough {
            None => jacobian(&p, r.len(), &residuals),
            Some(_) => one_sided(&p, &r, &residuals),
        };
        let jacobian = jacobian.ok_or(FitError::Start)?;
        let columns = DVector::from_iterator(p.len(), jacobian.column_iter().map(|c| c.norm_squared().max(1e-300)));
        let scaled = scale.map_or_else(|| columns.clone(), |old: DVector<f64>| old.zip_map(&columns, f64::max));
        let gradient = jacobian.tr_mul(&r);
        let normal = jacobian.tr_mul(&jacobian);
        loop {
            let mut damped = normal.clone();
            for i in 0..p.len() {
                damped[(i, i)] += damping * scaled[i];
            }
            let Some(delta) = damped.cholesky().map(|c| c.solve(&-&gradient)) else {
                damping *= grow;
                grow *= 2.0;
                if !damping.is_finite() {
                    return Err(FitError::Singular);
                }
                continue;
            };
            let expected = delta.dot(&(delta.component_mul(&scaled) * damping - &gradient));
            // A step held back promises little wherever it is: what counts is what a free one would.
            let free = || normal.clone().cholesky().map_or(f64::INFINITY, |c| gradient.dot(&c.solve(&gradient)));
            let at_rest = enough.is_some_and(|enough| expected <= enough && free() <= enough)
                || (0..p.len()).all(|i| delta[i].abs() <= AT_REST * (p[i].abs() + AT_REST));
            let next = &p + &delta;
            let tried = residuals(&next).filter(|r| r.iter().all(|v| v.is_finite()));
            let gain = tried.as_ref().map(|t| (sum - t.norm_squared()) / expected.max(1e-300));
            match (tried, gain) {
                (Some(t), Some(gain)) if gain > 0.0 => {
                    (p, sum) = (next, t.norm_squared());
                    r = t;
                    damping *= f64::max(1.0 / 3.0, 1.0 - (2.0 * gain - 1.0).powi(3));
                    grow = 2.0;
                    if at_rest {
                        return finish(p, r, sum, step, &residuals);
                    }
                    break;
                }
                _ => {
                    if at_rest || damping > 1e30 {
                        return finish(p, r, sum, step, &residuals);
                    }
                    damping *= grow;
                    grow *= 2.0;
                }
            }
        }
        scale = Some(scaled);
    }
    Err(FitError::NotFound)
}

fn finish(
    p: DVector<f64>,
    r: DVector<f64>,
    sum: f64,
    steps: usize,
    residuals: &(impl Fn(&DVector<f64>) -> Option<DVector<f64>> + Sync),
) -> Result<LeastSquares, FitError> {
    let jacobian = jacobian(&p, r.len(), residuals).ok_or(FitError::Singular)?;
    // Columns of one size, so that parameters in small units do not look unknown.
    let size = DVector::from_iterator(p.len(), jacobian.column_iter().map(|c| c.norm().max(1e-300)));
    let mut even = jacobian;
    for (mut column, s) in even.column_iter_mut().zip(size.iter()) {
        column /= *s;
    }
    let inverse = even.tr_mul(&even).try_inverse().ok_or(FitError::Singular)?;
    let covariance = DMatrix::from_fn(p.len(), p.len(), |i, j| inverse[(i, j)] / (size[i] * size[j]));
    Ok(LeastSquares { parameters: p, residuals: r, sum_of_squares: sum, covariance, steps })
}

/// Derivatives of every residual by every parameter.
pub fn jacobian(
    p: &DVector<f64>,
    rows: usize,
    residuals: &(impl Fn(&DVector<f64>) -> Option<DVector<f64>> + Sync),
) -> Option<DMatrix<f64>> {
    let column = |k: usize| {
        let by = DIFFERENCE * p[k].abs().max(1e-6);
        let (mut up, mut down) = (p.clone(), p.clone());
        up[k] += by;
        down[k] -= by;
        let slope = (residuals(&up)? - residuals(&down)?) / (up[k] - down[k]);
        slope.iter().all(|v| v.is_finite()).then_some(slope)
    };
    of_columns(rows, p.len(), column)
}

/// The same, from one side of where the residuals are known to be `r`.
fn one_sided(
    p: &DVector<f64>,
    r: &DVector<f64>,
    residuals: &(impl Fn(&DVector<f64>) -> Option<DVector<f64>> + Sync),
) -> Option<DMatrix<f64>> {
    let column = |k: usize| {
        let mut up = p.clone();
        up[k] += ONE_SIDED * p[k].abs().max(1e-3);
        let slope = (residuals(&up)? - r) / (up[k] - p[k]);
        slope.iter().all(|v| v.is_finite()).then_some(slope)
    };
    of_columns(r.len(), p.len(), column)
}

fn of_columns(
    rows: usize,
    count: usize,
    column: impl Fn(usize) -> Option<DVector<f64>> + Sync + Send,
) -> Option<DMatrix<f64>> {
    let columns: Vec<Option<DVector<f64>>> = (0..count).into_par_iter().map(column).collect();
    let mut j = DMatrix::zeros(rows, count);
    for (k, column) in columns.into_iter().enumerate() {
        j.set_column(k, &column?);
    }
    Some(j)
}

#[cfg(test)]
mod tests {
    use super::least_squares;
    use nalgebra::DVector;

    type Model = fn(&[f64], f64) -> f64;

    struct Problem {
        name: &'static str,
        model: Model,
        x: Vec<f64>,
        y: Vec<f64>,
        starts: [Vec<f64>; 2],
        certified: Vec<f64>,
        /// Residual sum of squares, certified.
        sum: f64,
    }

    const MISRA_X: [f64; 14] =
        [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0];
    const MISRA_Y: [f64; 14] =
        [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78];

    /// NIST Statistical Reference Datasets, nonlinear regression (itl.nist.gov/div898/strd): Misra1a lower, Misra1c,
    /// Misra1d and MGH17 average, `BoxBOD`, MGH09, MGH10, Rat42 and Rat43 higher difficulty. Data, starts and certified
    /// values from memory; a wrong figure would show, since the certified sum of squares would not be met.
    fn problems() -> Vec<Problem> {
        vec![
            Problem {
                name: "Misra1a",
                model: |b, x| b[0] * (1.0 - (-b[1] * x).exp()),
                x: MISRA_X.to_vec(),
                y: MISRA_Y.to_vec(),
                starts: [vec![500.0, 0.0001], vec![250.0, 0.0005]],
                certified: vec![2.3894212918E+02, 5.5015643181E-04],
                sum: 1.2455138894E-01,
            },
            Problem {
                name: "Misra1c",
                model: |b, x| b[0] * (1.0 - (1.0 + 2.0 * b[1] * x).powf(-0.5)),
                x: MISRA_X.to_vec(),
                y: MISRA_Y.to_vec(),
                starts: [vec![500.0, 0.0001], vec![600.0, 0.0002]],
                certified: vec![6.3642725809E+02, 2.0813627256E-04],
                sum: 4.0966836971E-02,
            },
            Problem {
                name: "Misra1d",
                model: |b, x| b[0] * b[1] * x / (1.0 + b[1] * x),
                x: MISRA_X.to_vec(),
                y: MISRA_Y.to_vec(),
                starts: [vec![500.0, 0.0001], vec![450.0, 0.0003]],
                certified: vec![4.3736970754E+02, 3.0227324449E-04],
                sum: 5.6419295283E-02,
            },
            Problem {
                name: "MGH17",
                model: |b, x| b[0] + b[1] * (-x * b[3]).exp() + b[2] * (-x * b[4]).exp(),
                x: (0..33).map(|i| 10.0 * f64::from(i)).collect(),
                y: vec![
                    0.844, 0.908, 0.932, 0.936, 0.925, 0.908, 0.881, 0.850, 0.818, 0.784, 0.751, 0.718, 0.685, 0.658,
                    0.628, 0.603, 0.580, 0.558, 0.538, 0.522, 0.506, 0.490, 0.478, 0.467, 0.457, 0.448, 0.438, 0.431,
                    0.424, 0.420, 0.414, 0.411, 0.406,
                ],
                starts: [vec![0.5, 1.5, -1.0, 0.01, 0.02], vec![0.5, 1.5, -1.0, 0.01, 0.02]],
                certified: vec![
                    3.7541005211E-01,
                    1.9358469127E+00,
                    -1.4646871366E+00,
                    1.2867534640E-02,
                    2.2122699662E-02,
                ],
                sum: 5.4648946975E-05,
            },
            Problem {
                name: "BoxBOD",
                model: |b, x| b[0] * (1.0 - (-b[1] * x).exp()),
                x: vec![1.0, 2.0, 3.0, 5.0, 7.0, 10.0],
                y: vec![109.0, 149.0, 149.0, 191.0, 213.0, 224.0],
                starts: [vec![100.0, 0.75], vec![100.0, 0.75]],
                certified: vec![2.1380940889E+02, 5.4723748542E-01],
                sum: 1.1680088766E+03,
            },
            Problem {
                name: "MGH09",
                model: |b, x| b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3]),
                x: vec![4.0, 2.0, 1.0, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625],
                y: vec![0.1957, 0.1947, 0.1735, 0.16, 0.0844, 0.0627, 0.0456, 0.0342, 0.0323, 0.0235, 0.0246],
                starts: [vec![25.0, 39.0, 41.5, 39.0], vec![0.25, 0.39, 0.415, 0.39]],
                certified: vec![1.9280693458E-01, 1.9128232873E-01, 1.2305650693E-01, 1.3606233068E-01],
                sum: 3.0750560385E-04,
            },
            Problem {
                name: "MGH10",
                model: |b, x| b[0] * (b[1] / (x + b[2])).exp(),
                x: (0..16).map(|i| 50.0 + 5.0 * f64::from(i)).collect(),
                y: vec![
                    34780.0, 28610.0, 23650.0, 19630.0, 16370.0, 13720.0, 11540.0, 9744.0, 8261.0, 7030.0, 6005.0,
                    5147.0, 4427.0, 3820.0, 3307.0, 2872.0,
                ],
                starts: [vec![0.02, 4000.0, 250.0], vec![0.02, 4000.0, 250.0]],
                certified: vec![5.6096364710E-03, 6.1813463463E+03, 3.4522363462E+02],
                sum: 8.7945855171E+01,
            },
            Problem {
                name: "Rat42",
                model: |b, x| b[0] / (1.0 + (b[1] - b[2] * x).exp()),
                x: vec![9.0, 14.0, 21.0, 28.0, 42.0, 57.0, 63.0, 70.0, 79.0],
                y: vec![8.93, 10.8, 18.59, 22.33, 39.35, 56.11, 61.73, 64.62, 67.08],
                starts: [vec![100.0, 1.0, 0.1], vec![75.0, 2.5, 0.07]],
                certified: vec![7.2462237576E+01, 2.6180768402E+00, 6.7359200066E-02],
                sum: 8.0565229338E+00,
            },
            Problem {
                name: "Rat43",
                model: |b, x| b[0] / (1.0 + (b[1] - b[2] * x).exp()).powf(1.0 / b[3]),
                x: (1..16).map(f64::from).collect(),
                y: vec![
                    16.08, 33.83, 65.80, 97.20, 191.55, 326.20, 386.87, 520.53, 590.03, 651.92, 724.93, 699.56, 689.96,
                    637.56, 717.41,
                ],
                starts: [vec![100.0, 10.0, 1.0, 1.0], vec![700.0, 5.0, 0.75, 1.3]],
                certified: vec![6.9964151270E+02, 5.2771253025E+00, 7.5962938329E-01, 1.2792483859E+00],
                sum: 8.7864049080E+03,
            },
        ]
    }

    #[test]
    fn the_certified_digits_are_met_from_both_starts() {
        for problem in problems() {
            for start in &problem.starts {
                let fit = least_squares(&DVector::from_column_slice(start), |p| {
                    let values = problem.x.iter().zip(&problem.y).map(|(x, y)| (problem.model)(p.as_slice(), *x) - y);
                    Some(DVector::from_iterator(problem.x.len(), values))
                })
                .unwrap_or_else(|e| panic!("{}: {e}", problem.name));
                for (got, want) in fit.parameters.iter().zip(&problem.certified) {
                    assert!((got / want - 1.0).abs() < 1e-6, "{}: {got} want {want}", problem.name);
                }
                assert!(
                    (fit.sum_of_squares / problem.sum - 1.0).abs() < 1e-8,
                    "{}: {}",
                    problem.name,
                    fit.sum_of_squares
                );
            }
        }
    }

    /// Certified standard deviations of `BoxBOD`: 12.354515176 and 0.10455993237.
    #[test]
    fn standard_deviations_are_the_certified_ones() {
        let problem = problems().into_iter().find(|p| p.name == "BoxBOD").unwrap();
        let fit = least_squares(&DVector::from_column_slice(&problem.starts[0]), |p| {
            let values = problem.x.iter().zip(&problem.y).map(|(x, y)| (problem.model)(p.as_slice(), *x) - y);
            Some(DVector::from_iterator(problem.x.len(), values))
        })
        .unwrap();
        let variance = fit.sum_of_squares / 4.0;
        for (i, want) in [1.2354515176E+01, 1.0455993237E-01].into_iter().enumerate() {
            let got = (variance * fit.covariance[(i, i)]).sqrt();
            assert!((got / want - 1.0).abs() < 1e-5, "{got} want {want}");
        }
    }
}
