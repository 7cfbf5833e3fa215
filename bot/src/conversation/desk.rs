//! The desk: one transaction, the time, and the letters written in it. What is committed together is state and outbox.

use super::Letter;
use super::audience::Audience;
use super::letter::{FileKind, Patience, fitting, in_parts, joined};
use crate::house::House;
use crate::incoming::Account;
use crate::intent::{Asked, Waiting};
use crate::outgoing::{Body, Key, Place};
use crate::wording::{Language, Reader, Voice};
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::farm::{Event, Farm};
use scheduler::id::Id;
use scheduler::people::quiet::QuietHours;
use scheduler::people::{Person, Role};
use scheduler::planted;
use scheduler::store::outbox::{TakenBack, Urgency};
use scheduler::store::{self, Tx, buttons, held, outbox, people, surplus};

/// How long a typed answer to a question is waited for.
const QUESTION_MINUTES: i64 = 60;
/// How long a typed yes to what was said back is waited for: as long as its button may be pressed, a week at most.
const CONFIRM_MINUTES: i64 = 7 * 24 * 60;
/// Messages looked through for the last one that people read.
const NEWEST_MAX: i64 = 8;

/// How long the answer to a press is of use: later the service does not take it. Common practice, no source.
const PRESS_SECONDS: i64 = 15 * 60;

/// Minutes somebody must have left to act on what was held, or it is not held.
pub const READ_MINUTES: i64 = 60;

/// Where one update or one occurrence is worked on.
pub struct Desk<'h> {
    pub tx: Tx,
    pub now: UtcSeconds,
    pub house: &'h House,
    /// Where the update happened; answers go there.
    chat_id: Option<i64>,
    /// The card whose button was pressed: the answer takes its place.
    pressed_card: Option<String>,
    /// What has happened and is not told yet.
    events: Vec<Event>,
    /// What the next answer begins with.
    preface: Option<String>,
    /// The day that what was said back, and is not confirmed, is about.
    pub spoken_day: Option<LocalDate>,
}

impl<'h> Desk<'h> {
    /// A desk for an update from `chat_id`, or for the timetable with `None`.
    pub fn new(tx: Tx, now: UtcSeconds, house: &'h House, chat_id: Option<i64>) -> Desk<'h> {
        Desk { tx, now, house, chat_id, pressed_card: None, events: Vec::new(), preface: None, spoken_day: None }
    }

    /// The business of the farm, in this transaction.
    pub fn farm(&mut self) -> Farm<'_> {
        let House { calendar, crops, config, .. } = self.house;
        Farm { tx: &mut self.tx, now: self.now, calendar, crops, rules: &config.rules }
    }

    /// Something has happened; whoever has to hear of it is told once the answer stands ([`super::telling`]).
    pub fn happened(&mut self, events: impl IntoIterator<Item = impl Into<Event>>) {
        self.events.extend(events.into_iter().map(Into::into));
    }

    pub(super) fn take_events(&mut self) -> Vec<Event> {
        std::mem::take(&mut self.events)
    }

    pub(super) fn press(&mut self, chat_id: i64, card: String) {
        self.chat_id = Some(chat_id);
        self.pressed_card = Some(card);
    }

    /// Whether the intent came from a button.
    pub fn is_press(&self) -> bool {
        self.pressed_card.is_some()
    }

    /// A new identifier.
    pub fn new_id(&self) -> Id {
        self.tx.new_id(self.now)
    }

    /// The farm's calendar day.
    pub fn today(&self) -> LocalDate {
        self.now.local_date(self.house.zone())
    }

    /// How this person is spoken to.
    pub fn voice(&self, person: &Person) -> Voice {
        self.house.wording.reader(Reader {
            language: self.house.language(Some(&person.language)),
            units: person.units,
            hour_clock: person.hour_clock,
            zone: self.house.zone(),
        })
    }

    /// How somebody who has not joined is spoken to.
    pub fn voice_of_account(&self, account: &Account) -> Voice {
        self.farm_voice(self.house.language(account.language_code.as_deref()))
    }

    /// The farm's own units and hours in a language.
    pub fn farm_voice(&self, language: Language) -> Voice {
        let farm = &self.house.config.farm;
        self.house.wording.reader(Reader { language, units: farm.units, hour_clock: farm.hour_clock, zone: farm.zone })
    }

    /// The next answer begins with this.
    pub fn preface(&mut self, html: String) {
        self.preface = Some(html);
    }

    /// Whether what is answered is a guess, with what it left out before it.
    pub fn is_guess(&self) -> bool {
        self.preface.is_some()
    }

    /// Answers whoever wrote or pressed, where they did: a pressed card is edited, otherwise a new message goes out.
    pub async fn answer(&mut self, person: &Person, letter: Letter) -> store::Result<()> {
        let chat_id = self.chat_id.unwrap_or(person.chat_id);
        let letter = match self.preface.take() {
            Some(preface) => Letter { html: format!("{preface}\n{}", letter.html), ..letter },
            None => letter,
        };
        let letter = match (self.pressed_card.take(), &letter.card, &letter.file) {
            (Some(card), None, None) => letter.on_card(card),
            (Some(card), _, _) => {
                // The pressed message keeps its text but loses its buttons.
                self.clear_keys(chat_id, card, Urgency::Answer).await?;
                letter
            }
            (None, _, _) => letter,
        };
        self.post(chat_id, letter, Urgency::Answer).await
    }

    /// Brings something beside the pressed card, which keeps its buttons: a file of what the card shows.
    pub async fn hand(&mut self, person: &Person, letter: Letter) -> store::Result<()> {
        let chat_id = self.chat_id.unwrap_or(person.chat_id);
        self.post(chat_id, letter, Urgency::Answer).await
    }

    /// Answers in the person's private chat, also where they asked in a group; the pressed card stays as it is.
    pub async fn answer_in_private(&mut self, person: &Person, letter: Letter) -> store::Result<()> {
        self.post(person.chat_id, letter, Urgency::Answer).await
    }

    /// What follows is no answer over the pressed card, which stays as it is.
    pub fn leave_card(&mut self) {
        self.pressed_card = None;
    }

    /// What follows is no answer over the pressed card, whose buttons have done their work.
    pub async fn give_up_card(&mut self, person: &Person) -> store::Result<()> {
        let chat_id = self.chat_id.unwrap_or(person.chat_id);
        match self.pressed_card.take() {
            Some(card) => self.clear_keys(chat_id, card, Urgency::Answer).await,
            None => Ok(()),
        }
    }

    /// Answers an account that has not joined.
    pub async fn answer_account(&mut self, account: &Account, letter: Letter) -> store::Result<()> {
        self.post(account.chat_id, letter, Urgency::Stranger).await
    }

    /// Answers in the chat where the update happened, whoever's it is.
    pub async fn answer_here(&mut self, letter: Letter) -> store::Result<()> {
        match self.chat_id {
            Some(chat_id) => self.post(chat_id, letter, Urgency::Answer).await,
            None => Ok(()),
        }
    }

    /// Writes to a person who did not ask; in their quiet hours what can wait is held until these end.
    pub async fn tell(&mut self, person: &Person, letter: Letter) -> store::Result<()> {
        self.notify(person.chat_id, person.quiet, letter).await
    }

    /// Takes a card back that this person has not been sent yet; `true` when there was one.
    pub async fn take_back(&mut self, person: &Person, card: &str) -> store::Result<bool> {
        let now = self.now;
        let was_held = held::take_back(&mut self.tx, person.chat_id, card).await?.is_some();
        if was_held {
            buttons::void_card(&mut self.tx, person.chat_id, card, now).await?;
        }
        Ok(was_held)
    }

    /// Writes to every contact of a restaurant, each in their own language and units.
    pub async fn tell_buyer(&mut self, buyer_id: Id, write: impl Fn(&Voice) -> Letter) -> store::Result<()> {
        let mut buyer_id = buyer_id;
        if planted::is_on(planted::Bug::WrongBuyer) {
            let other = people::buyers(&mut self.tx).await?.into_iter().find(|other| other.id != buyer_id);
            buyer_id = other.map_or(buyer_id, |other| other.id);
        }
        for contact in people::contacts_of_buyer(&mut self.tx, buyer_id).await? {
            let letter = write(&self.voice(&contact));
            self.tell(&contact, letter).await?;
        }
        Ok(())
    }

    /// Writes to the family: `Everyone` through their group chat where there is one, otherwise to each of them.
    pub async fn tell_family(&mut self, audience: Audience, write: impl Fn(&Voice) -> Letter) -> store::Result<()> {
        self.tell_audience(audience, write).await
    }

    /// Writes to everybody an audience means.
    pub async fn tell_audience(&mut self, audience: Audience, write: impl Fn(&Voice) -> Letter) -> store::Result<()> {
        let groups = people::family_groups(&mut self.tx).await?;
        match audience {
            Audience::Buyer(buyer_id) => return self.tell_buyer(buyer_id, write).await,
            Audience::Card(card) => return self.settle_card(&card, write).await,
            Audience::Everyone if !groups.is_empty() => {
                for (chat_id, language) in groups {
                    let letter = write(&self.farm_voice(self.house.language(Some(&language))));
                    self.notify(chat_id, Some(QuietHours::USUAL), letter).await?;
                }
                return Ok(());
            }
            _ => {}
        }
        for person in self.readers(&audience).await? {
            let letter = write(&self.voice(&person));
            self.tell(&person, letter).await?;
        }
        Ok(())
    }

    /// The people an audience means, group chats and cards left out.
    pub async fn readers(&mut self, audience: &Audience) -> store::Result<Vec<Person>> {
        let (people, but) = match audience {
            Audience::Buyer(buyer_id) => (people::contacts_of_buyer(&mut self.tx, *buyer_id).await?, None),
            Audience::Colleagues { buyer_id, of } => {
                (people::contacts_of_buyer(&mut self.tx, *buyer_id).await?, Some(*of))
            }
            Audience::Asked { offer_id, of } => {
                let mut contacts = Vec::new();
                for (buyer_id, _) in surplus::asked_buyers(&mut self.tx, *offer_id).await? {
                    contacts.extend(people::contacts_of_buyer(&mut self.tx, buyer_id).await?);
                }
                (contacts, *of)
            }
            Audience::Partner(partner_id) => (people::contacts_of_partner(&mut self.tx, *partner_id).await?, None),
            Audience::OtherContacts { partner_id, of } => {
                (people::contacts_of_partner(&mut self.tx, *partner_id).await?, Some(*of))
            }
            Audience::Everyone => {
                let everybody = people::everybody(&mut self.tx).await?.into_iter();
                (everybody.filter(|person| person.role.is_family()).collect(), None)
            }
            Audience::Keepers => (people::with_role(&mut self.tx, Role::Keeper).await?, None),
            Audience::OtherKeepers { of } => (people::with_role(&mut self.tx, Role::Keeper).await?, Some(*of)),
            Audience::Drivers => {
                let drivers = people::with_role(&mut self.tx, Role::Driver).await?;
                let has_drivers = !drivers.is_empty();
                let meant = if has_drivers { drivers } else { people::with_role(&mut self.tx, Role::Keeper).await? };
                (meant, None)
            }
            Audience::DriversAndKeepers => {
                let mut meant = people::with_role(&mut self.tx, Role::Driver).await?;
                meant.extend(people::with_role(&mut self.tx, Role::Keeper).await?);
                (meant, None)
            }
            Audience::Card(_) => (Vec::new(), None),
        };
        Ok(people.into_iter().filter(|person| Some(person.id) != but).collect())
    }

    /// Settles a card wherever its buttons still work: `write` gives the text that stands there from now on.
    pub async fn settle_card(&mut self, card: &str, write: impl Fn(&Voice) -> Letter) -> store::Result<()> {
        for chat_id in buttons::chats_with_live_card(&mut self.tx, card).await? {
            let person = people::by_chat(&mut self.tx, chat_id).await?;
            let (voice, quiet) = match &person {
                Some(person) => (self.voice(person), person.quiet),
                None => (self.farm_voice(self.house.language(None)), Some(QuietHours::USUAL)),
            };
            self.notify(chat_id, quiet, write(&voice).on_card(card)).await?;
        }
        Ok(())
    }

    /// A short note over the pressed button; an empty one only ends the button's waiting.
    pub async fn toast(&mut self, callback_id: &str, text: &str) -> store::Result<()> {
        let body = Body::Toast { callback_id: callback_id.to_owned(), text: text.to_owned() };
        let useful_until = Some(self.now.plus_seconds(PRESS_SECONDS));
        let out = Out { urgency: Urgency::Answer, card: None, useful_until, not_before: self.now };
        self.send(self.chat_id.unwrap_or_default(), &body, &out).await
    }

    /// Sends anything else the sender knows, such as a command menu, which takes the place of one that still waits.
    pub async fn put(&mut self, chat_id: i64, body: &Body, urgency: Urgency) -> store::Result<()> {
        if matches!(body, Body::Menu { .. }) {
            outbox::take_back_menus(&mut self.tx, chat_id).await?;
        }
        let card = body.changed_card().map(str::to_owned);
        self.send(chat_id, body, &Out { urgency, card, useful_until: None, not_before: self.now }).await
    }

    async fn send(&mut self, chat_id: i64, body: &Body, out: &Out) -> store::Result<()> {
        let text = text_of(body);
        let new = outbox::New {
            chat_id,
            urgency: out.urgency,
            lane: body.lane(),
            body: &text,
            card: out.card.as_deref(),
            useful_until: out.useful_until,
            not_before: out.not_before,
        };
        let id = outbox::put_new(&mut self.tx, new, self.now).await?;
        #[cfg(feature = "planted")]
        if planted::is_on(planted::Bug::SendBeforeCommit) {
            planted::send_early(chat_id, &text);
            outbox::mark_sent(&mut self.tx, id, self.now).await?;
        }
        #[cfg(not(feature = "planted"))]
        let _ = id;
        Ok(())
    }

    /// Asks something that may be answered by typing in this chat.
    pub async fn ask(&mut self, person: &Person, waiting: &Waiting) -> store::Result<()> {
        let chat_id = self.chat_id.unwrap_or(person.chat_id);
        let asked = Asked { of: person.id, waiting: waiting.clone() };
        let text = serde_json::to_string(&asked).expect("a question has string keys only");
        let minutes = if matches!(waiting, Waiting::Confirm(_)) { CONFIRM_MINUTES } else { QUESTION_MINUTES };
        let expires_at = self.now.plus_minutes(minutes);
        buttons::ask(&mut self.tx, chat_id, &text, (self.now, expires_at)).await
    }

    /// The question this person may answer by typing in this chat: in a group only whoever was asked may.
    pub async fn open_question(&mut self, chat_id: i64, person: &Person) -> store::Result<Option<Waiting>> {
        let text = buttons::open_question(&mut self.tx, chat_id, self.now).await?;
        let asked = text.and_then(|text| serde_json::from_str::<Asked>(&text).ok());
        Ok(asked.filter(|asked| asked.of == person.id).map(|asked| asked.waiting))
    }

    /// Forgets the question this chat was asked.
    pub async fn close_question(&mut self, person: &Person) -> store::Result<()> {
        let chat_id = self.chat_id.unwrap_or(person.chat_id);
        buttons::close_question(&mut self.tx, chat_id).await
    }

    /// Whether this card is the last message that the chat was sent.
    pub async fn was_said_last(&mut self, chat_id: i64, card: &str) -> store::Result<bool> {
        for text in outbox::newest_of(&mut self.tx, chat_id, NEWEST_MAX).await? {
            match serde_json::from_str::<Body>(&text) {
                Ok(Body::ClearKeys { .. } | Body::Toast { .. } | Body::Menu { .. } | Body::WhoIsThere { .. })
                | Err(_) => {}
                Ok(body) => return Ok(body.card() == Some(card)),
            }
        }
        Ok(false)
    }

    /// Whether this group chat is the family's.
    pub async fn is_family_group(&mut self, chat_id: i64) -> store::Result<bool> {
        Ok(people::family_groups(&mut self.tx).await?.iter().any(|(group, _)| *group == chat_id))
    }

    /// The group chat the update came from, if it came from one.
    pub fn group_chat(&self, person: &Person) -> Option<i64> {
        self.chat_id.filter(|chat_id| *chat_id != person.chat_id)
    }

    /// A void button was pressed: its message still shows it, so the buttons are taken off, unless the card has new ones.
    pub async fn clear_dead_keys(&mut self, chat_id: i64, card: String) -> store::Result<()> {
        if buttons::is_live(&mut self.tx, chat_id, &card).await? {
            return Ok(());
        }
        self.put(chat_id, &Body::ClearKeys { card }, Urgency::Answer).await
    }

    async fn clear_keys(&mut self, chat_id: i64, card: String, urgency: Urgency) -> store::Result<()> {
        if buttons::void_card(&mut self.tx, chat_id, &card, self.now).await? > 0 {
            self.put(chat_id, &Body::ClearKeys { card }, urgency).await?;
        }
        Ok(())
    }

    /// Says something nobody asked for: at once, after the quiet hours, or with what else is told within a minute.
    async fn notify(&mut self, chat_id: i64, quiet: Option<QuietHours>, letter: Letter) -> store::Result<()> {
        let now = self.now;
        let awake_at = quiet.map_or(now, |quiet| quiet.awake_at(now, self.house.zone()));
        let mut due_at = match letter.patience {
            Patience::Waits => awake_at,
            Patience::Until(end) if awake_at.plus_minutes(READ_MINUTES) <= end => awake_at,
            Patience::Until(_) | Patience::Cannot => now,
        };
        let useful_until = letter.useful_until;
        let gathered_until = now.plus_seconds(self.house.gather_seconds);
        if let Some(card) = &letter.card {
            let was_held = held::take_back(&mut self.tx, chat_id, card).await?.is_some();
            if !was_held && letter.place == Place::OverCard && self.stands(chat_id, card).await? {
                // An edited message makes no sound.
                return self.post(chat_id, letter, Urgency::Notice).await;
            }
        } else if letter.is_plain() && letter.patience != Patience::Cannot {
            due_at = due_at.max(gathered_until);
        }
        if due_at <= now {
            held::release_plain(&mut self.tx, (chat_id, gathered_until), now).await?;
            return self.post(chat_id, letter, Urgency::Notice).await;
        }
        for body in self.bodies(chat_id, letter, OldKeys::ToClear(Urgency::Notice)).await? {
            let plain = match &body {
                Body::Message { html, card: None, .. } => Some(html),
                _ => None,
            };
            let before = match plain {
                Some(_) => held::last_plain(&mut self.tx, chat_id, due_at).await?,
                None => None,
            };
            let both = before.zip(plain).and_then(|((id, before), html)| {
                let Ok(Body::Message { html: before, .. }) = serde_json::from_str(&before) else { return None };
                Some((id, joined(&before, html)?))
            });
            if let Some((id, html)) = both {
                let body = Body::Message { html, keyboard: Vec::new(), card: None, place: Place::AtEnd };
                held::rewrite(&mut self.tx, id, &text_of(&body), useful_until).await?;
                continue;
            }
            let text = text_of(&body);
            let new = held::New { chat_id, card: body.card(), body: &text, due_at, useful_until };
            held::put(&mut self.tx, new, now).await?;
        }
        Ok(())
    }

    /// Whether this chat has the card, or has it on its way.
    async fn stands(&mut self, chat_id: i64, card: &str) -> store::Result<bool> {
        Ok(buttons::message_of(&mut self.tx, chat_id, card).await?.is_some()
            || buttons::is_live(&mut self.tx, chat_id, card).await?)
    }

    /// Sends a letter. What still waits to be the same card goes no more: the letter takes its place.
    async fn post(&mut self, chat_id: i64, mut letter: Letter, urgency: Urgency) -> store::Result<()> {
        if let (Urgency::Answer, Some(card)) = (urgency, &letter.card) {
            held::take_back(&mut self.tx, chat_id, card).await?;
        }
        // A file is no version of a card that another could take the place of.
        let card = letter.card.clone().filter(|_| letter.file.is_none());
        let mut out = Out { urgency, card, useful_until: letter.useful_until, not_before: self.now };
        let mut old_keys = OldKeys::ToClear(urgency);
        if let Some(card) = out.card.clone() {
            let before = Replaced::of(&outbox::take_back(&mut self.tx, chat_id, &card).await?);
            // Its chat may have to be left alone for a while.
            out.not_before = out.not_before.max(before.not_before);
            if before.is_answer {
                out.urgency = Urgency::Answer;
            }
            if before.is_new {
                letter.place = Place::AtEnd;
                old_keys = OldKeys::Gone;
            }
            if before.has_changed && letter.place == Place::AtEnd {
                // The message that was the card until now has buttons which nothing else takes off.
                self.send(chat_id, &Body::ClearKeys { card }, &Out { useful_until: None, ..out.clone() }).await?;
                old_keys = OldKeys::Gone;
            }
        }
        for body in self.bodies(chat_id, letter, old_keys).await? {
            if let Body::Message { card: Some(card), .. } = &body {
                out.card = Some(card.clone());
            }
            self.send(chat_id, &body, &out).await?;
        }
        Ok(())
    }

    /// What the sender sends for a letter, with its buttons stored: the last is the one that has them.
    async fn bodies(&mut self, chat_id: i64, mut letter: Letter, old_keys: OldKeys) -> store::Result<Vec<Body>> {
        let mut bodies = Vec::new();
        letter.rows = fitting(letter.rows);
        if letter.file.is_none() {
            let mut parts = in_parts(&letter.html);
            if parts.len() > 1 {
                // The last part carries the buttons, so it has to stand last.
                letter.html = parts.pop().expect("there are several");
                letter.place = Place::AtEnd;
                bodies.extend(parts.into_iter().map(|html| Body::Message {
                    html,
                    keyboard: Vec::new(),
                    card: None,
                    place: Place::AtEnd,
                }));
            }
        }
        let has_buttons = !letter.rows.is_empty();
        let card = match letter.card {
            Some(card) => {
                match old_keys {
                    OldKeys::ToClear(urgency) if letter.place == Place::AtEnd => {
                        self.clear_keys(chat_id, card.clone(), urgency).await?;
                    }
                    _ => {
                        buttons::void_card(&mut self.tx, chat_id, &card, self.now).await?;
                    }
                }
                Some(card)
            }
            None if has_buttons => Some(format!("m{}", self.new_id())),
            None => None,
        };
        let mut keyboard = Vec::with_capacity(letter.rows.len());
        for row in letter.rows {
            let mut keys = Vec::with_capacity(row.len());
            for button in row {
                let intent = serde_json::to_string(&button.intent).expect("an intent has string keys only");
                let card = card.as_deref().expect("a message with buttons has a card");
                let token = buttons::put(&mut self.tx, chat_id, card, &intent, self.now).await?;
                keys.push(Key { label: button.label, token });
            }
            keyboard.push(keys);
        }
        bodies.push(match letter.file {
            None => Body::Message { html: letter.html, keyboard, card, place: letter.place },
            Some(file) if file.kind == FileKind::Photo => {
                Body::Photo { caption: letter.html, name: file.name, bytes: file.bytes, keyboard, card }
            }
            Some(file) => Body::Document { caption: letter.html, name: file.name, bytes: file.bytes, keyboard, card },
        });
        Ok(bodies)
    }
}

/// How a message goes out.
#[derive(Clone, Debug)]
struct Out {
    urgency: Urgency,
    card: Option<String>,
    useful_until: Option<UtcSeconds>,
    not_before: UtcSeconds,
}

/// The buttons of the message that was the card until now.
#[derive(Clone, Copy, Debug)]
enum OldKeys {
    /// They have to go where the card goes to the end of the chat.
    ToClear(Urgency),
    /// There are none, or something else takes them off.
    Gone,
}

/// What was taken back for a newer version of its card.
#[derive(Clone, Copy, Debug, Default)]
struct Replaced {
    /// It would have been a new message, so the newer version is one.
    is_new: bool,
    /// It would have changed the message that is the card now.
    has_changed: bool,
    is_answer: bool,
    not_before: UtcSeconds,
}

impl Replaced {
    fn of(taken: &[TakenBack]) -> Replaced {
        let mut replaced = Replaced::default();
        for one in taken {
            match serde_json::from_str(&one.body) {
                Ok(Body::Message { place: Place::AtEnd, .. }) => replaced.is_new = true,
                _ => replaced.has_changed = true,
            }
            replaced.is_answer |= one.is_answer;
            replaced.not_before = replaced.not_before.max(one.not_before);
            tracing::info!(outbox_id = one.id.get(), "a newer version takes its place");
        }
        replaced
    }
}

fn text_of(body: &Body) -> String {
    serde_json::to_string(body).expect("a message has string keys only")
}
