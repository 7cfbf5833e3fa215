//! A distribution as a curve over normal scores: the value at score s has Φ(s) of the outcomes below it. A draw is one
//! normal number and one look-up; evidence reweights the curve, so draws are conditioned and never rescaled.

use crate::harvest::conjugate::StudentPredictive;
use statrs::distribution::{ContinuousCDF, Normal};
use statrs::function::gamma::ln_gamma;
use std::f64::consts::PI;

/// Nodes of a curve, evenly over scores −5 to 5.
pub const NODES: usize = 257;
const SCORE_MAX: f64 = 5.0;
const NODES_PER_SCORE: f64 = (NODES - 1) as f64 / (2.0 * SCORE_MAX);

/// Values at the nodes, never falling.
pub type Curve = [f64; NODES];

/// The score of node `index`.
pub fn score_at(index: usize) -> f64 {
    index as f64 / NODES_PER_SCORE - SCORE_MAX
}

/// The value at a score, linear between nodes, the ends beyond ±5.
pub fn value_at(curve: &[f32; NODES], score: f32) -> f32 {
    let place = ((score + SCORE_MAX as f32) * NODES_PER_SCORE as f32).clamp(0.0, (NODES - 1) as f32 - 0.001);
    let low = place as usize;
    let part = place - low as f32;
    curve[low] + part * (curve[low + 1] - curve[low])
}

/// The node nearest to a score.
pub fn node_at(score: f32) -> usize {
    ((score + SCORE_MAX as f32) * NODES_PER_SCORE as f32 + 0.5).clamp(0.0, (NODES - 1) as f32) as usize
}

/// The curve of a Student t. Quantiles solve dt/ds = φ(s)/f(t), t(0) = 0 (Steinbrecher & Shaw, "Quantile mechanics", 2008,
/// Eur. J. Appl. Math. 19), stepped by the classical fourth-order Runge–Kutta rule.
pub fn student(t: StudentPredictive) -> Curve {
    let half = NODES / 2;
    let step = 1.0 / NODES_PER_SCORE;
    let degrees = t.degrees;
    let ln_constant =
        ln_gamma((degrees + 1.0) / 2.0) - ln_gamma(degrees / 2.0) - 0.5 * (degrees * PI).ln() + 0.5 * (2.0 * PI).ln();
    let slope = |score: f64, at: f64| {
        ((degrees + 1.0) / 2.0 * (at * at / degrees).ln_1p() - score * score / 2.0 - ln_constant).exp()
    };
    let mut curve = [t.centre; NODES];
    let mut at = 0.0;
    for index in 1..=half {
        let score = (index - 1) as f64 * step;
        let first = slope(score, at);
        let second = slope(score + step / 2.0, at + step / 2.0 * first);
        let third = slope(score + step / 2.0, at + step / 2.0 * second);
        let fourth = slope(score + step, at + step * third);
        at += step / 6.0 * (first + 2.0 * second + 2.0 * third + fourth);
        curve[half + index] = t.centre + t.scale * at;
        curve[half - index] = t.centre - t.scale * at;
    }
    curve
}

/// The curve after evidence, and the mean likelihood of the evidence before it. `None` when no node could have given it.
pub fn given(curve: &Curve, likelihood: impl Fn(f64) -> f64) -> Option<(Curve, f64)> {
    let mut weights = [0.0; NODES];
    let (mut total, mut before) = (0.0, 0.0);
    for (index, weight) in weights.iter_mut().enumerate() {
        let density = (-score_at(index).powi(2) / 2.0).exp();
        let found = likelihood(curve[index]);
        *weight = density * if found.is_finite() { found.max(0.0) } else { 0.0 };
        total += *weight;
        before += density;
    }
    if total <= 1e-300 {
        return None;
    }
    // The mass of a node lies evenly half to each side of it.
    let mut below = [0.0; NODES];
    let mut sum = 0.0;
    for (index, &weight) in weights.iter().enumerate() {
        below[index] = (sum + weight / 2.0) / total;
        sum += weight;
    }
    Some((turned(&below, curve), total / before))
}

/// The curve that takes `values[i]` with `below[i]` of the mass below it; both never fall.
pub fn turned(below: &[f64], values: &[f64]) -> Curve {
    let shares = node_shares();
    let last = values.len() - 1;
    let mut curve = [0.0; NODES];
    let mut high = 0;
    for (index, value) in curve.iter_mut().enumerate() {
        let share = shares[index];
        while high < last && below[high] < share {
            high += 1;
        }
        *value = if high == 0 || below[high] <= share {
            values[high]
        } else {
            let low = high - 1;
            let part = (share - below[low]) / (below[high] - below[low]);
            values[low] + part * (values[high] - values[low])
        };
    }
    curve
}

/// Φ at every node.
fn node_shares() -> &'static Curve {
    static SHARES: std::sync::LazyLock<Curve> = std::sync::LazyLock::new(|| {
        let normal = Normal::standard();
        std::array::from_fn(|index| normal.cdf(score_at(index)))
    });
    &SHARES
}

/// Spread of the middle of a curve: value at score 1 less that at −1.
pub fn middle_spread(curve: &Curve) -> f64 {
    let off = NODES_PER_SCORE.round() as usize;
    curve[NODES / 2 + off] - curve[NODES / 2 - off]
}

/// For look-ups by the million.
pub fn compact(curve: &Curve, change: impl Fn(f64) -> f64) -> [f32; NODES] {
    std::array::from_fn(|index| {
        let value = change(curve[index]);
        if value.is_finite() { value as f32 } else { 0.0 }
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where a step fails")]
mod tests {
    use super::*;

    /// Against the exact Student t quantiles at the nodes, to the single precision the draws have.
    #[test]
    fn the_student_curve_is_its_quantile_function() {
        for degrees in [5.0, 6.0, 12.5, 80.0] {
            let t = StudentPredictive { centre: 3.0, scale: 0.5, degrees };
            let curve = student(t);
            for index in (40..NODES - 40).step_by(7) {
                let exact = t.quantile(node_shares()[index]);
                assert!(
                    (curve[index] - exact).abs() < 2e-5 * (exact - 3.0).abs().max(1.0),
                    "{degrees} {index}: {} {exact}",
                    curve[index]
                );
            }
        }
    }

    /// A normal prior with a normal likelihood has a normal posterior with known mean and deviation.
    #[test]
    fn evidence_gives_the_textbook_posterior() {
        let prior: Curve = std::array::from_fn(score_at);
        let (posterior, _) = given(&prior, |x| (-(x - 1.0f64).powi(2) / 2.0).exp()).unwrap();
        for index in (30..NODES - 30).step_by(11) {
            let exact = 0.5 + score_at(index) * 0.5f64.sqrt();
            assert!((posterior[index] - exact).abs() < 3e-3, "{} {exact}", posterior[index]);
        }
        let (_, likelihood) = given(&prior, |x| if x > 1.0 { 1.0 } else { 0.0 }).unwrap();
        assert!((likelihood - 0.158_655).abs() < 0.005);
        assert!(given(&prior, |_| 0.0).is_none());
        assert!(given(&prior, |_| f64::NAN).is_none());
    }
}
