//! Chunks into one phrase. Each wish says which pieces it may hold; any other piece, or any word left over, turns the
//! reading into a question.

use super::amounts::Weighed;
use super::chunks::{Chunk, temperature};
use super::dates::{self, Day, Direction, Every, Span, Which, resolve};
use super::lines::{IsEach, Lines, Piece, lines};
use super::vocabulary::Verb;
use super::{
    Context, Edit, How, Line, Of, Phrase, Question, Reading, TemperatureScale, UNITS_MOST, When, guess, parts, swap,
};
use scheduler::clock::LocalDate;

/// The longest delay that is told by chat, in minutes. Ours.
const DELAY_MINUTES_MOST: i64 = 600;

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
    /// Days after "for".
    for_days: Vec<Day>,
    times: Vec<Option<u16>>,
    minutes: Vec<i64>,
    waste: Vec<String>,
    instead: Vec<String>,
    /// Weights and crops told when a day was named.
    told_at_day: Option<usize>,
    are_days_apart: bool,
    /// From one weight to another.
    from_to: Option<Weighed>,
    is_standing: bool,
    is_each: bool,
    is_polite: bool,
    is_by: bool,
    is_to: bool,
    is_up_to: bool,
    is_for_me: bool,
    is_further: bool,

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
    Further,
    FromTo,
    Minutes,
}

/// The reading of the chunks of one text.
pub(super) fn reading(chunks: &[Chunk], context: &Context, keys: &[String]) -> Reading {
    let is_known = |chunk: &Chunk| {
        !matches!(
            chunk,
            Chunk::Left(_)
                | Chunk::Courtesy
                | Chunk::Joint
                | Chunk::Stop
                | Chunk::Question
                | Chunk::Polite
                | Chunk::Each
                | Chunk::By
                | Chunk::To
                | Chunk::ForMe
        )
    };
    if !chunks.iter().any(is_known) {
        return Reading::Nothing;
    }
    match told(chunks, context, keys) {
        Ok(phrase) => Reading::Understood(phrase),
        Err(question) => guess::reading(chunks, context, keys).unwrap_or(Reading::Unclear(question)),
    }
}

/// The one phrase that all the chunks tell, a word not understood being a question.
pub(super) fn told(chunks: &[Chunk], context: &Context, keys: &[String]) -> Result<Phrase, Question> {
    let asks = Heard::of(chunks).asks();
    if asks {
        let rest: Vec<Chunk> =
            chunks.iter().filter(|chunk| !matches!(chunk, Chunk::Question | Chunk::Asking)).cloned().collect();
        return Err(Question::IsQuestion { wish: stated(&rest, context, keys).ok().map(Box::new) });
    }
    stated(chunks, context, keys)
}

/// The phrase of chunks that ask nothing.
fn stated(chunks: &[Chunk], context: &Context, keys: &[String]) -> Result<Phrase, Question> {
    if let Some(question) = either(chunks, context, keys) {
        return Err(question);
    }
    if let Some(swapped) = swap::read(chunks, context, keys) {
        return swapped;
    }
    let whole = whole(chunks, context, keys);
    match whole {
        Err(question) if parts::may_help(&question) => parts::read(chunks, context, keys).ok_or(question),
        other => other,
    }
}

/// The phrase of chunks read as one wish.
pub(super) fn whole(chunks: &[Chunk], context: &Context, keys: &[String]) -> Result<Phrase, Question> {
    let heard = Heard::of(chunks);
    heard.refusal().map_or_else(|| heard.phrase(context, keys), Err)
}

/// "5-6 lb": the wish with either weight.
fn either(chunks: &[Chunk], context: &Context, keys: &[String]) -> Option<Question> {
    let mut ranges = chunks.iter().enumerate().filter_map(|(at, chunk)| match chunk {
        Chunk::Range(low, high) => Some((at, [low, high])),
        _ => None,
    });
    let (at, ends) = ranges.next()?;
    if ranges.next().is_some() {
        return None;
    }
    let phrases: Vec<Phrase> = ends
        .into_iter()
        .filter_map(|end| {
            let mut one = chunks.to_vec();
            one[at] = Chunk::Weight(end.clone());
            stated(&one, context, keys).ok()
        })
        .collect();
    (phrases.len() == 2).then_some(Question::WhichOf { phrases })
}

/// The word that stands where a crop should, if one does.
pub(super) fn unknown_crop(chunks: &[Chunk]) -> Option<String> {
    Heard::of(chunks).unknown_crop
}

/// The one day that the chunks name.
pub(super) fn day_of(chunks: &[Chunk], context: &Context) -> Result<Option<When>, Question> {
    Heard::of(chunks).when(context)
}

impl Heard {
    fn of(chunks: &[Chunk]) -> Heard {
        let mut heard = Heard::default();
        for chunk in chunks {
            heard.add(chunk.clone());
        }
        heard.unknown_crop = heard.unknown_crop_in(chunks);
        let begins_with_plus = chunks.iter().find(|chunk| !matches!(chunk, Chunk::Courtesy | Chunk::Stop));
        if begins_with_plus == Some(&Chunk::Plus) && heard.verbs.is_empty() {
            heard.verbs.push(Verb::More);
        }
        // "remove the oyster from Thursday": the day it is taken from.
        if heard.verbs == [Verb::Less] && heard.days().is_empty() && heard.until.is_empty() && heard.from.len() == 1 {
            heard.days.append(&mut heard.from);
        }
        heard
    }

    /// Days with weights or crops between them are two days, whatever they are called.
    fn note_day(&mut self) {
        let told = self.pieces.iter().filter(|piece| **piece != Piece::Joint).count();
        self.are_days_apart |= self.told_at_day.is_some_and(|before| before != told);
        self.told_at_day = Some(told);
    }

    /// Whether something is asked. "Can I get 5 lb?" is an order however it ends.
    fn asks(&self) -> bool {
        let may_be_asked =
            self.is_polite || matches!(self.verbs.as_slice(), [Verb::ShowOrders | Verb::Help | Verb::Today]);
        self.is_asking || (self.is_question && !may_be_asked)
    }

    fn add(&mut self, chunk: Chunk) {
        match chunk {
            Chunk::Weight(weighed) => self.pieces.push(Piece::Weight(weighed)),
            Chunk::Crop(index) => self.pieces.push(Piece::Crop(index)),
            Chunk::Joint => self.pieces.push(Piece::Joint),
            Chunk::Units(count) => self.units.push(count),
            Chunk::Mushroom => self.names_mushrooms = true,
            Chunk::Day(day) => {
                self.note_day();
                self.days.push(day);
            }
            Chunk::ForDay(day) => {
                self.note_day();
                self.for_days.push(day);
            }
            Chunk::Time(minute) => self.times.push(minute),
            Chunk::Range(..) => self.not_understood.push(String::new()),
            Chunk::FromTo(_, high) => self.from_to = Some(high),
            Chunk::Dates(first, last) => {
                self.from.push(first);
                self.until.push(last);
            }
            Chunk::Every(every) => self.every.push(every),
            Chunk::From(day) => self.from.push(day),
            Chunk::Until(day) => self.until.push(day),
            Chunk::Span(span) => self.spans.push(span),
            Chunk::Verb(verb) if !self.verbs.contains(&verb) => self.verbs.push(verb),
            Chunk::Verb(_) | Chunk::Courtesy | Chunk::Stop => {}
            Chunk::Plus => self.pieces.push(Piece::Joint),
            Chunk::By => self.is_by = true,
            Chunk::To => self.is_to = true,
            Chunk::UpTo => self.is_up_to = true,
            Chunk::ForMe => self.is_for_me = true,
            Chunk::Further => self.is_further = true,
            Chunk::InsteadOf => self.not_understood.push(String::new()),
            Chunk::Minutes(count) => self.minutes.push(count),
            Chunk::Waste(word) => self.waste.push(word),
            Chunk::Instead(word) => self.instead.push(word),
            Chunk::But(word) | Chunk::Except(word) => self.not_understood.push(word),
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
        let told: Vec<&Chunk> = chunks.iter().filter(|chunk| !matches!(chunk, Chunk::Courtesy | Chunk::Stop)).collect();
        let weights = self.pieces.iter().filter(|piece| matches!(piece, Piece::Weight(_))).count();
        let crops = self.pieces.iter().filter(|piece| matches!(piece, Piece::Crop(_))).count();
        let wants_crop = |chunk: &Chunk| match chunk {
            Chunk::Weight(_) => weights > crops,
            Chunk::Verb(Verb::Without | Verb::Hold | Verb::Less | Verb::No | Verb::Skip | Verb::End) => crops == 0,
            Chunk::Verb(Verb::Cancel | Verb::CancelThat) => crops == 0,
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
        if let Some(word) = &self.unknown_crop {
            return Some(Question::UnknownCrop { word: word.clone() });
        }
        if !self.not_understood.is_empty() {
            let words = self.not_understood.iter().filter(|word| !word.is_empty()).cloned().collect();
            return Some(Question::NotUnderstood { words });
        }
        let is_waste = matches!(self.verbs.as_slice(), [Verb::Lost | Verb::Thrown]);
        if let Some(word) = self.waste.first().filter(|_| !is_waste) {
            return Some(Question::NotUnderstood { words: vec![word.clone()] });
        }
        // Instead of what? Of the time that was spoken of, or of what a change takes the place of.
        let is_time = self.pieces.is_empty() && !self.times.is_empty();
        if let Some(word) = self.instead.first().filter(|_| !is_time && !self.verbs.contains(&Verb::Change)) {
            return Some(Question::NotUnderstood { words: vec![word.clone()] });
        }
        self.names_mushrooms.then_some(Question::CropMissing)
    }

    fn phrase(&self, context: &Context, keys: &[String]) -> Result<Phrase, Question> {
        let verb = self.verb()?;
        self.only(allowed(verb))?;
        match verb {
            Verb::Order => self.order(context, keys),
            Verb::Same => Ok(Phrase::SameAsLast { when: self.when(context)? }),
            Verb::Skip => self.skip(context, keys),
            Verb::Nothing => match self.skip(context, keys)? {
                Phrase::Skip { when: None, .. } => Err(Question::Incomplete),
                phrase => Ok(phrase),
            },
            Verb::Change => self.change(context, keys),
            Verb::More | Verb::Less => self.edits(verb, context, keys),
            // Refused or resolved by `verb`.
            Verb::Raise | Verb::Lower | Verb::Swap => Err(Question::SeveralWishes),
            Verb::Without | Verb::Hold => {
                let crop = self.crop(keys)?.ok_or(Question::CropMissing)?;
                Ok(Phrase::NoCrop { crop, when: self.when(context)? })
            }
            Verb::Pause => self.pause(context),
            Verb::Resume => Ok(Phrase::Resume { from: self.resumed(context)? }),
            Verb::End => match self.crop(keys)? {
                // "stop" alone may be of anything.
                None if !self.is_standing => Err(Question::Incomplete),
                crop => Ok(Phrase::EndStanding { crop }),
            },
            Verb::Cancel if self.is_standing && self.days().is_empty() => {
                Ok(Phrase::EndStanding { crop: self.crop(keys)? })
            }
            Verb::Cancel if self.is_standing => Err(Question::SeveralWishes),
            Verb::CancelThat if self.days().is_empty() && self.crop(keys)?.is_none() => Ok(Phrase::CancelThat),
            // "cancel and order 5 lb shiitake": two wishes.
            Verb::Cancel | Verb::CancelThat
                if self.has_weight()
                    && (self.verbs.contains(&Verb::Order) || self.pieces.first() == Some(&Piece::Joint)) =>
            {
                Err(Question::SeveralWishes)
            }
            // "cancel the 6 lb oyster" is all of it, "cancel 2 lb of the oyster" two pounds less.
            Verb::Cancel if self.has_weight() => self.edits(Verb::Less, context, keys),
            Verb::Cancel | Verb::CancelThat => Ok(Phrase::Cancel { when: self.when(context)?, crop: self.crop(keys)? }),
            Verb::Pick
            | Verb::Pins
            | Verb::Lost
            | Verb::Thrown
            | Verb::Soaked
            | Verb::Opened
            | Verb::Return
            | Verb::HandedOver => self.report(verb, context, keys),
            Verb::Stock => Ok(Phrase::Stock { lines: self.full_lines(context, keys)? }),
            Verb::FlushOver => Ok(Phrase::FlushOver { crop: self.crop(keys)?, batch: self.batches.first().cloned() }),
            Verb::NothingYet => Ok(Phrase::NothingYet { crop: self.crop(keys)?, batch: self.batches.first().cloned() }),
            Verb::Full => Ok(Phrase::Full { when: self.when(context)? }),
            Verb::Late => Ok(Phrase::Late { minutes: self.delay()? }),
            Verb::NobodyThere => Ok(Phrase::NobodyThere),
            Verb::Refused => match self.lines(context, keys) {
                Ok(Lines::None) => Ok(Phrase::Refused { crop: None, weight: None }),
                Ok(Lines::Alone(weight)) => Ok(Phrase::Refused { crop: None, weight: Some(weight) }),
                Ok(Lines::Full(lines)) => match lines.as_slice() {
                    [line] => Ok(Phrase::Refused { crop: Some(line.crop.clone()), weight: Some(line.weight) }),
                    _ => Err(Question::SeveralWishes),
                },
                Err(Question::WeightMissing { .. }) => Ok(Phrase::Refused { crop: self.crop(keys)?, weight: None }),
                Err(question) => Err(question),
            },
            Verb::SetOff => Ok(Phrase::SetOff),
            Verb::Undo => Ok(Phrase::Undo),
            Verb::Yes => match self.lines(context, keys)? {
                Lines::None => Ok(Phrase::Yes),
                Lines::Alone(weight) => Ok(Phrase::Agree { crop: None, weight }),
                Lines::Full(lines) => match lines.as_slice() {
                    [line] => Ok(Phrase::Agree { crop: Some(line.crop.clone()), weight: line.weight }),
                    _ => Err(Question::SeveralWishes),
                },
            },
            Verb::No => Ok(Phrase::No),
            Verb::Help => Ok(Phrase::Help),
            Verb::ShowOrders => Ok(Phrase::ShowOrders),
            Verb::Today => Ok(Phrase::Today),
        }
    }

    /// The one wish; none at all is an order.
    fn verb(&self) -> Result<Verb, Question> {
        let has_crop = self.pieces.iter().any(|piece| matches!(piece, Piece::Crop(_)));
        let has_crop_only = has_crop && !self.has_weight();
        let others: Vec<Verb> = self.verbs.iter().filter(|verb| **verb != Verb::Order).copied().collect();
        match others.as_slice() {
            [] => Ok(Verb::Order),
            // "no need", "no quiero": of what?
            [Verb::No] if self.is_polite => Err(Question::Incomplete),
            [Verb::No] if has_crop_only => Ok(Verb::Without),
            [Verb::Return, Verb::Nothing] => Ok(Verb::Return),
            // "not this week", "el próximo reparto no".
            [Verb::No] if self.pieces.is_empty() && self.names_a_delivery() => Ok(Verb::Skip),
            // "skip next week, we're away"
            [Verb::Skip | Verb::Nothing, Verb::Pause] | [Verb::Pause, Verb::Skip | Verb::Nothing]
                if self.from.is_empty() && self.until.is_empty() && self.spans.is_empty() =>
            {
                Ok(Verb::Skip)
            }
            // "remove the oyster" is all of it.
            [Verb::Less] if has_crop_only && self.units.is_empty() => Ok(Verb::Without),
            [Verb::Hold] if self.is_for_me || !self.until.is_empty() => Err(Question::Incomplete),
            [Verb::Raise | Verb::Lower | Verb::Less | Verb::Without]
                if self.has_weight() && (self.is_to || self.is_up_to) && !self.is_by =>
            {
                Ok(Verb::Change)
            }
            // "cambia la ostra a 3 lb": one crop changes its weight.
            [Verb::Swap] if self.has_weight() => Ok(Verb::Change),
            [Verb::Raise] if self.is_by => Ok(Verb::More),
            [Verb::Lower] if self.is_by => Ok(Verb::Less),
            [Verb::Change | Verb::Raise, Verb::More] | [Verb::More, Verb::Change | Verb::Raise] => Ok(Verb::More),
            [Verb::Change | Verb::Lower, Verb::Less] | [Verb::Less, Verb::Change | Verb::Lower] => Ok(Verb::Less),
            [one] => Ok(*one),
            _ => Err(Question::SeveralWishes),
        }
    }

    fn has_weight(&self) -> bool {
        self.pieces.iter().any(|piece| matches!(piece, Piece::Weight(_)))
    }

    fn names_a_delivery(&self) -> bool {
        matches!(self.days().as_slice(), [Day::Week(_) | Day::NextDelivery])
    }

    /// Every day named, after "for" or not.
    fn days(&self) -> Vec<Day> {
        self.days.iter().chain(&self.for_days).cloned().collect()
    }

    /// Refuses pieces the wish has no place for.
    fn only(&self, allowed: &[May]) -> Result<(), Question> {
        let has_weight = self.pieces.iter().any(|piece| matches!(piece, Piece::Weight(_)));
        let has_crop = self.pieces.iter().any(|piece| matches!(piece, Piece::Crop(_)));
        let crop_place = if allowed.contains(&May::Lines) { May::Lines } else { May::Crop };
        let present = [
            (has_weight, if allowed.contains(&May::Lines) { May::Lines } else { May::Units }),
            (has_crop, crop_place),
            (!self.days().is_empty(), May::Day),
            (!self.every.is_empty(), May::Every),
            (!self.from.is_empty(), May::From),
            (!self.until.is_empty(), May::Until),
            (!self.spans.is_empty(), May::Span),
            (!self.units.is_empty(), May::Units),
            (!self.batches.is_empty(), May::Batch),
            (!self.degrees.is_empty(), May::Degrees),
            (!self.minutes.is_empty(), May::Minutes),
            (self.is_standing, May::Standing),
            (self.is_each, May::Lines),
            (self.is_further, May::Further),
            (self.from_to.is_some(), May::FromTo),
        ];
        let fits = present.iter().all(|(is_there, kind)| !is_there || allowed.contains(kind));
        let once = self.every.len() <= 1 && self.from.len() <= 1 && self.until.len() <= 1 && self.spans.len() <= 1;
        let once = once && self.units.len() <= 1 && self.batches.len() <= 1 && self.degrees.len() <= 1;
        if fits && once { Ok(()) } else { Err(Question::SeveralWishes) }
    }

    fn order(&self, context: &Context, keys: &[String]) -> Result<Phrase, Question> {
        if self.is_up_to {
            return Err(Question::Incomplete);
        }
        if self.is_standing || self.is_further || !self.every.is_empty() {
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
            (Lines::None, when) if self.times.iter().any(Option::is_some) => match self.times.as_slice() {
                [Some(minute)] => Ok(Phrase::Moment { when, minute: *minute }),
                _ => Err(Question::SeveralWishes),
            },
            (Lines::None, None) => Err(Question::Incomplete),
            (Lines::None, Some(_)) if self.days == [Day::Near(0)] => Ok(Phrase::Today),
            (Lines::None, Some(when)) => Ok(Phrase::Date(when)),
        }
    }

    fn standing(&self, context: &Context, keys: &[String]) -> Result<Phrase, Question> {
        if !self.days().is_empty() {
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
        let on = match self.merged_day(&self.days_done(), context, Direction::Back)? {
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
                if self.days().iter().any(|day| !matches!(day, Day::Near(_))) {
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
            _ => self.shelf_report(verb, on, (context, keys)),
        }
    }

    /// What is reported of blocks and bags.
    fn shelf_report(
        &self,
        verb: Verb,
        on: Option<LocalDate>,
        (context, keys): (&Context, &[String]),
    ) -> Result<Phrase, Question> {
        let (crop, batch) = (self.crop(keys)?, self.batches.first().cloned());
        if verb == Verb::Pins {
            return match (&crop, &batch) {
                (None, None) => Err(Question::Incomplete),
                _ => Ok(Phrase::PinsSeen { crop, batch, on }),
            };
        }
        let has_number = !self.units.is_empty() || self.pieces.iter().any(|piece| matches!(piece, Piece::Weight(_)));
        // What is weighed lay in the cold room; blocks and bags are counted.
        let is_waste = matches!(verb, Verb::Lost | Verb::Thrown);
        if is_waste && batch.is_none() && self.units.is_empty() && self.has_weight_with_unit() {
            return match on {
                Some(day) if day != context.today => Err(Question::Incomplete),
                _ => Ok(Phrase::ThrownAway { lines: self.full_lines(context, keys)? }),
            };
        }
        if is_waste {
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

    /// Nothing on a day, or on each of several.
    fn skip(&self, context: &Context, keys: &[String]) -> Result<Phrase, Question> {
        let crop = self.crop(keys)?;
        let days = self.days();
        match self.when(context) {
            Ok(when) => Ok(Phrase::Skip { when, crop }),
            Err(Question::SeveralWishes) if crop.is_none() && days.len() > 1 => {
                let mut dates = Vec::new();
                for day in &days {
                    match resolve(day, context, Direction::Ahead)? {
                        When::On(date) => dates.push(date),
                        _ => return Err(Question::SeveralWishes),
                    }
                }
                dates.sort_unstable();
                dates.dedup();
                Ok(Phrase::SkipDays { days: dates })
            }
            Err(question) => Err(question),
        }
    }

    /// Lines that are set anew, of a day or of a standing order; or a weight alone.
    fn change(&self, context: &Context, keys: &[String]) -> Result<Phrase, Question> {
        if !self.every.is_empty() {
            return self.standing(context, keys);
        }
        let of = if self.is_standing { Of::Standing } else { Of::Day };
        let when = self.when(context)?;
        let mut pieces = self.pieces.clone();
        if let Some(high) = &self.from_to {
            pieces.push(Piece::Weight(high.clone()));
        }
        match lines(&pieces, if self.is_each { IsEach::Yes } else { IsEach::No }, context, keys)? {
            Lines::Full(lines) if of == Of::Day => Ok(Phrase::Change { lines, when }),
            Lines::Full(lines) => Ok(Phrase::Edits { edits: edits_of(lines, How::Set, when), of }),
            Lines::Alone(weight) => Ok(Phrase::MakeIt { weight, when, of }),
            // "mejor a las 11"
            Lines::None => match self.times.as_slice() {
                [Some(minute)] => Ok(Phrase::Moment { when, minute: *minute }),
                _ => Err(Question::Incomplete),
            },
        }
    }

    /// So much more or less.
    fn edits(&self, verb: Verb, context: &Context, keys: &[String]) -> Result<Phrase, Question> {
        let of = if self.is_standing || !self.every.is_empty() { Of::Standing } else { Of::Day };
        let when = self.when(context)?;
        let lines = self.full_lines(context, keys)?;
        let how = if verb == Verb::More { How::More } else { How::Less };
        Ok(Phrase::Edits { edits: edits_of(lines, how, when), of })
    }

    /// Minutes of a delay: a number, perhaps without its word.
    fn delay(&self) -> Result<Option<i64>, Question> {
        let bare = self.pieces.iter().filter_map(|piece| match piece {
            Piece::Weight(weighed) if weighed.unit.is_none() => weighed.amounts.first().map(|one| one.numerator),
            _ => None,
        });
        match self.minutes.iter().copied().chain(bare).collect::<Vec<i64>>().as_slice() {
            [] => Ok(None),
            [one] if (1..=DELAY_MINUTES_MOST).contains(one) => Ok(Some(*one)),
            _ => Err(Question::SeveralWishes),
        }
    }

    /// Closed for a while, or on one day.
    fn pause(&self, context: &Context) -> Result<Phrase, Question> {
        let days = self.days();
        let ahead = |day: &Day| first_day(day, context);
        let from = self.from.first().map(ahead).transpose()?;
        if self.is_further {
            return match (days.is_empty(), self.until.is_empty(), self.spans.is_empty()) {
                (true, true, true) => Ok(Phrase::Pause { from, until: None, is_open: true }),
                _ => Err(Question::SeveralWishes),
            };
        }
        if !days.is_empty() {
            return match (from, self.until.is_empty(), self.spans.is_empty(), self.is_standing) {
                (None, true, true, false) => self.skip(context, &[]),
                _ => Err(Question::SeveralWishes),
            };
        }
        let until = match (self.until.first(), self.spans.first()) {
            (None, None) => None,
            // From one day to another: the last is closed as well. Until a day: that one is open.
            (Some(day), None) if from.is_some() => last_day(day, context)?.succ_opt(),
            (Some(day), None) => Some(first_day(day, context)?),
            (None, Some(span)) => {
                let end = dates::after(*span, from.unwrap_or(context.today)).ok_or(Question::Incomplete)?;
                Some(first_day(&Day::Iso(end), context)?)
            }
            (Some(_), Some(_)) => return Err(Question::SeveralWishes),
        };
        if from.zip(until).is_some_and(|(from, until)| until <= from) {
            return Err(Question::NoSuchDate);
        }
        Ok(Phrase::Pause { from, until, is_open: false })
    }

    fn resumed(&self, context: &Context) -> Result<Option<LocalDate>, Question> {
        match (self.from.first(), self.days().as_slice()) {
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
        self.merged_day(&self.days(), context, Direction::Ahead)
    }

    /// Days on which something was done: "for Thursday" is what it was done for, "for yesterday" when.
    fn days_done(&self) -> Vec<Day> {
        let said = self.for_days.iter().filter(|day| matches!(day, Day::Near(days) if *days <= 0));
        self.days.iter().chain(said).cloned().collect()
    }

    fn has_weight_with_unit(&self) -> bool {
        self.pieces.iter().any(|piece| matches!(piece, Piece::Weight(weighed) if weighed.unit.is_some()))
    }

    /// The one day meant; a weekday beside a date or a week belongs to it.
    fn merged_day(&self, days: &[Day], context: &Context, direction: Direction) -> Result<Option<When>, Question> {
        match days {
            [first, second, ..] if self.are_days_apart && first != second => Err(Question::SeveralWishes),
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

fn edits_of(lines: Vec<Line>, how: fn(super::Weight) -> How, when: Option<When>) -> Vec<Edit> {
    lines.into_iter().map(|line| Edit { crop: line.crop, how: how(line.weight), when }).collect()
}

fn allowed(verb: Verb) -> &'static [May] {
    match verb {
        Verb::Order => &[May::Lines, May::Day, May::Every, May::From, May::Until, May::Standing, May::Further],
        Verb::Change => &[May::Lines, May::Day, May::Standing, May::FromTo, May::Every],
        Verb::More | Verb::Less => &[May::Lines, May::Day, May::Standing],
        Verb::Raise | Verb::Lower | Verb::Swap => &[],
        Verb::Same | Verb::ShowOrders => &[May::Day],
        Verb::Skip | Verb::Without | Verb::Hold | Verb::Nothing => &[May::Crop, May::Day],
        Verb::Pause => &[May::From, May::Until, May::Span, May::Standing, May::Day, May::Further],
        Verb::Resume => &[May::From, May::Day, May::Standing],
        Verb::End => &[May::Crop, May::Standing],
        Verb::Cancel | Verb::CancelThat => &[May::Lines, May::Day, May::Standing],
        Verb::Pick => &[May::Lines, May::Day, May::Batch],
        Verb::Return => &[May::Lines, May::Day],
        Verb::HandedOver => &[May::Lines, May::Day, May::Degrees],
        Verb::Pins => &[May::Crop, May::Day, May::Batch],
        Verb::Stock => &[May::Lines],
        Verb::Lost | Verb::Thrown => &[May::Lines, May::Units, May::Day, May::Batch],
        Verb::Soaked | Verb::Opened => &[May::Crop, May::Units, May::Day, May::Batch],
        Verb::FlushOver | Verb::NothingYet => &[May::Crop, May::Batch],
        Verb::Full => &[May::Day],
        Verb::Late => &[May::Lines, May::Minutes],
        Verb::Refused | Verb::Yes => &[May::Lines],
        Verb::NobodyThere | Verb::SetOff | Verb::Undo | Verb::No | Verb::Help | Verb::Today => &[],
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
