//! Learning by conjugate updates: the Normal-Inverse-Gamma for a normal of unknown mean and variance, the Beta for a
//! chance. Formulas and symbols follow Murphy, "Conjugate Bayesian analysis of the Gaussian distribution" (2007), and
//! Gelman et al., *Bayesian Data Analysis*.

use statrs::distribution::{Beta, ContinuousCDF, StudentsT};

/// What is believed of a normal's mean and variance: variance ~ IG(α, β), mean given variance ~ N(m, variance/κ).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NormalInverseGamma {
    pub mean: f64,
    pub kappa: f64,
    pub alpha: f64,
    pub beta: f64,
}

impl NormalInverseGamma {
    /// The belief after one value that counts for `weight` of a value (1: a whole one). Values that are not finite and
    /// weights not above zero teach nothing.
    #[must_use]
    pub fn updated(self, value: f64, weight: f64) -> NormalInverseGamma {
        if !value.is_finite() || !weight.is_finite() || weight <= 0.0 {
            return self;
        }
        let kappa = self.kappa + weight;
        let gap = value - self.mean;
        NormalInverseGamma {
            mean: self.mean + weight * gap / kappa,
            kappa,
            alpha: self.alpha + weight / 2.0,
            beta: self.beta + self.kappa * weight * gap * gap / (2.0 * kappa),
        }
    }

    /// What the next value looks like.
    pub fn predictive(self) -> StudentPredictive {
        StudentPredictive {
            centre: self.mean,
            scale: (self.beta * (self.kappa + 1.0) / (self.alpha * self.kappa)).sqrt(),
            degrees: 2.0 * self.alpha,
        }
    }

    /// The expected variance of one value about the mean; needs α above 1.
    pub fn expected_variance(self) -> f64 {
        self.beta / (self.alpha - 1.0).max(0.1)
    }
}

/// A Student t moved and stretched.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StudentPredictive {
    pub centre: f64,
    pub scale: f64,
    pub degrees: f64,
}

impl StudentPredictive {
    /// The value below which a share `p` (strictly between 0 and 1) of outcomes fall.
    pub fn quantile(self, p: f64) -> f64 {
        match StudentsT::new(self.centre, self.scale, self.degrees) {
            Ok(t) if p > 0.0 && p < 1.0 => t.inverse_cdf(p),
            _ => self.centre,
        }
    }

    /// The share of outcomes at or below `value`.
    pub fn cdf(self, value: f64) -> f64 {
        StudentsT::new(self.centre, self.scale, self.degrees).map_or(0.5, |t| t.cdf(value))
    }

    /// Logarithm of the density at `value`, up to a constant that depends on the degrees only.
    pub fn ln_density(self, value: f64) -> f64 {
        let z = (value - self.centre) / self.scale;
        -(self.degrees + 1.0) / 2.0 * (z * z / self.degrees).ln_1p() - self.scale.ln()
    }
}

/// What is believed of a chance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BetaBelief {
    pub yes: f64,
    pub no: f64,
}

impl BetaBelief {
    /// A chance of about `chance`, believed as firmly as after `weight` trials.
    pub fn about(chance: f64, weight: f64) -> BetaBelief {
        BetaBelief { yes: chance * weight, no: (1.0 - chance) * weight }
    }

    #[must_use]
    pub fn updated(self, yes: u32, no: u32) -> BetaBelief {
        BetaBelief { yes: self.yes + f64::from(yes), no: self.no + f64::from(no) }
    }

    pub fn mean(self) -> f64 {
        if self.yes + self.no > 0.0 { self.yes / (self.yes + self.no) } else { 0.0 }
    }

    /// The value the chance is below with probability `p`; the mean when the belief is degenerate.
    pub fn quantile(self, p: f64) -> f64 {
        Beta::new(self.yes, self.no).map_or(self.mean(), |beta| beta.inverse_cdf(p.clamp(0.0, 1.0)))
    }
}

/// μ and σ of the logarithm of a log-normal with this mean and standard deviation (both above 0): σ² = ln(1 + (s/m)²),
/// μ = ln m − σ²/2.
pub fn log_moments(mean: f64, sd: f64) -> (f64, f64) {
    let variance = (sd / mean).powi(2).ln_1p();
    (mean.ln() - variance / 2.0, variance.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(got: f64, wanted: f64, relative: f64) {
        assert!((got - wanted).abs() <= relative * wanted.abs().max(1e-300), "got {got}, wanted {wanted}");
    }

    fn after(prior: (f64, f64, f64, f64), values: &[f64]) -> NormalInverseGamma {
        let (mean, kappa, alpha, beta) = prior;
        values.iter().fold(NormalInverseGamma { mean, kappa, alpha, beta }, |nig, &value| nig.updated(value, 1.0))
    }

    const GRAMS: [f64; 6] = [262.0, 241.0, 255.0, 238.0, 270.0, 249.0];

    /// Posteriors and predictive quantiles computed with SciPy 1.17 from Murphy (2007).
    #[test]
    fn updates_and_predictive_quantiles_match_scipy() {
        let logs: Vec<f64> = GRAMS.iter().map(|g| g.ln()).collect();
        let weighed = (250.0, 4.0, 3.0, 600.0);
        for (prior, values, posterior, scale, quantiles) in [
            (
                (0.0, 1.0, 1.0, 1.0),
                &[1.0, 2.0, 3.0][..],
                [1.5, 4.0, 2.5, 3.5],
                1.322_875_655_532,
                [-0.452_411_078_6, 1.5, 3.452_411_078_6],
            ),
            (weighed, &[][..], [250.0, 4.0, 3.0, 600.0], 15.811_388_300_842, [227.235_462_82, 250.0, 272.764_537_18]),
            (
                weighed,
                &[262.0][..],
                [252.4, 5.0, 3.5, 657.6],
                15.015_420_644_886,
                [231.154_322_045_8, 252.4, 273.645_677_954_2],
            ),
            (
                weighed,
                &GRAMS[..],
                [251.5, 10.0, 6.0, 986.25],
                13.446_653_858_860,
                [233.263_414_952, 251.5, 269.736_585_048],
            ),
            (
                (5.5, 2.0, 2.5, 0.09),
                &logs[..],
                [5.522_818_813_943, 8.0, 5.5, 0.096_599_799_787],
                0.140_566_887_838,
                [5.331_165_657_4, 5.522_818_813_9, 5.714_471_970_5],
            ),
        ] {
            let nig = after(prior, values);
            for (got, wanted) in [nig.mean, nig.kappa, nig.alpha, nig.beta].into_iter().zip(posterior) {
                near(got, wanted, 1e-9);
            }
            let t = nig.predictive();
            near(t.scale, scale, 1e-9);
            for (p, wanted) in [0.1, 0.5, 0.9].into_iter().zip(quantiles) {
                near(t.quantile(p), wanted, 1e-9);
            }
        }
    }

    #[test]
    fn the_order_of_values_does_not_matter() {
        let mut turned = GRAMS;
        turned.reverse();
        let (forth, back) = (after((250.0, 4.0, 3.0, 600.0), &GRAMS), after((250.0, 4.0, 3.0, 600.0), &turned));
        near(forth.mean, back.mean, 1e-12);
        near(forth.beta, back.beta, 1e-12);
    }

    /// Student t quantiles as in printed tables; digits computed with SciPy 1.17.
    #[test]
    fn student_quantiles_match_the_printed_table() {
        for (degrees, p, wanted) in [
            (1.0, 0.975, 12.706_204_736_2),
            (2.0, 0.9, 1.885_618_083_2),
            (5.0, 0.75, 0.726_686_843_8),
            (5.0, 0.99, 3.364_929_998_9),
            (10.0, 0.6, 0.260_184_829_5),
            (10.0, 0.95, 1.812_461_122_8),
            (30.0, 0.975, 2.042_272_456_3),
        ] {
            near(StudentPredictive { centre: 0.0, scale: 1.0, degrees }.quantile(p), wanted, 1e-9);
        }
    }

    /// Beta(2, 2) after 7 of 10: computed with SciPy 1.17.
    #[test]
    fn a_chance_is_learnt_as_scipy_says() {
        let belief = BetaBelief { yes: 2.0, no: 2.0 }.updated(7, 3);
        near(belief.mean(), 0.642_857_142_9, 1e-9);
        for (p, wanted) in [(0.1, 0.476_571_22), (0.5, 0.649_836_61), (0.9, 0.799_497_96)] {
            near(belief.quantile(p), wanted, 1e-7);
        }
    }

    /// Log-normal by moments: computed with SciPy 1.17.
    #[test]
    fn log_moments_match_scipy() {
        for (mean, sd, mu, sigma) in [
            (100.0, 30.0, 4.562_081_337_868, 0.293_560_379_209),
            (250.0, 50.0, 5.501_850_561_286, 0.198_042_200_435),
            (1.0, 1.0, -0.346_573_590_280, 0.832_554_611_158),
        ] {
            let (got_mu, got_sigma) = log_moments(mean, sd);
            near(got_mu, mu, 1e-11);
            near(got_sigma, sigma, 1e-11);
        }
    }
}
