//! Numbers and weights as people type them: "2½", "2 1/2", "1,5", "una libra y media", "pół kilo". Exact fractions
//! throughout; where digits can be read in two ways both are kept until the limits tell which is possible.

use super::chunks::{Terms, term};
use super::vocabulary::Term;
use super::words::{Habits, Point};
use super::{LINE_LEAST, LINE_MOST, Question, Weight};
use scheduler::clock::LocalDate;
use scheduler::quantity::{Amount, Grams, WeightUnit, grams_from};
use winnow::combinator::{alt, not, opt, peek, preceded};
use winnow::{Parser, Result};

/// Digits as typed and what they can be.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Digits {
    pub(super) text: String,
    /// The values possible as an amount; empty when it is none.
    pub(super) amounts: Vec<Amount>,
    /// A fraction such as 1/2.
    pub(super) is_fraction: bool,
    /// Two or three numbers of a date, in the order typed, with the year.
    pub(super) pair: Option<(u32, u32, Option<i32>)>,
    pub(super) iso: Option<LocalDate>,
    /// Minutes of the day that "9:30" names.
    pub(super) clock: Option<i64>,
}

/// A number with or without its unit.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Weighed {
    /// One value, or several when the digits can be read in several ways.
    pub(super) amounts: Vec<Amount>,
    pub(super) unit: Option<WeightUnit>,
    pub(super) is_negative: bool,
    /// Takes no unit from the weight before it ("half": of what?) and gives none to the next ("2 lb 4 oz": pounds or ounces?).
    pub(super) stands_alone: bool,
}

/// What a run of digits can stand for in a language with these habits.
pub(super) fn digits(text: &str, habits: Habits) -> Digits {
    let numbers: Vec<&str> = text.split(['.', ',', '/', ':', '-', '⁄']).collect();
    let marks: Vec<char> = text.chars().filter(|c| !c.is_ascii_digit()).collect();
    let (is_fraction, amounts) = match (marks.as_slice(), numbers.as_slice()) {
        ([], [whole]) => (false, decimal(whole, "").into_iter().collect()),
        (['/' | '⁄'], [top, bottom]) => (true, fraction(top, bottom).into_iter().collect()),
        ([mark @ ('.' | ',')], [whole, part]) => (false, decimals(whole, part, *mark, habits.point)),
        _ => (false, Vec::new()),
    };
    let pair = match (marks.as_slice(), numbers.as_slice()) {
        (['/'], [first, second]) => pair_of(first, second, None),
        (['.'], [first, second]) if habits.dotted_dates => pair_of(first, second, None),
        (['/', '/'] | ['.', '.'], [first, second, year]) => pair_of(first, second, Some(year)),
        _ => None,
    };
    let iso = if marks == ['-', '-'] { iso(&numbers) } else { None };
    let clock = match (marks.as_slice(), numbers.as_slice()) {
        ([':'], [hour, minute]) if minute.len() == 2 => minutes(hour, minute),
        _ => None,
    };
    Digits { text: text.to_owned(), is_fraction: is_fraction && !amounts.is_empty(), amounts, pair, iso, clock }
}

fn minutes(hour: &str, minute: &str) -> Option<i64> {
    let (hour, minute) = (hour.parse::<i64>().ok()?, minute.parse::<i64>().ok()?);
    (hour < 24 && minute < 60).then_some(hour * 60 + minute)
}

fn iso(numbers: &[&str]) -> Option<LocalDate> {
    let [year, month, day] = numbers else { return None };
    LocalDate::from_ymd_opt(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?)
}

fn pair_of(first: &str, second: &str, year: Option<&&str>) -> Option<(u32, u32, Option<i32>)> {
    if first.len() > 2 || second.len() > 2 {
        return None;
    }
    let year = match year {
        None => None,
        Some(short) if short.len() == 2 => Some(2000 + short.parse::<i32>().ok()?),
        Some(long) if long.len() == 4 => Some(long.parse().ok()?),
        Some(_) => return None,
    };
    Some((first.parse().ok()?, second.parse().ok()?, year))
}

/// Kitchen fractions only: halves, thirds, quarters, eighths, sixteenths, less than one.
fn fraction(top: &str, bottom: &str) -> Option<Amount> {
    let (numerator, denominator) = (top.parse::<i64>().ok()?, bottom.parse::<i64>().ok()?);
    let is_kitchen = matches!(denominator, 2 | 3 | 4 | 8 | 16) && numerator > 0 && numerator < denominator;
    is_kitchen.then(|| lowest(numerator, denominator))
}

fn decimal(whole: &str, part: &str) -> Option<Amount> {
    // Nine digits are past every limit and keep the products far from overflow; more of them weigh no less.
    if whole.len() > 9 {
        return Some(Amount { numerator: 999_999_999, denominator: 1 });
    }
    if whole.len() + part.len() > 12 {
        return None;
    }
    let numerator = format!("{whole}{part}").parse::<i64>().ok()?;
    Some(lowest(numerator, 10_i64.pow(u32::try_from(part.len()).ok()?)))
}

/// A mark followed by exactly three digits may part thousands. English keeps the comma for that and the point for
/// decimals; Spanish and Polish are written with either, so both readings stand.
fn decimals(whole: &str, part: &str, mark: char, point: Point) -> Vec<Amount> {
    if whole.is_empty() {
        return Vec::new();
    }
    let thousands = (part.len() == 3 && whole.len() <= 3 && !whole.starts_with('0'))
        .then(|| decimal(&format!("{whole}{part}"), ""))
        .flatten();
    let decimals = decimal(whole, part);
    match (point, mark, thousands) {
        (Point::Decimal, '.', _) | (_, _, None) => decimals.into_iter().collect(),
        (Point::Decimal, _, Some(thousands)) => vec![thousands],
        (_, _, Some(thousands)) => decimals.into_iter().chain([thousands]).collect(),
    }
}

fn lowest(numerator: i64, denominator: i64) -> Amount {
    let (mut a, mut b) = (numerator.abs(), denominator);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    let divisor = a.max(1);
    Amount { numerator: numerator / divisor, denominator: denominator / divisor }
}

fn sum(left: Amount, right: Amount) -> Option<Amount> {
    let numerator =
        left.numerator.checked_mul(right.denominator)?.checked_add(right.numerator.checked_mul(left.denominator)?)?;
    Some(lowest(numerator, left.denominator.checked_mul(right.denominator)?))
}

fn times(amount: Amount, count: i64) -> Option<Amount> {
    Some(lowest(amount.numerator.checked_mul(count)?, amount.denominator))
}

const ONE: Amount = Amount { numerator: 1, denominator: 1 };

/// A weight with its unit, or "2 lb 4 oz".
pub(super) fn weight_with_unit(input: &mut Terms<'_>) -> Result<Weighed> {
    alt((compound, single_with_unit)).parse_next(input)
}

/// A number with no unit after it.
pub(super) fn bare_number(input: &mut Terms<'_>) -> Result<Weighed> {
    let (minus, amounts, is_bare_part) = (
        opt(term(|t| (*t == Term::Minus).then_some(()))),
        alt((
            (value, and, opt(one), part).map(|(whole, _, _, part)| added(&whole, part)).map(|sum| (sum, false)),
            value.map(|whole| (whole, false)),
            part.map(|part| (vec![part], true)),
        )),
        peek(not(unit)),
    )
        .map(|(minus, (amounts, is_part), ())| (minus.is_some(), amounts, is_part))
        .parse_next(input)?;
    Ok(Weighed { amounts, unit: None, is_negative: minus, stands_alone: is_bare_part })
}

fn compound(input: &mut Terms<'_>) -> Result<Weighed> {
    let stop = |input: &mut Terms<'_>| {
        opt(alt((and, term(|t| matches!(t, Term::Plus | Term::Courtesy | Term::Stop).then_some(())))))
            .void()
            .parse_next(input)
    };
    (single_with_unit, stop, single_with_unit)
        .verify_map(|(major, (), minor)| {
            let per_major = match (major.unit?, minor.unit?) {
                (WeightUnit::Pound, WeightUnit::Ounce) => 16,
                (WeightUnit::Kilogram, WeightUnit::Gram) => 1000,
                _ => return None,
            };
            let ([large], [small]) = (major.amounts.as_slice(), minor.amounts.as_slice()) else { return None };
            let is_part_of_one = small.numerator < per_major * small.denominator && !minor.is_negative;
            let total = sum(times(*large, per_major)?, *small)?;
            is_part_of_one.then(|| Weighed { amounts: vec![total], unit: minor.unit, stands_alone: true, ..major })
        })
        .parse_next(input)
}

fn single_with_unit(input: &mut Terms<'_>) -> Result<Weighed> {
    let (minus, (amounts, (unit, count))) = (
        opt(term(|t| (*t == Term::Minus).then_some(()))),
        alt((
            // "two and a half pounds", "dos y media libras", "2 i pół kilo"
            (alt((value, one.value(vec![ONE]))), and, opt(one), part, unit)
                .map(|(whole, (), _, part, unit)| (added(&whole, part), unit)),
            // "a pound and a half", "dos libras y media"; not "2 lb and half a pound of the other"
            (alt((value, one.value(vec![ONE]))), unit, and, opt(one), part, peek(not((opt(of), opt(one), unit))))
                .map(|(whole, unit, (), _, part, ())| (added(&whole, part), unit)),
            unit_first_and_half,
            // "half a pound", "media libra", "a quarter of a pound", "three quarters of a pound"
            (opt(one), part, opt(of), opt(one), unit).map(|(_, part, _, _, unit)| (vec![part], unit)),
            (small_number, parts, opt(of), opt(one), unit)
                .map(|(count, part, _, _, unit)| (times(part, count).into_iter().collect(), unit)),
            (value, unit),
            one_and_half,
            (one, unit).map(|((), unit)| (vec![ONE], unit)),
            term(|t| match t {
                Term::OneUnit(unit) => Some((vec![ONE], (*unit, 1))),
                _ => None,
            }),
        )),
    )
        .parse_next(input)?;
    let amounts = amounts.into_iter().filter_map(|amount| times(amount, count)).collect();
    Ok(Weighed { amounts, unit: Some(unit), is_negative: minus.is_some(), stands_alone: false })
}

/// "kilo i pół": Polish and Spanish leave the one out.
fn unit_first_and_half(input: &mut Terms<'_>) -> Result<(Vec<Amount>, (WeightUnit, i64))> {
    (unit, and, opt(one), part, peek(not(unit)))
        .map(|(unit, (), _, part, ())| (added(&[ONE], part), unit))
        .parse_next(input)
}

/// "półtora kilo".
fn one_and_half(input: &mut Terms<'_>) -> Result<(Vec<Amount>, (WeightUnit, i64))> {
    preceded(term(|t| (*t == Term::OneAndHalf).then_some(())), unit)
        .map(|unit| (vec![Amount { numerator: 3, denominator: 2 }], unit))
        .parse_next(input)
}

fn added(whole: &[Amount], part: Amount) -> Vec<Amount> {
    whole.iter().filter_map(|amount| sum(*amount, part)).collect()
}

/// Digits, a mixed number or a number in words.
fn value(input: &mut Terms<'_>) -> Result<Vec<Amount>> {
    alt((
        (whole_digits, opt(term(|t| (*t == Term::Dash).then_some(()))), glyph_or_fraction)
            .map(|(whole, _, part)| added(&[whole], part)),
        (whole_digits, and, digit_fraction).map(|(whole, (), part)| added(&[whole], part)),
        term(|t| match t {
            Term::Digits(digits) => Some(digits.amounts.clone()).filter(|amounts| !amounts.is_empty()),
            _ => None,
        }),
        glyph.map(|part| vec![part]),
        words.map(|number| vec![Amount { numerator: number, denominator: 1 }]),
    ))
    .parse_next(input)
}

fn whole_digits(input: &mut Terms<'_>) -> Result<Amount> {
    term(|t| match t {
        Term::Digits(digits) if !digits.is_fraction => match digits.amounts.as_slice() {
            [whole] if whole.denominator == 1 => Some(*whole),
            _ => None,
        },
        _ => None,
    })
    .parse_next(input)
}

fn digit_fraction(input: &mut Terms<'_>) -> Result<Amount> {
    term(|t| match t {
        Term::Digits(digits) if digits.is_fraction => digits.amounts.first().copied(),
        _ => None,
    })
    .parse_next(input)
}

/// A sign such as ½ is only ever made from a sign: the words "half" and "media" are handled with their own forms.
fn glyph(input: &mut Terms<'_>) -> Result<Amount> {
    term(|t| match t {
        Term::Glyph(part) => Some(*part),
        _ => None,
    })
    .parse_next(input)
}

fn glyph_or_fraction(input: &mut Terms<'_>) -> Result<Amount> {
    alt((glyph, digit_fraction)).parse_next(input)
}

/// A small count in digits or words, for weeks, blocks and days.
pub(super) fn small_number(input: &mut Terms<'_>) -> Result<i64> {
    alt((whole_digits.map(|amount| amount.numerator), words)).parse_next(input)
}

fn words(input: &mut Terms<'_>) -> Result<i64> {
    let number = |input: &mut Terms<'_>| {
        term(|t| match t {
            Term::Number(number) => Some(*number),
            _ => None,
        })
        .parse_next(input)
    };
    alt((
        // "twenty five", "treinta y cinco"
        (number.verify(|n| (20..100).contains(n) && n % 10 == 0), opt(and), number.verify(|n| (1..10).contains(n)))
            .map(|(tens, _, ones)| tens + ones),
        number,
    ))
    .parse_next(input)
}

fn part(input: &mut Terms<'_>) -> Result<Amount> {
    term(|t| match t {
        Term::Part(part) | Term::Glyph(part) => Some(*part),
        _ => None,
    })
    .parse_next(input)
}

fn parts(input: &mut Terms<'_>) -> Result<Amount> {
    term(|t| match t {
        Term::Parts(part) => Some(*part),
        _ => None,
    })
    .parse_next(input)
}

pub(super) fn unit(input: &mut Terms<'_>) -> Result<(WeightUnit, i64)> {
    term(|t| match t {
        Term::Unit(unit, count) => Some((*unit, *count)),
        Term::OneUnit(unit) => Some((*unit, 1)),
        Term::Hash => Some((WeightUnit::Pound, 1)),
        _ => None,
    })
    .parse_next(input)
}

fn one(input: &mut Terms<'_>) -> Result<()> {
    term(|t| (*t == Term::One).then_some(())).parse_next(input)
}

fn of(input: &mut Terms<'_>) -> Result<()> {
    term(|t| (*t == Term::Of).then_some(())).parse_next(input)
}

fn and(input: &mut Terms<'_>) -> Result<()> {
    term(|t| (*t == Term::And).then_some(())).parse_next(input)
}

/// The one weight within the limits, or what to ask.
pub(super) fn within_limits(weighed: &Weighed, unit: WeightUnit) -> Result<Weight, Question> {
    let as_weight = |amount: &Amount| {
        // What does not fit an i64 of grams is past every limit.
        let grams = grams_from(*amount, unit).unwrap_or(Grams::new(i64::MAX));
        Weight { grams, amount: *amount, unit }
    };
    let all: Vec<Weight> = weighed.amounts.iter().map(as_weight).collect();
    if weighed.is_negative || all.is_empty() {
        return Err(Question::TooLittle { limit: LINE_LEAST });
    }
    let possible: Vec<Weight> = all.iter().filter(|w| w.grams >= LINE_LEAST && w.grams <= LINE_MOST).copied().collect();
    match possible.as_slice() {
        [one] => Ok(*one),
        [] if all[0].grams > LINE_MOST => Err(Question::TooMuch { limit: LINE_MOST }),
        [] => Err(Question::TooLittle { limit: LINE_LEAST }),
        _ => Err(Question::WhichWeight { candidates: possible }),
    }
}
