//! How much of an offer a buyer takes, learned from the farm's own record. Rule: two conjugate models, whether it is
//! taken (beta-binomial) and how many packs beyond the first (gamma-Poisson), by buyer, crop, weekday and price; what
//! is seldom seen leans on what is seen more often.
//!
//! Formulas: Gelman et al., *Bayesian Data Analysis*, chapter 2. The first prior and the weight of a broader level are
//! judged; no source is known.

use crate::id::Id;
use chrono::Weekday;
use statrs::distribution::ContinuousCDF;
use std::collections::BTreeMap;

/// Offers a broader level counts for at a narrower one.
const BROADER_WEIGHT: f64 = 4.0;

/// Hours in which half of those who take some have looked. Judged, no source.
const HALF_LOOK_HOURS: f64 = 6.0;

/// What is known of a share: Beta(a, b).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// Above zero.
    pub a: f64,
    /// Above zero.
    pub b: f64,
}

impl Share {
    /// After `taken` of `offers`.
    pub fn after(self, taken: f64, offers: f64) -> Share {
        Share { a: self.a + taken, b: self.b + (offers - taken).max(0.0) }
    }

    /// The expected share.
    pub fn mean(self) -> f64 {
        self.a / (self.a + self.b)
    }

    /// The share below which it lies with chance `level`, 0 to 1; `None` when the parameters are not above zero.
    pub fn quantile(self, level: f64) -> Option<f64> {
        let beta = statrs::distribution::Beta::new(self.a, self.b).ok()?;
        (0.0..=1.0).contains(&level).then(|| beta.inverse_cdf(level))
    }

    fn at_most_worth(self, offers: f64) -> Share {
        let scale = (offers / (self.a + self.b)).min(1.0);
        Share { a: self.a * scale, b: self.b * scale }
    }
}

/// What is known of a mean count: Gamma(shape, rate).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Count {
    /// Above zero.
    pub shape: f64,
    /// Above zero; how many observations it is worth.
    pub rate: f64,
}

impl Count {
    /// After counts summing to `sum` over `times` observations.
    pub fn after(self, sum: f64, times: f64) -> Count {
        Count { shape: self.shape + sum, rate: self.rate + times }
    }

    /// The expected count.
    pub fn mean(self) -> f64 {
        self.shape / self.rate
    }

    /// The mean below which it lies with chance `level`, 0 to 1; `None` when the parameters are not above zero.
    pub fn quantile(self, level: f64) -> Option<f64> {
        let gamma = statrs::distribution::Gamma::new(self.shape, self.rate).ok()?;
        (0.0..=1.0).contains(&level).then(|| gamma.inverse_cdf(level))
    }

    /// Chances that the next count is 0, 1, …, `most` or more: negative binomial, the rest gathered at `most`.
    pub fn next(self, most: usize) -> Vec<f64> {
        let mut chances = Vec::with_capacity(most + 1);
        let mut chance = (self.shape * (self.rate / (self.rate + 1.0)).ln()).exp();
        let mut rest = 1.0;
        for count in 0..most {
            chances.push(chance);
            rest -= chance;
            chance *= (count as f64 + self.shape) / ((count as f64 + 1.0) * (self.rate + 1.0));
        }
        chances.push(rest.max(0.0));
        chances
    }

    fn at_most_worth(self, times: f64) -> Count {
        let scale = (times / self.rate).min(1.0);
        Count { shape: self.shape * scale, rate: self.rate * scale }
    }
}

/// What is known of one buyer's answer to one kind of offer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uptake {
    /// Whether anything is taken.
    pub taken: Share,
    /// Packs beyond the first, if anything is taken.
    pub beyond_first: Count,
}

/// Before anything is known: one of three offers is taken, two packs of it. Judged, no source.
pub const PRIOR: Uptake = Uptake { taken: Share { a: 1.0, b: 2.0 }, beyond_first: Count { shape: 1.0, rate: 1.0 } };

impl Uptake {
    /// Chances that 0, 1, …, `most` packs or more are taken.
    pub fn packs(self, most: usize) -> Vec<f64> {
        if most == 0 {
            return vec![1.0];
        }
        let taken = self.taken.mean();
        let mut chances = vec![1.0 - taken];
        chances.extend(self.beyond_first.next(most - 1).into_iter().map(|chance| chance * taken));
        chances
    }

    /// The same of an offer that is open for so many minutes: who has not looked by then takes nothing.
    pub fn within(self, minutes: i64) -> Uptake {
        let looked = 1.0 - 0.5_f64.powf(minutes.max(0) as f64 / 60.0 / HALF_LOOK_HOURS);
        let Share { a, b } = self.taken;
        Uptake { taken: Share { a: a * looked, b: b + a * (1.0 - looked) }, ..self }
    }
}

/// The expected number of packs that several buyers take between them of `packs` offered, each free to take any.
pub fn expected_packs(buyers: &[Uptake], packs: usize) -> f64 {
    let mut sum = vec![0.0; packs + 1];
    sum[0] = 1.0;
    for buyer in buyers {
        let one = buyer.packs(packs);
        let mut next = vec![0.0; packs + 1];
        for (already, chance) in sum.iter().enumerate() {
            for (more, its) in one.iter().enumerate() {
                next[(already + more).min(packs)] += chance * its;
            }
        }
        sum = next;
    }
    sum.iter().enumerate().map(|(count, chance)| count as f64 * chance).sum()
}

/// A kind of offer.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Kind {
    pub buyer: Id,
    pub crop: String,
    /// Days from Monday, as `weekday` gives it.
    weekday: u8,
    /// The price in tenths of the list price.
    pub price_tenths: u8,
}

impl Kind {
    /// An offer of `crop` to `buyer` on a weekday at a price in tenths of the list price.
    pub fn new(buyer: Id, crop: &str, weekday: Weekday, price_tenths: u8) -> Kind {
        Kind { buyer, crop: crop.to_owned(), weekday: weekday.num_days_from_monday() as u8, price_tenths }
    }
}

#[derive(Clone, Copy, Debug, Default)]
struct Tally {
    offers: f64,
    taken: f64,
    beyond_first: f64,
}

impl Tally {
    fn add(&mut self, packs_taken: u32) {
        self.offers += 1.0;
        if packs_taken > 0 {
            self.taken += 1.0;
            self.beyond_first += f64::from(packs_taken - 1);
        }
    }

    /// What the broader level saw beside the narrower one, so that nothing counts twice.
    fn beside(self, narrower: Tally) -> Tally {
        Tally {
            offers: self.offers - narrower.offers,
            taken: self.taken - narrower.taken,
            beyond_first: self.beyond_first - narrower.beyond_first,
        }
    }
}

/// The farm's record of offers.
#[derive(Clone, Debug, Default)]
pub struct Record {
    by_crop: BTreeMap<String, Tally>,
    by_buyer: BTreeMap<(Id, String), Tally>,
    by_kind: BTreeMap<Kind, Tally>,
}

impl Record {
    /// Notes that an offer found `packs_taken` packs taken, zero for a refusal or silence.
    pub fn note(&mut self, kind: &Kind, packs_taken: u32) {
        self.by_crop.entry(kind.crop.clone()).or_default().add(packs_taken);
        self.by_buyer.entry((kind.buyer, kind.crop.clone())).or_default().add(packs_taken);
        self.by_kind.entry(kind.clone()).or_default().add(packs_taken);
    }

    /// What to expect of an offer of this kind.
    pub fn uptake(&self, kind: &Kind) -> Uptake {
        let exact = self.by_kind.get(kind).copied().unwrap_or_default();
        let buyer = self.by_buyer.get(&(kind.buyer, kind.crop.clone())).copied().unwrap_or_default();
        let crop = self.by_crop.get(&kind.crop).copied().unwrap_or_default();
        [crop.beside(buyer), buyer.beside(exact), exact].into_iter().fold(PRIOR, |broader, tally| Uptake {
            taken: broader.taken.at_most_worth(BROADER_WEIGHT).after(tally.taken, tally.offers),
            beyond_first: broader.beyond_first.at_most_worth(BROADER_WEIGHT).after(tally.beyond_first, tally.taken),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, expected: f64, tolerance: f64) {
        assert!((found - expected).abs() <= tolerance, "{found} is not {expected}");
    }

    /// Beta(2, 2) and 7 of 10 is Beta(9, 5); quantiles computed with SciPy 1.17.
    #[test]
    fn a_share_agrees_with_scipy() {
        let share = Share { a: 2.0, b: 2.0 }.after(7.0, 10.0);
        assert_eq!(share, Share { a: 9.0, b: 5.0 });
        close(share.mean(), 0.6428571429, 1e-10);
        for (level, expected) in [(0.1, 0.47657122), (0.5, 0.64983661), (0.9, 0.79949796)] {
            close(share.quantile(level).expect("a quantile"), expected, 1e-7);
        }
    }

    /// Shape 3, rate 0.2, counts summing to 25 over 4; quantiles and negative binomial chances computed with SciPy
    /// 1.17.
    #[test]
    fn a_count_agrees_with_scipy() {
        let count = Count { shape: 3.0, rate: 0.2 }.after(25.0, 4.0);
        close(count.mean(), 6.6666666667, 1e-9);
        for (level, expected) in [(0.1, 5.11158768), (0.5, 6.58747175), (0.9, 8.32363251)] {
            close(count.quantile(level).expect("a quantile"), expected, 1e-6);
        }
        let chances = count.next(40);
        for (packs, expected) in [(0, 0.0025286371), (3, 0.0730133898), (7, 0.1323166146), (12, 0.0252994866)] {
            close(chances[packs], expected, 1e-9);
        }
        let chances = Count { shape: 2.5, rate: 1.5 }.next(6);
        close(chances[5], 0.0334960387, 1e-9);
        close(chances[6], 0.0320615235, 1e-9);
    }

    /// Two buyers and four packs, by convolution of SciPy 1.17 negative binomials.
    #[test]
    fn expected_packs_agree_with_scipy() {
        let likes = Uptake { taken: Share { a: 9.0, b: 5.0 }, beyond_first: Count { shape: 2.5, rate: 1.5 } };
        let seldom = Uptake { taken: Share { a: 2.0, b: 3.0 }, beyond_first: Count { shape: 1.0, rate: 1.0 } };
        close(expected_packs(&[likes], 4), 1.5496249080, 1e-9);
        close(expected_packs(&[likes, seldom], 4), 2.1007188558, 1e-9);
        close(expected_packs(&[seldom, likes], 4), 2.1007188558, 1e-9);
        close(expected_packs(&[], 4), 0.0, 0.0);
        close(expected_packs(&[likes], 0), 0.0, 0.0);
    }

    #[test]
    fn what_is_seldom_seen_leans_on_what_is_seen_more() {
        let kind = |buyer, weekday| Kind::new(Id::new(buyer), "oyster", weekday, 8);
        let mut record = Record::default();
        assert_eq!(record.uptake(&kind(1, Weekday::Fri)).taken.mean(), PRIOR.taken.mean());
        for _ in 0..20 {
            record.note(&kind(1, Weekday::Fri), 3);
            record.note(&kind(2, Weekday::Fri), 0);
        }
        let share = |buyer, weekday| record.uptake(&kind(buyer, weekday)).taken.mean();
        // The one who always takes, the same on a day never tried, a stranger, the one who never takes.
        let order = [share(1, Weekday::Fri), share(1, Weekday::Mon), share(3, Weekday::Fri), share(2, Weekday::Fri)];
        assert!(order.windows(2).all(|pair| pair[0] > pair[1]), "{order:?}");
        close(record.uptake(&kind(1, Weekday::Fri)).beyond_first.mean(), 2.0, 0.2);
        // Another crop knows nothing of it.
        let other = Kind::new(Id::new(1), "shiitake", Weekday::Fri, 8);
        assert_eq!(record.uptake(&other).taken.mean(), PRIOR.taken.mean());
    }

    #[test]
    fn a_short_offer_is_seen_by_fewer() {
        let taken = |minutes| PRIOR.within(minutes).taken.mean() / PRIOR.taken.mean();
        // The half-life's own values.
        for (minutes, share) in [(0, 0.0), (360, 0.5), (720, 0.75), (-5, 0.0)] {
            close(taken(minutes), share, 1e-12);
        }
    }

    #[test]
    fn chances_sum_to_one() {
        for most in 0..60 {
            close(PRIOR.packs(most).iter().sum::<f64>(), 1.0, 1e-12);
        }
    }
}
