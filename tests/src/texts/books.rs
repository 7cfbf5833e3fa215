//! What is on the farm's books, in the trade's terms, so that two records can be compared.

use pinset::conversation::Desk;
use pinset::stage::Stage;
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::farm::asked;
use scheduler::id::Id;
use scheduler::store::deliveries::{Source, State};
use scheduler::store::growing::{self, EventKind};
use scheduler::store::{cold_room, cold_room_warmth, deliveries, giving, orders, people, rooms, surplus};
use scheduler::surplus::drop::State as DropState;
use std::collections::{BTreeMap, BTreeSet};

/// The deliveries that are looked at: those of a summer.
const FIRST: &str = "2026-06-04";
const LAST: &str = "2026-09-24";
/// Grams that rounding a pound or an ounce may differ by.
const ROUNDING: i64 = 2;

/// A line of a delivery whose orders are closed.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    pub asked: i64,
    pub promised: i64,
    pub delivered: Option<i64>,
    pub state: State,
}

/// A drop to a food bank.
#[derive(Clone, Debug, PartialEq)]
pub struct Drop {
    pub state: DropState,
    pub opens_at: UtcSeconds,
    pub grams: i64,
}

/// A batch on the shelves.
#[derive(Clone, Debug, PartialEq)]
pub struct Batch {
    pub crop: String,
    pub units: i64,
    pub lost: i64,
    pub begun: Option<LocalDate>,
    pub pins: Option<LocalDate>,
    pub flushes_over: usize,
}

/// When a food bank takes gifts.
#[derive(Clone, Debug, PartialEq)]
pub struct Doors {
    pub weekly: String,
    pub shut: BTreeSet<LocalDate>,
}

/// Dates of a rhythm among the deliveries that are looked at, from `first` on.
pub fn dates_from(first: LocalDate, every_weeks: u16) -> impl Iterator<Item = LocalDate> {
    let last: LocalDate = LAST.parse().expect("a day");
    let step = chrono::Duration::days(7 * i64::from(every_weeks.max(1)));
    std::iter::successors(Some(first), move |day| Some(*day + step)).take_while(move |day| *day <= last)
}

/// Everything a text can change.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Books {
    /// By restaurant, day and crop: standing orders and one-off lines together.
    pub asked: BTreeMap<(String, LocalDate, String), i64>,
    /// By restaurant and crop: the usual weight, every so many weeks.
    pub standing: BTreeMap<(String, String), (i64, u16)>,
    pub lines: BTreeMap<(String, LocalDate, String, Source), Line>,
    /// What restaurants have taken of what was left, and who wants none.
    pub claimed: BTreeMap<String, i64>,
    pub passed: BTreeSet<String>,
    pub drops: Vec<Drop>,
    pub doors: Vec<Doors>,
    /// What lies in the cold room, by crop.
    pub stock: BTreeMap<String, i64>,
    pub picked: BTreeMap<(String, LocalDate), i64>,
    pub batches: Vec<Batch>,
    /// Every temperature said, tenths of a degree Celsius.
    pub warmth: Vec<i64>,
    /// Cents a kilogram, by crop.
    pub prices: BTreeMap<String, i64>,
}

impl Books {
    /// Reads them.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn read(stage: &Stage) -> anyhow::Result<Books> {
        let engine = &stage.engine;
        let mut tx = engine.store.begin_reading().await?;
        let house = engine.house.of(&mut tx).await?;
        let mut desk = Desk::new(tx, stage.now(), &house, None);
        let buyers: BTreeMap<Id, String> =
            people::buyers(&mut desk.tx).await?.into_iter().map(|buyer| (buyer.id, buyer.name)).collect();
        let name = |id: Id| buyers.get(&id).cloned().unwrap_or_default();
        let mut books = Books::default();
        let (first, last): (LocalDate, LocalDate) = (FIRST.parse()?, LAST.parse()?);
        for line in asked::between(&mut desk.farm(), first, last).await? {
            *books.asked.entry((name(line.buyer_id), line.day, line.crop)).or_default() += line.grams.get();
        }
        for one in orders::all_standing(&mut desk.tx).await? {
            let rhythm = asked::read_standing(house.zone(), &one).ok().and_then(|order| order.recurrence.rhythm());
            let weeks = rhythm.map_or(1, |rhythm| rhythm.every_weeks);
            books.standing.insert((name(one.buyer_id), one.crop), (one.usual.get(), weeks));
        }
        for award in deliveries::all_awards(&mut desk.tx).await? {
            let line = Line {
                asked: award.asked.get(),
                promised: award.promised.get(),
                delivered: award.delivered.map(|grams| grams.get()),
                state: award.state,
            };
            books.lines.insert((name(award.buyer_id), award.day, award.crop, award.source), line);
        }
        for offer in surplus::offers(&mut desk.tx).await? {
            for claim in surplus::claims_of(&mut desk.tx, offer.id).await? {
                if claim.is_open() {
                    *books.claimed.entry(name(claim.buyer_id)).or_default() += claim.grams.get();
                }
            }
            let asked = surplus::asked_buyers(&mut desk.tx, offer.id).await?;
            books.passed.extend(asked.into_iter().filter(|(_, at)| at.is_some()).map(|(id, _)| name(id)));
        }
        let drops = giving::drops(&mut desk.tx).await?.into_iter();
        books.drops = drops
            .map(|drop| Drop { state: drop.state(), opens_at: drop.window.opens_at, grams: drop.weight().get() })
            .collect();
        for bank in giving::food_banks(&mut desk.tx).await? {
            let shut = bank.closed.iter().chain(&bank.full).copied().collect();
            books.doors.push(Doors { weekly: format!("{:?}", bank.weekly), shut });
        }
        for lot in cold_room::lots(&mut desk.tx).await? {
            *books.stock.entry(lot.crop).or_default() += lot.left.get();
        }
        books.read_shelves(&mut desk).await?;
        for (_, said) in rooms::temperatures(&mut desk.tx).await? {
            books.warmth.push(said.tenths_c);
        }
        for said in cold_room_warmth::readings_since(&mut desk.tx, UtcSeconds::new(0)).await? {
            books.warmth.push(said.tenths_c);
        }
        for crop in house.crops.iter() {
            if let Some(price) = crop.price_per_kilogram {
                books.prices.insert(crop.key.as_str().to_owned(), price.get());
            }
        }
        Ok(books)
    }

    async fn read_shelves(&mut self, desk: &mut Desk<'_>) -> anyhow::Result<()> {
        let flushes = growing::all_flushes(&mut desk.tx).await?;
        let batches = growing::all_batches(&mut desk.tx).await?;
        for (_, event) in growing::record_of_all(&mut desk.tx).await? {
            let of = batches.iter().find(|batch| batch.id == event.batch_id).map(|batch| batch.crop.clone());
            if event.kind == EventKind::Picked
                && let Some(crop) = of
            {
                *self.picked.entry((crop, event.on_day)).or_default() += event.grams.get();
            }
        }
        self.picked.retain(|_, grams| *grams != 0);
        for batch in batches {
            let of: Vec<_> = flushes.iter().filter(|flush| flush.batch_id == batch.id).collect();
            let newest = of.iter().max_by_key(|flush| flush.number);
            self.batches.push(Batch {
                crop: batch.crop,
                units: batch.units,
                lost: of.iter().map(|flush| flush.units_lost).max().unwrap_or(0),
                begun: newest.and_then(|flush| flush.initiated_on),
                pins: newest.and_then(|flush| flush.pins_on),
                flushes_over: of.iter().filter(|flush| flush.closed_on.is_some()).count(),
            });
        }
        Ok(())
    }

    /// Whether both say the same, but for rounding.
    pub fn agrees(&self, other: &Books) -> bool {
        let rounded = |books: &Books| {
            let mut books = books.clone();
            books.asked.retain(|_, grams| *grams > ROUNDING);
            books.stock.retain(|_, grams| *grams > ROUNDING);
            books.claimed.retain(|_, grams| *grams > ROUNDING);
            books
        };
        let (mut one, other) = (rounded(self), rounded(other));
        near_all(&mut one.asked, &other.asked);
        near_all(&mut one.stock, &other.stock);
        near_all(&mut one.claimed, &other.claimed);
        near_all(&mut one.picked, &other.picked);
        near_all(&mut one.prices, &other.prices);
        for (key, (grams, _)) in &mut one.standing {
            if let Some((there, _)) = other.standing.get(key) {
                near(grams, *there);
            }
        }
        for (drop, there) in one.drops.iter_mut().zip(&other.drops) {
            near(&mut drop.grams, there.grams);
        }
        for (key, line) in &mut one.lines {
            if let Some(there) = other.lines.get(key) {
                near(&mut line.promised, there.promised);
                near(&mut line.asked, there.asked);
                if let (Some(mine), Some(theirs)) = (&mut line.delivered, there.delivered) {
                    near(mine, theirs);
                }
            }
        }
        one == other
    }

    /// What differs from `before`, for a person to read.
    pub fn news(&self, before: &Books) -> String {
        let (mine, theirs) = (format!("{self:#?}"), format!("{before:#?}"));
        let old: BTreeSet<&str> = theirs.lines().collect();
        let new: BTreeSet<&str> = mine.lines().collect();
        let line = |sign: &str, text: &str| format!("{sign}{}", text.trim());
        let gone = theirs.lines().filter(|text| !new.contains(text)).map(|text| line("-", text));
        let come = mine.lines().filter(|text| !old.contains(text)).map(|text| line("+", text));
        gone.chain(come).collect::<Vec<_>>().join(" ")
    }
}

/// Takes the other weight for this one where rounding alone parts them.
fn near(mine: &mut i64, theirs: i64) {
    if (*mine - theirs).abs() <= ROUNDING {
        *mine = theirs;
    }
}

fn near_all<K: Ord>(mine: &mut BTreeMap<K, i64>, theirs: &BTreeMap<K, i64>) {
    for (key, grams) in mine {
        if let Some(there) = theirs.get(key) {
            near(grams, *there);
        }
    }
}
