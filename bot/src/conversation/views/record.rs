//! Who got what of a delivery, and why: the append-only record as one table with a row a restaurant, and how well each was
//! served over eight weeks.

use super::Ask;
use crate::conversation::cutoff::table;
use crate::conversation::{Button, Desk, Letter};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, DateForm, Voice};
use scheduler::allotment::record::looks_back_to;
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::farm::closed_day::ClosedDay;
use scheduler::farm::served;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::deliveries::{self, Award, Closed, Source, Why};
use std::collections::BTreeMap;

/// Restaurants in one message: the service takes 4096 characters.
const ROWS_MAX: usize = 12;
/// Other deliveries to choose from.
const OTHERS_MAX: usize = 8;

/// What became of an award, oldest first.
type History = Vec<(UtcSeconds, Grams, Why)>;

/// Shows the record of `day`, or of the delivery closed last.
///
/// # Errors
/// Whatever the store fails with.
pub async fn show(desk: &mut Desk<'_>, person: &Person, day: Option<LocalDate>) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let back = looks_back_to(desk.today());
    let closed = deliveries::from(&mut desk.tx, day.map_or(back, |day| day.min(back))).await?;
    let shown = match day {
        Some(day) => closed.iter().find(|closed| closed.day == day),
        None => closed.last(),
    };
    let Some(shown) = shown else {
        return desk.answer(person, Letter::new(voice.say("record-none", &Args::new()))).await;
    };
    let facts = ClosedDay::load(&mut desk.farm(), shown).await?;
    let rates = served::rates_until(&mut desk.farm(), shown.day).await?;
    let mut histories: BTreeMap<Id, History> = BTreeMap::new();
    for award in &facts.awards {
        histories.insert(award.id, deliveries::history_of(&mut desk.tx, award.id).await?);
    }
    let buyers = facts.buyer_ids();
    let mut head = vec![voice.say("record-heading", &Args::new().date("day", shown.day))];
    head.extend(table::crop_lines(&facts, house, &voice));
    head.push(String::new());
    let pages = buyers.chunks(ROWS_MAX).count().max(1);
    for page in 0..pages {
        let mut lines = std::mem::take(&mut head);
        for &buyer in buyers.iter().skip(page * ROWS_MAX).take(ROWS_MAX) {
            lines.push(row((&facts, &histories, house), &voice, (buyer, rates.get(&buyer).copied())));
        }
        let mut letter = Letter::new(lines.join("\n"));
        if page + 1 == pages {
            letter.html += &format!("\n\n{}", voice.say("record-note", &Args::new()));
            letter = with_others(letter, &voice, (&closed, shown.day));
        }
        desk.answer(person, letter).await?;
    }
    Ok(())
}

fn with_others(letter: Letter, voice: &Voice, (closed, shown): (&[Closed], LocalDate)) -> Letter {
    let others = closed.iter().rev().map(|closed| closed.day).filter(|day| *day != shown).take(OTHERS_MAX);
    let button =
        |day: LocalDate| Button::new(voice.date(day, DateForm::Short), Intent::Views(Ask::Record { day: Some(day) }));
    let buttons: Vec<Button> = others.map(button).collect();
    buttons.chunks(2).fold(letter, |letter, pair| letter.row(pair.to_vec()))
}

fn row(
    (facts, histories, house): (&ClosedDay, &BTreeMap<Id, History>, &House),
    voice: &Voice,
    (buyer, rate): (Id, Option<f64>),
) -> String {
    let lines: Vec<String> = facts
        .awards
        .iter()
        .filter(|award| award.buyer_id == buyer)
        .map(|award| line(award, histories.get(&award.id).map_or(&[], Vec::as_slice), house, voice))
        .collect();
    let args = Args::new().text("buyer", facts.name_of(buyer)).said("lines", lines.join("; "));
    match rate {
        Some(rate) => voice.say("record-row", &args.percent("rate", rate)),
        None => voice.say("record-row-unrated", &args),
    }
}

fn line(award: &Award, history: &[(UtcSeconds, Grams, Why)], house: &House, voice: &Voice) -> String {
    let steps: Vec<String> = history.iter().map(|&(_, grams, why)| step(award, (grams, why), voice)).collect();
    let args = Args::new()
        .text("crop", house.crop_name(&award.crop, voice))
        .weight("asked", award.asked)
        .said("steps", steps.join(" → "));
    if award.source == Source::Swap { voice.say("record-line-instead", &args) } else { voice.say("record-line", &args) }
}

fn step(award: &Award, (grams, why): (Grams, Why), voice: &Voice) -> String {
    let args = Args::new().weight("weight", grams);
    // Its history knows promises; what went out is on the line.
    let delivered = Args::new().weight("weight", award.delivered.unwrap_or(grams));
    match why {
        Why::Cutoff => voice.say("record-promised", &args),
        Why::Taken => voice.say("record-taken", &Args::new()),
        Why::Swapped if award.source == Source::Swap => voice.say("record-swapped-in", &args),
        Why::Swapped => voice.say("record-swapped", &Args::new()),
        Why::Moved if award.source == Source::Moved => voice.say("record-promised", &args),
        Why::Moved => voice.say("record-moved", &Args::new()),
        Why::Dropped => voice.say("record-dropped", &Args::new()),
        Why::Silent => voice.say("record-silent", &args),
        Why::ToppedUp => voice.say("record-topped-up", &args),
        Why::Offered => voice.say("record-offered", &args),
        Why::Weighed => voice.say("record-weighed", &args),
        Why::Packed => voice.say("record-packed", &args),
        Why::Delivered => voice.say("record-delivered", &delivered),
        // Corrected since, the packed weight is what was assumed.
        Why::Assumed if award.is_assumed => voice.say("record-assumed", &delivered),
        Why::Assumed => voice.say("record-assumed", &args),
    }
}
