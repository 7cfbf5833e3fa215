//! Exact shares within one tier, and who goes without when a share is too small to be useful.
//!
//! Rule kept: nobody is raised above a fair share because of a large smallest-useful amount. While some share is below
//! its own minimum, the claim that would need the highest level (minimum over weight) among those on the lowest such
//! level gives its share back and all are shared again; afterwards those left out are offered their place again, the lowest first.
//! For one shortage of claims of equal weight this leaves the fewest possible with nothing: at the level any
//! larger set would need, the one given up costs no less than any one kept. For unequal weights or a network of shortages it is a
//! bounded search, and the gap to the optimum is measured by the outside check.

use crate::allotment::levels::{Curves, Group, Level, Want, fair_groups, level_key};
use crate::allotment::network::Network;
use crate::allotment::rotation::in_turn;
use crate::allotment::rules::{Exact, contested_garment, proportional};
use crate::allotment::solve::{Sharing, Terms};
use std::cmp::Reverse;

/// A tier's exact shares.
#[derive(Debug)]
pub(crate) struct Shares {
    pub groups: Vec<Group>,
    /// The group of each place.
    pub group_of: Vec<Option<usize>>,
    /// What each member of the tier gets, held grams included; indexed as the wants are, zero for others.
    pub exact: Vec<Exact>,
    /// Members whose share was below their minimum.
    pub left_out: Vec<usize>,
    /// What was not enough for them, when they were left out.
    pub too_little: Vec<Exact>,
}

/// What a tier is shared from.
#[derive(Clone, Copy)]
pub(crate) struct Tier<'a> {
    pub network: &'a Network,
    pub wants: &'a [Want],
    pub fixed: &'a [i64],
    pub terms: &'a Terms,
}

/// Shares among `members` (in order of buyer and claim) with their minimums respected.
pub(crate) fn share_with_minimums(tier: Tier, members: &[usize]) -> Shares {
    let mut active = members.to_vec();
    let mut left_out = Vec::new();
    let mut too_little = Vec::new();
    let mut round = Round::of(tier, &active);
    while let Some(going) = round.who_goes(tier, &active) {
        for &want in &going {
            left_out.push(want);
            too_little.push(round.exact[want]);
        }
        let mut gone = vec![false; tier.wants.len()];
        going.iter().for_each(|&want| gone[want] = true);
        active.retain(|&want| !gone[want]);
        round = Round::of(tier, &active);
    }
    offer_again(tier, &mut active, &mut round, (&mut left_out, &mut too_little));
    Shares { groups: round.groups, group_of: round.group_of, exact: round.exact, left_out, too_little }
}

/// Takes those back for whom there is room after all.
fn offer_again(tier: Tier, active: &mut Vec<usize>, round: &mut Round, left: (&mut Vec<usize>, &mut Vec<Exact>)) {
    let (left_out, too_little) = left;
    let mut line: Vec<usize> = left_out.iter().copied().filter(|&want| round.may_reach(tier, want)).collect();
    line.sort_unstable();
    in_turn(&mut line, |&want| standing(&tier.wants[want]), tier.terms.rotation);
    // Each offer shares the whole tier again, so a large tier makes fewer.
    let offers = 4.max(64.min(400_000 / active.len().max(1)));
    for want in line.into_iter().take(offers) {
        let at = active.partition_point(|&other| other < want);
        active.insert(at, want);
        let again = Round::of(tier, active);
        if active.iter().all(|&member| !again.is_too_small(tier, member)) {
            *round = again;
            let place = left_out.iter().position(|&other| other == want).expect("it was left out");
            left_out.remove(place);
            too_little.remove(place);
        } else {
            active.remove(at);
        }
    }
}

/// The level a claim needs for its minimum; among equals the heavier stands first.
fn standing(want: &Want) -> (u128, Reverse<i64>) {
    (level_key(want.minimum, want.weight), Reverse(want.weight))
}

struct Round {
    curves: Curves,
    groups: Vec<Group>,
    group_of: Vec<Option<usize>>,
    exact: Vec<Exact>,
}

impl Round {
    fn of(tier: Tier, active: &[usize]) -> Round {
        let Tier { network, wants, fixed, terms } = tier;
        let curves = Curves::of(network.places.len(), wants, active);
        let groups = fair_groups(network, fixed, &curves);
        let mut group_of = vec![None; network.places.len()];
        for (number, group) in groups.iter().enumerate() {
            for &place in &group.places {
                group_of[place] = Some(number);
            }
        }
        let mut exact = vec![Exact::ZERO; wants.len()];
        for &member in active {
            let want = &wants[member];
            let level = group_of[want.place].and_then(|group| groups[group].level);
            exact[member] = share_at(want, level);
        }
        let mut round = Round { curves, groups, group_of, exact };
        if terms.sharing != Sharing::EqualAwards {
            round.share_single_shortages(tier, active);
        }
        round
    }

    /// A shortage of one class of claims is one amount among them, so any division rule applies.
    fn share_single_shortages(&mut self, tier: Tier, active: &[usize]) {
        for group in &self.groups {
            let mut open = group.places.iter().filter(|&&place| !self.curves.is_empty(place));
            let (Some(_), Some(&place), None) = (group.level, open.next(), open.next()) else { continue };
            let members: Vec<usize> = active.iter().copied().filter(|&want| tier.wants[want].place == place).collect();
            if members.iter().any(|&want| tier.wants[want].held > 0) {
                continue;
            }
            let asks: Vec<i64> = members.iter().map(|&want| tier.wants[want].ask).collect();
            let amount = i64::try_from(group.stock - group.spoken_for).unwrap_or(i64::MAX);
            let shares = match tier.terms.sharing {
                Sharing::Proportional => proportional(&asks, amount),
                Sharing::ContestedGarment | Sharing::EqualAwards => contested_garment(&asks, amount),
            };
            for (want, share) in members.into_iter().zip(shares) {
                self.exact[want] = share;
            }
        }
    }

    fn is_too_small(&self, tier: Tier, member: usize) -> bool {
        let (share, minimum) = (&self.exact[member], tier.wants[member].minimum);
        minimum > 0 && *share.numer() < i128::from(minimum) * share.denom()
    }

    /// Who gives the share back next; `None` when every share is useful.
    fn who_goes(&self, tier: Tier, active: &[usize]) -> Option<Vec<usize>> {
        let mut short: Vec<usize> = active.iter().copied().filter(|&want| self.is_too_small(tier, want)).collect();
        let group_of = |want: usize| self.group_of[tier.wants[want].place];
        let level_of = |want: usize| {
            let level = group_of(want).and_then(|group| self.groups[group].level);
            level.map_or(Exact::ZERO, |level| Exact::new(level.top, level.bottom))
        };
        let lowest = short.iter().copied().min_by_key(|&want| (level_of(want), group_of(want)))?;
        short.retain(|&want| group_of(want) == group_of(lowest));
        if tier.terms.sharing != Sharing::EqualAwards {
            return Some(self.furthest_from_useful(tier, short));
        }
        in_turn(&mut short, |&want| standing(&tier.wants[want]), tier.terms.rotation);
        let kept = group_of(lowest).map_or(0, |group| self.how_many_stay(tier, &short, &self.groups[group]));
        Some(short.split_off(kept))
    }

    /// The most of `short` (fewest level needed first) that a level of this group alone could serve once the others
    /// are gone: exactly what giving up one at a time would leave.
    fn how_many_stay(&self, tier: Tier, short: &[usize], group: &Group) -> usize {
        // Weight gone when only the first so many stay.
        let mut gone_weight = vec![0_i128; short.len() + 1];
        for stay in (0..short.len()).rev() {
            gone_weight[stay] = gone_weight[stay + 1] + i128::from(tier.wants[short[stay]].weight);
        }
        let can_stay = |stay: usize| {
            let last = &tier.wants[short[stay - 1]];
            // Those gone asked for their weight times this level, which is at most their minimum.
            let asked = self.curves.asked_at(&group.places, last.minimum, last.weight);
            let without = asked - gone_weight[stay] * i128::from(last.minimum);
            without <= (group.stock - group.spoken_for) * i128::from(last.weight)
        };
        let (mut fits, mut too_many) = (0, short.len());
        while too_many - fits > 1 {
            let middle = fits.midpoint(too_many);
            if can_stay(middle) { fits = middle } else { too_many = middle }
        }
        fits
    }

    /// For other rules than equal awards: the claims whose share is the smallest part of their minimum, an eighth of
    /// them at a time, at least one.
    fn furthest_from_useful(&self, tier: Tier, mut short: Vec<usize>) -> Vec<usize> {
        let part = |&want: &usize| -(self.exact[want] / i128::from(tier.wants[want].minimum));
        in_turn(&mut short, part, tier.terms.rotation);
        let going = short.len().div_ceil(8);
        short.split_off(short.len() - going)
    }

    /// Whether the present level would do for this minimum, so that taking the claim back is worth a try.
    fn may_reach(&self, tier: Tier, want: usize) -> bool {
        let Tier { network, wants, .. } = tier;
        let want = &wants[want];
        if network.places[want.place].stocks.is_empty() {
            return false;
        }
        match self.group_of[want.place].map(|group| self.groups[group].level) {
            Some(Some(level)) if tier.terms.sharing == Sharing::EqualAwards => {
                i128::from(want.minimum) * level.bottom <= level.top * i128::from(want.weight)
            }
            _ => true,
        }
    }
}

fn share_at(want: &Want, level: Option<Level>) -> Exact {
    let ask = Exact::from_integer(want.ask.into());
    match level {
        None => ask,
        Some(level) => {
            let top = level.top * i128::from(want.weight);
            if top >= i128::from(want.ask) * level.bottom {
                ask
            } else if top <= i128::from(want.held) * level.bottom {
                Exact::from_integer(want.held.into())
            } else {
                level.times(want.weight)
            }
        }
    }
}
