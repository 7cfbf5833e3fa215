//! Opening hours as they are typed: "Fri 9:00-12:00, Sat 10-13", "lun a vie 9-17", "pt 9:00–12:00".
//!
//! Rule: a text that is not understood whole is not understood. Day names of every language on board are read at once:
//! their first letters differ.

use crate::phrase::folded;
use chrono::Weekday;
use scheduler::surplus::opening::{Hours, HoursRefusal, Span};

/// Longest text read, characters.
const LENGTH_MAX: usize = 300;

/// Why typed hours are not taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Misread {
    /// No hours in there, or something else as well.
    NotHours,
    Refused(HoursRefusal),
}

/// The stretches by weekday, in the week's order.
pub(super) fn read(text: &str) -> Result<Vec<(Weekday, Span)>, Misread> {
    if text.chars().count() > LENGTH_MAX {
        return Err(Misread::NotHours);
    }
    let folded = folded(text).replace(['–', '—'], "-");
    let mut found: Vec<(Weekday, Span)> = Vec::new();
    let mut days: Vec<Weekday> = Vec::new();
    let mut after_times = false;
    let mut is_range = false;
    for token in tokens(&folded).ok_or(Misread::NotHours)? {
        match token {
            Token::Day(day) => {
                if after_times {
                    days.clear();
                    after_times = false;
                }
                match days.last().copied().filter(|_| is_range) {
                    Some(first) => days.extend(up_to(first, day)),
                    None => days.push(day),
                }
                is_range = false;
            }
            Token::To => is_range = !days.is_empty() && !after_times,
            Token::Times(opens, closes) => {
                let span = Span::new(opens, closes).map_err(Misread::Refused)?;
                if days.is_empty() {
                    return Err(Misread::NotHours);
                }
                found.extend(days.iter().map(|day| (*day, span)));
                after_times = true;
            }
        }
    }
    if found.is_empty() || !after_times {
        return Err(Misread::NotHours);
    }
    found.sort_by_key(|(day, span)| (day.num_days_from_monday(), span.opens()));
    let mut hours = Hours::default();
    for (day, _) in &found {
        let spans = found.iter().filter(|(other, _)| other == day).map(|(_, span)| *span).collect();
        hours.set_weekday(*day, spans).map_err(Misread::Refused)?;
    }
    Ok(found)
}

fn up_to(first: Weekday, last: Weekday) -> impl Iterator<Item = Weekday> {
    let mut day = first;
    std::iter::from_fn(move || {
        (day != last).then(|| {
            day = day.succ();
            day
        })
    })
}

enum Token {
    Day(Weekday),
    /// Between two days.
    To,
    /// Minutes of the day.
    Times(u16, u16),
}

fn tokens(text: &str) -> Option<Vec<Token>> {
    let mut tokens = Vec::new();
    let mut rest = text.trim_start_matches(is_space);
    while let Some(letter) = rest.chars().next() {
        if letter.is_ascii_digit() {
            let (times, after) = times(rest)?;
            tokens.push(times);
            rest = after;
        } else if letter == '-' {
            tokens.push(Token::To);
            rest = &rest[1..];
        } else {
            let end = rest.find(|letter: char| !letter.is_alphabetic()).unwrap_or(rest.len());
            let (word, after) = rest.split_at(end);
            match word {
                "" => return None,
                "to" | "a" | "do" => tokens.push(Token::To),
                "and" | "y" | "i" | "from" | "de" | "od" | "las" | "h" | "hrs" | "horas" | "godz" => {}
                word => tokens.push(Token::Day(day_of(word)?)),
            }
            rest = after;
        }
        rest = rest.trim_start_matches(is_space);
    }
    Some(tokens)
}

fn is_space(letter: char) -> bool {
    letter.is_whitespace() || matches!(letter, ',' | ';' | '.' | ':' | '/' | '&')
}

/// Two times of the day as in "from 22 to 6", minutes, and whether "am" or "pm" was said; they may cross midnight.
pub fn stretch(text: &str) -> Option<(u16, u16, bool)> {
    let mut rest = text.trim();
    for word in ["from ", "between ", "de ", "od ", "godz ", "las "] {
        rest = rest.strip_prefix(word).unwrap_or(rest).trim_start();
    }
    let (from, from_half, rest) = minute(rest)?;
    let (to, to_half, rest) = minute(after_to(rest)?)?;
    rest.trim_matches(is_space).trim_start_matches('h').is_empty().then_some((
        from,
        to,
        from_half.is_some() || to_half.is_some(),
    ))
}

/// What follows the word or dash between two times.
fn after_to(text: &str) -> Option<&str> {
    let text = text.trim_start();
    let after = ["-", "to ", "and ", "a las ", "a ", "do "].iter().find_map(|between| text.strip_prefix(between))?;
    Some(after.trim_start())
}

/// "9:00-12:00", "9-12", "9am to 1pm".
fn times(text: &str) -> Option<(Token, &str)> {
    let (opens, is_afternoon, rest) = minute(text)?;
    let (closes, closes_afternoon, rest) = minute(after_to(rest)?)?;
    // "9-5 pm" opens in the morning, "1-5 pm" after noon: as in speech, the half said last holds where it can.
    let opens = match (is_afternoon, closes_afternoon) {
        (None, Some(true)) if opens < 12 * 60 && opens + 12 * 60 < closes => opens + 12 * 60,
        _ => opens,
    };
    Some((Token::Times(opens, closes), rest))
}

/// A time of day in minutes, whether it said "pm" (or "am"), and what follows.
pub(in crate::conversation) fn minute(text: &str) -> Option<(u16, Option<bool>, &str)> {
    let end = text.find(|letter: char| !letter.is_ascii_digit()).unwrap_or(text.len());
    let (digits, mut rest) = text.split_at(end);
    let mut hour: u16 = digits.parse().ok()?;
    let mut minutes = 0;
    let part = rest.strip_prefix([':', '.', 'h']).filter(|after| after.starts_with(|next: char| next.is_ascii_digit()));
    if let Some(part) = part {
        let end = part.find(|letter: char| !letter.is_ascii_digit()).unwrap_or(part.len());
        minutes = part[..end].parse().ok()?;
        rest = &part[end..];
    } else if let Some(after) = rest.strip_prefix('h') {
        rest = after;
    }
    let trimmed = rest.trim_start();
    let half = [("am", false), ("a.m.", false), ("pm", true), ("p.m.", true)];
    let said = half.iter().find_map(|(mark, is_pm)| trimmed.strip_prefix(mark).map(|after| (*is_pm, after)));
    if let Some((is_pm, after)) = said {
        if !(1..=12).contains(&hour) {
            return None;
        }
        hour = hour % 12 + if is_pm { 12 } else { 0 };
        rest = after;
    }
    if minutes > 59 || hour > 24 || (hour == 24 && minutes > 0) {
        return None;
    }
    Some((hour * 60 + minutes, said.map(|(is_pm, _)| is_pm), rest))
}

pub(in crate::conversation) fn day_of(word: &str) -> Option<Weekday> {
    let start: String = word.chars().take(3).collect();
    Some(match start.as_str() {
        "mon" | "lun" | "pon" | "pn" => Weekday::Mon,
        "tue" | "mar" | "wto" | "wt" => Weekday::Tue,
        "wed" | "mie" | "sro" | "sr" => Weekday::Wed,
        "thu" | "jue" | "czw" | "cz" => Weekday::Thu,
        "fri" | "vie" | "pia" | "pt" => Weekday::Fri,
        "sat" | "sab" | "sob" | "sb" => Weekday::Sat,
        "sun" | "dom" | "nie" | "nd" => Weekday::Sun,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> Result<Vec<(Weekday, u16, u16)>, Misread> {
        let read = read(text)?;
        Ok(read.into_iter().map(|(day, span)| (day, span.opens() / 60, span.closes() / 60)).collect())
    }

    #[test]
    fn typed_hours_are_read() {
        use Weekday::{Fri, Mon, Sat, Thu, Tue, Wed};
        let week = |opens, closes| Ok([Mon, Tue, Wed, Thu, Fri].map(|day| (day, opens, closes)).to_vec());
        for (text, expected) in [
            ("Fri 9:00-12:00, Sat 10-13", Ok(vec![(Fri, 9, 12), (Sat, 10, 13)])),
            ("fri 9am to 1pm", Ok(vec![(Fri, 9, 13)])),
            ("Friday 9-5 pm", Ok(vec![(Fri, 9, 17)])),
            ("Fri 1-5pm", Ok(vec![(Fri, 13, 17)])),
            ("Mon-Fri 9-17", week(9, 17)),
            ("lunes a viernes de 9 a 17 h", week(9, 17)),
            ("vie 9-12; sáb 10-13", Ok(vec![(Fri, 9, 12), (Sat, 10, 13)])),
            ("pt 9:00–12:00, sb. 10–13", Ok(vec![(Fri, 9, 12), (Sat, 10, 13)])),
            ("środa 9-12 i piątek 8-10", Ok(vec![(Wed, 9, 12), (Fri, 8, 10)])),
            ("Fri 9-12, 14-18", Ok(vec![(Fri, 9, 12), (Fri, 14, 18)])),
            ("Fri 22-2", Err(Misread::Refused(HoursRefusal::CrossesMidnight { opens: 1320, closes: 120 }))),
            ("Fri 9-9", Err(Misread::Refused(HoursRefusal::Empty))),
            ("Fri 9-12, Fri 11-14", Err(Misread::Refused(HoursRefusal::Overlap))),
            ("Fri 20-24", Ok(vec![(Fri, 20, 24)])),
            ("Fri 9-25", Err(Misread::NotHours)),
            ("9-12", Err(Misread::NotHours)),
            ("Fri", Err(Misread::NotHours)),
            ("someday 9-12", Err(Misread::NotHours)),
            ("", Err(Misread::NotHours)),
        ] {
            assert_eq!(of(text), expected, "{text}");
        }
    }
}
