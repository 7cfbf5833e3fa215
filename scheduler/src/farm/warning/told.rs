//! Which early warnings have been told, so that each is told once. Rule: the forecast moves a little every day, and what
//! has become another quarter of the order is news; what has passed and comes back is news on another day only.

use crate::allotment::warning::Risk;
use crate::clock::LocalDate;

/// What a warning is to those who had the earlier ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum News {
    Fresh,
    /// It had passed.
    Again,
    Known,
}

/// One warning that was told.
#[derive(Clone, Debug, PartialEq, Eq)]
struct One {
    day: LocalDate,
    crop: String,
    quarters: i128,
    told_on: LocalDate,
    /// It still holds.
    stands: bool,
}

impl One {
    fn is_about(&self, risk: &Risk) -> bool {
        self.day == risk.day && self.crop == risk.crop
    }

    fn says(&self, risk: &Risk) -> bool {
        self.is_about(risk) && self.quarters == quarters(risk)
    }
}

/// All that were told of deliveries to come.
#[derive(Debug, Default)]
pub struct Told(Vec<One>);

/// How much is missing, in quarters of what is asked.
fn quarters(risk: &Risk) -> i128 {
    i128::from(risk.short.get()) * 4 / i128::from(risk.asked.get().max(1))
}

impl Told {
    /// As [`Told::write`] wrote it; a line of an earlier program has no day and stands.
    pub fn read(text: &str, today: LocalDate) -> Told {
        let one = |line: &str| {
            let mut words = line.split(' ');
            let (day, crop) = (words.next()?.parse().ok()?, words.next()?.to_owned());
            let quarters = words.next()?.parse().ok()?;
            let told_on = words.next().map_or(Some(today), |word| word.parse().ok())?;
            Some(One { day, crop, quarters, told_on, stands: words.next() != Some("passed") })
        };
        Told(text.lines().filter_map(one).filter(|one| one.day >= today).collect())
    }

    /// One line each.
    pub fn write(&self) -> String {
        let line = |one: &One| {
            let state = if one.stands { "stands" } else { "passed" };
            format!("{} {} {} {} {state}", one.day, one.crop, one.quarters, one.told_on)
        };
        self.0.iter().map(line).collect::<Vec<_>>().join("\n")
    }

    /// What this risk is today; from now on it counts as told.
    pub fn news_of(&mut self, risk: &Risk, today: LocalDate) -> News {
        let mut earlier = self.0.iter().filter(|one| one.is_about(risk)).peekable();
        let has_passed = earlier.peek().is_some() && !earlier.any(|one| one.stands);
        if let Some(same) = self.0.iter_mut().find(|one| one.says(risk)) {
            let is_known = same.stands || same.told_on == today;
            same.stands = true;
            if is_known {
                return News::Known;
            }
            same.told_on = today;
        } else {
            let (day, crop, quarters) = (risk.day, risk.crop.clone(), quarters(risk));
            self.0.push(One { day, crop, quarters, told_on: today, stands: true });
        }
        if has_passed { News::Again } else { News::Fresh }
    }

    /// What was not found any more has passed.
    pub fn settle(&mut self, found: &[Risk]) {
        for one in &mut self.0 {
            one.stands = found.iter().any(|risk| one.says(risk));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Grams;

    fn day(text: &str) -> LocalDate {
        text.parse().expect("a date")
    }

    fn risk(short: i64) -> Risk {
        Risk {
            day: day("2026-06-11"),
            crop: "shiitake".into(),
            asked: Grams::new(4000),
            chance: 0.7,
            short: Grams::new(short),
            helps: vec![],
        }
    }

    /// The days of a farm: what was found, and what of it was told.
    #[test]
    fn each_warning_is_told_once_and_said_to_come_back_on_another_day() {
        let mut kept = String::new();
        for (today, found, expected) in [
            ("2026-06-01", Some(1000), Some(News::Fresh)),
            ("2026-06-01", Some(1100), Some(News::Known)),
            ("2026-06-01", None, None),
            ("2026-06-01", Some(1000), Some(News::Known)),
            ("2026-06-01", Some(2000), Some(News::Fresh)),
            ("2026-06-02", None, None),
            ("2026-06-02", Some(2000), Some(News::Again)),
            ("2026-06-02", None, None),
            ("2026-06-02", Some(2000), Some(News::Known)),
            ("2026-06-03", Some(1000), Some(News::Fresh)),
            ("2026-06-04", Some(1000), Some(News::Known)),
        ] {
            let today = day(today);
            let mut told = Told::read(&kept, today);
            let found: Vec<Risk> = found.map(risk).into_iter().collect();
            let news: Vec<News> = found.iter().map(|risk| told.news_of(risk, today)).collect();
            told.settle(&found);
            kept = told.write();
            assert_eq!(news.first().copied(), expected, "{today} {found:?}");
        }
        assert_eq!(Told::read(&kept, day("2026-06-12")).write(), "", "the delivery is past");
        let old = Told::read("2026-06-11 shiitake 1", day("2026-06-01")).news_of(&risk(1000), day("2026-06-01"));
        assert_eq!(old, News::Known);
    }
}
