//! Was the forecast honest on this farm? Its own record is lived through again, morning by morning; each morning's
//! forecast sees what had been told by the evening before and nothing later, and is held against what came.
//!
//! Scored: the yield and the first pick of a flush on the first morning it is known to have begun, and every morning the
//! weight picked in each of the coming four weeks. Blocks and bags that nobody had soaked or opened by then are no part
//! of a week's forecast and none of its outcome. Weeks overlap from morning to morning, so their scores lean on each other.

use crate::clock::LocalDate;
use crate::crop::CropKey;
use crate::harvest::batch::{FlushFacts, Start};
use crate::harvest::forecast::{HarvestForecast, Request, forecast, outlooks, with_following_flushes};
use crate::harvest::learn::{Learned, learn};
use crate::harvest::naive::LastFlushes;
use crate::harvest::prior::CropPrior;
use crate::harvest::score::{crps, pit, quantile};
use crate::harvest::warmth::mean_temperature_c;
use crate::id::Id;
use crate::quantity::Grams;
use chrono::{Datelike, Duration};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use std::collections::{BTreeMap, BTreeSet};

/// Weeks ahead that are scored.
pub const WEEKS: u8 = 4;
/// Flushes of a kind whose mean is the second naive forecast.
pub const LAST_FLUSHES: usize = 5;
/// Draws of each morning's forecast, and members of a flush's own distribution.
const DRAWS: usize = 500;
const MEMBERS: usize = 200;

/// What was told of a flush.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Told {
    Begun(LocalDate),
    /// It had not begun after all.
    NotBegun,
    Pins(LocalDate),
    /// There were none after all.
    NoPins,
    /// Units lost; fewer than none corrects an earlier word.
    Lost(i64),
    /// A pick; a negative weight corrects an earlier one.
    Picked(LocalDate, Grams),
    Closed,
    /// The flush goes on after all.
    Reopened,
    /// The batch left the shelves, and the flush with it.
    Spent,
    /// The batch stayed after all; a flush that goes on is reopened besides.
    Kept,
}

/// A flush and everything told of it.
#[derive(Clone, Debug)]
pub struct History {
    /// The flush before anything was told: not begun, nothing picked, nothing lost.
    pub flush: FlushFacts,
    /// The day each word was recorded, in the order recorded.
    pub told: Vec<(LocalDate, Told)>,
    /// The room's temperature, °C: the day it was recorded, and the day it was.
    pub warmth: Vec<(LocalDate, LocalDate, f64)>,
}

impl History {
    /// The flush as the record had it on the morning of `today`, and whether its batch had left the shelves; `None`
    /// before it had begun.
    pub fn known_on(&self, today: LocalDate) -> Option<(FlushFacts, bool)> {
        let mut flush = self.flush.clone();
        let (mut lost, mut is_spent) = (0, false);
        let mut picked: BTreeMap<LocalDate, Grams> = BTreeMap::new();
        for &(recorded_on, told) in &self.told {
            if recorded_on >= today {
                break;
            }
            match told {
                Told::Begun(day) => flush.start = Start::Begun(day),
                Told::NotBegun => flush.start = Start::Unknown,
                Told::Pins(day) => flush.pins_seen_on = Some(day),
                Told::NoPins => flush.pins_seen_on = None,
                // What is lost later is no loss of this flush.
                Told::Lost(units) => lost += if flush.closed { 0 } else { units },
                Told::Picked(day, weight) => *picked.entry(day).or_default() += weight,
                Told::Closed => flush.closed = true,
                Told::Reopened => flush.closed = false,
                Told::Spent => (is_spent, flush.closed) = (true, true),
                Told::Kept => is_spent = false,
            }
        }
        flush.lost_units = u32::try_from(lost.max(0)).unwrap_or(u32::MAX);
        flush.picked = picked.into_iter().filter(|(_, weight)| weight.is_positive()).collect();
        let begun_on = flush.begun_on()?;
        let known = self.warmth.iter().filter(|one| one.0 < today);
        let readings: BTreeMap<LocalDate, f64> = known.map(|one| (one.1, one.2)).collect();
        let until = flush.pick_days().map_or(today, |days| days.0);
        flush.room_temperature_c = mean_temperature_c(&readings, begun_on, until);
        Some((flush, is_spent))
    }

    /// The flush as it ended, and the day that was told; `None` when it has not begun. A flush that is still open is told
    /// last on its last day.
    fn end(&self) -> Option<(FlushFacts, LocalDate)> {
        let is_over = |told: &&(LocalDate, Told)| matches!(told.1, Told::Closed | Told::Spent);
        let last = self.told.last()?.0;
        let over = self.told.iter().rev().find(is_over).map_or(last, |told| told.0);
        Some((self.known_on(last + Duration::days(1))?.0, over))
    }
}

/// What is forecast.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// Grams of a whole flush, when it begins.
    FlushYield,
    /// Days from today to a flush's first pick, when it begins.
    FirstPick,
    /// Grams picked in the coming week (1), the one after (2), …
    Week(u8),
}

/// One forecast held against what came. CRPS is in the outcome's unit: grams, or days for a first pick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Score {
    pub morning: LocalDate,
    /// The last day that decides the outcome.
    pub settled_on: LocalDate,
    pub crop: CropKey,
    pub subject: Subject,
    pub outcome: f64,
    pub median: f64,
    /// Where the outcome fell in the forecast, 0 to 1; ties are drawn.
    pub pit: f64,
    pub crps: f64,
    /// CRPS of the forecast that learns nothing.
    pub crps_prior_only: f64,
    /// CRPS of the mean of the last few flushes, its absolute error.
    pub crps_last_mean: f64,
}

/// The scores of one crop and subject together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    pub crop: CropKey,
    pub subject: Subject,
    pub forecasts: usize,
    /// Share of outcomes between P10 and P90: 0.8 when honest.
    pub coverage: f64,
    pub mean_outcome: f64,
    /// Mean of median less outcome: above zero promises too much.
    pub mean_error: f64,
    pub crps: f64,
    pub crps_prior_only: f64,
    pub crps_last_mean: f64,
}

impl Line {
    /// 1 − CRPS / CRPS of the naive forecast: above zero is better than naive. `None` when naive was never wrong.
    pub fn skill_over_prior(&self) -> Option<f64> {
        skill(self.crps, self.crps_prior_only)
    }

    /// The same over the mean of the last flushes.
    pub fn skill_over_last_mean(&self) -> Option<f64> {
        skill(self.crps, self.crps_last_mean)
    }
}

fn skill(crps: f64, naive: f64) -> Option<f64> {
    (naive > 0.0).then(|| 1.0 - crps / naive)
}

/// Lives through the record and scores every forecast whose outcome it holds, in order of mornings.
pub fn replay(priors: &[CropPrior], record: &[History]) -> Vec<Score> {
    let days = || record.iter().flat_map(|history| history.told.iter().map(|told| told.0));
    let (Some(first), Some(last)) = (days().min(), days().max()) else { return Vec::new() };
    // Sees the whole record: for outcomes only.
    let ends: Vec<(FlushFacts, LocalDate)> = record.iter().filter_map(History::end).collect();
    let blank = learn(priors, &[], first);
    let mut scores = Vec::new();
    let mut scored = BTreeSet::new();
    for today in first.iter_days().skip(1).take_while(|&day| day <= last) {
        let known: Vec<(FlushFacts, bool)> = record.iter().filter_map(|history| history.known_on(today)).collect();
        let flushes: Vec<FlushFacts> = known.iter().map(|one| one.0.clone()).collect();
        let spent: BTreeSet<Id> = known.iter().filter(|one| one.1).map(|one| one.0.batch).collect();
        let morning = Morning {
            today,
            last,
            learned: &learn(priors, &flushes, today),
            blank: &blank,
            naive: LastFlushes::of(priors, &flushes, LAST_FLUSHES),
            flushes: &flushes,
            spent,
            ends: &ends,
        };
        morning.score_begun(&mut scored, &mut scores);
        morning.score_weeks(&mut scores);
    }
    scores
}

/// Scores by crop and subject.
pub fn summary(scores: &[Score]) -> Vec<Line> {
    let mut groups: BTreeMap<(CropKey, Subject), Vec<&Score>> = BTreeMap::new();
    for score in scores {
        groups.entry((score.crop, score.subject)).or_default().push(score);
    }
    groups
        .into_iter()
        .map(|((crop, subject), of)| {
            let mean = |value: &dyn Fn(&Score) -> f64| of.iter().map(|&one| value(one)).sum::<f64>() / of.len() as f64;
            Line {
                crop,
                subject,
                forecasts: of.len(),
                coverage: mean(&|one| f64::from(u8::from((0.1..=0.9).contains(&one.pit)))),
                mean_outcome: mean(&|one| one.outcome),
                mean_error: mean(&|one| one.median - one.outcome),
                crps: mean(&|one| one.crps),
                crps_prior_only: mean(&|one| one.crps_prior_only),
                crps_last_mean: mean(&|one| one.crps_last_mean),
            }
        })
        .collect()
}

struct Morning<'a> {
    today: LocalDate,
    last: LocalDate,
    learned: &'a Learned,
    blank: &'a Learned,
    naive: LastFlushes,
    /// Begun by now, closed ones too.
    flushes: &'a [FlushFacts],
    spent: BTreeSet<Id>,
    /// Every flush as it ended, and when that was told.
    ends: &'a [(FlushFacts, LocalDate)],
}

/// What one forecast said: sorted members of the real one and of the prior's, and the naive mean.
struct Said<'a> {
    members: &'a [f64],
    prior_members: &'a [f64],
    last_mean: f64,
}

impl Morning<'_> {
    fn seed(&self) -> u64 {
        u64::try_from(self.today.num_days_from_ce()).unwrap_or_default()
    }

    fn request<'r>(&self, flushes: &'r [FlushFacts], learned: &'r Learned, days: usize) -> Request<'r> {
        Request { flushes, learned, today: self.today, days, draws: DRAWS, seed: self.seed() }
    }

    fn score(
        &self,
        (crop, subject): (CropKey, Subject),
        settled_on: LocalDate,
        outcome: f64,
        said: &Said<'_>,
    ) -> Option<Score> {
        // Drawn for this score alone, so that it hangs on no other.
        let subject_place = match subject {
            Subject::FlushYield => 0,
            Subject::FirstPick => 1,
            Subject::Week(week) => 2 + u64::from(week),
        };
        let letters = crop.as_str().bytes().fold(0u64, |sum, byte| sum.wrapping_mul(31).wrapping_add(u64::from(byte)));
        let own = letters ^ outcome.to_bits() ^ subject_place.rotate_left(32);
        let tie = Pcg64Mcg::seed_from_u64(self.seed().rotate_left(40) ^ own).random();
        Some(Score {
            morning: self.today,
            settled_on,
            crop,
            subject,
            outcome,
            median: quantile(said.members, 0.5)?,
            pit: pit(said.members, outcome, tie),
            crps: crps(said.members, outcome)?,
            crps_prior_only: crps(said.prior_members, outcome)?,
            crps_last_mean: (said.last_mean - outcome).abs(),
        })
    }

    /// Flushes of which it is the first morning they are known to have begun.
    fn score_begun(&self, scored: &mut BTreeSet<Id>, scores: &mut Vec<Score>) {
        for facts in self.flushes {
            let fault = facts.fault(self.learned.priors(), self.today);
            if facts.closed || fault.is_some() || !scored.insert(facts.id) {
                continue;
            }
            let Some((end, over)) = self.ends.iter().find(|(end, _)| end.id == facts.id && end.closed) else {
                continue;
            };
            let one = std::slice::from_ref(facts);
            let now = outlooks(&self.request(one, self.learned, 1));
            let blank = outlooks(&self.request(one, self.blank, 1));
            let (Some(now), Some(blank)) = (now.first(), blank.first()) else { continue };
            let picked = facts.picked_grams().get() as f64;
            let whole = |left: Vec<f64>| -> Vec<f64> { left.into_iter().map(|left| left + picked).collect() };
            let said = Said {
                members: &whole(now.left_g.members(MEMBERS)),
                prior_members: &whole(blank.left_g.members(MEMBERS)),
                last_mean: self.naive.yield_g(facts).unwrap_or(0.0),
            };
            let total = end.picked_grams().get() as f64;
            scores.extend(self.score((facts.crop, Subject::FlushYield), *over, total, &said));
            let (Some((first, _)), Some(begun_on)) = (end.pick_days(), facts.begun_on()) else { continue };
            if first < self.today {
                continue;
            }
            let days = |outlook: &crate::harvest::outlook::Outlook| -> Option<Vec<f64>> {
                let at = |i: usize| outlook.first_pick_quantile((i as f64 + 0.5) / MEMBERS as f64);
                (0..MEMBERS).map(|i| at(i).map(f64::round)).collect()
            };
            let (Some(members), Some(prior_members)) = (days(now), days(blank)) else { continue };
            let since = (self.today - begun_on).num_days() as f64;
            let last_mean = (self.naive.days(facts).unwrap_or(0.0) - since).max(0.0);
            let said = Said { members: &members, prior_members: &prior_members, last_mean };
            let outcome = (first - self.today).num_days() as f64;
            scores.extend(self.score((facts.crop, Subject::FirstPick), first, outcome, &said));
        }
    }

    /// What is picked of each crop in the coming weeks, of batches that had begun.
    fn score_weeks(&self, scores: &mut Vec<Score>) {
        let on_shelves: Vec<FlushFacts> =
            self.flushes.iter().filter(|flush| !self.spent.contains(&flush.batch)).cloned().collect();
        let begun: BTreeSet<Id> = on_shelves.iter().map(|flush| flush.batch).collect();
        let days = usize::from(WEEKS) * 7;
        let coming = with_following_flushes(&on_shelves, self.learned);
        let drawn = forecast(&self.request(&coming, self.learned, days));
        let blank = forecast(&self.request(&coming, self.blank, days));
        let expected = self.naive.picks(&coming, self.today);
        for week in 1..=WEEKS {
            let from = self.today + Duration::days(i64::from(week - 1) * 7);
            let to = from + Duration::days(6);
            if to > self.last {
                break;
            }
            for &crop in &drawn.crops {
                let is_due = |day: LocalDate| day >= from && day <= to;
                let outcome: i64 = self
                    .ends
                    .iter()
                    .map(|(end, _)| end)
                    .filter(|end| end.crop == crop && begun.contains(&end.batch))
                    .flat_map(|end| &end.picked)
                    .filter(|pick| is_due(pick.0))
                    .map(|pick| pick.1.get())
                    .sum();
                let sorted = |drawn: &HarvestForecast| -> Vec<f64> {
                    let mut sums: Vec<f64> = drawn.sums(crop, from, to).iter().map(|&sum| f64::from(sum)).collect();
                    sums.sort_unstable_by(f64::total_cmp);
                    sums
                };
                let (members, prior_members) = (sorted(&drawn), sorted(&blank));
                // Nothing forecast and nothing came: no forecast to be praised for.
                if outcome == 0 && members.last().is_none_or(|&most| most < 1.0) {
                    continue;
                }
                let last_mean = expected.iter().filter(|one| one.0 == crop && is_due(one.1)).map(|one| one.2).sum();
                let said = Said { members: &members, prior_members: &prior_members, last_mean };
                let subject = Subject::Week(week);
                scores.extend(self.score((crop, subject), to, outcome as f64, &said));
            }
        }
    }
}
