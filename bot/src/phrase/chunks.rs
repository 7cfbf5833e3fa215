//! Terms into chunks: weights, crops, days, wishes. Whatever fits no form is kept as left over, so that the meaning can
//! be refused because of it.

use super::amounts::{self, Weighed, small_number};
use super::dates::{self, Day, Every, Span};
use super::vocabulary::{Clock, Term, Verb};
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
    /// A day after "for": what is reported was not done then.
    ForDay(Day),
    /// So many minutes.
    Minutes(i64),
    /// A time of day, minutes from midnight where that is clear.
    Time(Option<u16>),
    /// "5-6 lb", "5 or 6 lb".
    Range(Weighed, Weighed),
    /// "5 to 8 lb": of a change, from the one to the other.
    FromTo(Weighed, Weighed),
    /// "June 8-14", the last day with it.
    Dates(Day, Day),
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
    /// The end of a sentence.
    Stop,
    /// "plus" before a weight.
    Plus,
    /// "but", which parts two wishes.
    But(String),
    /// "except", which takes what follows from what stands before.
    Except(String),
    /// What is said of what went bad; of anything that did not, it is a complaint.
    Waste(String),
    By,
    To,
    /// "do 4 kg": at most so much, or of a change to so much.
    UpTo,
    InsteadOf,
    Instead(String),
    ForMe,
    Further,
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
            dates::between.map(|(first, last)| Chunk::Dates(first, last)),
            minutes,
            time,
            batch,
            range,
            units,
        )),
        alt((
            amounts::weight_with_unit.map(Chunk::Weight),
            dates::every.map(Chunk::Every),
            preceded(is(Term::From), dates::beginning).map(Chunk::From),
            preceded(is(Term::Until), dates::ending).map(Chunk::Until),
            preceded(is(Term::For), alt((dates::span, one_span))).map(Chunk::Span),
            plus,
            instead_of_a_weight,
            before_a_weight,
            before_a_stranger,
        )),
        alt((
            preceded(is(Term::For), alt((dates::day, dates::the_nth))).map(Chunk::ForDay),
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

/// "20 min", "20 minutes".
fn minutes(input: &mut Terms<'_>) -> Result<Chunk> {
    (small_number, is(Term::Minutes)).map(|(count, ())| Chunk::Minutes(count)).parse_next(input)
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

/// "2-3 lb", "2 or 3 lb", "2 lb or 3 lb": either of two weights, to be asked about.
fn range(input: &mut Terms<'_>) -> Result<Chunk> {
    let between = |input: &mut Terms<'_>| {
        term(|t| match t {
            Term::Dash | Term::Or(_) => Some(Between::Mark),
            Term::To | Term::Until => Some(Between::To),
            _ => None,
        })
        .parse_next(input)
    };
    let weight = |input: &mut Terms<'_>| alt((amounts::weight_with_unit, amounts::bare_number)).parse_next(input);
    let not_a_day = |input: &mut Terms<'_>| {
        peek(not(term(|t| matches!(t, Term::Month(_) | Term::Nth | Term::Piece | Term::Clock(_)).then_some(()))))
            .parse_next(input)
    };
    (opt(is(Term::From)), weight, between, weight, not_a_day)
        .verify_map(|(_, low, between, high, ())| {
            let has_unit = high.unit.is_some() || (between == Between::Mark && low.unit.is_none());
            let low = Weighed { unit: low.unit.or(high.unit), ..low };
            has_unit.then_some(match between {
                Between::To => Chunk::FromTo(low, high),
                Between::Mark => Chunk::Range(low, high),
            })
        })
        .parse_next(input)
}

/// What stands between two weights.
#[derive(Clone, Copy, PartialEq)]
enum Between {
    Mark,
    To,
}

/// "plus 2 lb oyster" adds another line; "2 kg más de ostra" asks for more.
fn plus(input: &mut Terms<'_>) -> Result<Chunk> {
    let weight =
        |input: &mut Terms<'_>| alt((amounts::weight_with_unit.void(), amounts::bare_number.void())).parse_next(input);
    let line = |input: &mut Terms<'_>| alt((weight, (crop, opt(is(Term::Of)), weight).void())).parse_next(input);
    alt((
        (is(Term::Plus), opt(is(Term::Comma)), peek(line)).value(Chunk::Plus),
        is(Term::Plus).value(Chunk::Verb(Verb::More)),
    ))
    .parse_next(input)
}

/// "at 8", "8 am", "9:30", "in the morning"; a number after "at" that measures something is no time.
fn time(input: &mut Terms<'_>) -> Result<Chunk> {
    let lead = |input: &mut Terms<'_>| {
        term(|t| {
            let leads = matches!(
                t,
                Term::At | Term::In | Term::For | Term::By | Term::Until | Term::From | Term::TimeLead(_) | Term::The
            );
            leads.then_some(())
        })
        .parse_next(input)
    };
    let sure_lead = |input: &mut Terms<'_>| {
        (
            term(|t| matches!(t, Term::At | Term::TimeLead(_)).then_some(())),
            opt(term(|t| matches!(t, Term::At | Term::The).then_some(()))),
        )
            .void()
            .parse_next(input)
    };
    let digits_of_clock = |input: &mut Terms<'_>| {
        term(|t| match t {
            Term::Digits(digits) => digits.clock,
            _ => None,
        })
        .parse_next(input)
    };
    let clock = |input: &mut Terms<'_>| {
        term(|t| match t {
            Term::Clock(clock) => Some(*clock),
            _ => None,
        })
        .parse_next(input)
    };
    let hour = |input: &mut Terms<'_>| small_number.verify(|hour| (0..=24).contains(hour)).parse_next(input);
    alt((
        (opt(lead), digits_of_clock, opt(clock)).map(|(_, minute, clock)| minute_of(minute, clock)),
        (opt(lead), hour, clock).map(|(_, hour, clock)| minute_of(hour * 60, Some(clock))),
        (sure_lead, hour, peek(not(dates::measured_or_dated))).map(|((), hour, ())| minute_of(hour * 60, None)),
        (opt(lead), opt(lead), is(Term::DayPart)).value(None),
    ))
    .map(Chunk::Time)
    .parse_next(input)
}

fn minute_of(minute: i64, clock: Option<Clock>) -> Option<u16> {
    let half_day = 12 * 60;
    let minute = match clock {
        Some(Clock::Afternoon) if minute < half_day => minute + half_day,
        Some(Clock::Morning) if minute >= half_day => minute - half_day,
        _ => minute,
    };
    u16::try_from(minute).ok().filter(|minute| *minute < 24 * 60)
}

/// "do 4 kg", "o 2 kg": Polish brings a weight to so much, or by so much.
fn before_a_weight(input: &mut Terms<'_>) -> Result<Chunk> {
    let small = term(|t| match t {
        Term::Until => Some(Chunk::UpTo),
        Term::At | Term::By => Some(Chunk::By),
        Term::From => Some(Chunk::Courtesy),
        _ => None,
    });
    let weight = |input: &mut Terms<'_>| {
        alt((amounts::weight_with_unit.void(), (amounts::bare_number, peek(is(Term::Until))).void())).parse_next(input)
    };
    (small, peek(weight)).map(|(chunk, ())| chunk).parse_next(input)
}

/// "10 lb oyster instead of 6": what it was says nothing more.
fn instead_of_a_weight(input: &mut Terms<'_>) -> Result<Chunk> {
    let weight = |input: &mut Terms<'_>| alt((amounts::weight_with_unit, amounts::bare_number)).parse_next(input);
    (is(Term::InsteadOf), opt(is(Term::The)), weight, peek(not((opt(is(Term::Of)), crop))))
        .value(Chunk::Courtesy)
        .parse_next(input)
}

/// "this is Marta from Dover": small words before a word that is not known say nothing by themselves.
fn before_a_stranger(input: &mut Terms<'_>) -> Result<Chunk> {
    let small = term(|t| matches!(t, Term::From | Term::Until | Term::This | Term::At | Term::Next).then_some(()));
    let stranger = term(|t| matches!(t, Term::Word(_)).then_some(()));
    (small, peek(stranger)).value(Chunk::Courtesy).parse_next(input)
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
        Term::Stop => Chunk::Stop,
        Term::But(word) => Chunk::But(word.clone()),
        Term::Except(word) => Chunk::Except(word.clone()),
        Term::Waste(word) => Chunk::Waste(word.clone()),
        Term::Or(word) | Term::TimeLead(word) => Chunk::Doubt(word.clone()),
        Term::By => Chunk::By,
        Term::To => Chunk::To,
        Term::InsteadOf => Chunk::InsteadOf,
        Term::Instead(word) => Chunk::Instead(word.clone()),
        Term::ForMe => Chunk::ForMe,
        Term::Further => Chunk::Further,
        Term::Standing => Chunk::Standing,
        Term::Polite => Chunk::Polite,
        Term::Question => Chunk::Question,
        Term::Asking => Chunk::Asking,
        Term::Doubt(word) => Chunk::Doubt(word.clone()),
        Term::Courtesy
        | Term::The
        | Term::TheMany
        | Term::Of
        | Term::In
        | Term::At
        | Term::For
        | Term::One
        | Term::Piece => Chunk::Courtesy,
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
