//! What the bot says of itself at the service.

use pinset::config::{Config, SAMPLE};
use pinset::scenario::START;
use pinset::stage::Stage;
use pinset::telegram::connect;
use teloxide::payloads::{GetMyCommandsSetters, GetMyDescriptionSetters, GetMyNameSetters};
use teloxide::requests::Requester;
use teloxide::types::BotCommandScope;

/// Bot API reference: setMyName, setMyDescription, setMyShortDescription and setMyCommands take a two-letter language.
#[tokio::test]
async fn the_bot_says_who_it_is_in_each_language() -> anyhow::Result<()> {
    let stage = Stage::set(Config::parse(SAMPLE)?, START).await?;
    let bot = connect::bot(stage.server.token(), Some(stage.server.api_url().as_str()))?;
    assert_eq!(bot.get_my_name().language_code("pl").await?.name, "Larkrise Mushrooms");
    for (language, text) in [("en", "Order mushrooms from"), ("es", "Pide hongos a"), ("pl", "Zamawiaj grzyby w")] {
        let told = bot.get_my_description().language_code(language).await?.description;
        assert!(told.contains(text) && told.contains("Larkrise Mushrooms"), "{told}");
        let menu = bot.get_my_commands().scope(BotCommandScope::AllGroupChats).language_code(language).await?;
        assert!(menu.iter().any(|command| command.command == "group"), "{menu:?}");
        let menu = bot.get_my_commands().scope(BotCommandScope::Default).language_code(language).await?;
        assert_eq!(menu.iter().map(|command| command.command.as_str()).collect::<Vec<_>>(), ["help"]);
    }
    stage.close().await;
    Ok(())
}
