//! The farm without a chat: weeks of ordering, closing, answering, weighing, packing and delivering, by `scheduler::farm` alone. Any
//! transaction may be lost before it is committed and is then done again. After each step:
//! - the database has no broken invariant (`audit::faults`);
//! - what was ordered is what is kept;
//! - from the morning's weighing until the crates are packed no promise is more than the cold room can keep;
//! - no promise was lowered while stock exists to keep it.
//!
//! `PINSET_SIM_ALONE_FARMS` makes more of them, four weeks each.

use chrono::{Duration, NaiveTime};
use pinset::config::{Config, SAMPLE};
use pinset_tests::simulation::chance::Chance;
use scheduler::clock::{LocalDate, UtcSeconds, instant_at};
use scheduler::delivery::award::Award;
use scheduler::delivery::calendar::Calendar;
use scheduler::farm::answering::{self, Answer};
use scheduler::farm::closed_day::{ClosedDay, SwapPart};
use scheduler::farm::ordering::{Book, Sums, change, day};
use scheduler::farm::{
    Crops, Farm, Rules, asked, closing, delivering, forgotten, lines, packing, stock, supply, warning, weighing,
};
use scheduler::id::Id;
use scheduler::people::{HourClock, Person, Role, WhenSilent};
use scheduler::quantity::{Grams, UnitSystem};
use scheduler::store::cold_room::{self, Lot, MoveKind, Movement};
use scheduler::store::growing::{self, Batch, Flush};
use scheduler::store::occurrences::{self, Outcome};
use scheduler::store::orders::{self, Standing};
use scheduler::store::{Store, Tx, audit, deliveries, people};
use scheduler::timetable::Job;
use std::collections::BTreeMap;

const CROPS: [&str; 2] = ["shiitake", "oyster"];
const WEEKS: i64 = 4;
const FARMS: u64 = 25;

/// Why a farm is broken.
type Broken = String;

fn failed(error: impl std::fmt::Display) -> Broken {
    format!("failed: {error}")
}

/// Everything of one farm.
struct World {
    store: Store,
    calendar: Calendar,
    crops: Crops,
    rules: Rules,
    chance: Chance,
    now: UtcSeconds,
    buyers: Vec<Person>,
    /// What each restaurant was answered that it has ordered: buyer, day, crop.
    ordered: BTreeMap<(Id, LocalDate, String), Grams>,
    weighings: u64,
    deliveries: u64,
}

/// One transaction of the farm. It may be lost before it is committed, and is then done again.
macro_rules! act {
    ($world:ident, |$farm:ident| $body:expr) => {{
        loop {
            let mut tx = $world.store.begin().await.map_err(failed)?;
            let done = {
                let $farm = &mut $world.farm(&mut tx);
                $body
            };
            let is_lost = $world.chance.one_in(12);
            if is_lost {
                drop(tx);
                continue;
            }
            tx.commit().await.map_err(failed)?;
            break done;
        }
    }};
}

impl World {
    async fn new(url: &str, seed: u64) -> Result<World, Broken> {
        let config = Config::parse(SAMPLE).map_err(failed)?;
        let crops = Crops::configured(&config.crops)?;
        let (calendar, rules) = (config.calendar(), config.rules);
        let monday: LocalDate = "2026-06-01".parse().map_err(failed)?;
        let now = instant_at(monday, NaiveTime::from_hms_opt(5, 0, 0).expect("a time of day"), calendar.zone);
        let store = Store::open(url).await.map_err(failed)?;
        let mut world = World {
            store,
            calendar,
            crops,
            rules,
            chance: Chance::new(seed),
            now,
            buyers: Vec::new(),
            ordered: BTreeMap::new(),
            weighings: 0,
            deliveries: 0,
        };
        world.rules.promise.standing_first = world.chance.percent(70);
        world.rules.promise.carry_last_cut = world.chance.percent(30);
        world.people().await?;
        Ok(world)
    }

    fn farm<'t>(&'t self, tx: &'t mut Tx) -> Farm<'t> {
        Farm { tx, now: self.now, calendar: &self.calendar, crops: &self.crops, rules: &self.rules }
    }

    async fn people(&mut self) -> Result<(), Broken> {
        let mut tx = self.store.begin().await.map_err(failed)?;
        for (chat_id, name) in (1..).zip(["Night Heron Noodle Bar", "Copper Kettle Bistro", "Saltmarsh Bakery"]) {
            let buyer_id = people::add_buyer(&mut tx, name, self.now).await.map_err(failed)?;
            if self.chance.percent(40) {
                people::set_when_silent(&mut tx, buyer_id, WhenSilent::Drop).await.map_err(failed)?;
            }
            let person = Person {
                id: tx.new_id(self.now),
                chat_id,
                name: name.to_owned(),
                role: Role::Buyer,
                language: "en".to_owned(),
                units: UnitSystem::Metric,
                hour_clock: HourClock::TwentyFour,
                quiet: None,
                buyer_id: Some(buyer_id),
                partner_id: None,
            };
            people::join(&mut tx, &person, self.now).await.map_err(failed)?;
            if self.chance.percent(60) {
                let standing = Standing {
                    id: tx.new_id(self.now),
                    buyer_id,
                    crop: (*self.chance.pick(&CROPS)).to_owned(),
                    usual: Grams::new(self.chance.between(2, 8) * 500),
                    recurrence: "DTSTART:20260604\nRRULE:FREQ=WEEKLY;BYDAY=TH".to_owned(),
                    changed: BTreeMap::new(),
                    paused: None,
                };
                orders::put_standing(&mut tx, &standing, (self.now, None)).await.map_err(failed)?;
            }
            self.buyers.push(person);
        }
        tx.commit().await.map_err(failed)
    }

    /// Moves the clock to an hour of a day.
    fn at(&mut self, day: LocalDate, hour: u32) {
        self.now = instant_at(day, NaiveTime::from_hms_opt(hour, 0, 0).expect("a time of day"), self.calendar.zone);
    }

    async fn week(&mut self, monday: LocalDate) -> Result<(), Broken> {
        let [tuesday, wednesday, thursday] = [1, 2, 3].map(|days| monday + Duration::days(days));
        self.at(monday, 6);
        self.begin_batches(monday).await?;
        for (on, hour) in [(monday, 9), (monday, 15), (tuesday, 9), (tuesday, 16)] {
            self.at(on, hour);
            self.pick(on).await?;
            self.order(thursday).await?;
        }
        act!(self, |farm| warning::warn_early(farm).await.map_err(failed)?);
        self.at(tuesday, 18);
        self.do_due().await?;
        self.close().await?;
        self.at(tuesday, 20);
        self.answer(thursday).await?;
        self.at(wednesday, 9);
        self.do_due().await?;
        self.pick(wednesday).await?;
        self.at(wednesday, 17);
        self.share_better_harvest(thursday).await?;
        self.do_due().await?;
        self.at(thursday, 6);
        self.do_due().await?;
        self.weigh(thursday).await?;
        self.at(thursday, 7);
        self.pack(thursday).await?;
        self.at(thursday, 9);
        self.deliver(thursday).await
    }

    /// Does what is due, as the timetable would.
    async fn do_due(&mut self) -> Result<(), Broken> {
        loop {
            let is_done = act!(self, |farm| {
                let due = occurrences::first_due(farm.tx, farm.now).await.map_err(failed)?;
                if let Some(due) = &due {
                    match due.occurrence.as_ref().map(|one| one.job) {
                        Some(Job::EarlyWarning) => warning::look(farm).await.map_err(failed)?,
                        Some(Job::AnswersEnd(day)) => closing::answers_end(farm, day).await.map_err(failed)?,
                        Some(Job::PackAssume(day)) => forgotten::assume_packed(farm, day).await.map_err(failed)?,
                        Some(Job::RunAsk(day)) => forgotten::ask_run(farm, day).await.map_err(failed)?,
                        Some(Job::RunAssume(day)) => forgotten::assume_delivered(farm, day).await.map_err(failed)?,
                        other => return Err(format!("nothing else falls due here: {other:?}")),
                    };
                    occurrences::finish(farm.tx, &due.key, Outcome::Done, farm.now).await.map_err(failed)?;
                }
                due.is_none()
            });
            if is_done {
                return Ok(());
            }
        }
    }

    async fn begin_batches(&mut self, monday: LocalDate) -> Result<(), Broken> {
        for crop in CROPS {
            if !self.chance.percent(70) {
                continue;
            }
            let units = self.chance.between(10, 40);
            let begun = monday - Duration::days(self.chance.between(5, 9));
            act!(self, |farm| {
                let batch = Batch {
                    id: farm.new_id(),
                    crop: crop.to_owned(),
                    room: "room 1".to_owned(),
                    units,
                    dry_per_unit: Grams::new(1000),
                    started_on: begun,
                };
                growing::add_batch(farm.tx, &batch).await.map_err(failed)?;
                let flush = Flush {
                    id: farm.new_id(),
                    batch_id: batch.id,
                    number: 1,
                    initiated_on: Some(begun),
                    pins_on: None,
                    units_lost: 0,
                    closed_on: None,
                    picked: Vec::new(),
                };
                growing::put_flush(farm.tx, &flush).await.map_err(failed)?;
            });
        }
        Ok(())
    }

    async fn pick(&mut self, on: LocalDate) -> Result<(), Broken> {
        for crop in CROPS {
            if self.chance.percent(50) {
                let grams = Grams::new(self.chance.between(500, 6000));
                act!(self, |farm| add_lot(farm, (crop, grams), on).await?);
            }
        }
        Ok(())
    }

    async fn order(&mut self, thursday: LocalDate) -> Result<(), Broken> {
        let person = self.chance.pick(&self.buyers).clone();
        let buyer_id = person.buyer_id.expect("they are buyers");
        let crop = *self.chance.pick(&CROPS);
        let (what, grams) = (self.chance.below(5), Grams::new(self.chance.between(1, 12) * 500));
        let book = act!(self, |farm| {
            let book = Book::read(farm, buyer_id).await.map_err(failed)?;
            let sums = Sums::from([(crop.to_owned(), grams)]);
            let change = match what {
                0 => {
                    let there = day::asked_of(&book, (thursday, None), farm);
                    day::skip(farm, book, (thursday, &there))
                }
                1 => day::set_totals(farm, book, (thursday, &sums)),
                2 => {
                    let there = day::once_of(&book, (thursday, Some(crop)));
                    day::withdraw(book, (thursday, &there))
                }
                _ => day::place(farm, book, (thursday, &sums), Some(day::Beside::OnTop)),
            };
            let is_undone = what == 4;
            match change::store(farm, person.id, change).await.map_err(failed)? {
                change::Changed::AsItWas { book } => book,
                change::Changed::Done { book, undo, .. } if is_undone => {
                    match change::undo(farm, (person.id, &book), Some(undo)).await.map_err(failed)? {
                        change::Undone::Done { book, .. } => book,
                        other => return Err(format!("a change just made cannot be undone: {other:?}")),
                    }
                }
                change::Changed::Done { book, .. } => book,
            }
        });
        for crop in CROPS {
            self.ordered.insert((buyer_id, thursday, crop.to_owned()), book.total_on(thursday, crop));
        }
        self.orders_are_kept(thursday).await
    }

    async fn orders_are_kept(&mut self, thursday: LocalDate) -> Result<(), Broken> {
        let mut tx = self.store.begin_reading().await.map_err(failed)?;
        let farm = &mut self.farm(&mut tx);
        let lines = asked::between(farm, thursday, thursday).await.map_err(failed)?;
        for ((buyer_id, day, crop), grams) in &self.ordered {
            let kept = lines.iter().filter(|line| (line.buyer_id, line.day, &line.crop) == (*buyer_id, *day, crop));
            let kept: Grams = kept.map(|line| line.grams).sum();
            if *day == thursday && kept != *grams {
                return Err(format!("{buyer_id} was answered {grams:?} of {crop}, kept is {kept:?}"));
            }
        }
        Ok(())
    }

    async fn close(&mut self) -> Result<(), Broken> {
        act!(self, |farm| {
            closing::close_due(farm).await.map_err(failed)?;
            if !closing::close_due(farm).await.map_err(failed)?.is_empty() {
                return Err("a delivery is closed again".into());
            }
        });
        self.is_sound().await
    }

    async fn answer(&mut self, thursday: LocalDate) -> Result<(), Broken> {
        for person in self.buyers.clone() {
            for _ in 0..2 {
                let (what, part) = (self.chance.below(6), *self.chance.pick(&[SwapPart::Missing, SwapPart::Whole]));
                act!(self, |farm| {
                    let Some(closed) = deliveries::on(farm.tx, thursday).await.map_err(failed)? else {
                        return Err("the day is not closed".into());
                    };
                    let day = ClosedDay::load(farm, &closed).await.map_err(failed)?;
                    let before = day.awards.clone();
                    let theirs = before.iter().find(|line| line.waits() && Some(line.buyer_id) == person.buyer_id);
                    let Some(line) = theirs else { break };
                    let other = CROPS.into_iter().find(|crop| *crop != line.crop).expect("there are two");
                    let answer = match what {
                        0 => Answer::Take,
                        1 | 2 => Answer::Swap { crop: other.to_owned(), grams: day.free_of(other), part },
                        3 => Answer::Move,
                        4 => Answer::Drop,
                        _ => break,
                    };
                    answering::answer(farm, &person, (line.id, answer)).await.map_err(failed)?;
                    let after = deliveries::awards_on(farm.tx, thursday).await.map_err(failed)?;
                    for was in before.iter().filter(|was| was.id != line.id) {
                        if after.iter().any(|is| is.id == was.id && is.promised < was.promised) {
                            return Err(format!("an answer lowered the promise of another line: {was:?}"));
                        }
                    }
                });
                self.is_sound().await?;
            }
        }
        // Whoever moved a line has ordered it for a day this simulation did not answer.
        self.ordered.retain(|(_, day, _), _| *day < thursday);
        Ok(())
    }

    async fn share_better_harvest(&mut self, thursday: LocalDate) -> Result<(), Broken> {
        act!(self, |farm| {
            if let Some(closed) = deliveries::on(farm.tx, thursday).await.map_err(failed)? {
                answering::share_better_harvest(farm, &closed).await.map_err(failed)?;
            }
        });
        self.is_sound().await
    }

    async fn weigh(&mut self, thursday: LocalDate) -> Result<(), Broken> {
        act!(self, |farm| {
            if let Some(closed) = deliveries::on(farm.tx, thursday).await.map_err(failed)? {
                answering::settle_silent(farm, &closed).await.map_err(failed)?;
                let before = deliveries::awards_on(farm.tx, thursday).await.map_err(failed)?;
                weighing::share_first(farm, &closed).await.map_err(failed)?;
                no_promise_lowered_in_vain(farm, &before).await?;
            }
        });
        self.promises_are_there(thursday).await?;
        for _ in 0..2 {
            let (is_lost, crop, grams) =
                (self.chance.percent(50), *self.chance.pick(&CROPS), self.chance.between(200, 3000));
            act!(self, |farm| {
                let before = deliveries::awards_on(farm.tx, thursday).await.map_err(failed)?;
                if is_lost {
                    let movement =
                        Movement { kind: MoveKind::Discarded, subject: None, person_id: None, now: farm.now };
                    let wanted = (Grams::new(grams), thursday);
                    cold_room::take(farm.tx, crop, wanted, &movement).await.map_err(failed)?;
                } else {
                    add_lot(farm, (crop, Grams::new(grams)), thursday).await?;
                }
                weighing::share_again(farm).await.map_err(failed)?;
                no_promise_lowered_in_vain(farm, &before).await?;
            });
            self.promises_are_there(thursday).await?;
        }
        self.is_sound().await
    }

    async fn promises_are_there(&mut self, thursday: LocalDate) -> Result<(), Broken> {
        self.weighings += 1;
        let mut tx = self.store.begin_reading().await.map_err(failed)?;
        let farm = &mut self.farm(&mut tx);
        let awards = deliveries::awards_on(farm.tx, thursday).await.map_err(failed)?;
        let ready = stock::ready_on(farm, thursday).await.map_err(failed)?;
        for (crop, promised) in supply::promised_by_crop(&awards) {
            let ready = ready.get(&crop).copied().unwrap_or_default();
            if promised > ready {
                return Err(format!("{promised:?} of {crop} are promised, {ready:?} are there: {awards:?}"));
            }
        }
        Ok(())
    }

    async fn pack(&mut self, thursday: LocalDate) -> Result<(), Broken> {
        let share = self.chance.between(50, 120);
        let (is_other, by) = (self.chance.percent(60), self.buyers[0].id);
        act!(self, |farm| {
            if let Some(closed) = deliveries::on(farm.tx, thursday).await.map_err(failed)? {
                let live = lines::live(farm, thursday).await.map_err(failed)?;
                if let Some(line) = live.first().filter(|_| is_other) {
                    let most = packing::most_packed(farm, line).await.map_err(failed)?;
                    let grams = Grams::new(line.promised.get() * share / 100).at_most(most);
                    packing::pack(farm, by, (line, &closed), grams).await.map_err(failed)?;
                }
                deliveries::mark_packed(farm.tx, thursday, (farm.now, false)).await.map_err(failed)?;
            }
        });
        self.is_sound().await
    }

    async fn deliver(&mut self, thursday: LocalDate) -> Result<(), Broken> {
        let by = self.buyers[0].id;
        act!(self, |farm| {
            if let Some(closed) = deliveries::on(farm.tx, thursday).await.map_err(failed)? {
                let live = lines::live(farm, thursday).await.map_err(failed)?;
                if let Some(first) = live.first() {
                    delivering::delivered(farm, by, (&closed, first.buyer_id, &[])).await.map_err(failed)?;
                }
                let recorded = delivering::all_delivered(farm, by, &closed).await.map_err(failed)?;
                if !recorded.missing.is_empty() {
                    return Err(format!("what was promised is not there: {:?}", recorded.missing));
                }
            }
        });
        self.deliveries += 1;
        let mut tx = self.store.begin_reading().await.map_err(failed)?;
        let left = deliveries::awards_owed(&mut tx).await.map_err(failed)?;
        drop(tx);
        if left.iter().any(|line| line.day <= thursday) {
            return Err(format!("the run is over and lines are owed: {left:?}"));
        }
        self.is_sound().await
    }

    async fn is_sound(&mut self) -> Result<(), Broken> {
        let mut tx = self.store.begin_reading().await.map_err(failed)?;
        let faults = audit::faults(&mut tx).await.map_err(failed)?;
        if faults.is_empty() { Ok(()) } else { Err(format!("{faults:?}")) }
    }
}

async fn add_lot(farm: &mut Farm<'_>, (crop, grams): (&str, Grams), on: LocalDate) -> Result<(), Broken> {
    let lot = Lot {
        id: farm.new_id(),
        crop: crop.to_owned(),
        flush_id: None,
        picked_on: on,
        ready_on: on,
        keeps_until: on + Duration::days(6),
        picked: grams,
        left: grams,
    };
    cold_room::add_lot(farm.tx, &lot, farm.now).await.map_err(failed)
}

/// A line that lost some of its promise just now lost it to nothing but a cold room that cannot keep it: what is there of the crop
/// beyond the other promises is less than a pack.
async fn no_promise_lowered_in_vain(farm: &mut Farm<'_>, before: &[Award]) -> Result<(), Broken> {
    let Some(day) = before.first().map(|line| line.day) else { return Ok(()) };
    let after = deliveries::awards_on(farm.tx, day).await.map_err(failed)?;
    let ready = stock::ready_on(farm, day).await.map_err(failed)?;
    let owed = stock::by_crop(stock::owed_beside(farm, day, |_| true).await.map_err(failed)?);
    let promised = supply::promised_by_crop(&after);
    for is in &after {
        let was = before.iter().find(|was| was.id == is.id).map_or(is.promised, |was| was.promised);
        let of = |sums: &Sums| sums.get(&is.crop).copied().unwrap_or_default();
        let free = of(&ready).less(of(&owed)).less(of(&promised));
        let pack = farm.crops.get(&is.crop).map_or(Grams::new(1), |crop| crop.pack_step);
        if is.promised < was && free >= pack.max(Grams::new(1)) {
            return Err(format!("{was:?} became {is:?} with {free:?} free"));
        }
    }
    Ok(())
}

/// How many weighings and deliveries a farm of this seed saw.
async fn live(seed: u64) -> Result<(u64, u64), Broken> {
    let folder = tempfile::tempdir().map_err(failed)?;
    let url = format!("sqlite://{}", folder.path().join("farm.sqlite").display());
    let mut world = World::new(&url, seed).await?;
    let first: LocalDate = "2026-06-01".parse().map_err(failed)?;
    for week in 0..WEEKS {
        world
            .week(first + Duration::weeks(week))
            .await
            .map_err(|broken| format!("seed {seed}, week {week}: {broken}"))?;
    }
    world.store.close().await;
    Ok((world.weighings, world.deliveries))
}

fn farms() -> u64 {
    std::env::var("PINSET_SIM_ALONE_FARMS").ok().and_then(|text| text.parse().ok()).unwrap_or(FARMS)
}

#[tokio::test]
async fn the_farm_keeps_its_word_without_a_chat() -> anyhow::Result<()> {
    let begun = std::time::Instant::now();
    let (mut weighings, mut deliveries) = (0, 0);
    for seed in 0..farms() {
        let (more_weighings, more_deliveries) = live(seed).await.map_err(anyhow::Error::msg)?;
        weighings += more_weighings;
        deliveries += more_deliveries;
    }
    println!("{} weeks, {weighings} weighings, {:?}", deliveries, begun.elapsed());
    assert_eq!(deliveries, farms() * u64::try_from(WEEKS)?);
    assert!(weighings >= deliveries);
    Ok(())
}

/// Of the faults planted on purpose, those of what the farm decides here.
#[cfg(feature = "planted")]
#[tokio::test]
async fn planted_faults_of_the_farm_are_found() -> anyhow::Result<()> {
    use scheduler::planted::{self, Bug};
    for bug in [Bug::OverAward, Bug::LowerPromise, Bug::ForgetOrder, Bug::ShareOnce] {
        planted::turn_on(Some(bug));
        let mut found = None;
        for seed in 0..50 {
            if let Err(broken) = live(seed).await {
                found = Some(broken);
                break;
            }
        }
        planted::turn_on(None);
        println!("{bug:?}: {found:?}");
        assert!(found.is_some(), "{bug:?} is not found within 200 weeks");
    }
    Ok(())
}
