//! The facts of a flush, and what is wrong with them. A fault is a value a person can be told, never a panic; a flush
//! with a fault is set aside by the forecast and by learning.

use crate::clock::LocalDate;
use crate::crop::CropKey;
use crate::harvest::prior::{CropPrior, FLUSHES_MAX};
use crate::id::Id;
use crate::quantity::Grams;

/// No flush gives more fresh weight than this many times its dry substrate: the best whole crops on record reach 1.35
/// (Pettipher 1988), so more is a slip of the scale or of the thumb.
pub const BIOLOGICAL_EFFICIENCY_MAX: i64 = 3;

/// When a flush begins: soaked (shiitake), or opened or started again (oyster).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Start {
    /// It was started on this day.
    Begun(LocalDate),
    /// It will be started on this day.
    Planned(LocalDate),
    /// The flush before had its last pick on this day; the units rest.
    RestingSince(LocalDate),
    /// It comes after another flush of the same forecast, and its rest.
    After(Id),
    /// Nobody has said.
    Unknown,
}

/// One flush of a batch, as the record has it.
#[derive(Clone, Debug, PartialEq)]
pub struct FlushFacts {
    pub id: Id,
    /// The flushes of one batch share this.
    pub batch: Id,
    pub crop: CropKey,
    /// 1 for the first.
    pub number: u8,
    pub room: Id,
    /// Blocks or bags at the beginning.
    pub units: u32,
    /// Of these, taken out (mould, accident).
    pub lost_units: u32,
    pub dry_grams_per_unit: Grams,
    pub start: Start,
    pub pins_seen_on: Option<LocalDate>,
    /// Day and weight of each pick, in any order.
    pub picked: Vec<(LocalDate, Grams)>,
    /// Nothing more is expected of it.
    pub closed: bool,
    /// Mean room temperature since the start, °C, where the farm knows it.
    pub room_temperature_c: Option<f64>,
}

/// What is wrong with a flush or with a pick someone wants to record.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    UnknownCrop(CropKey),
    /// The crop has so many flushes only.
    NoSuchFlush {
        number: u8,
        flushes: usize,
    },
    NoUnits,
    NoSubstrate,
    MoreLostThanThere {
        lost: u32,
        units: u32,
    },
    /// A pick or pins, but nobody has said when it was started.
    NotStarted,
    StartInFuture {
        started_on: LocalDate,
        today: LocalDate,
    },
    PinsBeforeStart {
        pins_on: LocalDate,
        started_on: LocalDate,
    },
    PinsInFuture {
        pins_on: LocalDate,
        today: LocalDate,
    },
    PickBeforeStart {
        picked_on: LocalDate,
        started_on: LocalDate,
    },
    PickInFuture {
        picked_on: LocalDate,
        today: LocalDate,
    },
    NegativePick {
        weight: Grams,
    },
    /// The picks of this flush would weigh more than its substrate can give.
    TooHeavy {
        total: Grams,
        limit: Grams,
    },
}

impl FlushFacts {
    /// The day it was started, where it was.
    pub fn begun_on(&self) -> Option<LocalDate> {
        match self.start {
            Start::Begun(day) => Some(day),
            _ => None,
        }
    }

    /// Dry substrate of the units still there.
    pub fn dry_grams(&self) -> Grams {
        let left = i64::from(self.units.saturating_sub(self.lost_units));
        self.dry_grams_per_unit.checked_times(left).unwrap_or(Grams::new(i64::MAX))
    }

    /// Everything picked.
    pub fn picked_grams(&self) -> Grams {
        self.picked.iter().map(|&(_, weight)| weight).sum()
    }

    /// First and last day on which something was picked.
    pub fn pick_days(&self) -> Option<(LocalDate, LocalDate)> {
        let days = || self.picked.iter().filter(|(_, weight)| weight.is_positive()).map(|&(day, _)| day);
        Some((days().min()?, days().max()?))
    }

    /// The first fault found, or `None`.
    pub fn fault(&self, priors: &[CropPrior], today: LocalDate) -> Option<Fault> {
        let Some(prior) = priors.iter().find(|prior| prior.crop.key == self.crop) else {
            return Some(Fault::UnknownCrop(self.crop));
        };
        let flushes = prior.flushes.len().min(FLUSHES_MAX);
        if self.number == 0 || usize::from(self.number) > flushes {
            return Some(Fault::NoSuchFlush { number: self.number, flushes });
        }
        if self.units == 0 {
            return Some(Fault::NoUnits);
        }
        if self.lost_units > self.units {
            return Some(Fault::MoreLostThanThere { lost: self.lost_units, units: self.units });
        }
        if !self.dry_grams_per_unit.is_positive() {
            return Some(Fault::NoSubstrate);
        }
        if let Start::Begun(started_on) = self.start
            && started_on > today
        {
            return Some(Fault::StartInFuture { started_on, today });
        }
        self.fault_in_pins(today).or_else(|| {
            let picked = self.picked.iter().try_fold(Grams::ZERO, |before, &(day, weight)| {
                match self.fault_in_pick_after(before, (day, weight), today) {
                    Some(fault) => Err(fault),
                    None => Ok(before + weight),
                }
            });
            picked.err()
        })
    }

    /// What is wrong with recording one more pick, or `None` when it may be recorded.
    pub fn fault_in_pick(&self, picked_on: LocalDate, weight: Grams, today: LocalDate) -> Option<Fault> {
        self.fault_in_pick_after(self.picked_grams(), (picked_on, weight), today)
    }

    fn fault_in_pins(&self, today: LocalDate) -> Option<Fault> {
        let pins_on = self.pins_seen_on?;
        let Some(started_on) = self.begun_on() else { return Some(Fault::NotStarted) };
        if pins_on < started_on {
            return Some(Fault::PinsBeforeStart { pins_on, started_on });
        }
        (pins_on > today).then_some(Fault::PinsInFuture { pins_on, today })
    }

    fn fault_in_pick_after(
        &self,
        before: Grams,
        (picked_on, weight): (LocalDate, Grams),
        today: LocalDate,
    ) -> Option<Fault> {
        let Some(started_on) = self.begun_on() else { return Some(Fault::NotStarted) };
        if weight < Grams::ZERO {
            return Some(Fault::NegativePick { weight });
        }
        if picked_on < started_on {
            return Some(Fault::PickBeforeStart { picked_on, started_on });
        }
        if picked_on > today {
            return Some(Fault::PickInFuture { picked_on, today });
        }
        // Lost units may have given something before they were lost: the limit counts them.
        let dry = self.dry_grams_per_unit.checked_times(i64::from(self.units)).unwrap_or(Grams::new(i64::MAX));
        let limit = dry.checked_times(BIOLOGICAL_EFFICIENCY_MAX).unwrap_or(Grams::new(i64::MAX));
        let total = before + weight;
        (total > limit).then_some(Fault::TooHeavy { total, limit })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where a step fails")]
mod tests {
    use super::*;
    use crate::harvest::prior::built_in;

    fn day(text: &str) -> LocalDate {
        text.parse().unwrap()
    }

    fn blocks() -> FlushFacts {
        FlushFacts {
            id: Id::new(1),
            batch: Id::new(1),
            crop: "shiitake".parse().unwrap(),
            number: 1,
            room: Id::new(9),
            units: 40,
            lost_units: 2,
            dry_grams_per_unit: Grams::new(900),
            start: Start::Begun(day("2027-03-01")),
            pins_seen_on: Some(day("2027-03-06")),
            picked: vec![(day("2027-03-11"), Grams::new(4_000))],
            closed: false,
            room_temperature_c: None,
        }
    }

    #[test]
    fn faults_are_named() {
        let today = day("2027-03-12");
        let check = |change: &dyn Fn(&mut FlushFacts), wanted: Option<Fault>| {
            let mut facts = blocks();
            change(&mut facts);
            assert_eq!(facts.fault(&built_in(), today), wanted);
        };
        let started_on = day("2027-03-01");
        check(&|_| (), None);
        check(&|f| f.number = 5, Some(Fault::NoSuchFlush { number: 5, flushes: 4 }));
        check(&|f| f.number = 0, Some(Fault::NoSuchFlush { number: 0, flushes: 4 }));
        check(&|f| f.units = 0, Some(Fault::NoUnits));
        check(&|f| f.lost_units = 41, Some(Fault::MoreLostThanThere { lost: 41, units: 40 }));
        check(&|f| f.dry_grams_per_unit = Grams::ZERO, Some(Fault::NoSubstrate));
        check(&|f| f.start = Start::Unknown, Some(Fault::NotStarted));
        check(
            &|f| f.start = Start::Begun(day("2027-03-13")),
            Some(Fault::StartInFuture { started_on: day("2027-03-13"), today }),
        );
        let pins_on = day("2027-02-28");
        check(&|f| f.pins_seen_on = Some(pins_on), Some(Fault::PinsBeforeStart { pins_on, started_on }));
        let picked_on = day("2027-02-27");
        check(&|f| f.picked[0].0 = picked_on, Some(Fault::PickBeforeStart { picked_on, started_on }));
        check(&|f| f.picked[0].1 = Grams::new(-1), Some(Fault::NegativePick { weight: Grams::new(-1) }));
        // 40 × 900 g dry, ten times that picked: refused; the limit is three times.
        let (total, limit) = (Grams::new(360_000), Grams::new(108_000));
        check(&|f| f.picked[0].1 = total, Some(Fault::TooHeavy { total, limit }));
        let nameko = "nameko".parse().unwrap();
        check(&|f| f.crop = nameko, Some(Fault::UnknownCrop(nameko)));
    }

    #[test]
    fn a_new_pick_is_weighed_with_those_before() {
        let today = day("2027-03-12");
        assert_eq!(blocks().fault_in_pick(today, Grams::new(104_000), today), None);
        let limit = Grams::new(108_000);
        assert_eq!(
            blocks().fault_in_pick(today, Grams::new(104_001), today),
            Some(Fault::TooHeavy { total: Grams::new(108_001), limit })
        );
    }
}
