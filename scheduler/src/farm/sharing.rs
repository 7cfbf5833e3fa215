//! Sharing one delivery day's stock among its lines: from the stored lines to the solver's claims and back. What was
//! promised is kept while stock exists to keep it.

use super::rules::Promise;
use super::{Crops, Farm, served};
use crate::allotment::rotation::weight_with_carry;
use crate::allotment::{self, Allotment, Claim, DayDraws, DayPromise, Lot, Promised, Terms, promise_day};
use crate::clock::{LocalDate, monday_of};
use crate::id::Id;
use crate::quantity::Grams;
use crate::store::deliveries::{Award, Source, State};
use crate::store::{self, people};
use std::collections::BTreeMap;

/// Days in a week, the step of the tie rule's turn.
const WEEK_DAYS: u64 = 7;

/// How one day's stock is shared.
pub struct DaySharing<'t> {
    crops: &'t Crops,
    rule: &'t Promise,
    day: LocalDate,
    /// Share weight of each restaurant.
    weights: BTreeMap<Id, u32>,
}

impl DaySharing<'_> {
    /// How `day` is shared: by each restaurant's weight, and by last week's cut where the farm lets it weigh in.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn of<'t>(farm: &mut Farm<'t>, day: LocalDate) -> store::Result<DaySharing<'t>> {
        let (crops, rule) = (farm.crops, &farm.rules.promise);
        let buyers = people::buyers(farm.tx).await?.into_iter();
        let mut weights: BTreeMap<Id, u32> =
            buyers.map(|buyer| (buyer.id, u32::try_from(buyer.weight).unwrap_or(1).max(1))).collect();
        if rule.carry_last_cut {
            let last_week = served::in_week_before(farm, day).await?;
            for (buyer, weight) in &mut weights {
                *weight = weight_with_carry(*weight, last_week.get(buyer).copied());
            }
        }
        Ok(DaySharing { crops, rule, day, weights })
    }

    /// What can be promised to these lines at the farm's level while the harvest is a forecast. What they are promised
    /// already stands.
    pub fn promise(&self, draws: &DayDraws, awards: &[Award]) -> DayPromise {
        let claims: Vec<Claim> = awards.iter().map(|award| self.claim(award, wanted(award))).collect();
        let level = self.rule.level();
        promise_day(draws, (&claims, &promised(awards)), level, &self.terms())
    }

    /// What each line gets of stock that is known, by the award's identifier: promises kept where stock allows, cut lines
    /// topped up from the rest. A line that gets nothing may be missing.
    pub fn again(&self, supply: &BTreeMap<String, Grams>, awards: &[Award]) -> BTreeMap<Id, Grams> {
        let claims: Vec<Claim> = awards.iter().map(|award| self.claim(award, wanted(award))).collect();
        let lots = self.lots(supply);
        given(&allotment::resolve_after_weighing(&lots, &claims, &promised(awards), &self.terms()))
    }

    fn lots(&self, supply: &BTreeMap<String, Grams>) -> Vec<Lot> {
        let numbered = supply.iter().zip(0..);
        let lot = |((crop, grams), number): ((&String, &Grams), i64)| Lot {
            id: Id::new(number),
            crop: crop.clone(),
            available_from: self.day,
            keeps_until: self.day,
            grams: *grams,
        };
        numbered.map(lot).filter(|lot| lot.grams.is_positive()).collect()
    }

    fn claim(&self, award: &Award, grams: Grams) -> Claim {
        let pack = self.crops.get(&award.crop).map_or(Grams::new(1), |crop| crop.pack_step);
        // An order in pounds is no whole number of packs and is served to the gram.
        let in_packs = grams.floor_to(pack) == grams && award.promised.floor_to(pack) == award.promised;
        // Whoever was told that part of an offer is theirs comes before orders.
        let tier = match award.source {
            Source::Offer => 0,
            Source::Standing => 1,
            _ => 1 + u8::from(self.rule.standing_first),
        };
        Claim {
            id: award.id,
            buyer: award.buyer_id,
            date: award.day,
            crop: award.crop.clone(),
            grams,
            smallest_useful: pack.at_most(grams),
            pack_step: if in_packs { pack } else { Grams::new(1) },
            swaps: Vec::new(),
            tier,
            weight: self.weights.get(&award.buyer_id).copied().unwrap_or(1),
        }
    }

    fn terms(&self) -> Terms {
        let days = monday_of(self.day).signed_duration_since(LocalDate::default()).num_days();
        Terms { sharing: self.rule.sharing, rotation: days.unsigned_abs() / WEEK_DAYS }
    }
}

/// What a line may still grow to: what its buyer has swapped, moved or dropped is not asked any more.
pub fn wanted(award: &Award) -> Grams {
    match award.state {
        State::Full | State::Short | State::Taken | State::Silent => award.asked.max(award.promised),
        State::Swapped | State::Moved | State::Dropped => award.promised,
    }
}

fn promised(awards: &[Award]) -> Vec<Promised> {
    let promised = |award: &Award| Promised { claim: award.id, crop: award.crop.clone(), grams: award.promised };
    awards.iter().map(promised).collect()
}

/// What an allotment gives each line; one that gets nothing may be missing.
pub fn given(allotment: &Allotment) -> BTreeMap<Id, Grams> {
    allotment.awards.iter().map(|award| (award.claim, award.given)).collect()
}
