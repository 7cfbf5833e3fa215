//! The placement advice for what lies in the cold room now, from the farm's own record. Rule: lots of a crop for which the
//! ways come in the same order are one.

use crate::clock::{LocalDate, UtcSeconds, instant_at};
use crate::crop::Crop;
use crate::farm::giving::proposing::{ANSWER_MINUTES_LEAST, partners_of, propose};
use crate::farm::{Event, Farm, stock};
use crate::id::Id;
use crate::money::Cents;
use crate::quantity::Grams;
use crate::store::surplus::{self, Answered, MarketHold};
use crate::store::{self, cold_room, giving as gifts, people};
use crate::surplus::answers::{self, Answer, Carried};
use crate::surplus::chances::{Drying, Giving, Market, Offering, Ways, chances};
use crate::surplus::count::Stock;
use crate::surplus::last_call;
use crate::surplus::offer::Offer;
use crate::surplus::partners::{self, Load, Partner};
use crate::surplus::placement::{Advice, Answering, Part, Settled, Way, advise, plan};
use crate::surplus::uptake::{Kind, Record};
use chrono::Datelike;
use serde::{Deserialize, Serialize};

/// How long the record counts: a year shows every season and forgets old tastes. Judged.
const RECORD_DAYS: i64 = 365;
/// Buyers asked about a crop within these hours are not advised to be asked again. Judged.
const ASKED_LATELY_HOURS: i64 = 48;
/// What a kilogram counts for where the farm has no price; only the order of the ways comes of it.
const PRICELESS: Cents = Cents::new(2000);

/// One thing to do now.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Step {
    pub way: Way,
    pub grams: Grams,
    /// How long an offer is open.
    pub open_minutes: i64,
}

/// What is advised for lots of one crop.
pub struct Advised {
    pub crop: String,
    pub free: Grams,
    /// The last day of the first of them to expire.
    pub keeps_until: LocalDate,
    /// The best of each way, the best way first; none when nothing can be done with it any more.
    pub ways: Vec<Advice>,
    /// What to do now, the best first.
    pub steps: Vec<Step>,
    /// Whether the money of the ways means anything.
    pub has_price: bool,
}

/// What is advised for everything that is free, in the stock's order.
///
/// # Errors
/// Whatever the store fails with.
pub async fn advised(farm: &mut Farm<'_>, stock: &Stock) -> store::Result<Vec<Advised>> {
    let facts = Facts::load(farm).await?;
    let mut all: Vec<Advised> = Vec::new();
    for lot in stock.lots.iter().filter(|lot| lot.free.is_positive()) {
        let one = facts.advise(farm, (&lot.crop, lot.free, lot.keeps_until));
        let is_one = |last: &&mut Advised| {
            last.crop == lot.crop && (last.keeps_until == lot.keeps_until || order(&last.ways) == order(&one.ways))
        };
        match all.last_mut().filter(is_one) {
            Some(last) => *last = facts.advise(farm, (&lot.crop, last.free + lot.free, last.keeps_until)),
            None => all.push(one),
        }
    }
    Ok(all)
}

/// What was read as the best for lots of a crop, the first of which keeps until that day.
#[derive(Clone, Debug)]
pub struct Best {
    pub crop: String,
    pub keeps_until: LocalDate,
    pub steps: Vec<Step>,
}

/// What is to be done now, if it is still what was read.
///
/// # Errors
/// Whatever the store fails with.
pub async fn still(farm: &mut Farm<'_>, best: &Best) -> store::Result<Option<Vec<Step>>> {
    let stock = stock::now(farm).await?;
    let advised = advised(farm, &stock).await?.into_iter();
    let mut now = advised.filter(|one| one.crop == best.crop && one.keeps_until == best.keeps_until);
    let ways = |steps: &[Step]| steps.iter().map(|step| (step.way, step.grams)).collect::<Vec<_>>();
    Ok(now.next().map(|one| one.steps).filter(|steps| ways(steps) == ways(&best.steps)))
}

/// Does what is advised beside the best way.
///
/// # Errors
/// Whatever the store fails with.
pub async fn do_beside(farm: &mut Farm<'_>, crop: &str, beside: &[Step]) -> store::Result<Vec<Event>> {
    let mut events = Vec::new();
    for step in beside {
        match step.way {
            Way::Give => {
                let proposed = propose(farm, vec![(crop.to_owned(), step.grams)], None).await?;
                events.extend(proposed.into_iter().map(Event::from));
            }
            Way::Market => {
                if let Some((day, ..)) = next_market(farm) {
                    let hold = MarketHold { day, crop: crop.to_owned(), grams: step.grams };
                    surplus::hold_for_market(farm.tx, &hold).await?;
                }
            }
            // Neither closes while something else goes on.
            Way::Offer | Way::Dry => {}
        }
    }
    Ok(events)
}

fn order(ways: &[Advice]) -> Vec<Way> {
    ways.iter().map(|one| one.way).collect()
}

/// What the advice is made from.
struct Facts {
    record: Record,
    carried: Vec<Carried>,
    buyers: Vec<Id>,
    holds: Vec<MarketHold>,
    partners: Vec<Partner>,
    offers: Vec<Offer>,
}

impl Facts {
    async fn load(farm: &mut Farm<'_>) -> store::Result<Facts> {
        let since = farm.now.plus_minutes(-RECORD_DAYS * 24 * 60);
        let mut buyers = Vec::new();
        for buyer in people::buyers(farm.tx).await? {
            if !people::contacts_of_buyer(farm.tx, buyer.id).await?.is_empty() {
                buyers.push(buyer.id);
            }
        }
        Ok(Facts {
            record: record(farm).await?,
            carried: cold_room::carried(farm.tx, since).await?,
            buyers,
            holds: surplus::market_holds(farm.tx).await?,
            partners: partners(farm).await?,
            offers: surplus::offers(farm.tx).await?,
        })
    }

    fn advise(&self, farm: &Farm<'_>, (crop, free, keeps_until): (&str, Grams, LocalDate)) -> Advised {
        let good_until = stock::end_of(keeps_until, farm.zone());
        let chances = chances(&self.ways(farm, (crop, free, keeps_until)), good_until, farm.now);
        let mut ways: Vec<Advice> = Vec::new();
        for advice in advise(free, good_until, &chances, farm.now) {
            match ways.iter_mut().find(|other| other.way == advice.way) {
                // A shorter offer, or a food bank that opens later, leaves more time.
                Some(best) => best.choose_by = best.choose_by.max(advice.choose_by),
                None => ways.push(advice),
            }
        }
        let parts = plan(free, good_until, &chances, farm.now).into_iter();
        let step = |part: Part| Step {
            way: part.way,
            grams: part.weight,
            open_minutes: match chances[part.chance].settled {
                Settled::AfterMinutes(minutes) if part.way == Way::Offer => minutes,
                _ => 0,
            },
        };
        Advised {
            crop: crop.to_owned(),
            free,
            keeps_until,
            ways,
            steps: parts.map(step).collect(),
            has_price: price(farm.crops.get(crop)).is_some(),
        }
    }

    fn ways(&self, farm: &Farm<'_>, (crop, free, keeps_until): (&str, Grams, LocalDate)) -> Ways {
        let rules = farm.rules;
        let kind = farm.crops.get(crop);
        let pack = kind.map_or(Grams::new(1), |kind| kind.pack_step);
        let price_per_kg = price(kind).unwrap_or(PRICELESS);
        let lately = farm.now.plus_minutes(-ASKED_LATELY_HOURS * 60);
        let was_asked = self.offers.iter().any(|offer| offer.crop == crop && offer.made_at > lately);
        let tenths = price_tenths(100 - rules.offers.discount_percent.clamp(0, 100));
        let weekday = farm.today().weekday();
        let uptake = |buyer: &Id| self.record.uptake(&Kind::new(*buyer, crop, weekday, tenths));
        let offering = (!was_asked && !self.buyers.is_empty()).then(|| Offering {
            uptakes: self.buyers.iter().map(uptake).collect(),
            pack,
            price_per_kg: reduced(price_per_kg, rules.offers.discount_percent),
            open_minutes: rules.offers.open_hours * 60,
            collect_minutes: rules.offers.collect_hours * 60,
        });
        let market =
            next_market(farm).filter(|(day, ..)| *day <= keeps_until).map(|(day, leaves_at, home_at)| Market {
                demand: answers::market_demand(&self.carried, (crop, pack), farm.now),
                pack,
                price_per_kg,
                kept: self
                    .holds
                    .iter()
                    .filter(|kept| kept.crop == crop && kept.day == day)
                    .map(|kept| kept.grams)
                    .sum(),
                leaves_at,
                home_at,
            });
        let drying = Some(Drying {
            price_per_dried_kg: Cents::new(rules.drying.price_cents_per_kg.unwrap_or_default()),
            fresh_per_dried: kind.map_or(10.0, |kind| kind.fresh_per_dried),
            minutes: rules.drying.hours * 60,
        });
        Ways { offering, market, drying, giving: self.giving(farm, (crop, free, keeps_until)) }
    }

    fn giving(&self, farm: &Farm<'_>, what: (&str, Grams, LocalDate)) -> Vec<Giving> {
        let zone = farm.zone();
        let load = load(farm, what);
        let answer = ANSWER_MINUTES_LEAST;
        let asked = Load { ready_at: farm.now.plus_minutes(answer), ..load.clone() };
        let candidates = partners::rank(&asked, &self.partners, zone).candidates.into_iter();
        candidates
            .filter_map(|candidate| {
                let partner = self.partners.iter().find(|one| one.id == candidate.partner)?;
                Some(Giving {
                    greatest: candidate.weight,
                    worth_per_kg: Cents::new(farm.rules.giving.worth_cents_per_kg),
                    ask_by: last_call::of_partner(&load, partner, (answer, zone))?,
                    opens_at: candidate.window.opens_at,
                    answer: Answering { within_minutes: farm.rules.giving.answer_hours * 60, least_minutes: answer },
                })
            })
            .collect()
    }
}

/// The last instant at which a food bank can be asked about so much of a crop; `None` when none can.
pub(super) async fn last_call(
    farm: &mut Farm<'_>,
    (crop, grams, keeps_until): (&str, Grams, LocalDate),
) -> store::Result<Option<UtcSeconds>> {
    let partners = partners(farm).await?;
    let load = load(farm, (crop, grams, keeps_until));
    Ok(last_call::of_all(&load, &partners, (ANSWER_MINUTES_LEAST, farm.zone())))
}

async fn partners(farm: &mut Farm<'_>) -> store::Result<Vec<Partner>> {
    let banks = gifts::food_banks(farm.tx).await?;
    Ok(partners_of(farm.crops, &banks))
}

fn load(farm: &Farm<'_>, (crop, grams, keeps_until): (&str, Grams, LocalDate)) -> Load {
    Load {
        lots: vec![(crop.to_owned(), grams)],
        ready_at: farm.now,
        hand_over_by: stock::end_of(keeps_until, farm.zone()),
        needs_cold_store: true,
        already_asked: Vec::new(),
    }
}

/// What buyers answered so far.
async fn record(farm: &mut Farm<'_>) -> store::Result<Record> {
    let since = farm.now.plus_minutes(-RECORD_DAYS * 24 * 60);
    let zone = farm.zone();
    let crops = farm.crops;
    let answer = |one: Answered| {
        let list = price(crops.get(&one.crop));
        let percent = |(price, list): (Cents, Cents)| price.get().saturating_mul(100) / list.get().max(1);
        let weekday = one.asked_at.local_date(zone).weekday();
        let tenths = price_tenths(one.price_per_kilogram.zip(list).map_or(100, percent));
        Answer {
            kind: Kind::new(one.buyer_id, &one.crop, weekday, tenths),
            open_minutes: one.ended_at.since(one.asked_at) / 60,
            taken: one.taken,
            has_declined: one.has_declined,
            was_left: one.left.is_positive(),
        }
    };
    let answers: Vec<Answer> = surplus::answered(farm.tx, since).await?.into_iter().map(answer).collect();
    Ok(answers::learned(&answers, |crop| crops.get(crop).map_or(Grams::new(1), |crop| crop.pack_step)))
}

fn price(crop: Option<&Crop>) -> Option<Cents> {
    crop.and_then(|crop| crop.price_per_kilogram)
}

/// A price less so many percent.
pub(super) fn reduced(price: Cents, percent: i64) -> Cents {
    Cents::new(price.get() * (100 - percent.clamp(0, 100)) / 100)
}

fn price_tenths(percent: i64) -> u8 {
    u8::try_from(((percent + 5) / 10).clamp(0, 20)).expect("within 20")
}

/// The next market the farm can still go to: its day, when it leaves and when it is home.
pub fn next_market(farm: &Farm<'_>) -> Option<(LocalDate, UtcSeconds, UtcSeconds)> {
    let (zone, market) = (farm.zone(), &farm.rules.market);
    let days = farm.today().iter_days().take(8).filter(|day| market.weekdays.contains(&day.weekday()));
    let mut trips = days.map(|day| (day, instant_at(day, market.leaves, zone), instant_at(day, market.home, zone)));
    trips.find(|(_, leaves_at, _)| *leaves_at > farm.now)
}
