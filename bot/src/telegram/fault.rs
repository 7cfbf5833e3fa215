//! What may be said of a failed call in the log and beside a message that is set aside. Rule: not a word of a body, neither of
//! what was sent nor of what came back, since both hold what people write and invitation codes.

use teloxide::{ApiError, RequestError};

/// Longest part of a service's own words that is kept, characters.
const WORDS_MAX: usize = 80;

/// The failure without anybody's words.
pub fn describe(error: &RequestError) -> String {
    match error {
        // The library's own text of it quotes the whole answer.
        RequestError::InvalidJson { source, raw } => {
            format!("an answer of {} bytes that cannot be read: {}", raw.len(), describe_json(source))
        }
        RequestError::Api(error) => describe_refusal(error),
        other => other.to_string(),
    }
}

/// Where a text stopped being what was expected; the library's own words may quote it.
pub fn describe_json(error: &serde_json::Error) -> String {
    let kind = match error.classify() {
        serde_json::error::Category::Io => "it ends early",
        serde_json::error::Category::Syntax => "it is not JSON",
        serde_json::error::Category::Data => "it has another shape",
        serde_json::error::Category::Eof => "it ends early",
    };
    format!("{kind} at line {}, column {}", error.line(), error.column())
}

/// What the service gave as its reason, up to where it begins to quote.
pub fn describe_refusal(error: &ApiError) -> String {
    let text = match error {
        // The library's own text of it quotes the service's.
        ApiError::Unknown(text) => text.clone(),
        known => known.to_string(),
    };
    let unquoted = text.split(['"', '“', '«', '`', '{', '[', '<']).next().unwrap_or_default();
    // The kind and the reason; what stands behind the reason is about the message.
    let kept: Vec<&str> = unquoted.splitn(3, ": ").take(2).map(str::trim).filter(|part| !part.is_empty()).collect();
    kept.join(": ").chars().take(WORDS_MAX).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    #[test]
    fn nobodys_words_are_in_what_is_said_of_a_failure() {
        let raw = r#"{"ok":true,"result":{"text":"5 lb shiitake, code 00ff"}}"#;
        let source = serde_json::from_str::<i64>(raw).expect_err("no number");
        let error = RequestError::InvalidJson { source: Arc::new(source), raw: raw.into() };
        assert_eq!(
            describe(&error),
            "an answer of 56 bytes that cannot be read: it has another shape at line 1, column 0"
        );
        for (said, expected) in [
            (
                "Bad Request: can't parse entities: Unsupported start tag \"5 lb shiitake\" at byte offset 3",
                "Bad Request: can't parse entities",
            ),
            ("Bad Request: chat not found", "Bad Request: chat not found"),
            ("Forbidden: bot was kicked from the group chat", "Forbidden: bot was kicked from the group chat"),
            ("Bad Request: wrong {\"text\":\"5 lb\"}", "Bad Request: wrong"),
        ] {
            assert_eq!(describe_refusal(&ApiError::Unknown(said.to_owned())), expected);
        }
        assert!(describe_refusal(&ApiError::Unknown("x".repeat(5000))).len() <= WORDS_MAX);
    }
}
