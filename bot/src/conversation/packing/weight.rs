//! Another weight for one line, typed: what was really packed, or really handed over.

use super::{Stage, Waiting, run};
use crate::conversation::cutoff::supply;
use crate::conversation::shortfall::card::{DayFacts, Occasion};
use crate::conversation::{Desk, Letter};
use crate::intent;
use crate::wording::{Args, key};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::{Amount, Grams, WeightUnit, grams_from};
use scheduler::store::deliveries::{self, Award, Closed, Why};
use scheduler::store::{self, people};

/// Asks for the weight.
pub(super) async fn ask(desk: &mut Desk<'_>, person: &Person, (award, stage): (Id, Stage)) -> store::Result<()> {
    let Some((award, _)) = line(desk, person, (award, stage)).await? else { return Ok(()) };
    let buyer = people::buyer_by_id(&mut desk.tx, award.buyer_id).await?.map(|buyer| buyer.name).unwrap_or_default();
    let voice = desk.voice(person);
    desk.ask(person, &intent::Waiting::Packing(Waiting::Weight { award: award.id, stage })).await?;
    let args = Args::new().text("buyer", buyer).text("crop", desk.house.crops.name(&award.crop, &voice));
    let question = match stage {
        Stage::Packed => key("packing-weight-question"),
        Stage::Delivered => key("run-weight-question"),
    };
    // A card of its own: the list or the run card stays where it is, without its buttons.
    let letter = Letter::new(voice.say(question, &args)).on_card(format!("weight-{}", award.id)).at_end();
    desk.answer(person, letter).await
}

/// Takes the typed weight. Anything else is no answer, and the question stays open.
pub(super) async fn typed(
    desk: &mut Desk<'_>,
    person: &Person,
    (award, stage): (Id, Stage),
    text: &str,
) -> store::Result<bool> {
    let voice = desk.voice(person);
    let Some(grams) = read(text) else {
        let letter = Letter::new(voice.say("packing-weight-unread", &Args::new()));
        desk.answer(person, letter).await?;
        return Ok(true);
    };
    let Some((award, closed)) = line(desk, person, (award, stage)).await? else {
        desk.close_question(person).await?;
        return Ok(true);
    };
    let most = most_for(desk, (&award, stage)).await?;
    if grams > most {
        let args = Args::new().text("crop", desk.house.crops.name(&award.crop, &voice)).weight("most", most);
        desk.answer(person, Letter::new(voice.say("packing-weight-too-much", &args))).await?;
        return Ok(true);
    }
    desk.close_question(person).await?;
    match stage {
        Stage::Packed => packed(desk, person, (award, closed), grams).await?,
        Stage::Delivered => {
            let buyer_id = award.buyer_id;
            let missing = run::record(desk, person, (award, grams)).await?;
            run::after_delivery(desk, person, (&closed, buyer_id, missing.into_iter().collect())).await?;
        }
    }
    Ok(true)
}

/// The line, if its weight may still be changed at this stage; otherwise says why not.
async fn line(
    desk: &mut Desk<'_>,
    person: &Person,
    (award, stage): (Id, Stage),
) -> store::Result<Option<(Award, Closed)>> {
    let found = deliveries::award_by_id(&mut desk.tx, award).await?;
    let Some(award) = found else {
        super::no_run(desk, person).await?;
        return Ok(None);
    };
    let Some(closed) = super::open_run(desk, person, award.day).await? else { return Ok(None) };
    if stage == Stage::Packed && (closed.packed_at.is_some() || award.delivered.is_some()) {
        let text = desk.voice(person).say("packing-packed-already", &Args::new().date("day", award.day));
        desk.answer(person, Letter::new(text)).await?;
        return Ok(None);
    }
    Ok(Some((award, closed)))
}

/// What the line can be at most: the stock on the books less what the day's other lines need of it.
async fn most_for(desk: &mut Desk<'_>, (award, stage): (&Award, Stage)) -> store::Result<Grams> {
    let ready = supply::ready_on(desk, award.day).await?.get(&award.crop).copied().unwrap_or_default();
    if stage == Stage::Delivered {
        return Ok(ready + award.delivered.unwrap_or_default());
    }
    let awards = deliveries::awards_on(&mut desk.tx, award.day).await?;
    let others = awards.iter().filter(|one| one.id != award.id && one.crop == award.crop && one.delivered.is_none());
    Ok(ready.less(others.map(|one| one.promised).sum()))
}

/// What is packed is what is promised from now on; a restaurant that gets less hears at once.
async fn packed(
    desk: &mut Desk<'_>,
    person: &Person,
    (mut award, closed): (Award, Closed),
    grams: Grams,
) -> store::Result<()> {
    let (was, buyer_id) = (award.promised, award.buyer_id);
    award.promised = grams;
    deliveries::put_award(&mut desk.tx, &award, (Why::Weighed, Some(person.id)), desk.now).await?;
    let house = desk.house;
    if grams != was {
        let theirs = DayFacts::load(desk, &closed).await?.of_buyer(house, buyer_id);
        let occasion = if grams < was { Occasion::Less } else { Occasion::Better };
        desk.tell_buyer(buyer_id, |voice| theirs.write(house, voice, &occasion).at_end()).await?;
    }
    super::list::show_again(desk, person).await?;
    Ok(())
}

/// A weight with its unit: "5 lb 4 oz", "2,5 kg", "800 g". Rounded to the gram; nothing without a unit or below zero.
fn read(text: &str) -> Option<Grams> {
    let lower = text.trim().to_lowercase();
    let mut rest = lower.as_str();
    let mut total: Option<Grams> = None;
    while !rest.is_empty() {
        let end = rest.find(|c: char| !c.is_ascii_digit() && c != '.' && c != ',').unwrap_or(rest.len());
        let (number, after) = rest.split_at(end);
        let after = after.trim_start();
        let end = after.find(|c: char| !c.is_alphabetic()).unwrap_or(after.len());
        let (word, after) = after.split_at(end);
        let part = grams_from(amount(number)?, unit(word)?)?;
        total = Some(total.unwrap_or_default().checked_add(part)?);
        rest = after.trim_start_matches(['.', ' ']);
    }
    total
}

fn amount(number: &str) -> Option<Amount> {
    let (whole, part) = number.split_once(['.', ',']).unwrap_or((number, ""));
    if number.is_empty() || whole.len() > 9 || part.len() > 4 || part.contains(['.', ',']) {
        return None;
    }
    let denominator = 10_i64.pow(u32::try_from(part.len()).ok()?);
    let whole: i64 = if whole.is_empty() { 0 } else { whole.parse().ok()? };
    let part: i64 = if part.is_empty() { 0 } else { part.parse().ok()? };
    Some(Amount { numerator: whole * denominator + part, denominator })
}

fn unit(word: &str) -> Option<WeightUnit> {
    Some(match word {
        "g" | "gr" | "gram" | "grams" | "gramo" | "gramos" | "gramy" | "gramów" => WeightUnit::Gram,
        "kg" | "kilo" | "kilos" | "kilogram" | "kilograms" | "kilogramo" | "kilogramos" | "kilogramy" => {
            WeightUnit::Kilogram
        }
        "oz" | "ounce" | "ounces" | "onza" | "onzas" | "uncja" | "uncje" | "uncji" => WeightUnit::Ounce,
        "lb" | "lbs" | "pound" | "pounds" | "libra" | "libras" | "funt" | "funty" | "funtów" => WeightUnit::Pound,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1 lb = 453.59237 g exactly (NIST SP 811, appendix B).
    #[test]
    fn weights_need_a_unit() {
        for (text, expected) in [
            ("5 lb 4 oz", Some(2381)),
            ("5lb", Some(2268)),
            ("2,5 kg", Some(2500)),
            (" 2.5 Kg ", Some(2500)),
            ("800 g", Some(800)),
            ("0 kg", Some(0)),
            ("3 libras", Some(1361)),
            ("5", None),
            ("lb", None),
            ("-5 lb", None),
            ("5 lb shiitake", None),
            ("1.2.3 kg", None),
            ("99999999999 kg", None),
            ("", None),
            ("пять", None),
        ] {
            assert_eq!(read(text).map(Grams::get), expected, "{text}");
        }
    }
}
