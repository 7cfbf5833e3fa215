//! What the farm sets by file that decides something: its delivery days, what it promises, offers, keeps and gives, and
//! when. The program's own settings (chat, backups, language) are not here.

use crate::allotment::Sharing;
use crate::allotment::promise::promise_level;
use crate::clock::LocalDate;
use crate::crop::CropKey;
use crate::delivery::calendar::{Calendar, DeliveryDates, Exception};
use crate::orders::amounts;
use crate::quantity::Grams;
use crate::timetable::When;
use chrono::{NaiveTime, Weekday};
use chrono_tz::Tz;
use serde::Deserialize;
use std::collections::{BTreeMap, HashMap};
use std::ops::RangeInclusive;

/// The farm's rules, each table of the configuration file a field.
#[derive(Clone, Debug)]
pub struct Rules {
    pub delivery: DeliveryDays,
    pub timetable: Timetable,
    pub promise: Promise,
    pub orders: Orders,
    pub offers: Offers,
    pub giving: Giving,
    pub market: Market,
    pub drying: Drying,
}

impl Rules {
    /// Whether every value can be lived with.
    ///
    /// # Errors
    /// What is wrong, by the value's name in the file, in words.
    pub fn check(&self) -> Result<(), String> {
        if self.delivery.weekdays.is_empty() {
            return Err("delivery.weekdays names no day".into());
        }
        self.promise.check()?;
        for (key, hours) in [
            ("promise.answer_hours", self.promise.answer_hours),
            ("delivery.assumed_hours", self.delivery.assumed_hours),
            ("offers.open_hours", self.offers.open_hours),
            ("offers.collect_hours", self.offers.collect_hours),
            ("giving.answer_hours", self.giving.answer_hours),
            ("offers.wave_minutes", self.offers.wave_minutes),
            ("drying.hours", self.drying.hours),
            ("orders.greatest_line_kg", self.orders.greatest_line_kg),
            ("orders.invitation_days", self.orders.invitation_days),
        ] {
            within(key, hours, 1..=10_000)?;
        }
        within("giving.worth_cents_per_kg", self.giving.worth_cents_per_kg, 0..=10_000_000)?;
        within("drying.price_cents_per_kg", self.drying.price_cents_per_kg.unwrap_or_default(), 0..=10_000_000)?;
        if self.market.home <= self.market.leaves {
            return Err("market.home must come after market.leaves".into());
        }
        for (crop, cents) in &self.giving.cost_basis_cents_per_kg {
            // Whether there is such a crop is not known here: the keeper may add one by chat.
            if crop.parse::<CropKey>().is_err() {
                return Err(format!("giving.cost_basis_cents_per_kg: {crop:?} is no key of a crop"));
            }
            within(&format!("the cost basis of {crop}"), *cents, 1..=10_000_000)?;
        }
        for (key, text) in self.timetable.times() {
            When::parse(text).map_err(|error| format!("timetable.{key} {text:?}: {error}"))?;
        }
        if !matches!(When::parse(&self.timetable.morning), Ok(When::Cron(_))) {
            return Err("timetable.morning is the day's list and comes by a cron expression".into());
        }
        for (weekday, text) in &self.delivery.cutoff_of {
            When::parse(text).map_err(|error| format!("delivery.cutoff_of {weekday} {text:?}: {error}"))?;
        }
        Ok(())
    }

    /// The farm's delivery days, in its zone.
    ///
    /// # Panics
    /// When the rules have not passed [`Rules::check`].
    pub fn calendar(&self, zone: Tz) -> Calendar {
        let closed = self.delivery.closed.iter().map(|day| (*day, Exception::NoDelivery));
        let extra = self.delivery.extra.iter().map(|day| (*day, Exception::ExtraDelivery));
        Calendar {
            zone,
            dates: DeliveryDates {
                weekdays: self.delivery.weekdays.clone(),
                exceptions: closed.chain(extra).collect::<BTreeMap<_, _>>(),
            },
            departure_time: self.delivery.departs,
            cutoff: when(&self.timetable.cutoff),
            cutoff_of: self.delivery.cutoff_of.iter().map(|(weekday, text)| (*weekday, when(text))).collect(),
        }
    }
}

/// A time of the timetable.
///
/// # Panics
/// When the rules have not passed [`Rules::check`].
pub fn when(text: &str) -> When {
    When::parse(text).expect("times are checked when the file is read")
}

/// Refuses a number outside its limits, by its name in the file.
///
/// # Errors
/// The sentence that says so.
pub fn within(key: &str, value: i64, limits: RangeInclusive<i64>) -> Result<(), String> {
    if limits.contains(&value) {
        return Ok(());
    }
    Err(format!("{key} is {value}, it must lie between {} and {}", limits.start(), limits.end()))
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeliveryDays {
    pub weekdays: Vec<Weekday>,
    #[serde(deserialize_with = "time_of_day")]
    pub departs: NaiveTime,
    /// Hours after the van left from which on a run that nobody ticked off counts as delivered as packed.
    #[serde(default = "a_day_and_a_half")]
    pub assumed_hours: i64,
    #[serde(default)]
    pub closed: Vec<LocalDate>,
    #[serde(default)]
    pub extra: Vec<LocalDate>,
    /// Another cut-off for the deliveries of a weekday, as the timetable writes it.
    #[serde(default)]
    pub cutoff_of: HashMap<Weekday, String>,
}

/// When things happen, in the farm's zone: so long before each delivery, or by a cron expression (minute hour day month
/// weekday). See [`When`].
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Timetable {
    pub cutoff: String,
    pub picking: String,
    pub packing: String,
    pub count: String,
    pub morning: String,
}

impl Timetable {
    /// The times by key.
    pub fn times(&self) -> [(&'static str, &str); 5] {
        [
            ("cutoff", &self.cutoff),
            ("picking", &self.picking),
            ("packing", &self.packing),
            ("count", &self.count),
            ("morning", &self.morning),
        ]
    }
}

impl Default for Timetable {
    fn default() -> Timetable {
        Timetable {
            cutoff: "2 days before at 18:00".into(),
            picking: "1 day before at 17:00".into(),
            packing: "the same day at 06:00".into(),
            count: "the same day at 13:00".into(),
            morning: "0 7 * * *".into(),
        }
    }
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Promise {
    /// Share of weeks in which a promise should hold, over 0 and under 1. See [`Promise::level`].
    level: f64,
    /// What a kilogram promised and not brought costs the farm, cents.
    let_down_cents_per_kg: Option<i64>,
    /// What a kilogram that was there and not promised costs the farm, cents.
    left_over_cents_per_kg: Option<i64>,
    /// Hours after cut-off within which a buyer may answer a shortage.
    pub answer_hours: i64,
    /// How a shortage is shared.
    pub sharing: Sharing,
    /// Let what a restaurant went short of last week weigh in this week's share.
    pub carry_last_cut: bool,
    /// Serve standing orders before one-off orders.
    pub standing_first: bool,
}

impl Default for Promise {
    fn default() -> Promise {
        Promise {
            level: 0.8,
            let_down_cents_per_kg: None,
            left_over_cents_per_kg: None,
            answer_hours: 15,
            sharing: Sharing::EqualAwards,
            carry_last_cut: false,
            standing_first: true,
        }
    }
}

impl Promise {
    /// The share of weeks in which a promise should hold, over 0 and under 1: what the farm's two costs make best where both
    /// are given, the level set otherwise.
    pub fn level(&self) -> f64 {
        let cost = |cents: Option<i64>| cents.map(|cents| cents as f64);
        let costs = cost(self.let_down_cents_per_kg).zip(cost(self.left_over_cents_per_kg));
        costs.and_then(|(let_down, left_over)| promise_level(let_down, left_over)).unwrap_or(self.level)
    }

    fn check(&self) -> Result<(), String> {
        if !(self.level > 0.0 && self.level < 1.0) {
            return Err(format!("promise.level is {}, it must lie between 0 and 1", self.level));
        }
        let costs = [
            ("promise.let_down_cents_per_kg", self.let_down_cents_per_kg),
            ("promise.left_over_cents_per_kg", self.left_over_cents_per_kg),
        ];
        for (key, cents) in costs {
            if let Some(cents) = cents {
                within(key, cents, 1..=10_000_000)?;
            }
        }
        match costs.map(|(_, cents)| cents.is_some()) {
            [true, false] => Err(format!("{} needs {} beside it: only both make a level", costs[0].0, costs[1].0)),
            [false, true] => Err(format!("{} needs {} beside it: only both make a level", costs[1].0, costs[0].0)),
            _ => Ok(()),
        }
    }
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Orders {
    /// Greatest weight of one line, kilograms.
    pub greatest_line_kg: i64,
    pub invitation_days: i64,
}

impl Orders {
    /// The greatest weight of one line: the farm's own, and never over what the rule of amounts allows.
    pub fn greatest_line(&self) -> Grams {
        let kilograms = Grams::new(1000).checked_times(self.greatest_line_kg);
        kilograms.unwrap_or(amounts::LINE_GREATEST).at_most(amounts::LINE_GREATEST)
    }
}

impl Default for Orders {
    fn default() -> Orders {
        Orders { greatest_line_kg: 200, invitation_days: 7 }
    }
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Offers {
    /// Hours an offer stays open.
    pub open_hours: i64,
    /// Hours after the deadline within which what was taken is collected.
    pub collect_hours: i64,
    /// Discount on the crop's price, percent.
    pub discount_percent: i64,
    /// Buyers asked at once; zero: all of them.
    pub wave_buyers: usize,
    /// Minutes after which the others are asked.
    pub wave_minutes: i64,
}

impl Default for Offers {
    fn default() -> Offers {
        Offers { open_hours: 20, collect_hours: 8, discount_percent: 0, wave_buyers: 0, wave_minutes: 60 }
    }
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Giving {
    /// Hours a food bank has to answer before the next is asked.
    pub answer_hours: i64,
    #[serde(deserialize_with = "time_of_day")]
    pub evening: NaiveTime,
    /// Minutes to spare on top of the drive.
    pub spare_minutes: i64,
    /// When a regular drop is filled on the day before.
    #[serde(deserialize_with = "time_of_day")]
    pub fills: NaiveTime,
    /// What a kilogram cost the farm, by crop, for the record of what was given; none where the family does not say.
    pub cost_basis_cents_per_kg: BTreeMap<String, i64>,
    /// What a kilogram given is worth to the family beside money, cents: it orders the ways of `/left`.
    pub worth_cents_per_kg: i64,
}

impl Default for Giving {
    fn default() -> Giving {
        Giving {
            answer_hours: 12,
            evening: NaiveTime::from_hms_opt(19, 0, 0).expect("a time of day"),
            spare_minutes: 10,
            fills: NaiveTime::from_hms_opt(12, 0, 0).expect("a time of day"),
            cost_basis_cents_per_kg: BTreeMap::new(),
            worth_cents_per_kg: 300,
        }
    }
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Market {
    /// Weekdays on which the farm is at a market; none where it is at none.
    pub weekdays: Vec<Weekday>,
    #[serde(deserialize_with = "time_of_day")]
    pub leaves: NaiveTime,
    #[serde(deserialize_with = "time_of_day")]
    pub home: NaiveTime,
}

impl Default for Market {
    fn default() -> Market {
        let hour = |hour| NaiveTime::from_hms_opt(hour, 0, 0).expect("a time of day");
        Market { weekdays: vec![Weekday::Sat], leaves: hour(7), home: hour(15) }
    }
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Drying {
    /// Hours until a load is dry.
    pub hours: i64,
    /// What a kilogram of dried mushrooms fetches, cents; without it drying is thought to bring nothing.
    pub price_cents_per_kg: Option<i64>,
}

impl Default for Drying {
    fn default() -> Drying {
        Drying { hours: 24, price_cents_per_kg: None }
    }
}

/// Until the evening of the day after.
fn a_day_and_a_half() -> i64 {
    36
}

/// "08:00".
fn time_of_day<'de, D: serde::Deserializer<'de>>(from: D) -> Result<NaiveTime, D::Error> {
    let text = String::deserialize(from)?;
    NaiveTime::parse_from_str(&text, "%H:%M")
        .map_err(|_| serde::de::Error::custom(format!("{text:?} is not a time of day such as \"08:00\"")))
}
