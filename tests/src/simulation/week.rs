//! What people do in a week, and when: the farm's work, orders and answers, and much that nobody planned.

use super::chance::Chance;
use super::setting::{BUYERS, DRIVER, GROWER, KEEPER, PANTRIES, STRANGER};
use std::collections::BTreeMap;

/// One thing somebody does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Deed {
    Say(i64, String),
    /// Says something and presses the first button of the answer.
    SayAndAgree(i64, String),
    /// Orders so many grams of a crop for the coming delivery.
    Order(i64, &'static str, i64),
    /// Presses a button of the last messages: the first one so often in a hundred times, else any.
    Press(i64, u32),
    PressInGroup(i64, u32),
    /// Presses the newest button whose label begins so.
    PressNamed(i64, &'static str),
    /// Presses "+" of the order card so many times, so many milliseconds apart.
    PressQuickly(i64, u32, u64),
    /// Starts a batch.
    Batch(&'static str),
    Block(i64),
    Return(i64),
    DeleteMessage(i64),
    MigrateGroup,
    /// So many strangers write at once, and this contact right after them.
    Strangers(i64, i64),
    /// A row is written that makes one job fail until the end of the day.
    Poison,
}

impl Deed {
    /// Who of the family is to do it, and may forget it.
    fn owed_by(&self) -> Option<i64> {
        let (Deed::Say(who, _)
        | Deed::SayAndAgree(who, _)
        | Deed::Press(who, _)
        | Deed::PressInGroup(who, _)
        | Deed::PressNamed(who, _)) = self
        else {
            return None;
        };
        [KEEPER, GROWER, DRIVER].contains(who).then_some(*who)
    }
}

/// Minutes from Monday 00:00 local, and what is done then.
pub type Plan = Vec<(i64, Deed)>;

fn at(day: i64, hour: i64, minute: i64) -> i64 {
    (day * 24 + hour) * 60 + minute
}

/// The week's plan.
pub fn plan(week: u32, chance: &mut Chance) -> Plan {
    let mut plan = Plan::new();
    growing(week, chance, &mut plan);
    ordering(week, chance, &mut plan);
    delivering(chance, &mut plan);
    giving(chance, &mut plan);
    mishaps(chance, &mut plan);
    for (minute, _) in &mut plan {
        *minute += chance.between(0, 25);
    }
    plan.sort_by_key(|(minute, _)| *minute);
    plan
}

/// Minutes of one errand: whoever forgets the run forgets all of its buttons.
const ERRAND_MINUTES: i64 = 6 * 60;

/// The family forgets errands, so many times in a hundred; how many things that were to be pressed or said.
pub fn forget(plan: &mut Plan, chance: &mut Chance, percent: u32) -> u64 {
    let planned = plan.len();
    let mut forgotten: BTreeMap<(i64, i64), bool> = BTreeMap::new();
    plan.retain(|(minute, deed)| {
        let Some(who) = deed.owed_by() else { return true };
        let errand = (who, minute / ERRAND_MINUTES);
        !*forgotten.entry(errand).or_insert_with(|| chance.percent(percent))
    });
    u64::try_from(planned - plan.len()).unwrap_or_default()
}

fn growing(week: u32, chance: &mut Chance, plan: &mut Plan) {
    if week == 0 || chance.percent(50) {
        plan.push((at(0, 6, 0), Deed::Batch("shiitake")));
        plan.push((at(0, 6, 30), Deed::SayAndAgree(GROWER, "soaked 40 blocks".into())));
    }
    if week == 0 || chance.percent(40) {
        plan.push((at(0, 6, 40), Deed::Batch("oyster")));
        plan.push((at(0, 7, 10), Deed::SayAndAgree(GROWER, "opened 20 bags".into())));
    }
    for day in 0..6 {
        for crop in ["shiitake", "oyster"] {
            // A week's harvest around what is asked: some are short, some leave a surplus.
            if chance.percent(45) {
                let kilograms = chance.between(1, 9);
                plan.push((at(day, 8, 0), Deed::SayAndAgree(GROWER, format!("picked {kilograms} kg {crop}"))));
            }
        }
    }
    if chance.percent(40) {
        plan.push((at(chance.between(0, 5), 11, 0), Deed::Say(GROWER, "/shelves".into())));
        plan.push((at(5, 11, 30), Deed::Press(GROWER, 20)));
        plan.push((at(5, 11, 59), Deed::Press(GROWER, 20)));
    }
    if chance.percent(20) {
        plan.push((at(2, 12, 0), Deed::SayAndAgree(GROWER, "pins on the shiitake".into())));
    }
}

fn ordering(week: u32, chance: &mut Chance, plan: &mut Plan) {
    for buyer in BUYERS {
        let hour = chance.between(8, 17);
        if week == 0 && chance.percent(40) {
            let text = match buyer {
                2011 | 2002 => "cada jueves 2 kg de shiitake",
                2013 => "co czwartek 2 kg shiitake",
                _ => "every Thursday 2 kg oyster",
            };
            plan.push((at(0, hour, 0), Deed::SayAndAgree(buyer, text.into())));
        }
        for crop in ["shiitake", "oyster"] {
            if chance.percent(55) {
                let grams = chance.between(2, 16) * 500;
                plan.push((at(chance.between(0, 1), hour, 10), Deed::Order(buyer, crop, grams)));
            }
        }
        if chance.percent(25) {
            let text = chance.pick(&["/order", "/orders", "/standing"]);
            plan.push((at(1, hour, 20), Deed::Say(buyer, (*text).into())));
            plan.push((at(1, hour, 30), Deed::Press(buyer, 20)));
            plan.push((at(1, hour, 40), Deed::Press(buyer, 20)));
        }
        if chance.percent(20) {
            let (times, gap_ms) = (chance.between(2, 8), *chance.pick(&[150, 400, 800, 1600]));
            let times = u32::try_from(times).unwrap_or(2);
            plan.push((at(chance.between(0, 1), hour, 45), Deed::PressQuickly(buyer, times, gap_ms)));
        }
        if chance.percent(10) {
            plan.push((at(1, hour, 50), Deed::SayAndAgree(buyer, "skip Thursday".into())));
        }
        // Answers to a shortage, if there is one; some stay silent.
        if chance.percent(60) {
            plan.push((at(1, chance.between(18, 23), 5), Deed::Press(buyer, 40)));
        }
        if chance.percent(40) {
            plan.push((at(2, chance.between(6, 9), 5), Deed::Press(buyer, 30)));
        }
        // Offers of what is left.
        if chance.percent(60) {
            plan.push((at(3, chance.between(14, 22), 0), Deed::Press(buyer, 40)));
        }
    }
}

fn delivering(chance: &mut Chance, plan: &mut Plan) {
    if chance.percent(80) {
        plan.push((at(3, 6, 5), Deed::Press(GROWER, 70)));
        plan.push((at(3, 6, 5), Deed::PressInGroup(GROWER, 70)));
    }
    if chance.percent(25) {
        // A pick of the days before was written down twice, and somebody sees it at the packing table.
        plan.push((at(3, 5, 58), Deed::PressNamed(GROWER, "Undo")));
    }
    if chance.percent(30) {
        plan.push((at(3, 6, 40), Deed::Say(KEEPER, "/packing".into())));
        plan.push((at(3, 6, 50), Deed::Press(KEEPER, 40)));
    }
    plan.push((at(3, 8, 30), Deed::Say(DRIVER, "/run".into())));
    for minute in [0, 20, 40, 55] {
        plan.push((at(3, 9, minute), Deed::Press(DRIVER, 60)));
    }
    if chance.percent(20) {
        plan.push((at(3, 9, 30), Deed::Say(DRIVER, "1.5 kg".into())));
    }
}

fn giving(chance: &mut Chance, plan: &mut Plan) {
    for minute in [30, 40, 50] {
        plan.push((at(3, 13, minute), Deed::Press(KEEPER, 30)));
    }
    plan.push((at(3, 20, 0), Deed::Press(KEEPER, 50)));
    for pantry in PANTRIES {
        if chance.percent(75) {
            plan.push((at(3, chance.between(13, 18), 50), Deed::Press(pantry, 80)));
            plan.push((at(4, chance.between(7, 10), 0), Deed::Press(pantry, 80)));
        }
    }
    for (day, hour) in [(3, 14), (5, 8)] {
        if chance.percent(60) {
            plan.push((at(day, hour, 0), Deed::Say(KEEPER, "/left".into())));
            plan.push((at(day, hour, 30), Deed::PressNamed(KEEPER, "Give")));
        }
    }
    for hour in [12, 18] {
        plan.push((at(4, hour, 0), Deed::Say(DRIVER, "/drops".into())));
        plan.push((at(4, hour, 30), Deed::Press(DRIVER, 90)));
        plan.push((at(4, hour + 1, 0), Deed::Press(DRIVER, 90)));
    }
    plan.push((at(5, 7, 15), Deed::Say(KEEPER, "/left".into())));
    for minute in [30, 40, 50] {
        plan.push((at(5, 7, minute), Deed::Press(KEEPER, 20)));
    }
    plan.push((at(5, 11, 0), Deed::Say(DRIVER, "/drops".into())));
    plan.push((at(5, 11, 30), Deed::Press(DRIVER, 90)));
    plan.push((at(5, 12, 0), Deed::Press(DRIVER, 90)));
    if chance.percent(30) {
        plan.push((at(5, 14, 0), Deed::SayAndAgree(KEEPER, "back with 1 kg oyster".into())));
    }
    if chance.percent(30) {
        let text = chance.pick(&["/today", "/forecast", "/given", "/plan", "/people"]);
        plan.push((at(6, 10, 0), Deed::Say(KEEPER, (*text).into())));
    }
}

fn mishaps(chance: &mut Chance, plan: &mut Plan) {
    let when = |chance: &mut Chance| at(chance.between(0, 6), chance.between(6, 21), 0);
    if chance.percent(20) {
        let text = chance.pick(&["hello", "/start abcdef", "/orders", "5 kg shiitake for Thursday"]);
        plan.push((when(chance), Deed::Say(STRANGER, (*text).into())));
    }
    if chance.percent(15) {
        let who = *chance.pick(&[BUYERS[1], BUYERS[4], PANTRIES[1], GROWER]);
        let minute = at(chance.between(0, 4), chance.between(6, 21), 0);
        plan.push((minute, Deed::Block(who)));
        plan.push((minute + chance.between(60, 2000), Deed::Return(who)));
    }
    for _ in 0..chance.between(0, 2) {
        let who = *chance.pick(&[KEEPER, DRIVER, BUYERS[0], BUYERS[2], BUYERS[3]]);
        plan.push((when(chance), Deed::DeleteMessage(who)));
    }
    if chance.percent(25) {
        plan.push((when(chance), Deed::MigrateGroup));
    }
    if chance.percent(25) {
        let (count, who) = (chance.between(20, 60), *chance.pick(&BUYERS));
        plan.push((when(chance), Deed::Strangers(count, who)));
    }
    if chance.percent(20) {
        plan.push((when(chance), Deed::Poison));
    }
    if chance.percent(30) {
        // Somebody presses or says what is not theirs.
        let who = *chance.pick(&BUYERS);
        let text = chance.pick(&["/left", "/run", "/people", "all delivered", "qwertz", ""]);
        plan.push((when(chance), Deed::Say(who, (*text).into())));
    }
}
