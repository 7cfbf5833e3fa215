//! Terms into chunks: weights, crops, days, wishes. Whatever fits no form is kept as left over, so that the meaning can
//! be refused because of it.

use super::amounts::{self, Weighed, small_number};
use super::dates::{self, Day, Every, Span};
use super::vocabulary::{Term, Verb};
use super::{Temperature, TemperatureScale};
use scheduler::quantity::Amount;
use winnow::combinator::{alt, not, opt, peek, preceded, repeat};
use winnow::token::any;
use winnow::{Parser, Result};

/// The stream every form of this folder reads.
pub(super) type Terms<'a> = &'a [Term];

/// One meaningful piece of a phrase.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Chunk {
    Weight(Weighed),
    /// So many blocks or bags.
    Units(i64),
    Crop(usize),
    /// "mushrooms": a crop without a name.
    Mushroom,
    Day(Day),
    Every(Every),
    From(Day),
    Until(Day),
    Span(Span),
    Verb(Verb),
    Standing,
    Batch(String),
    /// Tenths of a degree, with the scale if typed.
    Degrees(i32, Option<TemperatureScale>),
    Each,
    /// A comma, "and" or a new line.
    Joint,
    Polite,
    Question,
    Asking,
    /// Known to change the meaning, but not read here.
    Doubt(String),
    /// Not understood.
    Left(String),
    Courtesy,
}

/// The term as something else, if it is that.
pub(super) fn term<'a, O>(read: impl Fn(&Term) -> Option<O>) -> impl Parser<Terms<'a>, O, winnow::error::ContextError> {
    any.verify_map(move |t: Term| read(&t))
}

/// Exactly this term.
pub(super) fn is<'a>(wanted: Term) -> impl Parser<Terms<'a>, (), winnow::error::ContextError> {
    any.verify_map(move |t: Term| (t == wanted).then_some(()))
}

/// Cuts the terms into chunks; all of them end up in one.
pub(super) fn chunks(terms: &[Term]) -> Vec<Chunk> {
    let mut rest = terms;
    let all: Result<Vec<Chunk>> = repeat(0.., chunk).parse_next(&mut rest);
    all.unwrap_or_default()
}

fn chunk(input: &mut Terms<'_>) -> Result<Chunk> {
    alt((
        alt((
            degrees,
            batch,
            range,
            units,
            amounts::weight_with_unit.map(Chunk::Weight),
            dates::every.map(Chunk::Every),
            preceded(is(Term::From), dates::beginning).map(Chunk::From),
            preceded(is(Term::Until), dates::ending).map(Chunk::Until),
            preceded(is(Term::For), alt((dates::span, one_span))).map(Chunk::Span),
        )),
        alt((
            dates::day.map(Chunk::Day),
            dates::the_nth.map(Chunk::Day),
            dates::span.map(Chunk::Span),
            amounts::bare_number.map(Chunk::Weight),
            crop,
            each,
            term(single),
            any.map(left_over),
        )),
    ))
    .parse_next(input)
}

/// "each"; before a day it is another word ("each Thursday", "po czwartku").
fn each(input: &mut Terms<'_>) -> Result<Chunk> {
    let before_weight = |input: &mut Terms<'_>| {
        (is(Term::Apiece), peek(alt((amounts::weight_with_unit, amounts::bare_number)))).void().parse_next(input)
    };
    alt(((is(Term::Each), peek(not(dates::day))).void(), before_weight)).value(Chunk::Each).parse_next(input)
}

/// "na miesiąc": the one is left out.
fn one_span(input: &mut Terms<'_>) -> Result<Span> {
    alt((is(Term::Months).value(Span::Months(1)), is(Term::Week).value(Span::Days(7)))).parse_next(input)
}

/// "shiitake", "shiitake mushrooms", "setas shiitake".
fn crop(input: &mut Terms<'_>) -> Result<Chunk> {
    let named = |input: &mut Terms<'_>| {
        term(|t| match t {
            Term::Crop(index) => Some(*index),
            _ => None,
        })
        .parse_next(input)
    };
    let mushroom = |input: &mut Terms<'_>| is(Term::Mushroom).parse_next(input);
    alt((
        (opt((mushroom, opt(is(Term::Of)))), named, opt(mushroom)).map(|(_, index, _)| Chunk::Crop(index)),
        mushroom.value(Chunk::Mushroom),
    ))
    .parse_next(input)
}

/// "10 blocks", "6 bags of".
fn units(input: &mut Terms<'_>) -> Result<Chunk> {
    let crop_between = |input: &mut Terms<'_>| {
        term(|t| match t {
            Term::Crop(index) => Some(*index),
            _ => None,
        })
        .parse_next(input)
    };
    alt((
        (alt((small_number, is(Term::One).value(1))), is(Term::Piece)).map(|(count, ())| Chunk::Units(count)),
        // "10 shiitake blocks": the crop stays for the next chunk, its piece word falls away there.
        (alt((small_number, is(Term::One).value(1))), peek((crop_between, opt(is(Term::Mushroom)), is(Term::Piece))))
            .map(|(count, _)| Chunk::Units(count)),
    ))
    .parse_next(input)
}

/// "2-3", "2 to 3" is no amount.
fn range(input: &mut Terms<'_>) -> Result<Chunk> {
    let plain = |input: &mut Terms<'_>| {
        term(|t| match t {
            Term::Digits(digits) if !digits.is_fraction => Some(digits.text.clone()),
            _ => None,
        })
        .parse_next(input)
    };
    (plain, is(Term::Dash), plain).map(|(low, (), high)| Chunk::Left(format!("{low}-{high}"))).parse_next(input)
}

/// "batch 12", "batch #A3".
fn batch(input: &mut Terms<'_>) -> Result<Chunk> {
    preceded(
        (opt(is(Term::From)), is(Term::Batch), opt(is(Term::Hash))),
        term(|t| match t {
            Term::Digits(digits) => Some(digits.text.clone()),
            Term::Word(word) => Some(word.clone()),
            _ => None,
        }),
    )
    .verify(|name: &str| name.len() <= 12)
    .map(Chunk::Batch)
    .parse_next(input)
}

/// "4 °C", "38F", "-1 degrees".
fn degrees(input: &mut Terms<'_>) -> Result<Chunk> {
    let scale = |input: &mut Terms<'_>| {
        term(|t| match t {
            Term::Scale(scale) => Some(*scale),
            _ => None,
        })
        .parse_next(input)
    };
    (
        opt(is(Term::Minus)),
        term(|t| match t {
            Term::Digits(digits) if !digits.is_fraction => match digits.amounts.as_slice() {
                [one] => tenths(*one),
                _ => None,
            },
            _ => None,
        }),
        alt(((opt(is(Term::Degree)), scale).map(|(_, scale)| Some(scale)), is(Term::Degree).value(None))),
    )
        .map(|(minus, tenths, scale)| Chunk::Degrees(if minus.is_some() { -tenths } else { tenths }, scale))
        .parse_next(input)
}

fn tenths(amount: Amount) -> Option<i32> {
    let top = amount.numerator.checked_mul(10)?;
    (top % amount.denominator == 0).then(|| i32::try_from(top / amount.denominator).ok()).flatten()
}

/// A temperature that a cold room, a car or a summer's day can have: −40 to 60 °C.
pub(super) fn temperature(tenths: i32, scale: TemperatureScale) -> Option<Temperature> {
    let possible = match scale {
        TemperatureScale::Celsius => -400..=600,
        TemperatureScale::Fahrenheit => -400..=1400,
    };
    possible.contains(&tenths).then_some(Temperature { tenths, scale })
}

fn single(t: &Term) -> Option<Chunk> {
    Some(match t {
        Term::Verb(verb) => Chunk::Verb(*verb),
        Term::And | Term::Comma | Term::Dash => Chunk::Joint,
        Term::Standing => Chunk::Standing,
        Term::Polite => Chunk::Polite,
        Term::Question => Chunk::Question,
        Term::Asking => Chunk::Asking,
        Term::Doubt(word) => Chunk::Doubt(word.clone()),
        Term::Courtesy | Term::The | Term::Of | Term::In | Term::For | Term::One | Term::Piece => Chunk::Courtesy,
        _ => return None,
    })
}

/// A known word out of place has no text of its own here and is left unnamed.
fn left_over(t: Term) -> Chunk {
    Chunk::Left(match t {
        Term::Word(word) => word,
        Term::Digits(digits) => digits.text,
        _ => String::new(),
    })
}
