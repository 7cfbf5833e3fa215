//! A weight typed in answer to a question: a number and its unit. A number alone is not guessed at.

use super::{Draft, Waiting, draft, limits, read_book, refuse, reply, standing};
use crate::conversation::{Desk, Letter};
use crate::intent::Waiting as Question;
use crate::wording::Args;
use scheduler::orders::amounts::judge;
use scheduler::people::Person;
use scheduler::quantity::{Amount, WeightUnit};
use scheduler::store;

/// Most decimals read.
const DECIMALS_MAX: u32 = 3;

/// Asks for a weight.
///
/// # Errors
/// Whatever the store fails with.
pub async fn ask(desk: &mut Desk<'_>, person: &Person, waiting: Waiting) -> store::Result<()> {
    desk.ask(person, &Question::Ordering(waiting)).await?;
    let html = desk.voice(person).say("order-type-weight", &Args::new());
    reply(desk, person, Letter::new(html)).await
}

/// Takes a typed weight; a text that does not begin with a number is no answer.
///
/// # Errors
/// Whatever the store fails with.
pub async fn answered(desk: &mut Desk<'_>, person: &Person, waiting: Waiting, text: &str) -> store::Result<bool> {
    let (voice, house) = (desk.voice(person), desk.house);
    if !text.trim_start().starts_with(|letter: char| letter.is_ascii_digit() || letter == '-') {
        return Ok(false);
    }
    let Some((amount, unit)) = weight(text) else {
        refuse(desk, person, voice.say("order-weight-unread", &Args::new())).await?;
        return Ok(true);
    };
    let Some(book) = read_book(desk, person).await? else { return Ok(true) };
    let crop = match &waiting {
        Waiting::Usual { id } => {
            book.standing.iter().find(|kept| kept.stored.id == *id).map(|kept| kept.stored.crop.clone())
        }
        Waiting::Draft(draft) => draft.crop.clone(),
    };
    let known = crop.and_then(|crop| house.crops.get(&crop));
    let Some(known) = known else {
        desk.close_question(person).await?;
        standing::show(desk, person).await?;
        return Ok(true);
    };
    let asked = judge(amount, unit, known.pack_step);
    match limits::judged(house, &voice, (known.key.as_str(), known.pack_step), asked) {
        Err(refusal) => refuse(desk, person, refusal).await?,
        Ok(grams) => {
            desk.close_question(person).await?;
            match waiting {
                Waiting::Usual { id } => standing::set_usual(desk, person, (id, grams)).await?,
                Waiting::Draft(draft) => {
                    draft::go_on(desk, person, Draft { grams: Some(grams), ..draft }).await?;
                }
            }
        }
    }
    Ok(true)
}

/// "5 lb", "2.5 kg", "1,5kg", "12 oz", "750 g".
fn weight(text: &str) -> Option<(Amount, WeightUnit)> {
    let text = text.trim().to_lowercase();
    let at = text.find(|letter: char| !letter.is_ascii_digit() && !".,-".contains(letter))?;
    let (number, unit) = text.split_at(at);
    let unit = match unit.trim().trim_end_matches('.') {
        "lb" | "lbs" | "pound" | "pounds" | "libra" | "libras" | "funt" | "funty" | "funtów" => WeightUnit::Pound,
        "oz" | "ounce" | "ounces" | "onza" | "onzas" | "uncja" | "uncje" | "uncji" => WeightUnit::Ounce,
        "kg" | "kilo" | "kilos" | "kilogram" | "kilograms" | "kilogramo" | "kilogramos" => WeightUnit::Kilogram,
        "g" | "gr" | "gram" | "grams" | "gramo" | "gramos" | "gramów" => WeightUnit::Gram,
        _ => return None,
    };
    let (is_below_zero, number) = number.strip_prefix('-').map_or((false, number), |rest| (true, rest));
    let (whole, decimals) = number.split_once(['.', ',']).unwrap_or((number, ""));
    let are_digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    let decimal_count = u32::try_from(decimals.len()).ok()?;
    // "1,500" is a thousand and a half to one reader and one and a half to another.
    let is_clear = decimal_count < DECIMALS_MAX || whole == "0";
    if whole.is_empty() || !are_digits(whole) || !are_digits(decimals) || decimal_count > DECIMALS_MAX || !is_clear {
        return None;
    }
    let numerator: i64 = format!("{whole}{decimals}").parse().ok()?;
    let numerator = if is_below_zero { -numerator } else { numerator };
    Some((Amount { numerator, denominator: 10_i64.pow(decimal_count) }, unit))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use scheduler::quantity::grams_from;

    /// Conversions: 1 lb = 453.59237 g (NIST SP 811, appendix B).
    #[test]
    fn weights_are_read_with_their_unit_only() {
        for (text, grams) in [
            ("5 lb", Some(2268)),
            (" 2.5KG ", Some(2500)),
            ("1,5 kg", Some(1500)),
            ("0,125 kg", Some(125)),
            ("12 oz.", Some(340)),
            ("2 libras", Some(907)),
            ("5", None),
            ("1,500 kg", None),
            ("1.2.3 kg", None),
            ("five lb", None),
            ("5 shiitake", None),
            ("99999999999999999999 kg", None),
        ] {
            let found = weight(text).and_then(|(amount, unit)| grams_from(amount, unit)).map(|grams| grams.get());
            assert_eq!(found, grams, "{text}");
        }
    }

    proptest! {
        #[test]
        fn no_text_breaks_the_reading(text in "\\PC{0,40}") {
            if let Some((amount, _)) = weight(&text) {
                prop_assert!(amount.denominator >= 1);
            }
        }
    }
}
