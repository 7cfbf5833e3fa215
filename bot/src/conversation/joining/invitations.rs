//! Invitations: the links that let somebody in, which of them are open, and how they are withdrawn. Rule: a link is shown to
//! whoever asked for it and to nobody else, so never in a group.

use super::{Ask, BOT_NAME, PAGE, role_name};
use crate::conversation::{Button, Desk, Letter, pages};
use crate::intent::Intent;
use crate::wording::{Args, Voice};
use scheduler::clock::UtcSeconds;
use scheduler::id::Id;
use scheduler::people::{Person, Place, Role};
use scheduler::store::people::invitations::{self, NewInvitation, Open};
use scheduler::store::{self, Tx, giving, people, settings};

/// Open invitations that the list of people shows; the rest is one press away.
const SHORT: usize = 5;

/// Makes an invitation to this place and hands its link over.
pub(super) async fn invite(desk: &mut Desk<'_>, person: &Person, place: Place, name: String) -> store::Result<()> {
    let (code, _, expires_at) = invite_code(desk, person, place).await?;
    let args = Args::new().text("name", name).text("link", link(desk, &code).await?).day_time("until", expires_at);
    let letter = Letter::new(desk.voice(person).say("invitation", &args));
    hand_link(desk, person, letter).await
}

/// Answers with a message that has a link in it: in the private chat, wherever it was asked for.
pub(super) async fn hand_link(desk: &mut Desk<'_>, person: &Person, letter: Letter) -> store::Result<()> {
    if desk.group_chat(person).is_none() {
        return desk.answer(person, letter).await;
    }
    desk.answer_in_private(person, letter).await?;
    let text = desk.voice(person).say("invitation-in-private", &Args::new());
    desk.answer(person, Letter::new(text)).await
}

/// A new invitation: its code, its identifier, and until when it works.
pub(super) async fn invite_code(
    desk: &mut Desk<'_>,
    person: &Person,
    place: Place,
) -> store::Result<(String, Id, UtcSeconds)> {
    let expires_at = desk.now.plus_minutes(desk.house.config.rules.orders.invitation_days * 24 * 60);
    let code = new_code();
    let new = NewInvitation { code: &code, place, made_by: Some(person.id), now: desk.now, expires_at };
    let id = invitations::invite(&mut desk.tx, new).await?;
    Ok((code, id, expires_at))
}

/// The link that opens the bot with a code.
pub(super) async fn link(desk: &mut Desk<'_>, code: &str) -> store::Result<String> {
    let bot_name = settings::get(&mut desk.tx, BOT_NAME).await?.unwrap_or_default();
    Ok(format!("https://t.me/{bot_name}?start={code}"))
}

/// Lines of the open invitations for the list of people; none where none is open.
pub(super) async fn in_short(desk: &mut Desk<'_>, voice: &Voice) -> store::Result<Vec<String>> {
    let open = open(desk).await?;
    if open.is_empty() {
        return Ok(Vec::new());
    }
    let mut lines = vec![voice.say("invitations-open", &Args::new())];
    for one in open.iter().take(SHORT) {
        lines.push(line(desk, voice, one).await?);
    }
    if open.len() > SHORT {
        lines.push(voice.say("invitations-more", &Args::new().count("count", (open.len() - SHORT) as i64)));
    }
    Ok(lines)
}

/// Shows the open invitations, each with a button that withdraws it.
pub(super) async fn list(desk: &mut Desk<'_>, person: &Person, page: usize) -> store::Result<()> {
    let heading = desk.voice(person).say("invitations-heading", &Args::new());
    list_under(desk, person, (heading, page)).await
}

async fn list_under(desk: &mut Desk<'_>, person: &Person, (heading, page): (String, usize)) -> store::Result<()> {
    let voice = desk.voice(person);
    let open = open(desk).await?;
    let page = pages::page(&voice, &open, (page, PAGE), |page| Intent::Joining(Ask::Invitations { page }));
    let mut letter = Letter::new("");
    let mut lines = vec![heading];
    if open.is_empty() {
        lines.push(voice.say("invitations-none", &Args::new()));
    }
    for one in page.items {
        lines.push(line(desk, &voice, one).await?);
        let args = Args::new().text("name", name(desk, &voice, one).await?).day_time("until", one.expires_at);
        let ask = Ask::WithdrawInvitation { invitation: one.id };
        letter = letter.row([Button::new(voice.plain("button-withdraw-invitation", &args), Intent::Joining(ask))]);
    }
    lines.extend(page.line);
    let back = Button::new(voice.plain("button-people", &Args::new()), Intent::Joining(Ask::People));
    letter = letter.row(page.row).row([back]);
    letter.html = lines.join("\n");
    desk.answer(person, letter).await
}

/// Withdraws one and shows the rest.
pub(super) async fn withdraw(desk: &mut Desk<'_>, person: &Person, invitation: Id) -> store::Result<()> {
    let (voice, now) = (desk.voice(person), desk.now);
    let heading = match open(desk).await?.into_iter().find(|one| one.id == invitation) {
        Some(one) => {
            invitations::withdraw(&mut desk.tx, invitation, now).await?;
            voice.say("invitation-withdrawn", &Args::new().text("name", name(desk, &voice, &one).await?))
        }
        None => voice.say("invitation-not-open", &Args::new()),
    };
    list_under(desk, person, (heading, 0)).await
}

/// The open invitations that would still let somebody in.
async fn open(desk: &mut Desk<'_>) -> store::Result<Vec<Open>> {
    let now = desk.now;
    invitations::open(&mut desk.tx, now).await
}

async fn line(desk: &mut Desk<'_>, voice: &Voice, one: &Open) -> store::Result<String> {
    let args = Args::new().text("name", name(desk, voice, one).await?).day_time("until", one.expires_at);
    if one.takeover_of.is_some() {
        return Ok(voice.say("invitation-line-account", &args));
    }
    let maker = match one.made_by {
        Some(maker) => people::by_id(&mut desk.tx, maker).await?,
        None => None,
    };
    Ok(match maker {
        Some(maker) => voice.say("invitation-line", &args.text("maker", maker.name)),
        None => voice.say("invitation-line-nobody", &args),
    })
}

/// Whom an invitation is for: a person who changes accounts, a restaurant, a food bank or a role.
async fn name(desk: &mut Desk<'_>, voice: &Voice, one: &Open) -> store::Result<String> {
    let known = match (one.takeover_of, one.place.buyer_id, one.place.partner_id) {
        (Some(person), _, _) => people::by_id(&mut desk.tx, person).await?.map(|person| person.name),
        (None, Some(buyer), _) => people::buyer_by_id(&mut desk.tx, buyer).await?.map(|buyer| buyer.name),
        (None, None, Some(partner)) => giving::food_bank(&mut desk.tx, partner).await?.map(|bank| bank.name),
        (None, None, None) => None,
    };
    Ok(known.unwrap_or_else(|| role_name(voice, one.place.role)))
}

/// Makes a one-time code for the keeper, unless there is a keeper. Codes of earlier starts go on working until somebody
/// has become the keeper.
///
/// # Errors
/// Whatever the store fails with.
pub async fn claim_code(tx: &mut Tx, now: UtcSeconds, valid_days: i64) -> store::Result<Option<String>> {
    if !people::with_role(tx, Role::Keeper).await?.is_empty() {
        return Ok(None);
    }
    let code = new_code();
    let place = Place { role: Role::Keeper, buyer_id: None, partner_id: None };
    let expires_at = now.plus_minutes(valid_days * 24 * 60);
    invitations::invite(tx, NewInvitation { code: &code, place, made_by: None, now, expires_at }).await?;
    Ok(Some(code))
}

/// 128 random bits in hexadecimal: 32 of the 64 characters that a deep link may carry (Bot API, features page).
fn new_code() -> String {
    let mut bytes = [0_u8; 16];
    getrandom::fill(&mut bytes).expect("the system gives random bytes");
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
