//! What has happened to drops, in the words of each who hears of it.

use super::handing_over::{driver_card, driver_text};
use super::proposing::{self, nobody_takes};
use super::{Ask, button, papers, regular, told};
use crate::conversation::audience::{Audience, gift_card};
use crate::conversation::letter::Patience;
use crate::conversation::{Desk, Letter};
use crate::house::House;
use crate::wording::{Args, Voice, key};
use scheduler::farm::giving::Gift;
use scheduler::farm::giving::event::{Event, GiftEvent, Skipped, WhySkipped};
use scheduler::store;
use scheduler::surplus::drop::{Reminder, State};
use scheduler::surplus::ledger::meals;

/// Tells one audience of an event.
///
/// # Errors
/// Whatever the store fails with.
pub async fn tell(desk: &mut Desk<'_>, event: &Event, audience: Audience) -> store::Result<()> {
    let house = desk.house;
    match event {
        Event::Gift(gift, what) if audience == Audience::Drivers => tell_drivers(desk, gift, *what).await,
        Event::Gift(gift, what) => {
            let to = audience.clone();
            desk.tell_audience(audience, |voice| letter(house, voice, gift, (*what, &to))).await
        }
        Event::NobodyTakes(unplaced) => {
            desk.tell_audience(audience, |voice| nobody_takes(house, voice, unplaced)).await
        }
        Event::Skipped(skipped) => {
            let is_partner = matches!(audience, Audience::Partner(_));
            desk.tell_audience(audience, |voice| Letter::new(skipped_text(house, voice, (skipped, is_partner)))).await
        }
        Event::Regular(one, what, _) => {
            let now = desk.now;
            let is_partner = matches!(audience, Audience::Partner(_) | Audience::OtherContacts { .. });
            desk.tell_audience(audience, |voice| regular::letter((house, now), voice, one, (*what, is_partner))).await
        }
    }
}

/// What a food bank, the keepers or everybody reads of a drop.
fn letter(house: &House, voice: &Voice, gift: &Gift, (what, to): (GiftEvent, &Audience)) -> Letter {
    let drop = &gift.drop;
    let args = || told(house, voice, gift).text("farm", house.config.farm.name.clone());
    let is_partner = matches!(to, Audience::Partner(_));
    let said = |text_key| Letter::new(voice.say(text_key, &args()));
    let call_off = || button(voice, key("button-call-off"), Ask::CallOff { drop: drop.id });
    let keepers = |text_key| said(text_key).on_card(gift_card("keep", drop.id)).at_end().row([call_off()]);
    match what {
        GiftEvent::Proposed { .. } if is_partner => {
            proposing::gift_card(house, voice, gift).patient(Patience::Until(drop.answer_by))
        }
        GiftEvent::Proposed { has_contact } => {
            let text_key = if has_contact { key("drop-asked") } else { key("drop-call-them") };
            Letter::new(voice.say(text_key, &args().day_time("answer_by", drop.answer_by)))
                .on_card(gift_card("keep", drop.id))
                .row([button(voice, key("button-agreed-by-phone"), Ask::Agree { drop: drop.id })])
                .row([call_off()])
        }
        GiftEvent::Agreed if matches!(to, Audience::Card(_)) => said(key("gift-agreed")),
        GiftEvent::Agreed => keepers(key("drop-agreed-keeper")),
        GiftEvent::Filled if is_partner => {
            let lines = [voice.say("gift-regular-comes", &args()), voice.say("gift-caution", &Args::new())];
            let not_this_time = button(voice, key("button-not-this-time"), Ask::Decline { drop: drop.id });
            Letter::new(lines.join("\n\n")).on_card(gift_card("gift", drop.id)).row([not_this_time])
        }
        GiftEvent::Filled => keepers(key("regular-filled")),
        GiftEvent::PassedOn if *to == Audience::Card(gift_card("gift", drop.id)) => said(key("gift-passed-on")),
        GiftEvent::PassedOn if drop.state() == State::Unanswered => said(key("drop-unanswered")),
        GiftEvent::PassedOn => said(key("drop-declined")),
        GiftEvent::CalledOff(_) if is_partner => said(key("gift-called-off")),
        GiftEvent::CalledOff(_) => {
            let again = button(voice, key("button-again"), Ask::Again { drop: drop.id });
            said(key("drop-called-off")).row([again])
        }
        GiftEvent::HandedOver(_) if is_partner => {
            Letter::new(voice.say("gift-thanks", &handed_args(house, voice, gift)))
        }
        GiftEvent::HandedOver(_) => Letter::new(voice.say("drop-handed-over", &handed_args(house, voice, gift))),
        GiftEvent::Assumed if matches!(to, Audience::Card(_)) => {
            Letter::new(voice.say("drop-assumed", &handed_args(house, voice, gift)))
        }
        GiftEvent::Assumed => super::handing_over::assumed_card(house, voice, gift),
        GiftEvent::Lapsed => said(key("drop-lapsed")),
        GiftEvent::TakenBack => said(key("gift-corrected")),
        GiftEvent::Corrected => {
            let entered = house.amounts(&drop.handed_load(), voice);
            Letter::new(voice.say("gift-corrected-weight", &args().list("what", entered)))
        }
        GiftEvent::MoreGoes => said(key("regular-more")),
        GiftEvent::NotHeard | GiftEvent::Reminded(_) => {
            let show = button(voice, key("button-show"), Ask::Show { drop: drop.id });
            said(key("drop-not-heard")).row([show])
        }
    }
}

/// What most messages about a hand-over say.
pub(super) fn handed_args(house: &House, voice: &Voice, gift: &Gift) -> Args {
    let handed: Vec<_> = gift.drop.handed_load().into_iter().filter(|(_, grams)| grams.is_positive()).collect();
    Args::new()
        .text("bank", gift.bank.name.clone())
        .text("farm", house.config.farm.name.clone())
        .list("what", house.amounts(&handed, voice))
        .count("meals", meals(gift.drop.handed()))
}

/// Whoever drives reads of a drop: its papers when it is agreed and the evening before, its card when it can be handed over.
async fn tell_drivers(desk: &mut Desk<'_>, gift: &Gift, what: GiftEvent) -> store::Result<()> {
    let drop = &gift.drop;
    let leave_at = drop.window.opens_at.plus_minutes(-gift.bank.travel_minutes);
    let (heading, has_papers, patience) = match what {
        GiftEvent::Reminded(Reminder::Evening) => (key("drop-tomorrow"), true, Patience::Until(leave_at)),
        GiftEvent::Reminded(Reminder::Leaving) => (key("drop-leave"), false, Patience::Cannot),
        GiftEvent::NotHeard => (key("drop-was-it"), false, Patience::Waits),
        // Nothing can be handed over yet, so there is no button.
        _ => (key("drop-agreed-driver"), true, Patience::Waits),
    };
    let can_be_handed_over = matches!(what, GiftEvent::Reminded(_) | GiftEvent::NotHeard);
    for person in desk.readers(&Audience::Drivers).await? {
        let voice = desk.voice(&person);
        if has_papers {
            for letter in papers::letters(desk, &voice, gift) {
                desk.tell(&person, letter.patient(patience)).await?;
            }
        }
        let letter = if can_be_handed_over {
            let card = driver_card(desk.house, &voice, gift, heading);
            card.on_card(gift_card("drop", drop.id)).at_end().patient(patience)
        } else {
            Letter::new(driver_text(desk.house, &voice, gift, heading))
        };
        desk.tell(&person, letter).await?;
    }
    Ok(())
}

/// Nothing is brought on a date of a regular drop.
fn skipped_text(house: &House, voice: &Voice, (skipped, is_partner): (&Skipped, bool)) -> String {
    let args = Args::new().text("bank", skipped.bank.name.clone()).date("day", skipped.date);
    match skipped.why {
        _ if is_partner => voice.say("gift-regular-nothing", &args.text("farm", house.config.farm.name.clone())),
        WhySkipped::NothingFree => voice.say("regular-nothing", &args),
        WhySkipped::TooLittleFree(free) => {
            voice.say("regular-too-little", &args.weight("free", free).weight("least", skipped.bank.least))
        }
        WhySkipped::Closed => voice.say("regular-closed", &args),
        WhySkipped::Full => voice.say("regular-full", &args),
    }
}
