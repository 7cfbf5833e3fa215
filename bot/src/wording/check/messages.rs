//! What each message asks for: its arguments, the forms it chooses between, the messages it is made of.

use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement, VariantKey};
use fluent_syntax::parser;
use std::collections::{BTreeMap, BTreeSet};

/// CLDR's plural categories but `other`, which every choice has as its default.
const CATEGORIES: [&str; 5] = ["zero", "one", "two", "few", "many"];

/// One message or term (whose key starts with a hyphen).
#[derive(Clone, Debug, Default)]
pub struct Message {
    pub arguments: BTreeMap<String, Wanted>,
    /// Names of the variants of each choice by number, default included.
    pub plural_choices: Vec<BTreeSet<String>>,
    pub mentions: BTreeSet<String>,
    /// All its text, in order.
    pub text: String,
}

/// What an argument must be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// Text, perhaps one of these.
    Text(BTreeSet<String>),
    /// A number, perhaps with forms for these very numbers.
    Number(BTreeSet<i64>),
}

/// Every message and term of a file by key.
pub fn messages(text: &str) -> BTreeMap<String, Message> {
    let resource = parser::parse(text).unwrap_or_else(|(resource, _)| resource);
    let mut out = BTreeMap::new();
    for entry in &resource.body {
        let (key, pattern) = match entry {
            Entry::Message(message) => (message.id.name.to_owned(), message.value.as_ref()),
            Entry::Term(term) => (format!("-{}", term.id.name), Some(&term.value)),
            _ => continue,
        };
        let mut message = Message::default();
        pattern.into_iter().for_each(|pattern| message.read(pattern));
        out.insert(key, message);
    }
    out
}

impl Message {
    fn read(&mut self, pattern: &Pattern<&str>) {
        for element in &pattern.elements {
            match element {
                PatternElement::TextElement { value } => self.text.push_str(value),
                PatternElement::Placeable { expression } => self.read_expression(expression),
            }
        }
    }

    fn read_expression(&mut self, expression: &Expression<&str>) {
        match expression {
            Expression::Inline(inline) => self.read_inline(inline),
            Expression::Select { selector, variants } => {
                let keys: Vec<_> = variants.iter().map(|variant| &variant.key).collect();
                self.read_inline(selector);
                self.read_choice(selector, &keys);
                variants.iter().for_each(|variant| self.read(&variant.value));
            }
        }
    }

    fn read_choice(&mut self, selector: &InlineExpression<&str>, keys: &[&VariantKey<&str>]) {
        let (mut words, mut numbers) = (BTreeSet::new(), BTreeSet::new());
        for key in keys {
            match key {
                VariantKey::Identifier { name } => drop(words.insert((*name).to_owned())),
                VariantKey::NumberLiteral { value } => numbers.extend(value.parse::<i64>()),
            }
        }
        let by_number = !numbers.is_empty() || words.iter().any(|word| CATEGORIES.contains(&word.as_str()));
        let Some(name) = variable(selector) else { return };
        if by_number {
            if words.iter().any(|word| word != "other") {
                self.plural_choices.push(words);
            }
            self.want(name, Wanted::Number(numbers));
        } else {
            self.want(name, Wanted::Text(words));
        }
    }

    fn read_inline(&mut self, inline: &InlineExpression<&str>) {
        match inline {
            InlineExpression::VariableReference { id } => self.want(id.name, Wanted::Text(BTreeSet::new())),
            InlineExpression::FunctionReference { arguments, .. } => {
                for name in arguments.positional.iter().filter_map(variable) {
                    self.want(name, Wanted::Number(BTreeSet::new()));
                }
            }
            InlineExpression::MessageReference { id, .. } => drop(self.mentions.insert(id.name.to_owned())),
            InlineExpression::TermReference { id, .. } => drop(self.mentions.insert(format!("-{}", id.name))),
            InlineExpression::Placeable { expression } => self.read_expression(expression),
            InlineExpression::StringLiteral { .. } | InlineExpression::NumberLiteral { .. } => {}
        }
    }

    /// A number stays a number however else the argument is used.
    fn want(&mut self, name: &str, wanted: Wanted) {
        let known = self.arguments.entry(name.to_owned()).or_insert_with(|| wanted.clone());
        match (known, wanted) {
            (Wanted::Number(known), Wanted::Number(more)) => known.extend(more),
            (Wanted::Text(known), Wanted::Text(more)) => known.extend(more),
            (Wanted::Number(_), Wanted::Text(_)) => {}
            (known, number) => *known = number,
        }
    }
}

fn variable<'a>(inline: &InlineExpression<&'a str>) -> Option<&'a str> {
    match inline {
        InlineExpression::VariableReference { id } => Some(id.name),
        InlineExpression::FunctionReference { arguments, .. } => arguments.positional.first().and_then(variable),
        _ => None,
    }
}

/// `message` with the arguments of every message it is made of.
pub fn with_mentions(key: &str, all: &BTreeMap<String, Message>) -> Message {
    let mut whole = all.get(key).cloned().unwrap_or_default();
    let mut waiting: Vec<String> = whole.mentions.iter().cloned().collect();
    while let Some(next) = waiting.pop() {
        // A term has arguments of its own, which a message gives it in its file.
        let Some(message) = all.get(&next).filter(|_| !next.starts_with('-')) else { continue };
        message.arguments.iter().for_each(|(name, wanted)| whole.want(name, wanted.clone()));
        waiting.extend(message.mentions.iter().filter(|mention| whole.mentions.insert((*mention).clone())).cloned());
    }
    whole
}
