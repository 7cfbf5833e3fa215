//! How a flush's yield spreads over its picks: share picked by the end of harvest day j (0 the day of the first pick) is
//! 1 − exp(−((j + 1)/λ)^1.6), cut after [`PICK_DAYS`]. One number, λ in days, says how drawn out a flush is; it is learnt
//! like the others. The shape is judged: most on the second day, a thin tail of stragglers.

/// Share of what grows after which nobody comes back for the rest: stragglers are thrown out with the flush (judged).
const FINISHED: f64 = 0.98;
/// Most days a flush is picked.
pub const PICK_DAYS: usize = 14;
/// Exponent of the curve.
const SHAPE: f64 = 1.6;
/// Share still to come after the last usual pick, which ties λ to the trade's "days from first to last pick".
const LEFT_AFTER_SPREAD: f64 = 0.03;

/// λ of a flush usually picked from day 0 to day `spread_days`, in days.
pub fn duration_for_spread(spread_days: f64) -> f64 {
    (spread_days + 1.0) / (-LEFT_AFTER_SPREAD.ln()).powf(1.0 / SHAPE)
}

/// Share picked by the end of each harvest day, rising to 1.
pub fn cumulative(duration_days: f64) -> [f64; PICK_DAYS] {
    let whole = |day: usize| -(-((day as f64 + 1.0) / duration_days).powf(SHAPE)).exp_m1();
    let last = (0..PICK_DAYS - 1).find(|&day| whole(day) > FINISHED).unwrap_or(PICK_DAYS - 1);
    std::array::from_fn(|day| if day < last { whole(day) / whole(last) } else { 1.0 })
}

/// Mean harvest day, weighted by grams, of a flush with this λ.
fn mean_day(duration_days: f64) -> f64 {
    cumulative(duration_days).iter().map(|share| 1.0 - share).sum()
}

/// The λ whose mean harvest day is `mean_day_wanted` (days after the first pick), within 0.2 to 20 days.
pub fn duration_for_mean_day(mean_day_wanted: f64) -> f64 {
    let (mut low, mut high) = (0.2f64.ln(), 20f64.ln());
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if mean_day(middle.exp()) < mean_day_wanted { low = middle } else { high = middle }
    }
    ((low + high) / 2.0).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mean_day_gives_back_the_duration() {
        for spread in [2.0, 3.0, 4.0] {
            let duration = duration_for_spread(spread);
            assert!((duration_for_mean_day(mean_day(duration)) / duration - 1.0).abs() < 1e-6);
            let shares = cumulative(duration);
            assert!(shares.windows(2).all(|pair| pair[0] <= pair[1]) && shares[PICK_DAYS - 1] == 1.0);
            // 97 % of what grows is ripe by the last usual day; one day more, and all that is ever picked is picked.
            let whole = -(-((spread + 2.0) / duration).powf(SHAPE)).exp_m1();
            assert!((shares[spread as usize] - 0.97 / whole).abs() < 1e-9 && shares[spread as usize + 1] == 1.0);
        }
    }
}
