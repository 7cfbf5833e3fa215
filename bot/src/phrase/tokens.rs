//! Characters into tokens. Accents, case and apostrophes are dropped here, digits are kept exactly as typed; a mark that
//! could carry meaning stays a token, so that nothing is lost without being looked at.

use scheduler::quantity::Amount;
use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;
use winnow::Parser;
use winnow::Result;
use winnow::ascii::digit1;
use winnow::combinator::{alt, opt, peek, preceded, repeat, terminated};
use winnow::token::{any, one_of, take_while};

/// One piece of a message.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Token {
    /// Lower-case Latin letters and digits, beginning with a letter, accents dropped.
    Word(String),
    /// Digits as typed, with any of `. , / : -` between them.
    Numeric(String),
    /// A fraction sign such as ½.
    Part(Amount),
    /// A minus directly before digits.
    Minus,
    /// Any other mark.
    Mark(char),
    /// A word with letters of another script.
    Foreign(String),
}

/// Pictures a person adds for courtesy; any other picture is looked at as a mark.
const COURTESY: &[char] =
    &['🍄', '🙏', '😊', '🙂', '😀', '😃', '😁', '😄', '😉', '👋', '❤', '🎉', '🍳', '\u{fe0f}', '\u{200d}', '\u{200b}'];

/// Cuts a text into tokens. Every character other than spaces and courtesies ends up in one of them.
pub(super) fn tokens(text: &str) -> Vec<Token> {
    // A leading space makes "minus after a space" hold at the beginning too.
    let spaced = format!(" {text}");
    let mut rest = spaced.as_str();
    let all: Result<Vec<Option<Token>>> = repeat(0.., token).parse_next(&mut rest);
    all.unwrap_or_default().into_iter().flatten().collect()
}

/// Lower case without accents: "Miércoles" is "miercoles", "środę" is "srode".
pub fn folded(text: &str) -> String {
    text.to_lowercase()
        .nfd()
        .filter(|c| !is_combining_mark(*c))
        .filter_map(|c| match c {
            // The Polish l with a stroke does not decompose.
            'ł' => Some('l'),
            '\'' | '’' | 'ʼ' | '`' => None,
            other => Some(other),
        })
        .collect()
}

fn token(input: &mut &str) -> Result<Option<Token>> {
    alt((
        preceded(one_of(|c: char| c.is_whitespace() && c != '\n'), alt((minus.value(Token::Minus), leading_point)))
            .map(Some),
        one_of(|c: char| (c.is_whitespace() && c != '\n') || COURTESY.contains(&c)).value(None),
        iso_date.map(|d| Some(Token::Numeric(d.to_owned()))),
        numeric.map(|n| Some(Token::Numeric(n.to_owned()))),
        any.verify_map(fraction_sign).map(|part| Some(Token::Part(part))),
        joining_hyphen.value(None),
        one_of(['º', 'ª']).map(|_| Some(Token::Word("º".to_owned()))),
        word.map(Some),
        any.map(|mark: char| Some(Token::Mark(mark))),
    ))
    .parse_next(input)
}

fn minus(input: &mut &str) -> Result<()> {
    (one_of(['-', '−', '–']), peek(one_of(('0'..='9', '½', '¼', '¾')))).void().parse_next(input)
}

/// ".5" after a space is a half; right after a word the point may end a sentence.
fn leading_point(input: &mut &str) -> Result<Token> {
    let ends = |c: &Option<char>| c.is_none_or(|c| !matches!(c, '.' | ',' | '/' | ':'));
    preceded('.', terminated(digit1, peek(opt(any).verify(ends))))
        .map(|digits: &str| Token::Numeric(format!("0.{digits}")))
        .parse_next(input)
}

/// A hyphen right before a letter joins two words ("half-pound", "12-go").
fn joining_hyphen(input: &mut &str) -> Result<()> {
    ('-', peek(one_of(char::is_alphabetic))).void().parse_next(input)
}

fn iso_date<'a>(input: &mut &'a str) -> Result<&'a str> {
    terminated(
        (digit1.verify(|d: &str| d.len() == 4), '-', digit1, '-', digit1).take(),
        peek(opt(any).verify(|c: &Option<char>| c.is_none_or(|c| !c.is_alphanumeric()))),
    )
    .parse_next(input)
}

fn numeric<'a>(input: &mut &'a str) -> Result<&'a str> {
    // A leading point is kept with its digits, so that ".5" is never five.
    (opt('.'), digit1, repeat::<_, _, (), _, _>(0.., (one_of(['.', ',', '/', ':', '⁄']), digit1)))
        .take()
        .parse_next(input)
}

fn word(input: &mut &str) -> Result<Token> {
    let letter = |c: char| c.is_alphanumeric() || is_combining_mark(c) || matches!(c, '\'' | '’' | 'ʼ');
    (one_of(|c: char| c.is_alphanumeric()), take_while(0.., letter))
        .take()
        .map(|raw: &str| {
            let plain = folded(raw);
            let latin = plain.chars().all(|c| c.is_ascii_alphanumeric())
                && plain.starts_with(|c: char| c.is_ascii_alphabetic());
            if latin { Token::Word(plain) } else { Token::Foreign(raw.to_lowercase()) }
        })
        .parse_next(input)
}

fn fraction_sign(c: char) -> Option<Amount> {
    let (numerator, denominator) = match c {
        '½' => (1, 2),
        '⅓' => (1, 3),
        '⅔' => (2, 3),
        '¼' => (1, 4),
        '¾' => (3, 4),
        '⅛' => (1, 8),
        '⅜' => (3, 8),
        '⅝' => (5, 8),
        '⅞' => (7, 8),
        _ => return None,
    };
    Some(Amount { numerator, denominator })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expected: &[&str]) {
        let got: Vec<String> = tokens(text)
            .into_iter()
            .map(|token| match token {
                Token::Word(word) => word,
                Token::Numeric(digits) => digits,
                Token::Part(part) => format!("{}:{}", part.numerator, part.denominator),
                Token::Minus => "minus".to_owned(),
                Token::Mark(mark) => mark.to_string(),
                Token::Foreign(word) => format!("?{word}"),
            })
            .collect();
        assert_eq!(got, expected, "{text}");
    }

    #[test]
    fn a_message_is_cut_where_a_reader_would() {
        check("2½ lb", &["2", "1:2", "lb"]);
        check("5lb. Miércoles, don't", &["5", "lb", ".", "miercoles", ",", "dont"]);
        check("1,5 kg el 2027-03-04", &["1,5", "kg", "el", "2027-03-04"]);
        check("-3 lb", &["minus", "3", "lb"]);
        check("2-3 lb", &["2", "-", "3", "lb"]);
        check("półtora 12-go", &["poltora", "12", "go"]);
        check("5 lb 椎茸 🍄", &["5", "lb", "?椎茸"]);
        check(".5 lb, 1º", &["0.5", "lb", ",", "1", "º"]);
        check("oyster.5 lb", &["oyster", ".5", "lb"]);
        check("half-pound", &["half", "pound"]);
    }
}
