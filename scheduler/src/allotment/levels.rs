//! The fair levels: how high every claim can be raised together, in exact fractions.
//!
//! Rule kept: weighted max-min fairness over the whole network. At level `l` a claim asks for `min(ask, weight * l)`, or for what it
//! already holds if that is more. The level rises for all until some group of places uses up all the stock it can reach; that group stays
//! at its level and the rest goes on. The groups are found by decomposition (Fujishige, "Lexicographically optimal base
//! of a polymatroid", Mathematics of Operations Research 5, 1980; the parametric flow view is Gallo, Grigoriadis & Tarjan,
//! SIAM J. Computing 18, 1989): put all at their common level, route, and where that fails cut the network in two.

use crate::allotment::network::{Network, Routing};
use crate::allotment::rules::Exact;

/// One claim as the solver sees it, in whole grams.
#[derive(Clone, Debug)]
pub(crate) struct Want {
    pub place: usize,
    pub ask: i64,
    /// Held already and not up for sharing; it counts towards the level.
    pub held: i64,
    pub minimum: i64,
    pub step: i64,
    pub weight: i64,
    pub tier: u8,
}

/// A level in grams per unit of weight: `top / bottom`, in lowest terms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Level {
    pub top: i128,
    pub bottom: i128,
}

impl Level {
    /// `weight` at this level. Only the weight and the bottom can share a factor, which spares a long reduction a claim.
    pub fn times(self, weight: i64) -> Exact {
        let mut factor = (i128::from(weight), self.bottom);
        while factor.1 != 0 {
            factor = (factor.1, factor.0 % factor.1);
        }
        Exact::new_raw(self.top * (i128::from(weight) / factor.0), self.bottom / factor.0)
    }
}

/// Order-keeping, exact stand-in for the fraction `grams / weight` within the counted ranges: two unequal fractions with
/// weights of at most 2^20 differ by at least 2^-40.
pub(crate) fn level_key(grams: i64, weight: i64) -> u128 {
    (u128::from(grams.unsigned_abs()) << 44) / u128::from(weight.unsigned_abs().max(1))
}

#[derive(Clone, Copy, Debug)]
struct Bend {
    key: u128,
    top: i64,
    bottom: i64,
    /// Sums up to and with this bend of the place: constant part and slope.
    constant: i64,
    slope: i64,
}

/// What one place asks for at each level, above what is held: piecewise linear.
#[derive(Clone, Debug, Default)]
struct Curve {
    first_slope: i64,
    bends: Vec<Bend>,
}

impl Curve {
    /// (constant, slope) at the level with `key`.
    fn at(&self, key: u128) -> (i128, i128) {
        match self.bends.partition_point(|bend| bend.key <= key) {
            0 => (0, self.first_slope.into()),
            count => (self.bends[count - 1].constant.into(), self.bends[count - 1].slope.into()),
        }
    }

    /// All that is asked for.
    fn whole(&self) -> i128 {
        self.bends.last().map_or(0, |bend| bend.constant.into())
    }

    fn is_empty(&self) -> bool {
        self.bends.is_empty()
    }
}

/// The curves of all places.
#[derive(Debug)]
pub(crate) struct Curves {
    of_place: Vec<Curve>,
    /// Every level at which some curve bends, rising.
    marks: Vec<(u128, i64, i64)>,
}

impl Curves {
    /// Of the wants among `members`.
    pub fn of(place_count: usize, wants: &[Want], members: &[usize]) -> Curves {
        struct Turn {
            key: u128,
            top: i64,
            bottom: i64,
            place: usize,
            constant: i64,
            slope: i64,
        }
        let mut of_place = vec![Curve::default(); place_count];
        let mut turns = Vec::with_capacity(members.len());
        for want in members.iter().map(|&member| &wants[member]).filter(|want| want.held < want.ask) {
            let turn = |grams: i64, constant: i64, slope: i64| Turn {
                key: level_key(grams, want.weight),
                top: grams,
                bottom: want.weight,
                place: want.place,
                constant,
                slope,
            };
            if want.held > 0 {
                turns.push(turn(want.held, -want.held, want.weight));
            } else {
                of_place[want.place].first_slope += want.weight;
            }
            turns.push(turn(want.ask, want.ask, -want.weight));
        }
        turns.sort_unstable_by_key(|turn| turn.key);
        for turn in &turns {
            let curve = &mut of_place[turn.place];
            let (constant, slope) =
                curve.bends.last().map_or((0, curve.first_slope), |bend| (bend.constant, bend.slope));
            curve.bends.push(Bend {
                key: turn.key,
                top: turn.top,
                bottom: turn.bottom,
                constant: constant + turn.constant,
                slope: slope + turn.slope,
            });
        }
        let mut marks: Vec<(u128, i64, i64)> = turns.iter().map(|turn| (turn.key, turn.top, turn.bottom)).collect();
        marks.dedup_by_key(|mark| mark.0);
        Curves { of_place, marks }
    }

    /// Whether the place has anything to share out.
    pub fn is_empty(&self, place: usize) -> bool {
        self.of_place[place].is_empty()
    }

    /// What `places` ask for together at level `grams / weight`, times `weight`.
    pub fn asked_at(&self, places: &[usize], grams: i64, weight: i64) -> i128 {
        let (constant, slope) = self.sums_at(places, level_key(grams, weight));
        constant * i128::from(weight) + slope * i128::from(grams)
    }

    fn sums_at(&self, places: &[usize], key: u128) -> (i128, i128) {
        places.iter().fold((0, 0), |(constant, slope), &place| {
            let (more, steeper) = self.of_place[place].at(key);
            (constant + more, slope + steeper)
        })
    }

    /// The level at which `places` ask for exactly `amount`; `None` when all of their asks come to no more.
    fn level_for(&self, places: &[usize], amount: i128) -> Option<Level> {
        if places.iter().map(|&place| self.of_place[place].whole()).sum::<i128>() <= amount {
            return None;
        }
        let fits =
            |&(_, top, bottom): &(u128, i64, i64)| self.asked_at(places, top, bottom) <= amount * i128::from(bottom);
        let below = self.marks.partition_point(fits);
        let (constant, slope) = match below {
            0 => places
                .iter()
                .fold((0, 0), |(_, slope), &place| (0, slope + i128::from(self.of_place[place].first_slope))),
            count => self.sums_at(places, self.marks[count - 1].0),
        };
        debug_assert!(slope > 0, "more is asked for at the next bend");
        let level = Exact::new(amount - constant, slope.max(1));
        Some(Level { top: *level.numer(), bottom: *level.denom() })
    }

    /// What `place` asks for at `level`, times the level's `bottom` (times 1 for `None`).
    fn demand(&self, place: usize, level: Option<Level>) -> i128 {
        let curve = &self.of_place[place];
        let Some(level) = level else { return curve.whole() };
        // Bends at or below the level: top / bottom <= level, compared across.
        let count = curve
            .bends
            .partition_point(|bend| i128::from(bend.top) * level.bottom <= level.top * i128::from(bend.bottom));
        let (constant, slope) = match count {
            0 => (0, curve.first_slope),
            _ => (curve.bends[count - 1].constant, curve.bends[count - 1].slope),
        };
        i128::from(constant) * level.bottom + i128::from(slope) * level.top
    }
}

/// Places that end at one level because together they use up what they can reach, or that are served in full.
#[derive(Clone, Debug)]
pub(crate) struct Group {
    pub places: Vec<usize>,
    /// `None`: every ask is met.
    pub level: Option<Level>,
    /// The stock this group alone may use, grams.
    pub stock: i128,
    /// Of it, what is spoken for and not up for sharing.
    pub spoken_for: i128,
}

/// The groups, each place with something to share in exactly one. `fixed[place]` is spoken for and is sure to fit.
pub(crate) fn fair_groups(network: &Network, fixed: &[i64], curves: &Curves) -> Vec<Group> {
    let mut places: Vec<usize> =
        (0..network.places.len()).filter(|&place| fixed[place] > 0 || !curves.is_empty(place)).collect();
    places.sort_by_key(|&place| (network.places[place].date, place));
    let mut groups = Vec::new();
    let mut open = vec![(places, vec![true; network.stocks.len()])];
    while let Some((places, stocks)) = open.pop() {
        for part in connected(network, &places, &stocks) {
            if part.iter().all(|&place| curves.is_empty(place)) {
                continue;
            }
            match settle(network, fixed, curves, (&part, &stocks)) {
                Settled::Level(group) => groups.push(group),
                Settled::Cut { low, low_stocks } => {
                    let high: Vec<usize> = part.iter().copied().filter(|place| !low.contains(place)).collect();
                    let high_stocks = stocks.iter().zip(&low_stocks).map(|(&all, &gone)| all && !gone).collect();
                    open.push((high, high_stocks));
                    open.push((low, low_stocks));
                }
            }
        }
    }
    groups
}

enum Settled {
    Level(Group),
    /// The places that cannot all be raised to the common level, and the stocks they alone may use.
    Cut {
        low: Vec<usize>,
        low_stocks: Vec<bool>,
    },
}

fn settle(network: &Network, fixed: &[i64], curves: &Curves, (places, stocks): (&[usize], &[bool])) -> Settled {
    let mut local = vec![usize::MAX; stocks.len()];
    let mut numbers = Vec::new();
    let links: Vec<Vec<usize>> = places
        .iter()
        .map(|&place| {
            let within = network.places[place].stocks.iter().filter(|&&stock| stocks[stock]);
            within
                .map(|&stock| {
                    if local[stock] == usize::MAX {
                        local[stock] = numbers.len();
                        numbers.push(stock);
                    }
                    local[stock]
                })
                .collect()
        })
        .collect();
    let stock: i128 = numbers.iter().map(|&number| i128::from(network.stocks[number].grams)).sum();
    let spoken_for: i128 = places.iter().map(|&place| i128::from(fixed[place])).sum();
    let level = curves.level_for(places, stock - spoken_for);
    let scale = level.map_or(1, |level| level.bottom);
    let free = numbers.iter().map(|&number| i128::from(network.stocks[number].grams) * scale).collect();
    let mut routing = Routing::new(&links, free);
    let mut short = Vec::new();
    for (number, &place) in places.iter().enumerate() {
        let demand = i128::from(fixed[place]) * scale + curves.demand(place, level);
        if routing.raise(number, demand) < demand {
            short.push(number);
        }
    }
    if short.is_empty() {
        return Settled::Level(Group { places: places.to_vec(), level, stock, spoken_for });
    }
    let mut is_low = vec![false; places.len()];
    for place in short {
        if !is_low[place] {
            routing.rivals(place).into_iter().for_each(|rival| is_low[rival] = true);
        }
    }
    let low: Vec<usize> = places.iter().zip(is_low).filter_map(|(&place, is_low)| is_low.then_some(place)).collect();
    debug_assert!(low.len() < places.len(), "all together ask for no more than there is");
    let mut low_stocks = vec![false; stocks.len()];
    for &place in &low {
        for &stock in network.places[place].stocks.iter().filter(|&&stock| stocks[stock]) {
            low_stocks[stock] = true;
        }
    }
    Settled::Cut { low, low_stocks }
}

/// Splits places into parts that share no stock.
fn connected(network: &Network, places: &[usize], stocks: &[bool]) -> Vec<Vec<usize>> {
    let mut part_of_stock: Vec<Option<usize>> = vec![None; stocks.len()];
    let mut joined: Vec<usize> = (0..places.len()).collect();
    fn root(joined: &mut [usize], mut at: usize) -> usize {
        while joined[at] != at {
            joined[at] = joined[joined[at]];
            at = joined[at];
        }
        at
    }
    for (number, &place) in places.iter().enumerate() {
        for &stock in network.places[place].stocks.iter().filter(|&&stock| stocks[stock]) {
            match part_of_stock[stock] {
                Some(other) => {
                    let (here, there) = (root(&mut joined, number), root(&mut joined, other));
                    joined[here.max(there)] = here.min(there);
                }
                None => part_of_stock[stock] = Some(number),
            }
        }
    }
    let mut parts: Vec<Vec<usize>> = vec![Vec::new(); places.len()];
    for (number, &place) in places.iter().enumerate() {
        let root = root(&mut joined, number);
        parts[root].push(place);
    }
    parts.retain(|part| !part.is_empty());
    parts
}
