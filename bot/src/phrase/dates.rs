//! Days as people name them: weekdays, dates in either order, "tomorrow", "next week". Parsing keeps what was typed;
//! resolving sets it against today and asks wherever two days are possible.

use super::amounts::{Digits, small_number, unit};
use super::chunks::{Terms, is, term};
use super::vocabulary::{Feast, Term};
use super::{AHEAD_DAYS_MOST, Context, DayMonthOrder, Question, When};
use chrono::{Datelike, Days, Months, Weekday};
use scheduler::clock::{LocalDate, monday_of};
use winnow::combinator::{alt, delimited, not, opt, peek, preceded, repeat, separated_pair, terminated};
use winnow::{Parser, Result};

/// How long ago a date without a year may lie to be taken as just past, not as next year's.
const JUST_PAST_DAYS: i64 = 60;

/// A day as typed.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Day {
    Near(i64),
    Weekday(Weekday, Which),
    Calendar {
        day: u32,
        month: u32,
        year: Option<i32>,
        weekday: Option<Weekday>,
    },
    /// Two numbers whose order is open.
    Pair {
        first: u32,
        second: u32,
        year: Option<i32>,
        weekday: Option<Weekday>,
    },
    /// "the 12th".
    Nth {
        day: u32,
        weekday: Option<Weekday>,
    },
    Iso(LocalDate),
    /// Weeks from this one.
    Week(i64),
    NextDelivery,
    Feast(Feast),
    /// A whole month, which only a beginning or an end can be.
    Month {
        month: u32,
        year: Option<i32>,
    },
    EndOfMonth {
        month: u32,
        year: Option<i32>,
    },
}

/// Which of the days of that name.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Which {
    Plain,
    This,
    Next,
    /// In the week so many weeks from this one.
    InWeek(i64),
}

/// Whether a wish looks ahead or a report looks back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Direction {
    Ahead,
    Back,
}

/// "every other Thursday", as typed.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Every {
    pub(super) weeks: i64,
    pub(super) weekdays: Vec<Weekday>,
}

/// A day that a wish or report can be about.
pub(super) fn day(input: &mut Terms<'_>) -> Result<Day> {
    let named = alt((iso, weekday_in_week, weekday_with_date, calendar, pair, weekday, week, near, feast));
    alt((preceded(is(Term::In), in_span), preceded(links, named))).parse_next(input)
}

/// A day, or a month taken from its first day.
pub(super) fn beginning(input: &mut Terms<'_>) -> Result<Day> {
    alt((day, preceded(links, month))).parse_next(input)
}

/// A day, or a month, or the end of one.
pub(super) fn ending(input: &mut Terms<'_>) -> Result<Day> {
    alt((
        day,
        preceded((links, is(Term::EndOf), links), month_and_year).map(|(month, year)| Day::EndOfMonth { month, year }),
        preceded(links, month),
    ))
    .parse_next(input)
}

/// "June 8-14", "del 8 al 14 de junio", "od poniedziałku do środy": the first and the last day.
pub(super) fn between(input: &mut Terms<'_>) -> Result<(Day, Day)> {
    let to = |input: &mut Terms<'_>| {
        (term(|t| matches!(t, Term::Dash | Term::Until | Term::To).then_some(())), links).void().parse_next(input)
    };
    let opening = |input: &mut Terms<'_>| (links, opt(is(Term::From)), links).void().parse_next(input);
    let numbered = |input: &mut Terms<'_>| terminated(day_number, opt(nth)).parse_next(input);
    let on = |day: u32, month: u32, year: Option<i32>| Day::Calendar { day, month, year, weekday: None };
    alt((
        (opening, month_name, links, numbered, to, numbered, peek(not(measured)))
            .map(|((), month, (), first, (), last, ())| (on(first, month, None), on(last, month, None))),
        (opening, numbered, to, numbered, links, month_and_year)
            .map(|((), first, (), last, (), (month, year))| (on(first, month, year), on(last, month, year))),
        (opening, day, to, day).map(|((), first, (), last)| (first, last)),
    ))
    .parse_next(input)
}

/// "for two weeks".
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Span {
    Days(i64),
    Months(i64),
}

/// A number of days, weeks or months.
pub(super) fn span(input: &mut Terms<'_>) -> Result<Span> {
    let count = |input: &mut Terms<'_>| alt((small_number, is(Term::One).value(1))).parse_next(input);
    (
        count,
        term(|t| match t {
            Term::Days => Some(1),
            Term::Week => Some(7),
            Term::Months => Some(0),
            _ => None,
        }),
    )
        .verify_map(|(count, days)| {
            // A span of a year and more is asked about as too far anyway.
            let count = (1..=AHEAD_DAYS_MOST).contains(&count).then_some(count)?;
            Some(if days == 0 { Span::Months(count) } else { Span::Days(count * days) })
        })
        .parse_next(input)
}

/// The first day after a span that begins today.
pub(super) fn after(span: Span, today: LocalDate) -> Option<LocalDate> {
    match span {
        Span::Days(days) => today.checked_add_days(Days::new(u64::try_from(days).ok()?)),
        Span::Months(months) => today.checked_add_months(Months::new(u32::try_from(months).ok()?)),
    }
}

/// "every Thursday", "every other week on Monday and Friday", "Thursdays", "weekly".
pub(super) fn every(input: &mut Terms<'_>) -> Result<Every> {
    let interval = |input: &mut Terms<'_>| {
        alt((
            is(Term::Other).value(2),
            is(Term::Ordinal(2)).value(2),
            // "every third Thursday" may be one a month; "every third week" is clear.
            terminated(ordinal.verify(|nth| *nth > 2), peek(is(Term::Week))),
            terminated(small_number, peek(is(Term::Week))),
        ))
        .parse_next(input)
    };
    let on_weekdays =
        |input: &mut Terms<'_>| opt(preceded(links, weekday_list)).map(Option::unwrap_or_default).parse_next(input);
    alt((
        (
            preceded((alt((is(Term::Every), is(Term::Each))), links), opt(interval)),
            alt((preceded(is(Term::Week), on_weekdays), weekday_list)),
        )
            .map(|(weeks, weekdays)| Every { weeks: weeks.unwrap_or(1), weekdays }),
        (term(weekly), on_weekdays).map(|(weeks, weekdays)| Every { weeks, weekdays }),
        (weekday_list, term(weekly)).map(|(weekdays, weeks)| Every { weeks, weekdays }),
        preceded((is(Term::Other), peek(plural_weekday)), weekday_list).map(|weekdays| Every { weeks: 2, weekdays }),
        preceded(is(Term::TheMany), weekday_list).map(|weekdays| Every { weeks: 1, weekdays }),
        preceded((links, peek(plural_weekday)), weekday_list).map(|weekdays| Every { weeks: 1, weekdays }),
    ))
    .parse_next(input)
}

fn ordinal(input: &mut Terms<'_>) -> Result<i64> {
    term(|t| match t {
        Term::Ordinal(nth) => Some(i64::from(*nth)),
        _ => None,
    })
    .parse_next(input)
}

fn weekly(t: &Term) -> Option<i64> {
    match t {
        Term::Weekly(weeks) => Some(i64::from(*weeks)),
        _ => None,
    }
}

fn weekday_list(input: &mut Terms<'_>) -> Result<Vec<Weekday>> {
    let joint = |input: &mut Terms<'_>| {
        (
            repeat::<_, _, (), _, _>(1.., alt((is(Term::And), is(Term::Comma)))),
            opt(is(Term::Every)),
            links,
            opt(is(Term::TheMany)),
        )
            .void()
            .parse_next(input)
    };
    let any_weekday = |input: &mut Terms<'_>| alt((plural_weekday, weekday_name)).parse_next(input);
    (any_weekday, repeat(0.., preceded(joint, any_weekday)))
        .map(|(first, more): (Weekday, Vec<Weekday>)| {
            let mut all = vec![first];
            all.extend(more);
            all.sort_by_key(Weekday::num_days_from_monday);
            all.dedup();
            all
        })
        .parse_next(input)
}

/// Small words between the parts of a date.
fn links(input: &mut Terms<'_>) -> Result<()> {
    repeat(0.., alt((is(Term::The), is(Term::Of), is(Term::In), is(Term::At), is(Term::For), is(Term::By))))
        .parse_next(input)
}

fn weekday_name(input: &mut Terms<'_>) -> Result<Weekday> {
    term(|t| match t {
        Term::Weekday(day) => Some(*day),
        _ => None,
    })
    .parse_next(input)
}

fn plural_weekday(input: &mut Terms<'_>) -> Result<Weekday> {
    term(|t| match t {
        Term::Weekdays(day) => Some(*day),
        _ => None,
    })
    .parse_next(input)
}

/// "Thursday", "this Thursday", "jueves que viene".
fn weekday(input: &mut Terms<'_>) -> Result<Day> {
    let which = |input: &mut Terms<'_>| {
        alt((is(Term::This).value(Which::This), is(Term::Next).value(Which::Next))).parse_next(input)
    };
    alt((
        (which, weekday_name).map(|(which, day)| Day::Weekday(day, which)),
        (weekday_name, opt(which)).map(|(day, which)| Day::Weekday(day, which.unwrap_or(Which::Plain))),
    ))
    .parse_next(input)
}

/// "Thursday of next week", "next week Thursday".
fn weekday_in_week(input: &mut Terms<'_>) -> Result<Day> {
    let weeks = |input: &mut Terms<'_>| {
        week.verify_map(|day| match day {
            Day::Week(weeks) => Some(weeks),
            _ => None,
        })
        .parse_next(input)
    };
    alt((
        separated_pair(weekday_name, links, weeks).map(|(day, weeks)| (day, weeks)),
        separated_pair(weeks, links, weekday_name).map(|(weeks, day)| (day, weeks)),
    ))
    .map(|(day, weeks)| Day::Weekday(day, Which::InWeek(weeks)))
    .parse_next(input)
}

fn week(input: &mut Terms<'_>) -> Result<Day> {
    alt((
        (is(Term::Next), is(Term::Week)).value(Day::Week(1)),
        (is(Term::Week), is(Term::Next)).value(Day::Week(1)),
        (is(Term::This), is(Term::Week)).value(Day::Week(0)),
    ))
    .parse_next(input)
}

/// "in two weeks" is a week, "in three days" a day.
fn in_span(input: &mut Terms<'_>) -> Result<Day> {
    span.verify_map(|span| match span {
        Span::Days(days) if days % 7 == 0 => Some(Day::Week(days / 7)),
        Span::Days(days) => Some(Day::Near(days)),
        Span::Months(_) => None,
    })
    .parse_next(input)
}

fn near(input: &mut Terms<'_>) -> Result<Day> {
    term(|t| match t {
        Term::Near(days) => Some(Day::Near(*days)),
        Term::NextDelivery => Some(Day::NextDelivery),
        _ => None,
    })
    .parse_next(input)
}

fn feast(input: &mut Terms<'_>) -> Result<Day> {
    term(|t| match t {
        Term::Feast(feast) => Some(Day::Feast(*feast)),
        _ => None,
    })
    .parse_next(input)
}

fn iso(input: &mut Terms<'_>) -> Result<Day> {
    term(|t| match t {
        Term::Digits(Digits { iso: Some(date), .. }) => Some(Day::Iso(*date)),
        _ => None,
    })
    .parse_next(input)
}

fn weekday_with_date(input: &mut Terms<'_>) -> Result<Day> {
    // Never "at": "Thursday at 9" is a time.
    let small = |input: &mut Terms<'_>| {
        repeat::<_, _, (), _, _>(0.., alt((is(Term::The), is(Term::Of), is(Term::In)))).parse_next(input)
    };
    let gap = |input: &mut Terms<'_>| (opt(is(Term::Comma)), small).void().parse_next(input);
    (weekday_name, gap, alt((calendar, pair, bare_nth)))
        .map(|(name, (), date)| match date {
            Day::Calendar { day, month, year, .. } => Day::Calendar { day, month, year, weekday: Some(name) },
            Day::Pair { first, second, year, .. } => Day::Pair { first, second, year, weekday: Some(name) },
            Day::Nth { day, .. } => Day::Nth { day, weekday: Some(name) },
            other => other,
        })
        .parse_next(input)
}

/// "5 March 2027", "5th of March", "March 5th", "the 12th".
fn calendar(input: &mut Terms<'_>) -> Result<Day> {
    alt((
        (day_number, opt(nth), links, month_and_year).map(|(day, _, (), (month, year))| Day::Calendar {
            day,
            month,
            year,
            weekday: None,
        }),
        (month_name, links, day_number, opt(nth), peek(not(measured)), opt(preceded(opt(is(Term::Comma)), year)))
            .map(|(month, (), day, _, (), year)| Day::Calendar { day, month, year, weekday: None }),
        (day_number, nth).map(|(day, ())| Day::Nth { day, weekday: None }),
    ))
    .parse_next(input)
}

/// A day of the month with nothing but a weekday or "the" before it; not "Thursday 5 lb" nor "Thursday 5 shiitake".
fn bare_nth(input: &mut Terms<'_>) -> Result<Day> {
    terminated(day_number, peek(not(measured))).map(|day| Day::Nth { day, weekday: None }).parse_next(input)
}

/// "el 12": only where the article stands before the number.
pub(super) fn the_nth(input: &mut Terms<'_>) -> Result<Day> {
    delimited((opt(is(Term::For)), is(Term::The)), bare_nth, peek(not(is(Term::Next)))).parse_next(input)
}

/// What shows that the number before it is a weight or a count.
fn measured(input: &mut Terms<'_>) -> Result<()> {
    let object = term(|t| match t {
        Term::Crop(_)
        | Term::Mushroom
        | Term::Piece
        | Term::Glyph(_)
        | Term::Part(_)
        | Term::Parts(_)
        | Term::Clock(_)
        | Term::Minutes
        | Term::Word(_) => Some(()),
        Term::Digits(digits) if digits.is_fraction => Some(()),
        _ => None,
    });
    alt((unit.void(), preceded(repeat::<_, _, (), _, _>(0.., is(Term::Of)), object), (is(Term::And), part_word).void()))
        .parse_next(input)
}

/// What shows that a number after "at" is no hour: it measures something, or is part of a date.
pub(super) fn measured_or_dated(input: &mut Terms<'_>) -> Result<()> {
    let dated = term(|t| {
        let goes_on = matches!(
            t,
            Term::Nth
                | Term::Month(_)
                | Term::Week
                | Term::Days
                | Term::Months
                | Term::Degree
                | Term::Scale(_)
                | Term::Dash
        );
        goes_on.then_some(())
    });
    alt((measured, dated, (links, month_name).void())).parse_next(input)
}

fn part_word(input: &mut Terms<'_>) -> Result<()> {
    preceded(opt(is(Term::One)), term(|t| matches!(t, Term::Part(_)).then_some(()))).parse_next(input)
}

fn pair(input: &mut Terms<'_>) -> Result<Day> {
    terminated(
        term(|t| match t {
            Term::Digits(Digits { pair: Some((first, second, year)), .. }) => {
                Some(Day::Pair { first: *first, second: *second, year: *year, weekday: None })
            }
            _ => None,
        }),
        peek(not(measured)),
    )
    .parse_next(input)
}

fn day_number(input: &mut Terms<'_>) -> Result<u32> {
    alt((
        term(|t| match t {
            Term::Digits(digits) if digits.text.len() <= 2 => digits.text.parse().ok(),
            Term::Ordinal(nth) => Some(*nth),
            _ => None,
        }),
        small_number.verify_map(|number| u32::try_from(number).ok().filter(|n| *n <= 31)),
    ))
    .parse_next(input)
}

fn nth(input: &mut Terms<'_>) -> Result<()> {
    is(Term::Nth).parse_next(input)
}

fn month_name(input: &mut Terms<'_>) -> Result<u32> {
    term(|t| match t {
        Term::Month(month) => Some(*month),
        _ => None,
    })
    .parse_next(input)
}

fn year(input: &mut Terms<'_>) -> Result<i32> {
    term(|t| match t {
        Term::Digits(digits) if digits.text.len() == 4 => digits.text.parse().ok().filter(|y| (2000..2100).contains(y)),
        _ => None,
    })
    .parse_next(input)
}

fn month_and_year(input: &mut Terms<'_>) -> Result<(u32, Option<i32>)> {
    (month_name, opt(preceded((opt(is(Term::Comma)), links), year))).parse_next(input)
}

fn month(input: &mut Terms<'_>) -> Result<Day> {
    month_and_year.map(|(month, year)| Day::Month { month, year }).parse_next(input)
}

/// The day meant, or what to ask.
pub(super) fn resolve(day: &Day, context: &Context, direction: Direction) -> Result<When, Question> {
    let today = context.today;
    let date = match day {
        Day::NextDelivery => return Ok(When::NextDelivery),
        Day::Week(weeks) => {
            return checked(today + chrono::Duration::weeks(*weeks), today, direction)
                .map(|date| When::Week(monday_of(date)));
        }
        Day::Feast(feast) => feast_date(*feast, today, direction).ok_or(Question::NoSuchDate)?,
        Day::Near(days) => today + chrono::Duration::days(*days),
        Day::Iso(date) => *date,
        Day::Weekday(name, which) => weekday_date(*name, *which, today, direction)?,
        Day::Calendar { day, month, year, weekday } => {
            let date = dated(*day, *month, *year, today, direction).ok_or(Question::NoSuchDate)?;
            of_weekday(date, *weekday)?
        }
        Day::Pair { first, second, year, weekday } => {
            pair_date((*first, *second, *year), *weekday, context, direction)?
        }
        Day::Nth { day, weekday } => {
            of_weekday(nth_date(*day, today, direction).ok_or(Question::NoSuchDate)?, *weekday)?
        }
        Day::Month { month, year } => dated(1, *month, *year, today, Direction::Ahead).ok_or(Question::NoSuchDate)?,
        Day::EndOfMonth { month, year } => {
            // The month that is running ends ahead although it began behind.
            let year = year.or((*month == today.month()).then_some(today.year()));
            let first = dated(1, *month, year, today, Direction::Ahead).ok_or(Question::NoSuchDate)?;
            first.checked_add_months(Months::new(1)).and_then(|next| next.pred_opt()).ok_or(Question::NoSuchDate)?
        }
    };
    checked(date, today, direction).map(When::On)
}

fn checked(date: LocalDate, today: LocalDate, direction: Direction) -> Result<LocalDate, Question> {
    let ahead = (date - today).num_days();
    match direction {
        Direction::Ahead if ahead < 0 => Err(Question::DateInPast { date }),
        Direction::Ahead if ahead > AHEAD_DAYS_MOST => Err(Question::DateTooFar { days: AHEAD_DAYS_MOST }),
        // A report of what has not happened yet, or of long ago.
        Direction::Back if !(-JUST_PAST_DAYS..=0).contains(&ahead) => {
            Err(Question::WhichDate { candidates: Vec::new() })
        }
        _ => Ok(date),
    }
}

fn weekday_date(name: Weekday, which: Which, today: LocalDate, direction: Direction) -> Result<LocalDate, Question> {
    let distance = i64::from(name.days_since(today.weekday()));
    let coming = today + chrono::Duration::days(distance);
    let in_week = |weeks: i64| {
        monday_of(today)
            + chrono::Duration::weeks(weeks)
            + chrono::Duration::days(i64::from(name.num_days_from_monday()))
    };
    let (one, other) = match (direction, which) {
        (_, Which::InWeek(weeks)) => (in_week(weeks), in_week(weeks)),
        (Direction::Back, Which::Plain | Which::This) => {
            let last = today - chrono::Duration::days((7 - distance) % 7);
            (last, last)
        }
        (Direction::Back, Which::Next) => (coming, coming),
        (_, Which::This) => (coming, coming),
        // Said on that very weekday: today, or a week on?
        (_, Which::Plain) if distance == 0 => (today, today + chrono::Duration::days(7)),
        (_, Which::Plain) => (coming, coming),
        // The next one to come, or the one of next week?
        (_, Which::Next) => (coming + chrono::Duration::days(if distance == 0 { 7 } else { 0 }), in_week(1)),
    };
    if one == other { Ok(one) } else { Err(Question::WhichDate { candidates: vec![one, other] }) }
}

/// A date without a year is the nearest one ahead, unless it has only just passed; then it is that past one, to be asked.
fn dated(day: u32, month: u32, year: Option<i32>, today: LocalDate, direction: Direction) -> Option<LocalDate> {
    if let Some(year) = year {
        return LocalDate::from_ymd_opt(year, month, day);
    }
    let of = |year: i32| LocalDate::from_ymd_opt(year, month, day);
    let (this_year, before, next) = (of(today.year()), of(today.year() - 1), of(today.year() + 1));
    match direction {
        Direction::Ahead => this_year.filter(|date| (*date - today).num_days() >= -JUST_PAST_DAYS).or(next),
        Direction::Back => this_year.filter(|date| *date <= today).or(before),
    }
}

fn of_weekday(date: LocalDate, weekday: Option<Weekday>) -> Result<LocalDate, Question> {
    if weekday.is_none_or(|name| name == date.weekday()) { Ok(date) } else { Err(Question::NoSuchDate) }
}

fn pair_date(
    (first, second, year): (u32, u32, Option<i32>),
    weekday: Option<Weekday>,
    context: &Context,
    direction: Direction,
) -> Result<LocalDate, Question> {
    let read = |day: u32, month: u32| {
        dated(day, month, year, context.today, direction).filter(|date| of_weekday(*date, weekday).is_ok())
    };
    let (day_first, month_first) = (read(first, second), read(second, first));
    match (context.day_month_order, day_first, month_first) {
        (_, None, None) => Err(Question::NoSuchDate),
        (_, Some(date), None) | (_, None, Some(date)) | (Some(DayMonthOrder::DayFirst), Some(date), _) => Ok(date),
        (Some(DayMonthOrder::MonthFirst), _, Some(date)) => Ok(date),
        (None, Some(one), Some(other)) if one == other => Ok(one),
        // What has passed this year is not what somebody means who writes no year.
        (None, Some(one), Some(other))
            if year.is_none() && direction == Direction::Ahead && is_only_one_soon(one, other, context.today) =>
        {
            Ok(if is_soon(one, context.today) { one } else { other })
        }
        (None, Some(one), Some(other)) => Err(Question::WhichDate { candidates: vec![one.min(other), one.max(other)] }),
    }
}

/// Still to come in this year.
fn is_soon(date: LocalDate, today: LocalDate) -> bool {
    date >= today && date.year() == today.year()
}

fn is_only_one_soon(one: LocalDate, other: LocalDate, today: LocalDate) -> bool {
    is_soon(one, today) != is_soon(other, today)
}

/// The nearest such feast, today included.
fn feast_date(feast: Feast, today: LocalDate, direction: Direction) -> Option<LocalDate> {
    let mut years = match direction {
        Direction::Ahead => vec![today.year(), today.year() + 1],
        Direction::Back => vec![today.year(), today.year() - 1],
    }
    .into_iter()
    .filter_map(|year| feast_in(feast, year));
    years.find(|date| if direction == Direction::Ahead { *date >= today } else { *date <= today })
}

/// As the United States keep them; Easter by the Gregorian computus (Meeus, Astronomical Algorithms, chapter 8).
fn feast_in(feast: Feast, year: i32) -> Option<LocalDate> {
    let on = |month, day| LocalDate::from_ymd_opt(year, month, day);
    let nth = |month, weekday, nth| LocalDate::from_weekday_of_month_opt(year, month, weekday, nth);
    match feast {
        Feast::NewYear => on(1, 1),
        Feast::Easter => easter(year),
        // The last Monday of May.
        Feast::MemorialDay => nth(5, Weekday::Mon, 5).or(nth(5, Weekday::Mon, 4)),
        Feast::IndependenceDay => on(7, 4),
        Feast::LaborDay => nth(9, Weekday::Mon, 1),
        Feast::Halloween => on(10, 31),
        Feast::Thanksgiving => nth(11, Weekday::Thu, 4),
        Feast::ChristmasEve => on(12, 24),
        Feast::Christmas => on(12, 25),
        Feast::NewYearsEve => on(12, 31),
    }
}

fn easter(year: i32) -> Option<LocalDate> {
    let (a, b, c) = (year % 19, year / 100, year % 100);
    let (d, e, f) = (b / 4, b % 4, (b + 8) / 25);
    let g = (b - f + 1) / 3;
    let h = (19 * a + b - d - g + 15) % 30;
    let (i, k) = (c / 4, c % 4);
    let l = (32 + 2 * e + 2 * i - h - k) % 7;
    let m = (a + 11 * h + 22 * l) / 451;
    let (month, day) = ((h + l - 7 * m + 114) / 31, (h + l - 7 * m + 114) % 31 + 1);
    LocalDate::from_ymd_opt(year, u32::try_from(month).ok()?, u32::try_from(day).ok()?)
}

/// The nearest such day of a month, today included.
fn nth_date(day: u32, today: LocalDate, direction: Direction) -> Option<LocalDate> {
    if !(1..=31).contains(&day) {
        return None;
    }
    let first = today.with_day(1)?;
    (0..=2)
        .filter_map(|months| match direction {
            Direction::Ahead => first.checked_add_months(Months::new(months)),
            Direction::Back => first.checked_sub_months(Months::new(months)),
        })
        .filter_map(|month| month.with_day(day))
        .find(|date| if direction == Direction::Ahead { *date >= today } else { *date <= today })
}
