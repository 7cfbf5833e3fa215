//! What the driver reads of a drop, and what is said of its hand-over.

use super::telling::handed_args;
use super::{Ask, Waiting, button, settle, stale, told};
use crate::conversation::audience::gift_card;
use crate::conversation::growing::warmth;
use crate::conversation::{Button, Desk, Letter, packing};
use crate::house::House;
use crate::intent::answer::{self, Answer};
use crate::intent::{Intent, Waiting as Question};
use crate::phrase;
use crate::wording::{Args, Voice, key};
use scheduler::farm::giving::handing_over::{self, HandOver};
use scheduler::farm::giving::{Gift, Outcome, gift_of};
use scheduler::farm::lines;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::{Grams, UnitSystem};
use scheduler::store;
use scheduler::surplus::drop::{Refused, State};

/// What the driver reads of a drop under `heading`: what, where, how far, and how cold.
pub(super) fn driver_text(house: &House, voice: &Voice, gift: &Gift, heading: &'static str) -> String {
    let leave_at = gift.drop.window.opens_at.plus_minutes(-gift.bank.travel_minutes);
    let args = told(house, voice, gift).text("address", gift.bank.address.clone()).time("leave_at", leave_at);
    let lines = [
        voice.say(heading, &args),
        voice.say("drop-where", &args.count("minutes", gift.bank.travel_minutes)),
        voice.say("drop-caution", &Args::new()),
    ];
    lines.join("\n")
}

/// The driver's card of a drop under `heading`.
pub(super) fn driver_card(house: &House, voice: &Voice, gift: &Gift, heading: &'static str) -> Letter {
    let drop = gift.drop.id;
    Letter::new(driver_text(house, voice, gift, heading))
        .row([button(voice, key("button-handed-over"), Ask::HandedOver { drop })])
        .row([
            button(voice, key("button-drop-other-weight"), Ask::HandedOtherWeight { drop }),
            button(voice, key("button-could-not"), Ask::CouldNot { drop }),
        ])
}

/// A drop that counts as handed over because nobody said how it went.
pub(super) fn assumed_card(house: &House, voice: &Voice, gift: &Gift) -> Letter {
    let drop = gift.drop.id;
    let buttons = [
        button(voice, key("button-handed-over"), Ask::HandedOver { drop }),
        button(voice, key("button-could-not"), Ask::UndoHandOver { drop }),
    ];
    Letter::new(voice.say("drop-assumed", &handed_args(house, voice, gift)))
        .on_card(gift_card("drop", drop))
        .at_end()
        .row(buttons)
}

/// Shows a coming drop.
pub(super) async fn show(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let Some(gift) = gift_of(&mut desk.farm(), person, drop_id).await? else { return stale(desk, person).await };
    let voice = desk.voice(person);
    let letter = match gift.drop.state() {
        State::Agreed => driver_card(desk.house, &voice, &gift, key("drop-agreed-line")).row([button(
            &voice,
            key("button-papers"),
            Ask::Papers { drop: drop_id },
        )]),
        State::Proposed => Letter::new(voice.say("drop-proposed-line", &told(desk.house, &voice, &gift)))
            .row([button(&voice, key("button-call-off"), Ask::CallOff { drop: drop_id })]),
        _ => return stale(desk, person).await,
    };
    desk.answer(person, letter).await
}

/// What was said to be handed over, and how warm it was.
pub(super) type Told = (Vec<(String, Grams)>, Option<i64>);

/// Somebody says that it is done: of the one agreed drop whose day has come, or of the run that is under way. Where both
/// or several may be meant, asks which.
pub(super) async fn said(desk: &mut Desk<'_>, person: &Person, (lines, temperature_dc): Told) -> store::Result<()> {
    let today = desk.today();
    let agreed = handing_over::agreed_until(&mut desk.farm(), today).await?;
    let run = lines::current(&mut desk.farm()).await?.filter(|closed| closed.day <= today);
    match (agreed.as_slice(), run) {
        ([one], None) => handed_lines(desk, person, one.drop.id, (lines, temperature_dc)).await,
        ([], Some(_)) => packing::act(desk, person, packing::Ask::Run).await,
        ([], None) => super::record::drops(desk, person).await,
        (several, run) => {
            let voice = desk.voice(person);
            let mut letter = Letter::new(voice.say("handed-which-question", &Args::new()));
            for gift in several {
                let ask = Ask::HandedLines { drop: gift.drop.id, lines: lines.clone(), temperature_dc };
                letter = letter.row([Button::new(gift.bank.name.clone(), Intent::Giving(ask))]);
            }
            if run.is_some() {
                let label = voice.plain("button-the-run", &Args::new());
                letter = letter.row([Button::new(label, Intent::Packing(packing::Ask::Run))]);
            }
            desk.answer(person, letter).await
        }
    }
}

/// These weights were handed over, or without lines all that was agreed.
pub(super) async fn handed_lines(
    desk: &mut Desk<'_>,
    person: &Person,
    drop_id: Id,
    (lines, temperature_dc): Told,
) -> store::Result<()> {
    let outcome = handing_over::hand_over(&mut desk.farm(), person, (drop_id, lines)).await?;
    let HandOver::Done(gift, events) = outcome else { return not_handed(desk, person, outcome).await };
    desk.happened(events);
    desk.close_question(person).await?;
    thank(desk, person, &gift).await?;
    match temperature_dc {
        Some(tenths) => note_temperature(desk, person, drop_id, tenths).await.map(|_| ()),
        None => Ok(()),
    }
}

/// Says why nothing was entered.
pub(super) async fn not_handed(desk: &mut Desk<'_>, person: &Person, outcome: HandOver) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let text = match outcome {
        HandOver::Unknown | HandOver::Done(..) => return stale(desk, person).await,
        HandOver::Refused(_, Refused::NothingHandedOver) => voice.say("drop-nothing-handed", &Args::new()),
        HandOver::Refused(_, Refused::MoreThanAgreed { agreed }) => {
            voice.say("drop-more-than-agreed", &Args::new().weight("agreed", agreed))
        }
        HandOver::Refused(gift, Refused::NotInIt { crop }) => {
            let args = Args::new().text("crop", house.crop_name(&crop, &voice)).text("bank", gift.bank.name);
            voice.say("given-correct-no-crop", &args)
        }
        HandOver::Refused(gift, Refused::NotNow(_)) => voice.say("drop-is-over", &told(house, &voice, &gift)),
        HandOver::NotInColdRoom { crop, grams } => {
            let what = house.amount(&crop, grams, &voice);
            voice.say("surplus-not-in-cold-room", &Args::new().text("what", what))
        }
    };
    desk.answer(person, Letter::new(text)).await
}

/// Asks for the weight that was handed over.
pub(super) async fn ask_weight(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let gift = gift_of(&mut desk.farm(), person, drop_id).await?;
    let Some(gift) = gift.filter(|gift| gift.drop.state() == State::Agreed) else { return stale(desk, person).await };
    let voice = desk.voice(person);
    desk.ask(person, &Question::Giving(Waiting::HandedWeight { drop: drop_id })).await?;
    let args = told(desk.house, &voice, &gift);
    let as_planned = button(&voice, key("button-handed-over"), Ask::HandedOver { drop: drop_id });
    desk.answer(person, Letter::new(voice.say("drop-weight-question", &args)).row([as_planned])).await
}

/// A typed weight, or one for each crop; `false` for a wish of its own.
pub(super) async fn weighed(desk: &mut Desk<'_>, person: &Person, (drop_id, text): (Id, &str)) -> store::Result<bool> {
    let Some(gift) = gift_of(&mut desk.farm(), person, drop_id).await? else {
        return stale(desk, person).await.map(|()| true);
    };
    let only = match gift.drop.lines.as_slice() {
        [line] => Some(line.crop.as_str()),
        _ => None,
    };
    match answer::lines(desk, person, text, only) {
        Answer::Read(lines) => handed_lines(desk, person, drop_id, (lines, None)).await?,
        Answer::Wish => return Ok(false),
        Answer::Unread(Some(phrase::Question::TooLittle { .. })) => {
            let text = desk.voice(person).say("drop-nothing-handed", &Args::new());
            desk.answer(person, Letter::new(text)).await?;
        }
        Answer::Unread(question) => {
            answer::tell_unread(desk, person, question.as_ref(), key("surplus-not-a-weight")).await?;
        }
    }
    Ok(true)
}

async fn thank(desk: &mut Desk<'_>, person: &Person, gift: &Gift) -> store::Result<()> {
    let house = desk.house;
    let voice = desk.voice(person);
    let text = |voice: &Voice| voice.say("drop-handed-over", &handed_args(house, voice, gift));
    desk.ask(person, &Question::Giving(Waiting::Temperature { drop: gift.drop.id })).await?;
    // First, because the answer may stand on one of these cards with a button of its own.
    settle(desk, gift.drop.id, text).await?;
    let lines = [text(&voice), voice.say("drop-temperature-question", &Args::new())];
    let undo = button(&voice, key("button-undo"), Ask::UndoHandOver { drop: gift.drop.id });
    desk.answer(person, Letter::new(lines.join("\n")).row([undo])).await
}

/// Takes a hand-over back: the drop is agreed as before.
pub(super) async fn undo(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    match handing_over::take_back(&mut desk.farm(), person, drop_id).await? {
        Outcome::Unknown | Outcome::NotNow(_) => stale(desk, person).await,
        Outcome::Done(gift, events) => {
            desk.happened(events);
            desk.close_question(person).await?;
            let voice = desk.voice(person);
            let letter = driver_card(desk.house, &voice, &gift, key("drop-undone"));
            desk.answer(person, letter).await
        }
    }
}

/// The temperature at hand-over; `false` when the text is none, so that it is read as anything else would be.
pub(super) async fn measured(desk: &mut Desk<'_>, person: &Person, (drop_id, text): (Id, &str)) -> store::Result<bool> {
    let Some(tenths) = temperature(text, person.units) else { return Ok(false) };
    note_temperature(desk, person, drop_id, tenths).await
}

/// Keeps the temperature at the hand-over and says whether it was cold enough; `false` when no such drop was handed over.
async fn note_temperature(desk: &mut Desk<'_>, person: &Person, drop_id: Id, tenths: i64) -> store::Result<bool> {
    if !handing_over::measure(&mut desk.farm(), drop_id, tenths).await? {
        return Ok(false);
    }
    desk.close_question(person).await?;
    let voice = desk.voice(person);
    let text_key = if tenths > 50 { key("drop-too-warm") } else { key("drop-cold-enough") };
    desk.answer(person, Letter::new(voice.say(text_key, &Args::new()))).await?;
    Ok(true)
}

/// What can be measured in food that is handed over, tenths of a degree Celsius (judged).
const MEASURED_TENTHS_C: std::ops::RangeInclusive<i64> = -400..=600;

/// Tenths of a degree Celsius from "3 °C", "38 F", "3.5". Without a letter it is Fahrenheit for whoever reads pounds.
fn temperature(text: &str, units: UnitSystem) -> Option<i64> {
    let said = warmth::read(text).filter(|said| said.room.is_empty())?;
    Some(said.tenths_c_for(units)).filter(|tenths| MEASURED_TENTHS_C.contains(tenths))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 41 °F = 5 °C, 32 °F = 0 °C (NIST SP 811, appendix B.8).
    #[test]
    fn temperatures_are_read_in_both_scales() {
        use UnitSystem::{Avoirdupois, Metric};
        for (text, units, expected) in [
            ("41 F", Metric, Some(50)),
            ("32", Avoirdupois, Some(0)),
            ("3 °C", Avoirdupois, Some(30)),
            ("3,5", Metric, Some(35)),
            ("-1 c", Metric, Some(-10)),
            ("400 F", Metric, None),
            ("4 lb", Metric, None),
            ("cold", Metric, None),
            ("", Metric, None),
        ] {
            assert_eq!(temperature(text, units), expected, "{text}");
        }
    }
}
