//! After the messaging service could not be reached: whoever had to answer meanwhile has as much time as before, and the
//! keepers read what waited.

use super::audience::{Audience, gift_card as card};
use super::desk::READ_MINUTES;
use super::giving::gift_letter;
use super::letter::Patience;
use super::shortfall;
use super::surplus::fresh_card;
use super::{Desk, Letter};
use crate::wording::{Args, Voice};
use scheduler::clock::UtcSeconds;
use scheduler::farm::closed_day::{ClosedDay, Occasion};
use scheduler::farm::giving::Gift;
use scheduler::store::deliveries::{self, Closed, State};
use scheduler::store::{self, giving, occurrences, outbox, people, surplus};
use scheduler::surplus::drop::{DropOff, State as Proposal};
use scheduler::surplus::offer::Offer;
use scheduler::timetable::Job;
use std::collections::BTreeMap;

/// While the service is silent, the end of a time to answer is looked at so often.
const LOOK_MINUTES: i64 = 5;
/// A run that nobody could say anything of for so long counts as delivered all the same.
const ASSUMED_MINUTES: i64 = 14 * 24 * 60;

/// A time to answer: from when until when, and the last instant to which it can be put off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AnswerTime {
    pub begins_at: UtcSeconds,
    pub ends_at: UtcSeconds,
    pub latest: UtcSeconds,
}

impl AnswerTime {
    /// The end when the service was silent from `since` until `now`: what was left then is left now. `None` when nothing
    /// changes.
    pub fn after_outage(self, since: UtcSeconds, now: UtcSeconds) -> Option<UtcSeconds> {
        let left_seconds = self.ends_at.since(since.max(self.begins_at));
        let ends_at = now.plus_seconds(left_seconds).min(self.latest);
        (left_seconds > 0 && ends_at > self.ends_at).then_some(ends_at)
    }
}

/// Whether this job ends a time to answer and can wait while the service is silent: until when.
///
/// # Errors
/// Whatever the store fails with.
pub async fn waits(desk: &mut Desk<'_>, job: Job) -> store::Result<Option<UtcSeconds>> {
    let latest = match job {
        Job::AnswersEnd(day) => Some(desk.house.calendar.departure(day)),
        Job::RunAssume(day) => Some(desk.house.calendar.departure(day).plus_minutes(ASSUMED_MINUTES)),
        Job::OfferEnd(offer) => {
            surplus::offer_by_id(&mut desk.tx, offer).await?.map(|offer| time_of_offer(&offer).latest)
        }
        Job::DropAnswerEnd(drop) => match giving::drop_by_id(&mut desk.tx, drop).await? {
            Some(drop) => time_of_drop(desk, &drop).await?.map(|time| time.latest),
            None => None,
        },
        _ => None,
    };
    let then = desk.now.plus_minutes(LOOK_MINUTES);
    Ok(latest.map(|latest| then.min(latest)).filter(|then| *then > desk.now))
}

/// Another end for a time to answer; the key of what ends it does not hold the time.
async fn delay(desk: &mut Desk<'_>, job: Job, until: UtcSeconds) -> store::Result<()> {
    occurrences::delay(&mut desk.tx, &job.key(until), until).await
}

/// Gives everybody who has to answer the time back that an outage since `since` took.
///
/// # Errors
/// Whatever the store fails with.
pub async fn stretch(desk: &mut Desk<'_>, since: UtcSeconds) -> store::Result<()> {
    let today = desk.today();
    for closed in deliveries::from(&mut desk.tx, today).await? {
        if closed.settled_at.is_none() {
            stretch_day(desk, closed, since).await?;
        }
    }
    for offer in surplus::open_offers(&mut desk.tx).await? {
        stretch_offer(desk, offer, since).await?;
    }
    for drop in giving::coming_drops(&mut desk.tx).await? {
        stretch_drop(desk, drop, since).await?;
    }
    Ok(())
}

fn time_of_offer(offer: &Offer) -> AnswerTime {
    // Whoever takes some has to fetch it.
    let latest = offer.collect_until.plus_minutes(-READ_MINUTES).max(offer.deadline);
    AnswerTime { begins_at: offer.made_at, ends_at: offer.deadline, latest }
}

async fn stretch_offer(desk: &mut Desk<'_>, mut offer: Offer, since: UtcSeconds) -> store::Result<()> {
    let Some(deadline) = time_of_offer(&offer).after_outage(since, desk.now) else { return Ok(()) };
    offer.deadline = deadline;
    surplus::put_offer(&mut desk.tx, &offer).await?;
    delay(desk, Job::OfferEnd(offer.id), deadline).await?;
    let claims = surplus::claims_of(&mut desk.tx, offer.id).await?;
    let house = desk.house;
    for (buyer_id, declined_at) in surplus::asked_buyers(&mut desk.tx, offer.id).await? {
        let has_answered = declined_at.is_some() || claims.iter().any(|claim| claim.buyer_id == buyer_id);
        if !has_answered {
            let until = Patience::Until(deadline);
            desk.tell_buyer(buyer_id, |voice| fresh_card(house, voice, &offer).patient(until)).await?;
        }
    }
    Ok(())
}

/// The time in which a food bank can answer a proposal: until the driver has to leave.
async fn time_of_drop(desk: &mut Desk<'_>, drop: &DropOff) -> store::Result<Option<AnswerTime>> {
    let bank = giving::food_bank(&mut desk.tx, drop.partner_id).await?.filter(|_| drop.state() == Proposal::Proposed);
    let Some(bank) = bank else { return Ok(None) };
    let minutes = bank.travel_minutes + desk.house.config.rules.giving.spare_minutes;
    let latest = drop.window.opens_at.plus_minutes(-minutes).max(drop.answer_by);
    Ok(Some(AnswerTime { begins_at: drop.proposed_at, ends_at: drop.answer_by, latest }))
}

async fn stretch_drop(desk: &mut Desk<'_>, mut drop: DropOff, since: UtcSeconds) -> store::Result<()> {
    let time = time_of_drop(desk, &drop).await?;
    let Some(answer_by) = time.and_then(|time| time.after_outage(since, desk.now)) else { return Ok(()) };
    drop.answer_by = answer_by;
    giving::put_drop(&mut desk.tx, &drop).await?;
    delay(desk, Job::DropAnswerEnd(drop.id), answer_by).await?;
    let Some(bank) = giving::food_bank(&mut desk.tx, drop.partner_id).await? else { return Ok(()) };
    let gift = Gift { drop, bank };
    let (house, until) = (desk.house, Patience::Until(answer_by));
    desk.settle_card(&card("gift", gift.drop.id), |voice| gift_letter(house, voice, &gift).patient(until)).await
}

async fn stretch_day(desk: &mut Desk<'_>, mut closed: Closed, since: UtcSeconds) -> store::Result<()> {
    let time = AnswerTime {
        begins_at: closed.closed_at,
        ends_at: closed.answers_by,
        latest: desk.house.calendar.departure(closed.day),
    };
    let Some(answers_by) = time.after_outage(since, desk.now) else { return Ok(()) };
    closed.answers_by = answers_by;
    deliveries::set_answers_by(&mut desk.tx, closed.day, answers_by).await?;
    delay(desk, Job::AnswersEnd(closed.day), answers_by).await?;
    let facts = ClosedDay::load(&mut desk.farm(), &closed).await?;
    let house = desk.house;
    for buyer_id in facts.buyer_ids() {
        let is_asked = facts.awards.iter().any(|award| award.buyer_id == buyer_id && award.state == State::Short);
        if is_asked {
            let day = facts.of_buyer(&house.crops, buyer_id);
            desk.tell_buyer(buyer_id, |voice| shortfall::card::write(house, voice, (&day, &Occasion::Closed))).await?;
        }
    }
    Ok(())
}

/// Tells the keepers of an outage since `since`: how long, what waited, what was left out.
///
/// # Errors
/// Whatever the store fails with.
pub async fn tell(desk: &mut Desk<'_>, since: UtcSeconds) -> store::Result<()> {
    let now = desk.now;
    let kept_back = outbox::kept_back(&mut desk.tx, since, now).await?;
    let mut names = BTreeMap::new();
    for chat_id in kept_back.left_out.keys() {
        let person = people::by_chat(&mut desk.tx, *chat_id).await?;
        names.insert(*chat_id, person.map_or_else(|| chat_id.to_string(), |person| person.name));
    }
    let text = |voice: &Voice| {
        let mut lines = vec![voice.say("outage-over", &Args::new().day_time("from", since).day_time("to", now))];
        lines.push(match kept_back.waiting {
            0 => voice.say("outage-nothing-waited", &Args::new()),
            waiting => voice.say("outage-waited", &Args::new().count("messages", waiting)),
        });
        for (chat_id, count) in &kept_back.left_out {
            let args = Args::new().text("name", names[chat_id].clone()).count("messages", *count);
            lines.push(voice.say("outage-left-out", &args));
        }
        Letter::new(lines.join("\n")).patient(Patience::Cannot)
    };
    desk.tell_family(Audience::Keepers, text).await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whoever_has_to_answer_has_as_much_time_as_before() {
        let at = UtcSeconds::new;
        let time = AnswerTime { begins_at: at(1000), ends_at: at(2000), latest: at(5000) };
        for (since, now, expected, why) in [
            (1200, 1500, Some(2300), "in the middle: 800 were left"),
            (1200, 2500, Some(3300), "it ended meanwhile"),
            (500, 1500, Some(2500), "it began meanwhile: all of it is left"),
            (1200, 4900, Some(5000), "no longer than can be"),
            (2000, 2500, None, "it had ended before"),
        ] {
            assert_eq!(time.after_outage(at(since), at(now)), expected.map(at), "{why}");
        }
        let fixed = AnswerTime { latest: at(2000), ..time };
        assert_eq!(fixed.after_outage(at(1200), at(1500)), None, "it cannot be put off");
    }
}
