//! What is stored, row by row, and the buttons that stand in a chat: for tests in which nothing may change.

use bot_api_local::ButtonAction;
use pinset::stage::Stage;
use scheduler::store::backup;
use scheduler::store::backup::file::{Line, Reader, Value};
use std::collections::BTreeSet;

/// Tables that any update touches: its mark, the count of a stranger's messages, the answer.
const TOUCHED: [&str; 4] = ["farm_lock", "inbox", "knock", "outbox"];
/// Tables of what was said, besides: an answer with buttons writes them.
const SAID: [&str; 4] = ["button", "card", "held", "question"];

/// Every row of every table but those that any update touches.
///
/// # Errors
/// When the store fails.
pub async fn everything(stage: &Stage) -> anyhow::Result<Vec<(String, Vec<Value>)>> {
    let (bytes, _) = backup::write(&stage.engine.store, Vec::new(), stage.now()).await?;
    let (_, mut reader) = Reader::begin(bytes.as_slice())?;
    let (mut rows, mut table) = (Vec::new(), String::new());
    while let Some(line) = reader.next_line()? {
        match line {
            Line::Table { name, .. } => table = name,
            Line::Row(values) if !TOUCHED.contains(&table.as_str()) => rows.push((table.clone(), values)),
            Line::Row(_) => {}
        }
    }
    Ok(rows)
}

/// The same without what was said: all that the farm knows.
///
/// # Errors
/// When the store fails.
pub async fn of_farm(stage: &Stage) -> anyhow::Result<Vec<(String, Vec<Value>)>> {
    Ok(everything(stage).await?.into_iter().filter(|(table, _)| !SAID.contains(&table.as_str())).collect())
}

/// The data of every button that stands in a chat.
pub fn tokens(stage: &Stage, chat_id: i64) -> BTreeSet<String> {
    let messages = stage.server.chat(chat_id);
    let buttons = messages.iter().flat_map(|message| message.keyboard.iter().flatten());
    buttons
        .filter_map(|button| match &button.action {
            ButtonAction::Callback(data) => Some(data.clone()),
            _ => None,
        })
        .collect()
}
