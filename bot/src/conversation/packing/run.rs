//! The run: who has got what. Delivered weights leave the lots the moment they are recorded.

use super::list::Facts;
use super::{Ask, Stage, current, live_awards};
use crate::conversation::audience::Audience;
use crate::conversation::letter::Patience;
use crate::conversation::shortfall::card::{DayFacts, Occasion};
use crate::conversation::{Button, Desk, Letter};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, Voice};
use scheduler::clock::LocalDate;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store::cold_room::{self, MoveKind, Movement};
use scheduler::store::deliveries::{self, Award, Closed, Why};
use scheduler::store::{self, buttons};

/// Restaurants with buttons at one time: the service takes 100 buttons, and each marked one makes room for the next.
const STOPS_MAX: usize = 40;

fn card(day: LocalDate) -> String {
    format!("run-{day}")
}

/// Sends the run card to whoever drives.
pub(super) async fn send(desk: &mut Desk<'_>, closed: Closed) -> store::Result<()> {
    let house = desk.house;
    let facts = Facts::load(desk, closed).await?;
    let card = |voice: &Voice| write(&facts, house, voice).at_end().patient(Patience::Cannot);
    desk.tell_family(Audience::Drivers, card).await
}

/// Shows the run card of the delivery that is carried now.
pub(super) async fn show(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let Some(closed) = current(desk).await? else { return super::no_run(desk, person).await };
    let facts = Facts::load(desk, closed).await?;
    let letter = write(&facts, desk.house, &desk.voice(person)).at_end();
    desk.answer(person, letter).await
}

/// Records that a restaurant has got `lines`, and of what is not named there what was packed.
pub(super) async fn delivered(
    desk: &mut Desk<'_>,
    person: &Person,
    (closed, buyer, lines): (&Closed, Id, &[(String, Grams)]),
) -> store::Result<()> {
    let mut missing = Vec::new();
    for award in live_awards(desk, closed.day).await?.into_iter().filter(|award| award.buyer_id == buyer) {
        let named = lines.iter().find(|(crop, _)| *crop == award.crop).map(|(_, grams)| *grams);
        let wanted = match (named, award.delivered) {
            (Some(grams), _) => grams,
            (None, None) => award.promised,
            (None, Some(_)) => continue,
        };
        missing.extend(record(desk, person, (award, wanted)).await?);
    }
    after_delivery(desk, person, (closed, buyer, missing)).await
}

/// Tells the restaurant, closes the run with the last of them, and shows the card as it stands.
pub(super) async fn after_delivery(
    desk: &mut Desk<'_>,
    person: &Person,
    (closed, buyer, missing): (&Closed, Id, Vec<(String, Grams)>),
) -> store::Result<()> {
    let awards = live_awards(desk, closed.day).await?;
    if awards.iter().filter(|award| award.buyer_id == buyer).all(|award| award.delivered.is_some()) {
        tell_delivered(desk, (closed, buyer)).await?;
    }
    if awards.iter().all(|award| award.delivered.is_some()) {
        deliveries::mark_delivered(&mut desk.tx, closed.day, desk.now).await?;
    }
    answer(desk, person, (closed, missing)).await
}

/// Whoever is not marked yet has got what was packed, and the run is over.
pub(super) async fn all_delivered(desk: &mut Desk<'_>, person: &Person, closed: &Closed) -> store::Result<()> {
    let mut missing = Vec::new();
    let awards = live_awards(desk, closed.day).await?;
    let mut served: Vec<Id> = Vec::new();
    for award in awards.into_iter().filter(|award| award.delivered.is_none()) {
        served.push(award.buyer_id);
        let packed = award.promised;
        missing.extend(record(desk, person, (award, packed)).await?);
    }
    served.dedup();
    for buyer in served {
        tell_delivered(desk, (closed, buyer)).await?;
    }
    deliveries::mark_delivered(&mut desk.tx, closed.day, desk.now).await?;
    answer(desk, person, (closed, missing)).await
}

/// Records one line's delivered weight and moves the lots by what changed. Gives what the lots on the books could not
/// cover; that part is not recorded, so that the books balance.
pub(super) async fn record(
    desk: &mut Desk<'_>,
    person: &Person,
    (mut award, wanted): (Award, Grams),
) -> store::Result<Option<(String, Grams)>> {
    let movement =
        Movement { kind: MoveKind::Delivered, subject: Some(award.id), person_id: Some(person.id), now: desk.now };
    let recorded = award.delivered.unwrap_or_default();
    let now_delivered = if wanted >= recorded {
        let more = (wanted - recorded, award.day);
        recorded + cold_room::take(&mut desk.tx, &award.crop, more, &movement).await?
    } else {
        cold_room::put_back(&mut desk.tx, recorded - wanted, &movement).await?;
        wanted
    };
    award.delivered = Some(now_delivered);
    deliveries::put_award(&mut desk.tx, &award, (Why::Delivered, Some(person.id)), desk.now).await?;
    Ok((now_delivered < wanted).then(|| (award.crop, wanted - now_delivered)))
}

async fn tell_delivered(desk: &mut Desk<'_>, (closed, buyer): (&Closed, Id)) -> store::Result<()> {
    let house = desk.house;
    let theirs = DayFacts::load(desk, closed).await?.of_buyer(house, buyer);
    desk.tell_buyer(buyer, |voice| theirs.write(house, voice, &Occasion::Delivered).at_end()).await
}

/// The card where it was pressed, and its other copies.
async fn answer(
    desk: &mut Desk<'_>,
    person: &Person,
    (closed, missing): (&Closed, Vec<(String, Grams)>),
) -> store::Result<()> {
    let house = desk.house;
    let closed = deliveries::on(&mut desk.tx, closed.day).await?.unwrap_or_else(|| closed.clone());
    let day = closed.day;
    let facts = Facts::load(desk, closed).await?;
    let voice = desk.voice(person);
    let mut letter = write(&facts, house, &voice);
    for (crop, grams) in &missing {
        let args = Args::new().text("amount", house.amount(crop, *grams, &voice));
        letter.html = format!("{}\n{}", letter.html, voice.say("run-not-on-the-books", &args));
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

fn write(facts: &Facts, house: &House, voice: &Voice) -> Letter {
    let day = facts.closed.day;
    let is_over = facts.closed.delivered_at.is_some();
    let heading = Args::new().date("day", day);
    let mut lines = vec![if is_over { voice.say("run-done", &heading) } else { voice.say("run-heading", &heading) }];
    let mut letter = Letter::new("").on_card(card(day));
    let mut stops = 0;
    for (buyer, name) in &facts.names {
        let amounts = facts.amounts_of(*buyer, house, voice);
        let args = Args::new().text("buyer", name.clone()).list("amounts", amounts);
        let mut theirs = facts.awards.iter().filter(|award| award.buyer_id == *buyer);
        if theirs.all(|award| award.delivered.is_some()) {
            lines.push(voice.say("run-row-done", &args));
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
        if facts.awards.iter().any(|award| award.delivered.is_some()) {
            let correct = Ask::OtherWeights { day, stage: Stage::Delivered };
            let label = voice.plain("button-correct-weight", &Args::new());
            letter = letter.row([Button::new(label, Intent::Packing(correct))]);
        }
        let label = voice.plain("button-all-delivered", &Args::new());
        letter = letter.row([Button::new(label, Intent::Packing(Ask::AllDelivered { day }))]);
    }
    letter.html = lines.join("\n");
    letter
}
