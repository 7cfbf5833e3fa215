//! Scoring a forecast against what came: CRPS, pinball and interval scores (lower is better, in the unit of the outcome),
//! PIT, coverage, and whether either is off by more than chance. Pure numbers; who is scored is decided elsewhere.

use statrs::distribution::{Binomial, Continuous, ContinuousCDF, Discrete, Normal};
use std::f64::consts::{FRAC_1_SQRT_2, PI};

fn standard_normal() -> Normal {
    Normal::standard()
}

/// Continuous ranked probability score of an ensemble of equally likely `members` sorted upwards, against `outcome`:
/// (1/m)Σ|xᵢ − y| − (1/2m²)ΣΣ|xᵢ − xⱼ| (Gneiting & Raftery 2007, J. Amer. Stat. Assoc. 102). `None` without members.
pub fn crps(members: &[f64], outcome: f64) -> Option<f64> {
    let count = members.len() as f64;
    (!members.is_empty()).then(|| mean_distance(members, outcome) - spread_sum(members) / (count * count))
}

/// The same for a sample of `members` standing for a larger ensemble: the second sum is divided by 2m(m − 1). `None`
/// below two members.
pub fn crps_fair(members: &[f64], outcome: f64) -> Option<f64> {
    let count = members.len() as f64;
    (members.len() > 1).then(|| mean_distance(members, outcome) - spread_sum(members) / (count * (count - 1.0)))
}

fn mean_distance(members: &[f64], outcome: f64) -> f64 {
    members.iter().map(|x| (x - outcome).abs()).sum::<f64>() / members.len() as f64
}

/// Half of ΣΣ|xᵢ − xⱼ| of sorted members: Σ (2i − m − 1) xᵢ with i from 1.
fn spread_sum(members: &[f64]) -> f64 {
    let count = members.len() as f64;
    members.iter().enumerate().map(|(i, x)| (2.0 * (i as f64 + 1.0) - count - 1.0) * x).sum()
}

/// CRPS of a normal: σ[z(2Φ(z) − 1) + 2φ(z) − 1/√π] (Gneiting & Raftery 2007).
pub fn crps_normal(mean: f64, sd: f64, outcome: f64) -> f64 {
    let (normal, z) = (standard_normal(), (outcome - mean) / sd);
    sd * (z * (2.0 * normal.cdf(z) - 1.0) + 2.0 * normal.pdf(z) - 1.0 / PI.sqrt())
}

/// CRPS of a log-normal with log-mean `mu` and log-deviation `sigma`: y(2Φ(w) − 1) − 2e^{μ + σ²/2}[Φ(w − σ) + Φ(σ/√2) − 1]
/// with w = (ln y − μ)/σ, for an outcome above zero.
pub fn crps_log_normal(mu: f64, sigma: f64, outcome: f64) -> f64 {
    let normal = standard_normal();
    let w = (outcome.ln() - mu) / sigma;
    let mean = (mu + sigma * sigma / 2.0).exp();
    outcome * (2.0 * normal.cdf(w) - 1.0)
        - 2.0 * mean * (normal.cdf(w - sigma) + normal.cdf(sigma * FRAC_1_SQRT_2) - 1.0)
}

/// Pinball loss of a quantile forecast at `level` (0 to 1).
pub fn pinball(quantile: f64, level: f64, outcome: f64) -> f64 {
    if outcome >= quantile { level * (outcome - quantile) } else { (1.0 - level) * (quantile - outcome) }
}

/// Interval score of a central interval that should miss with probability `alpha` (Gneiting & Raftery 2007).
pub fn interval_score((low, high): (f64, f64), alpha: f64, outcome: f64) -> f64 {
    (high - low) + 2.0 / alpha * ((low - outcome).max(0.0) + (outcome - high).max(0.0))
}

/// Probability integral transform of `outcome` under sorted `members`: the share below it, plus `tie` (0 to 1, drawn by
/// the caller) of the share equal to it, so that a forecast with a lump at zero is uniform too when it is honest.
pub fn pit(members: &[f64], outcome: f64, tie: f64) -> f64 {
    let below = members.partition_point(|&x| x < outcome);
    let not_above = members.partition_point(|&x| x <= outcome);
    // One more place than members: the outcome has a place of its own.
    (below as f64 + tie * ((not_above - below) as f64 + 1.0)) / (members.len() as f64 + 1.0)
}

/// How often outcomes fell inside an interval.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Coverage {
    pub inside: u64,
    pub of: u64,
}

impl Coverage {
    /// One more outcome.
    pub fn count(&mut self, (low, high): (f64, f64), outcome: f64) {
        self.of += 1;
        self.inside += u64::from(low <= outcome && outcome <= high);
    }

    /// Share inside, 0 to 1; `None` before the first outcome.
    pub fn share(self) -> Option<f64> {
        (self.of > 0).then(|| self.inside as f64 / self.of as f64)
    }

    /// Exact two-sided p-value that the true share is `share`: the sum of the chances of all counts no likelier than this
    /// one (the relative tolerance 1e-7 is SciPy's, for counts equally likely but for rounding).
    pub fn binomial_p(self, share: f64) -> f64 {
        let Ok(binomial) = Binomial::new(share, self.of) else { return 1.0 };
        let limit = binomial.pmf(self.inside) * (1.0 + 1e-7);
        (0..=self.of).map(|k| binomial.pmf(k)).filter(|&chance| chance <= limit).sum::<f64>().min(1.0)
    }

    /// Wilson's interval for the true share, at 95 % (Wilson 1927, J. Amer. Stat. Assoc. 22).
    pub fn wilson_95(self) -> (f64, f64) {
        if self.of == 0 {
            return (0.0, 1.0);
        }
        let (n, z) = (self.of as f64, 1.959_963_984_540_054);
        let share = self.inside as f64 / n;
        let centre = share + z * z / (2.0 * n);
        let half = z * (share * (1.0 - share) / n + z * z / (4.0 * n * n)).sqrt();
        ((centre - half) / (1.0 + z * z / n), (centre + half) / (1.0 + z * z / n))
    }
}

/// Kolmogorov's distance of `values` (0 to 1, sorted) from the uniform, and the p-value of a distance as large
/// (Stephens's form of the asymptotic series, 1970, J. Roy. Stat. Soc. B 32; good above some 8 values). `None` without values.
pub fn kolmogorov_uniform(values: &[f64]) -> Option<(f64, f64)> {
    if values.is_empty() {
        return None;
    }
    let n = values.len() as f64;
    let distance =
        values.iter().enumerate().map(|(i, &u)| (u - i as f64 / n).max((i as f64 + 1.0) / n - u)).fold(0.0, f64::max);
    let x = (n.sqrt() + 0.12 + 0.11 / n.sqrt()) * distance;
    if x < 0.2 {
        return Some((distance, 1.0));
    }
    let tail: f64 = (1..=100)
        .map(|k| {
            let k = f64::from(k);
            2.0 * if k % 2.0 == 1.0 { 1.0 } else { -1.0 } * (-2.0 * k * k * x * x).exp()
        })
        .sum();
    Some((distance, tail.clamp(0.0, 1.0)))
}

/// The quantile at `p` of sorted values, linear between order statistics (Hyndman & Fan 1996, type 7). `None` without values.
pub fn quantile(sorted: &[f64], p: f64) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    let place = p.clamp(0.0, 1.0) * last as f64;
    let low = place.floor() as usize;
    let high = (low + 1).min(last);
    Some(sorted[low] + (place - low as f64) * (sorted[high] - sorted[low]))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where a step fails")]
mod tests {
    use super::*;

    fn near(got: f64, wanted: f64, tolerance: f64) {
        assert!((got - wanted).abs() <= tolerance * wanted.abs().max(1.0), "got {got}, wanted {wanted}");
    }

    /// Plain form as properscoring 0.1 gives it; both forms computed from Gneiting & Raftery (2007).
    #[test]
    fn ensemble_crps_matches_published_forms() {
        let four = [1.0, 2.0, 3.0, 4.0];
        for (members, outcome, plain, fair) in [
            (&four[..], 2.5, 0.375, Some(1.0 / 6.0)),
            (&four[..], 0.0, 1.875, Some(5.0 / 3.0)),
            (&four[..], 5.0, 1.875, Some(5.0 / 3.0)),
            (&[10.0][..], 12.0, 2.0, None),
            (&[240.0, 250.0, 255.0, 262.0, 300.0][..], 258.0, 4.44, Some(1.8)),
            (&[0.0, 0.0, 10.0, 10.0][..], 5.0, 2.5, Some(5.0 / 3.0)),
        ] {
            near(crps(members, outcome).unwrap(), plain, 1e-12);
            assert_eq!(crps_fair(members, outcome).is_some(), fair.is_some());
            if let Some(fair) = fair {
                near(crps_fair(members, outcome).unwrap(), fair, 1e-12);
            }
        }
        assert_eq!(crps(&[], 1.0), None);
    }

    /// Closed forms, equal to numerical integration of (F − step)² with SciPy 1.17.
    #[test]
    fn closed_form_crps_matches_integration() {
        for (mean, sd, outcome, wanted) in [
            (0.0, 1.0, 0.0, 0.233_694_977_255),
            (0.0, 1.0, 1.0, 0.602_441_357_628),
            (0.0, 1.0, -2.0, 1.452_791_821_686),
            (250.0, 20.0, 258.0, 5.933_761_806_943),
        ] {
            near(crps_normal(mean, sd, outcome), wanted, 1e-9);
        }
        near(crps_log_normal(0.0, 1.0, 1.0), 0.267_405_467_023, 1e-9);
        near(crps_log_normal(100f64.ln(), 0.3, 120.0), 11.939_395_284_520, 1e-9);
    }

    #[test]
    fn pinball_and_interval_scores_are_those_worked_by_hand() {
        near(pinball(100.0, 0.9, 120.0), 18.0, 1e-12);
        near(pinball(80.0 + 20.0, 0.1, 80.0), 18.0, 1e-12);
        near(pinball(100.0, 0.9, 80.0), 2.0, 1e-12);
        for (outcome, wanted) in [(100.0, 40.0), (130.0, 140.0), (70.0, 140.0)] {
            near(interval_score((80.0, 120.0), 0.2, outcome), wanted, 1e-12);
        }
    }

    /// Exact binomial p (SciPy 1.17 `binomtest`) and Wilson's 95 % interval.
    #[test]
    fn coverage_is_judged_as_scipy_judges_it() {
        for (inside, of, p, low, high) in [
            (80, 100, 1.0, 0.711_170_834_4, 0.866_633_066_7),
            (70, 100, 0.016_945_359_7, 0.604_151_453_7, 0.781_051_147_1),
            (15, 20, 0.576_436_455_0, 0.531_299_122_8, 0.888_138_298_6),
            (12, 20, 0.043_671_878_1, 0.386_581_500_8, 0.781_193_467_6),
            (144, 200, 0.006_061_678_0, 0.654_076_954_1, 0.777_631_102_3),
        ] {
            let coverage = Coverage { inside, of };
            near(coverage.binomial_p(0.8), p, 1e-9);
            near(coverage.wilson_95().0, low, 1e-9);
            near(coverage.wilson_95().1, high, 1e-9);
        }
    }

    /// Distance exact; the exact p is 0.99953 (SciPy 1.17), the series is asymptotic.
    #[test]
    fn kolmogorov_matches_scipy() {
        let values = [0.05, 0.12, 0.18, 0.27, 0.33, 0.41, 0.52, 0.58, 0.66, 0.74, 0.83, 0.95];
        let (distance, p) = kolmogorov_uniform(&values).unwrap();
        near(distance, 0.093_333_333_3, 1e-9);
        assert!((p - 0.999_533).abs() < 2e-3, "{p}");
        let (_, lopsided) = kolmogorov_uniform(&[0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.07, 0.08, 0.09, 0.1]).unwrap();
        assert!(lopsided < 1e-6);
    }

    /// PIT of 258 under N(250, 20) is 0.6554217416 (SciPy 1.17); here from a fine ensemble of the same normal.
    #[test]
    fn pit_of_an_ensemble_nears_the_distribution() {
        let normal = Normal::new(250.0, 20.0).unwrap();
        let members: Vec<f64> = (0..10_000).map(|i| normal.inverse_cdf((f64::from(i) + 0.5) / 10_000.0)).collect();
        assert!((pit(&members, 258.0, 0.5) - 0.655_421_741_6).abs() < 2e-4);
        assert!((pit(&[0.0, 0.0, 0.0], 0.0, 0.25) - 0.25).abs() < 1e-12);
        assert_eq!(quantile(&[1.0, 2.0, 3.0, 4.0], 0.5), Some(2.5));
    }
}
