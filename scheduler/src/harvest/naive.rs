//! The forecast a careful grower makes on paper, to hold the real one against: every flush gives what the last few of its
//! kind gave on average, as many days after its start, over as many days.

use crate::clock::LocalDate;
use crate::crop::CropKey;
use crate::harvest::batch::{FlushFacts, Start};
use crate::harvest::pick_curve::PICK_DAYS;
use crate::harvest::prior::{CropPrior, FlushPrior};
use crate::id::Id;
use chrono::Duration;
use std::collections::BTreeMap;

/// A batch that has rested so many times as long as usual is not counted on any more.
const RESTS_PATIENCE: i32 = 2;

/// What the last few closed flushes of a kind were like on average; the prior's means where there are none.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Mean {
    /// Grams of fresh weight for each gram of dry substrate, failed flushes included.
    efficiency: f64,
    /// Days from start to first pick.
    days: f64,
    /// Days from last pick to the next start.
    rest_days: f64,
    /// Share of the weight by harvest day.
    profile: [f64; PICK_DAYS],
}

/// The means of every (crop, flush number).
#[derive(Clone, Debug)]
pub struct LastFlushes(BTreeMap<(CropKey, u8), Mean>);

/// Grams of a crop expected on a day.
pub type Expected = (CropKey, LocalDate, f64);

impl LastFlushes {
    /// Means over the last `count` closed flushes of each kind, by the day they were begun.
    pub fn of(priors: &[CropPrior], record: &[FlushFacts], count: usize) -> LastFlushes {
        let last_pick: BTreeMap<(Id, u8), LocalDate> =
            record.iter().filter_map(|flush| Some(((flush.batch, flush.number), flush.pick_days()?.1))).collect();
        let mut means = BTreeMap::new();
        for prior in priors {
            for flush in &prior.flushes {
                let crop = prior.crop.key;
                let is_kind = |one: &&FlushFacts| one.crop == crop && one.number == flush.number;
                let mut closed: Vec<&FlushFacts> = record
                    .iter()
                    .filter(is_kind)
                    .filter(|one| one.closed && one.begun_on().is_some() && one.dry_grams().is_positive())
                    .collect();
                closed.sort_by_key(|one| (one.begun_on(), one.id));
                let last = &closed[closed.len().saturating_sub(count)..];
                let mut rests: Vec<(LocalDate, f64)> = record
                    .iter()
                    .filter(|one| one.crop == crop && one.number == flush.number + 1)
                    .filter_map(|one| {
                        let begun_on = one.begun_on()?;
                        let before = last_pick.get(&(one.batch, flush.number))?;
                        Some((begun_on, (begun_on - *before).num_days() as f64))
                    })
                    .collect();
                rests.sort_by_key(|rest| rest.0);
                let rests = &rests[rests.len().saturating_sub(count)..];
                means.insert((crop, flush.number), mean_of(flush, last, rests));
            }
        }
        LastFlushes(means)
    }

    /// Grams a flush is expected to give in all; `None` for a crop or number nobody knows.
    pub fn yield_g(&self, flush: &FlushFacts) -> Option<f64> {
        let mean = self.0.get(&(flush.crop, flush.number))?;
        Some(mean.efficiency * flush.dry_grams().get() as f64)
    }

    /// Days from start to first pick.
    pub fn days(&self, flush: &FlushFacts) -> Option<f64> {
        self.0.get(&(flush.crop, flush.number)).map(|mean| mean.days)
    }

    /// What is expected of each flush from `today` on; parents are to stand before the flushes that follow them.
    pub fn picks(&self, flushes: &[FlushFacts], today: LocalDate) -> Vec<Expected> {
        let mut last_day: BTreeMap<Id, LocalDate> = BTreeMap::new();
        let mut expected = Vec::new();
        for flush in flushes {
            let Some(mean) = self.0.get(&(flush.crop, flush.number)) else { continue };
            if flush.closed {
                continue;
            }
            let rest = |mean: &Mean| whole_days(mean.rest_days);
            let before = flush.number.checked_sub(1).and_then(|before| self.0.get(&(flush.crop, before)));
            let start = match flush.start {
                Start::Begun(day) | Start::Planned(day) => day,
                Start::RestingSince(day) => {
                    let rest = before.map_or(Duration::zero(), rest);
                    // Whoever plans on paper has written it off by then.
                    if today > day + rest * RESTS_PATIENCE {
                        continue;
                    }
                    day + rest
                }
                Start::After(parent) => {
                    let Some(&day) = last_day.get(&parent) else { continue };
                    day + before.map_or(Duration::zero(), rest)
                }
                Start::Unknown => continue,
            };
            let first = match flush.pick_days() {
                Some((first, _)) => first,
                None => (start + whole_days(mean.days)).max(today),
            };
            let ahead = |day: usize| first + Duration::days(day as i64);
            let left = (self.yield_g(flush).unwrap_or(0.0) - flush.picked_grams().get() as f64).max(0.0);
            let coming: Vec<(LocalDate, f64)> =
                (0..PICK_DAYS).map(|day| (ahead(day), mean.profile[day])).filter(|&(day, _)| day >= today).collect();
            let share: f64 = coming.iter().map(|one| one.1).sum();
            if share > 0.0 {
                expected.extend(coming.iter().map(|&(day, part)| (flush.crop, day, left * part / share)));
            }
            let over = (0..PICK_DAYS).rev().find(|&day| mean.profile[day] > 0.0).unwrap_or(0);
            last_day.insert(flush.id, ahead(over).max(today));
        }
        expected
    }
}

fn whole_days(days: f64) -> Duration {
    Duration::days(days.round() as i64)
}

fn mean_of(prior: &FlushPrior, last: &[&FlushFacts], rests: &[(LocalDate, f64)]) -> Mean {
    let average = |values: &[f64], otherwise: f64| match values.len() {
        0 => otherwise,
        count => values.iter().sum::<f64>() / count as f64,
    };
    let efficiencies: Vec<f64> =
        last.iter().map(|one| one.picked_grams().get() as f64 / one.dry_grams().get() as f64).collect();
    let days: Vec<f64> =
        last.iter().filter_map(|one| Some((one.pick_days()?.0 - one.begun_on()?).num_days() as f64)).collect();
    let rests: Vec<f64> = rests.iter().map(|rest| rest.1).collect();
    let mut profile = [0.0; PICK_DAYS];
    for flush in last {
        let Some((first, _)) = flush.pick_days() else { continue };
        for &(day, weight) in &flush.picked {
            let place = (day - first).num_days().clamp(0, PICK_DAYS as i64 - 1) as usize;
            profile[place] += weight.get() as f64;
        }
    }
    let total: f64 = profile.iter().sum();
    if total > 0.0 {
        profile.iter_mut().for_each(|share| *share = (*share / total).max(0.0));
    } else {
        let days = usize::from(prior.spread_days) + 1;
        profile.iter_mut().take(days).for_each(|share| *share = 1.0 / days as f64);
    }
    Mean {
        efficiency: average(&efficiencies, prior.be_mean),
        days: average(&days, prior.days_mean),
        rest_days: average(&rests, prior.rest_days_mean.unwrap_or(0.0)),
        profile,
    }
}
