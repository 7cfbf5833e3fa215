//! The crops by chat: the list, a new one that grows like one the program knows, and a crop's everyday values. A crop that is
//! no longer grown rests: no new orders are taken for it, what was ordered stays, and nothing of its record is lost.

mod card;
mod naming;
mod values;

use super::{Button, Desk, Letter};
use crate::intent::Intent;
use crate::wording::{Args, Voice, key};
use scheduler::crop::CropKey;
use scheduler::farm::catalogue::Origin;
use scheduler::harvest::crop_changes::Changes;
use scheduler::harvest::prior::{self, CropPrior};
use scheduler::people::Person;
use scheduler::store;
use scheduler::store::crops::{self, Said};
use serde::{Deserialize, Serialize};

/// A crop that is not added yet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Draft {
    /// The built-in crop it grows like.
    pub grows_like: CropKey,
    pub changes: Changes,
}

/// Which crop is spoken of.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Of {
    New(Draft),
    Known(CropKey),
}

/// A crop's values, each a whole number in the unit given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Value {
    /// Days from the start to the first pick.
    FirstPick,
    /// Fresh weight of the first flush over the dry substrate, percent.
    FirstFlush,
    /// Days it keeps in the cold room.
    Keeps,
    /// Grams.
    Pack,
    /// Hours in the cold room before packing.
    Cooling,
    /// Hundredths of the farm's currency for a kilogram; 0 for no price.
    Price,
}

/// What the keeper can want here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ask {
    List,
    /// A new crop: like which one?
    New,
    NewLike {
        grows_like: CropKey,
    },
    Show {
        of: Of,
    },
    /// Another name in this language.
    ChangeName {
        of: Of,
        language: String,
    },
    /// This name in this language.
    Name {
        of: Of,
        language: String,
        name: String,
    },
    Change {
        of: Of,
        value: Value,
    },
    Set {
        of: Of,
        value: Value,
        number: i64,
    },
    Add {
        draft: Draft,
    },
    /// Take no new orders for it.
    Rest {
        crop: CropKey,
    },
    GrowAgain {
        crop: CropKey,
    },
}

/// What a chat may answer by typing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Waiting {
    Name { of: Of, language: String },
    Value { of: Of, value: Value },
}

/// Does it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn act(desk: &mut Desk<'_>, person: &Person, ask: Ask) -> store::Result<()> {
    match ask {
        Ask::List => list(desk, person).await,
        Ask::New => like_which(desk, person).await,
        Ask::NewLike { grows_like } => {
            let of = Of::New(Draft { grows_like, changes: Changes::default() });
            naming::go_on(desk, person, of).await
        }
        Ask::Show { of } => card::show(desk, person, (of, None)).await,
        Ask::ChangeName { of, language } => naming::ask(desk, person, (of, &language)).await,
        Ask::Name { of, language, name } => naming::take(desk, person, (of, &language), &name).await,
        Ask::Change { of, value } => values::ask(desk, person, (of, value)).await,
        Ask::Set { of, value, number } => values::set(desk, person, (of, value), number).await,
        Ask::Add { draft } => add(desk, person, draft).await,
        Ask::Rest { crop } => rest(desk, person, (crop, true)).await,
        Ask::GrowAgain { crop } => rest(desk, person, (crop, false)).await,
    }
}

/// Takes a typed answer; `false` for a wish of its own.
///
/// # Errors
/// Whatever the store fails with.
pub async fn answered(desk: &mut Desk<'_>, person: &Person, waiting: Waiting, text: &str) -> store::Result<bool> {
    match waiting {
        Waiting::Name { of, language } => naming::typed(desk, person, (of, &language), text).await?,
        Waiting::Value { of, value } => return values::typed(desk, person, (of, value), text).await,
    }
    Ok(true)
}

async fn list(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let mut lines = vec![voice.say("crops-heading", &Args::new())];
    let mut letter = Letter::new("");
    for crop in house.crops.iter() {
        let name = house.crop_name(crop.key.as_str(), &voice);
        let text_key =
            if house.crops.is_resting(crop.key.as_str()) { key("crops-line-resting") } else { key("crops-line") };
        lines.push(voice.say(text_key, &Args::new().text("crop", name.clone())));
        letter = letter.row([Button::new(name, Intent::Crops(Ask::Show { of: Of::Known(crop.key) }))]);
    }
    letter.html = lines.join("\n");
    let letter = letter.row([button(voice.plain("button-new-crop", &Args::new()), Ask::New)]);
    desk.answer(person, letter).await
}

async fn like_which(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let mut letter = Letter::new(voice.say("crop-like-question", &Args::new()));
    for model in prior::built_in() {
        let model = model.crop.key;
        let text_key =
            if house.crops.is_bagged(model.as_str()) { key("button-like-bags") } else { key("button-like-blocks") };
        let label = voice.plain(text_key, &Args::new().text("crop", house.crop_name(model.as_str(), &voice)));
        letter = letter.row([button(label, Ask::NewLike { grows_like: model })]);
    }
    desk.answer(person, letter).await
}

/// Adds a crop that is fully described.
async fn add(desk: &mut Desk<'_>, person: &Person, draft: Draft) -> store::Result<()> {
    let of = Of::New(draft.clone());
    if prior_of(desk, &of).is_none() {
        return stale(desk, person).await;
    }
    // Another crop may have got one of the names since the card was made.
    for (language, name) in &draft.changes.names {
        if let Some(refusal) = naming::refusal(desk, person, &of, name) {
            desk.answer(person, Letter::new(refusal)).await?;
            return naming::ask(desk, person, (of, language)).await;
        }
    }
    if naming::missing(desk, person, &draft).is_some() {
        return naming::go_on(desk, person, of).await;
    }
    let name = draft.changes.names.get("en").or_else(|| draft.changes.names.values().next());
    let taken = crops::all(&mut desk.tx).await?;
    let is_free =
        |key: &CropKey| desk.house.crops.get(key.as_str()).is_none() && taken.iter().all(|said| said.key != *key);
    let crop = naming::key_for(name.map_or("", String::as_str), is_free);
    let said = Said { key: crop, grows_like: Some(draft.grows_like), changes: draft.changes, resting_since: None };
    let now = desk.now;
    crops::put(&mut desk.tx, &said, now).await?;
    desk.close_question(person).await?;
    card::show(desk, person, (Of::Known(crop), Some(key("crop-added")))).await
}

async fn rest(desk: &mut Desk<'_>, person: &Person, (crop, rests): (CropKey, bool)) -> store::Result<()> {
    if desk.house.crops.get(crop.as_str()).is_none() {
        return stale(desk, person).await;
    }
    let now = desk.now;
    let said = Said { resting_since: rests.then_some(now), ..said_of(desk, crop).await? };
    crops::put(&mut desk.tx, &said, now).await?;
    card::show(desk, person, (Of::Known(crop), None)).await
}

/// What was said of a crop before.
async fn said_of(desk: &mut Desk<'_>, crop: CropKey) -> store::Result<Said> {
    let all = crops::all(&mut desk.tx).await?;
    let fresh = Said { key: crop, grows_like: None, changes: Changes::default(), resting_since: None };
    Ok(all.into_iter().find(|said| said.key == crop).unwrap_or(fresh))
}

/// The crop as it stands, or as the draft would make it.
fn prior_of(desk: &Desk<'_>, of: &Of) -> Option<CropPrior> {
    let find = |key: CropKey| desk.house.crops.priors().iter().find(|prior| prior.crop.key == key);
    match of {
        Of::Known(key) => find(*key).cloned(),
        Of::New(draft) => {
            let is_model = matches!(
                desk.house.crops.origin(draft.grows_like.as_str()),
                Some(Origin::BuiltIn | Origin::Configuration)
            );
            let model = find(draft.grows_like).filter(|_| is_model)?;
            Some(draft.changes.like(model, draft.grows_like))
        }
    }
}

/// Whether chat says what this crop is like; its resting is always chat's.
fn is_open_to(desk: &Desk<'_>, of: &Of) -> bool {
    match of {
        Of::New(_) => true,
        Of::Known(key) => desk.house.crops.origin(key.as_str()) != Some(Origin::Configuration),
    }
}

/// Takes a change into the draft, or stores it; then shows the crop.
async fn change(desk: &mut Desk<'_>, person: &Person, of: Of, with: impl FnOnce(&mut Changes)) -> store::Result<()> {
    desk.close_question(person).await?;
    match of {
        Of::New(mut draft) => {
            with(&mut draft.changes);
            naming::go_on(desk, person, Of::New(draft)).await
        }
        Of::Known(crop) => {
            let mut said = said_of(desk, crop).await?;
            with(&mut said.changes);
            let now = desk.now;
            crops::put(&mut desk.tx, &said, now).await?;
            card::show(desk, person, (Of::Known(crop), Some(key("crop-changed")))).await
        }
    }
}

async fn stale(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let letter = Letter::new(desk.voice(person).say("stale-button", &Args::new()));
    desk.answer(person, letter).await
}

fn button(label: String, ask: Ask) -> Button {
    Button::new(label, Intent::Crops(ask))
}

fn plain_button(voice: &Voice, text_key: &'static str, ask: Ask) -> Button {
    button(voice.plain(text_key, &Args::new()), ask)
}
