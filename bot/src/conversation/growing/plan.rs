//! The growing plan: what to soak or open by when, so that what is asked for coming deliveries can be promised. Rule: an
//! earlier delivery takes first what expires first, in every imagined future alike, and what is missing then at the
//! farm's promise level is what has to be started.

use super::shelf::{self, Shelf, units};
use crate::conversation::cutoff::coming;
use crate::conversation::{Desk, Letter, expected};
use crate::house::House;
use crate::wording::{Args, Voice, key};
use chrono::Duration;
use scheduler::allotment::warning::lacking;
use scheduler::clock::LocalDate;
use scheduler::crop::Crop;
use scheduler::growing::plan::{Advice, Growth, Shortage, plan};
use scheduler::harvest::conjugate::NormalInverseGamma;
use scheduler::harvest::learn::Learned;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;

/// Deliveries looked ahead: a soak today is picked within two or three of them, an order book is seldom fuller.
const DELIVERIES: usize = 8;

/// Shows the plan.
///
/// # Errors
/// Whatever the store fails with.
pub async fn show(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let growth = expected::growth(desk).await?;
    let shelves = waiting(desk).await?;
    let mut lines = vec![voice.say("plan-heading", &Args::new())];
    for shelf in shelves.iter().filter(|shelf| shelf.flush.number > 1) {
        if let Some(due) = rest_over(shelf, &growth.learned) {
            let args = Args::new()
                .text("batch", shelf::name(house, &voice, shelf))
                .word("begun", beginning(desk.house, &shelf.batch.crop, shelf.flush.number))
                .day("day", due.max(desk.today()), desk.today());
            lines.push(voice.say("plan-rested", &args));
        }
    }
    for (shortage, advice) in &advised_of(desk, &growth, &shelves).await? {
        let args = Args::new()
            .date("delivery", shortage.delivery)
            .text("short", house.amount(&shortage.crop, shortage.short, &voice));
        lines.push(match advice {
            Advice::Start { units: number, best_on, latest_on, uncovered } => {
                let args = start_words(desk.house, args, &voice, (&shortage.crop, *number))
                    .day("best", *best_on, desk.today())
                    .day("latest", *latest_on, desk.today());
                if uncovered.is_positive() {
                    voice.say("plan-start-part", &args.weight("missing", *uncovered))
                } else {
                    voice.say("plan-start", &args)
                }
            }
            Advice::TooLate { .. } => voice.say("plan-too-late", &args),
            Advice::NothingReady | Advice::UnknownGrowth => voice.say("plan-nothing-ready", &args),
        });
    }
    if lines.len() == 1 {
        lines.push(voice.say("plan-nothing", &Args::new()));
    }
    desk.answer(person, Letter::new(lines.join("\n"))).await
}

/// What to start for each delivery that would be short.
///
/// # Errors
/// Whatever the store fails with.
pub async fn advised(desk: &mut Desk<'_>) -> store::Result<Vec<(Shortage, Advice)>> {
    let growth = expected::growth(desk).await?;
    let shelves = waiting(desk).await?;
    // Without a batch to start, no reckoning would find one.
    if shelves.is_empty() { Ok(Vec::new()) } else { advised_of(desk, &growth, &shelves).await }
}

async fn advised_of(
    desk: &mut Desk<'_>,
    growth: &expected::Growth,
    waiting: &[Shelf],
) -> store::Result<Vec<(Shortage, Advice)>> {
    let shortages = shortages(desk, growth).await?;
    let growths = growths_of(desk.house, waiting, &growth.learned);
    Ok(plan(&shortages, &growths, desk.today()))
}

/// Batches not soaked or opened for their flush.
async fn waiting(desk: &mut Desk<'_>) -> store::Result<Vec<Shelf>> {
    let shelves = shelf::active(desk).await?;
    Ok(shelves.into_iter().filter(|shelf| shelf.flush.initiated_on.is_none()).collect())
}

/// How each crop would grow that is started now.
///
/// # Errors
/// Whatever the store fails with.
pub async fn growths(desk: &mut Desk<'_>, learned: &Learned) -> store::Result<Vec<Growth>> {
    let house = desk.house;
    Ok(growths_of(house, &waiting(desk).await?, learned))
}

fn growths_of(house: &House, waiting: &[Shelf], learned: &Learned) -> Vec<Growth> {
    house.crops.iter().filter_map(|crop| growth_of(crop, waiting, learned)).collect()
}

/// What is to be started of a crop, in words: "soak 14 blocks" comes from these two.
pub fn start_words(house: &House, args: Args, voice: &Voice, (crop, number): (&str, u32)) -> Args {
    args.text("units", units(house, voice, crop, i64::from(number))).word("begun", beginning(house, crop, 1))
}

/// When a resting batch has probably rested enough: the median of what the record teaches.
fn rest_over(shelf: &Shelf, learned: &Learned) -> Option<LocalDate> {
    let since = shelf.before.as_ref()?.closed_on?;
    let crop = shelf.batch.crop.parse().ok()?;
    let belief = learned.belief(crop, u8::try_from(shelf.flush.number - 1).ok()?)?;
    let days = median(belief.rest?);
    Some(since + Duration::days(days.clamp(0.0, 3650.0).round() as i64))
}

fn median(ln_value: NormalInverseGamma) -> f64 {
    ln_value.predictive().quantile(0.5).exp()
}

/// What the start of a flush is called.
pub fn beginning(house: &House, crop: &str, flush: i64) -> &'static str {
    match (house.crops.is_bagged(crop), flush) {
        (false, _) => key("plan-word-soak"),
        (true, 1) => key("plan-word-opening"),
        (true, _) => key("plan-word-start"),
    }
}

/// How the first flush of a crop grows on this farm, with the units never started.
fn growth_of(crop: &Crop, waiting: &[Shelf], learned: &Learned) -> Option<Growth> {
    let belief = learned.belief(crop.key, 1)?;
    let prior = learned.prior(crop.key)?.flush(1)?;
    let ready: Vec<&Shelf> =
        waiting.iter().filter(|shelf| shelf.batch.crop == crop.key.as_str() && shelf.before.is_none()).collect();
    let ready_units: i64 = ready.iter().map(|shelf| shelf.units_left()).sum();
    let dry: i64 = ready.iter().map(|shelf| shelf.batch.dry_per_unit.get().saturating_mul(shelf.units_left())).sum();
    let days = belief.days.predictive();
    Some(Growth {
        crop: crop.key.as_str().to_owned(),
        // Without units the weight of one does not matter: the advice is that nothing is ready.
        dry_substrate: Grams::new(if ready_units > 0 { dry / ready_units } else { 1000 }),
        biological_efficiency: median(belief.efficiency),
        first_pick_days: median(belief.days),
        // Half the middle 68 %, which is one deviation of a normal.
        first_pick_sd_days: (days.quantile(0.8413).exp() - days.quantile(0.1587).exp()) / 2.0,
        spread_days: f64::from(prior.spread_days),
        cooling_days: u64::from(crop.cooling_hours.div_ceil(24)),
        ready_units: u32::try_from(ready_units).unwrap_or(u32::MAX),
    })
}

/// What will probably be asked beyond what can be promised, by crop and delivery.
async fn shortages(desk: &mut Desk<'_>, growth: &expected::Growth) -> store::Result<Vec<Shortage>> {
    let Some(coming) = coming::load(desk, growth, DELIVERIES).await? else { return Ok(Vec::new()) };
    let level = desk.house.config.rules.promise.level();
    Ok(lacking(coming.futures.draws(), (&coming.likely, &coming.owed), level))
}
