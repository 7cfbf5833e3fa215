//! A person's own place: another account takes it over, it is given up, and the restaurant's default for a short
//! delivery. Rule: whoever shares the place, and the keepers, hear of it.

use super::invitations::{hand_link, invite_code, link};
use super::{Ask, give_up_place, menu, reading};
use crate::conversation::audience::Audience;
use crate::conversation::letter::Patience;
use crate::conversation::{Button, Desk, Letter};
use crate::incoming::Account;
use crate::intent::Intent;
use crate::wording::{Args, Voice, key};
use scheduler::id::Id;
use scheduler::people::{Person, Place, Role, WhenSilent};
use scheduler::store::people::invitations;
use scheduler::store::{self, held, people};

/// Buttons of the settings that concern the person's own place.
pub async fn buttons(desk: &mut Desk<'_>, person: &Person) -> store::Result<Vec<Vec<Button>>> {
    let voice = desk.voice(person);
    let say = |text_key| voice.plain(text_key, &Args::new());
    let mut rows = Vec::new();
    if person.buyer_id.is_some() {
        rows.push(vec![
            Button::new(say(key("button-silent-take")), Intent::Joining(Ask::WhenSilent(WhenSilent::Take))),
            Button::new(say(key("button-silent-drop")), Intent::Joining(Ask::WhenSilent(WhenSilent::Drop))),
        ]);
    }
    rows.push(vec![
        Button::new(say(key("button-new-account")), Intent::Joining(Ask::NewAccount)),
        Button::new(say(key("button-leave-list")), Intent::Joining(Ask::LeaveFarm { sure: false })),
    ]);
    Ok(rows)
}

/// What holds for the person's restaurant when nobody answers, as a sentence.
pub async fn when_silent_line(desk: &mut Desk<'_>, person: &Person) -> store::Result<Option<String>> {
    let Some(buyer_id) = person.buyer_id else { return Ok(None) };
    let buyer = people::buyer_by_id(&mut desk.tx, buyer_id).await?;
    Ok(buyer.map(|buyer| silent_sentence(&desk.voice(person), buyer.when_silent)))
}

fn silent_sentence(voice: &Voice, when_silent: WhenSilent) -> String {
    let text_key = match when_silent {
        WhenSilent::Take => key("silent-take"),
        WhenSilent::Drop => key("silent-drop"),
    };
    voice.say(text_key, &Args::new())
}

/// Chooses what a short line of the restaurant does when nobody answers.
pub async fn set_when_silent(desk: &mut Desk<'_>, person: &Person, when_silent: WhenSilent) -> store::Result<()> {
    let Some(buyer_id) = person.buyer_id else {
        let text = desk.voice(person).say("not-for-your-role", &Args::new());
        return desk.answer(person, Letter::new(text)).await;
    };
    let before = people::buyer_by_id(&mut desk.tx, buyer_id).await?.map(|buyer| buyer.when_silent);
    people::set_when_silent(&mut desk.tx, buyer_id, when_silent).await?;
    if before != Some(when_silent) {
        let name = person.name.clone();
        tell_colleagues(desk, person, |voice| {
            let heading = voice.say("silent-changed", &Args::new().text("name", name.clone()));
            format!("{heading} {}", silent_sentence(voice, when_silent))
        })
        .await?;
    }
    reading(desk, person).await
}

/// Writes to whoever shares the person's place: the other contacts of the restaurant or the food bank.
pub async fn tell_colleagues(
    desk: &mut Desk<'_>,
    person: &Person,
    write: impl Fn(&Voice) -> String,
) -> store::Result<()> {
    let contacts = match (person.buyer_id, person.partner_id) {
        (Some(buyer), _) => people::contacts_of_buyer(&mut desk.tx, buyer).await?,
        (None, Some(partner)) => people::contacts_of_partner(&mut desk.tx, partner).await?,
        (None, None) => Vec::new(),
    };
    for contact in contacts.into_iter().filter(|contact| contact.id != person.id) {
        let letter = Letter::new(write(&desk.voice(&contact)));
        desk.tell(&contact, letter).await?;
    }
    Ok(())
}

/// The name of the restaurant or food bank that the person stands for.
async fn place_name(desk: &mut Desk<'_>, person: &Person) -> store::Result<Option<String>> {
    Ok(match (person.buyer_id, person.partner_id) {
        (Some(buyer), _) => people::buyer_by_id(&mut desk.tx, buyer).await?.map(|buyer| buyer.name),
        (None, Some(partner)) => store::giving::food_bank(&mut desk.tx, partner).await?.map(|bank| bank.name),
        (None, None) => None,
    })
}

/// Tells the colleagues that somebody has joined them.
pub async fn tell_of_joining(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let Some(place) = place_name(desk, person).await? else { return Ok(()) };
    let name = person.name.clone();
    let args = || Args::new().text("name", name.clone()).text("place", place.clone());
    tell_colleagues(desk, person, |voice| voice.say("contact-joined", &args())).await
}

/// Tells the colleagues that somebody is no longer with them.
pub async fn tell_of_leaving(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let Some(place) = place_name(desk, person).await? else { return Ok(()) };
    let name = person.name.clone();
    let args = || Args::new().text("name", name.clone()).text("place", place.clone());
    tell_colleagues(desk, person, |voice| voice.say("contact-left", &args())).await
}

/// Gives the own place up; the farm's last keeper cannot.
pub async fn leave(desk: &mut Desk<'_>, person: &Person, sure: bool) -> store::Result<()> {
    let voice = desk.voice(person);
    let house = desk.house;
    let is_last_keeper = person.role == Role::Keeper && people::with_role(&mut desk.tx, Role::Keeper).await?.len() == 1;
    if is_last_keeper {
        return desk.answer(person, Letter::new(voice.say("leave-last-keeper", &Args::new()))).await;
    }
    let args = Args::new().text("farm", house.config.farm.name.clone());
    if !sure {
        let letter = Letter::new(voice.say("leave-question", &args)).row([
            Button::new(voice.plain("button-yes", &Args::new()), Intent::Joining(Ask::LeaveFarm { sure: true })),
            Button::new(voice.plain("button-no", &Args::new()), Intent::Joining(Ask::Settings)),
        ]);
        return desk.answer(person, letter).await;
    }
    give_up_place(desk, person).await?;
    desk.answer(person, Letter::new(voice.say("leave-done", &args.text("name", person.name.clone())))).await?;
    tell_of_leaving(desk, person).await?;
    let name = person.name.clone();
    desk.tell_family(Audience::Keepers, |voice| {
        Letter::new(voice.say("person-left", &Args::new().text("name", name.clone())))
    })
    .await
}

/// Makes the link by which the person's new account takes their place.
pub async fn new_account(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let place = Place { role: person.role, buyer_id: person.buyer_id, partner_id: person.partner_id };
    let (code, invitation_id, expires_at) = invite_code(desk, person, place).await?;
    invitations::mark_takeover(&mut desk.tx, invitation_id, person.id).await?;
    let args = Args::new().text("link", link(desk, &code).await?).day_time("until", expires_at);
    let letter = Letter::new(desk.voice(person).say("new-account", &args));
    hand_link(desk, person, letter).await
}

/// The new account opens the link: the place, with everything that hangs on it, is theirs, and the old chat is told.
pub async fn take_over(
    desk: &mut Desk<'_>,
    (account, present): (&Account, Option<&Person>),
    (invitation_id, person_id): (Id, Id),
) -> store::Result<()> {
    let now = desk.now;
    let voice = desk.voice_of_account(account);
    if present.is_some() {
        return desk.answer_account(account, Letter::new(voice.say("new-account-taken", &Args::new()))).await;
    }
    let Some(before) = people::by_id(&mut desk.tx, person_id).await? else {
        return desk.answer_account(account, Letter::new(voice.say("invitation-unknown", &Args::new()))).await;
    };
    let name = before.name.clone();
    let args = || Args::new().text("name", name.clone());
    // At once: what is held goes to the new account.
    let farewell = Letter::new(desk.voice(&before).say("new-account-old-chat", &args())).patient(Patience::Cannot);
    desk.tell(&before, farewell).await?;
    people::change_account(&mut desk.tx, person_id, account.chat_id).await?;
    held::redirect(&mut desk.tx, before.chat_id, account.chat_id).await?;
    invitations::mark_used(&mut desk.tx, invitation_id, person_id, now).await?;
    let person = Person { chat_id: account.chat_id, ..before };
    menu(desk, &person).await?;
    let welcome = Letter::new(desk.voice(&person).say("new-account-done", &args()));
    desk.answer(&person, welcome).await?;
    tell_colleagues(desk, &person, |voice| voice.say("new-account-told", &args())).await?;
    desk.tell_family(Audience::Keepers, |voice| Letter::new(voice.say("new-account-told", &args()))).await
}
