//! The farm's own rule for what is left: set and stopped by the keeper, and followed by the timetable's count. Rule: nothing
//! promised is touched.

use super::event::Event;
use super::offering::{Made, Terms, make};
use crate::farm::{self, Farm, giving, stock};
use crate::id::Id;
use crate::people::Person;
use crate::store::{self, surplus_rules};
use crate::surplus::rule::{Rule, deciding};
use chrono::Weekday;

/// Offer until then, give what is left.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wanted {
    /// All crops, if none is named.
    pub crop: Option<String>,
    pub weekday: Weekday,
    /// Minute of the local day.
    pub minute: u16,
}

/// Sets a rule, in place of the one there is for the same crop; `false` where there is no such crop or minute.
///
/// # Errors
/// Whatever the store fails with.
pub async fn set(farm: &mut Farm<'_>, person: &Person, wanted: Wanted) -> store::Result<bool> {
    let is_crop = wanted.crop.as_deref().is_none_or(|crop| farm.crops.get(crop).is_some());
    if !is_crop || wanted.minute >= 24 * 60 {
        return Ok(false);
    }
    let Wanted { crop, weekday, minute } = wanted;
    let rule = Rule { id: farm.new_id(), crop, weekday, minute };
    surplus_rules::put_rule(farm.tx, &rule, (farm.now, person.id)).await?;
    Ok(true)
}

/// Stops a rule; what is on offer stays on offer. `false` when it was stopped before.
///
/// # Errors
/// Whatever the store fails with.
pub async fn stop(farm: &mut Farm<'_>, rule: Id) -> store::Result<bool> {
    surplus_rules::end_rule(farm.tx, rule, farm.now).await
}

/// The count after the delivery run: the rules are followed first, then it is said when something is still free or past.
///
/// # Errors
/// Whatever the store fails with.
pub async fn count(farm: &mut Farm<'_>) -> store::Result<Vec<farm::Event>> {
    let mut events = follow(farm).await?;
    let stock = stock::now(farm).await?;
    if stock.lots.iter().any(|lot| lot.free.is_positive() || lot.past.is_positive()) {
        events.push(Event::LeftOver.into());
    }
    Ok(events)
}

/// What the rules say of what is free now: offered until their time, and what does not keep so long given at once.
async fn follow(farm: &mut Farm<'_>) -> store::Result<Vec<farm::Event>> {
    let rules = surplus_rules::rules(farm.tx).await?;
    if rules.is_empty() {
        return Ok(Vec::new());
    }
    let stock = stock::now(farm).await?;
    let mut events = Vec::new();
    for crop in farm.crops.keys().into_iter().filter(|crop| stock.free_of(crop).is_positive()) {
        if let Some(rule) = deciding(&rules, &crop) {
            events.extend(follow_for(farm, (&crop, rule)).await?);
        }
    }
    Ok(events)
}

async fn follow_for(farm: &mut Farm<'_>, (crop, rule): (&str, &Rule)) -> store::Result<Vec<farm::Event>> {
    let end = rule.end_after(farm.now, farm.zone());
    let open_minutes = end.since(farm.now) / 60;
    let terms = Terms { open_minutes, until: Some(end), ..Terms::usual(farm) };
    let mut told = Vec::new();
    if let Made::Offered { offer, buyers, events } = make(farm, crop, &terms).await? {
        told.extend(events);
        told.push(Event::RuleOffers { offer, buyers }.into());
    }
    let rest = stock::now(farm).await?.free_of(crop);
    if rest.is_positive() {
        told.push(Event::RuleGives { crop: crop.to_owned(), rest }.into());
        let proposed = giving::proposing::propose(farm, vec![(crop.to_owned(), rest)], None).await?;
        told.extend(proposed.into_iter().map(farm::Event::from));
    }
    Ok(told)
}
