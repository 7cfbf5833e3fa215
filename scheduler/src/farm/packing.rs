//! Packing: what to pick the evening before, from which lot each line is filled (first expired, first out), and what is
//! packed. Rule: what is packed is what is promised from then on.

use super::closed_day::{ClosedDay, Occasion};
use super::event::Event;
use super::ordering::Sums;
use super::{Farm, lines, rules, stock, supply};
use crate::clock::LocalDate;
use crate::delivery::award::{self, Award, State};
use crate::id::Id;
use crate::quantity::Grams;
use crate::store::cold_room::{self, Lot};
use crate::store::deliveries::{self, Closed};
use crate::store::{self, people};
use crate::timetable::When;
use std::collections::BTreeMap;

/// More deliveries than are ever picked for at once.
const DELIVERIES_LOOKED_AT: usize = 14;

/// What the packing list, the run card and the sheets are made from.
#[derive(Clone, Debug)]
pub struct PackingList {
    pub closed: Closed,
    pub awards: Vec<Award>,
    pub names: BTreeMap<Id, String>,
    lots: Vec<Lot>,
}

impl PackingList {
    /// The lines of a closed day of which something is promised or delivered.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn load(farm: &mut Farm<'_>, closed: Closed) -> store::Result<PackingList> {
        let awards = lines::live(farm, closed.day).await?;
        PackingList::of(farm, closed, awards).await
    }

    /// Every line that could have a weight, so that one entered as nothing can be corrected.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn load_choices(farm: &mut Farm<'_>, closed: Closed) -> store::Result<PackingList> {
        let awards = deliveries::awards_on(farm.tx, closed.day).await?.into_iter();
        let is_choice = |award: &Award| {
            award.promised.is_positive() || matches!(award.state, State::Full | State::Taken | State::Silent)
        };
        PackingList::of(farm, closed, awards.filter(is_choice).collect()).await
    }

    async fn of(farm: &mut Farm<'_>, closed: Closed, awards: Vec<Award>) -> store::Result<PackingList> {
        let mut names = BTreeMap::new();
        for award in &awards {
            if let Some(buyer) = people::buyer_by_id(farm.tx, award.buyer_id).await? {
                names.insert(buyer.id, buyer.name);
            }
        }
        Ok(PackingList { awards, names, lots: cold_room::lots(farm.tx).await?, closed })
    }

    /// From which lot each line is filled.
    pub fn draws(&self) -> Vec<Draw<'_>> {
        plan(&self.awards, &self.lots, self.closed.day)
    }

    /// What a restaurant gets, one weight a crop: delivered weights where they are known.
    pub fn amounts_of(&self, buyer_id: Id) -> Sums {
        let mut sums = Sums::new();
        for line in self.awards.iter().filter(|award| award.buyer_id == buyer_id) {
            *sums.entry(line.crop.clone()).or_default() += line.delivered.unwrap_or(line.promised);
        }
        sums
    }
}

/// The deliveries whose picking is to be thought of now: the next one, and where the reminder follows the deliveries every one
/// whose time for it has come and whose van has not left.
pub fn to_remind(farm: &Farm<'_>) -> Vec<LocalDate> {
    let coming = farm.calendar.upcoming(farm.now, DELIVERIES_LOOKED_AT).into_iter().map(|delivery| delivery.date);
    match rules::when(&farm.rules.timetable.picking) {
        When::Cron(_) => coming.take(1).collect(),
        When::Before(before) => coming.take_while(|date| before.at(*date, farm.zone()) <= farm.now).collect(),
    }
}

/// What is promised of each crop for a delivery and what of it lies ready; empty when nothing goes out.
///
/// # Errors
/// Whatever the store fails with.
pub async fn to_pick(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<Vec<(String, Grams, Grams)>> {
    let awards = lines::live(farm, day).await?;
    let ready = stock::ready_on(farm, day).await?;
    let promised = supply::promised_by_crop(&awards).into_iter();
    Ok(promised
        .map(|(crop, promised)| {
            let ready = ready.get(&crop).copied().unwrap_or_default();
            (crop, promised, ready)
        })
        .collect())
}

/// What a line can be packed with at most: the stock on the books less what the day's other lines need of it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn most_packed(farm: &mut Farm<'_>, line: &Award) -> store::Result<Grams> {
    let ready = stock::ready_on(farm, line.day).await?.get(&line.crop).copied().unwrap_or_default();
    let awards = deliveries::awards_on(farm.tx, line.day).await?;
    let others = awards.iter().filter(|one| one.id != line.id && one.crop == line.crop && one.delivered.is_none());
    Ok(ready.less(others.map(|one| one.promised).sum()))
}

/// What came of saying that everything is packed as listed.
#[derive(Clone, Debug)]
pub enum AllPacked {
    NoDelivery,
    Already,
    TooEarly,
    /// Also where the van had left and it counted as packed: that is confirmed.
    Done(Box<PackingList>),
}

/// Everything of a day is packed as listed: the run can begin.
///
/// # Errors
/// Whatever the store fails with.
pub async fn all_packed(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<AllPacked> {
    let Some(before) = deliveries::on(farm.tx, day).await? else { return Ok(AllPacked::NoDelivery) };
    if before.delivered_at.is_some() || (before.packed_at.is_some() && !before.is_packing_assumed) {
        return Ok(AllPacked::Already);
    }
    if day > farm.today() {
        return Ok(AllPacked::TooEarly);
    }
    deliveries::mark_packed(farm.tx, day, (farm.now, false)).await?;
    let closed = Closed { packed_at: before.packed_at.or(Some(farm.now)), is_packing_assumed: false, ..before };
    Ok(AllPacked::Done(Box::new(PackingList::load(farm, closed).await?)))
}

/// So much is packed for a line; a restaurant hears at once that it gets less, or more.
///
/// # Errors
/// Whatever the store fails with.
pub async fn pack(
    farm: &mut Farm<'_>,
    by: Id,
    (line, closed): (&Award, &Closed),
    grams: Grams,
) -> store::Result<Vec<Event>> {
    lines::change(farm, line, (award::Event::Pack(grams), Some(by))).await?;
    if grams == line.promised {
        return Ok(Vec::new());
    }
    let theirs = ClosedDay::load(farm, closed).await?.of_buyer(farm.crops, line.buyer_id);
    let occasion = if grams < line.promised { Occasion::Less } else { Occasion::Better };
    Ok(vec![Event::BuyerDay(theirs, occasion)])
}

/// Grams of a lot for a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Draw<'a> {
    pub award: &'a Award,
    /// `None` for what no lot on the books can fill.
    pub lot: Option<&'a Lot>,
    pub grams: Grams,
}

/// Fills the lines that have not gone out, in their order, from the lots good on `day`, in theirs (first to expire
/// first). The draws of a line sum to its promise.
pub fn plan<'a>(awards: &'a [Award], lots: &'a [Lot], day: LocalDate) -> Vec<Draw<'a>> {
    let mut left: Vec<Grams> = lots.iter().map(|lot| lot.left).collect();
    let mut draws = Vec::new();
    for award in awards.iter().filter(|award| award.delivered.is_none()) {
        let mut missing = award.promised;
        for (lot, left) in lots.iter().zip(&mut left) {
            let is_good = lot.crop == award.crop && lot.ready_on <= day && day <= lot.keeps_until;
            let part = left.at_most(missing);
            if is_good && part.is_positive() {
                *left -= part;
                missing -= part;
                draws.push(Draw { award, lot: Some(lot), grams: part });
            }
        }
        if missing.is_positive() {
            draws.push(Draw { award, lot: None, grams: missing });
        }
    }
    draws
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::delivery::award::Source;

    fn day(text: &str) -> LocalDate {
        text.parse().expect("a day")
    }

    fn award(id: i64, crop: &str, grams: i64) -> Award {
        Award {
            id: Id::new(id),
            buyer_id: Id::new(id),
            day: day("2026-06-04"),
            crop: crop.into(),
            source: Source::Once,
            asked: Grams::new(grams),
            promised: Grams::new(grams),
            delivered: None,
            is_assumed: false,
            state: State::Full,
        }
    }

    fn lot(id: i64, crop: &str, (ready_on, keeps_until): (&str, &str), grams: i64) -> Lot {
        Lot {
            id: Id::new(id),
            crop: crop.into(),
            flush_id: None,
            picked_on: day(ready_on),
            ready_on: day(ready_on),
            keeps_until: day(keeps_until),
            picked: Grams::new(grams),
            left: Grams::new(grams),
        }
    }

    #[test]
    fn the_first_to_expire_goes_out_first() {
        let awards = [award(1, "oyster", 1500), award(2, "oyster", 1000), award(3, "shiitake", 500)];
        let lots = [
            lot(1, "oyster", ("2026-05-30", "2026-06-03"), 900),
            lot(2, "oyster", ("2026-06-01", "2026-06-05"), 1000),
            lot(3, "oyster", ("2026-06-02", "2026-06-06"), 800),
            lot(4, "shiitake", ("2026-06-05", "2026-06-14"), 500),
        ];
        let draws = plan(&awards, &lots, day("2026-06-04"));
        let found: Vec<_> = draws
            .iter()
            .map(|draw| (draw.award.id.get(), draw.lot.map(|lot| lot.id.get()), draw.grams.get()))
            .collect();
        assert_eq!(
            found,
            [(1, Some(2), 1000), (1, Some(3), 500), (2, Some(3), 300), (2, None, 700), (3, None, 500)],
            "lot 1 is too old and lot 4 not cooled through"
        );
    }
}
