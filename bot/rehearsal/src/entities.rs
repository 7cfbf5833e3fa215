//! Formatted text: HTML read into plain text and entities, lengths counted in UTF-16 code units.
//!
//! Rule: what is refused, and with which words, follows the Bot API reference, "HTML style", and the answers of the
//! public server. Byte offsets in errors count the text as sent.

use reqwest::Url;
use serde::{Deserialize, Serialize};

use crate::answer::ApiError;
use crate::parameters::Parameters;

mod html;

pub(crate) use html::parse_html;

/// One formatted part of a text; offset and length in UTF-16 code units (Bot API reference, "MessageEntity").
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entity {
    #[serde(rename = "type")]
    pub kind: String,
    pub offset: usize,
    pub length: usize,
    /// For `text_link`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub url: Option<String>,
    /// For `pre`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub language: Option<String>,
}

impl Entity {
    pub(crate) fn plain(kind: &str, offset: usize, length: usize) -> Entity {
        Entity { kind: kind.to_owned(), offset, length, url: None, language: None }
    }

    fn end(&self) -> usize {
        self.offset.saturating_add(self.length)
    }
}

/// A text without markup, and its entities in order of offset, the longer first.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FormattedText {
    pub text: String,
    pub entities: Vec<Entity>,
}

impl FormattedText {
    /// What the service makes of a message in HTML, before it is trimmed.
    ///
    /// # Errors
    /// The sentence that the API puts after "can't parse entities: ".
    pub fn of_html(source: &str) -> Result<FormattedText, String> {
        parse_html(source)
    }

    /// Length in UTF-16 code units.
    pub fn units(&self) -> usize {
        self.text.encode_utf16().count()
    }
}

/// The text of parameter `name` with its markup (`parse_mode` or the list in parameter `entities_name`) applied,
/// trimmed, commands marked. Empty where absent.
///
/// # Errors
/// 400 "can't parse entities: …", or "unsupported parse_mode" for any mode but HTML.
pub(crate) fn formatted(params: &Parameters, name: &str, entities_name: &str) -> Result<FormattedText, ApiError> {
    let raw: String = clean(&params.text(name).unwrap_or_default());
    let mode = params.text("parse_mode").unwrap_or_default();
    let read = match mode.to_ascii_lowercase().as_str() {
        "html" => parse_html(&raw).map_err(|why| ApiError::bad_request(format!("can't parse entities: {why}")))?,
        "" => FormattedText { entities: params.object(entities_name)?.unwrap_or_default(), text: raw },
        _ => return Err(ApiError::bad_request("unsupported parse_mode")),
    };
    Ok(with_commands(trimmed(read)))
}

/// A text as a person typed it: trimmed, commands marked.
pub(crate) fn typed(text: &str) -> FormattedText {
    with_commands(trimmed(FormattedText { text: clean(text), entities: Vec::new() }))
}

/// Control characters become spaces, carriage returns vanish.
fn clean(text: &str) -> String {
    let kept = text.chars().filter(|&c| c != '\r');
    kept.map(|c| if c.is_control() && c != '\n' && c != '\t' { ' ' } else { c }).collect()
}

/// White space at both ends falls away and entities are cut to what is left.
fn trimmed(full: FormattedText) -> FormattedText {
    let kept_start = full.text.trim_start();
    let skipped = full.text[..full.text.len() - kept_start.len()].encode_utf16().count();
    let text = kept_start.trim_end().to_owned();
    let units = text.encode_utf16().count();
    let cut = |mut entity: Entity| {
        let end = entity.end().saturating_sub(skipped).min(units);
        entity.offset = entity.offset.saturating_sub(skipped);
        entity.length = end.saturating_sub(entity.offset);
        (entity.length > 0).then_some(entity)
    };
    let entities = full.entities.into_iter().filter_map(cut).collect();
    FormattedText { text, entities }
}

/// Marks `/command` and `/command@bot` where the API does: at a word's start, outside code and links.
fn with_commands(mut full: FormattedText) -> FormattedText {
    let mut before = ' ';
    let mut offset = 0;
    for (index, c) in full.text.char_indices() {
        if c == '/' && !before.is_alphanumeric() && !matches!(before, '/' | '_' | '<' | '>') {
            let length = command_length(&full.text[index + 1..]);
            let free = !full.entities.iter().any(|entity| {
                matches!(entity.kind.as_str(), "code" | "pre" | "text_link")
                    && offset < entity.end()
                    && offset >= entity.offset
            });
            if let Some(length) = length.filter(|_| free) {
                full.entities.push(Entity::plain("bot_command", offset, length + 1));
            }
        }
        before = c;
        offset += c.len_utf16();
    }
    sort(&mut full.entities);
    full
}

/// Length of the command (1-64 letters, digits, underscores) and its `@name` at the start of `rest`, if it is one.
fn command_length(rest: &str) -> Option<usize> {
    let word = |text: &str| text.chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '_').count();
    let name = word(rest);
    let mut length = name;
    if let Some(bot) = rest[name..].strip_prefix('@')
        && word(bot) >= 3
    {
        length += 1 + word(bot);
    }
    let next = rest[length..].chars().next();
    let ends = !next.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == '/');
    ((1..=64).contains(&name) && ends).then_some(length)
}

/// By offset, the longer first: the outer before the inner.
fn sort(entities: &mut [Entity]) {
    entities.sort_by_key(|entity| (entity.offset, usize::MAX - entity.length));
}

/// The link as the API keeps it, `http://` added where the scheme is left out; `None` where it is no link.
pub(crate) fn checked_link(link: &str) -> Option<String> {
    let link = link.trim();
    let url =
        Url::parse(link).ok().filter(|url| url.has_host()).or_else(|| Url::parse(&format!("http://{link}")).ok())?;
    match url.scheme() {
        "tg" => Some(url.into()),
        "http" | "https" => url.host_str().is_some_and(|host| host.contains('.')).then(|| url.into()),
        _ => None,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where a step fails")]
mod tests {
    use super::*;

    #[test]
    fn typed_commands_are_marked() {
        for (text, marked) in [
            ("/start", vec![(0, 6)]),
            ("/start Zm9v", vec![(0, 6)]),
            ("  /help@larkrise_bot please ", vec![(0, 18)]),
            ("😀 /a and/b //c /d/e (/f)", vec![(3, 2), (22, 2)]),
            ("/ none /ñ", vec![]),
        ] {
            let found: Vec<_> = typed(text).entities.iter().map(|entity| (entity.offset, entity.length)).collect();
            assert_eq!(found, marked, "{text}");
        }
    }

    /// UTF-16 lengths: Bot API reference, "MessageEntity" (offset and length in UTF-16 code units).
    #[test]
    fn lengths_are_utf16_code_units() {
        for (text, units) in
            [("a", 1), ("é", 1), ("e\u{301}", 2), ("😀", 2), ("🇲🇽", 4), ("👨‍👩‍👧", 8), ("\u{2068}x\u{2069}", 3)]
        {
            assert_eq!(typed(text).units(), units, "{text}");
        }
    }

    #[test]
    fn white_space_at_the_ends_moves_the_entities() {
        let params = Parameters::of(serde_json::json!({ "text": " \n<b> two </b>\n", "parse_mode": "HTML" }));
        let read = formatted(&params, "text", "entities").unwrap();
        assert_eq!(read, FormattedText { text: "two".to_owned(), entities: vec![Entity::plain("bold", 0, 3)] });
    }

    #[test]
    fn links_without_a_scheme_are_completed() {
        assert_eq!(checked_link("example.org").as_deref(), Some("http://example.org/"));
        assert_eq!(checked_link("tg://user?id=5").as_deref(), Some("tg://user?id=5"));
        assert_eq!(checked_link("localhost"), None);
        assert_eq!(checked_link("javascript:alert(1)"), None);
    }
}
