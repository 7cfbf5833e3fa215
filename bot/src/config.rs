//! The configuration file: TOML, every key documented in the sample, unknown keys refused.

use crate::pictures::Paper;
use chrono_tz::Tz;
use scheduler::delivery::calendar::Calendar;
use scheduler::farm::catalogue::Crops;
use scheduler::farm::jobs;
use scheduler::farm::rules::{DeliveryDays, Drying, Giving, Market, Offers, Orders, Promise, Rules, Timetable, within};
use scheduler::people::HourClock;
use scheduler::quantity::UnitSystem;
use scheduler::timetable::Expression;
use serde::Deserialize;
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
#[serde(from = "File")]
pub struct Config {
    pub farm: Farm,
    pub rules: Rules,
    pub chat: Chat,
    pub backup: Backup,
    pub watch: Watch,
    /// Crops of the farm's own, or other values for a built-in one.
    pub crops: Vec<toml::Table>,
}

/// The same as the file has it: the farm's rules are tables beside the others.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    farm: Farm,
    delivery: DeliveryDays,
    #[serde(default)]
    timetable: Timetable,
    #[serde(default)]
    promise: Promise,
    #[serde(default)]
    orders: Orders,
    #[serde(default)]
    chat: Chat,
    #[serde(default)]
    offers: Offers,
    #[serde(default)]
    giving: Giving,
    #[serde(default)]
    market: Market,
    #[serde(default)]
    drying: Drying,
    #[serde(default)]
    backup: Backup,
    #[serde(default)]
    watch: Watch,
    #[serde(default, rename = "crop")]
    crops: Vec<toml::Table>,
}

impl From<File> for Config {
    fn from(file: File) -> Config {
        let File { farm, delivery, timetable, promise, orders, chat, offers, giving, market, drying, .. } = file;
        let rules = Rules { delivery, timetable, promise, orders, offers, giving, market, drying };
        Config { farm, rules, chat, backup: file.backup, watch: file.watch, crops: file.crops }
    }
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
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Watch {
    /// Where `/health` and `/metrics` are answered; nowhere without it.
    pub listen: Option<SocketAddr>,
    /// Whether it may be an address that other machines reach.
    from_elsewhere: bool,
    /// With less space than this on the database's disk, megabytes, `/health` says that it is nearly full.
    pub least_free_mb: u64,
}

impl Default for Watch {
    fn default() -> Watch {
        Watch { listen: None, from_elsewhere: false, least_free_mb: 200 }
    }
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
        if self.farm.name.trim().is_empty() {
            return Err(Error::Malformed("farm.name is empty".into()));
        }
        let wrong = |why: String| Error::Malformed(why);
        self.rules.check().map_err(wrong)?;
        jobs::check(&self.rules, self.farm.zone).map_err(wrong)?;
        self.watch.check().map_err(wrong)?;
        within("chat.most_a_minute", self.chat.most_a_minute, 1..=10_000).map_err(wrong)?;
        within("backup.keep", self.backup.keep.into(), 1..=10_000).map_err(wrong)?;
        Expression::parse(&self.backup.at)
            .map_err(|error| wrong(format!("backup.at {:?}: {error}", self.backup.at)))?;
        Crops::configured(&self.crops).map(drop).map_err(|why| wrong(format!("[[crop]]: {why}")))
    }

    /// The farm's delivery days.
    pub fn calendar(&self) -> Calendar {
        self.rules.calendar(self.farm.zone)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::Weekday;
    use scheduler::allotment::Sharing;

    #[test]
    fn the_sample_is_a_configuration() {
        let config = Config::parse(SAMPLE).expect("the sample parses");
        assert_eq!(config.calendar().dates.weekdays, [Weekday::Thu]);
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
            ("cutoff = \"2 days before at 18:00\"", "cutoff = \"0 18 * * TUESDAYS\"", "timetable.cutoff"),
            ("cutoff = \"2 days before at 18:00\"", "cutoff = \"2 days early\"", "timetable.cutoff"),
            (
                "cutoff = \"2 days before at 18:00\"",
                "cutoff = \"the same day at 09:00\"",
                "would close after the van left",
            ),
            ("cutoff = \"2 days before at 18:00\"", "cutoff = \"9 days before at 18:00\"", "more than a week before"),
            ("picking = \"1 day before at 17:00\"", "picking = \"0 17 * * MON\"", "timetable.picking"),
            ("picking = \"1 day before at 17:00\"", "picking = \"3 days before at 17:00\"", "before its orders close"),
            ("packing = \"the same day at 06:00\"", "packing = \"0 6 * * WED\"", "no packing list"),
            ("packing = \"the same day at 06:00\"", "packing = \"the same day at 09:00\"", "no packing list"),
            (
                "weekdays = [\"Thu\"]",
                "weekdays = [\"Thu\"]\ncutoff_of = { Thu = \"the same day at 10:00\" }",
                "would close",
            ),
            ("extra = []", "extra = [\"2026-07-03\"]\ncutoff_of = { Fri = \"2 weeks\" }", "delivery.cutoff_of"),
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
            assert!((config.rules.promise.level() - level).abs() < 1e-9, "{costs}");
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
            assert_eq!(Config::parse(&text).expect(word).rules.promise.sharing, sharing);
        }
    }

    /// The sample with its example of a crop switched on, `from` in it replaced.
    fn example(from: &str, to: &str) -> Result<Config, Error> {
        let (head, crop) = SAMPLE.split_once("# [[crop]]").expect("the sample shows a crop");
        let crop: String = crop.lines().map(|line| line.strip_prefix("# ").unwrap_or(line).to_owned() + "\n").collect();
        assert!(crop.contains(from), "{from}");
        Config::parse(&format!("{head}[[crop]]{}", crop.replacen(from, to, 1)))
    }

    fn crops(config: &Config) -> Crops {
        Crops::configured(&config.crops).expect("checked when the file was read")
    }

    #[test]
    fn a_crop_of_the_farms_own_is_added_or_takes_the_place_of_a_built_in_one() {
        let added = crops(&example("", "").expect("the example is right"));
        assert_eq!(
            added.iter().map(|crop| crop.key.as_str()).collect::<Vec<_>>(),
            ["shiitake", "oyster", "lions-mane"]
        );
        assert_eq!(added.get("lions-mane").map(|crop| crop.names["pl"].as_str()), Some("soplówka"));
        let replaced = crops(&example("\"lions-mane\"", "\"oyster\"").expect("a built-in key"));
        assert_eq!(replaced.iter().count(), 2);
        assert_eq!(replaced.get("oyster").map(|crop| crop.names["en"].as_str()), Some("lion's mane"));
    }

    #[test]
    fn what_is_wrong_with_a_crop_is_named() {
        for (from, to, expected) in [
            ("storage_days = 5", "storage_weeks = 5", "storage_weeks"),
            ("storage_days = 5\n", "", "storage_days"),
            ("\"lions-mane\"", "\"Lion's mane\"", "a crop key is"),
            ("be_mean = 0.40", "be_mean = -0.40", "be_mean"),
            ("number = 2", "number = 3", "flushes must be numbered"),
        ] {
            let error = example(from, to).expect_err(to).to_string();
            assert!(error.contains(expected), "{to}: {error}");
        }
    }
}
