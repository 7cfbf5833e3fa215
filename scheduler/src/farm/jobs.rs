//! What falls due again and again, by the farm's timetable. Rule: every delivery has a cut-off, a reminder to pick and a packing
//! list, each in time; a timetable that leaves one out is refused.

use super::rules::{Rules, when};
use crate::clock::{LocalDate, UtcSeconds};
use crate::delivery::calendar::Calendar;
use crate::timetable::{DeliveryDates, Expression, Job, Recurring, Rhythm, When};
use chrono::{Days, Weekday};
use chrono_tz::Tz;

/// Seven days: a cut-off that comes earlier belongs to another delivery.
const WEEK_SECONDS: i64 = 7 * 24 * 3600;
/// Weeks over which a timetable is looked at, from the first Monday of 2026 on: every date of a month on every weekday.
const WEEKS_CHECKED: u64 = 54;

/// Every job of the timetable.
///
/// # Panics
/// When the rules have not passed [`Rules::check`].
pub fn recurring(rules: &Rules, zone: Tz) -> Vec<Recurring> {
    let calendar = rules.calendar(zone);
    let useful_minutes = |job| match job {
        // A late cut-off still has to close the orders before the van leaves.
        Job::Cutoff => 36 * 60,
        Job::Picking | Job::Packing | Job::Morning => 10 * 60,
        _ => 24 * 60,
    };
    let times = &rules.timetable;
    let own = |weekday: Weekday| calendar.cutoff_of.contains_key(&weekday);
    let usual = calendar.dates.clone().only(|weekday| !own(weekday));
    let mut rhythms = vec![
        (Job::Cutoff, Rhythm::of(&calendar.cutoff, usual)),
        (Job::Picking, Rhythm::of(&when(&times.picking), calendar.dates.clone())),
        (Job::Packing, Rhythm::of(&when(&times.packing), calendar.dates.clone())),
        (Job::Count, Rhythm::of(&when(&times.count), calendar.dates.clone().with_closed())),
        (Job::Morning, Rhythm::of(&when(&times.morning), DeliveryDates::default())),
        (Job::Tidying, Rhythm::Cron(Box::new(Expression::parse("30 3 * * *").expect("an expression")))),
    ];
    rhythms.extend(calendar.cutoff_of.iter().map(|(own, when)| {
        let theirs = calendar.dates.clone().only(|weekday| weekday == *own);
        (Job::Cutoff, Rhythm::of(when, theirs))
    }));
    let recurring = |(job, rhythm)| Recurring { job, rhythm, useful_minutes: useful_minutes(job) };
    rhythms.into_iter().map(recurring).collect()
}

/// Whether every delivery has what it needs, in time.
///
/// # Errors
/// Which delivery has not, and why, in words.
///
/// # Panics
/// When the rules have not passed [`Rules::check`].
pub fn check(rules: &Rules, zone: Tz) -> Result<(), String> {
    let calendar = rules.calendar(zone);
    let (picking, packing) = (when(&rules.timetable.picking), when(&rules.timetable.packing));
    let monday: LocalDate = LocalDate::from_ymd_opt(2026, 1, 5).expect("a date");
    let usual = calendar.dates_between(monday, monday + Days::new(7 * WEEKS_CHECKED));
    for date in usual.into_iter().chain(rules.delivery.extra.iter().copied()) {
        check_delivery(&calendar, (&picking, &packing), date)?;
    }
    Ok(())
}

fn check_delivery(calendar: &Calendar, (picking, packing): (&When, &When), date: LocalDate) -> Result<(), String> {
    let (zone, departs_at) = (calendar.zone, calendar.departure(date));
    let of = format!("the delivery of {} {date}", date.format("%a"));
    let Some(cutoff_at) = calendar.cutoff_for(date) else {
        return Err(format!(
            "{of}: orders would close after the van left, at {}; set timetable.cutoff",
            calendar.departure_time
        ));
    };
    if departs_at.since(cutoff_at) > WEEK_SECONDS {
        return Err(format!("{of}: its orders would close more than a week before; set timetable.cutoff"));
    }
    let before = |at: Option<UtcSeconds>| at.filter(|at| *at < departs_at);
    match before(picking.last_before(date, departs_at, zone)) {
        Some(at) if at >= cutoff_at => {}
        _ => {
            return Err(format!(
                "{of}: nobody would be told what to pick, or before its orders close; set timetable.picking to a time between \
                 its cut-off and the van's leaving"
            ));
        }
    }
    match before(packing.last_before(date, departs_at, zone)) {
        Some(at) if at.local_date(zone) == date && at >= cutoff_at => Ok(()),
        _ => Err(format!("{of}: no packing list would come on that day before the van leaves; set timetable.packing")),
    }
}
