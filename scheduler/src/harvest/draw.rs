//! The draws themselves: block after block of draws, each flush adding its grams to the days it may be picked on. Random
//! numbers come from PCG (O'Neill 2014) streams keyed by seed, purpose and owner, so they depend on nothing else.

use crate::crop::CropKey;
use crate::harvest::batch::FlushFacts;
use crate::harvest::curve::{node_at, value_at};
use crate::harvest::pick_curve::PICK_DAYS;
use crate::harvest::ready::{Begins, First, Ready, ReadyFlush, Score, Yields};
use crate::id::Id;
use rand::{Rng, RngExt};
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;

/// Draws of a block: small enough for a block's grams to stay in cache.
pub const BLOCK: usize = 256;
/// Below this many flush-draws a second thread costs more than it gives.
const WORTH_A_THREAD: usize = 200_000;
/// When a follower begins whose flush before gave nothing: after every horizon, days.
const NEVER: f32 = 1e6;

/// What flushes share a normal number for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    Belief { crop: CropKey, number: u8, is_days: bool },
    Room { room: Id, is_days: bool },
    Spell { room: Id, spell: i32, is_days: bool },
}

/// The groups of one flush: belief, room, spell.
pub fn groups_of(flush: &FlushFacts, spell: i32, is_days: bool) -> [Group; 3] {
    let room = flush.room;
    [
        Group::Belief { crop: flush.crop, number: flush.number, is_days },
        Group::Room { room, is_days },
        Group::Spell { room, spell, is_days },
    ]
}

/// The id of a flush nobody has recorded yet: the same for the same batch and number, and negative, so that it is never
/// the id of a recorded one.
pub fn following_id(batch: Id, number: u8) -> Id {
    let mixed = mix(&[batch.get() as u64, u64::from(number)]);
    Id::new(-((mixed >> 2) as i64) - 1)
}

/// How much to draw.
#[derive(Clone, Copy, Debug)]
pub struct Size {
    pub days: usize,
    pub draws: usize,
    pub seed: u64,
}

/// Grams in the order of `HarvestForecast`.
pub fn grams(ready: &Ready, size: Size) -> Vec<f32> {
    let blocks = size.draws.div_ceil(BLOCK);
    let block_length = ready.crops.len() * BLOCK * size.days;
    let mut grams = vec![0.0; blocks * block_length];
    if block_length == 0 {
        return grams;
    }
    let threads = match std::thread::available_parallelism() {
        Ok(cores) if ready.flushes.len() * size.draws >= WORTH_A_THREAD => cores.get().min(blocks),
        _ => 1,
    };
    let per_thread = blocks.div_ceil(threads);
    let parts = grams.chunks_mut(per_thread * block_length).enumerate();
    let work = |(part, grams): (usize, &mut [f32])| {
        let mut bench = Bench::new(ready, size);
        for (index, block) in grams.chunks_mut(block_length).enumerate() {
            bench.draw_block(part * per_thread + index, block);
        }
    };
    if threads == 1 {
        parts.for_each(work);
    } else {
        std::thread::scope(|scope| {
            for part in parts {
                scope.spawn(move || work(part));
            }
        });
    }
    grams
}

/// One number from several (SplitMix64's finaliser, Steele, Lea & Flood 2014).
fn mix(parts: &[u64]) -> u64 {
    parts.iter().fold(0x9E37_79B9_7F4A_7C15, |state, &part| {
        let mut z = (state ^ part).wrapping_add(0x9E37_79B9_7F4A_7C15);
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    })
}

/// What a stream is for; two purposes of one owner never share numbers.
#[derive(Clone, Copy)]
enum Purpose {
    Yield = 1,
    Days = 2,
    Rest = 3,
    Levels = 4,
    Common = 5,
}

fn stream(purpose: Purpose, owner: u64, size: Size, block: usize) -> Pcg64Mcg {
    let low = mix(&[size.seed, purpose as u64, owner, block as u64]);
    Pcg64Mcg::new(u128::from(mix(&[low])) << 64 | u128::from(low))
}

fn owner_of(group: &Group) -> u64 {
    match *group {
        Group::Belief { crop, number, is_days } => {
            let letters = crop.as_str().bytes().fold(0, |sum, letter| mix(&[sum, u64::from(letter)]));
            mix(&[1, letters, u64::from(number), u64::from(is_days)])
        }
        Group::Room { room, is_days } => mix(&[2, room.get() as u64, u64::from(is_days)]),
        Group::Spell { room, spell, is_days } => mix(&[3, room.get() as u64, spell as u64, u64::from(is_days)]),
    }
}

type Numbers = [f32; BLOCK];

fn fill_normal(numbers: &mut Numbers, mut random: impl Rng) {
    for number in numbers {
        *number = StandardNormal.sample(&mut random);
    }
}

/// A thread's working space.
struct Bench<'a> {
    ready: &'a Ready,
    size: Size,
    owners: Vec<u64>,
    common: Vec<Numbers>,
    last_picks: Vec<Numbers>,
    /// Days and a margin, so that a pick curve may run over the end.
    rows: Vec<f32>,
    own: Numbers,
    scores: Numbers,
    firsts: Numbers,
}

impl<'a> Bench<'a> {
    fn new(ready: &'a Ready, size: Size) -> Bench<'a> {
        Bench {
            ready,
            size,
            owners: ready.groups.iter().map(owner_of).collect(),
            common: vec![[0.0; BLOCK]; ready.groups.len()],
            last_picks: vec![[0.0; BLOCK]; ready.parents],
            rows: vec![0.0; ready.crops.len() * BLOCK * (size.days + PICK_DAYS)],
            own: [0.0; BLOCK],
            scores: [0.0; BLOCK],
            firsts: [0.0; BLOCK],
        }
    }

    fn draw_block(&mut self, block: usize, grams: &mut [f32]) {
        for (numbers, &owner) in self.common.iter_mut().zip(&self.owners) {
            fill_normal(numbers, stream(Purpose::Common, owner, self.size, block));
        }
        self.rows.fill(0.0);
        for flush in &self.ready.flushes {
            self.draw_firsts(flush, block);
            self.add_flush(flush, block);
        }
        let days = self.size.days;
        for (from, to) in self.rows.chunks(days + PICK_DAYS).zip(grams.chunks_mut(days)) {
            to.copy_from_slice(&from[..days]);
        }
    }

    /// Normal scores: what is shared and what is the flush's own.
    fn draw_scores(&mut self, score: &Score, random: Pcg64Mcg) {
        fill_normal(&mut self.own, random);
        let [belief, room, spell] = score.groups.map(|group| &self.common[group]);
        let shared = score.shared;
        for i in 0..BLOCK {
            self.scores[i] =
                shared.belief * belief[i] + shared.room * room[i] + shared.spell * spell[i] + shared.own * self.own[i];
        }
    }

    /// Fills `firsts` with the day of the next pick, in days from today.
    fn draw_firsts(&mut self, flush: &ReadyFlush, block: usize) {
        let owner = flush.id.get() as u64;
        match &flush.first {
            First::Known(day) => self.firsts.fill(*day as f32),
            First::Days { start, days, score } => {
                self.draw_scores(score, stream(Purpose::Days, owner, self.size, block));
                let days = &self.ready.curves[*days];
                for i in 0..BLOCK {
                    self.firsts[i] = value_at(days, self.scores[i]);
                }
                let rest = match *start {
                    Begins::At(_) => None,
                    Begins::Rested { rest, .. } | Begins::After { rest, .. } => Some(&self.ready.curves[rest]),
                };
                if rest.is_some() {
                    fill_normal(&mut self.own, stream(Purpose::Rest, owner, self.size, block));
                }
                for i in 0..BLOCK {
                    let rested = rest.map_or(0.0, |rest| value_at(rest, self.own[i]));
                    let begins = match *start {
                        Begins::At(day) => day,
                        Begins::Rested { since, .. } => (since + rested).max(0.0),
                        Begins::After { slot, .. } => (self.last_picks[slot][i] + rested).max(0.0),
                    };
                    self.firsts[i] = (begins + self.firsts[i] + 0.5).floor().max(0.0);
                }
            }
        }
    }

    fn add_flush(&mut self, flush: &ReadyFlush, block: usize) {
        let owner = flush.id.get() as u64;
        self.draw_scores(&flush.yield_score, stream(Purpose::Yield, owner, self.size, block));
        let mut random = stream(Purpose::Levels, owner, self.size, block);
        let (days, stride) = (self.size.days, self.size.days + PICK_DAYS);
        let rows = &mut self.rows[flush.crop * BLOCK * stride..(flush.crop + 1) * BLOCK * stride];
        let profiles = &self.ready.profiles[flush.profiles];
        for (i, row) in rows.chunks_exact_mut(stride).enumerate() {
            let bits: u64 = random.random();
            let score = self.scores[i];
            let (mut yield_g, level) = match &flush.yields {
                Yields::Whole { efficiency, dry_g } => {
                    (value_at(&self.ready.curves[*efficiency], score) * dry_g, (bits & 63) as usize)
                }
                Yields::Partly { left_g, levels } => {
                    (value_at(&self.ready.curves[*left_g], score), usize::from(levels[node_at(score)]))
                }
            };
            // The upper bits decide failure, the lower ones the level.
            let fails = ((bits >> 40) as f32) < flush.failure * (1u64 << 24) as f32;
            if fails {
                yield_g = 0.0;
            }
            let profile = &profiles[level];
            if let Some(slot) = flush.parent_slot {
                let last_pick = self.firsts[i] + days_to_pick_out(profile);
                self.last_picks[slot][i] = if fails { NEVER } else { last_pick };
            }
            let first = self.firsts[i] as usize;
            if first < days {
                for (day, share) in row[first..first + PICK_DAYS].iter_mut().zip(profile) {
                    *day += yield_g * share;
                }
            }
        }
    }
}

/// Harvest days from the next pick to the last.
fn days_to_pick_out(profile: &[f32; PICK_DAYS]) -> f32 {
    profile.iter().rposition(|&share| share > 0.0).unwrap_or(0) as f32
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where a step fails")]
mod tests {
    use super::*;
    use crate::harvest::curve::{self, NODES, score_at};
    use crate::harvest::evidence::Shared;
    use crate::harvest::score::quantile;

    /// Three independent log-normals of (median, σ) = (100, 0.3), (150, 0.4), (60, 0.5): quantiles of the sum by FFT
    /// convolution (NumPy 2.4) and four standard errors of a quantile of 100,000 draws.
    #[test]
    fn a_sum_of_log_normals_has_its_exact_quantiles() {
        let curve_of = |median: f64, sigma: f64| {
            curve::compact(&std::array::from_fn::<f64, NODES, _>(score_at), |score| median * (sigma * score).exp())
        };
        let alone = Shared { belief: 0.0, room: 0.0, spell: 0.0, own: 1.0 };
        let mut at_once = [0.0; PICK_DAYS];
        at_once[0] = 1.0;
        let flush = |place: usize| ReadyFlush {
            id: Id::new(place as i64),
            crop: 0,
            failure: 0.0,
            yields: Yields::Whole { efficiency: place, dry_g: 1.0 },
            yield_score: Score { groups: [0; 3], shared: alone },
            first: First::Known(0),
            profiles: 0,
            parent_slot: None,
        };
        let ready = Ready {
            crops: vec!["oyster".parse().unwrap()],
            set_aside: Vec::new(),
            flushes: (0..3).map(flush).collect(),
            curves: vec![curve_of(100.0, 0.3), curve_of(150.0, 0.4), curve_of(60.0, 0.5)],
            profiles: vec![vec![at_once; 64]],
            groups: vec![Group::Room { room: Id::new(1), is_days: false }],
            parents: 0,
        };
        let drawn = grams(&ready, Size { days: 1, draws: 100_000, seed: 11 });
        let mut sums: Vec<f64> = drawn.iter().take(100_000).map(|&sum| f64::from(sum)).collect();
        sums.sort_unstable_by(f64::total_cmp);
        for (p, exact, four_errors) in [
            (0.05, 220.3665, 1.36),
            (0.10, 239.6816, 1.20),
            (0.25, 276.1819, 1.12),
            (0.50, 324.0997, 1.23),
            (0.75, 381.6537, 1.61),
            (0.90, 443.8840, 2.42),
            (0.95, 486.9695, 3.35),
        ] {
            let found = quantile(&sums, p).unwrap();
            assert!((found - exact).abs() < four_errors, "{p}: {found} {exact}");
        }
    }
}
