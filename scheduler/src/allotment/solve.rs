//! Who gets what: the whole allotment, one tier after another.
//!
//! Rule kept, in this order: lower tiers first; inside a tier weighted max-min fair shares over the network of lots and claims,
//! smallest useful amounts respected; whole packs, the last ones by rotation; then the least use of swaps; then oldest lots
//! first. A pack holds one crop, though it may be filled from several lots of it. What a tier was given, crop by
//! crop, is settled before the next tier is looked at: a later tier never pushes an earlier one into a swap.

use crate::allotment::claims::{Claim, Lot, Sifted, Trouble, sift};
use crate::allotment::draw::draw_from_lots;
use crate::allotment::explain::{Shortage, Why, why};
use crate::allotment::least_cost::Graph;
use crate::allotment::levels::Want;
use crate::allotment::minimums::{Shares, Tier, share_with_minimums};
use crate::allotment::network::{Network, Routing};
use crate::allotment::packs::{Topping, whole_packs};
use crate::allotment::rotation::in_turn;
use crate::allotment::rules::Exact;
use crate::id::Id;
use crate::quantity::Grams;
use serde::{Deserialize, Serialize};

/// How a shortage is shared within a tier.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sharing {
    /// Weighted max-min: everyone the same per unit of weight, nobody above the ask.
    #[default]
    EqualAwards,
    /// Everyone the same part of the ask. Only for a shortage of one crop on one day among claims with the same swaps; weights
    /// play no part. Wider shortages are shared by equal awards.
    Proportional,
    /// The contested-garment rule, where `Proportional` would apply.
    ContestedGarment,
}

/// The farm's choices.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Terms {
    pub sharing: Sharing,
    /// Moves ties on by one place; give the count of weeks.
    pub rotation: u64,
}

/// One crop of an award.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    pub crop: String,
    pub grams: Grams,
}

/// What one claim is given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Award {
    pub claim: Id,
    pub buyer: Id,
    pub asked: Grams,
    pub given: Grams,
    /// The exact fair share before whole packs.
    pub share: Exact,
    /// What it consists of, the best liked crop first; empty when nothing is given.
    pub parts: Vec<Part>,
    pub why: Why,
}

/// Grams of a lot for a claim.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Drawn {
    pub claim: Id,
    pub lot: Id,
    pub grams: Grams,
}

/// The result. Every claim that was counted has one award, in order of buyer and claim.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Allotment {
    pub awards: Vec<Award>,
    /// Sums per claim to its award and per lot to no more than the lot.
    pub drawn: Vec<Drawn>,
    /// What each lot has left, for lots with something left.
    pub left: Vec<(Id, Grams)>,
    /// Groups of claims that shared too little stock.
    pub shortages: Vec<Shortage>,
    /// Lines that were left out or read with a change.
    pub troubles: Vec<Trouble>,
}

/// Something told to a buyer earlier: so much of this crop for this claim.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Promised {
    pub claim: Id,
    pub crop: String,
    pub grams: Grams,
}

impl Allotment {
    /// The award of a claim; `None` when it was left out (see `troubles`).
    pub fn award(&self, claim: Id) -> Option<&Award> {
        self.awards.iter().find(|award| award.claim == claim)
    }

    /// The awards as promises, to be kept after weighing.
    pub fn promises(&self) -> Vec<Promised> {
        let of = |award: &Award| {
            let claim = award.claim;
            let parts = award.parts.clone();
            parts.into_iter().map(move |part| Promised { claim, crop: part.crop, grams: part.grams })
        };
        self.awards.iter().flat_map(of).collect()
    }
}

/// Shares `lots` among `claims`. The order of either does not matter.
pub fn solve(lots: &[Lot], claims: &[Claim], terms: &Terms) -> Allotment {
    let mut table = Table::of(lots, claims, *terms);
    table.share_all_tiers();
    table.into_allotment()
}

/// A share-out under way. Everything per claim is indexed as `sifted.claims`.
pub(crate) struct Table<'a> {
    pub sifted: Sifted<'a>,
    pub terms: Terms,
    pub network: Network,
    pub wants: Vec<Want>,
    /// (crop number, grams) given to each claim, the best liked first.
    pub parts: Vec<Vec<(usize, i64)>>,
    /// What each place (a day's shelf of one crop) is to hold.
    pub fixed: Vec<i64>,
    pub shares: Vec<Exact>,
    pub too_little: Vec<Option<Exact>>,
    pub shortage_of: Vec<Option<usize>>,
    pub shortages: Vec<Shortage>,
}

impl<'a> Table<'a> {
    pub fn of(lots: &'a [Lot], claims: &'a [Claim], terms: Terms) -> Table<'a> {
        let sifted = sift(lots, claims);
        let network = Network::of(&sifted.lots, &sifted.claims);
        let want = |(number, claim): (usize, &&Claim)| Want {
            place: network.place_of_claim[number],
            ask: claim.counted_grams(),
            held: 0,
            minimum: claim.counted_minimum(),
            step: claim.counted_step(),
            weight: claim.counted_weight(),
            tier: claim.tier,
        };
        let wants: Vec<Want> = sifted.claims.iter().enumerate().map(want).collect();
        let count = wants.len();
        let fixed = vec![0; network.places.len()];
        Table {
            sifted,
            terms,
            network,
            wants,
            parts: vec![Vec::new(); count],
            fixed,
            shares: vec![Exact::ZERO; count],
            too_little: vec![None; count],
            shortage_of: vec![None; count],
            shortages: Vec::new(),
        }
    }

    pub fn share_all_tiers(&mut self) {
        self.shortages.clear();
        let mut tiers: Vec<u8> = self.wants.iter().map(|want| want.tier).collect();
        tiers.sort_unstable();
        tiers.dedup();
        for tier in tiers {
            let members: Vec<usize> = (0..self.wants.len()).filter(|&want| self.wants[want].tier == tier).collect();
            self.share_tier(&members);
        }
    }

    fn share_tier(&mut self, members: &[usize]) {
        let tier = Tier { network: &self.network, wants: &self.wants, fixed: &self.fixed, terms: &self.terms };
        let shares = share_with_minimums(tier, members);
        let mut awards: Vec<i64> = self.wants.iter().map(|want| want.held).collect();
        self.round_to_packs(&shares, members, &mut awards);
        self.put_on_shelves(members, &awards);
        let mut given: Vec<i64> = self.parts.iter().map(|parts| parts.iter().map(|part| part.1).sum()).collect();
        self.fill_shelves(&shares, members, &mut given);
        self.note_shares(shares, members);
        for &member in members {
            self.wants[member].held = given[member];
        }
    }

    /// Whole packs within the shares, then the last packs where stock can be moved to serve them.
    fn round_to_packs(&self, shares: &Shares, members: &[usize], awards: &mut [i64]) {
        let mut asked: Vec<i64> = self.fixed.clone();
        for &member in members {
            let want = &self.wants[member];
            awards[member] = whole_packs(shares.exact[member], want.step).max(want.held);
            asked[want.place] += awards[member] - want.held;
        }
        let mut routing = self.routing(&asked);
        let mut topping =
            Topping { wants: &self.wants, shares: &shares.exact, rotation: self.terms.rotation, routing: &mut routing };
        let draws_from = |want: usize| vec![self.wants[want].place];
        topping.hand_out(members.to_vec(), awards, &draws_from, &mut |_, _, _| {});
    }

    /// Stock routed so that every place has what is asked of it, which is known to fit.
    fn routing(&self, asked: &[i64]) -> Routing {
        let links: Vec<Vec<usize>> = self.network.places.iter().map(|place| place.stocks.clone()).collect();
        let free = self.network.stocks.iter().map(|stock| stock.grams.into()).collect();
        let mut routing = Routing::new(&links, free);
        let mut order: Vec<usize> = (0..asked.len()).filter(|&place| asked[place] > 0).collect();
        order.sort_by_key(|&place| (self.network.places[place].date, place));
        for place in order {
            let fits = routing.raise_exactly(place, asked[place].into());
            assert!(fits, "whole packs within the shares fit the stock");
        }
        routing
    }

    /// Settles which crop serves each award with the least use of swaps, in whole packs of one crop.
    fn put_on_shelves(&mut self, members: &[usize], awards: &[i64]) {
        let mut asked = vec![0; self.network.class_count];
        let mut of_place: Vec<Vec<usize>> = vec![Vec::new(); self.network.class_count];
        for &member in members.iter().filter(|&&member| awards[member] > self.wants[member].held) {
            let place = self.wants[member].place;
            asked[place] += awards[member] - self.wants[member].held;
            of_place[place].push(member);
        }
        let amounts = self.least_swaps(&asked);
        for (place, mut line) in of_place.into_iter().enumerate() {
            // One order for the whole class: whose turn it is keeps the best liked crop.
            in_turn(&mut line, |_| (), self.terms.rotation);
            let mut missing: Vec<i64> = line.iter().map(|&member| awards[member] - self.wants[member].held).collect();
            for (liking, &crop) in self.network.places[place].crops.clone().iter().enumerate() {
                let mut amount = amounts[place][liking];
                let shelf = self.network.shelf(self.network.places[place].date, crop);
                for (&member, missing) in line.iter().zip(&mut missing) {
                    let step = self.wants[member].step;
                    let grams = (*missing).min(amount / step * step);
                    if grams > 0 {
                        self.give(member, (crop, shelf), grams);
                        *missing -= grams;
                        amount -= grams;
                    }
                }
            }
        }
    }

    pub fn give(&mut self, member: usize, (crop, shelf): (usize, usize), grams: i64) {
        self.fixed[shelf] += grams;
        match self.parts[member].iter_mut().find(|part| part.0 == crop) {
            Some(part) => part.1 += grams,
            None => self.parts[member].push((crop, grams)),
        }
    }

    /// Grams of each crop (by liking) for each class, swapped grams as few as can be, and of those the better liked.
    fn least_swaps(&self, asked: &[i64]) -> Vec<Vec<i64>> {
        let network = &self.network;
        let has_choice = |place: usize| asked[place] > 0 && network.places[place].crops.len() > 1;
        if !(0..asked.len()).any(has_choice) {
            let own_crop = |(place, &grams): (usize, &i64)| {
                let mut amounts = vec![0; network.places[place].crops.len()];
                amounts[0] = grams;
                amounts
            };
            return asked.iter().enumerate().map(own_crop).collect();
        }
        let (stock_count, place_count) = (network.stocks.len(), network.places.len());
        let (source, sink) = (stock_count + place_count, stock_count + place_count + 1);
        let mut graph = Graph::with_nodes(sink + 1);
        for (number, stock) in network.stocks.iter().enumerate() {
            graph.arc(source, number, stock.grams.into(), 0);
        }
        // Any path through the graph has fewer steps than this, so one swapped gram outweighs every order of liking.
        let deepest = network.places.iter().map(|place| place.crops.len()).max().unwrap_or(0);
        let one_swap = i64::try_from((sink + 1) * deepest).unwrap_or(i64::MAX / 4);
        let mut arcs = vec![Vec::new(); asked.len()];
        for (number, place) in network.places.iter().enumerate() {
            let grams = if number < asked.len() { asked[number] } else { self.fixed[number] };
            if grams == 0 {
                continue;
            }
            graph.arc(stock_count + number, sink, grams.into(), 0);
            for &stock in &place.stocks {
                let crop = network.stocks[stock].crop;
                let liking = place.crops.iter().position(|&other| other == crop).expect("the stock serves the place");
                let cost = if liking == 0 { 0 } else { one_swap + i64::try_from(liking).unwrap_or(i64::MAX / 4) };
                let arc = graph.arc(stock, stock_count + number, grams.into(), cost);
                if number < asked.len() {
                    arcs[number].push((liking, arc));
                }
            }
        }
        graph.send(source, sink, i128::MAX);
        let amounts = |(number, arcs): (usize, &Vec<(usize, usize)>)| {
            let mut amounts = vec![0; network.places[number].crops.len()];
            for &(liking, arc) in arcs {
                amounts[liking] += i64::try_from(graph.flow(arc)).expect("no more than was asked");
            }
            amounts
        };
        arcs.iter().enumerate().map(amounts).collect()
    }

    /// Packs of one crop lost to rounding, and whatever else would lie idle, go out; awards that stay too small go back.
    fn fill_shelves(&mut self, shares: &Shares, members: &[usize], given: &mut [i64]) {
        let mut line = members.to_vec();
        loop {
            let mut routing = self.routing(&self.fixed);
            let network = &self.network;
            let wants = &self.wants;
            let mut topping =
                Topping { wants, shares: &shares.exact, rotation: self.terms.rotation, routing: &mut routing };
            let shelves = |want: usize| {
                let place = &network.places[wants[want].place];
                place.crops.iter().map(|&crop| network.shelf(place.date, crop)).collect::<Vec<usize>>()
            };
            let mut gifts = Vec::new();
            topping.hand_out(line.clone(), given, &shelves, &mut |want, shelf, grams| gifts.push((want, shelf, grams)));
            for (want, shelf, grams) in gifts {
                let crop = self.network.places[shelf].crops[0];
                self.give(want, (crop, shelf), grams);
            }
            let too_small =
                |&want: &usize| self.wants[want].held == 0 && given[want] > 0 && given[want] < self.wants[want].minimum;
            let revoked: Vec<usize> = line.iter().copied().filter(too_small).collect();
            if revoked.is_empty() {
                break;
            }
            line.retain(|want| !revoked.contains(want));
            for want in revoked {
                let date = self.network.places[self.wants[want].place].date;
                for (crop, grams) in std::mem::take(&mut self.parts[want]) {
                    self.fixed[self.network.shelf(date, crop)] -= grams;
                }
                given[want] = 0;
            }
        }
        for parts in members.iter().map(|&member| (member, self.wants[member].place)) {
            let crops = &self.network.places[parts.1].crops;
            self.parts[parts.0].sort_by_key(|part| crops.iter().position(|&crop| crop == part.0));
        }
    }

    fn note_shares(&mut self, shares: Shares, members: &[usize]) {
        let mut shortage_of_group = vec![None; shares.groups.len()];
        for &member in members {
            self.shares[member] = shares.exact[member];
            let group = shares.group_of[self.wants[member].place].filter(|&group| shares.groups[group].level.is_some());
            self.shortage_of[member] = group.map(|group| {
                *shortage_of_group[group].get_or_insert_with(|| {
                    self.shortages.push(Shortage::of(&self.network, &shares.groups[group]));
                    self.shortages.len() - 1
                })
            });
            if let Some(shortage) = self.shortage_of[member] {
                self.shortages[shortage].count(self.wants[member].ask);
            }
        }
        for (&member, too_little) in shares.left_out.iter().zip(shares.too_little) {
            self.too_little[member] = Some(too_little);
        }
    }

    pub fn into_allotment(self) -> Allotment {
        let (drawn, left) = draw_from_lots(&self);
        let award = |(number, claim): (usize, &&Claim)| {
            let parts: Vec<Part> = self.parts[number]
                .iter()
                .map(|&(crop, grams)| Part { crop: self.network.crops[crop].clone(), grams: Grams::new(grams) })
                .collect();
            Award {
                claim: claim.id,
                buyer: claim.buyer,
                asked: claim.grams,
                given: parts.iter().map(|part| part.grams).sum(),
                share: self.shares[number],
                parts,
                why: why(&self, number),
            }
        };
        let awards = self.sifted.claims.iter().enumerate().map(award).collect();
        Allotment { awards, drawn, left, shortages: self.shortages, troubles: self.sifted.troubles }
    }
}

#[cfg(test)]
mod properties;
#[cfg(test)]
pub(crate) mod tests;
