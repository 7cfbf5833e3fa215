//! Where the program's source names message keys. A reader of Rust just good enough for that: strings, words and marks,
//! comments and character literals left out, and nothing from a file's `mod tests` on.

use std::iter::Peekable;
use std::str::Chars;

/// A call that names keys: `.say("k", …)`, `.plain("k", …)`, `.word("name", "k")`, `key("k")`.
#[derive(Debug, PartialEq)]
pub struct Call {
    pub path: String,
    pub method: String,
    /// Every literal in the key's place; none when a variable stands there.
    pub keys: Vec<String>,
    /// Method and name of each argument, when the arguments are built in the call itself.
    pub args: Option<Vec<(String, String)>>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum Token {
    Text(String),
    Word(String),
    Mark(char),
}

/// The tokens of one file, its tests left out.
pub fn tokens(source: &str) -> Vec<Token> {
    let program = source.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default();
    let mut out = Vec::new();
    let mut rest = program.chars().peekable();
    while let Some(character) = rest.next() {
        match character {
            '/' if rest.peek() == Some(&'/') => while rest.next_if(|&c| c != '\n').is_some() {},
            '/' if rest.peek() == Some(&'*') => skip_block_comment(&mut rest),
            '"' => out.push(Token::Text(text(&mut rest))),
            '\'' => skip_quote(&mut rest),
            c if c.is_alphanumeric() || c == '_' => {
                let word = word(c, &mut rest);
                match (word.as_str(), rest.peek()) {
                    ("r" | "br", Some('"' | '#')) => out.extend(raw_text(&mut rest)),
                    _ => out.push(Token::Word(word)),
                }
            }
            c if c.is_whitespace() => {}
            c => out.push(Token::Mark(c)),
        }
    }
    out
}

fn word(first: char, rest: &mut Peekable<Chars>) -> String {
    let mut word = String::from(first);
    while let Some(next) = rest.next_if(|&c| c.is_alphanumeric() || c == '_') {
        word.push(next);
    }
    word
}

fn text(rest: &mut Peekable<Chars>) -> String {
    let mut text = String::new();
    while let Some(character) = rest.next() {
        match character {
            '"' => break,
            '\\' => text.extend(rest.next()),
            other => text.push(other),
        }
    }
    text
}

/// `None` for a raw identifier such as `r#type`.
fn raw_text(rest: &mut Peekable<Chars>) -> Option<Token> {
    let mut hashes = 0;
    while rest.next_if_eq(&'#').is_some() {
        hashes += 1;
    }
    rest.next_if_eq(&'"')?;
    let end = format!("\"{}", "#".repeat(hashes));
    let mut text = String::new();
    while !text.ends_with(&end) {
        text.push(rest.next()?);
    }
    text.truncate(text.len() - end.len());
    Some(Token::Text(text))
}

fn skip_block_comment(rest: &mut Peekable<Chars>) {
    rest.next();
    let (mut depth, mut last) = (1, ' ');
    for character in rest.by_ref() {
        (depth, last) = match (last, character) {
            ('/', '*') => (depth + 1, ' '),
            ('*', '/') => (depth - 1, ' '),
            _ => (depth, character),
        };
        if depth == 0 {
            return;
        }
    }
}

/// After a quote: the rest of a character literal, or nothing of a lifetime.
fn skip_quote(rest: &mut Peekable<Chars>) {
    let mut ahead = rest.clone();
    match (ahead.next(), ahead.next()) {
        (Some('\\'), _) => {
            rest.next();
            rest.next();
            while rest.next().is_some_and(|c| c != '\'') {}
        }
        (Some(_), Some('\'')) => {
            rest.next();
            rest.next();
        }
        _ => {}
    }
}

/// Every call in a file that names keys or could.
pub fn calls(path: &str, tokens: &[Token]) -> Vec<Call> {
    let mut found = Vec::new();
    for (at, pair) in tokens.windows(2).enumerate() {
        let [Token::Word(method), Token::Mark('(')] = pair else { continue };
        let before = at.checked_sub(1).map(|before| &tokens[before]);
        let is_method = before == Some(&Token::Mark('.'));
        let is_declaration = before == Some(&Token::Word("fn".to_owned()));
        let key_place = match method.as_str() {
            "say" | "plain" if is_method => 0,
            "word" if is_method => 1,
            "key" if !is_method && !is_declaration => 0,
            _ => continue,
        };
        let arguments = arguments(&tokens[at + 2..]);
        let keys = arguments.get(key_place).map(|tokens| texts(tokens)).unwrap_or_default();
        let args = match method.as_str() {
            "say" | "plain" => arguments.get(1).and_then(|tokens| built_args(tokens)),
            _ => None,
        };
        found.push(Call { path: path.to_owned(), method: method.clone(), keys, args });
    }
    found
}

/// The literals among tokens.
pub fn texts(tokens: &[Token]) -> Vec<String> {
    let text = |token: &Token| if let Token::Text(text) = token { Some(text.clone()) } else { None };
    tokens.iter().filter_map(text).collect()
}

/// Tokens after an opening parenthesis, split at the commas of that level, up to its close.
fn arguments(tokens: &[Token]) -> Vec<&[Token]> {
    let (mut depth, mut start, mut out) = (0, 0, Vec::new());
    for (at, token) in tokens.iter().enumerate() {
        match token {
            Token::Mark('(' | '[' | '{') => depth += 1,
            Token::Mark(')') if depth == 0 => {
                out.push(&tokens[start..at]);
                return out;
            }
            Token::Mark(')' | ']' | '}') => depth -= 1,
            Token::Mark(',') if depth == 0 => {
                out.push(&tokens[start..at]);
                start = at + 1;
            }
            _ => {}
        }
    }
    out
}

/// Names given in a chain that starts at `Args::new()`; `None` for anything else.
fn built_args(tokens: &[Token]) -> Option<Vec<(String, String)>> {
    let start = match tokens.first()? {
        Token::Mark('&') => 1,
        _ => 0,
    };
    let is_word = |at: usize, wanted: &str| matches!(tokens.get(at), Some(Token::Word(word)) if word == wanted);
    if !(is_word(start, "Args") && is_word(start + 3, "new")) {
        return None;
    }
    let (mut depth, mut names) = (0, Vec::new());
    for (at, token) in tokens.iter().enumerate() {
        match token {
            Token::Mark('(' | '[' | '{') => depth += 1,
            Token::Mark(')' | ']' | '}') => depth -= 1,
            Token::Mark('.') if depth == 0 => {
                if let [Token::Word(method), Token::Mark('('), Token::Text(name), ..] = &tokens[at + 1..] {
                    names.push((method.clone(), name.clone()));
                }
            }
            _ => {}
        }
    }
    Some(names)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn calls_are_found_among_comments_strings_and_quotes() {
        let source = r##"
            // voice.say("in-a-comment", args)
            /* voice.say("in /* a */ comment", args) */
            fn key<'a>(c: char) -> bool { c == '"' || c == '\'' }
            let a = voice.say(if late { "late" } else { "early" }, &Args::new().text("buyer", f(x, "y")).count("n", 2));
            let b = voice.plain(key("chosen"), &args).word("crop", r#"crop-oyster"#);
        "##;
        let named = |method: &str, keys: &[&str], args: Option<&[(&str, &str)]>| Call {
            path: "a.rs".to_owned(),
            method: method.to_owned(),
            keys: keys.iter().map(|&key| key.to_owned()).collect(),
            args: args.map(|args| args.iter().map(|&(method, name)| (method.to_owned(), name.to_owned())).collect()),
        };
        assert_eq!(
            calls("a.rs", &tokens(source)),
            [
                named("say", &["late", "early"], Some(&[("text", "buyer"), ("count", "n")])),
                named("plain", &["chosen"], None),
                named("key", &["chosen"], None),
                named("word", &["crop-oyster"], None),
            ]
        );
    }

    #[test]
    fn tests_of_a_file_are_left_out() {
        assert_eq!(tokens("a\n#[cfg(test)]\nmod tests { b }"), [Token::Word("a".to_owned())]);
    }
}
