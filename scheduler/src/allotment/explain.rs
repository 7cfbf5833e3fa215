//! Why a claim was given what it was given, as facts with numbers.
//!
//! Rule kept: data only, no words. Every reason carries what one sentence to the buyer needs; [`rows`] carries what
//! one table to the family needs.

use crate::allotment::levels::Group;
use crate::allotment::network::Network;
use crate::allotment::rules::Exact;
use crate::allotment::solve::{Allotment, Table};
use crate::clock::LocalDate;
use crate::id::Id;
use crate::quantity::Grams;
use std::collections::{BTreeMap, BTreeSet};

/// The reason of one award. Swapped grams are in the award's parts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Why {
    /// The whole ask, in whole packs. `under_a_pack` is the part of the ask that fills no pack.
    InFull { under_a_pack: Grams },
    /// Less than the ask: `shortage` numbers the [`Shortage`] in [`Allotment::shortages`]; `None` when stock was enough but
    /// the last of it filled no whole pack of one crop.
    Cut { shortage: Option<usize> },
    /// Nothing, because the fair share, exact in `share`, was less than the smallest useful amount.
    BelowMinimum { share: Exact, smallest_useful: Grams },
    /// Nothing of any crop the buyer takes can be had that day.
    NoStock,
}

/// Claims that together asked for more than the stock they can draw on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shortage {
    pub crops: BTreeSet<String>,
    pub dates: BTreeSet<LocalDate>,
    /// How many claims shared in it, those left out for their minimum included.
    pub claims: usize,
    /// What they asked for together, in whole packs.
    pub asked: Grams,
    /// What there was for them: stock less what earlier tiers and earlier promises hold of it.
    pub available: Grams,
    /// Under equal awards: what each may have per unit of weight, grams.
    pub level: Exact,
}

impl Shortage {
    pub(crate) fn of(network: &Network, group: &Group) -> Shortage {
        let places = || group.places.iter().map(|&place| &network.places[place]);
        let level = group.level.map_or(Exact::ZERO, |level| Exact::new(level.top, level.bottom));
        Shortage {
            crops: places().flat_map(|place| &place.crops).map(|&crop| network.crops[crop].clone()).collect(),
            dates: places().map(|place| network.dates[place.date]).collect(),
            claims: 0,
            asked: Grams::ZERO,
            available: Grams::new(i64::try_from(group.stock - group.spoken_for).unwrap_or(i64::MAX)),
            level,
        }
    }

    pub(crate) fn count(&mut self, ask: i64) {
        self.claims += 1;
        self.asked += Grams::new(ask);
    }
}

pub(crate) fn why(table: &Table, number: usize) -> Why {
    let (want, claim) = (&table.wants[number], table.sifted.claims[number]);
    let given: i64 = table.parts[number].iter().map(|part| part.1).sum();
    if given == want.ask {
        return Why::InFull { under_a_pack: claim.grams - Grams::new(given) };
    }
    if table.network.places[want.place].stocks.is_empty() {
        return Why::NoStock;
    }
    match table.too_little[number] {
        Some(share) if given == 0 => Why::BelowMinimum { share, smallest_useful: claim.smallest_useful },
        _ => Why::Cut { shortage: table.shortage_of[number] },
    }
}

/// One buyer's row in the family's table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    pub buyer: Id,
    pub asked: Grams,
    pub given: Grams,
    /// Of what is given, how much is of a crop other than the one asked for.
    pub swapped: Grams,
    /// How many of the buyer's claims were cut or left out.
    pub claims_cut: usize,
    pub claims: Vec<Id>,
}

/// A row for each buyer, in order of buyer. `own_crop` tells the crop a claim asked for.
pub fn rows<'a>(allotment: &Allotment, own_crop: impl Fn(Id) -> Option<&'a str>) -> Vec<Row> {
    let mut rows: BTreeMap<Id, Row> = BTreeMap::new();
    for award in &allotment.awards {
        let row = rows.entry(award.buyer).or_insert_with(|| Row {
            buyer: award.buyer,
            asked: Grams::ZERO,
            given: Grams::ZERO,
            swapped: Grams::ZERO,
            claims_cut: 0,
            claims: Vec::new(),
        });
        row.asked += award.asked;
        row.given += award.given;
        row.swapped +=
            award.parts.iter().filter(|part| own_crop(award.claim) != Some(&part.crop)).map(|part| part.grams).sum();
        row.claims_cut += usize::from(!matches!(award.why, Why::InFull { .. }));
        row.claims.push(award.claim);
    }
    rows.into_values().collect()
}
