//! The market: what is kept for it, what goes there, what comes back. Rule: no more comes back than went.

use super::super::{Button, Desk, Letter};
use super::stock::Holder;
use super::{Ask, Waiting, amounts, left, stock};
use crate::intent::{Intent, Waiting as Question};
use crate::wording::{Args, DateForm, key};
use scheduler::clock::LocalDate;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::cold_room::{self, MoveKind, Movement};
use scheduler::store::surplus::{self, MarketHold};
use scheduler::surplus::market::{Return, judge};
use std::collections::BTreeMap;

/// How long after it left something may come back from the market. Common practice, no source.
const MARKET_HOURS: i64 = 72;

/// The next market day, today included; `None` where the farm goes to no market.
fn next_day(desk: &Desk<'_>) -> Option<LocalDate> {
    use chrono::Datelike;
    let weekdays = &desk.house.config.rules.market.weekdays;
    desk.today().iter_days().take(7).find(|day| weekdays.contains(&day.weekday()))
}

/// Asks how much of a crop to keep for the next market day.
pub(super) async fn ask_weight(desk: &mut Desk<'_>, person: &Person, crop: &str) -> store::Result<()> {
    let voice = desk.voice(person);
    let house = desk.house;
    let Some(day) = next_day(desk) else {
        return left::refused(desk, person, voice.say("market-no-day", &Args::new())).await;
    };
    let stock = stock::now(desk).await?;
    let free = stock::free_until(&stock, crop, day);
    if !free.is_positive() {
        let args = Args::new().text("crop", house.crop_name(crop, &voice)).date("day", day);
        return left::refused(desk, person, voice.say("market-does-not-keep", &args)).await;
    }
    let keep = |grams| Intent::Surplus(Ask::KeepWeight { crop: crop.to_owned(), day, grams });
    let half = Grams::new(free.get() / 2);
    let mut row = vec![Button::new(voice.plain("button-all-of", &Args::new().weight("weight", free)), keep(free))];
    if half.is_positive() {
        row.push(Button::new(voice.plain("button-half-of", &Args::new().weight("weight", half)), keep(half)));
    }
    let args = Args::new().text("crop", house.crop_name(crop, &voice)).date("day", day).weight("free", free);
    let letter = Letter::new(voice.say("market-keep-question", &args))
        .row(row)
        .row([Button::new(voice.plain("button-back", &Args::new()), Intent::Surplus(Ask::Left))]);
    desk.ask(person, &Question::Surplus(Waiting::KeepWeight { crop: crop.to_owned(), day })).await?;
    desk.answer(person, letter).await
}

/// Keeps a weight for a market day.
pub(super) async fn keep(desk: &mut Desk<'_>, person: &Person, hold: MarketHold) -> store::Result<()> {
    let voice = desk.voice(person);
    let stock = stock::now(desk).await?;
    let free = stock::free_until(&stock, &hold.crop, hold.day);
    let crop = desk.house.crop_name(&hold.crop, &voice);
    if hold.day < desk.today() {
        return left::refused(desk, person, voice.say("stale-button", &Args::new())).await;
    }
    if hold.grams > free || !hold.grams.is_positive() {
        let args = Args::new().text("crop", crop).weight("free", free);
        return left::refused(desk, person, voice.say("surplus-more-than-free", &args)).await;
    }
    desk.close_question(person).await?;
    surplus::hold_for_market(&mut desk.tx, &hold).await?;
    let args = Args::new().weight("weight", hold.grams).text("crop", crop).date("day", hold.day);
    let undo = Ask::Release { crop: hold.crop.clone(), day: hold.day, grams: hold.grams };
    left::show(desk, person, Some((voice.say("market-kept", &args), Some(undo)))).await
}

/// Lets go of what is kept for a market day.
pub(super) async fn release(desk: &mut Desk<'_>, person: &Person, hold: MarketHold) -> store::Result<()> {
    let holds = surplus::market_holds(&mut desk.tx).await?;
    let kept = holds.iter().find(|kept| kept.day == hold.day && kept.crop == hold.crop);
    if kept.is_none_or(|kept| kept.grams < hold.grams) {
        let text = desk.voice(person).say("stale-button", &Args::new());
        return left::refused(desk, person, text).await;
    }
    surplus::hold_for_market(&mut desk.tx, &MarketHold { grams: -hold.grams, ..hold }).await?;
    left::show(desk, person, None).await
}

/// What is kept for today or an earlier day leaves for the market. Promises come first: what they needed of it stays.
pub(super) async fn leave(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    let due = due(desk).await?;
    if due.is_empty() {
        return left::refused(desk, person, voice.say("market-nothing-kept", &Args::new())).await;
    }
    let of = |weight: fn(&Due) -> Grams| -> Vec<(String, Grams)> {
        let lines = due.iter().map(|one| (one.crop.clone(), weight(one)));
        lines.filter(|(_, grams)| grams.is_positive()).collect()
    };
    let (going, missing) = (of(|one| one.there), of(|one| one.kept.less(one.there)));
    carry_due(desk, person, &due).await?;
    let said = |key, lines: &[(String, Grams)]| {
        let args = Args::new().list("what", amounts(desk.house, &voice, lines));
        (!lines.is_empty()).then(|| voice.say(key, &args))
    };
    let said = [said(key("market-left"), &going), said(key("market-left-less"), &missing)];
    let note = said.into_iter().flatten().collect::<Vec<_>>().join(" ");
    left::show(desk, person, Some((note, None))).await
}

/// What is kept of a crop for today or an earlier market day.
struct Due {
    crop: String,
    kept: Grams,
    /// What the cold room has for it, once what is promised for today has its own.
    there: Grams,
}

async fn due(desk: &mut Desk<'_>) -> store::Result<Vec<Due>> {
    let today = desk.today();
    let mut kept: BTreeMap<String, Grams> = BTreeMap::new();
    for hold in surplus::market_holds(&mut desk.tx).await?.into_iter().filter(|hold| hold.day <= today) {
        *kept.entry(hold.crop).or_default() += hold.grams;
    }
    let lots = cold_room::lots(&mut desk.tx).await?;
    let held = stock::held(desk).await?;
    let due = kept.into_iter().map(|(crop, kept)| {
        let good = lots.iter().filter(|lot| lot.crop == crop && lot.keeps_until >= today);
        let is_first = |holder| matches!(holder, Holder::Award | Holder::Taken | Holder::Drop(_));
        let first = held.iter().filter(|one| is_first(one.holder) && one.bound.crop == crop && one.bound.date <= today);
        let there = good.map(|lot| lot.left).sum::<Grams>().less(first.map(|one| one.bound.weight).sum());
        Due { there: there.at_most(kept), crop, kept }
    });
    Ok(due.collect())
}

/// What is due goes to the market as far as it is there, and nothing is kept for those days any more.
async fn carry_due(desk: &mut Desk<'_>, person: &Person, due: &[Due]) -> store::Result<()> {
    let today = desk.today();
    let movement = Movement { kind: MoveKind::Market, subject: None, person_id: Some(person.id), now: desk.now };
    for one in due {
        cold_room::take(&mut desk.tx, &one.crop, (one.there, today), &movement).await?;
    }
    for hold in surplus::market_holds(&mut desk.tx).await?.into_iter().filter(|hold| hold.day <= today) {
        surplus::hold_for_market(&mut desk.tx, &MarketHold { grams: -hold.grams, ..hold }).await?;
    }
    Ok(())
}

/// Asks what came back.
pub(super) async fn ask_back(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    let nothing = Button::new(
        voice.plain("button-nothing-back", &Args::new()),
        Intent::Surplus(Ask::MarketReturn { lines: Vec::new(), day: None }),
    );
    let back = Button::new(voice.plain("button-back", &Args::new()), Intent::Surplus(Ask::Left));
    desk.ask(person, &Question::Surplus(Waiting::MarketBack)).await?;
    desk.answer(person, Letter::new(voice.say("market-back-question", &Args::new())).row([nothing, back])).await
}

/// Brings back what was not sold; what was kept for today or earlier counts as having gone there. The cold room's books
/// know instants, so another day than today is said back rather than entered.
pub(super) async fn bring_back(
    desk: &mut Desk<'_>,
    person: &Person,
    (lines, day): (Vec<(String, Grams)>, Option<LocalDate>),
) -> store::Result<()> {
    let voice = desk.voice(person);
    let house = desk.house;
    if let Some(day) = day.filter(|day| *day > desk.today()) {
        return left::refused(desk, person, voice.say("market-back-to-come", &Args::new().date("day", day))).await;
    }
    let since = desk.now.plus_minutes(-MARKET_HOURS * 60);
    let due = due(desk).await?;
    for (crop, back) in &lines {
        let there: Grams = cold_room::at_market(&mut desk.tx, crop, since).await?.iter().map(|(_, part)| *part).sum();
        let leaving: Grams = due.iter().filter(|one| one.crop == *crop).map(|one| one.there).sum();
        match judge(there + leaving, *back) {
            Return::Accepted { .. } => {}
            Return::HeavierThanLeft { left, back } => {
                let args = Args::new().text("crop", house.crop_name(crop, &voice));
                let args = args.weight("left", left).weight("back", back);
                return left::refused(desk, person, voice.say("market-back-heavier", &args)).await;
            }
            Return::Negative => {
                return left::refused(desk, person, voice.say("surplus-not-a-weight", &Args::new())).await;
            }
        }
    }
    carry_due(desk, person, &due).await?;
    desk.close_question(person).await?;
    let movement = Movement { kind: MoveKind::Returned, subject: None, person_id: Some(person.id), now: desk.now };
    for (crop, back) in &lines {
        let mut missing = *back;
        // The first to expire was sold first, so the last to expire comes home.
        for (lot, part) in cold_room::at_market(&mut desk.tx, crop, since).await? {
            let part = part.less(Grams::ZERO).at_most(missing);
            if part.is_positive() {
                cold_room::take_from_lot(&mut desk.tx, lot, -part, &movement).await?;
                missing -= part;
            }
        }
    }
    let note = if lines.is_empty() {
        voice.say("market-all-sold", &Args::new())
    } else {
        voice.say("market-back", &Args::new().list("what", amounts(house, &voice, &lines)))
    };
    let earlier = day.filter(|day| *day < desk.today());
    let entered = earlier.map(|day| voice.say("market-back-entered", &Args::new().date("day", day)));
    let note = [note].into_iter().chain(entered).collect::<Vec<_>>().join(" ");
    left::show(desk, person, Some((note, None))).await
}

/// What is kept for market days, for the card of what is left.
pub(super) async fn kept(desk: &mut Desk<'_>, voice: &crate::wording::Voice) -> store::Result<Vec<String>> {
    let holds = surplus::market_holds(&mut desk.tx).await?;
    let house = desk.house;
    Ok(holds
        .iter()
        .map(|kept| {
            let args = Args::new().text("what", house.amount(&kept.crop, kept.grams, voice));
            voice.say("left-market", &args.date_as("day", kept.day, DateForm::Short))
        })
        .collect())
}
