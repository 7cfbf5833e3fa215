//! The market: what is kept for it, what goes there, what comes back. Rule: no more comes back than went.

use super::{Ask, Waiting, left};
use crate::conversation::{Button, Desk, Letter};
use crate::house::House;
use crate::intent::{Intent, Waiting as Question};
use crate::wording::{Args, DateForm, Voice, key};
use scheduler::clock::LocalDate;
use scheduler::farm::surplus::market::{self, Back, Due, Keeping};
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::surplus::{self, MarketHold};
use scheduler::surplus::market::Return;

/// Asks how much of a crop to keep for the next market day.
pub(super) async fn ask_weight(desk: &mut Desk<'_>, person: &Person, crop: &str) -> store::Result<()> {
    let voice = desk.voice(person);
    let house = desk.house;
    let Some(day) = market::next_day(&desk.farm()) else {
        return left::refused(desk, person, voice.say("market-no-day", &Args::new())).await;
    };
    let free = market::free_until(&mut desk.farm(), crop, day).await?;
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
    let crop = desk.house.crop_name(&hold.crop, &voice);
    match market::keep(&mut desk.farm(), &hold).await? {
        Keeping::Past => return left::refused(desk, person, voice.say("stale-button", &Args::new())).await,
        Keeping::MoreThanFree { free } => {
            let args = Args::new().text("crop", crop).weight("free", free);
            return left::refused(desk, person, voice.say("surplus-more-than-free", &args)).await;
        }
        Keeping::Kept => desk.close_question(person).await?,
    }
    let args = Args::new().weight("weight", hold.grams).text("crop", crop).date("day", hold.day);
    let undo = Ask::Release { crop: hold.crop.clone(), day: hold.day, grams: hold.grams };
    left::show(desk, person, Some((voice.say("market-kept", &args), Some(undo)))).await
}

/// Lets go of what is kept for a market day.
pub(super) async fn release(desk: &mut Desk<'_>, person: &Person, hold: MarketHold) -> store::Result<()> {
    if !market::release(&mut desk.farm(), hold).await? {
        let text = desk.voice(person).say("stale-button", &Args::new());
        return left::refused(desk, person, text).await;
    }
    left::show(desk, person, None).await
}

/// What is kept for today or an earlier day leaves for the market. Promises come first: what they needed of it stays.
pub(super) async fn leave(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    let due = market::leave(&mut desk.farm(), person).await?;
    if due.is_empty() {
        return left::refused(desk, person, voice.say("market-nothing-kept", &Args::new())).await;
    }
    let of = |weight: fn(&Due) -> Grams| -> Vec<(String, Grams)> {
        let lines = due.iter().map(|one| (one.crop.clone(), weight(one)));
        lines.filter(|(_, grams)| grams.is_positive()).collect()
    };
    let (going, missing) = (of(|one| one.there), of(|one| one.kept.less(one.there)));
    let said = |key, lines: &[(String, Grams)]| {
        let args = Args::new().list("what", desk.house.amounts(lines, &voice));
        (!lines.is_empty()).then(|| voice.say(key, &args))
    };
    let said = [said(key("market-left"), &going), said(key("market-left-less"), &missing)];
    let note = said.into_iter().flatten().collect::<Vec<_>>().join(" ");
    left::show(desk, person, Some((note, None))).await
}

/// What was kept for a market day that is over: did it go?
pub(super) fn unsaid(house: &House, voice: &Voice, lines: &[(LocalDate, String, Grams)]) -> Letter {
    let amounts = lines.iter().map(|(_, crop, grams)| house.amount(crop, *grams, voice)).collect();
    let gone = Button::new(voice.plain("button-market-gone", &Args::new()), Intent::Surplus(Ask::ToMarket {}));
    let letter = Letter::new(voice.say("market-unsaid", &Args::new().list("what", amounts))).row([gone]);
    lines.iter().fold(letter, |letter, (day, crop, grams)| {
        let label = voice.plain("button-market-stayed", &Args::new().text("crop", house.crop_name(crop, voice)));
        let ask = Ask::Release { crop: crop.clone(), day: *day, grams: *grams };
        letter.row([Button::new(label, Intent::Surplus(ask))])
    })
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
    if let Back::Refused { crop, why } = market::bring_back(&mut desk.farm(), person, &lines).await? {
        let text = match why {
            Return::HeavierThanLeft { left, back } => {
                let args = Args::new().text("crop", house.crop_name(&crop, &voice));
                voice.say("market-back-heavier", &args.weight("left", left).weight("back", back))
            }
            Return::Negative | Return::Accepted { .. } => voice.say("surplus-not-a-weight", &Args::new()),
        };
        return left::refused(desk, person, text).await;
    }
    desk.close_question(person).await?;
    let note = if lines.is_empty() {
        voice.say("market-all-sold", &Args::new())
    } else {
        voice.say("market-back", &Args::new().list("what", house.amounts(&lines, &voice)))
    };
    let earlier = day.filter(|day| *day < desk.today());
    let entered = earlier.map(|day| voice.say("market-back-entered", &Args::new().date("day", day)));
    let note = [note].into_iter().chain(entered).collect::<Vec<_>>().join(" ");
    left::show(desk, person, Some((note, None))).await
}

/// What is kept for market days, for the card of what is left.
pub(super) async fn kept(desk: &mut Desk<'_>, voice: &Voice) -> store::Result<Vec<String>> {
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
