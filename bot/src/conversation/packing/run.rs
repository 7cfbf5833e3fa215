//! The run card: who has got what.

use super::list::amounts_of;
use super::{Ask, Stage};
use crate::conversation::audience::Audience;
use crate::conversation::letter::Patience;
use crate::conversation::{Button, Desk, Letter};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, DateForm, Voice};
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::farm::delivering::{self, Recorded};
use scheduler::farm::event::Unsaid;
use scheduler::farm::packing::PackingList;
use scheduler::farm::{forgotten, lines};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store::deliveries::{self, Closed};
use scheduler::store::{self, buttons};

/// Restaurants with buttons at one time: the service takes 100 buttons, and each marked one makes room for the next.
const STOPS_MAX: usize = 40;
/// Earlier runs to choose from.
const EARLIER_MAX: usize = 8;

pub(in crate::conversation) fn card(day: LocalDate) -> String {
    format!("run-{day}")
}

/// Sends the run card to whoever drives.
pub(super) async fn send(desk: &mut Desk<'_>, closed: Closed) -> store::Result<()> {
    let house = desk.house;
    let facts = PackingList::load(&mut desk.farm(), closed).await?;
    let card = |voice: &Voice| write(&facts, house, voice).at_end().patient(Patience::Cannot);
    desk.tell_family(Audience::Drivers, card).await
}

/// The card in the driver's chat once the van has left although nobody called it packed.
pub fn left(house: &House, voice: &Voice, list: &PackingList) -> Letter {
    let mut letter = write(list, house, voice).at_end().patient(Patience::Cannot);
    letter.html = format!("{}\n{}", letter.html, voice.say("packing-assumed", &Args::new()));
    letter
}

/// The card again, of a run of which nobody has said how it went.
pub fn unsaid(house: &House, voice: &Voice, (list, counts_at, unsaid): (&PackingList, UtcSeconds, Unsaid)) -> Letter {
    let args = Args::new().date("day", list.closed.day).day_time("at", counts_at);
    let asked = match unsaid {
        Unsaid::JustOver => voice.say("run-unsaid", &args),
        Unsaid::DayBefore => voice.say("run-unsaid-day-before", &args),
    };
    let mut letter = write(list, house, voice).at_end().useful_until(counts_at);
    letter.html = format!("{asked}\n\n{}", letter.html);
    letter
}

/// The card once the run counts as delivered.
pub fn assumed(house: &House, voice: &Voice, (list, missing): (&PackingList, &[(String, Grams)])) -> Letter {
    let mut letter = write(list, house, voice).at_end();
    for (crop, grams) in missing {
        letter.html = format!("{}\n{}", letter.html, not_on_the_books(house, voice, (crop, *grams)));
    }
    letter
}

fn not_on_the_books(house: &House, voice: &Voice, (crop, grams): (&str, Grams)) -> String {
    voice.say("run-not-on-the-books", &Args::new().text("amount", house.amount(crop, grams, voice)))
}

/// Shows the run card of the delivery that is carried now, and leads to those of the weeks before.
pub(super) async fn show(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let now = lines::current(&mut desk.farm()).await?;
    let shown = now.as_ref().map(|closed| closed.day);
    let earlier = forgotten::earlier(&mut desk.farm()).await?.into_iter().map(|closed| closed.day);
    let earlier: Vec<LocalDate> = earlier.filter(|day| Some(*day) != shown).take(EARLIER_MAX).collect();
    let voice = desk.voice(person);
    let letter = match now {
        Some(closed) => {
            let facts = PackingList::load(&mut desk.farm(), closed).await?;
            write(&facts, desk.house, &voice).at_end()
        }
        None => Letter::new(voice.say("packing-none", &Args::new())),
    };
    let button = |day: &LocalDate| {
        let label = voice.plain("button-run-of", &Args::new().date_as("day", *day, DateForm::Short));
        Button::new(label, Intent::Packing(Ask::RunOf { day: *day }))
    };
    let letter = earlier.chunks(2).fold(letter, |letter, pair| letter.row(pair.iter().map(button)));
    desk.answer(person, letter).await
}

/// Shows the run card of a day.
pub(super) async fn show_day(desk: &mut Desk<'_>, person: &Person, day: LocalDate) -> store::Result<()> {
    let Some(closed) = super::closed_run(desk, person, day).await? else { return Ok(()) };
    let facts = PackingList::load(&mut desk.farm(), closed).await?;
    desk.give_up_card(person).await?;
    let letter = write(&facts, desk.house, &desk.voice(person)).at_end();
    desk.answer(person, letter).await
}

/// Records that a restaurant has got `named`, and of what is not named there what was packed.
pub(super) async fn delivered(
    desk: &mut Desk<'_>,
    person: &Person,
    (closed, buyer, named): (&Closed, Id, &[(String, Grams)]),
) -> store::Result<()> {
    let recorded = delivering::delivered(&mut desk.farm(), person.id, (closed, buyer, named)).await?;
    answer(desk, person, (closed, recorded)).await
}

/// Whoever is not marked yet has got what was packed, and the run is over.
pub(super) async fn all_delivered(desk: &mut Desk<'_>, person: &Person, closed: &Closed) -> store::Result<()> {
    let recorded = delivering::all_delivered(&mut desk.farm(), person.id, closed).await?;
    answer(desk, person, (closed, recorded)).await
}

/// The card where it was pressed, and its other copies.
pub(super) async fn answer(
    desk: &mut Desk<'_>,
    person: &Person,
    (closed, recorded): (&Closed, Recorded),
) -> store::Result<()> {
    let house = desk.house;
    desk.happened(recorded.events);
    let closed = deliveries::on(&mut desk.tx, closed.day).await?.unwrap_or_else(|| closed.clone());
    let day = closed.day;
    let facts = PackingList::load(&mut desk.farm(), closed).await?;
    let voice = desk.voice(person);
    let mut letter = write(&facts, house, &voice);
    for (crop, grams) in &recorded.missing {
        letter.html = format!("{}\n{}", letter.html, not_on_the_books(house, &voice, (crop, *grams)));
    }
    // A typed weight stands below the card by now.
    letter = letter.at_end();
    if desk.is_press() {
        letter.card = None;
    }
    // The answer comes last, so that it is what stands where the button was pressed.
    if buttons::chats_with_live_card(&mut desk.tx, &card(day)).await?.len() > 1 {
        desk.settle_card(&card(day), |voice| write(&facts, house, voice)).await?;
    }
    desk.answer(person, letter).await
}

fn write(facts: &PackingList, house: &House, voice: &Voice) -> Letter {
    let day = facts.closed.day;
    let is_over = facts.closed.delivered_at.is_some();
    let is_assumed = facts.awards.iter().any(|award| award.is_assumed);
    let heading = Args::new().date("day", day);
    let mut lines = vec![match (is_over, is_assumed) {
        (true, true) => voice.say("run-assumed", &heading),
        (true, false) => voice.say("run-done", &heading),
        (false, _) => voice.say("run-heading", &heading),
    }];
    let mut letter = Letter::new("").on_card(card(day));
    let mut stops = 0;
    for (buyer, name) in &facts.names {
        let amounts = amounts_of(facts, *buyer, (house, voice));
        let args = Args::new().text("buyer", name.clone()).list("amounts", amounts);
        let theirs = || facts.awards.iter().filter(|award| award.buyer_id == *buyer);
        if theirs().all(|award| award.delivered.is_some()) {
            let is_assumed = theirs().any(|award| award.is_assumed);
            lines.push(if is_assumed { voice.say("run-row-assumed", &args) } else { voice.say("run-row-done", &args) });
            continue;
        }
        lines.push(voice.say("run-row", &args));
        stops += 1;
        if !is_over && stops <= STOPS_MAX {
            let args = Args::new().text("buyer", name.clone());
            let delivered = Ask::DeliveredOn { day, buyer: *buyer };
            let other = Ask::OtherWeightsOf { day, buyer: *buyer, stage: Stage::Delivered };
            letter = letter.row([
                Button::new(voice.plain("button-delivered", &args), Intent::Packing(delivered)),
                Button::new(voice.plain("button-other-weight", &args), Intent::Packing(other)),
            ]);
        }
    }
    if !is_over {
        lines.push(String::new());
        lines.push(voice.say("cold-chain-road", &Args::new()));
    }
    if facts.awards.iter().any(|award| award.delivered.is_some()) {
        let correct = Ask::OtherWeights { day, stage: Stage::Delivered };
        let label = voice.plain("button-correct-weight", &Args::new());
        letter = letter.row([Button::new(label, Intent::Packing(correct))]);
    }
    if is_assumed || !is_over {
        let label = voice.plain("button-all-delivered", &Args::new());
        letter = letter.row([Button::new(label, Intent::Packing(Ask::AllDelivered { day }))]);
    }
    letter.html = lines.join("\n");
    letter
}
