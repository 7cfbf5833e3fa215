//! The configuration file: TOML, every key documented in the sample, unknown keys refused.

use crate::crops::Crops;
use crate::pictures::Paper;
use chrono::{NaiveTime, Weekday};
use chrono_tz::Tz;
use scheduler::allotment::Sharing;
use scheduler::allotment::promise::promise_level;
use scheduler::clock::LocalDate;
use scheduler::crop::CropKey;
use scheduler::delivery::calendar::{Calendar, Exception};
use scheduler::people::HourClock;
use scheduler::quantity::{Grams, UnitSystem};
use scheduler::timetable::Expression;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

/// A configuration file with every key, its meaning and its default.
pub const SAMPLE: &str = include_str!("config/sample.toml");

/// Why a configuration is refused.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("the configuration file {path} cannot be read: {source}. `pinset sample-config` prints one to start from")]
    Unreadable { path: String, source: std::io::Error },
    #[error("the configuration is not right: {0}")]
    Malformed(String),
}

/// Everything the farm sets by file. See `config/sample.toml` for each key.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Config {
    pub farm: Farm,
    pub delivery: DeliveryDays,
    #[serde(default)]
    pub timetable: Timetable,
    #[serde(default)]
    pub promise: Promise,
    #[serde(default)]
    pub orders: Orders,
    #[serde(default)]
    pub chat: Chat,
    #[serde(default)]
    pub offers: Offers,
    #[serde(default)]
    pub giving: Giving,
    #[serde(default)]
    pub market: Market,
    #[serde(default)]
    pub drying: Drying,
    #[serde(default)]
    pub backup: Backup,
    #[serde(default)]
    pub watch: Watch,
    /// Crops of the farm's own, or other values for a built-in one.
    #[serde(default, rename = "crop")]
    pub crops: Vec<toml::Table>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Farm {
    pub name: String,
    /// IANA time zone.
    pub zone: Tz,
    #[serde(default = "english")]
    pub language: String,
    #[serde(default = "pounds")]
    pub units: UnitSystem,
    #[serde(default = "twelve")]
    pub hour_clock: HourClock,
    /// ISO 4217 code.
    #[serde(default = "dollars")]
    pub currency: String,
    /// What is in the printer.
    #[serde(default)]
    pub paper: Paper,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeliveryDays {
    pub weekdays: Vec<Weekday>,
    #[serde(deserialize_with = "time_of_day")]
    pub departs: NaiveTime,
    #[serde(default)]
    pub closed: Vec<LocalDate>,
    #[serde(default)]
    pub extra: Vec<LocalDate>,
}

/// Cron expressions (minute hour day month weekday) in the farm's zone.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Timetable {
    pub cutoff: String,
    pub picking: String,
    pub packing: String,
    pub count: String,
    pub morning: String,
}

impl Default for Timetable {
    fn default() -> Timetable {
        Timetable {
            cutoff: "0 18 * * TUE".into(),
            picking: "0 17 * * WED".into(),
            packing: "0 6 * * THU".into(),
            count: "0 13 * * THU".into(),
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
            if cents.is_some_and(|cents| !(1..=10_000_000).contains(&cents)) {
                return Err(format!("{key} is {}, it must lie between 1 and 10000000", cents.unwrap_or_default()));
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

impl Default for Orders {
    fn default() -> Orders {
        Orders { greatest_line_kg: 200, invitation_days: 7 }
    }
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Chat {
    /// Messages and presses of one account that are looked at within a minute.
    pub most_a_minute: i64,
}

impl Default for Chat {
    fn default() -> Chat {
        Chat { most_a_minute: 60 }
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

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Backup {
    /// Where scheduled backups go; none are made without it.
    pub folder: Option<PathBuf>,
    /// Cron expression in the farm's zone.
    pub at: String,
    /// How many are kept, at least 1.
    pub keep: u32,
}

impl Default for Backup {
    fn default() -> Backup {
        Backup { folder: None, at: "0 2 * * *".into(), keep: 14 }
    }
}

/// The door through which the program is watched.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Watch {
    /// Where `/health` and `/metrics` are answered; nowhere without it.
    pub listen: Option<SocketAddr>,
    /// Whether it may be an address that other machines reach.
    from_elsewhere: bool,
}

impl Watch {
    fn check(&self) -> Result<(), String> {
        match self.listen {
            Some(address) if !address.ip().is_loopback() && !self.from_elsewhere => Err(format!(
                "watch.listen is {address}, which other machines reach; choose 127.0.0.1, or say watch.from_elsewhere = true"
            )),
            _ => Ok(()),
        }
    }
}

fn english() -> String {
    "en".into()
}

fn pounds() -> UnitSystem {
    UnitSystem::Avoirdupois
}

fn twelve() -> HourClock {
    HourClock::Twelve
}

fn dollars() -> String {
    "USD".into()
}

fn time_of_day<'de, D: serde::Deserializer<'de>>(from: D) -> Result<NaiveTime, D::Error> {
    let text = String::deserialize(from)?;
    NaiveTime::parse_from_str(&text, "%H:%M")
        .map_err(|_| serde::de::Error::custom(format!("{text:?} is not a time of day such as \"08:00\"")))
}

impl Config {
    /// Reads and checks a file.
    ///
    /// # Errors
    /// [`Error::Unreadable`] or [`Error::Malformed`], each with what to mend.
    pub fn read(path: &Path) -> Result<Config, Error> {
        let text = std::fs::read_to_string(path)
            .map_err(|source| Error::Unreadable { path: path.display().to_string(), source })?;
        Config::parse(&text)
    }

    /// Parses and checks the text of a file.
    ///
    /// # Errors
    /// [`Error::Malformed`] with what to mend.
    pub fn parse(text: &str) -> Result<Config, Error> {
        let config: Config = toml::from_str(text).map_err(|error| Error::Malformed(error.to_string()))?;
        config.check()?;
        Ok(config)
    }

    fn check(&self) -> Result<(), Error> {
        let wrong = |why: String| Err(Error::Malformed(why));
        if self.farm.name.trim().is_empty() {
            return wrong("farm.name is empty".into());
        }
        if self.delivery.weekdays.is_empty() {
            return wrong("delivery.weekdays names no day".into());
        }
        if let Err(why) = self.promise.check() {
            return wrong(why);
        }
        if let Err(why) = self.watch.check() {
            return wrong(why);
        }
        for (key, hours) in [
            ("promise.answer_hours", self.promise.answer_hours),
            ("offers.open_hours", self.offers.open_hours),
            ("offers.collect_hours", self.offers.collect_hours),
            ("giving.answer_hours", self.giving.answer_hours),
            ("offers.wave_minutes", self.offers.wave_minutes),
            ("drying.hours", self.drying.hours),
            ("orders.greatest_line_kg", self.orders.greatest_line_kg),
            ("chat.most_a_minute", self.chat.most_a_minute),
            ("orders.invitation_days", self.orders.invitation_days),
        ] {
            if !(1..=10_000).contains(&hours) {
                return wrong(format!("{key} is {hours}, it must lie between 1 and 10000"));
            }
        }
        let price = self.drying.price_cents_per_kg.unwrap_or_default();
        for (key, cents) in
            [("giving.worth_cents_per_kg", self.giving.worth_cents_per_kg), ("drying.price_cents_per_kg", price)]
        {
            if !(0..=10_000_000).contains(&cents) {
                return wrong(format!("{key} is {cents}, it must lie between 0 and 10000000"));
            }
        }
        if self.market.home <= self.market.leaves {
            return wrong("market.home must come after market.leaves".into());
        }
        if !(1..=10_000).contains(&self.backup.keep) {
            return wrong(format!("backup.keep is {}, it must lie between 1 and 10000", self.backup.keep));
        }
        if let Err(error) = Expression::parse(&self.backup.at) {
            return wrong(format!("backup.at {:?}: {error}", self.backup.at));
        }
        if let Err(why) = Crops::configured(&self.crops) {
            return wrong(format!("[[crop]]: {why}"));
        }
        for (crop, cents) in &self.giving.cost_basis_cents_per_kg {
            // Whether there is such a crop is not known here: the keeper may add one by chat.
            if crop.parse::<CropKey>().is_err() {
                return wrong(format!("giving.cost_basis_cents_per_kg: {crop:?} is no key of a crop"));
            }
            if !(1..=10_000_000).contains(cents) {
                return wrong(format!("the cost basis of {crop} is {cents}, it must lie between 1 and 10000000"));
            }
        }
        for (key, text) in self.expressions() {
            if let Err(error) = Expression::parse(text) {
                return wrong(format!("timetable.{key} {text:?}: {error}"));
            }
        }
        Ok(())
    }

    /// The greatest weight of one line.
    pub fn greatest_line(&self) -> Grams {
        Grams::new(self.orders.greatest_line_kg * 1000)
    }

    /// The timetable's expressions by key.
    pub fn expressions(&self) -> [(&'static str, &str); 5] {
        let timetable = &self.timetable;
        [
            ("cutoff", &timetable.cutoff),
            ("picking", &timetable.picking),
            ("packing", &timetable.packing),
            ("count", &timetable.count),
            ("morning", &timetable.morning),
        ]
    }

    /// The farm's delivery days.
    pub fn calendar(&self) -> Calendar {
        let closed = self.delivery.closed.iter().map(|day| (*day, Exception::NoDelivery));
        let extra = self.delivery.extra.iter().map(|day| (*day, Exception::ExtraDelivery));
        Calendar {
            zone: self.farm.zone,
            weekdays: self.delivery.weekdays.clone(),
            exceptions: closed.chain(extra).collect::<BTreeMap<_, _>>(),
            departure_time: self.delivery.departs,
            cutoff: Expression::parse(&self.timetable.cutoff).expect("expressions are checked when the file is read"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sample_is_a_configuration() {
        let config = Config::parse(SAMPLE).expect("the sample parses");
        assert_eq!(config.calendar().weekdays, [Weekday::Thu]);
    }

    #[test]
    fn what_is_wrong_is_named() {
        for (from, to, expected) in [
            ("level = 0.8", "level = 1.5", "promise.level"),
            ("level = 0.8", "let_down_cents_per_kg = 400", "needs promise.left_over_cents_per_kg"),
            ("level = 0.8", "left_over_cents_per_kg = 400", "needs promise.let_down_cents_per_kg"),
            ("level = 0.8", "let_down_cents_per_kg = 0\nleft_over_cents_per_kg = 9", "let_down_cents_per_kg is 0"),
            ("level = 0.8", "let_down_cents_per_kg = 9\nleft_over_cents_per_kg = -1", "left_over_cents_per_kg is -1"),
            ("sharing = \"equal_awards\"", "sharing = \"first_come\"", "first_come"),
            ("[promise]", "[promise]\nlevle = 0.8", "levle"),
            ("\"0 18 * * TUE\"", "\"0 18 * * TUESDAYS\"", "timetable.cutoff"),
            ("[giving]", "[giving]\ncost_basis_cents_per_kg = { \"Two Words\" = 300 }", "Two Words"),
            ("[giving]", "[giving]\ncost_basis_cents_per_kg = { oyster = 0 }", "cost basis of oyster is 0"),
            ("America/Chicago", "America/Port_Merrow", "zone"),
            ("departs = \"08:00\"", "departs = \"8 o'clock\"", "time of day"),
            ("home = \"15:00\"", "home = \"06:00\"", "market.home"),
            ("worth_cents_per_kg = 300", "worth_cents_per_kg = -1", "giving.worth_cents_per_kg"),
            ("[watch]", "[watch]\nlisten = \"0.0.0.0:9464\"", "watch.from_elsewhere"),
            ("[watch]", "[watch]\nlisten = \"[2001:db8::1]:9464\"", "which other machines reach"),
            ("[watch]", "[watch]\nlisten = \"the kitchen\"", "listen"),
        ] {
            assert!(SAMPLE.contains(from), "{from}");
            let error = Config::parse(&SAMPLE.replacen(from, to, 1)).expect_err(to).to_string();
            assert!(error.contains(expected), "{to}: {error}");
        }
    }
    /// Critical ratios as SciPy's numbers for the newsvendor examples of Cachon & Terwiesch, Matching Supply with Demand, take
    /// them: 80 and 20 make 0.8, 8 and 4 two thirds.
    #[test]
    fn two_costs_make_the_level() {
        for (costs, level) in [
            ("level = 0.9", 0.9),
            ("let_down_cents_per_kg = 80\nleft_over_cents_per_kg = 20", 0.8),
            ("let_down_cents_per_kg = 8\nleft_over_cents_per_kg = 4", 0.666_666_666_7),
            ("level = 0.5\nlet_down_cents_per_kg = 900\nleft_over_cents_per_kg = 100", 0.9),
        ] {
            let config = Config::parse(&SAMPLE.replacen("level = 0.8", costs, 1)).expect(costs);
            assert!((config.promise.level() - level).abs() < 1e-9, "{costs}");
        }
    }

    #[test]
    fn the_bot_is_watched_from_this_machine_unless_said() {
        for (listen, from_elsewhere) in [("127.0.0.1:9464", false), ("[::1]:0", false), ("0.0.0.0:9464", true)] {
            let said = format!("listen = \"{listen}\"\nfrom_elsewhere = {from_elsewhere}");
            let config = Config::parse(&SAMPLE.replacen("from_elsewhere = false", &said, 1)).expect(listen);
            assert!(config.watch.listen.is_some());
        }
        assert_eq!(Config::parse(SAMPLE).expect("the sample parses").watch.listen, None);
    }

    #[test]
    fn every_rule_of_sharing_can_be_chosen() {
        for (word, sharing) in [
            ("equal_awards", Sharing::EqualAwards),
            ("proportional", Sharing::Proportional),
            ("contested_garment", Sharing::ContestedGarment),
        ] {
            let text = SAMPLE.replacen("sharing = \"equal_awards\"", &format!("sharing = \"{word}\""), 1);
            assert_eq!(Config::parse(&text).expect(word).promise.sharing, sharing);
        }
    }
}
