//! The family's day: what to soak or open, pick, cool, pack, carry and give, and who has not answered.

use crate::conversation::Desk;
use crate::conversation::growing::{plan, shelf};
use crate::house::House;
use crate::wording::{Args, Voice};
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::farm::plan::advised;
use scheduler::farm::stock::ready_on;
use scheduler::farm::supply::promised_by_crop;
use scheduler::farm::{asked, expected};
use scheduler::growing::plan::Advice;
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store::deliveries::{Award, State};
use scheduler::store::{self, cold_room, deliveries, giving, growing, people, surplus};
use std::collections::{BTreeMap, BTreeSet};

/// A batch to look at today.
struct Shelf {
    crop: String,
    room: String,
    /// Pins were seen on this day.
    pins_on: Option<LocalDate>,
    /// Soaked or opened on this day.
    started_on: LocalDate,
}

/// A delivery that is closed and not yet over.
struct Run {
    day: LocalDate,
    promised: BTreeMap<String, Grams>,
    /// What is promised beyond what will be cooled through by then.
    to_pick: BTreeMap<String, Grams>,
    /// Restaurants that have not answered a shortage.
    silent: Vec<String>,
}

/// A drop that is agreed or proposed.
struct Drop {
    bank: String,
    opens_at: UtcSeconds,
    weight: Grams,
}

/// The next delivery that still takes orders.
struct Next {
    day: LocalDate,
    cutoff_at: UtcSeconds,
    /// Asked and likely (the median), by crop.
    lines: Vec<(String, Grams, Grams)>,
}

/// Units to soak or open, best today or tomorrow.
struct Begin {
    crop: String,
    units: i64,
    latest_on: LocalDate,
}

/// Everything of the day.
pub struct Day {
    starts: Vec<Begin>,
    /// What still cools: crop, first day to pack it, weight.
    cooling: BTreeMap<(String, LocalDate), Grams>,
    shelves: Vec<Shelf>,
    runs: Vec<Run>,
    drops: Vec<Drop>,
    offered: Vec<(String, Grams)>,
    next: Option<Next>,
}

/// Reads the day.
///
/// # Errors
/// Whatever the store fails with.
pub async fn facts(desk: &mut Desk<'_>) -> store::Result<Day> {
    Ok(Day {
        starts: starts(desk).await?,
        cooling: cooling(desk).await?,
        shelves: shelves(desk).await?,
        runs: runs(desk).await?,
        drops: drops(desk).await?,
        offered: surplus::open_offers(&mut desk.tx).await?.into_iter().map(|one| (one.crop, one.left)).collect(),
        next: next(desk).await?,
    })
}

async fn starts(desk: &mut Desk<'_>) -> store::Result<Vec<Begin>> {
    let tomorrow = desk.today().succ_opt().unwrap_or(desk.today());
    let advised = advised(&mut desk.farm()).await?.into_iter();
    Ok(advised
        .filter_map(|(shortage, advice)| match advice {
            Advice::Start { units, best_on, latest_on, .. } if best_on <= tomorrow => {
                Some(Begin { crop: shortage.crop, units: i64::from(units), latest_on })
            }
            _ => None,
        })
        .collect())
}

async fn cooling(desk: &mut Desk<'_>) -> store::Result<BTreeMap<(String, LocalDate), Grams>> {
    let today = desk.today();
    let mut sums: BTreeMap<(String, LocalDate), Grams> = BTreeMap::new();
    for lot in cold_room::lots(&mut desk.tx).await?.into_iter().filter(|lot| lot.ready_on > today) {
        *sums.entry((lot.crop, lot.ready_on)).or_default() += lot.left;
    }
    Ok(sums)
}

async fn shelves(desk: &mut Desk<'_>) -> store::Result<Vec<Shelf>> {
    let batches: BTreeMap<Id, growing::Batch> =
        growing::all_batches(&mut desk.tx).await?.into_iter().map(|batch| (batch.id, batch)).collect();
    let spent: BTreeSet<Id> = growing::spent_batches(&mut desk.tx).await?.into_iter().collect();
    let flushes = growing::all_flushes(&mut desk.tx).await?;
    let open = flushes.into_iter().filter(|flush| flush.closed_on.is_none() && !spent.contains(&flush.batch_id));
    Ok(open
        .filter_map(|flush| {
            let batch = batches.get(&flush.batch_id)?;
            let started_on = flush.initiated_on?;
            Some(Shelf { crop: batch.crop.clone(), room: batch.room.clone(), pins_on: flush.pins_on, started_on })
        })
        .collect())
}

async fn runs(desk: &mut Desk<'_>) -> store::Result<Vec<Run>> {
    let today = desk.today();
    let mut runs = Vec::new();
    for closed in deliveries::from(&mut desk.tx, today).await? {
        let awards: Vec<Award> = deliveries::awards_on(&mut desk.tx, closed.day).await?;
        let owed: Vec<Award> = awards.iter().filter(|award| award.delivered.is_none()).cloned().collect();
        let promised: BTreeMap<String, Grams> =
            promised_by_crop(&owed).into_iter().filter(|(_, grams)| grams.is_positive()).collect();
        let silent: BTreeSet<Id> =
            awards.iter().filter(|award| award.state == State::Short).map(|award| award.buyer_id).collect();
        let mut names = Vec::new();
        for buyer_id in silent {
            names.extend(people::buyer_by_id(&mut desk.tx, buyer_id).await?.map(|buyer| buyer.name));
        }
        if !promised.is_empty() || !names.is_empty() {
            let ready = ready_on(&mut desk.farm(), closed.day).await?;
            let lacking = promised.iter().map(|(crop, grams)| {
                let there = ready.get(crop).copied().unwrap_or_default();
                (crop.clone(), grams.less(there))
            });
            let to_pick = lacking.filter(|(_, grams)| grams.is_positive()).collect();
            runs.push(Run { day: closed.day, promised, to_pick, silent: names });
        }
    }
    Ok(runs)
}

async fn drops(desk: &mut Desk<'_>) -> store::Result<Vec<Drop>> {
    let mut drops = Vec::new();
    for one in giving::coming_drops(&mut desk.tx).await? {
        if let Some(bank) = giving::food_bank(&mut desk.tx, one.partner_id).await? {
            drops.push(Drop { bank: bank.name, opens_at: one.window.opens_at, weight: one.weight() });
        }
    }
    Ok(drops)
}

async fn next(desk: &mut Desk<'_>) -> store::Result<Option<Next>> {
    let Some(delivery) = desk.house.calendar.next_open_delivery(desk.now) else { return Ok(None) };
    let Some(cutoff_at) = delivery.cutoff_at else { return Ok(None) };
    let mut asked_of: BTreeMap<String, Grams> = BTreeMap::new();
    for line in asked::between(&mut desk.farm(), delivery.date, delivery.date).await? {
        *asked_of.entry(line.crop).or_default() += line.grams;
    }
    let expected = expected::on_days(&mut desk.farm(), &[delivery.date]).await?;
    let lines = expected.into_iter().map(|one| {
        let asked = asked_of.get(&one.crop).copied().unwrap_or_default();
        (one.crop, asked, one.p50)
    });
    let lines = lines.filter(|(_, asked, likely)| asked.is_positive() || likely.is_positive()).collect();
    Ok(Some(Next { day: delivery.date, cutoff_at, lines }))
}

impl Day {
    /// Whether there is nothing to do and nothing to look at.
    pub fn is_empty(&self) -> bool {
        let next_is_empty = self.next.as_ref().is_none_or(|next| next.lines.is_empty());
        self.starts.is_empty()
            && self.cooling.is_empty()
            && self.shelves.is_empty()
            && self.runs.is_empty()
            && self.drops.is_empty()
            && next_is_empty
    }

    /// Whether somebody of the family has something to do soon.
    pub fn has_work(&self, today: LocalDate) -> bool {
        let soon = today.succ_opt().unwrap_or(today);
        let is_ripe = self.shelves.iter().any(|shelf| shelf.pins_on.is_some());
        is_ripe || !self.starts.is_empty() || self.runs.iter().any(|run| run.day <= soon) || !self.drops.is_empty()
    }

    /// The page for one reader.
    pub fn write(&self, desk: &Desk<'_>, voice: &Voice) -> String {
        self.page(desk.house, voice, desk.today())
    }

    /// The page for one reader, without the desk.
    pub fn page(&self, house: &House, voice: &Voice, today: LocalDate) -> String {
        let mut lines = vec![voice.say("today-heading", &Args::new().date("day", today))];
        if self.is_empty() {
            lines.push(voice.say("today-nothing", &Args::new()));
        }
        for run in &self.runs {
            self.write_run(run, (house, voice, today), &mut lines);
        }
        for ((crop, ready_on), weight) in &self.cooling {
            let args = Args::new().text("amount", house.amount(crop, *weight, voice));
            lines.push(voice.say("today-cooling", &args.day("ready", *ready_on, today)));
        }
        if !self.starts.is_empty() {
            lines.push(String::new());
            lines.push(voice.say("today-starts", &Args::new()));
        }
        for one in &self.starts {
            let args = Args::new()
                .word("begun", plan::beginning(house, &one.crop, 1))
                .text("units", shelf::units(house, voice, &one.crop, one.units))
                .text("crop", house.crop_name(&one.crop, voice))
                .day("latest", one.latest_on, today);
            lines.push(voice.say("today-start", &args));
        }
        if !self.shelves.is_empty() {
            lines.push(String::new());
            lines.push(voice.say("today-shelves", &Args::new()));
        }
        for shelf in &self.shelves {
            let args = Args::new().text("crop", house.crop_name(&shelf.crop, voice)).text("room", shelf.room.clone());
            lines.push(match shelf.pins_on {
                Some(day) => voice.say("today-shelf-pins", &args.day("day", day, today)),
                None => voice.say("today-shelf", &args.day("day", shelf.started_on, today)),
            });
        }
        for (crop, left) in &self.offered {
            let args = Args::new().text("amount", house.amount(crop, *left, voice));
            lines.push(voice.say("today-offer", &args));
        }
        for one in &self.drops {
            let args = Args::new().text("bank", one.bank.clone()).weight("weight", one.weight);
            lines.push(voice.say("today-drop", &args.day_time("at", one.opens_at)));
        }
        if let Some(next) = &self.next {
            lines.push(String::new());
            let args = Args::new().date("day", next.day).day_time("cutoff", next.cutoff_at);
            lines.push(voice.say("today-next", &args));
            for (crop, asked, likely) in &next.lines {
                let args = Args::new().text("crop", house.crop_name(crop, voice));
                lines.push(voice.say("today-next-line", &args.weight("asked", *asked).weight("likely", *likely)));
            }
        }
        lines.join("\n")
    }

    fn write_run(&self, run: &Run, (house, voice, today): (&House, &Voice, LocalDate), lines: &mut Vec<String>) {
        lines.push(String::new());
        lines.push(voice.say("today-run", &Args::new().day("day", run.day, today)));
        for (crop, weight) in &run.promised {
            let args = Args::new().text("amount", house.amount(crop, *weight, voice));
            lines.push(voice.say("today-run-line", &args));
        }
        for (crop, weight) in &run.to_pick {
            let args = Args::new().text("amount", house.amount(crop, *weight, voice));
            lines.push(voice.say("today-pick", &args));
        }
        if !run.silent.is_empty() {
            lines.push(voice.say("today-silent", &Args::new().list("names", run.silent.clone())));
        }
    }
}
