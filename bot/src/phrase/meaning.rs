//! Chunks into one phrase. Each wish says which pieces it may hold; any other piece, or any word left over, turns the
//! reading into a question.

use super::chunks::{Chunk, temperature};
use super::dates::{self, Day, Direction, Every, Span, Which, resolve};
use super::lines::{IsEach, Lines, Piece, lines};
use super::vocabulary::Verb;
use super::{Context, Line, Phrase, Question, Reading, TemperatureScale, UNITS_MOST, When};
use scheduler::clock::LocalDate;

/// The chunks of one text, sorted by kind.
#[derive(Default)]
struct Heard {
    verbs: Vec<Verb>,
    pieces: Vec<Piece>,
    days: Vec<Day>,
    every: Vec<Every>,
    from: Vec<Day>,
    until: Vec<Day>,
    spans: Vec<Span>,
    units: Vec<i64>,
    batches: Vec<String>,
    degrees: Vec<(i32, Option<TemperatureScale>)>,
    is_standing: bool,
    is_each: bool,
    is_polite: bool,
    is_question: bool,
    is_asking: bool,
    names_mushrooms: bool,
    not_understood: Vec<String>,
    unknown_crop: Option<String>,
}

/// Kinds of pieces a wish may hold.
#[derive(Clone, Copy, PartialEq)]
enum May {
    Lines,
    Crop,
    Day,
    Every,
    From,
    Until,
    Span,
    Units,
    Batch,
    Degrees,
    Standing,
}

/// The reading of the chunks of one text.
pub(super) fn reading(chunks: &[Chunk], context: &Context, keys: &[String]) -> Reading {
    let is_known = |chunk: &Chunk| {
        !matches!(
            chunk,
            Chunk::Left(_) | Chunk::Courtesy | Chunk::Joint | Chunk::Question | Chunk::Polite | Chunk::Each
        )
    };
    if !chunks.iter().any(is_known) {
        return Reading::Nothing;
    }
    let heard = Heard::of(chunks);
    match heard.refusal().map_or_else(|| heard.phrase(context, keys), Err) {
        Ok(phrase) => Reading::Understood(phrase),
        Err(question) => Reading::Unclear(question),
    }
}

impl Heard {
    fn of(chunks: &[Chunk]) -> Heard {
        let mut heard = Heard::default();
        for chunk in chunks {
            heard.add(chunk.clone());
        }
        heard.unknown_crop = heard.unknown_crop_in(chunks);
        heard
    }

    fn add(&mut self, chunk: Chunk) {
        match chunk {
            Chunk::Weight(weighed) => self.pieces.push(Piece::Weight(weighed)),
            Chunk::Crop(index) => self.pieces.push(Piece::Crop(index)),
            Chunk::Joint => self.pieces.push(Piece::Joint),
            Chunk::Units(count) => self.units.push(count),
            Chunk::Mushroom => self.names_mushrooms = true,
            Chunk::Day(day) => self.days.push(day),
            Chunk::Every(every) => self.every.push(every),
            Chunk::From(day) => self.from.push(day),
            Chunk::Until(day) => self.until.push(day),
            Chunk::Span(span) => self.spans.push(span),
            Chunk::Verb(verb) if !self.verbs.contains(&verb) => self.verbs.push(verb),
            Chunk::Verb(_) | Chunk::Courtesy => {}
            Chunk::Standing => self.is_standing = true,
            Chunk::Batch(name) => self.batches.push(name),
            Chunk::Degrees(tenths, scale) => self.degrees.push((tenths, scale)),
            Chunk::Each => self.is_each = true,
            Chunk::Polite => self.is_polite = true,
            Chunk::Question => self.is_question = true,
            Chunk::Asking => self.is_asking = true,
            Chunk::Doubt(word) | Chunk::Left(word) => self.not_understood.push(word),
        }
    }

    /// A word not known, right beside a weight or after "no", where too few crops were named.
    fn unknown_crop_in(&self, chunks: &[Chunk]) -> Option<String> {
        let told: Vec<&Chunk> = chunks.iter().filter(|chunk| **chunk != Chunk::Courtesy).collect();
        let weights = self.pieces.iter().filter(|piece| matches!(piece, Piece::Weight(_))).count();
        let crops = self.pieces.iter().filter(|piece| matches!(piece, Piece::Crop(_))).count();
        let wants_crop = |chunk: &Chunk| match chunk {
            Chunk::Weight(_) => weights > crops,
            Chunk::Verb(Verb::Without | Verb::No | Verb::Skip | Verb::End) => crops == 0,
            _ => false,
        };
        let beside = |at: usize| {
            at.checked_sub(1).is_some_and(|before| wants_crop(told[before]))
                || told.get(at + 1).is_some_and(|after| matches!(after, Chunk::Weight(_)) && wants_crop(after))
        };
        told.iter().enumerate().find_map(|(at, chunk)| match chunk {
            Chunk::Left(word) if !word.is_empty() && word.chars().all(char::is_alphabetic) && beside(at) => {
                Some(word.clone())
            }
            _ => None,
        })
    }

    /// What stands in the way of any reading.
    fn refusal(&self) -> Option<Question> {
        let may_be_asked =
            self.is_polite || matches!(self.verbs.as_slice(), [Verb::ShowOrders | Verb::Help | Verb::Today]);
        if self.is_asking || (self.is_question && !may_be_asked) {
            return Some(Question::IsQuestion);
        }
        if let Some(word) = &self.unknown_crop {
            return Some(Question::UnknownCrop { word: word.clone() });
        }
        if !self.not_understood.is_empty() {
            let words = self.not_understood.iter().filter(|word| !word.is_empty()).cloned().collect();
            return Some(Question::NotUnderstood { words });
        }
        self.names_mushrooms.then_some(Question::CropMissing)
    }

    fn phrase(&self, context: &Context, keys: &[String]) -> Result<Phrase, Question> {
        let verb = self.verb()?;
        self.only(allowed(verb))?;
        match verb {
            Verb::Order => self.order(context, keys),
            Verb::Same => Ok(Phrase::SameAsLast { when: self.when(context)? }),
            Verb::Skip => Ok(Phrase::Skip { when: self.when(context)?, crop: self.crop(keys)? }),
            Verb::Nothing => {
                let when = self.when(context)?.ok_or(Question::Incomplete)?;
                Ok(Phrase::Skip { when: Some(when), crop: None })
            }
            Verb::Change => Ok(Phrase::Change { lines: self.full_lines(context, keys)?, when: self.when(context)? }),
            Verb::Without => {
                let crop = self.crop(keys)?.ok_or(Question::CropMissing)?;
                Ok(Phrase::NoCrop { crop, when: self.when(context)? })
            }
            Verb::Pause => Ok(Phrase::Pause { until: self.pause_end(context)? }),
            Verb::Resume => Ok(Phrase::Resume { from: self.resumed(context)? }),
            Verb::End => match self.crop(keys)? {
                // "stop" alone may be of anything.
                None if !self.is_standing => Err(Question::Incomplete),
                crop => Ok(Phrase::EndStanding { crop }),
            },
            Verb::Cancel if self.is_standing && self.days.is_empty() => Ok(Phrase::EndStanding { crop: None }),
            Verb::Cancel if self.is_standing => Err(Question::SeveralWishes),
            Verb::Cancel => Ok(Phrase::Cancel { when: self.when(context)? }),
            Verb::Pick
            | Verb::Pins
            | Verb::Lost
            | Verb::Thrown
            | Verb::Soaked
            | Verb::Opened
            | Verb::Return
            | Verb::HandedOver => self.report(verb, context, keys),
            Verb::Stock => Ok(Phrase::Stock { lines: self.full_lines(context, keys)? }),
            Verb::Yes => Ok(Phrase::Yes),
            Verb::No => Ok(Phrase::No),
            Verb::Help => Ok(Phrase::Help),
            Verb::ShowOrders => Ok(Phrase::ShowOrders),
            Verb::Today => Ok(Phrase::Today),
        }
    }

    /// The one wish; none at all is an order.
    fn verb(&self) -> Result<Verb, Question> {
        let has_crop_only = self.pieces.iter().any(|piece| matches!(piece, Piece::Crop(_)))
            && !self.pieces.iter().any(|piece| matches!(piece, Piece::Weight(_)));
        let others: Vec<Verb> = self.verbs.iter().filter(|verb| **verb != Verb::Order).copied().collect();
        match others.as_slice() {
            [] => Ok(Verb::Order),
            // "no need", "no quiero": of what?
            [Verb::No] if self.is_polite => Err(Question::Incomplete),
            [Verb::No] if has_crop_only => Ok(Verb::Without),
            [Verb::Return, Verb::Nothing] => Ok(Verb::Return),
            [one] => Ok(*one),
            _ => Err(Question::SeveralWishes),
        }
    }

    /// Refuses pieces the wish has no place for.
    fn only(&self, allowed: &[May]) -> Result<(), Question> {
        let has_weight = self.pieces.iter().any(|piece| matches!(piece, Piece::Weight(_)));
        let has_crop = self.pieces.iter().any(|piece| matches!(piece, Piece::Crop(_)));
        let crop_place = if allowed.contains(&May::Lines) { May::Lines } else { May::Crop };
        let present = [
            (has_weight, if allowed.contains(&May::Units) { May::Units } else { May::Lines }),
            (has_crop, crop_place),
            (!self.days.is_empty(), May::Day),
            (!self.every.is_empty(), May::Every),
            (!self.from.is_empty(), May::From),
            (!self.until.is_empty(), May::Until),
            (!self.spans.is_empty(), May::Span),
            (!self.units.is_empty(), May::Units),
            (!self.batches.is_empty(), May::Batch),
            (!self.degrees.is_empty(), May::Degrees),
            (self.is_standing, May::Standing),
            (self.is_each, May::Lines),
        ];
        let fits = present.iter().all(|(is_there, kind)| !is_there || allowed.contains(kind));
        let once = self.every.len() <= 1 && self.from.len() <= 1 && self.until.len() <= 1 && self.spans.len() <= 1;
        let once = once && self.units.len() <= 1 && self.batches.len() <= 1 && self.degrees.len() <= 1;
        if fits && once { Ok(()) } else { Err(Question::SeveralWishes) }
    }

    fn order(&self, context: &Context, keys: &[String]) -> Result<Phrase, Question> {
        if self.is_standing || !self.every.is_empty() {
            return self.standing(context, keys);
        }
        if !self.from.is_empty() || !self.until.is_empty() {
            return Err(Question::Incomplete);
        }
        let found = self.lines(context, keys)?;
        let when = self.when(context)?;
        match (found, when) {
            (Lines::Full(lines), when) => Ok(Phrase::Order { lines, when }),
            (Lines::Alone(weight), None) => Ok(Phrase::Weight(weight)),
            (Lines::Alone(_), Some(_)) => Err(Question::CropMissing),
            // "order" beside a day alone is half a wish.
            (Lines::None, Some(_)) if self.verbs.contains(&Verb::Order) => Err(Question::Incomplete),
            (Lines::None, None) => Err(Question::Incomplete),
            (Lines::None, Some(_)) if self.days == [Day::Near(0)] => Ok(Phrase::Today),
            (Lines::None, Some(when)) => Ok(Phrase::Date(when)),
        }
    }

    fn standing(&self, context: &Context, keys: &[String]) -> Result<Phrase, Question> {
        if !self.days.is_empty() {
            return Err(Question::SeveralWishes);
        }
        let every = self.every.first().cloned().unwrap_or(Every { weeks: 1, weekdays: Vec::new() });
        let every_weeks =
            u8::try_from(every.weeks).ok().filter(|weeks| (1..=52).contains(weeks)).ok_or(Question::Incomplete)?;
        let lines = self.full_lines(context, keys)?;
        let weekdays =
            if every.weekdays.is_empty() { Vec::from_iter(context.delivery_weekday) } else { every.weekdays };
        let from = self.from.first().map(|day| first_day(day, context)).transpose()?;
        let until = self.until.first().map(|day| last_day(day, context)).transpose()?;
        if from.zip(until).is_some_and(|(from, until)| until < from) {
            return Err(Question::NoSuchDate);
        }
        Ok(Phrase::Standing { lines, every_weeks, weekdays, from, until })
    }

    fn report(&self, verb: Verb, context: &Context, keys: &[String]) -> Result<Phrase, Question> {
        let on = match self.merged_day(context, Direction::Back)? {
            None => None,
            Some(When::On(date)) => Some(date),
            Some(_) => return Err(Question::Incomplete),
        };
        let batch = self.batches.first().cloned();
        match verb {
            Verb::Pick => match (self.lines(context, keys)?, batch) {
                (Lines::Full(lines), batch) => Ok(Phrase::Pick { lines, batch, on }),
                (Lines::Alone(weight), Some(batch)) => Ok(Phrase::PickFromBatch { weight, batch, on }),
                (Lines::Alone(_), None) => Err(Question::CropMissing),
                (Lines::None, _) => Err(Question::Incomplete),
            },
            Verb::Return => match self.lines(context, keys)? {
                Lines::Full(_) if self.verbs.contains(&Verb::Nothing) => Err(Question::SeveralWishes),
                Lines::Full(lines) => Ok(Phrase::MarketReturn { lines, on }),
                Lines::None if self.verbs.contains(&Verb::Nothing) => {
                    Ok(Phrase::MarketReturn { lines: Vec::new(), on })
                }
                Lines::None => Err(Question::Incomplete),
                Lines::Alone(_) => Err(Question::CropMissing),
            },
            Verb::HandedOver => {
                // "5 lb delivered Thursday" may be an order as well.
                if self.days.iter().any(|day| !matches!(day, Day::Near(_))) {
                    return Err(Question::SeveralWishes);
                }
                let lines = match self.lines(context, keys)? {
                    Lines::Full(lines) => lines,
                    Lines::None => Vec::new(),
                    Lines::Alone(_) => return Err(Question::CropMissing),
                };
                let temperature = match self.degrees.first() {
                    None => None,
                    Some((_, None)) => return Err(Question::WhichScale),
                    Some((tenths, Some(scale))) => Some(temperature(*tenths, *scale).ok_or(Question::Incomplete)?),
                };
                Ok(Phrase::HandedOver { lines, temperature, on })
            }
            Verb::Thrown if self.names_weight() => Ok(Phrase::ThrownAway { lines: self.full_lines(context, keys)? }),
            _ => self.shelf_report(verb, on, keys),
        }
    }

    /// Whether a weight with its unit stands there, which blocks and bags have none of.
    fn names_weight(&self) -> bool {
        let weighed = |piece: &Piece| matches!(piece, Piece::Weight(weighed) if weighed.unit.is_some());
        self.units.is_empty() && self.batches.is_empty() && self.days.is_empty() && self.pieces.iter().any(weighed)
    }

    /// What is reported of blocks and bags.
    fn shelf_report(&self, verb: Verb, on: Option<LocalDate>, keys: &[String]) -> Result<Phrase, Question> {
        let (crop, batch) = (self.crop(keys)?, self.batches.first().cloned());
        if verb == Verb::Pins {
            return match (&crop, &batch) {
                (None, None) => Err(Question::Incomplete),
                _ => Ok(Phrase::PinsSeen { crop, batch, on }),
            };
        }
        let has_number = !self.units.is_empty() || self.pieces.iter().any(|piece| matches!(piece, Piece::Weight(_)));
        if matches!(verb, Verb::Lost | Verb::Thrown) {
            return Ok(Phrase::Lost { units: self.units_told()?, crop, batch, on });
        }
        // A batch is soaked or opened whole; how many of it were lost has to be told.
        let units = if batch.is_some() && !has_number { None } else { Some(self.units_told()?) };
        Ok(match verb {
            Verb::Soaked => Phrase::Soaked { units, crop, batch, on },
            _ => Phrase::Opened { units, crop, batch, on },
        })
    }

    /// Blocks or bags: a count with its word, or a bare whole number.
    fn units_told(&self) -> Result<i64, Question> {
        let numbers: Vec<_> = self
            .pieces
            .iter()
            .filter_map(|piece| match piece {
                Piece::Weight(weighed) => Some(weighed),
                _ => None,
            })
            .collect();
        let units = match (self.units.as_slice(), numbers.as_slice()) {
            ([units], []) => *units,
            ([], [weighed]) => match weighed.amounts.as_slice() {
                [amount] if weighed.unit.is_none() && amount.denominator == 1 && !weighed.stands_alone => {
                    if weighed.is_negative { -amount.numerator } else { amount.numerator }
                }
                _ => return Err(Question::UnitsMissing),
            },
            ([], []) => return Err(Question::UnitsMissing),
            _ => return Err(Question::SeveralWishes),
        };
        let is_possible = (1..=UNITS_MOST).contains(&units);
        is_possible.then_some(units).ok_or(Question::UnitsOutOfRange { limit: UNITS_MOST })
    }

    fn pause_end(&self, context: &Context) -> Result<Option<LocalDate>, Question> {
        match (self.until.first(), self.spans.first()) {
            (None, None) => Ok(None),
            (Some(day), None) => first_day(day, context).map(Some),
            (None, Some(span)) => {
                let end = dates::after(*span, context.today).ok_or(Question::Incomplete)?;
                first_day(&Day::Iso(end), context).map(Some)
            }
            (Some(_), Some(_)) => Err(Question::SeveralWishes),
        }
    }

    fn resumed(&self, context: &Context) -> Result<Option<LocalDate>, Question> {
        match (self.from.first(), self.days.as_slice()) {
            (None, []) => Ok(None),
            (Some(day), []) => first_day(day, context).map(Some),
            (None, [day]) => first_day(day, context).map(Some),
            _ => Err(Question::SeveralWishes),
        }
    }

    fn lines(&self, context: &Context, keys: &[String]) -> Result<Lines, Question> {
        lines(&self.pieces, if self.is_each { IsEach::Yes } else { IsEach::No }, context, keys)
    }

    fn full_lines(&self, context: &Context, keys: &[String]) -> Result<Vec<Line>, Question> {
        match self.lines(context, keys)? {
            Lines::Full(lines) => Ok(lines),
            Lines::Alone(_) => Err(Question::CropMissing),
            Lines::None => Err(Question::Incomplete),
        }
    }

    /// The only crop named, if any.
    fn crop(&self, keys: &[String]) -> Result<Option<String>, Question> {
        let mut crops = self.pieces.iter().filter_map(|piece| match piece {
            Piece::Crop(index) => Some(*index),
            _ => None,
        });
        let first = crops.next();
        if crops.next().is_some() { Err(Question::SeveralWishes) } else { Ok(first.map(|index| keys[index].clone())) }
    }

    fn when(&self, context: &Context) -> Result<Option<When>, Question> {
        self.merged_day(context, Direction::Ahead)
    }

    /// The one day meant; a weekday beside a date or a week belongs to it.
    fn merged_day(&self, context: &Context, direction: Direction) -> Result<Option<When>, Question> {
        match self.days.as_slice() {
            [] => Ok(None),
            [day] => resolve(day, context, direction).map(Some),
            [Day::Week(weeks), Day::Weekday(name, Which::Plain)]
            | [Day::Weekday(name, Which::Plain), Day::Week(weeks)] => {
                resolve(&Day::Weekday(*name, Which::InWeek(*weeks)), context, direction).map(Some)
            }
            [Day::Weekday(name, Which::Plain), date] | [date, Day::Weekday(name, Which::Plain)] => {
                match resolve(date, context, direction)? {
                    When::On(date) if chrono::Datelike::weekday(&date) == *name => Ok(Some(When::On(date))),
                    _ => Err(Question::NoSuchDate),
                }
            }
            // The same word twice: one of the two meant something else ("mañana en la mañana").
            [first, second] if first == second => Err(Question::SeveralWishes),
            [first, second] => {
                let (first, second) = (resolve(first, context, direction)?, resolve(second, context, direction)?);
                if first == second { Ok(Some(first)) } else { Err(Question::SeveralWishes) }
            }
            _ => Err(Question::SeveralWishes),
        }
    }
}

fn allowed(verb: Verb) -> &'static [May] {
    match verb {
        Verb::Order => &[May::Lines, May::Day, May::Every, May::From, May::Until, May::Standing],
        Verb::Change => &[May::Lines, May::Day],
        Verb::Same | Verb::Nothing | Verb::ShowOrders => &[May::Day],
        Verb::Skip | Verb::Without => &[May::Crop, May::Day],
        Verb::Pause => &[May::Until, May::Span, May::Standing],
        Verb::Resume => &[May::From, May::Day, May::Standing],
        Verb::End => &[May::Crop, May::Standing],
        Verb::Cancel => &[May::Day, May::Standing],
        Verb::Pick => &[May::Lines, May::Day, May::Batch],
        Verb::Return => &[May::Lines, May::Day],
        Verb::Stock => &[May::Lines],
        Verb::HandedOver => &[May::Lines, May::Day, May::Degrees],
        Verb::Pins => &[May::Crop, May::Day, May::Batch],
        Verb::Lost | Verb::Thrown | Verb::Soaked | Verb::Opened => &[May::Crop, May::Units, May::Day, May::Batch],
        Verb::Yes | Verb::No | Verb::Help | Verb::Today => &[],
    }
}

/// The first day of what was named.
fn first_day(day: &Day, context: &Context) -> Result<LocalDate, Question> {
    match resolve(day, context, Direction::Ahead)? {
        When::On(date) => Ok(date),
        // The week that runs has begun already.
        When::Week(monday) => Ok(monday.max(context.today)),
        When::NextDelivery => Err(Question::Incomplete),
    }
}

/// The last day wanted. "until June" may leave June out or take it in, and is asked.
fn last_day(day: &Day, context: &Context) -> Result<LocalDate, Question> {
    match (day, resolve(day, context, Direction::Ahead)?) {
        (Day::Month { month, .. }, When::On(first)) => {
            let end = Day::EndOfMonth { month: *month, year: Some(chrono::Datelike::year(&first)) };
            let last = match resolve(&end, context, Direction::Ahead)? {
                When::On(last) => last,
                _ => return Err(Question::Incomplete),
            };
            Err(Question::WhichDate { candidates: first.pred_opt().into_iter().chain([last]).collect() })
        }
        (_, When::On(date)) => Ok(date),
        _ => Err(Question::Incomplete),
    }
}
