//! Which records a meaning allows. Where people could mean either of two things by the same words, both are allowed; what a
//! meaning leaves open may be as the bot put it.

use super::books::{Batch, Books, dates_from};
use super::read::{How, Meaning, Order};
use crate::farm::HERON;
use chrono::{Datelike, Duration, Weekday};
use scheduler::clock::{LocalDate, instant_at};
use scheduler::store::deliveries::{Source, State};
use scheduler::surplus::drop::State as DropState;

const GRAMS_OF_A_POUND: f64 = 453.592_37;

/// Whose words, and when.
#[derive(Clone, Debug)]
pub struct Scene {
    /// The restaurant that writes; the one whose turn it is where a driver writes.
    pub buyer: String,
    pub today: LocalDate,
    /// The next delivery whose orders are open.
    pub next: LocalDate,
    pub zone: chrono_tz::Tz,
    /// A delivery whose orders are closed and that waits for the buyer's answer, or an offer that does.
    pub is_short: bool,
    pub is_offered: bool,
}

/// Whether the record came to be what all of these mean.
pub fn are_met(before: &Books, after: &Books, meanings: &[&Meaning], scene: &Scene) -> bool {
    let mut allowed = vec![before.clone()];
    for meaning in meanings {
        allowed = allowed.iter().flat_map(|before| outcomes((before, after), meaning, scene)).collect();
    }
    allowed.iter().any(|books| books.agrees(after))
}

/// Whether the meaning is something on the record at all.
pub fn is_of_record(meaning: &Meaning) -> bool {
    !matches!(
        meaning,
        Meaning::Ask(_)
            | Meaning::WhoComes {}
            | Meaning::Complaint {}
            | Meaning::Person {}
            | Meaning::Courtesy {}
            | Meaning::Unclear {}
            | Meaning::Late { .. }
            | Meaning::NobodyThere { .. }
            | Meaning::Left {}
            | Meaning::NothingYet {}
    )
}

/// The records that this meaning allows from `before` on; `after` says what the bot made of what was left open.
fn outcomes((before, after): (&Books, &Books), meaning: &Meaning, scene: &Scene) -> Vec<Books> {
    match meaning {
        Meaning::Order(order) | Meaning::OrderFor(order) => ordered(before, order, scene),
        Meaning::Standing { crop, grams, every_weeks, from, until } => {
            let Some(crop) = crop else { return Vec::new() };
            let rhythm = (every_weeks.unwrap_or(1), *from, *until);
            standing((before, after), (crop, *grams), rhythm, scene)
        }
        Meaning::Cancel { crop, day, standing } => cancelled(before, (&scene.buyer, crop.as_deref(), *day), *standing),
        Meaning::CancelFor { buyer, crop, day } => {
            let buyer = buyer.as_deref().unwrap_or_default();
            cancelled(before, (buyer, crop.as_deref(), *day), false)
        }
        Meaning::Skip { from, to } => {
            let mut books = before.clone();
            books.asked.retain(|(buyer, day, _), _| *buyer != scene.buyer || day < from || day > to);
            vec![books]
        }
        Meaning::Swap { from_crop, to_crop, grams, day } => {
            swapped(before, (from_crop, to_crop), (*grams, *day), scene)
        }
        Meaning::Undo {} => undone(before, after, scene),
        Meaning::Accept { grams } => accepted((before, after), *grams, scene),
        Meaning::Refuse {} => refused((before, after), scene),
        Meaning::Later {} => answered((before, after), scene, |line| line == State::Moved),
        Meaning::Instead { crop } => {
            let is_right = |(buyer, _, of, source): &(String, LocalDate, String, Source)| {
                *buyer == scene.buyer && *source == Source::Swap && crop.as_ref().is_none_or(|crop| crop == of)
            };
            let came = after.lines.iter().filter(|(key, _)| !before.lines.contains_key(*key));
            let is_swapped =
                came.clone().count() > 0 && came.clone().all(|(key, line)| is_right(key) && line.promised > 0);
            if is_swapped { answered((before, after), scene, |line| line == State::Swapped) } else { Vec::new() }
        }
        Meaning::OtherTime { day, time } => other_time((before, after), (*day, time.as_deref()), scene),
        Meaning::Hours {} => {
            took(after, before, |to, from| to.doors.clone_from(&from.doors), before.doors != after.doors)
        }
        Meaning::Pause { from, to } => paused((before, after), (*from, *to)),
        Meaning::Delivered { buyer } => handed((before, after), buyer.as_deref(), scene, |_, promised| Some(promised)),
        Meaning::Refused { buyer, crop, grams } => {
            handed((before, after), buyer.as_deref(), scene, |of, promised| {
                let is_meant = crop.as_ref().is_none_or(|crop| crop == of);
                // Of what was not refused the driver may not have said anything yet.
                is_meant.then(|| grams.map_or(0, |grams| (promised - grams).max(0)))
            })
        }
        Meaning::Picked { crop, grams, day } => picked((before, after), (crop.as_deref(), *grams, *day), scene),
        Meaning::Pins { crop } => shelves((before, after), crop.as_deref(), |was, now| {
            now.pins.is_some() && Batch { pins: was.pins, ..now.clone() } == *was
        }),
        Meaning::Soaked { crop, units, day } => {
            let day = day.unwrap_or(scene.today);
            let is_begun = |now: &Batch| now.begun == Some(day) && units.is_none_or(|units| units == now.units);
            let begun = shelves((before, after), crop.as_deref(), |was, now| was != now && is_begun(now));
            if begun.is_empty() { came((before, after), crop.as_deref(), is_begun) } else { begun }
        }
        Meaning::Started { crop, units, .. } => {
            came((before, after), crop.as_deref(), |now| units.is_none_or(|units| units == now.units))
        }
        Meaning::ThrownOut { crop, units } => shelves((before, after), crop.as_deref(), |was, now| {
            now.lost > was.lost
                && units.is_none_or(|units| now.lost == was.lost + units)
                && Batch { lost: was.lost, ..now.clone() } == *was
        }),
        Meaning::FlushOver { crop } => {
            shelves((before, after), crop.as_deref(), |was, now| now.flushes_over == was.flushes_over + 1)
        }
        Meaning::ThrownAway { crop, grams } => {
            let Some(crop) = crop else { return Vec::new() };
            let Some(there) = before.stock.get(crop) else { return Vec::new() };
            let mut books = before.clone();
            books.stock.insert(crop.clone(), grams.map_or(0, |grams| there - grams));
            vec![books]
        }
        Meaning::Stock { crop, grams } => {
            let (Some(crop), Some(grams)) = (crop, grams) else { return Vec::new() };
            let mut books = before.clone();
            books.stock.insert(crop.clone(), *grams);
            vec![books]
        }
        Meaning::Temperature { celsius_tenths } => {
            let mut books = before.clone();
            books.warmth.clone_from(&after.warmth);
            let is_said = after.warmth.len() == before.warmth.len() + 1
                && after.warmth.iter().any(|said| (said - celsius_tenths).abs() <= 1);
            if is_said { vec![books] } else { Vec::new() }
        }
        Meaning::Price { crop, cents, unit } => {
            let Some(crop) = crop else { return Vec::new() };
            let a_kilogram = match unit.as_str() {
                "lb" => (*cents as f64 * 1000.0 / GRAMS_OF_A_POUND).round() as i64,
                _ => *cents,
            };
            let mut books = before.clone();
            books.prices.insert(crop.clone(), a_kilogram);
            vec![books]
        }
        // Nothing on the record: what else happens is told by who hears of it, and by the answer.
        Meaning::Ask(_)
        | Meaning::WhoComes {}
        | Meaning::Complaint {}
        | Meaning::Person {}
        | Meaning::Courtesy {}
        | Meaning::Unclear {}
        | Meaning::Late { .. }
        | Meaning::NobodyThere { .. }
        | Meaning::Left {}
        | Meaning::NothingYet {} => vec![before.clone()],
    }
}

fn ordered(before: &Books, order: &Order, scene: &Scene) -> Vec<Books> {
    let (Some(crop), Some(grams)) = (&order.crop, order.grams) else { return Vec::new() };
    let buyer = order.buyer.clone().unwrap_or_else(|| scene.buyer.clone());
    let key = (buyer, order.day.unwrap_or(scene.next), crop.clone());
    let there = before.asked.get(&key).copied().unwrap_or(0);
    let mut books = before.clone();
    books.asked.insert(
        key,
        match order.how {
            How::Set => grams,
            How::More => there + grams,
            How::Less => (there - grams).max(0),
        },
    );
    vec![books]
}

/// Dates of the rhythm within the horizon, the first of them on or after `from`.
fn dates(from: LocalDate, every_weeks: u16, until: Option<LocalDate>) -> Vec<LocalDate> {
    let ahead = (7 + Weekday::Thu.num_days_from_monday() - from.weekday().num_days_from_monday()) % 7;
    let first = from + Duration::days(i64::from(ahead));
    dates_from(first, every_weeks).take_while(|day| until.is_none_or(|until| *day <= until)).collect()
}

/// A standing order, new or in place of one of that crop. What was asked once for one of its dates may stay beside it or be
/// part of it.
fn standing(
    (before, after): (&Books, &Books),
    (crop, grams): (&str, Option<i64>),
    (every_weeks, from, until): (u16, Option<LocalDate>, Option<LocalDate>),
    scene: &Scene,
) -> Vec<Books> {
    let key = (scene.buyer.clone(), crop.to_owned());
    let Some(grams) = grams else { return Vec::new() };
    let was = before.standing.get(&key).map_or(0, |(grams, _)| *grams);
    let begins = from.unwrap_or(scene.next).max(scene.next);
    let mut allowed = Vec::new();
    // Whoever says nothing of the first date of a rarer rhythm may mean any.
    let starts = if from.is_none() { i64::from(every_weeks) } else { 1 };
    for (later, keeps_once) in (0..starts).flat_map(|later| [(later, true), (later, false)]) {
        let begins = begins + Duration::days(7 * later);
        let mut books = before.clone();
        books.standing.insert(key.clone(), (grams, every_weeks));
        // The old rhythm ends where the new one begins.
        books.asked.retain(|(buyer, day, of), _| !(was > 0 && *buyer == key.0 && of == crop && *day >= begins));
        for day in dates(begins, every_weeks, until) {
            let once = before.asked.get(&(key.0.clone(), day, key.1.clone())).copied().unwrap_or(0) - was;
            let once = if keeps_once { once.max(0) } else { 0 };
            books.asked.insert((key.0.clone(), day, key.1.clone()), grams + once);
        }
        allowed.push(books);
    }
    // Orders that were asked once before the standing one begins may be kept as they are.
    allowed.extend(allowed.clone().into_iter().filter_map(|mut books| {
        let first = before.asked.iter().find(|((buyer, _, of), _)| *buyer == key.0 && of == crop)?;
        (was == 0 && after.asked.get(first.0) == Some(first.1)).then(|| {
            books.asked.insert(first.0.clone(), *first.1);
            books
        })
    }));
    allowed
}

fn cancelled(
    before: &Books,
    (buyer, crop, day): (&str, Option<&str>, Option<LocalDate>),
    is_standing: bool,
) -> Vec<Books> {
    let is_of = |of: &str| crop.is_none_or(|crop| crop == of);
    let mut books = before.clone();
    if is_standing {
        let ended: Vec<_> = before.standing.keys().filter(|(name, of)| name == buyer && is_of(of)).cloned().collect();
        books.standing.retain(|key, _| !ended.contains(key));
        books.asked.retain(|(name, _, of), _| !ended.contains(&(name.clone(), of.clone())));
        return vec![books];
    }
    let of_buyer = |(name, _, of): &(String, LocalDate, String)| name == buyer && is_of(of);
    // Without a day: all that was asked once, or the next date of what is asked again and again.
    let next = before.asked.keys().filter(|key| of_buyer(key)).map(|key| key.1).min();
    let Some(day) = day.or(next) else { return vec![books] };
    books.asked.retain(|key, _| !(of_buyer(key) && key.1 == day));
    vec![books]
}

fn swapped(
    before: &Books,
    (from_crop, to_crop): (&str, &str),
    (grams, day): (Option<i64>, Option<LocalDate>),
    scene: &Scene,
) -> Vec<Books> {
    let day = day.unwrap_or(scene.next);
    let key = |crop: &str| (scene.buyer.clone(), day, crop.to_owned());
    let of = |crop| before.asked.get(&key(crop)).copied().unwrap_or(0);
    let (had, has) = (of(from_crop), of(to_crop));
    let moved = grams.unwrap_or(had);
    // All of it goes, or as much as comes; what comes is on top of what was there, or is all of it.
    let mut allowed = Vec::new();
    for (left, comes) in [(0, has + moved), (0, moved), (had - moved, has + moved)] {
        let mut books = before.clone();
        books.asked.insert(key(from_crop), left.max(0));
        books.asked.insert(key(to_crop), comes);
        allowed.push(books);
    }
    allowed
}

/// The last thing is taken back, or all that was just done; nothing where there is nothing to take back.
fn undone(before: &Books, after: &Books, scene: &Scene) -> Vec<Books> {
    let of_buyer: Vec<_> = before.asked.keys().filter(|(buyer, ..)| *buyer == scene.buyer).cloned().collect();
    let is_just_done = before.standing.keys().all(|(buyer, _)| *buyer != scene.buyer) && !of_buyer.is_empty();
    let mut allowed = vec![];
    if is_just_done {
        for gone in [&of_buyer[of_buyer.len() - 1..], &of_buyer[..]] {
            let mut books = before.clone();
            books.asked.retain(|key, _| !gone.contains(key));
            allowed.push(books);
        }
        return allowed;
    }
    allowed.push(before.clone());
    // On the shelves: the last pick that is written down.
    let mut books = before.clone();
    if let Some((key, _)) = before.picked.iter().max_by_key(|((_, day), _)| *day) {
        books.picked.remove(key);
        books.stock.clone_from(&after.stock);
        books.batches.clone_from(&after.batches);
        allowed.push(books);
    }
    allowed
}

fn accepted((before, after): (&Books, &Books), grams: Option<i64>, scene: &Scene) -> Vec<Books> {
    if scene.is_offered {
        let mut books = before.clone();
        let offered = before.stock.values().sum();
        books.claimed.insert(scene.buyer.clone(), grams.unwrap_or(offered));
        // What is taken of an offer may become a line of a delivery.
        books.lines.clone_from(&after.lines);
        return vec![books];
    }
    if scene.is_short {
        let all = answered((before, after), scene, |line| matches!(line, State::Taken | State::Full));
        let promised: i64 =
            after.lines.iter().filter(|(key, _)| key.0 == scene.buyer).map(|(_, line)| line.promised).sum();
        return if grams.is_none_or(|grams| (grams - promised).abs() <= 2) { all } else { Vec::new() };
    }
    drops((before, after), |was, now| {
        was.state == DropState::Proposed
            && now.state == DropState::Agreed
            && now.opens_at == was.opens_at
            && (now.grams - grams.unwrap_or(was.grams)).abs() <= 2
    })
}

fn refused((before, after): (&Books, &Books), scene: &Scene) -> Vec<Books> {
    if scene.is_offered {
        let mut books = before.clone();
        books.passed.insert(scene.buyer.clone());
        return vec![books];
    }
    if scene.is_short {
        return answered((before, after), scene, |line| line == State::Dropped);
    }
    drops((before, after), |_, now| matches!(now.state, DropState::Declined | DropState::Cancelled))
}

/// The short line came to stand so; lines that came of it, and what is asked of a later delivery, are as the bot made them.
fn answered((before, after): (&Books, &Books), scene: &Scene, is_right: impl Fn(State) -> bool) -> Vec<Books> {
    let short = before.lines.iter().filter(|(key, line)| key.0 == scene.buyer && line.state == State::Short);
    let keys: Vec<_> = short.map(|(key, _)| key).collect();
    let is_answered =
        |key: &&(String, LocalDate, String, Source)| after.lines.get(*key).is_some_and(|line| is_right(line.state));
    if keys.is_empty() || !keys.iter().all(is_answered) {
        return Vec::new();
    }
    let mut books = before.clone();
    books.lines.clone_from(&after.lines);
    books.asked.clone_from(&after.asked);
    vec![books]
}

/// A record in which some field is as it came to be, where `is_so`.
fn took(after: &Books, before: &Books, take: impl Fn(&mut Books, &Books), is_so: bool) -> Vec<Books> {
    let mut books = before.clone();
    take(&mut books, after);
    if is_so { vec![books] } else { Vec::new() }
}

fn drops(
    (before, after): (&Books, &Books),
    is_right: impl Fn(&super::books::Drop, &super::books::Drop) -> bool,
) -> Vec<Books> {
    let is_so = before.drops.first().zip(after.drops.first()).is_some_and(|(was, now)| is_right(was, now));
    took(after, before, |to, from| to.drops.clone_from(&from.drops), is_so)
}

fn other_time(
    (before, after): (&Books, &Books),
    (day, time): (Option<LocalDate>, Option<&str>),
    scene: &Scene,
) -> Vec<Books> {
    let read = |time: &str| chrono::NaiveTime::parse_from_str(time, "%H:%M").ok();
    drops((before, after), |was, now| {
        let day = day.unwrap_or_else(|| was.opens_at.local_date(scene.zone));
        let is_day = now.opens_at.local_date(scene.zone) == day;
        let is_time = time.and_then(read).is_none_or(|time| now.opens_at == instant_at(day, time, scene.zone));
        now.opens_at != was.opens_at && is_day && is_time && now.state.is_coming()
    })
}

fn paused((before, after): (&Books, &Books), (from, to): (Option<LocalDate>, Option<LocalDate>)) -> Vec<Books> {
    let shut = |books: &Books| books.doors.first().map(|doors| doors.shut.clone()).unwrap_or_default();
    let (was, now) = (shut(before), shut(after));
    let is_within = |day: &LocalDate| from.is_none_or(|from| *day >= from) && to.is_none_or(|to| *day <= to);
    let is_so = now.len() > was.len() && now.difference(&was).all(is_within);
    took(
        after,
        before,
        |to, from| {
            to.doors.clone_from(&from.doors);
            to.drops.clone_from(&from.drops);
        },
        is_so,
    )
}

/// The restaurant's lines were handed over: `weight` of each, by crop and what was promised; without one, as it came to be.
fn handed(
    (before, after): (&Books, &Books),
    buyer: Option<&str>,
    scene: &Scene,
    weight: impl Fn(&str, i64) -> Option<i64>,
) -> Vec<Books> {
    let buyer = buyer.unwrap_or(&scene.buyer);
    let mut books = before.clone();
    // What was carried is no longer in the cold room.
    books.stock.clone_from(&after.stock);
    let mut count = 0;
    for (key, line) in &mut books.lines {
        if key.0 == buyer {
            count += 1;
            let came = after.lines.get(key).and_then(|line| line.delivered);
            line.delivered = weight(&key.2, line.promised).or(came);
        }
    }
    if count > 0 { vec![books] } else { Vec::new() }
}

fn picked(
    (before, after): (&Books, &Books),
    (crop, grams, day): (Option<&str>, Option<i64>, Option<LocalDate>),
    scene: &Scene,
) -> Vec<Books> {
    let (Some(crop), Some(grams)) = (crop, grams) else { return Vec::new() };
    let mut books = before.clone();
    *books.picked.entry((crop.to_owned(), day.unwrap_or(scene.today))).or_default() += grams;
    *books.stock.entry(crop.to_owned()).or_default() += grams;
    // What a pick says of the batch is the bot's to know.
    books.batches.clone_from(&after.batches);
    vec![books]
}

/// One batch of the crop came to be as it should, and the others stayed.
fn shelves(
    (before, after): (&Books, &Books),
    crop: Option<&str>,
    is_right: impl Fn(&Batch, &Batch) -> bool,
) -> Vec<Books> {
    let pairs = || before.batches.iter().zip(&after.batches);
    let is_of = |batch: &Batch| crop.is_none_or(|crop| crop == batch.crop);
    let right = pairs().filter(|(was, now)| is_of(was) && is_right(was, now)).count();
    let others = pairs().filter(|(was, now)| !(is_of(was) && is_right(was, now)));
    let is_so =
        before.batches.len() == after.batches.len() && right == 1 && others.clone().all(|(was, now)| was == now);
    took(after, before, |to, from| to.batches.clone_from(&from.batches), is_so)
}

/// A new batch came.
fn came((before, after): (&Books, &Books), crop: Option<&str>, is_right: impl Fn(&Batch) -> bool) -> Vec<Books> {
    let new = after.batches.get(before.batches.len()..).unwrap_or_default();
    let is_of = |batch: &Batch| crop.is_none_or(|crop| crop == batch.crop);
    let is_so = new.len() == 1 && is_of(&new[0]) && is_right(&new[0]);
    took(after, before, |to, from| to.batches.clone_from(&from.batches), is_so)
}

impl Scene {
    /// A restaurant on the Monday morning, before anything is said.
    pub fn of_monday(zone: chrono_tz::Tz) -> Scene {
        Scene {
            buyer: HERON.to_owned(),
            today: "2026-06-01".parse().expect("a day"),
            next: "2026-06-04".parse().expect("a day"),
            zone,
            is_short: false,
            is_offered: false,
        }
    }
}
