//! A local server that speaks the Telegram Bot API, so that the bot of production runs against it unchanged.
//!
//! Rule: what the real API refuses is refused here, in its shape and words; nothing leaves this machine and nothing is
//! kept outside memory. Start at [`RehearsalServer`]: people act through it, tests look through it.
//!
//! Limits are those of the Bot API reference and the Bot FAQ; lengths count UTF-16 code units after entities parsing
//! (the reference names the unit for entities only, and this is the stricter of the two readings).
//!
//! | method | fields used | what the server checks | what it leaves out |
//! |---|---|---|---|
//! | any | `chat_id`; parameters by query, form, JSON, multipart | token (401), method (404), body up to 51 MB (413), Host and Origin loopback (403), `chat not found`, `bot can't initiate conversation`, blocked, kicked, left, `migrate_to_chat_id`, 429 with `retry_after` when pace is on | `@username` as `chat_id`, channels, topics, albums, inline mode, payments, polls, reactions |
//! | getMe, logOut, close | | | logOut and close change nothing |
//! | getUpdates | `offset`, `limit`, `timeout`, `allowed_updates` | offset confirms, negative offset, 24 h, long poll (at most 50 s of real time), 409 beside a webhook or a newer getUpdates | update ids always rise by one |
//! | setWebhook, deleteWebhook, getWebhookInfo | `url`, `secret_token`, `max_connections`, `allowed_updates`, `drop_pending_updates` | secret's letters and length; posted again until 2xx, with the secret header | HTTPS, ports and certificates: `http` on loopback only; one post at a time; a method in the webhook's answer |
//! | sendMessage | `text`, `parse_mode`, `entities`, `reply_markup`, `reply_parameters`, `reply_to_message_id` | 1-4096, HTML, keyboard, message replied to | Markdown modes (`unsupported parse_mode`), link previews, silent and protected messages, quotes |
//! | editMessageText, editMessageCaption, editMessageReplyMarkup | `message_id`, then as for sending | `message to edit not found`, `can't be edited`, `not modified`, text or caption of the right kind; a keyboard not sent again goes away | inline messages, business messages |
//! | deleteMessage | `message_id` | exists, younger than 48 h, own in groups | administrators |
//! | answerCallbackQuery | `callback_query_id`, `text`, `show_alert` | known, once, within 15 min (not documented; by the server's clock), 0-200 | `url`, `cache_time` |
//! | sendPhoto | `photo`, `caption`, `caption_entities`, as for sendMessage | PNG or JPEG, 10 MB, sides and ratio, caption 0-1024, known `file_id` | other picture formats, several sizes, sending by URL, spoilers |
//! | sendDocument | `document`, `caption`, as for sendPhoto | not empty, 50 MB, caption 0-1024, known `file_id` | thumbnails, sending by URL |
//! | getFile, `/file/bot…` | `file_id` | known, 20 MB | links do not expire |
//! | sendChatAction | `action` | chat, not empty | which action it is |
//! | setMyCommands, getMyCommands, deleteMyCommands | `commands`, `scope`, `language_code` | 100, 1-32 of a-z 0-9 _, 1-256, scope's chat and user, two-letter language | administrators' scopes are kept, never shown |
//! | setMyName, setMyDescription, setMyShortDescription and their getters | the text, `language_code` | 64, 512, 120 | how rarely the name may be changed |
//! | getChat, getChatMember, leaveChat | `user_id` | known chat and user | titles, photos, rights: everybody is a plain member |
//!
//! | subject | here | what it leaves out |
//! |---|---|---|
//! | entities | HTML tags b strong i em u ins s strike del code pre a blockquote tg-spoiler span; `bot_command` found in texts | custom emoji, `tg://user` mentions as `text_mention`, finding links, mentions, hashtags and numbers |
//! | keyboards | 100 buttons (seen in practice), `callback_data` 1-64 bytes, `url`; other actions are kept and shown, not acted on | buttons a row |
//! | updates made | `message`, `edited_message`, `callback_query`, `my_chat_member`, `chat_member`; others by [`RehearsalServer::queue_update`] | |
//! | groups | the bot gets every message, as with privacy mode off | privacy mode; service messages of joining |
//! | pace | about 30 a second, 3 in 3 s in a chat, 20 in a minute in a group, by the time that passes on the server's clock; sends and edits count, answers to presses, menus and profile texts do not | how the real limits vary |

#![forbid(unsafe_code)]

mod answer;
mod callbacks;
mod calls;
mod chats;
mod commands;
mod connection;
mod entities;
mod faults;
mod keyboards;
mod look;
mod messages;
mod pace;
mod parameters;
mod people;
mod polling;
mod server;
mod state;
mod updates;
mod uploads;
mod webhook;

pub use callbacks::Toast;
pub use calls::Call;
pub use commands::BotCommand;
pub use entities::{Entity, FormattedText};
pub use faults::{ANY_MESSAGE, Fault};
pub use keyboards::{Button, ButtonAction};
pub use look::{ChatFile, ChatMessage};
pub use pace::{Allowance, PaceKeeper, PaceLimits};
pub use people::{ActError, Pressed};
pub use server::{CallHook, Phase, RehearsalConfig, RehearsalServer, StartError, is_for_loopback};
