//! The advice as the keeper reads and presses it. Rule: the first button of a crop does at once what is best, in the one
//! transaction, and only if it is still what was read.

use super::advice::{self, Advised, Step};
use super::{Ask, drying, left, market, offering, stock};
use crate::conversation::{Button, Desk, Letter, giving};
use crate::intent::Intent;
use crate::wording::{Args, Voice, key};
use scheduler::clock::LocalDate;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::surplus::{self, MarketHold};
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
pub(super) async fn act(
    desk: &mut Desk<'_>,
    person: &Person,
    (crop, keeps_until, steps): (String, LocalDate, Vec<Step>),
) -> store::Result<()> {
    let stock = stock::now(desk).await?;
    let advised = advice::advised(desk, &stock).await?;
    let now = advised.iter().find(|one| one.crop == crop && one.keeps_until == keeps_until);
    let same_ways = |one: &Advised| {
        let told: Vec<(Way, Grams)> = one.steps.iter().map(|step| (step.way, step.grams)).collect();
        told == steps.iter().map(|step| (step.way, step.grams)).collect::<Vec<_>>()
    };
    let Some(now) = now.filter(|one| same_ways(one)) else {
        let text = desk.voice(person).say("left-changed", &Args::new());
        return left::show(desk, person, Some((text, None))).await;
    };
    let steps = now.steps.clone();
    let Some((first, beside)) = steps.split_first() else { return left::show(desk, person, None).await };
    for step in beside {
        match step.way {
            Way::Give => giving::propose(desk, vec![(crop.clone(), step.grams)], None).await?,
            Way::Market => {
                if let Some((day, ..)) = advice::next_market(desk) {
                    let hold = MarketHold { day, crop: crop.clone(), grams: step.grams };
                    surplus::hold_for_market(&mut desk.tx, &hold).await?;
                }
            }
            // Neither closes while something else goes on.
            Way::Offer | Way::Dry => {}
        }
    }
    match first.way {
        Way::Offer => {
            let terms = offering::Terms {
                grams: Some(first.grams),
                keeps_until: Some(keeps_until),
                open_minutes: first.open_minutes,
                ..offering::Terms::usual(desk)
            };
            offering::offer(desk, person, (&crop, &terms)).await
        }
        Way::Market => match advice::next_market(desk) {
            Some((day, ..)) => market::keep(desk, person, MarketHold { day, crop, grams: first.grams }).await,
            None => market::ask_weight(desk, person, &crop).await,
        },
        Way::Dry => drying::dry(desk, person, (crop, first.grams)).await,
        Way::Give => {
            let voice = desk.voice(person);
            let what = desk.house.amount(&crop, first.grams, &voice);
            let text = voice.say("drop-looking", &Args::new().list("what", vec![what]));
            desk.answer(person, Letter::new(text)).await?;
            giving::propose(desk, vec![(crop, first.grams)], None).await
        }
    }
}
