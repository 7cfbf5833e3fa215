//! Which food-bank partner is asked next. Rule: who can take it in time (open, not full, cold enough, a weight it takes),
//! then the greater need, then whose turn it is (longest without a drop), then the shorter way, then the older entry.
//! Whoever declines, is full or stays silent is passed over, and the next is asked.

use super::opening::{Hours, Window};
use crate::clock::{LocalDate, UtcSeconds};
use crate::id::Id;
use crate::quantity::Grams;
use chrono_tz::Tz;
use std::cmp::Reverse;

/// Minutes a partner must still be open when the driver arrives. Common practice, no source.
pub const MINUTES_TO_HAND_OVER: i64 = 15;

/// A food bank and what it takes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Partner {
    pub id: Id,
    pub hours: Hours,
    /// Dates on which it is open but takes nothing.
    pub full: Vec<LocalDate>,
    /// The least worth a way, and the greatest it can store.
    pub least: Grams,
    pub greatest: Grams,
    pub crops: Vec<String>,
    /// Whether it can keep food at or below 5 °C (41 °F).
    pub has_cold_store: bool,
    pub minutes_to_get_there: i64,
    /// As the family judges it, the greater the more urgent.
    pub need: u8,
    pub last_drop_at: Option<UtcSeconds>,
}

/// What is to be given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Load {
    /// Crop and weight.
    pub lots: Vec<(String, Grams)>,
    /// When the driver can leave.
    pub ready_at: UtcSeconds,
    /// When it must be handed over at the latest.
    pub hand_over_by: UtcSeconds,
    /// Whether it must stay cold where it goes; fresh mushrooms must, dried ones need not.
    pub needs_cold_store: bool,
    /// Partners who declined, are full or stay silent.
    pub already_asked: Vec<Id>,
}

/// Why a partner is left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeftOut {
    AlreadyAsked,
    NoColdStore,
    TakesNoneOfIt,
    TooLittle {
        accepted: Grams,
        least: Grams,
    },
    ClosedInTime,
    /// It is open in time, but only on dates on which it said it is full.
    FullInTime,
}

/// A partner who can take it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Candidate {
    pub partner: Id,
    /// When the driver can hand over: open, reachable, not too late.
    pub window: Window,
    /// What it would take.
    pub weight: Grams,
}

/// Every partner, ranked or left out.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Ranking {
    /// In the order to ask.
    pub candidates: Vec<Candidate>,
    pub left_out: Vec<(Id, LeftOut)>,
}

/// Ranks `partners` for `load`.
pub fn rank(load: &Load, partners: &[Partner], zone: Tz) -> Ranking {
    let mut ranking = Ranking::default();
    let mut in_order: Vec<&Partner> = partners.iter().collect();
    in_order.sort_by_key(|one| (Reverse(one.need), one.last_drop_at, one.minutes_to_get_there, one.id));
    for partner in in_order {
        match fit(load, partner, zone) {
            Ok(candidate) => ranking.candidates.push(candidate),
            Err(why) => ranking.left_out.push((partner.id, why)),
        }
    }
    ranking
}

fn fit(load: &Load, partner: &Partner, zone: Tz) -> Result<Candidate, LeftOut> {
    if load.already_asked.contains(&partner.id) {
        return Err(LeftOut::AlreadyAsked);
    }
    if load.needs_cold_store && !partner.has_cold_store {
        return Err(LeftOut::NoColdStore);
    }
    let taken = load.lots.iter().filter(|(crop, _)| partner.crops.contains(crop));
    let accepted: Grams = taken.map(|(_, weight)| weight.less(Grams::ZERO)).sum();
    let weight = accepted.at_most(partner.greatest);
    if !weight.is_positive() {
        return Err(LeftOut::TakesNoneOfIt);
    }
    if weight < partner.least {
        return Err(LeftOut::TooLittle { accepted: weight, least: partner.least });
    }
    let there_at = load.ready_at.plus_minutes(partner.minutes_to_get_there);
    let window = |hours: &Hours| hours.next_window(there_at, load.hand_over_by, zone, MINUTES_TO_HAND_OVER);
    match window(&partner.hours.without(&partner.full)) {
        Some(window) => Ok(Candidate { partner: partner.id, window, weight }),
        None if window(&partner.hours).is_some() => Err(LeftOut::FullInTime),
        None => Err(LeftOut::ClosedInTime),
    }
}

#[cfg(test)]
mod tests {
    use super::super::opening::Span;
    use super::*;
    use chrono::Weekday;
    use chrono_tz::America::Chicago;

    fn utc(text: &str) -> UtcSeconds {
        chrono::DateTime::parse_from_rfc3339(text).expect("an instant").into()
    }

    /// Open Saturdays 15:00-18:00, takes 1 to 20 kg of oyster, half an hour away.
    fn partner(id: i64) -> Partner {
        let mut hours = Hours::default();
        hours.set_weekday(Weekday::Sat, vec![Span::new(900, 1080).expect("a span")]).expect("hours");
        Partner {
            id: Id::new(id),
            hours,
            full: vec![],
            least: Grams::new(1000),
            greatest: Grams::new(20_000),
            crops: vec!["oyster".to_owned()],
            has_cold_store: true,
            minutes_to_get_there: 30,
            need: 1,
            last_drop_at: None,
        }
    }

    /// Ready on Saturday 28 November 2026 at 14:00 in Chicago, to be handed over by midnight.
    fn load() -> Load {
        Load {
            lots: vec![("oyster".to_owned(), Grams::new(5000)), ("shiitake".to_owned(), Grams::new(2000))],
            ready_at: utc("2026-11-28T20:00:00Z"),
            hand_over_by: utc("2026-11-29T06:00:00Z"),
            needs_cold_store: true,
            already_asked: vec![],
        }
    }

    fn order(partners: &[Partner]) -> Vec<i64> {
        rank(&load(), partners, Chicago).candidates.iter().map(|one| one.partner.get()).collect()
    }

    #[test]
    fn need_then_turn_then_way_decide() {
        let served = |id, at: &str| Partner { last_drop_at: Some(utc(at)), ..partner(id) };
        let near = Partner { minutes_to_get_there: 5, ..partner(5) };
        let needy = Partner { need: 3, minutes_to_get_there: 120, ..served(6, "2026-11-27T00:00:00Z") };
        let partners =
            [served(1, "2026-11-20T00:00:00Z"), partner(4), served(2, "2026-11-13T00:00:00Z"), near, needy, partner(3)];
        assert_eq!(order(&partners), [6, 5, 3, 4, 2, 1]);
    }

    #[test]
    fn partners_who_cannot_take_it_are_left_out_with_the_reason() {
        let small = Partner { greatest: Grams::new(500), ..partner(3) };
        let full = Partner { full: vec!["2026-11-28".parse().expect("a date")], ..partner(6) };
        let cases = [
            (Partner { has_cold_store: false, ..partner(1) }, LeftOut::NoColdStore),
            (Partner { crops: vec!["lion's mane".to_owned()], ..partner(2) }, LeftOut::TakesNoneOfIt),
            (full, LeftOut::FullInTime),
            (small, LeftOut::TooLittle { accepted: Grams::new(500), least: Grams::new(1000) }),
            (Partner { minutes_to_get_there: 226, ..partner(4) }, LeftOut::ClosedInTime),
            (Partner { hours: Hours::default(), ..partner(5) }, LeftOut::ClosedInTime),
        ];
        for (partner, why) in cases {
            let ranking = rank(&load(), std::slice::from_ref(&partner), Chicago);
            assert_eq!(ranking.left_out, [(partner.id, why)]);
            assert!(ranking.candidates.is_empty());
        }
        let asked = Load { already_asked: vec![Id::new(1)], ..load() };
        assert_eq!(rank(&asked, &[partner(1)], Chicago).left_out, [(Id::new(1), LeftOut::AlreadyAsked)]);
    }

    /// Full on the Saturday, and on the Sunday not: it is asked for the Sunday, where the load keeps so long.
    #[test]
    fn who_is_full_is_passed_over_for_that_date_only() {
        let mut hours = partner(1).hours;
        hours.set_weekday(Weekday::Sun, vec![Span::new(600, 720).expect("a span")]).expect("hours");
        let full = Partner { hours, full: vec!["2026-11-28".parse().expect("a date")], ..partner(1) };
        let other = Partner { last_drop_at: Some(utc("2026-11-27T00:00:00Z")), ..partner(2) };
        let both = [full, other];
        assert_eq!(order(&both), [2]);
        let longer = Load { hand_over_by: utc("2026-11-30T06:00:00Z"), ..load() };
        let found = rank(&longer, &both, Chicago).candidates;
        assert_eq!(found.iter().map(|one| one.partner.get()).collect::<Vec<_>>(), [1, 2]);
        assert_eq!(found[0].window.opens_at, utc("2026-11-29T16:00:00Z"));
    }

    #[test]
    fn a_candidate_has_a_window_the_driver_can_reach_and_a_weight_it_can_store() {
        let small = Partner { greatest: Grams::new(3000), minutes_to_get_there: 90, ..partner(1) };
        let found = rank(&load(), &[small], Chicago).candidates[0];
        assert_eq!(found.weight, Grams::new(3000));
        assert_eq!(found.window.opens_at, utc("2026-11-28T21:30:00Z"));
        assert_eq!(found.window.closes_at, utc("2026-11-29T00:00:00Z"));
    }
}
