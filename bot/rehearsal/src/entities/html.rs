//! The HTML of the Bot API: a few tags, four named entities and numeric ones; everything else is refused.

use super::{Entity, FormattedText, checked_link, sort};

/// An open tag.
struct Open {
    tag: String,
    /// `href`, or the language of `code class="language-…"`.
    argument: String,
    expandable: bool,
    at_unit: usize,
    at_byte: usize,
}

struct Reader<'a> {
    source: &'a str,
    at: usize,
    text: String,
    units: usize,
    open: Vec<Open>,
    entities: Vec<Entity>,
}

/// Reads `source`.
///
/// # Errors
/// The sentence that the API puts after "can't parse entities: ".
pub(crate) fn parse_html(source: &str) -> Result<FormattedText, String> {
    let mut reader = Reader { source, at: 0, text: String::new(), units: 0, open: Vec::new(), entities: Vec::new() };
    while let Some(c) = reader.peek() {
        match c {
            '<' => reader.tag()?,
            '&' => reader.reference(),
            c => {
                reader.at += c.len_utf8();
                reader.push(c);
            }
        }
    }
    if let Some(open) = reader.open.last() {
        return Err(format!("Can't find end tag corresponding to start tag \"{}\"", open.tag));
    }
    let mut entities = reader.entities;
    for entity in entities.iter_mut().filter(|entity| entity.kind == "code") {
        entity.language = None;
    }
    sort(&mut entities);
    Ok(FormattedText { text: reader.text, entities })
}

impl Reader<'_> {
    fn peek(&self) -> Option<char> {
        self.source[self.at..].chars().next()
    }

    fn push(&mut self, c: char) {
        self.text.push(c);
        self.units += c.len_utf16();
    }

    /// Takes characters while `wanted` says so.
    fn take(&mut self, wanted: impl Fn(char) -> bool) -> &str {
        let rest = &self.source[self.at..];
        let length = rest.find(|c| !wanted(c)).unwrap_or(rest.len());
        self.at += length;
        &rest[..length]
    }

    fn reference(&mut self) {
        let (c, length) = decode(&self.source[self.at..]).unwrap_or(('&', 1));
        self.at += length;
        self.push(c);
    }

    fn tag(&mut self) -> Result<(), String> {
        let begin = self.at;
        self.at += 1;
        if self.peek() == Some('/') { self.end_tag(begin) } else { self.start_tag(begin) }
    }

    fn start_tag(&mut self, begin: usize) -> Result<(), String> {
        let tag = self.take(|c| !c.is_ascii_whitespace() && c != '>').to_lowercase();
        if self.peek().is_none() {
            return Err(format!("Unclosed start tag at byte offset {begin}"));
        }
        if kind_of(&tag).is_none() {
            return Err(format!("Unsupported start tag \"{tag}\" at byte offset {begin}"));
        }
        let mut open =
            Open { tag, argument: String::new(), expandable: false, at_unit: self.units, at_byte: self.text.len() };
        loop {
            self.take(|c| c.is_ascii_whitespace());
            if self.peek() == Some('>') {
                break;
            }
            self.attribute(&mut open, begin)?;
        }
        self.at += 1;
        if open.tag == "span" && open.argument != "tg-spoiler" {
            return Err(format!("Tag \"span\" must have class \"tg-spoiler\" at byte offset {begin}"));
        }
        self.open.push(open);
        Ok(())
    }

    fn attribute(&mut self, open: &mut Open, begin: usize) -> Result<(), String> {
        let tag = open.tag.clone();
        let name = self.take(|c| !c.is_ascii_whitespace() && c != '=' && c != '>').to_owned();
        let unclosed = format!("Unclosed start tag \"{tag}\" at byte offset {begin}");
        if name.is_empty() {
            return Err(match self.peek() {
                None => unclosed,
                Some(_) => format!("Empty attribute name in the tag \"{tag}\" at byte offset {begin}"),
            });
        }
        self.take(|c| c.is_ascii_whitespace());
        if self.peek() != Some('=') {
            if tag == "blockquote" && name == "expandable" && self.peek().is_some() {
                open.expandable = true;
                return Ok(());
            }
            let what = "Expected equal sign in declaration of an attribute of the tag";
            return Err(format!("{what} \"{tag}\" at byte offset {begin}"));
        }
        self.at += 1;
        self.take(|c| c.is_ascii_whitespace());
        let value = match self.peek() {
            None => return Err(unclosed),
            Some(quote @ ('"' | '\'')) => self.quoted(quote),
            Some(_) => self.name_token()?,
        };
        if self.peek().is_none() {
            return Err(unclosed);
        }
        match (tag.as_str(), name.as_str()) {
            ("a", "href") | ("span", "class") => open.argument = value,
            ("code", "class") => {
                if let Some(language) = value.strip_prefix("language-") {
                    open.argument = language.to_owned();
                }
            }
            ("blockquote", "expandable") => open.expandable = true,
            _ => {}
        }
        Ok(())
    }

    fn name_token(&mut self) -> Result<String, String> {
        let begin = self.at;
        let token = self.take(|c| c.is_ascii_alphanumeric() || c == '.' || c == '-').to_lowercase();
        match self.peek() {
            Some(c) if !c.is_ascii_whitespace() && c != '>' => {
                Err(format!("Unexpected end of name token at byte offset {begin}"))
            }
            _ => Ok(token),
        }
    }

    fn quoted(&mut self, quote: char) -> String {
        self.at += 1;
        let mut value = String::new();
        while let Some(c) = self.peek() {
            let (c, length) = match c {
                c if c == quote => {
                    self.at += 1;
                    break;
                }
                '&' => decode(&self.source[self.at..]).unwrap_or(('&', 1)),
                c => (c, c.len_utf8()),
            };
            self.at += length;
            value.push(c);
        }
        value
    }

    fn end_tag(&mut self, begin: usize) -> Result<(), String> {
        let Some(open) = self.open.pop() else {
            return Err(format!("Unexpected end tag at byte offset {begin}"));
        };
        self.at += 1;
        let found = self.take(|c| !c.is_ascii_whitespace() && c != '>').to_lowercase();
        self.take(|c| c.is_ascii_whitespace());
        if self.peek() != Some('>') {
            return Err(format!("Unclosed end tag at byte offset {begin}"));
        }
        if !found.is_empty() && found != open.tag {
            let expected = &open.tag;
            let what = format!("expected \"</{expected}>\", found \"</{found}>\"");
            return Err(format!("Unmatched end tag at byte offset {begin}, {what}"));
        }
        self.at += 1;
        if self.units > open.at_unit {
            self.close(open);
        }
        Ok(())
    }

    /// Adds the entity of a tag that is closed here.
    fn close(&mut self, open: Open) {
        let kind = kind_of(&open.tag).expect("only known tags are opened");
        let mut entity = Entity::plain(kind, open.at_unit, self.units - open.at_unit);
        match kind {
            "text_link" => {
                let link = if open.argument.is_empty() { &self.text[open.at_byte..] } else { &open.argument };
                let Some(link) = checked_link(link) else { return };
                entity.url = Some(link);
            }
            "blockquote" if open.expandable => entity.kind = "expandable_blockquote".to_owned(),
            "code" if !open.argument.is_empty() => entity.language = Some(open.argument),
            _ => {}
        }
        // A block of code with its language is `pre` and `code` around the same text, in either order.
        if let Some(last) = self.entities.last_mut()
            && (last.offset, last.length) == (entity.offset, entity.length)
        {
            match (last.kind.as_str(), kind) {
                ("code", "pre") if last.language.is_some() => {
                    last.kind = "pre".to_owned();
                    return;
                }
                ("pre", "code") if entity.language.is_some() => {
                    last.language = entity.language;
                    return;
                }
                _ => {}
            }
        }
        self.entities.push(entity);
    }
}

fn kind_of(tag: &str) -> Option<&'static str> {
    Some(match tag {
        "b" | "strong" => "bold",
        "i" | "em" => "italic",
        "u" | "ins" => "underline",
        "s" | "strike" | "del" => "strikethrough",
        "tg-spoiler" | "span" => "spoiler",
        "code" => "code",
        "pre" => "pre",
        "a" => "text_link",
        "blockquote" => "blockquote",
        _ => return None,
    })
}

/// The character of the reference at the start of `text` and the bytes it takes; `None` where it is none.
fn decode(text: &str) -> Option<(char, usize)> {
    let body = text.strip_prefix('&')?;
    let (c, length) = if let Some(digits) = body.strip_prefix("#x").or(body.strip_prefix("#X")) {
        numeric(digits, 16).map(|(c, length)| (c, length + 2))?
    } else if let Some(digits) = body.strip_prefix('#') {
        numeric(digits, 10).map(|(c, length)| (c, length + 1))?
    } else {
        let length = body.find(|c: char| !c.is_ascii_alphabetic()).unwrap_or(body.len());
        let c = match &body[..length] {
            "lt" => '<',
            "gt" => '>',
            "amp" => '&',
            "quot" => '"',
            _ => return None,
        };
        (c, length)
    };
    let semicolon = usize::from(body[length..].starts_with(';'));
    Some((c, 1 + length + semicolon))
}

fn numeric(digits: &str, radix: u32) -> Option<(char, usize)> {
    let length = digits.find(|c: char| !c.is_digit(radix)).unwrap_or(digits.len());
    let code = u32::from_str_radix(&digits[..length], radix).ok().filter(|code| *code != 0)?;
    Some((char::from_u32(code)?, length))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where a step fails")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn kinds(source: &str) -> Vec<(String, usize, usize)> {
        let read = parse_html(source).unwrap();
        read.entities.into_iter().map(|entity| (entity.kind, entity.offset, entity.length)).collect()
    }

    fn check(source: &str, text: &str, expected: &[(&str, usize, usize)]) {
        assert_eq!(parse_html(source).unwrap().text, text, "{source}");
        let expected: Vec<_> = expected.iter().map(|(kind, at, length)| (kind.to_string(), *at, *length)).collect();
        assert_eq!(kinds(source), expected, "{source}");
    }

    /// Tags and named entities: Bot API reference, "HTML style".
    #[test]
    fn every_tag_of_the_reference_is_read() {
        check("<b>a</b><strong>b</strong>", "ab", &[("bold", 0, 1), ("bold", 1, 1)]);
        check("<i>a</i><em>b</em>", "ab", &[("italic", 0, 1), ("italic", 1, 1)]);
        check("<u>a</u><ins>b</ins>", "ab", &[("underline", 0, 1), ("underline", 1, 1)]);
        check(
            "<s>a</s><strike>b</strike><del>c</del>",
            "abc",
            &[("strikethrough", 0, 1), ("strikethrough", 1, 1), ("strikethrough", 2, 1)],
        );
        check(
            "<span class=\"tg-spoiler\">a</span><tg-spoiler>b</tg-spoiler>",
            "ab",
            &[("spoiler", 0, 1), ("spoiler", 1, 1)],
        );
        check("<code>a</code><pre>b</pre>", "ab", &[("code", 0, 1), ("pre", 1, 1)]);
        check("<pre><code class=\"language-rust\">fn</code></pre>", "fn", &[("pre", 0, 2)]);
        check("<blockquote>a</blockquote>", "a", &[("blockquote", 0, 1)]);
        check("<blockquote expandable>a</blockquote>", "a", &[("expandable_blockquote", 0, 1)]);
        check(
            "<b>bold <i>both <s>all</s></i></b>",
            "bold both all",
            &[("bold", 0, 13), ("italic", 5, 8), ("strikethrough", 10, 3)],
        );
        check("&lt;b&gt; &amp; &quot; &#38;&#x1F600; &copy; &", "<b> & \" &😀 &copy; &", &[]);
        check("😀<b>é</b>", "😀é", &[("bold", 2, 1)]);
        check("<b></b>x", "x", &[]);
    }

    #[test]
    fn links_keep_their_address() {
        let read = parse_html("<a href=\"https://example.org/?a=1&amp;b=2\">see</a>").unwrap();
        assert_eq!(read.entities[0].url.as_deref(), Some("https://example.org/?a=1&b=2"));
        assert_eq!(kinds("<a href='nowhere'>see</a>"), []);
    }

    /// The words are those of the public server.
    #[test]
    fn faults_are_named_with_their_place() {
        for (source, said) in [
            ("<b>a", "Can't find end tag corresponding to start tag \"b\""),
            ("a</b>", "Unexpected end tag at byte offset 1"),
            ("<b>a</i>", "Unmatched end tag at byte offset 4, expected \"</b>\", found \"</i>\""),
            ("é<h1>a</h1>", "Unsupported start tag \"h1\" at byte offset 2"),
            ("5 < 6", "Unsupported start tag \"\" at byte offset 2"),
            ("5 <6 kg> b", "Unsupported start tag \"6\" at byte offset 2"),
            ("<a href=\"x\"", "Unclosed start tag \"a\" at byte offset 0"),
            ("<span>a</span>", "Tag \"span\" must have class \"tg-spoiler\" at byte offset 0"),
            ("<a b>c</a>", "Expected equal sign in declaration of an attribute of the tag \"a\" at byte offset 0"),
            ("<b>a</b", "Unclosed end tag at byte offset 4"),
        ] {
            assert_eq!(parse_html(source), Err(said.to_owned()), "{source}");
        }
    }

    proptest! {
        /// Escaped as the reference asks, any text comes back whole and without entities.
        #[test]
        fn escaped_text_comes_back(text in "\\PC*") {
            let escaped = text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
            prop_assert_eq!(parse_html(&escaped), Ok(FormattedText { text, entities: vec![] }));
        }

        /// No input makes it panic, and entities stay inside the text.
        #[test]
        fn entities_stay_inside(source in "[<>/abi &;#é😀=\"]{0,40}") {
            if let Ok(read) = parse_html(&source) {
                let units = read.units();
                prop_assert!(read.entities.iter().all(|entity| entity.offset + entity.length <= units));
            }
        }
    }
}
