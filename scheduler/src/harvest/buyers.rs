//! The buyers' side of the uncertainty: how much a standing order will really ask, from its own record: how often it was
//! skipped, and by what ratio it was changed when it was not.

use crate::harvest::conjugate::{BetaBelief, NormalInverseGamma};
use crate::quantity::Grams;

/// Before any record: one delivery in ten is skipped, believed as after ten deliveries (judged).
const SKIP_PRIOR: BetaBelief = BetaBelief { yes: 1.0, no: 9.0 };
/// Before any record: changes are about nothing, with a deviation of some tenth, believed as after four deliveries (judged).
const CHANGE_PRIOR: NormalInverseGamma = NormalInverseGamma { mean: 0.0, kappa: 4.0, alpha: 3.0, beta: 0.02 };
/// A change beyond this ratio either way is taken as this ratio: a party, not a habit.
const RATIO_MAX: f64 = 10.0;

/// What became of a standing order on one delivery.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ask {
    Skipped,
    /// So much was asked in the end, where the order says `usual`.
    Asked {
        usual: Grams,
        asked: Grams,
    },
}

/// What a standing order is expected to ask.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AskForecast {
    usual_g: f64,
    /// The chance that it is skipped.
    pub skip: BetaBelief,
    /// Logarithm of asked over usual, when not skipped.
    pub change: NormalInverseGamma,
}

/// Learns from a standing order's own record, in any order.
pub fn ask_forecast(usual: Grams, record: &[Ask]) -> AskForecast {
    let mut forecast = AskForecast { usual_g: usual.get().max(0) as f64, skip: SKIP_PRIOR, change: CHANGE_PRIOR };
    for &ask in record {
        match ask {
            Ask::Asked { usual, asked } if asked.is_positive() => {
                forecast.skip = forecast.skip.updated(0, 1);
                let ratio = asked.get() as f64 / usual.get().max(1) as f64;
                let log = ratio.clamp(1.0 / RATIO_MAX, RATIO_MAX).ln();
                forecast.change = forecast.change.updated(log, 1.0);
            }
            Ask::Skipped | Ask::Asked { .. } => forecast.skip = forecast.skip.updated(1, 0),
        }
    }
    forecast
}

impl AskForecast {
    /// The chance, 0 to 1, that the next delivery is skipped.
    pub fn skip_chance(&self) -> f64 {
        self.skip.mean()
    }

    /// The amount that less is asked than with probability `p` (0 to 1); zero up to the chance of skipping.
    pub fn quantile(&self, p: f64) -> Grams {
        let skip = self.skip_chance();
        let within = ((p - skip) / (1.0 - skip)).min(1.0 - 1e-9);
        if within <= 0.0 || self.usual_g <= 0.0 {
            return Grams::ZERO;
        }
        let log = self.change.predictive().quantile(within).clamp(-RATIO_MAX.ln(), RATIO_MAX.ln());
        Grams::new((self.usual_g * log.exp()).round() as i64)
    }

    /// The expected amount, whole grams: the mean over `MEMBERS` equally likely outcomes.
    pub fn mean(&self) -> Grams {
        const MEMBERS: i64 = 200;
        let sum: i64 = (0..MEMBERS).map(|i| self.quantile((i as f64 + 0.5) / MEMBERS as f64).get()).sum();
        Grams::new(sum / MEMBERS)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(asked: i64) -> Ask {
        Ask::Asked { usual: Grams::new(2000), asked: Grams::new(asked) }
    }

    #[test]
    fn a_steady_buyer_is_counted_on_and_a_skipper_is_not() {
        let usual = Grams::new(2000);
        let steady = ask_forecast(usual, &[asked(2000); 20]);
        assert!(steady.skip_chance() < 0.04);
        let (low, high) = (steady.quantile(0.1).get(), steady.quantile(0.9).get());
        assert!(low > 1850 && high < 2150, "{low} {high}");
        let record: Vec<Ask> = (0..20).map(|i| if i % 2 == 0 { Ask::Skipped } else { asked(2600) }).collect();
        let skipper = ask_forecast(usual, &record);
        // Beta(1 + 10, 9 + 10).
        assert!((skipper.skip_chance() - 11.0 / 30.0).abs() < 1e-12);
        assert_eq!(skipper.quantile(0.3), Grams::ZERO);
        assert!(skipper.quantile(0.7).get() > 2200);
        assert!(skipper.mean() < steady.mean());
    }

    #[test]
    fn odd_records_give_plain_numbers() {
        let odd = [asked(0), asked(i64::MAX), Ask::Asked { usual: Grams::ZERO, asked: Grams::new(5) }];
        for usual in [Grams::ZERO, Grams::new(-5), Grams::new(1)] {
            let forecast = ask_forecast(usual, &odd);
            for p in [-1.0, 0.0, 0.1, 0.5, 0.99, 1.0, 2.0] {
                assert!(forecast.quantile(p) >= Grams::ZERO);
            }
        }
    }
}
