//! What people and whoever claims to be the service may send.

use super::Ground;
use crate::simulation::setting::{BUYERS, DRIVER, GROUP, GROWER, KEEPER, PANTRIES, STRANGER};
use pinset::incoming::{Account, Incoming, What};
use pinset::phrase::{Context, CropWords, DayMonthOrder, Reader, Reading, Words, broken_limit};
use pinset::telegram::{update, wire};
use scheduler::quantity::UnitSystem;

/// Deeds of one input; a conversation of more finds little more.
const DEEDS_MAX: usize = 6;
/// Ends a deed; no text in UTF-8 contains it.
const END: u8 = 0xff;

/// Everybody who may speak.
const EVERYBODY: [i64; 11] =
    [KEEPER, GROWER, DRIVER, BUYERS[0], BUYERS[1], BUYERS[2], BUYERS[3], BUYERS[4], PANTRIES[0], PANTRIES[1], STRANGER];

fn incoming(deed: i64, (chat_id, account): (i64, i64), what: What) -> Incoming {
    let account = Account { chat_id: account, first_name: "Ola <b>&".into(), language_code: Some("pl".into()) };
    Incoming { update_id: 1_000_000 + deed, chat_id, account, what }
}

/// A posted update: read as the webhook and the poll read it, then acted on.
pub fn update(ground: &Ground, bytes: &[u8]) {
    let read = wire::read(&String::from_utf8_lossy(bytes));
    let Some(incoming) = update::read(&read) else { return };
    ground.play(async |scene| scene.take(&incoming).await);
}

/// What a button carries, pressed by everybody who may press one.
pub fn callback(ground: &Ground, bytes: &[u8]) {
    let token = String::from_utf8_lossy(bytes).into_owned();
    ground.play(async |scene| {
        for (deed, who) in (0..).zip([KEEPER, BUYERS[0], STRANGER]) {
            let what = What::Pressed { callback_id: "1".into(), token: token.clone() };
            scene.take(&incoming(deed, (who, who), what)).await;
        }
    });
}

/// A conversation: deeds one after another, each of one byte that says who, and then either a byte from 0xe0 to 0xfe that
/// presses a button written to that chat, or a text.
pub fn conversation(ground: &Ground, bytes: &[u8]) {
    ground.play(async |scene| {
        for (deed, bytes) in (0..).zip(bytes.split(|byte| *byte == END).take(DEEDS_MAX)) {
            let [who, rest @ ..] = bytes else { continue };
            let account = EVERYBODY[usize::from(*who) % EVERYBODY.len()];
            // The family's group hears the upper half.
            let chat_id = if *who < 128 { account } else { GROUP };
            let what = match rest {
                [button @ 0xe0..=0xfe, ..] => {
                    let tokens = scene.tokens(chat_id).await;
                    let index = usize::from(button - 0xe0).checked_rem(tokens.len()).unwrap_or_default();
                    let token = tokens.get(index).cloned().unwrap_or_default();
                    What::Pressed { callback_id: "1".into(), token }
                }
                text => What::Said(String::from_utf8_lossy(text).into_owned()),
            };
            scene.take(&incoming(deed, (chat_id, account), what)).await;
        }
    });
}

/// A text read by every language's grammar, on the day and with the habits that the first four bytes choose: no panic, and
/// no reading over the stated limits.
pub fn phrase(bytes: &[u8]) {
    let [habits, days_high, days_low, text @ ..] = bytes else { return };
    let text = String::from_utf8_lossy(text);
    let today = chrono::NaiveDate::from_ymd_opt(2024, 1, 1).expect("a date")
        + chrono::Duration::days(i64::from(u16::from_be_bytes([*days_high, *days_low])));
    let context = Context {
        today,
        unit_default: [None, Some(UnitSystem::Metric), Some(UnitSystem::Avoirdupois)][usize::from(habits % 3)],
        day_month_order: [None, Some(DayMonthOrder::DayFirst), Some(DayMonthOrder::MonthFirst)]
            [usize::from(habits / 3 % 3)],
        delivery_weekday: (habits & 64 != 0).then_some(chrono::Weekday::Thu),
    };
    let crops =
        ["shiitake", "oyster", "lion's mane"].map(|name| CropWords { key: name.into(), words: vec![name.into()] });
    for (_, words) in Words::all() {
        if let Reading::Understood(phrase) = Reader::new(&words, &crops).read(&text, &context) {
            assert_eq!(broken_limit(&text, &phrase, &context), None, "{text:?} was read as {phrase:?}");
        }
    }
}
