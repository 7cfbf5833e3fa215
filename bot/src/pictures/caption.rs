//! A picture in words, no longer than the chat takes.

/// Characters of a photo's caption (Bot API, sendPhoto).
pub const CAPTION_MAX: usize = 1024;

/// `head`, then as many whole blocks as fit; when not all do, `end` stands for the others. Markup and entities count here but not
/// in the chat, so this errs on the short side.
pub fn caption(head: String, blocks: impl IntoIterator<Item = String>, end: &str) -> String {
    let mut caption = head;
    for block in blocks {
        if utf16(&caption) + utf16(&block) + utf16(end) + 2 > CAPTION_MAX {
            return format!("{caption}\n{end}");
        }
        caption = format!("{caption}\n{block}");
    }
    caption
}

/// A name short enough to leave room for the rest.
pub fn clipped(name: &str) -> String {
    if name.chars().count() <= 60 { name.to_owned() } else { name.chars().take(59).chain(['…']).collect() }
}

fn utf16(text: &str) -> usize {
    text.encode_utf16().count()
}
