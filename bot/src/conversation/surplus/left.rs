//! The keeper's card of what is left, with one button for each way out.

use super::{Ask, best, market, next, warmth};
use crate::conversation::audience::Audience;
use crate::conversation::{Button, Desk, Letter};
use crate::intent::Intent;
use crate::wording::{Args, DateForm, Voice, key};
use scheduler::farm::stock::{self, Held, Holder};
use scheduler::farm::surplus::advice::{self, Advised};
use scheduler::people::{Person, Role};
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::surplus::count::Stock;

/// Shows what is left, under a note of what was just done, with its undoing.
pub(super) async fn show(
    desk: &mut Desk<'_>,
    person: &Person,
    note: Option<(String, Option<Ask>)>,
) -> store::Result<()> {
    let voice = desk.voice(person);
    let mut letter = Letter::new("");
    if person.role == Role::Keeper {
        let held = stock::held(&mut desk.farm()).await?;
        let stock = stock::counted(&mut desk.farm(), &held).await?;
        letter = card(desk, &voice, (&held, &stock)).await?;
        // After a step the keeper looks at what is there; what comes was said before.
        if note.is_none() {
            add_next(desk, &voice, (&mut letter, &stock)).await?;
        }
    }
    if let Some((text, undo)) = note {
        // Where each way out goes is the keeper's to say; others read what they did.
        letter.html = if letter.html.is_empty() { text } else { format!("{text}\n\n{}", letter.html) };
        if let Some(undo) = undo {
            letter = letter.row([Button::new(voice.plain("button-undo", &Args::new()), Intent::Surplus(undo))]);
        }
    }
    desk.answer(person, letter).await
}

/// A refusal: what is left is shown below it, so that the next step is at hand.
pub(super) async fn refused(desk: &mut Desk<'_>, person: &Person, text: String) -> store::Result<()> {
    if desk.is_press() {
        return show(desk, person, Some((text, None))).await;
    }
    desk.answer(person, Letter::new(text)).await
}

/// Shows an audience what is left, and what comes.
pub(super) async fn tell(desk: &mut Desk<'_>, audience: &Audience) -> store::Result<()> {
    let held = stock::held(&mut desk.farm()).await?;
    let stock = stock::counted(&mut desk.farm(), &held).await?;
    for person in desk.readers(audience).await? {
        let voice = desk.voice(&person);
        let mut letter = card(desk, &voice, (&held, &stock)).await?;
        add_next(desk, &voice, (&mut letter, &stock)).await?;
        desk.tell(&person, letter).await?;
    }
    Ok(())
}

/// What the coming deliveries will likely have left.
async fn add_next(desk: &mut Desk<'_>, voice: &Voice, (letter, stock): (&mut Letter, &Stock)) -> store::Result<()> {
    let found = next::coming(desk, stock).await?;
    for line in next::lines(desk, voice, &found) {
        letter.html = format!("{}\n{line}", letter.html);
    }
    Ok(())
}

async fn card(desk: &mut Desk<'_>, voice: &Voice, (held, stock): (&[Held], &Stock)) -> store::Result<Letter> {
    let house = desk.house;
    let advised = advice::advised(&mut desk.farm(), stock).await?;
    let mut lines = vec![voice.say("left-heading", &Args::new())];
    lines.extend(warmth::lines(desk, voice).await?);
    let mut crops: Vec<&str> = stock.lots.iter().map(|lot| lot.crop.as_str()).collect();
    crops.dedup();
    for crop in &crops {
        lines.extend(crop_lines(desk, voice, (held, stock, crop)));
        for one in advised.iter().filter(|one| one.crop == *crop) {
            lines.extend(best::lines(desk, voice, one));
        }
    }
    lines.extend(market::kept(desk, voice).await?);
    if crops.is_empty() {
        lines.push(voice.say("left-nothing", &Args::new()));
    }
    let mut letter = Letter::new(lines.join("\n"));
    for crop in crops {
        let label =
            |text_key: &'static str| voice.plain(text_key, &Args::new().text("crop", house.crop_name(crop, voice)));
        let button = |text_key, ask| Button::new(label(text_key), Intent::Surplus(ask));
        let named = || crop.to_owned();
        let of_crop: Vec<&Advised> = advised.iter().filter(|one| one.crop == crop).collect();
        for row in best::buttons(desk, voice, &of_crop) {
            letter = letter.row(row);
        }
        let past: Grams = stock.lots.iter().filter(|lot| lot.crop == crop).map(|lot| lot.past).sum();
        if past.is_positive() {
            let ask = Ask::Discarded { crop: named(), grams: past };
            letter = letter.row([button(key("button-discard"), ask)]);
        }
    }
    let plain = |text_key: &'static str, ask| Button::new(voice.plain(text_key, &Args::new()), Intent::Surplus(ask));
    let to_market = plain(key("button-to-market"), Ask::ToMarket {});
    Ok(letter
        .row([to_market, plain(key("button-market-back"), Ask::MarketBack)])
        .row([plain(key("button-leave"), Ask::Leave)]))
}

fn crop_lines(desk: &Desk<'_>, voice: &Voice, (held, stock, crop): (&[Held], &Stock, &str)) -> Vec<String> {
    let of = |is_meant: fn(Holder) -> bool| -> Grams {
        held.iter().filter(|one| one.bound.crop == crop && is_meant(one.holder)).map(|one| one.bound.weight).sum()
    };
    let there: Grams = stock.lots.iter().filter(|lot| lot.crop == crop).map(|lot| lot.in_cold_room).sum();
    let free = stock.free_of(crop);
    let args = Args::new().text("crop", desk.house.crop_name(crop, voice));
    let mut lines = vec![voice.say("left-crop", &args.weight("free", free).weight("there", there))];
    for (text_key, weight) in [
        (key("left-promised"), of(|holder| holder == Holder::Award)),
        (key("left-offered"), of(|holder| matches!(holder, Holder::Offer | Holder::Taken))),
        (key("left-given"), of(|holder| matches!(holder, Holder::Drop(_)))),
    ] {
        if weight.is_positive() {
            lines.push(voice.say(text_key, &Args::new().weight("weight", weight)));
        }
    }
    for lot in stock.lots.iter().filter(|lot| lot.crop == crop) {
        let days = Args::new().count("days", lot.days_left).date_as("day", lot.keeps_until, DateForm::Short);
        if lot.free.is_positive() {
            lines.push(voice.say("left-lot", &days.weight("weight", lot.free)));
        } else if lot.past.is_positive() {
            let args = Args::new().weight("weight", lot.past).date_as("day", lot.keeps_until, DateForm::Short);
            lines.push(voice.say("left-past", &args));
        }
    }
    lines
}
