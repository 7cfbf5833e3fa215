//! Sharing one delivery day's stock among its lines: from the stored lines to the solver's claims and back. What was
//! promised is kept while stock exists to keep it.

use crate::config;
use crate::conversation::Desk;
use crate::house::House;
use scheduler::allotment::{self, Allotment, Claim, Lot, Promised, Terms};
use scheduler::clock::{LocalDate, monday_of};
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store::deliveries::{Award, Source, State};
use scheduler::store::{self, people};
use std::collections::BTreeMap;

/// Days in a week, the step of the tie rule's turn.
const WEEK_DAYS: u64 = 7;

/// One day's stock by crop, and how it is shared.
pub struct DaySharing<'h> {
    pub house: &'h House,
    pub day: LocalDate,
    pub supply: BTreeMap<String, Grams>,
    /// Share weight of each restaurant.
    pub weights: BTreeMap<Id, u32>,
}

/// The share weights of all restaurants.
///
/// # Errors
/// Whatever the store fails with.
pub async fn weights(desk: &mut Desk<'_>) -> store::Result<BTreeMap<Id, u32>> {
    let buyers = people::buyers(&mut desk.tx).await?;
    Ok(buyers.into_iter().map(|buyer| (buyer.id, u32::try_from(buyer.weight).unwrap_or(1).max(1))).collect())
}

impl DaySharing<'_> {
    /// What each line gets, by the award's identifier; a line that gets nothing may be missing.
    pub fn first(&self, awards: &[Award]) -> BTreeMap<Id, Grams> {
        let claims: Vec<Claim> = awards.iter().map(|award| self.claim(award, award.asked)).collect();
        given(&allotment::solve(&self.lots(), &claims, &self.terms()))
    }

    /// What each line gets once promises stand: kept where stock allows, cut lines topped up from the rest.
    pub fn again(&self, awards: &[Award]) -> BTreeMap<Id, Grams> {
        let claims: Vec<Claim> = awards.iter().map(|award| self.claim(award, wanted(award))).collect();
        let promised: Vec<Promised> = awards
            .iter()
            .map(|award| Promised { claim: award.id, crop: award.crop.clone(), grams: award.promised })
            .collect();
        given(&allotment::resolve_after_weighing(&self.lots(), &claims, &promised, &self.terms()))
    }

    fn lots(&self) -> Vec<Lot> {
        let numbered = self.supply.iter().zip(0..);
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
        let pack = self.house.crops.get(&award.crop).map_or(Grams::new(1), |crop| crop.pack_step);
        // An order in pounds is no whole number of packs and is served to the gram.
        let in_packs = grams.floor_to(pack) == grams && award.promised.floor_to(pack) == award.promised;
        let is_second = self.house.config.promise.standing_first && award.source != Source::Standing;
        Claim {
            id: award.id,
            buyer: award.buyer_id,
            date: award.day,
            crop: award.crop.clone(),
            grams,
            smallest_useful: pack.at_most(grams),
            pack_step: if in_packs { pack } else { Grams::new(1) },
            swaps: Vec::new(),
            tier: u8::from(is_second),
            weight: self.weights.get(&award.buyer_id).copied().unwrap_or(1),
        }
    }

    fn terms(&self) -> Terms {
        let days = monday_of(self.day).signed_duration_since(LocalDate::default()).num_days();
        Terms {
            sharing: match self.house.config.promise.sharing {
                config::Sharing::EqualAwards => allotment::Sharing::EqualAwards,
                config::Sharing::Proportional => allotment::Sharing::Proportional,
            },
            rotation: days.unsigned_abs() / WEEK_DAYS,
        }
    }
}

/// What a line may still grow to: what its buyer has swapped, moved or dropped is not asked any more.
pub fn wanted(award: &Award) -> Grams {
    match award.state {
        State::Full | State::Short | State::Taken | State::Silent => award.asked.max(award.promised),
        State::Swapped | State::Moved | State::Dropped => award.promised,
    }
}

fn given(allotment: &Allotment) -> BTreeMap<Id, Grams> {
    allotment.awards.iter().map(|award| (award.claim, award.given)).collect()
}
