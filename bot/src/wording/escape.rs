//! What an argument must not do to a message: become markup, or turn the line around.

/// `text` as Telegram HTML text: the four characters its HTML style gives a meaning to, as entities
/// (Bot API, "HTML style").
pub fn html(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            other => out.push(other),
        }
    }
    out
}

/// Telegram HTML without its tags and with its entities read.
pub fn unmarked(html: &str) -> String {
    let mut out = String::with_capacity(html.len());
    let mut in_tag = false;
    for character in html.chars() {
        match character {
            '<' => in_tag = true,
            '>' if in_tag => in_tag = false,
            other if !in_tag => out.push(other),
            _ => {}
        }
    }
    out.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
}

/// `text` without control characters other than line breaks and without bidirectional controls (Unicode UAX 9,
/// section 2), so that a typed name cannot reorder the words beside it.
pub fn clean(text: &str) -> String {
    text.chars().filter(|&c| c == '\n' || !(c.is_control() || is_bidi_control(c))).collect()
}

fn is_bidi_control(character: char) -> bool {
    matches!(character, '\u{061C}' | '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}')
}

/// CLDR's no-break spaces as plain spaces: people search the chat for what they see and copy amounts back into it.
pub fn plain_spaces(text: &str) -> String {
    text.replace(['\u{00A0}', '\u{202F}'], " ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn markup_becomes_text() {
        assert_eq!(html("Salt & <b>Pepper</b> \"Co\""), "Salt &amp; &lt;b&gt;Pepper&lt;/b&gt; &quot;Co&quot;");
        assert_eq!(unmarked("<b>Salt</b> &amp; &lt;Pepper&gt;"), "Salt & <Pepper>");
    }

    #[test]
    fn a_name_cannot_turn_the_line_around() {
        assert_eq!(clean("Night\u{202E}noreH\u{2066}\u{0007}\nBar"), "NightnoreH\nBar");
    }

    proptest! {
        #[test]
        fn escaping_loses_nothing(text in ".*") {
            let escaped = html(&text);
            prop_assert!(!escaped.contains(['<', '>', '"']));
            prop_assert_eq!(unmarked(&escaped), text);
        }
    }
}
