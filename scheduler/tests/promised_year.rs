//! Simulated years at promise level 0.8: on farms whose true parameters differ from the priors, every Tuesday's promise is taken
//! from joint draws of both crops, and the Thursday is held against it. Orders always exceed the harvest, so the level decides.

#![allow(clippy::unwrap_used, reason = "a test stops where a step fails")]

#[path = "harvest_honesty/farm.rs"]
mod farm;

use chrono::Duration;
use farm::{Truth, WEEKS, farm, first_day};
use scheduler::allotment::promise::chance_all_hold;
use scheduler::allotment::{Claim, DayDraws, Lot, SupplyDraws, Terms, promise_day};
use scheduler::clock::LocalDate;
use scheduler::harvest::batch::FlushFacts;
use scheduler::harvest::forecast::{Request, forecast, with_following_flushes};
use scheduler::harvest::learn::learn;
use scheduler::harvest::prior::built_in;
use scheduler::id::Id;
use scheduler::quantity::Grams;

const FARMS: u64 = 20;
const FIRST_SEED: u64 = 7_100;
/// The first half of a season teaches the farm itself; the year after it is counted.
const WEEKS_BEFORE: i64 = 52;
const DRAWS: usize = 500;
const LEVEL: f64 = 0.8;
/// Days a pick is sold on; older ones have gone to the market.
const KEEPS_DAYS: i64 = 5;

/// A year of one farm: delivery days, those kept whole, grams picked for them and grams not promised.
#[derive(Default)]
struct Year {
    days: u32,
    kept: u32,
    there_g: i64,
    unpromised_g: i64,
}

/// What is picked of a crop on a day in truth.
fn picked(all: &[Truth], crop: &str, day: LocalDate) -> Grams {
    let of_crop = all.iter().filter(|truth| truth.facts.crop.as_str() == crop);
    of_crop.flat_map(|truth| &truth.picks).filter(|pick| pick.0 == day).map(|pick| pick.1).sum()
}

/// Four restaurants, each asking for more of both crops than a quarter of what could ever be there.
fn claims(crops: &[String], thursday: LocalDate, most: &[Grams]) -> Vec<Claim> {
    let of_crop = |(place, crop): (usize, &String)| {
        let (crop, grams) = (crop.clone(), Grams::new(most[place].get() / 2 + 1000));
        (0..4).map(move |buyer| Claim {
            id: Id::new(buyer * 10 + place as i64),
            buyer: Id::new(buyer),
            date: thursday,
            crop: crop.clone(),
            grams,
            smallest_useful: Grams::new(250),
            pack_step: Grams::new(250),
            swaps: Vec::new(),
            tier: 0,
            weight: 1,
        })
    };
    crops.iter().enumerate().flat_map(of_crop).collect()
}

fn year(seed: u64) -> Year {
    let all = farm(seed);
    let priors = built_in();
    let crops: Vec<String> = priors.iter().map(|prior| prior.crop.key.as_str().to_owned()).collect();
    let mut learned = learn(&priors, &[], first_day());
    let mut year = Year::default();
    for week in WEEKS_BEFORE..WEEKS {
        let tuesday = first_day() + Duration::days(week * 7 + 1);
        let thursday = tuesday + Duration::days(2);
        let mut known: Vec<FlushFacts> = all.iter().filter_map(|truth| truth.known_on(tuesday)).collect();
        known.sort_by_key(|facts| facts.begun_on());
        if week % 4 == 0 {
            learned = learn(&priors, &known, tuesday);
        }
        let flushes = with_following_flushes(&known, &learned);
        let seed = seed + week as u64;
        let drawn =
            forecast(&Request { flushes: &flushes, learned: &learned, today: tuesday, days: 3, draws: DRAWS, seed });
        let (mut lots, mut rows, mut truth) = (Vec::new(), vec![Vec::new(); DRAWS], Vec::new());
        for (place, prior) in priors.iter().enumerate() {
            for day in (-KEEPS_DAYS..2).map(|ahead| tuesday + Duration::days(ahead)) {
                let there = picked(&all, &crops[place], day);
                lots.push(Lot {
                    id: Id::new(lots.len() as i64),
                    crop: crops[place].clone(),
                    available_from: thursday,
                    keeps_until: thursday,
                    grams: Grams::ZERO,
                });
                truth.push(there);
                let ahead = (day - tuesday).num_days();
                let index = drawn.crop_index(prior.crop.key);
                for (draw, row) in rows.iter_mut().enumerate() {
                    row.push(match (index, usize::try_from(ahead)) {
                        (_, Err(_)) => there,
                        (Some(index), Ok(ahead)) => Grams::new(drawn.daily(index, draw)[ahead] as i64),
                        (None, Ok(_)) => Grams::ZERO,
                    });
                }
            }
        }
        let draws = SupplyDraws { lots: &lots, rows: &rows };
        let left = DayDraws::left_for(thursday, &crops, draws, &[]);
        let most: Vec<Grams> = crops.iter().map(|crop| left.quantile(crop, 1.0)).collect();
        let claims = claims(&crops, thursday, &most);
        let terms = Terms { rotation: week as u64, ..Terms::default() };
        let promise = promise_day(&left, (&claims, &[]), LEVEL, &terms);
        assert!(promise.holds >= LEVEL);
        let there: Grams = truth.iter().copied().sum();
        let promised: Grams = promise.allotment.awards.iter().map(|award| award.given).sum();
        let truth = SupplyDraws { lots: &lots, rows: &[truth] };
        year.days += 1;
        year.kept += u32::from(chance_all_hold(&truth, &claims, &promise.allotment) == 1.0);
        year.there_g += there.get();
        year.unpromised_g += there.less(promised).get();
    }
    year
}

#[test]
fn years_at_level_four_fifths_keep_four_days_of_five_whole() {
    let seeds: Vec<u64> = (0..FARMS).map(|farm| FIRST_SEED + 200 * farm).collect();
    let years: Vec<Year> = std::thread::scope(|scope| {
        let halves: Vec<_> = seeds
            .chunks(seeds.len().div_ceil(2))
            .map(|half| scope.spawn(move || half.iter().map(|&seed| year(seed)).collect::<Vec<_>>()))
            .collect();
        halves.into_iter().flat_map(|half| half.join().unwrap()).collect()
    });
    let mut whole = Year::default();
    for year in &years {
        println!(
            "{} of {} delivery days kept whole, {:.1} % of the harvest not promised",
            year.kept,
            year.days,
            100.0 * year.unpromised_g as f64 / year.there_g as f64
        );
        whole.days += year.days;
        whole.kept += year.kept;
        whole.there_g += year.there_g;
        whole.unpromised_g += year.unpromised_g;
    }
    let kept = f64::from(whole.kept) / f64::from(whole.days);
    let left = whole.unpromised_g as f64 / whole.there_g as f64;
    println!("in all {kept:.3} kept whole, {left:.3} not promised");
    assert!((0.77..=0.86).contains(&kept), "{kept}");
    assert!(left > 0.0 && left < 0.3, "{left}");
}
