//! What must always hold, whatever fails:
//!
//! - every gram is in one place: a lot's weight is what was picked less what its moves say, and the giving ledger, deliveries
//!   and offers fit the moves (`after_deed`, [`audit::faults`]);
//! - no more is promised than there is: at cut-off within what the forecast allows ([`audit::faults`]), from the morning's
//!   weighing until the crates are packed within the cold room ([`audit::promised_beyond_stock`]);
//! - `pinset check` finds nothing, whatever failed in the week ([`audit::examine`], `after_week`);
//! - an order that was answered is in the store (`orders_are_kept`), and an update the service was told about is marked;
//! - an update is never given up on because the database does not answer, and what falls due is done or recorded as missed
//!   (`everything_was_told_once`, `everything_due_was_done`);
//! - whoever has joined is answered before a crowd of strangers (`Simulation::strangers`);
//! - each occurrence is acted on once (`after_timetable`), at its own wall time, a drop-off within the food bank's hours
//!   (`drops_are_inside_hours`);
//! - no message comes twice but the one in flight, and none is lost ([`told::compare`]);
//! - nobody reads what is none of their business (`is_indiscreet`);
//! - nothing is given up that somebody still needs (`nothing_useful_was_given_up`), and each of many quick presses counts
//!   (`Simulation::press_quickly`);
//! - the outbox drains within an hour of the last fault (`Simulation::rest`);
//! - no promise is lowered while stock exists to keep it (`no_promise_was_lowered`);
//! - book and cold room differ by nothing that was said: a run is entered, or counts as delivered once its time is over, and
//!   what nobody said is marked so (`nothing_unsaid_is_unmarked`);
//! - what a buyer was last told of a closed day is what is recorded (`cards_say_what_is_recorded`).

use super::counts::Counts;
use super::service::Memory;
use super::setting::{BUYERS, DRIVER, GROUP, GROWER, KEEPER, PANTRIES, PANTRY, STRANGERS, SUPERGROUP, TABLE};
use super::{Broken, failed, told};
use chrono::Timelike;
use pinset::conversation::Desk;
use pinset::conversation::shortfall::card;
use pinset::engine::Engine;
use pinset::scenario::{HERON, KETTLE, SALTMARSH};
use pinset::wording::Args;
use scheduler::clock::{LocalDate, UtcSeconds, instant_at};
use scheduler::farm::closed_day::{ClosedDay, Occasion};
use scheduler::farm::{jobs, stock};
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store::audit::{self, Ground};
use scheduler::store::cold_room::{self, MoveKind};
use scheduler::store::deliveries::{self, Award, Closed, Why};
use scheduler::store::orders::{self, OneOff};
use scheduler::store::{buttons, giving, held, inbox, occurrences, outbox, people, surplus};
use scheduler::timetable::due_between;
use std::collections::{BTreeMap, BTreeSet};

/// The wall time of each job of the sample configuration, as it is written there.
const WALL_TIMES: [(&str, u32, u32); 6] =
    [("cutoff", 18, 0), ("picking", 17, 0), ("packing", 6, 0), ("count", 13, 0), ("morning", 7, 0), ("tidying", 3, 30)];

/// How the keeper is told that the machine's clock is wrong.
const CLOCK_NOTICE: &str = "The clock of the machine I run on";
/// By then a run that nobody ticked off is over, whatever kept the program from looking.
const UNSAID_HOURS: i64 = 48;

/// What a simulation remembers from check to check.
pub struct Memories {
    /// Messages up to this one have been compared.
    pub watermark: Id,
    /// Updates taken since the last check.
    taken: Vec<i64>,
    /// Orders that were answered, by contact, until somebody of the restaurant does something else.
    orders: BTreeMap<i64, Vec<OneOff>>,
    closed: BTreeSet<LocalDate>,
    /// How many events of each award were looked at.
    events: BTreeMap<Id, usize>,
    /// What the timetable has said to each chat on each day.
    notices: BTreeSet<(i64, String, LocalDate)>,
    /// From this day on everything that falls due is done.
    watched_from: LocalDate,
    /// Contacts who could not always be reached, and so may not have been told everything.
    unreached: BTreeSet<i64>,
}

impl Memories {
    /// Of a farm that begins at this instant.
    pub fn at(start: UtcSeconds) -> Memories {
        Memories {
            // What fell due before the program first looked at the time is no business of its.
            watched_from: start.plus_minutes(36 * 60).to_utc().date_naive(),
            watermark: Id::new(0),
            taken: Vec::new(),
            orders: BTreeMap::new(),
            closed: BTreeSet::new(),
            events: BTreeMap::new(),
            notices: BTreeSet::new(),
            unreached: BTreeSet::new(),
        }
    }
}

/// The desk of a transaction that only looks, and that nothing disturbs.
///
/// # Errors
/// When the store fails.
pub async fn desk(engine: &Engine) -> Result<Desk<'_>, Broken> {
    let tx = engine.store.without_faults().begin_reading().await.map_err(failed)?;
    Ok(Desk::new(tx, engine.clock.now(), &engine.house, None))
}

fn restaurant_of(chat_id: i64) -> Option<&'static str> {
    match chat_id {
        2001 | 2011 => Some(HERON),
        2002 => Some(KETTLE),
        2003 | 2013 => Some(SALTMARSH),
        _ => None,
    }
}

/// A message that its reader must not see names somebody who is none of their business.
fn is_indiscreet(chat_id: i64, content: &str) -> bool {
    let names_restaurant = |except: Option<&str>| {
        [HERON, KETTLE, SALTMARSH].iter().any(|name| Some(*name) != except && content.contains(name))
    };
    let names_bank =
        |except: Option<&str>| [PANTRY, TABLE].iter().any(|name| Some(*name) != except && content.contains(name));
    match chat_id {
        KEEPER | GROWER | DRIVER | GROUP | SUPERGROUP => false,
        STRANGERS.. => names_restaurant(None) || names_bank(None),
        _ if BUYERS.contains(&chat_id) => names_restaurant(restaurant_of(chat_id)) || names_bank(None),
        _ if PANTRIES.contains(&chat_id) => {
            names_restaurant(None) || names_bank(Some(if chat_id == PANTRIES[0] { PANTRY } else { TABLE }))
        }
        _ => true,
    }
}

/// The lines of a card that say what is promised or delivered.
fn lines_of(html: &str) -> Vec<&str> {
    html.lines().filter(|line| line.starts_with('•')).collect()
}

impl Memories {
    /// The service was told that this update is done with.
    pub fn taken(&mut self, update_id: i64) {
        self.taken.push(update_id);
    }

    /// A contact was answered that this line is kept.
    pub fn acknowledged(&mut self, who: i64, line: OneOff) {
        self.orders.entry(who).or_default().push(line);
    }

    /// Somebody of the restaurant does something that may change what was ordered.
    pub fn forget_orders_of(&mut self, who: i64) {
        let restaurant = restaurant_of(who);
        self.orders.retain(|other, _| restaurant.is_none() || restaurant_of(*other) != restaurant);
    }

    /// Messages to this account may be lost from now on.
    pub fn blocked(&mut self, who: i64) {
        self.unreached.insert(who);
    }

    /// Nothing that the timetable has said is said again.
    ///
    /// # Errors
    /// The broken invariant.
    pub async fn after_timetable(&mut self, engine: &Engine, before: Id) -> Result<(), Broken> {
        let mut desk = desk(engine).await?;
        let mut said = Vec::new();
        for row in outbox::after(&mut desk.tx, before).await.map_err(failed)? {
            let Some(content) = told::content_of(&row.body) else { continue };
            // Two drop-offs to one food bank may be alike to the letter.
            let is_family = matches!(row.chat_id, KEEPER | GROWER | DRIVER | GROUP | SUPERGROUP);
            // A program that was started again says again that its clock is wrong: that is no occurrence.
            let is_of_clock = content.contains(CLOCK_NOTICE);
            if !is_family || is_of_clock || content.contains(PANTRY) || content.contains(TABLE) {
                continue;
            }
            let day = row.made_at.local_date(engine.house.zone());
            if self.notices.contains(&(row.chat_id, content.clone(), day)) {
                return Err(format!(
                    "an occurrence was acted on twice: chat {} is told again {content:?}",
                    row.chat_id
                ));
            }
            // Two claims that end together may be alike to the letter: what one run says twice is two things.
            said.push((row.chat_id, content, day));
        }
        self.notices.extend(said);
        Ok(())
    }

    /// The cheap ones.
    ///
    /// # Errors
    /// The broken invariant.
    pub async fn after_deed(&self, engine: &Engine, service: &Memory) -> Result<(), Broken> {
        if let Some(broken) = service.broken().into_iter().next() {
            return Err(broken);
        }
        let mut desk = desk(engine).await?;
        if let Some(lot) = audit::unbalanced_lots(&mut desk.tx).await.map_err(failed)?.first() {
            return Err(format!("the cold room does not balance: {lot:?}"));
        }
        Ok(())
    }

    /// Those that hold after every transaction.
    ///
    /// # Errors
    /// The broken invariant.
    pub async fn after_step(&mut self, engine: &Engine, counts: &mut Counts) -> Result<(), Broken> {
        let mut desk = desk(engine).await?;
        let today = desk.today();
        for closed in deliveries::from(&mut desk.tx, today).await.map_err(failed)? {
            let awards = deliveries::awards_on(&mut desk.tx, closed.day).await.map_err(failed)?;
            self.no_promise_was_lowered(&mut desk, &closed, &awards, counts).await?;
            weighed_promises_are_there(&mut desk, &closed, counts).await?;
            if self.closed.insert(closed.day) {
                counts.closed_days += 1;
                let short = awards.iter().filter(|award| award.promised < award.asked).count();
                counts.short_lines += u64::try_from(short).unwrap_or_default();
            }
        }
        Ok(())
    }

    async fn no_promise_was_lowered(
        &mut self,
        desk: &mut Desk<'_>,
        closed: &Closed,
        awards: &[Award],
        counts: &mut Counts,
    ) -> Result<(), Broken> {
        for award in awards {
            let history = deliveries::history_of(&mut desk.tx, award.id).await.map_err(failed)?;
            let looked_at = self.events.insert(award.id, history.len()).unwrap_or_default();
            for place in looked_at.max(1)..history.len() {
                let (before, (_, now, why)) = (history[place - 1].1, history[place]);
                if now >= before {
                    continue;
                }
                match why {
                    Why::Taken | Why::ToppedUp | Why::Cutoff | Why::Offered => {
                        return Err(format!("{why:?} lowered a promise from {before:?} to {now:?}: {award:?}"));
                    }
                    Why::Weighed => {
                        counts.cuts += 1;
                        let free = self.free_of(desk, closed, award).await?;
                        let pack = desk.house.crops.get(&award.crop).map_or(Grams::new(1), |crop| crop.pack_step);
                        if free >= pack {
                            let all: Vec<_> = awards.iter().filter(|other| other.crop == award.crop).collect();
                            return Err(format!(
                                "a promise was lowered from {before:?} to {now:?} while {free:?} were free: {award:?}; {history:?}; {all:?}"
                            ));
                        }
                    }
                    Why::Swapped
                    | Why::Moved
                    | Why::Dropped
                    | Why::Silent
                    | Why::Packed
                    | Why::Delivered
                    | Why::Assumed => {}
                }
            }
        }
        Ok(())
    }

    /// Stock that could keep the promise, had it not been lowered.
    async fn free_of(&self, desk: &mut Desk<'_>, closed: &Closed, award: &Award) -> Result<Grams, Broken> {
        let ready = stock::ready_on(&mut desk.farm(), closed.day).await.map_err(failed)?;
        let owed = stock::owed_beside(&mut desk.farm(), closed.day, |_| false).await.map_err(failed)?;
        let owed = stock::by_crop(owed);
        let awards = deliveries::awards_on(&mut desk.tx, closed.day).await.map_err(failed)?;
        let same = awards.iter().filter(|other| other.crop == award.crop && other.delivered.is_none());
        let promised: Grams = same.map(|other| other.promised).sum();
        let of = |sums: &BTreeMap<String, Grams>| sums.get(&award.crop).copied().unwrap_or_default();
        Ok(of(&ready).less(of(&owed)).less(promised))
    }

    /// All of them. Every message has gone by now.
    ///
    /// # Errors
    /// The broken invariant.
    pub async fn after_day(
        &mut self,
        engine: &Engine,
        service: &Memory,
        (_, counts): (i64, &mut Counts),
    ) -> Result<(), Broken> {
        self.after_deed(engine, service).await?;
        let mut desk = desk(engine).await?;
        for update_id in std::mem::take(&mut self.taken) {
            if !inbox::is_seen(&mut desk.tx, update_id).await.map_err(failed)? {
                return Err(format!("update {update_id} was done with and is not marked as seen"));
            }
        }
        self.everything_was_told_once(&mut desk, service).await?;
        self.everything_due_was_done(&mut desk).await?;
        self.nothing_useful_was_given_up(&mut desk).await?;
        self.orders_are_kept(&mut desk).await?;
        self.cards_say_what_is_recorded(&mut desk, service, counts).await?;
        if let Some(fault) = audit::faults(&mut desk.tx).await.map_err(failed)?.into_iter().next() {
            return Err(format!("{}; {}", fault.what, fault.mend));
        }
        for (job, due_at, _) in occurrences::done(&mut desk.tx).await.map_err(failed)? {
            let local = due_at.local(engine.house.zone());
            let wall = WALL_TIMES.iter().find(|(name, _, _)| *name == job);
            if wall.is_some_and(|(_, hour, minute)| (local.hour(), local.minute()) != (*hour, *minute)) {
                return Err(format!("{job} was done for {local}, which is not its wall time"));
            }
        }
        self.drops_are_inside_hours(&mut desk, counts).await?;
        nothing_unsaid_is_unmarked(&mut desk, counts).await?;
        let day = desk.today();
        self.notices.retain(|(_, _, said_on)| *said_on >= day);
        counts.claims = u64::try_from(count_claims(&mut desk).await?).unwrap_or_default();
        let awards = deliveries::all_awards(&mut desk.tx).await.map_err(failed)?;
        let delivered = awards.iter().filter(|award| award.delivered.is_some()).count();
        counts.deliveries = u64::try_from(delivered).unwrap_or_default();
        Ok(())
    }

    /// The database as `pinset check` sees it has no fault.
    ///
    /// # Errors
    /// The broken invariant.
    pub async fn after_week(&self, engine: &Engine) -> Result<(), Broken> {
        let ground = Ground { now: engine.clock.now(), zone: engine.house.zone(), reads: &pinset::stored::reads };
        let store = engine.store.without_faults();
        match audit::examine(&store, &ground).await.map_err(failed)?.into_iter().next() {
            Some(fault) => Err(format!("the check finds: {}; {}", fault.what, fault.mend)),
            None => Ok(()),
        }
    }

    /// Whatever fell due today by an expression was done or is recorded as missed.
    async fn everything_due_was_done(&self, desk: &mut Desk<'_>) -> Result<(), Broken> {
        let (today, zone, now) = (desk.today(), desk.house.zone(), desk.now);
        if today < self.watched_from {
            return Ok(());
        }
        let midnight = instant_at(today, chrono::NaiveTime::MIN, zone);
        for due in due_between(&jobs::recurring(&desk.house.config.rules, zone), midnight, now, zone) {
            if !occurrences::is_over(&mut desk.tx, &due.key()).await.map_err(failed)? {
                return Err(format!("{} fell due and was neither done nor recorded as missed", due.key()));
            }
        }
        Ok(())
    }

    async fn everything_was_told_once(&mut self, desk: &mut Desk<'_>, service: &Memory) -> Result<(), Broken> {
        let rows = outbox::after(&mut desk.tx, self.watermark).await.map_err(failed)?;
        let acts = service.take_acts();
        if let Some(wrong) = told::compare(&rows, &acts, &super::moved()).into_iter().next() {
            return Err(wrong);
        }
        // Nothing here fails but the database, and that is waited for: nobody is to hear that something went wrong.
        for language in ["en", "es", "pl"] {
            let voice = desk.farm_voice(desk.house.language(Some(language)));
            let apology = voice.say("went-wrong", &Args::new());
            if let Some(act) = acts.iter().find(|act| act.content.contains(&apology)) {
                return Err(format!(
                    "chat {} was told that something went wrong: an update was given up on",
                    act.chat_id
                ));
            }
        }
        if let Some(act) = acts.iter().find(|act| is_indiscreet(act.chat_id, &act.content)) {
            return Err(format!("chat {} must not read {:?}", act.chat_id, act.content));
        }
        if let Some(last) = rows.last() {
            self.watermark = last.id;
        }
        Ok(())
    }

    /// A message is set aside when its reader cannot be reached or needs it no more, and for no other reason.
    async fn nothing_useful_was_given_up(&self, desk: &mut Desk<'_>) -> Result<(), Broken> {
        let day_ago = desk.now.plus_minutes(-24 * 60);
        for (chat_id, reason, at) in outbox::set_aside_list(&mut desk.tx, 200).await.map_err(failed)? {
            if at >= day_ago && !self.unreached.contains(&chat_id) && reason != outbox::TOO_LATE {
                return Err(format!("a message to {chat_id} was given up: {reason}"));
            }
        }
        Ok(())
    }

    async fn orders_are_kept(&mut self, desk: &mut Desk<'_>) -> Result<(), Broken> {
        let today = desk.today();
        for lines in self.orders.values_mut() {
            lines.retain(|line| line.day >= today);
        }
        for (who, line) in self.orders.iter().flat_map(|(who, lines)| lines.iter().map(move |line| (who, line))) {
            let kept = orders::one_off_between(&mut desk.tx, line.day, line.day).await.map_err(failed)?;
            let kept_line = kept.iter().find(|kept| kept.buyer_id == line.buyer_id && kept.crop == line.crop);
            // A line that is moved to this day later adds to it.
            if kept_line.is_none_or(|kept| kept.grams < line.grams) {
                return Err(format!("{who} was answered that {line:?} is kept; the store holds {kept_line:?}"));
            }
        }
        Ok(())
    }

    /// What each reachable contact was last told of a closed day is what is recorded.
    async fn cards_say_what_is_recorded(
        &mut self,
        desk: &mut Desk<'_>,
        service: &Memory,
        counts: &mut Counts,
    ) -> Result<(), Broken> {
        let house = desk.house;
        let today = desk.today();
        for closed in deliveries::from(&mut desk.tx, today).await.map_err(failed)? {
            let facts = ClosedDay::load(&mut desk.farm(), &closed).await.map_err(failed)?;
            for buyer_id in facts.buyer_ids() {
                let theirs = || facts.awards.iter().filter(|award| award.buyer_id == buyer_id);
                // In the middle of a run not every line is told yet.
                let has_gone = theirs().any(|award| award.delivered.is_some());
                if has_gone && theirs().any(|award| award.delivered.is_none() && award.promised.is_positive()) {
                    continue;
                }
                for contact in people::contacts_of_buyer(&mut desk.tx, buyer_id).await.map_err(failed)? {
                    if self.unreached.contains(&contact.chat_id) {
                        continue;
                    }
                    let day = facts.of_buyer(&house.crops, buyer_id);
                    let letter = card::write(house, &desk.voice(&contact), (&day, &Occasion::Closed));
                    let name = card::name(closed.day);
                    if held::holds(&mut desk.tx, contact.chat_id, &name).await.map_err(failed)? {
                        // They are asleep, and read it in the morning.
                        continue;
                    }
                    let message = buttons::message_of(&mut desk.tx, contact.chat_id, &name).await.map_err(failed)?;
                    let Some(message_id) = message else {
                        return Err(format!("{} was never told of their promise of {}", contact.name, closed.day));
                    };
                    // Somebody may have deleted it.
                    let Some(text) = service.text(contact.chat_id, message_id) else { continue };
                    counts.cards_compared += 1;
                    let (told, recorded) = (lines_of(&text), lines_of(&letter.html));
                    if told != recorded {
                        return Err(format!("{} was told {told:?}, recorded is {recorded:?}", contact.name));
                    }
                }
            }
        }
        Ok(())
    }

    async fn drops_are_inside_hours(&self, desk: &mut Desk<'_>, counts: &mut Counts) -> Result<(), Broken> {
        let zone = desk.house.zone();
        let banks = giving::food_banks(&mut desk.tx).await.map_err(failed)?;
        let drops = giving::drops(&mut desk.tx).await.map_err(failed)?;
        counts.drops = u64::try_from(drops.iter().filter(|one| one.handed_over_at.is_some()).count()).unwrap_or(0);
        for one in &drops {
            let Some(bank) = banks.iter().find(|bank| bank.id == one.partner_id) else { continue };
            let hours = bank.hours();
            let last = one.window.closes_at.plus_seconds(-1);
            if !hours.is_open(one.window.opens_at, zone) || !hours.is_open(last, zone) {
                return Err(format!("a drop-off at {} is outside the hours of {}", one.window.opens_at, bank.name));
            }
        }
        Ok(())
    }
}

/// From the morning's weighing until the crates are packed no promise is more than the cold room can keep.
async fn weighed_promises_are_there(desk: &mut Desk<'_>, closed: &Closed, counts: &mut Counts) -> Result<(), Broken> {
    if closed.day != desk.today() {
        return Ok(());
    }
    let Some(too_much) = audit::promised_beyond_stock(&mut desk.tx, closed.day).await.map_err(failed)? else {
        return Ok(());
    };
    counts.weighings += 1;
    match too_much.first() {
        Some(one) => Err(format!("more is promised than is there: {one:?}")),
        None => Ok(()),
    }
}

/// Every weight that left without anybody having said so is on a line that says so, and no line is assumed over what was said;
/// of a run whose time is over nothing is owed any more.
async fn nothing_unsaid_is_unmarked(desk: &mut Desk<'_>, counts: &mut Counts) -> Result<(), Broken> {
    let awards = deliveries::all_awards(&mut desk.tx).await.map_err(failed)?;
    let mut unsaid = BTreeSet::new();
    for award in &awards {
        let history = deliveries::history_of(&mut desk.tx, award.id).await.map_err(failed)?;
        let said = history.iter().position(|(_, _, why)| *why == Why::Delivered);
        let assumed = history.iter().position(|(_, _, why)| *why == Why::Assumed);
        if assumed.is_some() {
            unsaid.insert(award.id);
        }
        if said.zip(assumed).is_some_and(|(said, assumed)| said < assumed) {
            return Err(format!("a delivery was assumed over what was said: {award:?}; {history:?}"));
        }
        if award.is_assumed != (assumed.is_some() && said.is_none()) {
            return Err(format!("{award:?} is marked wrongly; {history:?}"));
        }
    }
    for (kind, subject) in cold_room::moved_by_nobody(&mut desk.tx).await.map_err(failed)? {
        let is_marked = match kind {
            MoveKind::Delivered => subject.is_some_and(|award| unsaid.contains(&award)),
            // Each of these kinds is marked by what it is for, which `pinset check` sets beside it.
            MoveKind::Given | MoveKind::Collected => subject.is_some(),
            MoveKind::Market | MoveKind::Lapsed => subject.is_none(),
            _ => false,
        };
        if !is_marked {
            return Err(format!("{kind:?} left the cold room for {subject:?}, and nobody said so or assumed it"));
        }
    }
    // What somebody has confirmed since counts too.
    counts.assumed = u64::try_from(unsaid.len()).unwrap_or_default();
    let hours = desk.house.config.rules.delivery.assumed_hours + UNSAID_HOURS;
    let is_over = |day: LocalDate| desk.house.calendar.departure(day).plus_minutes(hours * 60) < desk.now;
    let owed = |award: &&Award| award.delivered.is_none() && award.promised.is_positive() && is_over(award.day);
    match awards.iter().find(owed) {
        Some(award) => Err(format!("nobody said that it was delivered, and it is owed for ever: {award:?}")),
        None => Ok(()),
    }
}

async fn count_claims(desk: &mut Desk<'_>) -> Result<usize, Broken> {
    let mut count = 0;
    for offer in surplus::offers(&mut desk.tx).await.map_err(failed)? {
        count += surplus::claims_of(&mut desk.tx, offer.id).await.map_err(failed)?.len();
    }
    Ok(count)
}
