//! Unmodified teloxide against the local server: every method the server has, as the bot of production calls it.

#![allow(clippy::unwrap_used, reason = "a test stops where a step fails")]

use bot_api_local::{ActError, ButtonAction, Pressed, RehearsalConfig, RehearsalServer};
use teloxide::dispatching::UpdateFilterExt;
use teloxide::net::Download;
use teloxide::payloads::{
    AnswerCallbackQuerySetters, DeleteMyCommandsSetters, EditMessageCaptionSetters, EditMessageReplyMarkupSetters,
    EditMessageTextSetters, GetMyCommandsSetters, GetUpdatesSetters, SendDocumentSetters, SendMessageSetters,
    SendPhotoSetters, SetMyCommandsSetters, SetMyDescriptionSetters, SetMyNameSetters, SetMyShortDescriptionSetters,
    SetWebhookSetters,
};
use teloxide::prelude::{Bot, Dispatcher, Request, Requester};
use teloxide::types::{
    AllowedUpdate, BotCommand, BotCommandScope, CallbackQueryId, ChatAction, ChatId, FileId, InlineKeyboardButton,
    InlineKeyboardMarkup, InputFile, MediaKind, Message, MessageEntityKind, MessageId, MessageKind, ParseMode,
    Recipient, ReplyParameters, Update, UpdateKind, UserId,
};
use teloxide::{ApiError, RequestError};

const MARA: i64 = 501;
const IDO: i64 = 502;
const FAMILY: i64 = -900;

async fn started() -> (RehearsalServer, Bot) {
    let server = RehearsalServer::start(RehearsalConfig::default()).await.unwrap();
    server.add_user(MARA, "Mara", Some("en"));
    server.add_user(IDO, "Ido", Some("es"));
    let bot = bot_of(&server, server.token());
    (server, bot)
}

fn bot_of(server: &RehearsalServer, token: &str) -> Bot {
    let client = reqwest::Client::builder().no_proxy().build().unwrap();
    Bot::with_client(token, client).set_api_url(server.api_url())
}

/// What waits, confirmed at once.
async fn updates(bot: &Bot) -> Vec<Update> {
    let updates = bot.get_updates().await.unwrap();
    if let Some(last) = updates.last() {
        bot.get_updates().offset(last.id.as_offset()).await.unwrap();
    }
    updates
}

fn one_button(label: &str, data: &str) -> InlineKeyboardMarkup {
    InlineKeyboardMarkup::new([[InlineKeyboardButton::callback(label, data)]])
}

fn api(error: RequestError) -> String {
    match error {
        RequestError::Api(ApiError::Unknown(text)) => text,
        RequestError::Api(known) => format!("{known:?}"),
        other => panic!("not an answer of the API: {other:?}"),
    }
}

#[tokio::test]
async fn a_message_arrives_and_is_answered_with_buttons() {
    let (server, bot) = started().await;
    let me = bot.get_me().await.unwrap();
    assert!(me.can_read_all_group_messages && me.username() == "rehearsal_bot");

    let update_id = server.send_start(MARA, "Zm9v").unwrap();
    let updates = updates(&bot).await;
    assert_eq!(i64::from(updates[0].id.0), update_id);
    let UpdateKind::Message(message) = &updates[0].kind else { panic!("{updates:?}") };
    assert_eq!(message.text(), Some("/start Zm9v"));
    assert_eq!(message.entities().unwrap()[0].kind, MessageEntityKind::BotCommand);
    assert_eq!(message.from.as_ref().unwrap().language_code.as_deref(), Some("en"));
    server.wait_confirmed().await;

    let sent = bot
        .send_message(message.chat.id, "<b>3 lb</b> &lt; <a href=\"https://example.org\">4 lb</a>?")
        .parse_mode(ParseMode::Html)
        .reply_markup(one_button("Yes", "yes:1"))
        .reply_parameters(ReplyParameters::new(message.id))
        .await
        .unwrap();
    assert_eq!(sent.text(), Some("3 lb < 4 lb?"));
    assert_eq!(sent.reply_to_message().map(|replied| replied.id), Some(message.id));

    let seen = &server.chat(MARA)[1];
    assert!(seen.from_bot() && seen.reply_to == Some(1));
    assert_eq!(seen.labels(), [["Yes"]]);
    assert_eq!(seen.keyboard[0][0].action, ButtonAction::Callback("yes:1".to_owned()));
    let kinds: Vec<_> =
        seen.entities.iter().map(|entity| (entity.kind.as_str(), entity.offset, entity.length)).collect();
    assert_eq!(kinds, [("bold", 0, 4), ("text_link", 7, 4)]);
}

#[tokio::test]
async fn a_button_is_pressed_answered_and_edited_away() {
    let (server, bot) = started().await;
    server.say(MARA, MARA, "hello").unwrap();
    updates(&bot).await;
    let sent = bot.send_message(ChatId(MARA), "Take it?").reply_markup(one_button("Yes", "yes:1")).await.unwrap();

    for pressed in [Pressed::At(0, 0), Pressed::Label("Yes"), Pressed::Data("yes:1"), Pressed::Forged("owner:1")] {
        server.press(MARA, MARA, i64::from(sent.id.0), pressed).unwrap();
        let updates = updates(&bot).await;
        let UpdateKind::CallbackQuery(query) = &updates[0].kind else { panic!("{updates:?}") };
        let expected = if matches!(pressed, Pressed::Forged(_)) { "owner:1" } else { "yes:1" };
        assert_eq!(query.data.as_deref(), Some(expected));
        assert_eq!(query.message.as_ref().map(|message| message.id()), Some(sent.id));
        assert_eq!(server.unanswered_presses(), 1);
        bot.answer_callback_query(query.id.clone()).text("Noted").show_alert(true).await.unwrap();
        let again = bot.answer_callback_query(query.id.clone()).await.unwrap_err();
        assert_eq!(api(again), "Bad Request: query is too old and response timeout expired or query ID is invalid");
    }
    let toasts = server.toasts();
    assert_eq!(toasts.len(), 4);
    assert!(toasts[0].text == "Noted" && toasts[0].is_alert && toasts[0].user_id == MARA);
    let unknown = bot.answer_callback_query(CallbackQueryId("1".to_owned())).await.unwrap_err();
    assert!(api(unknown).contains("query ID is invalid"));
    let missing = server.press(MARA, MARA, i64::from(sent.id.0), Pressed::Label("No"));
    assert!(matches!(missing, Err(ActError::NoButton(..))));

    bot.edit_message_reply_markup(ChatId(MARA), sent.id).reply_markup(one_button("Undo", "undo:1")).await.unwrap();
    assert_eq!(server.chat(MARA)[1].labels(), [["Undo"]]);
    bot.edit_message_text(ChatId(MARA), sent.id, "Taken: <i>3 lb</i>").parse_mode(ParseMode::Html).await.unwrap();
    let seen = &server.chat(MARA)[1];
    assert!(seen.is_edited && seen.keyboard.is_empty() && seen.text == "Taken: 3 lb");
    let same = bot.edit_message_text(ChatId(MARA), sent.id, "Taken: <i>3 lb</i>").parse_mode(ParseMode::Html).await;
    assert_eq!(api(same.unwrap_err()), "MessageNotModified");
    let gone = bot.edit_message_text(ChatId(MARA), MessageId(77), "x").await;
    assert_eq!(api(gone.unwrap_err()), "MessageToEditNotFound");
    let theirs = bot.edit_message_text(ChatId(MARA), MessageId(1), "x").await;
    assert_eq!(api(theirs.unwrap_err()), "MessageCantBeEdited");
    bot.delete_message(ChatId(MARA), sent.id).await.unwrap();
    assert!(server.chat(MARA)[1].is_deleted);
    let twice = bot.delete_message(ChatId(MARA), sent.id).await;
    assert_eq!(api(twice.unwrap_err()), "MessageToDeleteNotFound");
}

#[tokio::test]
async fn a_dispatcher_polls_and_echoes() {
    let (server, bot) = started().await;
    let echo = Update::filter_message().endpoint(|bot: Bot, message: Message| async move {
        bot.send_message(message.chat.id, message.text().unwrap_or_default()).await.map(drop)
    });
    let dispatching = tokio::spawn(async move { Dispatcher::builder(bot, echo).build().dispatch().await });
    for (user, text) in [(MARA, "three"), (IDO, "tres"), (MARA, "four")] {
        server.say(user, user, text).unwrap();
    }
    server.wait_confirmed().await;
    server.wait_until(|server| server.chat(MARA).len() == 4 && server.chat(IDO).len() == 2).await;
    let said: Vec<_> = server.chat(MARA).into_iter().filter(|seen| seen.from_bot()).map(|seen| seen.text).collect();
    assert_eq!(said, ["three", "four"]);
    dispatching.abort();
}

/// The smallest PNG: one grey pixel.
const PIXEL: &[u8] =
    b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR\0\0\0\x01\0\0\0\x01\x08\0\0\0\0\x3a\x7e\x9b\x55\0\0\0\x0aIDATx\x9cc`\
\0\0\0\x02\0\x01\x48\xaf\xa4\x71\0\0\0\0IEND\xaeB`\x82";

#[tokio::test]
async fn files_go_both_ways() {
    let (server, bot) = started().await;
    server.send_file(MARA, MARA, "order.txt", b"shiitake 3 lb".to_vec()).unwrap();
    let updates = updates(&bot).await;
    let UpdateKind::Message(message) = &updates[0].kind else { panic!("{updates:?}") };
    let file = bot.get_file(message.document().unwrap().file.id.clone()).await.unwrap();
    let mut read = Vec::new();
    bot.download_file(&file.path, &mut read).await.unwrap();
    assert_eq!(read, b"shiitake 3 lb");

    let photo = InputFile::memory(PIXEL).file_name("week.png");
    let photo = bot.send_photo(ChatId(MARA), photo).caption("<b>This week</b>").parse_mode(ParseMode::Html);
    let photo = photo.reply_markup(one_button("More", "more")).await.unwrap();
    let sizes = photo.photo().unwrap();
    assert_eq!((sizes[0].width, sizes[0].height), (1, 1));
    let document = InputFile::memory("%PDF-1.7 sheet").file_name("packing sheet.pdf");
    let document = bot.send_document(ChatId(MARA), document).caption("Packing").await.unwrap();
    let again = InputFile::file_id(document.document().unwrap().file.id.clone());
    bot.send_document(ChatId(MARA), again).await.unwrap();
    let unknown = InputFile::file_id(FileId("document-99".to_owned()));
    assert_eq!(api(bot.send_document(ChatId(MARA), unknown).await.unwrap_err()), "WrongFileIdOrUrl");
    let no_picture = bot.send_photo(ChatId(MARA), InputFile::memory("text").file_name("a.png")).await;
    assert_eq!(api(no_picture.unwrap_err()), "ImageProcessFailed");

    let chat = server.chat(MARA);
    let names: Vec<_> = chat.iter().map(|seen| seen.file.as_ref().unwrap().file_name.as_str()).collect();
    assert_eq!(names, ["order.txt", "week.png", "packing sheet.pdf", "packing sheet.pdf"]);
    assert!(chat[1].file.as_ref().unwrap().is_photo && chat[1].entities.len() == 1);
    assert_eq!(chat[1].labels(), [["More"]]);
    assert_eq!(&chat[3].file.as_ref().unwrap().bytes[..], b"%PDF-1.7 sheet");

    let edited = bot.edit_message_caption(ChatId(MARA), document.id).caption("Packing, corrected").await.unwrap();
    assert_eq!(edited.caption(), Some("Packing, corrected"));
    let no_text = bot.edit_message_text(ChatId(MARA), document.id, "x").await.unwrap_err();
    assert_eq!(api(no_text), "Bad Request: there is no text in the message to edit");
    bot.send_chat_action(ChatId(MARA), ChatAction::UploadDocument).await.unwrap();
}

#[tokio::test]
async fn commands_and_profile_are_kept_by_scope_and_language() {
    let (server, bot) = started().await;
    let command = |name: &str, text: &str| BotCommand::new(name, text);
    bot.set_my_commands([command("order", "Order"), command("help", "Help")]).await.unwrap();
    bot.set_my_commands([command("order", "Pedir")]).language_code("es").await.unwrap();
    let scope = BotCommandScope::Chat { chat_id: Recipient::Id(ChatId(MARA)) };
    bot.set_my_commands([command("plan", "Plan")]).scope(scope.clone()).await.unwrap();
    assert_eq!(bot.get_my_commands().await.unwrap().len(), 2);
    assert_eq!(bot.get_my_commands().language_code("es").await.unwrap(), [command("order", "Pedir")]);
    assert_eq!(server.menu(MARA, MARA)[0].command, "plan");
    assert_eq!(server.menu(IDO, IDO)[0].description, "Pedir");
    bot.delete_my_commands().scope(scope.clone()).await.unwrap();
    assert!(bot.get_my_commands().scope(scope).await.unwrap().is_empty());
    assert_eq!(server.menu(MARA, MARA).len(), 2);

    bot.set_my_name().name("Larkrise Mushrooms").await.unwrap();
    bot.set_my_description().description("Orders and deliveries").await.unwrap();
    bot.set_my_short_description().short_description("Orders").await.unwrap();
    assert_eq!(bot.get_my_name().await.unwrap().name, "Larkrise Mushrooms");
    assert_eq!(bot.get_my_description().await.unwrap().description, "Orders and deliveries");
    assert_eq!(bot.get_my_short_description().await.unwrap().short_description, "Orders");
    assert_eq!(bot.get_me().await.unwrap().first_name, "Larkrise Mushrooms");
}

#[tokio::test]
async fn the_bot_is_refused_where_the_real_one_is() {
    let (server, bot) = started().await;
    let refused = |bot: Bot, chat: i64| async move { api(bot.send_message(ChatId(chat), "hi").await.unwrap_err()) };
    assert_eq!(refused(bot.clone(), 12345).await, "ChatNotFound");
    assert_eq!(refused(bot.clone(), MARA).await, "Forbidden: bot can't initiate conversation with a user");
    server.say(MARA, MARA, "hello").unwrap();
    bot.send_message(ChatId(MARA), "hi").await.unwrap();
    server.block(MARA).unwrap();
    assert_eq!(refused(bot.clone(), MARA).await, "BotBlocked");
    server.unblock(MARA).unwrap();
    bot.send_message(ChatId(MARA), "hi").await.unwrap();
    let kinds: Vec<_> = updates(&bot).await.into_iter().map(|update| update.kind).collect();
    assert!(matches!(&kinds[1], UpdateKind::MyChatMember(change) if change.new_chat_member.is_banned()), "{kinds:?}");
    assert!(matches!(&kinds[2], UpdateKind::MyChatMember(change) if change.new_chat_member.is_present()), "{kinds:?}");

    let stranger = bot_of(&server, "7000000001:wrong");
    assert_eq!(api(stranger.get_me().await.unwrap_err()), "InvalidToken");
}

#[tokio::test]
async fn a_group_is_joined_migrated_and_left() {
    let (server, bot) = started().await;
    server.add_group(FAMILY, "Okoro family", &[MARA, IDO]).unwrap();
    server.say(FAMILY, IDO, "who packs?").unwrap();
    let kinds: Vec<_> = updates(&bot).await.into_iter().map(|update| update.kind).collect();
    assert!(matches!(&kinds[0], UpdateKind::MyChatMember(change) if change.new_chat_member.is_present()), "{kinds:?}");
    assert!(matches!(&kinds[1], UpdateKind::Message(message) if message.chat.is_group()), "{kinds:?}");
    let chat = bot.get_chat(ChatId(FAMILY)).await.unwrap();
    assert_eq!(chat.title(), Some("Okoro family"));
    assert_eq!(bot.get_chat(ChatId(MARA)).await.unwrap().first_name(), Some("Mara"));
    assert!(bot.get_chat_member(ChatId(FAMILY), UserId(502)).await.unwrap().is_present());
    assert_eq!(api(bot.get_chat_member(ChatId(FAMILY), UserId(9)).await.unwrap_err()), "UserNotFound");

    server.migrate_group(FAMILY, -1_000_000_000_900).unwrap();
    let moved = bot.send_message(ChatId(FAMILY), "Packing at six").await.unwrap_err();
    assert!(matches!(moved, RequestError::MigrateToChatId(ChatId(-1_000_000_000_900))), "{moved:?}");
    let kinds: Vec<_> = updates(&bot).await.into_iter().map(|update| update.kind).collect();
    let is_service = |kind: &UpdateKind| match kind {
        UpdateKind::Message(message) => !matches!(&message.kind, MessageKind::Common(common)
            if matches!(common.media_kind, MediaKind::Text(_))),
        _ => false,
    };
    assert!(kinds.len() == 2 && kinds.iter().all(is_service), "{kinds:?}");
    bot.send_message(ChatId(-1_000_000_000_900), "Packing at six").await.unwrap();
    bot.leave_chat(ChatId(-1_000_000_000_900)).await.unwrap();
    let out = bot.send_message(ChatId(-1_000_000_000_900), "hi").await.unwrap_err();
    assert_eq!(api(out), "Forbidden: bot is not a member of the supergroup chat");
}

#[tokio::test]
async fn webhooks_and_updates_exclude_each_other() {
    let (server, bot) = started().await;
    let url: reqwest::Url = "http://127.0.0.1:9/hook".parse().unwrap();
    let wanted = [AllowedUpdate::Message];
    bot.set_webhook(url.clone()).secret_token("s3cret").allowed_updates(wanted).await.unwrap();
    let info = bot.get_webhook_info().await.unwrap();
    assert_eq!(info.url, Some(url));
    assert_eq!(info.allowed_updates.as_deref(), Some(&wanted[..]));
    let beside = bot.get_updates().send().await.unwrap_err();
    assert!(api(beside).starts_with("Conflict: can't use getUpdates method while webhook is active"));
    let elsewhere = bot.set_webhook("https://example.org/hook".parse().unwrap()).await.unwrap_err();
    assert!(api(elsewhere).starts_with("Bad Request: bad webhook"));
    bot.delete_webhook().await.unwrap();
    bot.get_updates().await.unwrap();
    assert!(server.calls().iter().any(|call| call.method.eq_ignore_ascii_case("setWebhook") && call.is_ok()));
    bot.log_out().await.unwrap();
    bot.close().await.unwrap();
    server.shutdown().await;
}
