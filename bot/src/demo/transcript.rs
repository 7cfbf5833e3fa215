//! Chats as people read them, on paper.

use super::paper::{without_codes, wrap};
use bot_api_local::ChatMessage;
use chrono_tz::Tz;
use std::fmt::Write as _;

/// Width of a message, characters.
const WIDTH: usize = 72;

/// A chat with its messages as they stand now, oldest first, each with the local time it was written.
pub fn write(title: &str, messages: &[ChatMessage], zone: Tz) -> String {
    let mut page = format!("\n── {title} {}\n", "─".repeat(WIDTH.saturating_sub(title.chars().count())));
    let mut last_day = None;
    for message in messages.iter().filter(|message| !message.is_deleted) {
        let at = message.date.local(zone);
        if last_day != Some(at.date()) {
            last_day = Some(at.date());
            let _ = writeln!(page, "\n   {}", at.format("%A, %B %-d"));
        }
        let margin = if message.from_bot() { "  │ " } else { "  » " };
        let edited = if message.is_edited { " (edited)" } else { "" };
        let _ = writeln!(page, "\n{}{edited}", at.format("  %H:%M"));
        let text = without_codes(&message.text);
        for line in text.lines().flat_map(|line| wrap(line, WIDTH)) {
            let _ = writeln!(page, "{margin}{line}");
        }
        if let Some(file) = &message.file {
            let _ = writeln!(page, "{margin}📎 {} ({} bytes)", file.file_name, file.bytes.len());
        }
        for row in message.labels() {
            let keys: Vec<String> = row.iter().map(|label| format!("[{label}]")).collect();
            let _ = writeln!(page, "{margin}{}", keys.join(" "));
        }
    }
    page
}
