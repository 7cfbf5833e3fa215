//! Which stock can serve which asks: lots and claims folded into classes, and amounts routed between them.
//!
//! Rule kept: two lots that can serve the same delivery days are one class, and so are two claims that want the same crops on
//! the same day in the same order of liking. Thousands of lines become a graph of a few hundred nodes, exactly.

use crate::allotment::claims::{Claim, Lot};
use crate::clock::LocalDate;
use std::collections::{BTreeSet, HashMap};

/// A place that asks for stock: a class of claims, or one crop on one day.
#[derive(Clone, Debug)]
pub(crate) struct Place {
    pub date: usize,
    /// The crops that serve it, the best liked first.
    pub crops: Vec<usize>,
    /// The stock classes that serve it, the soonest to expire first within a crop.
    pub stocks: Vec<usize>,
}

/// Lots of one crop that can serve the same span of delivery days.
#[derive(Clone, Debug)]
pub(crate) struct Stock {
    pub crop: usize,
    pub grams: i64,
}

#[derive(Debug)]
pub(crate) struct Network {
    pub dates: Vec<LocalDate>,
    pub crops: Vec<String>,
    pub stocks: Vec<Stock>,
    /// Classes of claims, then one place for every (day, crop): see [`Network::shelf`].
    pub places: Vec<Place>,
    /// How many of `places` are classes of claims.
    pub class_count: usize,
    /// The place of each claim, in the order given.
    pub place_of_claim: Vec<usize>,
}

impl Network {
    /// Folds lines into classes; `lots` and `claims` in their own fixed order.
    pub fn of(lots: &[&Lot], claims: &[&Claim]) -> Network {
        let dates: Vec<LocalDate> =
            claims.iter().map(|claim| claim.date).collect::<BTreeSet<_>>().into_iter().collect();
        let mut classes: HashMap<(LocalDate, &str, &[String]), usize> = HashMap::new();
        let mut first_of_class: Vec<&Claim> = Vec::new();
        let place_of_claim: Vec<usize> = claims
            .iter()
            .map(|claim| {
                *classes.entry((claim.date, claim.crop.as_str(), claim.swaps.as_slice())).or_insert_with(|| {
                    first_of_class.push(claim);
                    first_of_class.len() - 1
                })
            })
            .collect();
        let named: BTreeSet<&str> = first_of_class.iter().flat_map(|claim| claim.crops_in_order_of_liking()).collect();
        let crops: Vec<String> = named.into_iter().map(str::to_owned).collect();
        let spans = stock_spans(lots, &dates, &crops);
        let stocks: Vec<Stock> = spans.iter().map(|span| Stock { crop: span.crop, grams: span.grams }).collect();
        let place = |date: usize, crops: Vec<usize>| {
            let serving = |crop: usize| {
                let here =
                    move |&(_, span): &(usize, &Span)| span.crop == crop && span.first <= date && date <= span.last;
                spans.iter().enumerate().filter(here).map(|(number, _)| number)
            };
            let stocks = crops.iter().flat_map(|&crop| serving(crop)).collect();
            Place { date, crops, stocks }
        };
        let number =
            |crop: &str| crops.binary_search_by(|known| known.as_str().cmp(crop)).expect("every crop is named");
        let mut places: Vec<Place> = first_of_class
            .iter()
            .map(|claim| {
                let date = dates.binary_search(&claim.date).expect("every date is listed");
                place(date, claim.crops_in_order_of_liking().into_iter().map(number).collect())
            })
            .collect();
        let class_count = places.len();
        for date in 0..dates.len() {
            places.extend((0..crops.len()).map(|crop| place(date, vec![crop])));
        }
        Network { dates, crops, stocks, places, class_count, place_of_claim }
    }

    /// The place that stands for `crop` on `date` alone.
    pub fn shelf(&self, date: usize, crop: usize) -> usize {
        self.class_count + date * self.crops.len() + crop
    }
}

struct Span {
    crop: usize,
    first: usize,
    last: usize,
    grams: i64,
}

/// Lots folded by crop and the span of delivery days they can serve, the soonest to expire first; lots that serve none are dropped.
fn stock_spans(lots: &[&Lot], dates: &[LocalDate], crops: &[String]) -> Vec<Span> {
    let mut grams: std::collections::BTreeMap<(usize, usize, usize), i64> = std::collections::BTreeMap::new();
    for lot in lots {
        let Ok(crop) = crops.binary_search_by(|known| known.as_str().cmp(&lot.crop)) else { continue };
        let first = dates.partition_point(|date| *date < lot.available_from);
        let after = dates.partition_point(|date| *date <= lot.keeps_until);
        if first < after {
            let sum = grams.entry((crop, after - 1, first)).or_default();
            *sum = sum.saturating_add(lot.counted_grams());
        }
    }
    grams.into_iter().map(|((crop, last, first), grams)| Span { crop, first, last, grams }).collect()
}

/// Amounts going from stocks to places, over some of the network.
#[derive(Debug)]
pub(crate) struct Routing {
    /// (place, stock, amount), places and stocks by their number within this routing.
    edges: Vec<(usize, usize, i128)>,
    edges_of_place: Vec<Vec<usize>>,
    edges_of_stock: Vec<Vec<usize>>,
    /// What each stock still has.
    free: Vec<i128>,
    /// Brought to a place ahead of need by [`Routing::raise_by_piece`]; given back before any piece is refused.
    ahead: Vec<i128>,
    /// Search marks: the edge each stock was reached by, the edge each place was reached by.
    reached_stock: Vec<Option<usize>>,
    reached_place: Vec<Option<usize>>,
    queue: Vec<usize>,
    /// Stocks a failed search went through: full, and drawn on only by places that cannot move elsewhere. That stays so until
    /// something is given back.
    spent: Vec<bool>,
}

const START: usize = usize::MAX;
/// How many pieces one search brings at most.
const PIECES_AHEAD: i128 = 64;

impl Routing {
    /// Nothing routed yet. `links[p]` lists the stocks of place `p`; `free[s]` is what stock `s` has.
    pub fn new(links: &[Vec<usize>], free: Vec<i128>) -> Routing {
        let mut edges = Vec::new();
        let mut edges_of_stock = vec![Vec::new(); free.len()];
        let mut edges_of_place = vec![Vec::new(); links.len()];
        for (place, stocks) in links.iter().enumerate() {
            for &stock in stocks {
                edges_of_stock[stock].push(edges.len());
                edges_of_place[place].push(edges.len());
                edges.push((place, stock, 0));
            }
        }
        let reached_stock = vec![None; free.len()];
        let reached_place = vec![None; links.len()];
        let ahead = vec![0; links.len()];
        let spent = vec![false; free.len()];
        let queue = Vec::new();
        Routing { edges, edges_of_place, edges_of_stock, free, ahead, reached_stock, reached_place, queue, spent }
    }

    /// Brings up to `amount` more to `place`, moving what other places draw from one stock to another where that frees
    /// some (shortest augmenting paths). Returns what could be brought; other places keep their totals.
    pub fn raise(&mut self, place: usize, amount: i128) -> i128 {
        let mut missing = amount;
        for at in 0..self.edges_of_place[place].len() {
            let edge = self.edges_of_place[place][at];
            let stock = self.edges[edge].1;
            let taken = missing.min(self.free[stock]);
            self.free[stock] -= taken;
            self.edges[edge].2 += taken;
            missing -= taken;
            if missing == 0 {
                return amount;
            }
        }
        while missing > 0 {
            let Some(stock) = self.search(place) else { break };
            missing -= self.shift(stock, missing);
        }
        amount - missing
    }

    /// Brings exactly `amount` more to `place`, or changes nothing and says so.
    pub fn raise_exactly(&mut self, place: usize, amount: i128) -> bool {
        let brought = self.raise(place, amount);
        if brought < amount {
            self.lower(place, brought);
        }
        brought == amount
    }

    /// As [`Routing::raise_exactly`], for many small pieces: a search brings several at once.
    pub fn raise_by_piece(&mut self, place: usize, piece: i128) -> bool {
        if self.ahead[place] < piece {
            self.ahead[place] += self.raise(place, piece * PIECES_AHEAD - self.ahead[place]);
        }
        if self.ahead[place] < piece {
            for other in 0..self.ahead.len() {
                let back = std::mem::take(&mut self.ahead[other]);
                if back > 0 {
                    self.lower(other, back);
                }
            }
            return self.raise_exactly(place, piece);
        }
        self.ahead[place] -= piece;
        true
    }

    /// Whether anything is left for pieces.
    pub fn has_free(&self) -> bool {
        self.free.iter().chain(&self.ahead).any(|&grams| grams > 0)
    }

    /// Gives `amount` of what `place` draws back to the stocks, the last liked first.
    pub fn lower(&mut self, place: usize, amount: i128) {
        let mut left = amount;
        if amount > 0 {
            self.spent.fill(false);
        }
        for at in (0..self.edges_of_place[place].len()).rev() {
            let edge = self.edges_of_place[place][at];
            let (_, stock, drawn) = self.edges[edge];
            let back = left.min(drawn);
            self.edges[edge].2 -= back;
            self.free[stock] += back;
            left -= back;
        }
    }

    /// The places that can hand stock on to `place` by moving to another, itself among them, when it cannot be raised:
    /// together they use up everything they can reach.
    pub fn rivals(&mut self, place: usize) -> Vec<usize> {
        self.spent.fill(false);
        let found = self.search(place);
        debug_assert!(found.is_none(), "the place cannot be raised");
        (0..self.reached_place.len()).filter(|&other| self.reached_place[other].is_some()).collect()
    }

    /// Breadth first from `place` to a stock with something free.
    fn search(&mut self, place: usize) -> Option<usize> {
        self.reached_stock.fill(None);
        self.reached_place.fill(None);
        self.reached_place[place] = Some(START);
        self.queue.clear();
        self.queue.push(place);
        let mut next = 0;
        while next < self.queue.len() {
            let here = self.queue[next];
            next += 1;
            for &edge in &self.edges_of_place[here] {
                let stock = self.edges[edge].1;
                if self.spent[stock] || self.reached_stock[stock].is_some() {
                    continue;
                }
                self.reached_stock[stock] = Some(edge);
                if self.free[stock] > 0 {
                    return Some(stock);
                }
                for &back in &self.edges_of_stock[stock] {
                    let (other, _, drawn) = self.edges[back];
                    if drawn > 0 && self.reached_place[other].is_none() {
                        self.reached_place[other] = Some(back);
                        self.queue.push(other);
                    }
                }
            }
        }
        for (spent, reached) in self.spent.iter_mut().zip(&self.reached_stock) {
            *spent |= reached.is_some();
        }
        None
    }

    /// Moves up to `most` along the path found to `end`; returns the amount.
    fn shift(&mut self, end: usize, most: i128) -> i128 {
        let mut amount = most.min(self.free[end]);
        self.walk(end, |edges, _, back| amount = amount.min(back.map_or(amount, |edge| edges[edge].2)));
        self.free[end] -= amount;
        self.walk(end, |edges, forward, back| {
            edges[forward].2 += amount;
            if let Some(edge) = back {
                edges[edge].2 -= amount;
            }
        });
        amount
    }

    /// Walks the found path from its end: each step draws on `forward` and, but for the first place, gives up `back`.
    fn walk(&mut self, end: usize, mut step: impl FnMut(&mut [(usize, usize, i128)], usize, Option<usize>)) {
        let mut stock = end;
        loop {
            let forward = self.reached_stock[stock].expect("stocks on the path were reached");
            let place = self.edges[forward].0;
            let back = self.reached_place[place].expect("places on the path were reached");
            if back == START {
                step(&mut self.edges, forward, None);
                return;
            }
            step(&mut self.edges, forward, Some(back));
            stock = self.edges[back].1;
        }
    }
}
