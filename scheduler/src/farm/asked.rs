//! What is asked for a delivery day while its orders are open: standing orders on that day and one-off lines.

use super::Farm;
use crate::clock::LocalDate;
use crate::harvest::buyers::{Ask, ask_forecast};
use crate::id::Id;
use crate::orders::recurrence::{Error, Recurrence};
use crate::orders::standing::{Pause, StandingOrder};
use crate::quantity::Grams;
use crate::store;
use crate::store::deliveries::Source;
use crate::store::orders::{self, OneOff, Standing};
use chrono::Duration;
use chrono_tz::Tz;

/// One line of what is asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AskedLine {
    pub buyer_id: Id,
    pub day: LocalDate,
    pub crop: String,
    pub grams: Grams,
    pub source: Source,
    /// The standing order it comes from.
    pub standing_id: Option<Id>,
}

/// A stored standing order with its recurrence read.
///
/// # Errors
/// When the stored recurrence is malformed.
pub fn read_standing(zone: Tz, stored: &Standing) -> Result<StandingOrder, Error> {
    Ok(StandingOrder {
        recurrence: Recurrence::parse(&stored.recurrence, zone)?,
        usual: stored.usual,
        changed: stored.changed.clone(),
        pause: stored.paused.map(|(from, resumes_on)| Pause { from, resumes_on }),
    })
}

/// How far back a standing order's record counts: half a year shows habits and forgets old ones (judged).
const RECORD_DAYS: i64 = 182;

/// What will probably be asked for delivery days from `from` to `to`, both included: as [`between`], but a standing order
/// that was skipped or changed before counts with what its own record lets expect. A date the buyer has changed, or added
/// something to, counts as it stands.
///
/// # Errors
/// Whatever the store fails with.
pub async fn likely_between(farm: &mut Farm<'_>, from: LocalDate, to: LocalDate) -> store::Result<Vec<AskedLine>> {
    let mut lines = between(farm, from, to).await?;
    let today = farm.today();
    let (since, until) = (today - Duration::days(RECORD_DAYS), today - Duration::days(1));
    let before = orders::one_off_between(farm.tx, since, until).await?;
    for stored in orders::all_standing(farm.tx).await? {
        let Ok(order) = read_standing(farm.zone(), &stored) else { continue };
        let Ok(mut record) = order.record_between(since, until, farm.calendar) else { continue };
        for (day, ask) in &mut record {
            if let Ask::Asked { asked, .. } = ask {
                let is_on_top =
                    |line: &&OneOff| line.buyer_id == stored.buyer_id && line.crop == stored.crop && line.day == *day;
                *asked += before.iter().filter(is_on_top).map(|line| line.grams).sum::<Grams>();
            }
        }
        let is_steady = |ask: &Ask| matches!(ask, Ask::Asked { usual, asked } if usual == asked);
        let record: Vec<Ask> = record.into_iter().map(|one| one.1).collect();
        if record.iter().all(is_steady) {
            continue;
        }
        let likely = ask_forecast(stored.usual, &record).mean();
        let spoken: Vec<LocalDate> = lines
            .iter()
            .filter(|line| line.buyer_id == stored.buyer_id && line.crop == stored.crop && line.source == Source::Once)
            .map(|line| line.day)
            .chain(order.changed.keys().copied())
            .collect();
        for line in lines.iter_mut().filter(|line| line.standing_id == Some(stored.id)) {
            if !spoken.contains(&line.day) {
                line.grams = likely;
            }
        }
    }
    Ok(lines)
}

/// Everything asked for delivery days from `from` to `to`, both included. A standing order whose stored recurrence is
/// malformed is left out and logged; `pinset check` names it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn between(farm: &mut Farm<'_>, from: LocalDate, to: LocalDate) -> store::Result<Vec<AskedLine>> {
    let mut lines = Vec::new();
    for stored in orders::all_standing(farm.tx).await? {
        let calls = read_standing(farm.zone(), &stored).and_then(|order| order.calls_between(from, to, farm.calendar));
        match calls {
            Ok(calls) => lines.extend(calls.into_iter().filter_map(|(day, call)| {
                Some(AskedLine {
                    buyer_id: stored.buyer_id,
                    day,
                    crop: stored.crop.clone(),
                    grams: call.weight()?,
                    source: Source::Standing,
                    standing_id: Some(stored.id),
                })
            })),
            Err(error) => tracing::error!(standing_id = stored.id.get(), %error, "standing order left out"),
        }
    }
    lines.extend(orders::one_off_between(farm.tx, from, to).await?.into_iter().map(|line| AskedLine {
        buyer_id: line.buyer_id,
        day: line.day,
        crop: line.crop,
        grams: line.grams,
        source: Source::Once,
        standing_id: None,
    }));
    lines.sort_by(|a, b| (a.day, a.buyer_id, &a.crop, a.source).cmp(&(b.day, b.buyer_id, &b.crop, b.source)));
    Ok(lines)
}
