//! Joining: the claim code of the first keeper, invitations for everybody else, and how each person likes to read.

pub mod group;
mod help;
mod invitations;
mod own_place;
pub mod quiet;

pub use invitations::claim_code;

use super::letter::Patience;
use super::{Button, Desk, Letter, language_of, pages};
use crate::incoming::Account;
use crate::intent::{Intent, Waiting as Question, commands};
use crate::outgoing::{Body, MenuCommand};
use crate::wording::{Args, Language, Voice, key};
use scheduler::id::Id;
use scheduler::people::quiet::QuietHours;
use scheduler::people::{HourClock, Person, Place, Role, WhenSilent};
use scheduler::quantity::UnitSystem;
use scheduler::store::outbox::Urgency;
use scheduler::store::people::invitations::{self as invited, Code};
use scheduler::store::{self, buttons, held, people};
use serde::{Deserialize, Serialize};

/// The bot's own name at the service, kept for invitation links.
pub const BOT_NAME: &str = "bot_name";
/// Restaurants, or people to take off, on one page.
const PAGE: usize = 12;
/// Longest name of a restaurant, characters.
const NAME_LENGTH_MAX: usize = 60;

/// What a person can want here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ask {
    Help,
    UnknownCommand,
    Settings,
    Language(String),
    Units(UnitSystem),
    Hours(HourClock),
    /// When shall nothing come that can wait?
    QuietHours,
    /// Minutes of the day; without them never.
    Quiet {
        minutes: Option<(u32, u32)>,
    },
    /// What a short line of the restaurant does when nobody answers.
    WhenSilent(WhenSilent),
    /// Make a link by which another account takes over.
    NewAccount,
    /// Give the own place up.
    LeaveFarm {
        sure: bool,
    },
    /// Somebody who has joined already opened an invitation.
    UseCode(String),
    /// Make this group chat the family's.
    Group,
    /// The group whose namer has left is written to again.
    GroupGoesOn {
        chat: i64,
    },
    /// It is not.
    GroupEnds {
        chat: i64,
    },
    People,
    PeoplePage {
        page: usize,
    },
    /// Invite one of the family.
    Invite(Role),
    NewBuyer,
    InviteBuyer(Id),
    InvitePartner(Id),
    /// The invitations that may still be used.
    Invitations {
        page: usize,
    },
    WithdrawInvitation {
        invitation: Id,
    },
    /// Whom to take off the list?
    Removable,
    RemovablePage {
        page: usize,
    },
    Remove {
        person: Id,
        sure: bool,
    },
}

/// What a chat may answer by typing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Waiting {
    BuyerName,
    QuietHours,
}

/// Does it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn act(desk: &mut Desk<'_>, person: &Person, ask: Ask) -> store::Result<()> {
    match ask {
        Ask::Help => help::help(desk, person).await,
        Ask::UnknownCommand => {
            let letter = Letter::new(desk.voice(person).say("unknown-command", &Args::new()));
            desk.answer(person, letter).await
        }
        Ask::Settings => reading(desk, person).await,
        Ask::Language(tag) => {
            let language = desk.house.language(Some(&tag)).tag().to_owned();
            read_otherwise(desk, Person { language, ..person.clone() }).await
        }
        Ask::Units(units) => read_otherwise(desk, Person { units, ..person.clone() }).await,
        Ask::Hours(hour_clock) => read_otherwise(desk, Person { hour_clock, ..person.clone() }).await,
        Ask::QuietHours => quiet::ask(desk, person).await,
        Ask::Quiet { minutes } => quiet::set(desk, person, minutes).await,
        Ask::WhenSilent(when_silent) => own_place::set_when_silent(desk, person, when_silent).await,
        Ask::NewAccount => own_place::new_account(desk, person).await,
        Ask::LeaveFarm { sure } => own_place::leave(desk, person, sure).await,
        Ask::UseCode(code) => {
            let account = Account {
                chat_id: person.chat_id,
                first_name: person.name.clone(),
                language_code: Some(person.language.clone()),
            };
            use_code(desk, &account, &code, Some(person)).await
        }
        Ask::Group => group::name(desk, person).await,
        Ask::GroupGoesOn { chat } => group::goes_on(desk, person, chat).await,
        Ask::GroupEnds { chat } => group::ends(desk, person, chat).await,
        Ask::People => everybody(desk, person, 0).await,
        Ask::PeoplePage { page } => everybody(desk, person, page).await,
        Ask::Invite(role) => {
            let place = Place { role, buyer_id: None, partner_id: None };
            invitations::invite(desk, person, place, role_name(&desk.voice(person), role)).await
        }
        Ask::NewBuyer => {
            desk.ask(person, &Question::Joining(Waiting::BuyerName)).await?;
            let letter = Letter::new(desk.voice(person).say("buyer-name-question", &Args::new()));
            desk.answer(person, letter).await
        }
        Ask::InviteBuyer(buyer_id) => invite_buyer(desk, person, buyer_id).await,
        Ask::InvitePartner(partner_id) => {
            let place = Place { role: Role::Pantry, buyer_id: None, partner_id: Some(partner_id) };
            invitations::invite(desk, person, place, role_name(&desk.voice(person), Role::Pantry)).await
        }
        Ask::Invitations { page } => invitations::list(desk, person, page).await,
        Ask::WithdrawInvitation { invitation } => invitations::withdraw(desk, person, invitation).await,
        Ask::Removable => removable(desk, person, 0).await,
        Ask::RemovablePage { page } => removable(desk, person, page).await,
        Ask::Remove { person: who, sure } => remove(desk, person, who, sure).await,
    }
}

/// Takes a typed answer.
///
/// # Errors
/// Whatever the store fails with.
pub async fn answered(desk: &mut Desk<'_>, person: &Person, waiting: Waiting, text: &str) -> store::Result<bool> {
    match waiting {
        Waiting::BuyerName => named(desk, person, text).await,
        Waiting::QuietHours => quiet::answered(desk, person, text).await,
    }
}

async fn named(desk: &mut Desk<'_>, person: &Person, text: &str) -> store::Result<bool> {
    let name = text.trim();
    let voice = desk.voice(person);
    if name.is_empty() || name.chars().count() > NAME_LENGTH_MAX {
        let letter = Letter::new(voice.say("name-too-long", &Args::new().count("most", NAME_LENGTH_MAX as i64)));
        desk.answer(person, letter).await?;
        return Ok(true);
    }
    desk.close_question(person).await?;
    let taken = people::buyers(&mut desk.tx).await?.iter().any(|buyer| buyer.name.eq_ignore_ascii_case(name));
    if taken {
        let letter = Letter::new(voice.say("name-taken", &Args::new().text("name", name)));
        desk.answer(person, letter).await?;
        return Ok(true);
    }
    let now = desk.now;
    let buyer_id = people::add_buyer(&mut desk.tx, name, now).await?;
    invite_buyer(desk, person, buyer_id).await?;
    Ok(true)
}

/// Somebody who has not joined: an invitation is used, anything else gets one polite line.
///
/// # Errors
/// Whatever the store fails with.
pub async fn stranger(desk: &mut Desk<'_>, account: &Account, text: &str) -> store::Result<()> {
    if !super::flood::may_knock(desk, account).await? {
        return Ok(());
    }
    let code = text.trim().strip_prefix("/start").map(str::trim).filter(|code| !code.is_empty());
    match code {
        Some(code) => use_code(desk, account, code, None).await,
        None => {
            let args = Args::new().text("farm", desk.house.config.farm.name.clone());
            let letter = Letter::new(desk.voice_of_account(account).say("stranger", &args));
            desk.answer_account(account, letter).await
        }
    }
}

async fn use_code(desk: &mut Desk<'_>, account: &Account, code: &str, present: Option<&Person>) -> store::Result<()> {
    let voice = desk.voice_of_account(account);
    let now = desk.now;
    let found = invited::look_up_code(&mut desk.tx, code, now).await?;
    let refusal = match found {
        Code::Good { invitation_id, place, made_by } => {
            if let Some(person_id) = invited::takeover_of(&mut desk.tx, invitation_id).await? {
                return own_place::take_over(desk, (account, present), (invitation_id, person_id)).await;
            }
            // A keeper who tries an invitation on themselves would lock the farm out.
            if present.is_some_and(|person| person.role == Role::Keeper && place.role != Role::Keeper) {
                key("invitation-not-for-keeper")
            } else {
                let person = newcomer(desk, account, place, present);
                forget_chat(desk, person.chat_id).await?;
                let is_first_keeper =
                    place.role == Role::Keeper && people::with_role(&mut desk.tx, Role::Keeper).await?.is_empty();
                people::join(&mut desk.tx, &person, now).await?;
                // Who comes back has the identifier they had.
                let person = people::by_chat(&mut desk.tx, account.chat_id).await?.unwrap_or(person);
                invited::mark_used(&mut desk.tx, invitation_id, person.id, now).await?;
                if is_first_keeper {
                    // Each start without a keeper printed a code; from now on none of them works.
                    invited::withdraw_keepers(&mut desk.tx, now).await?;
                }
                own_place::tell_of_joining(desk, &person).await?;
                if let Some(maker) = made_by
                    && present.is_none_or(|before| before.role != place.role)
                {
                    tell_keepers_of_family(desk, &person, maker).await?;
                }
                return welcome(desk, &person).await;
            }
        }
        Code::Used => key("invitation-used"),
        Code::Expired => key("invitation-expired"),
        Code::Unknown => key("invitation-unknown"),
    };
    desk.answer_account(account, Letter::new(voice.say(refusal, &Args::new()))).await
}

fn newcomer(desk: &Desk<'_>, account: &Account, place: Place, present: Option<&Person>) -> Person {
    let farm = &desk.house.config.farm;
    let code = language_of(account, &farm.language);
    let language = desk.house.language(Some(&code));
    // Weights are said across one table, so everybody begins with the farm's; the clock is a habit of one's language.
    let hour_clock = if language == desk.house.language(None) {
        farm.hour_clock
    } else {
        desk.house.wording.habitual_clock(language)
    };
    Person {
        id: present.map_or_else(|| desk.new_id(), |person| person.id),
        chat_id: account.chat_id,
        name: account.first_name.clone(),
        role: place.role,
        language: language.tag().to_owned(),
        units: present.map_or(farm.units, |person| person.units),
        hour_clock: present.map_or(hour_clock, |person| person.hour_clock),
        quiet: present.map_or(Some(QuietHours::USUAL), |person| person.quiet),
        buyer_id: place.buyer_id,
        partner_id: place.partner_id,
    }
}

async fn welcome(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    let args = Args::new().text("name", person.name.clone()).text("farm", desk.house.config.farm.name.clone());
    let text_key = match person.role {
        Role::Keeper => key("welcome-keeper"),
        Role::Grower | Role::Driver => key("welcome-family"),
        Role::Buyer => key("welcome-buyer"),
        Role::Pantry => key("welcome-pantry"),
    };
    menu(desk, person).await?;
    let letter = Letter::new(voice.say(text_key, &args)).row([
        Button::new(voice.plain("button-settings", &Args::new()), Intent::Joining(Ask::Settings)),
        Button::new(voice.plain("button-help", &Args::new()), Intent::Joining(Ask::Help)),
    ]);
    desk.answer(person, letter).await
}

async fn menu(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    let commands = commands::of_role(person.role)
        .map(|command| MenuCommand {
            command: command.word.to_owned(),
            description: voice.plain(command.key, &Args::new()),
        })
        .collect();
    desk.put(person.chat_id, &Body::Menu { commands }, Urgency::Notice).await
}

async fn reading(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    let silent = own_place::when_silent_line(desk, person).await?;
    let quiet = quiet::sentence(&voice, person.quiet);
    let lines = silent.into_iter().chain([quiet, voice.say("settings-question", &Args::new())]);
    let letter = Letter::new(lines.collect::<Vec<_>>().join("\n"))
        .row(Language::all().map(|language| {
            let label = desk.farm_voice(language).plain("language-name", &Args::new());
            Button::new(label, Intent::Joining(Ask::Language(language.tag().to_owned())))
        }))
        .row([
            Button::new(
                voice.plain("units-pounds", &Args::new()),
                Intent::Joining(Ask::Units(UnitSystem::Avoirdupois)),
            ),
            Button::new(voice.plain("units-kilograms", &Args::new()), Intent::Joining(Ask::Units(UnitSystem::Metric))),
        ])
        .row([
            Button::new(voice.plain("hours-twelve", &Args::new()), Intent::Joining(Ask::Hours(HourClock::Twelve))),
            Button::new(
                voice.plain("hours-twenty-four", &Args::new()),
                Intent::Joining(Ask::Hours(HourClock::TwentyFour)),
            ),
        ])
        .row([quiet::button(&voice)]);
    let own = own_place::buttons(desk, person).await?;
    desk.answer(person, own.into_iter().fold(letter, Letter::row)).await
}

async fn read_otherwise(desk: &mut Desk<'_>, person: Person) -> store::Result<()> {
    people::set_reading(&mut desk.tx, &person).await?;
    menu(desk, &person).await?;
    reading(desk, &person).await
}

fn role_name(voice: &Voice, role: Role) -> String {
    let text_key = match role {
        Role::Keeper => key("role-keeper"),
        Role::Grower => key("role-grower"),
        Role::Driver => key("role-driver"),
        Role::Buyer => key("role-buyer"),
        Role::Pantry => key("role-pantry"),
    };
    voice.plain(text_key, &Args::new())
}

async fn everybody(desk: &mut Desk<'_>, person: &Person, page: usize) -> store::Result<()> {
    let voice = desk.voice(person);
    let everybody = people::everybody(&mut desk.tx).await?;
    let buyers = people::buyers(&mut desk.tx).await?;
    let mut lines = vec![voice.say("people-heading", &Args::new())];
    for one in everybody.iter().filter(|one| one.role.is_family()) {
        let args = Args::new().text("name", one.name.clone()).text("role", role_name(&voice, one.role));
        lines.push(voice.say("people-line", &args));
    }
    let page = pages::page(&voice, &buyers, (page, PAGE), |page| Intent::Joining(Ask::PeoplePage { page }));
    for buyer in page.items {
        let contacts = everybody.iter().filter(|one| one.buyer_id == Some(buyer.id)).map(|one| one.name.clone());
        let contacts: Vec<String> = contacts.collect();
        let args = Args::new().text("name", buyer.name.clone());
        lines.push(if contacts.is_empty() {
            voice.say("people-buyer-nobody", &args)
        } else {
            voice.say("people-buyer", &args.list("contacts", contacts))
        });
    }
    let invite = |role: Role| Button::new(role_name(&voice, role), Intent::Joining(Ask::Invite(role)));
    let mut letter = Letter::new("").row([invite(Role::Keeper), invite(Role::Grower), invite(Role::Driver)]);
    letter = letter.row([Button::new(voice.plain("button-new-buyer", &Args::new()), Intent::Joining(Ask::NewBuyer))]);
    for buyer in page.items {
        letter = letter.row([Button::new(buyer.name.clone(), Intent::Joining(Ask::InviteBuyer(buyer.id)))]);
    }
    lines.extend(page.line);
    letter = letter.row(page.row);
    let open = invitations::in_short(desk, &voice).await?;
    if !open.is_empty() {
        let label = voice.plain("button-invitations", &Args::new());
        letter = letter.row([Button::new(label, Intent::Joining(Ask::Invitations { page: 0 }))]);
        lines.extend(open);
    }
    if everybody.len() > 1 {
        let label = voice.plain("button-take-off", &Args::new());
        letter = letter.row([Button::new(label, Intent::Joining(Ask::Removable))]);
    }
    lines.push(voice.say("people-invite-question", &Args::new()));
    letter.html = lines.join("\n");
    desk.answer(person, letter).await
}

async fn invite_buyer(desk: &mut Desk<'_>, person: &Person, buyer_id: Id) -> store::Result<()> {
    let Some(buyer) = people::buyer_by_id(&mut desk.tx, buyer_id).await? else {
        let letter = Letter::new(desk.voice(person).say("stale-button", &Args::new()));
        return desk.answer(person, letter).await;
    };
    let place = Place { role: Role::Buyer, buyer_id: Some(buyer_id), partner_id: None };
    invitations::invite(desk, person, place, buyer.name).await
}

async fn removable(desk: &mut Desk<'_>, person: &Person, page: usize) -> store::Result<()> {
    let voice = desk.voice(person);
    let mut others = people::everybody(&mut desk.tx).await?;
    others.retain(|other| other.id != person.id);
    let page = pages::page(&voice, &others, (page, PAGE), |page| Intent::Joining(Ask::RemovablePage { page }));
    let lines = [voice.say("take-off-question", &Args::new())].into_iter().chain(page.line);
    let mut letter = Letter::new(lines.collect::<Vec<_>>().join("\n"));
    for other in page.items {
        let args = Args::new().text("name", other.name.clone()).text("role", role_name(&voice, other.role));
        let ask = Ask::Remove { person: other.id, sure: false };
        letter = letter.row([Button::new(voice.plain("people-line", &args), Intent::Joining(ask))]);
    }
    let no = Button::new(voice.plain("button-no", &Args::new()), Intent::Joining(Ask::People));
    desk.answer(person, letter.row(page.row).row([no])).await
}

async fn remove(desk: &mut Desk<'_>, person: &Person, who: Id, sure: bool) -> store::Result<()> {
    let voice = desk.voice(person);
    let Some(other) = people::by_id(&mut desk.tx, who).await? else {
        return desk.answer(person, Letter::new(voice.say("stale-button", &Args::new()))).await;
    };
    let args = Args::new().text("name", other.name.clone());
    if other.id == person.id {
        return desk.answer(person, Letter::new(voice.say("remove-not-yourself", &Args::new()))).await;
    }
    if !sure {
        let letter = Letter::new(voice.say("remove-question", &args)).row([
            Button::new(
                voice.plain("button-yes", &Args::new()),
                Intent::Joining(Ask::Remove { person: who, sure: true }),
            ),
            Button::new(voice.plain("button-no", &Args::new()), Intent::Joining(Ask::People)),
        ]);
        return desk.answer(person, letter).await;
    }
    give_up_place(desk, &other).await?;
    own_place::tell_of_leaving(desk, &other).await?;
    tell_other_keepers(desk, person, |voice| {
        let args = Args::new().text("name", other.name.clone()).text("who", person.name.clone());
        Letter::new(voice.say("person-removed", &args))
    })
    .await?;
    desk.answer(person, Letter::new(voice.say("removed", &args))).await
}

/// Takes a person's place away, with the invitations they made and everything that stands in their chat: an old button
/// must mean nothing, whatever place they have later.
///
/// # Errors
/// Whatever the store fails with.
pub async fn give_up_place(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let now = desk.now;
    people::leave(&mut desk.tx, person.id, now).await?;
    forget_chat(desk, person.chat_id).await?;
    if person.role.is_family() { group::without(desk, person).await } else { Ok(()) }
}

/// Forgets the buttons of a private chat, closes its question and takes back what is held for it.
async fn forget_chat(desk: &mut Desk<'_>, chat_id: i64) -> store::Result<()> {
    buttons::forget_all(&mut desk.tx, chat_id).await?;
    buttons::close_question(&mut desk.tx, chat_id).await?;
    held::take_back_all(&mut desk.tx, chat_id).await?;
    Ok(())
}

/// Writes to every keeper but this one.
async fn tell_other_keepers(
    desk: &mut Desk<'_>,
    person: &Person,
    write: impl Fn(&Voice) -> Letter,
) -> store::Result<()> {
    for keeper in people::with_role(&mut desk.tx, Role::Keeper).await? {
        if keeper.id != person.id {
            let letter = write(&desk.voice(&keeper));
            desk.tell(&keeper, letter).await?;
        }
    }
    Ok(())
}

/// Tells the keepers that one of the family has joined, and whose invitation it was: at once, so that a keeper nobody knows
/// does not have the night.
async fn tell_keepers_of_family(desk: &mut Desk<'_>, newcomer: &Person, maker: Id) -> store::Result<()> {
    let Some(maker) = people::by_id(&mut desk.tx, maker).await?.filter(|_| newcomer.role.is_family()) else {
        return Ok(());
    };
    tell_other_keepers(desk, newcomer, |voice| {
        let args = Args::new().text("name", newcomer.name.clone()).text("role", role_name(voice, newcomer.role));
        let text = voice.say("family-joined", &args.text("maker", maker.name.clone()));
        Letter::new(text).patient(if newcomer.role == Role::Keeper { Patience::Cannot } else { Patience::Waits })
    })
    .await
}
