//! The family's coming week as a picture and in words: what to soak or open, about how much to pick, what goes to
//! restaurants, the market and food banks, day by day.

use crate::conversation::Desk;
use crate::pictures::{CropTasks, Task, WeekPicture};
use crate::wording::Voice;
use chrono::Days;
use scheduler::clock::LocalDate;
use scheduler::farm::{asked, expected, plan};
use scheduler::growing::plan::Advice;
use scheduler::quantity::Grams;
use scheduler::store::{self, deliveries, giving, surplus};

/// Days shown, today the first.
const DAYS: u8 = 7;
/// A pound (NIST SP 811, appendix B).
const LEAST_PICK_G: f64 = 453.592_37;

/// Tasks by crop and day, before a reader's language.
pub struct Week {
    first: LocalDate,
    tasks: Vec<(String, LocalDate, Task)>,
}

/// Reads the week.
///
/// # Errors
/// Whatever the store fails with.
pub async fn facts(desk: &mut Desk<'_>) -> store::Result<Week> {
    let first = desk.today();
    let last = first.checked_add_days(Days::new(u64::from(DAYS) - 1)).unwrap_or(first);
    let mut tasks = starts(desk, last).await?;
    tasks.extend(picks(desk, last).await?);
    tasks.extend(carried(desk, last).await?);
    let holds = surplus::market_holds(&mut desk.tx).await?.into_iter().filter(|hold| hold.grams.is_positive());
    tasks.extend(holds.map(|hold| (hold.crop, hold.day, Task::Market(hold.grams))));
    for drop in giving::coming_drops(&mut desk.tx).await? {
        let day = drop.window.opens_at.local_date(desk.house.zone());
        tasks.extend(drop.lines.into_iter().map(|line| (line.crop, day, Task::Drop(line.grams))));
    }
    tasks.retain(|(_, day, _)| (first..=last).contains(day));
    Ok(Week { first, tasks })
}

type Tasks = Vec<(String, LocalDate, Task)>;

/// What the growing plan wants started; what should have been is for today.
async fn starts(desk: &mut Desk<'_>, last: LocalDate) -> store::Result<Tasks> {
    let today = desk.today();
    let advised = plan::advised(&mut desk.farm()).await?.into_iter();
    Ok(advised
        .filter_map(|(shortage, advice)| {
            let Advice::Start { units, best_on, .. } = advice else { return None };
            let number = i64::from(units);
            let task = match desk.house.crops.is_bagged(&shortage.crop) {
                true => Task::Open { bags: number },
                false => Task::Soak { blocks: number },
            };
            (best_on <= last).then_some((shortage.crop, best_on.max(today), task))
        })
        .collect())
}

/// The mean of the forecast, so that the days add up to the week; less than a pound is nothing to plan a day by.
async fn picks(desk: &mut Desk<'_>, last: LocalDate) -> store::Result<Tasks> {
    let growth = expected::growth(&mut desk.farm()).await?;
    let harvest = expected::harvest_until(&desk.farm(), &growth, last);
    let mut tasks = Tasks::new();
    for crop in desk.house.crops.iter() {
        for day in desk.today().iter_days().take_while(|day| *day <= last) {
            let draws = harvest.sums(crop.key, day, day);
            let mean_g = draws.iter().map(|grams| f64::from(*grams)).sum::<f64>() / draws.len().max(1) as f64;
            if mean_g >= LEAST_PICK_G {
                tasks.push((crop.key.as_str().to_owned(), day, Task::Pick(Grams::new(mean_g.round() as i64))));
            }
        }
    }
    Ok(tasks)
}

/// What the van carries: the promise where orders are closed, what is asked where they are open.
async fn carried(desk: &mut Desk<'_>, last: LocalDate) -> store::Result<Tasks> {
    let today = desk.today();
    let mut tasks = Tasks::new();
    let mut closed_days = Vec::new();
    for closed in deliveries::from(&mut desk.tx, today).await?.into_iter().filter(|closed| closed.day <= last) {
        closed_days.push(closed.day);
        for award in deliveries::awards_on(&mut desk.tx, closed.day).await? {
            if award.delivered.is_none() && award.promised.is_positive() {
                tasks.push((award.crop, award.day, Task::Deliver(award.promised)));
            }
        }
    }
    let open = asked::between(&mut desk.farm(), today, last)
        .await?
        .into_iter()
        .filter(|line| !closed_days.contains(&line.day));
    tasks.extend(open.map(|line| (line.crop, line.day, Task::Deliver(line.grams))));
    Ok(tasks)
}

impl Week {
    /// The picture for one reader, ready to be drawn.
    pub fn picture(&self, desk: &Desk<'_>, voice: &Voice) -> WeekPicture {
        let crops = desk.house.crops.iter().map(|crop| {
            let key = crop.key.as_str();
            let of_crop = self.tasks.iter().filter(|(of, ..)| of == key).map(|(_, day, task)| (*day, *task));
            CropTasks { name: desk.house.crop_name(key, voice), tasks: together(of_crop) }
        });
        let crops = crops.filter(|crop| !crop.tasks.is_empty()).collect();
        WeekPicture { farm: desk.house.config.farm.name.clone(), first: self.first, days: DAYS, crops }
    }
}

/// One task of a kind a day.
fn together(tasks: impl Iterator<Item = (LocalDate, Task)>) -> Vec<(LocalDate, Task)> {
    let mut sums: Vec<(LocalDate, Task)> = Vec::new();
    for (day, task) in tasks {
        match sums
            .iter_mut()
            .find_map(|(on, sum)| (*on == day).then(|| sum.with(task)).flatten().map(|both| (sum, both)))
        {
            Some((sum, both)) => *sum = both,
            None => sums.push((day, task)),
        }
    }
    sums
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kind_of_task_stands_once_a_day() {
        let day = |text: &str| text.parse::<LocalDate>().expect("a day");
        let (thursday, friday) = (day("2026-06-04"), day("2026-06-05"));
        let tasks = [
            (thursday, Task::Deliver(Grams::new(500))),
            (thursday, Task::Soak { blocks: 7 }),
            (thursday, Task::Deliver(Grams::new(250))),
            (friday, Task::Deliver(Grams::new(1))),
            (thursday, Task::Soak { blocks: 3 }),
        ];
        let expected = [
            (thursday, Task::Deliver(Grams::new(750))),
            (thursday, Task::Soak { blocks: 10 }),
            (friday, Task::Deliver(Grams::new(1))),
        ];
        assert_eq!(together(tasks.into_iter()), expected);
    }
}
