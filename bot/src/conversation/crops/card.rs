//! A crop with all its values, and a button for each.

use super::naming::own_name;
use super::values::{self, price_unit};
use super::{Ask, Of, Value, is_open_to, plain_button, prior_of, stale};
use crate::conversation::{Desk, Letter};
use crate::wording::{Args, Language, Voice, key};
use scheduler::crop::GrownIn;
use scheduler::farm::catalogue::Origin;
use scheduler::harvest::prior::CropPrior;
use scheduler::people::Person;
use scheduler::store;

/// Shows a crop as it stands in the database now, with a note above.
pub(super) async fn show(
    desk: &mut Desk<'_>,
    person: &Person,
    (of, note): (Of, Option<&'static str>),
) -> store::Result<()> {
    // The desk's crops are those of before this transaction's own changes.
    let house = desk.house.of(&mut desk.tx).await?;
    let prior = match &of {
        Of::Known(key) => house.crops.priors().iter().find(|prior| prior.crop.key == *key).cloned(),
        Of::New(_) => prior_of(desk, &of),
    };
    let Some(prior) = prior else { return stale(desk, person).await };
    let voice = desk.voice(person);
    let is_resting = matches!(&of, Of::Known(key) if house.crops.is_resting(key.as_str()));
    let mut lines: Vec<String> = note.map(|note| voice.say(note, &Args::new())).into_iter().collect();
    lines.extend(words(desk, &voice, &prior));
    if is_resting {
        lines.push(voice.say("crop-card-resting", &Args::new()));
    }
    let is_open = is_open_to(desk, &of);
    if !is_open {
        lines.push(voice.say("crop-card-from-file", &Args::new()));
    }
    if matches!(of, Of::New(_)) {
        lines.push(voice.say("crop-card-new", &Args::new()));
    }
    let mut letter = Letter::new(lines.join("\n"));
    if let Of::New(draft) = &of {
        letter = letter.row([plain_button(&voice, key("button-crop-add"), Ask::Add { draft: draft.clone() })]);
    }
    if is_open {
        letter = buttons(desk, &voice, letter, &of);
    }
    if let Of::Known(crop) = of {
        let rest = match is_resting {
            true => plain_button(&voice, key("button-crop-again"), Ask::GrowAgain { crop }),
            false => plain_button(&voice, key("button-crop-rest"), Ask::Rest { crop }),
        };
        letter = letter.row([rest, plain_button(&voice, key("button-all-crops"), Ask::List)]);
    }
    desk.answer(person, letter).await
}

fn words(desk: &Desk<'_>, voice: &Voice, prior: &CropPrior) -> Vec<String> {
    let crop = &prior.crop;
    let own = voice.reader().language.tag();
    let name = crop.names.get(own).or_else(|| crop.names.values().next()).cloned().unwrap_or_default();
    let mut lines = vec![voice.say("crop-card-heading", &Args::new().text("crop", name))];
    for (tag, name) in crop.names.iter().filter(|(tag, _)| *tag != own) {
        let Some(language) = Language::from_code(tag) else { continue };
        let language = own_name(desk, language);
        lines.push(voice.say("crop-card-name", &Args::new().text("language", language).text("name", name.clone())));
    }
    let grown = match crop.grown_in {
        GrownIn::Block => key("crop-card-blocks"),
        GrownIn::Bag => key("crop-card-bags"),
    };
    lines.push(voice.say(grown, &Args::new()));
    if let Some(first) = prior.flush(1) {
        lines.push(voice.say("crop-card-first-pick", &Args::new().count("days", first.days_mean.round() as i64)));
        lines.push(voice.say("crop-card-first-flush", &Args::new().percent("share", first.be_mean)));
    }
    lines.push(voice.say("crop-card-keeps", &Args::new().count("days", i64::from(crop.storage_days))));
    lines.push(voice.say("crop-card-pack", &Args::new().weight("weight", crop.pack_step)));
    lines.push(voice.say("crop-card-cooling", &Args::new().count("hours", i64::from(crop.cooling_hours))));
    lines.push(match crop.price_per_kilogram {
        Some(price) => {
            let unit = price_unit(voice);
            let currency = desk.house.config.farm.currency.clone();
            let args = Args::new().money("price", price.per_kilogram_for(unit), currency).weight("weight", unit);
            voice.say("crop-card-price", &args)
        }
        None => voice.say("crop-card-no-price", &Args::new()),
    });
    lines
}

fn buttons(desk: &Desk<'_>, voice: &Voice, letter: Letter, of: &Of) -> Letter {
    let names = Language::all().map(|language| {
        let label = voice.plain("button-crop-name", &Args::new().text("language", own_name(desk, language)));
        super::button(label, Ask::ChangeName { of: of.clone(), language: language.tag().to_owned() })
    });
    let value = |value: Value| plain_button(voice, values::label(value), Ask::Change { of: of.clone(), value });
    let is_added = match of {
        Of::New(_) => true,
        Of::Known(key) => matches!(desk.house.crops.origin(key.as_str()), Some(Origin::Chat { .. })),
    };
    // What the program believes of a crop's growth comes with its sources; the farm's own record moves it.
    let growth = is_added.then(|| [value(Value::FirstPick), value(Value::FirstFlush)]);
    letter
        .row([value(Value::Price), value(Value::Pack)])
        .row([value(Value::Keeps), value(Value::Cooling)])
        .row(growth.into_iter().flatten())
        .row(names)
}
