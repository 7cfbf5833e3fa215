//! The advice as the keeper reads and presses it. Rule: the first button of a crop does at once what is best, in the one
//! transaction, and only if it is still what was read.

use super::{Ask, drying, left, market, offering};
use crate::conversation::{Button, Desk, giving};
use crate::intent::Intent;
use crate::wording::{Args, Voice, key};
use scheduler::farm::giving::proposing::propose;
use scheduler::farm::surplus::advice::{self, Advised, Best};
use scheduler::farm::surplus::offering::Terms;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::surplus::MarketHold;
use scheduler::surplus::placement::{Advice, Way};

/// Every way, in the order of the buttons where nothing is known of it.
const WAYS: [Way; 4] = [Way::Offer, Way::Market, Way::Give, Way::Dry];

/// What lots of a crop are worth each way, the best first, and what is to be done beside it.
pub(super) fn lines(desk: &Desk<'_>, voice: &Voice, advised: &Advised) -> Vec<String> {
    let mut lines: Vec<String> = advised.ways.iter().map(|one| way_line(desk, voice, (advised, one))).collect();
    if let Some(first) = lines.first_mut() {
        *first = voice.say("left-best", &Args::new().said("way", first.clone()));
    }
    if let [_, beside] = advised.steps.as_slice() {
        let args = Args::new().weight("weight", beside.grams).text("way", way_name(voice, beside.way));
        lines.push(voice.say("left-beside", &args));
    }
    lines
}

fn way_line(desk: &Desk<'_>, voice: &Voice, (advised, one): (&Advised, &Advice)) -> String {
    let args = Args::new().day_time("by", one.choose_by);
    if one.way == Way::Dry {
        let args = args.weight("weight", desk.house.crops.dried(&advised.crop, advised.free));
        return with_money(desk, voice, (advised, one), voice.say("left-dried", &args));
    }
    let text_key = match one.way {
        Way::Offer => key("left-way-offer"),
        Way::Market => key("left-way-market"),
        Way::Give | Way::Dry => key("left-way-give"),
    };
    with_money(desk, voice, (advised, one), voice.say(text_key, &args))
}

/// The line with what the farm can expect of it; a food bank pays nothing, so nothing is said where it comes to nothing.
fn with_money(desk: &Desk<'_>, voice: &Voice, (advised, one): (&Advised, &Advice), line: String) -> String {
    let knows_price = advised.has_price || one.way == Way::Dry;
    if !knows_price || one.money.get() <= 0 {
        return line;
    }
    let args = Args::new().money("money", one.money, desk.house.config.farm.currency.clone());
    voice.say("left-worth", &args.said("line", line))
}

fn way_name(voice: &Voice, way: Way) -> String {
    let text_key = match way {
        Way::Offer => key("way-offer"),
        Way::Market => key("way-market"),
        Way::Give => key("way-give"),
        Way::Dry => key("way-dry"),
    };
    voice.plain(text_key, &Args::new())
}

/// The best alone in its row, then the others; one button a way for the whole crop.
pub(super) fn buttons(desk: &Desk<'_>, voice: &Voice, advised: &[&Advised]) -> Vec<Vec<Button>> {
    let Some(first) = advised.first() else { return Vec::new() };
    let crop = &first.crop;
    let free: Grams = advised.iter().map(|one| one.free).sum();
    let name = desk.house.crop_name(crop, voice);
    let label = |text_key: &'static str| voice.plain(text_key, &Args::new().text("crop", name.clone()));
    let mut order: Vec<Way> = first.ways.iter().map(|one| one.way).collect();
    order.extend(WAYS.into_iter().filter(|way| !first.ways.iter().any(|one| one.way == *way)));
    let mut buttons: Vec<Button> = order
        .into_iter()
        .map(|way| {
            let crop = crop.clone();
            match way {
                Way::Offer => Button::new(label(key("button-offer")), Intent::Surplus(Ask::Offer { crop })),
                Way::Market => Button::new(label(key("button-keep")), Intent::Surplus(Ask::Keep { crop })),
                Way::Give => Button::new(label(key("button-give")), Intent::Giving(giving::Ask::Give { crop })),
                Way::Dry => Button::new(label(key("button-dry")), Intent::Surplus(Ask::Dried { crop, grams: free })),
            }
        })
        .collect();
    if !first.steps.is_empty() {
        let steps = first.steps.clone();
        let ask = Ask::Best { crop: crop.clone(), keeps_until: first.keeps_until, steps };
        buttons[0].intent = Intent::Surplus(ask);
    }
    let others = buttons.split_off(1);
    vec![buttons, others]
}

/// Does what was read as the best, if it still is.
pub(super) async fn act(desk: &mut Desk<'_>, person: &Person, best: Best) -> store::Result<()> {
    let Some(steps) = advice::still(&mut desk.farm(), &best).await? else {
        let text = desk.voice(person).say("left-changed", &Args::new());
        return left::show(desk, person, Some((text, None))).await;
    };
    let Best { crop, keeps_until, .. } = best;
    let Some((first, beside)) = steps.split_first() else { return left::show(desk, person, None).await };
    let events = advice::do_beside(&mut desk.farm(), &crop, beside).await?;
    desk.happened(events);
    match first.way {
        Way::Offer => {
            let terms = Terms {
                grams: Some(first.grams),
                keeps_until: Some(keeps_until),
                open_minutes: first.open_minutes,
                ..Terms::usual(&desk.farm())
            };
            offering::offer(desk, person, (&crop, &terms)).await
        }
        Way::Market => match advice::next_market(&desk.farm()) {
            Some((day, ..)) => market::keep(desk, person, MarketHold { day, crop, grams: first.grams }).await,
            None => market::ask_weight(desk, person, &crop).await,
        },
        Way::Dry => drying::dry(desk, person, (crop, first.grams)).await,
        Way::Give => {
            let what = vec![(crop, first.grams)];
            let events = propose(&mut desk.farm(), what.clone(), None).await?;
            desk.happened(events);
            giving::looking(desk, person, &what).await
        }
    }
}
