//! What the bot says of itself at the service: name, description and the menus of those who have no menu of their own,
//! once a language. Only what differs is set, because the service lets a bot rename itself rarely.

use super::fault;
use crate::house::House;
use crate::intent::commands;
use crate::wording::{Args, Language, Reader, Voice};
use teloxide::Bot;
use teloxide::RequestError;
use teloxide::payloads::{
    GetMyDescriptionSetters, GetMyNameSetters, GetMyShortDescriptionSetters, SetMyCommandsSetters,
    SetMyDescriptionSetters, SetMyNameSetters, SetMyShortDescriptionSetters,
};
use teloxide::prelude::Requester;
use teloxide::types::{BotCommand, BotCommandScope};

/// Longest texts, in characters: Bot API reference, setMyName, setMyDescription, setMyShortDescription.
const NAME_MOST: usize = 64;
const DESCRIPTION_MOST: usize = 512;
const SHORT_DESCRIPTION_MOST: usize = 120;

/// Introduces the bot. What the service refuses is logged and left: nobody needs it to order.
pub async fn introduce(bot: &Bot, house: &House) {
    let farm = house.language(Some(&house.config.farm.language));
    // Without a language is for everybody whose language is not on board.
    let all = std::iter::once((None, farm)).chain(Language::all().map(|language| (Some(language.tag()), language)));
    for (code, language) in all {
        if let Err(error) = in_language(bot, house, (code.map(str::to_owned), language)).await {
            let error = fault::describe(&error);
            tracing::warn!(language = language.tag(), error, "the bot's own texts were not set");
            return;
        }
    }
}

async fn in_language(
    bot: &Bot,
    house: &House,
    (code, language): (Option<String>, Language),
) -> Result<(), RequestError> {
    let farm = &house.config.farm;
    let reader = Reader { language, units: farm.units, hour_clock: farm.hour_clock, zone: farm.zone };
    let voice = house.wording.reader(reader);
    let args = || Args::new().text("farm", farm.name.clone());

    let name = cut(&farm.name, NAME_MOST);
    let is_told = if let Some(code) = &code { bot.get_my_name().language_code(code) } else { bot.get_my_name() };
    if is_told.await?.name != name {
        let request = bot.set_my_name().name(name);
        if let Some(code) = &code { request.language_code(code) } else { request }.await?;
    }
    let text = cut(&voice.plain("bot-description", &args()), DESCRIPTION_MOST);
    let request = bot.get_my_description();
    let is_told = if let Some(code) = &code { request.language_code(code) } else { request };
    if is_told.await?.description != text {
        let request = bot.set_my_description().description(text);
        if let Some(code) = &code { request.language_code(code) } else { request }.await?;
    }
    let text = cut(&voice.plain("bot-short-description", &args()), SHORT_DESCRIPTION_MOST);
    let request = bot.get_my_short_description();
    let is_told = if let Some(code) = &code { request.language_code(code) } else { request };
    if is_told.await?.short_description != text {
        let request = bot.set_my_short_description().short_description(text);
        if let Some(code) = &code { request.language_code(code) } else { request }.await?;
    }
    for (scope, words) in [
        (BotCommandScope::Default, &["help"][..]),
        (BotCommandScope::AllGroupChats, &["today", "packing", "run", "group", "help"][..]),
    ] {
        let request = bot.set_my_commands(menu(&voice, words)).scope(scope);
        if let Some(code) = &code { request.language_code(code) } else { request }.await?;
    }
    Ok(())
}

fn menu(voice: &Voice, words: &[&str]) -> Vec<BotCommand> {
    let of = |command: &commands::Command| BotCommand::new(command.word, voice.plain(command.key, &Args::new()));
    commands::COMMANDS.iter().filter(|command| words.contains(&command.word)).map(of).collect()
}

/// At most so many UTF-16 code units, as the service counts.
fn cut(text: &str, most: usize) -> String {
    let mut length = 0;
    text.chars()
        .take_while(|letter| {
            length += letter.len_utf16();
            length <= most
        })
        .collect()
}
