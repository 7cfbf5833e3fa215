//! Months of a farm far larger than a family's, written straight into the store: what its people would have entered, what was
//! promised and brought, and what their chats left behind. Every night the timetable's tidying runs, as it would.

use chrono::{Datelike, Days, NaiveTime, Weekday};
use chrono_tz::America::Chicago;
use pinset::outgoing::Body;
use scheduler::clock::{LocalDate, UtcSeconds, instant_at};
use scheduler::id::Id;
use scheduler::people::{HourClock, Person, Role};
use scheduler::quantity::{Grams, UnitSystem};
use scheduler::store::ages;
use scheduler::store::cold_room::{self, Lot, MoveKind, Movement};
use scheduler::store::deliveries::{self, Award, Closed, Expected, Source, State, Why};
use scheduler::store::growing::{self, Batch, Event, EventKind, Flush};
use scheduler::store::occurrences::{self, Outcome};
use scheduler::store::orders::{self, OneOff};
use scheduler::store::outbox::Urgency;
use scheduler::store::{Store, Tx, buttons, inbox, outbox, people};
use scheduler::timetable::{Job, Occurrence};
use std::path::Path;

/// The farm's keeper, in whose chat it is looked at.
pub const KEEPER: i64 = 1001;
const FIRST_BUYER: i64 = 5000;
const CROPS: [&str; 2] = ["shiitake", "oyster"];
/// What every restaurant asks of each crop.
const ASKED: Grams = Grams::new(400);
/// Rows of a kind that one tidying takes away.
const STEP_ROWS: i64 = 2000;

/// How large the farm is.
#[derive(Clone, Copy, Debug)]
pub struct Scale {
    pub restaurants: i64,
    /// Units of a batch; three batches are begun in a week.
    pub batch_units: i64,
}

/// A farm of 600 units a month and 40 restaurants.
pub const LARGE: Scale = Scale { restaurants: 40, batch_units: 46 };

/// A farm whose months are written one after another.
pub struct Farm {
    pub store: Store,
    scale: Scale,
    /// The next day to be written.
    day: LocalDate,
    buyers: Vec<(i64, Id)>,
    /// Batches that are not spent, with their flush and the day it was begun.
    shelves: Vec<(Batch, Flush)>,
    update_id: i64,
}

fn at(day: LocalDate, hour: u32, minute: u32) -> UtcSeconds {
    instant_at(day, NaiveTime::from_hms_opt(hour, minute, 0).expect("a time of day"), Chicago)
}

fn seat(id: Id, chat_id: i64, role: Role, buyer_id: Option<Id>) -> Person {
    Person {
        id,
        chat_id,
        name: format!("Sam {chat_id}"),
        role,
        language: "en".into(),
        units: UnitSystem::Avoirdupois,
        hour_clock: HourClock::Twelve,
        quiet: None,
        buyer_id,
        partner_id: None,
    }
}

impl Farm {
    /// A farm with its people, on its first day.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn begin(store: Store, scale: Scale, day: LocalDate) -> anyhow::Result<Farm> {
        let now = at(day, 0, 0);
        let mut tx = store.begin().await?;
        let keeper = seat(tx.new_id(now), KEEPER, Role::Keeper, None);
        people::join(&mut tx, &keeper, now).await?;
        let mut buyers = Vec::new();
        for number in 0..scale.restaurants {
            let buyer_id = people::add_buyer(&mut tx, &format!("Quay Kitchen {number}"), now).await?;
            let chat_id = FIRST_BUYER + number;
            let contact = seat(tx.new_id(now), chat_id, Role::Buyer, Some(buyer_id));
            people::join(&mut tx, &contact, now).await?;
            buyers.push((chat_id, buyer_id));
        }
        tx.commit().await?;
        Ok(Farm { store, scale, day, buyers, shelves: Vec::new(), update_id: 0 })
    }

    /// Writes day after day until `until`, which is not written.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn write_until(&mut self, until: LocalDate) -> anyhow::Result<()> {
        while self.day < until {
            let day = self.day;
            self.tidy(at(day, 3, 30)).await?;
            let mut tx = self.store.begin().await?;
            self.grow(&mut tx, day).await?;
            self.talk(&mut tx, day).await?;
            match day.weekday() {
                Weekday::Tue => self.close_orders(&mut tx, day).await?,
                Weekday::Thu => self.deliver(&mut tx, day).await?,
                Weekday::Sat => self.go_to_market(&mut tx, day).await?,
                _ => {}
            }
            tx.commit().await?;
            self.day = day + Days::new(1);
        }
        Ok(())
    }

    async fn tidy(&self, now: UtcSeconds) -> anyhow::Result<()> {
        loop {
            let mut tx = self.store.begin().await?;
            let is_more = ages::tidy(&mut tx, (now, Chicago), STEP_ROWS).await?;
            tx.commit().await?;
            if !is_more {
                return Ok(());
            }
        }
    }

    /// Begins batches, picks what fruits, and ends what is spent.
    async fn grow(&mut self, tx: &mut Tx, day: LocalDate) -> anyhow::Result<()> {
        let now = at(day, 9, 0);
        if matches!(day.weekday(), Weekday::Mon | Weekday::Wed | Weekday::Fri) {
            let crop = CROPS[day.num_days_from_ce().unsigned_abs() as usize % CROPS.len()];
            let batch = Batch {
                id: tx.new_id(now),
                crop: crop.into(),
                room: "north".into(),
                units: self.scale.batch_units,
                dry_per_unit: Grams::new(900),
                started_on: day,
            };
            growing::add_batch(tx, &batch).await?;
            let flush = flush_of(tx.new_id(now), &batch, (1, day));
            growing::put_flush(tx, &flush).await?;
            record(tx, (&batch, &flush), (EventKind::Initiated, day, 0), now).await?;
            self.shelves.push((batch, flush));
        }
        let mut shelves = std::mem::take(&mut self.shelves);
        for (batch, flush) in &mut shelves {
            let age = (day - flush.initiated_on.unwrap_or(day)).num_days();
            if (8..=11).contains(&age) {
                let grams = batch.units * (70 + 10 * (age % 3));
                record(tx, (batch, flush), (EventKind::Picked, day, grams), now).await?;
                let lot = Lot {
                    id: tx.new_id(now),
                    crop: batch.crop.clone(),
                    flush_id: Some(flush.id),
                    picked_on: day,
                    ready_on: day + Days::new(1),
                    keeps_until: day + Days::new(8),
                    picked: Grams::new(grams),
                    left: Grams::new(grams),
                };
                cold_room::add_lot(tx, &lot, now).await?;
            }
            if age == 20 {
                flush.closed_on = Some(day);
                growing::put_flush(tx, flush).await?;
                if flush.number == 2 {
                    growing::close_batch(tx, batch.id, day).await?;
                    continue;
                }
                *flush = flush_of(tx.new_id(now), batch, (2, day));
                growing::put_flush(tx, flush).await?;
            }
        }
        shelves.retain(|(_, flush)| flush.closed_on.is_none());
        self.shelves = shelves;
        Ok(())
    }

    /// What everybody writes and reads on a day: updates, answers, cards and their buttons.
    async fn talk(&mut self, tx: &mut Tx, day: LocalDate) -> anyhow::Result<()> {
        let now = at(day, 12, 0);
        for _ in 0..30 {
            self.take_update(tx, now).await?;
        }
        for number in 0..10 {
            say(tx, (KEEPER, &format!("m{number}-{day}")), now).await?;
        }
        if matches!(day.weekday(), Weekday::Mon | Weekday::Tue | Weekday::Wed) {
            for (chat_id, _) in self.buyers.clone() {
                self.take_update(tx, now).await?;
                say(tx, (chat_id, &format!("orders-{day}")), now).await?;
            }
        }
        for (job, hour) in [(Job::Morning, 7), (Job::Tidying, 3)] {
            done(tx, job, at(day, hour, 0)).await?;
        }
        Ok(())
    }

    async fn take_update(&mut self, tx: &mut Tx, now: UtcSeconds) -> anyhow::Result<()> {
        self.update_id += 1;
        inbox::mark_seen(tx, self.update_id, now).await?;
        Ok(())
    }

    /// Every restaurant orders for this day.
    async fn order(&self, tx: &mut Tx, day: LocalDate, now: UtcSeconds) -> anyhow::Result<()> {
        for crop in CROPS {
            for (_, buyer_id) in &self.buyers {
                let line = OneOff { buyer_id: *buyer_id, day, crop: crop.into(), grams: ASKED };
                orders::put_one_off(tx, &line, (now, None)).await?;
            }
        }
        Ok(())
    }

    /// Has everybody order for the coming Thursday, and copies the database to `file` as it is then.
    ///
    /// # Errors
    /// Whatever the store or the disk fails with.
    pub async fn copy_with_orders(&mut self, url: &str, file: &Path) -> anyhow::Result<()> {
        let mut thursday = self.day;
        while thursday.weekday() != Weekday::Thu {
            thursday = thursday + Days::new(1);
        }
        let mut tx = self.store.begin().await?;
        self.order(&mut tx, thursday, at(self.day, 0, 0)).await?;
        tx.commit().await?;
        // Closed, the file is whole by itself.
        self.store.close().await;
        std::fs::copy(url.trim_start_matches("sqlite://"), file)?;
        self.store = Store::open(url).await?;
        Ok(())
    }

    /// Tuesday's cut-off: what each restaurant asked for is promised.
    async fn close_orders(&mut self, tx: &mut Tx, tuesday: LocalDate) -> anyhow::Result<()> {
        let (day, now) = (tuesday + Days::new(2), at(tuesday, 18, 0));
        let closed = Closed {
            day,
            closed_at: now,
            seed: 1,
            answers_by: now.plus_minutes(15 * 60),
            settled_at: None,
            shared_at: None,
            packed_at: None,
            is_packing_assumed: false,
            delivered_at: None,
        };
        deliveries::close(tx, &closed).await?;
        deliveries::mark_settled(tx, day, now).await?;
        self.order(tx, day, now.plus_minutes(-60)).await?;
        for crop in CROPS {
            let asked = ASKED;
            let all = asked.checked_times(self.scale.restaurants).unwrap_or(asked);
            let expected = Expected { day, crop: crop.into(), p10: all, p50: all, p90: all, promise: all };
            deliveries::record_expected(tx, &expected, now).await?;
            for (_, buyer_id) in &self.buyers {
                let award = Award {
                    id: tx.new_id(now),
                    buyer_id: *buyer_id,
                    day,
                    crop: crop.into(),
                    source: Source::Once,
                    asked,
                    promised: asked,
                    delivered: None,
                    is_assumed: false,
                    state: State::Full,
                };
                deliveries::put_award(tx, &award, (Why::Cutoff, None), now).await?;
            }
        }
        done(tx, Job::Cutoff, now).await
    }

    /// Thursday's run: what is there of each promise leaves the cold room.
    async fn deliver(&mut self, tx: &mut Tx, day: LocalDate) -> anyhow::Result<()> {
        let now = at(day, 10, 0);
        for mut award in deliveries::awards_on(tx, day).await? {
            let movement = Movement { kind: MoveKind::Delivered, subject: Some(award.id), person_id: None, now };
            let brought = cold_room::take(tx, &award.crop, (award.promised, day), &movement).await?;
            award.delivered = Some(brought);
            award.promised = brought;
            deliveries::put_award(tx, &award, (Why::Delivered, None), now).await?;
        }
        deliveries::mark_packed(tx, day, (now, false)).await?;
        deliveries::mark_delivered(tx, day, now).await?;
        done(tx, Job::Packing, at(day, 6, 0)).await
    }

    /// Saturday: everything ready goes to the market.
    async fn go_to_market(&mut self, tx: &mut Tx, day: LocalDate) -> anyhow::Result<()> {
        let movement = Movement { kind: MoveKind::Market, subject: None, person_id: None, now: at(day, 7, 0) };
        for lot in cold_room::lots(tx).await?.into_iter().filter(|lot| lot.picked_on + Days::new(3) < day) {
            cold_room::take_from_lot(tx, lot.id, lot.left, &movement).await?;
        }
        Ok(())
    }
}

fn flush_of(id: Id, batch: &Batch, (number, day): (i64, LocalDate)) -> Flush {
    Flush {
        id,
        batch_id: batch.id,
        number,
        initiated_on: Some(day),
        pins_on: None,
        units_lost: 0,
        closed_on: None,
        picked: Vec::new(),
    }
}

async fn record(
    tx: &mut Tx,
    (batch, flush): (&Batch, &Flush),
    (kind, on_day, grams): (EventKind, LocalDate, i64),
    now: UtcSeconds,
) -> anyhow::Result<()> {
    let event = Event {
        batch_id: batch.id,
        flush_id: Some(flush.id),
        kind,
        on_day,
        units: 0,
        grams: Grams::new(grams),
        person_id: None,
    };
    growing::record(tx, &event, now).await?;
    Ok(())
}

/// A message with two buttons that was sent; the card's older buttons no longer work.
async fn say(tx: &mut Tx, (chat_id, card): (i64, &str), now: UtcSeconds) -> anyhow::Result<()> {
    let intent = r#"{"views":"today"}"#;
    for _ in 0..2 {
        buttons::void_card(tx, chat_id, card, now).await?;
        for _ in 0..2 {
            buttons::put(tx, chat_id, card, intent, now).await?;
        }
        let html = "Your orders for Thursday: 14 oz shiitake, 14 oz oyster.".repeat(3);
        let body = Body::Message { html, keyboard: Vec::new(), card: Some(card.to_owned()), place: Default::default() };
        let id = outbox::put(tx, chat_id, Urgency::Answer, &serde_json::to_string(&body)?, now).await?;
        outbox::mark_sent(tx, id, now).await?;
    }
    buttons::set_message(tx, (chat_id, card), 7, now).await?;
    Ok(())
}

/// An occurrence that was planned and done in time.
async fn done(tx: &mut Tx, job: Job, due_at: UtcSeconds) -> anyhow::Result<()> {
    let planned = Occurrence { job, due_at, useful_until: due_at.plus_minutes(60) };
    occurrences::plan(tx, &planned).await?;
    occurrences::finish(tx, &planned.key(), Outcome::Done, due_at).await?;
    Ok(())
}
