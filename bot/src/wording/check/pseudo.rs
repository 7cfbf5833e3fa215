//! A language made up from English at run time: accented and two fifths longer, so that a text cut short, put together from
//! pieces or not taken from the files shows. Markup, entities, commands and placeables stay as they are.

use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement};
use fluent_syntax::{parser, serializer};

/// The file in the made-up language; the message that names the CLDR locale is left alone.
pub fn file(text: &str) -> String {
    let mut resource = parser::parse(text.to_owned()).expect("English is Fluent: the catalogue's tests say so");
    for entry in &mut resource.body {
        match entry {
            Entry::Message(message) if message.id.name != "language-formats" => {
                message.value.iter_mut().for_each(change);
            }
            Entry::Term(term) => change(&mut term.value),
            _ => {}
        }
    }
    serializer::serialize(&resource)
}

fn change(pattern: &mut Pattern<String>) {
    for element in &mut pattern.elements {
        match element {
            PatternElement::TextElement { value } => *value = words(value),
            PatternElement::Placeable { expression } => change_expression(expression),
        }
    }
}

fn change_expression(expression: &mut Expression<String>) {
    match expression {
        Expression::Select { variants, .. } => variants.iter_mut().for_each(|variant| change(&mut variant.value)),
        Expression::Inline(InlineExpression::Placeable { expression }) => change_expression(expression),
        Expression::Inline(_) => {}
    }
}

/// Letters accented, two more for every five.
pub fn words(text: &str) -> String {
    let mut out = String::new();
    let mut owed = 0;
    let mut until = None;
    let mut last = ' ';
    for character in text.chars() {
        until = match (until, character) {
            (None, '<') => Some('>'),
            (None, '&') => Some(';'),
            (None, '/') if last.is_whitespace() => Some(' '),
            (Some(end), c) if c == end || (end == ' ' && !(c.is_alphanumeric() || "/_".contains(c))) => {
                out.push(c);
                last = c;
                until = None;
                continue;
            }
            (other, _) => other,
        };
        last = character;
        if until.is_some() || !character.is_ascii_alphabetic() {
            out.push(character);
            continue;
        }
        out.push(accented(character));
        owed += 2;
        if owed >= 5 {
            owed -= 5;
            out.push(accented(character));
        }
    }
    out
}

fn accented(letter: char) -> char {
    const PLAIN: &str = "aceinosuyzACEINOSUYZ";
    const ACCENTED: &str = "àçéîñøšüýžÀÇÉÎÑØŠÜÝŽ";
    PLAIN.chars().zip(ACCENTED.chars()).find(|(plain, _)| *plain == letter).map_or(letter, |(_, accented)| accented)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_commands_and_arguments_stay() {
        assert_eq!(words("<b>Fish</b> &amp; /help."), "<b>Fîššh</b> &amp; /help.");
        let made = file("a = Yes { $n ->\n    [one] one\n   *[other] { $n } all\n}\n");
        assert!(made.contains("Ýéšš ") && made.contains("{ $n } àlll") && made.contains("[one] øñéé"), "{made}");
        let long = words(&"word ".repeat(100));
        assert_eq!(long.chars().count(), 500 + 160);
    }
}
