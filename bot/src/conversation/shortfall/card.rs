//! A buyer's card of one delivery day, in words and with buttons for what can be chosen.

use super::Ask;
use crate::conversation::letter::Patience;
use crate::conversation::{Button, Letter};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, DateForm, Voice};
use scheduler::allotment::Sharing;
use scheduler::clock::LocalDate;
use scheduler::farm::closed_day::{BuyerDay, DayLine, Occasion, SwapPart};
use scheduler::people::WhenSilent;
use scheduler::store::deliveries::{Award, Source, State};

/// The card's name in every chat of the restaurant.
pub fn name(day: LocalDate) -> String {
    format!("orders-{day}")
}

/// The card as somebody is told of it who did not ask.
pub fn told(house: &House, voice: &Voice, (day, occasion): (&BuyerDay, &Occasion)) -> Letter {
    let letter = write(house, voice, (day, occasion));
    match occasion {
        // A short line wants its answer in time, at night too where the time ends before the morning is well begun.
        // After that time they read what was decided instead.
        Occasion::Closed => letter.patient(Patience::Until(day.closed.answers_by)).useful_until(None),
        Occasion::Changed | Occasion::AnsweredBy { .. } => letter,
        _ => letter.at_end(),
    }
}

/// The card, with buttons for each line that waits.
pub fn write(house: &House, voice: &Voice, (day, occasion): (&BuyerDay, &Occasion)) -> Letter {
    let mut lines = vec![heading(voice, (day, occasion)), String::new()];
    for line in &day.lines {
        lines.push(line_text(house, voice, line));
        if line.award.state == State::Short {
            lines.push(why_cut(house, voice, line));
        }
    }
    if day.must_answer() {
        let until = Args::new().day_time("until", day.closed.answers_by);
        lines.push(String::new());
        lines.push(match day.when_silent {
            WhenSilent::Take => voice.say("shortfall-until-take", &until),
            WhenSilent::Drop => voice.say("shortfall-until-drop", &until),
        });
    }
    let mut letter = Letter::new(lines.join("\n")).on_card(name(day.closed.day));
    if day.must_answer() {
        for line in day.lines.iter().filter(|line| line.award.state == State::Short) {
            letter = with_buttons(house, voice, (line, letter));
        }
    }
    letter
}

fn heading(voice: &Voice, (day, occasion): (&BuyerDay, &Occasion)) -> String {
    let args = Args::new().date("day", day.closed.day);
    let is_short = day.lines.iter().any(|line| line.award.state == State::Short);
    match occasion {
        Occasion::Closed | Occasion::Changed if is_short => voice.say("shortfall-heading", &args),
        Occasion::Closed | Occasion::Changed => voice.say("shortfall-confirmed", &args),
        Occasion::Answered => voice.say("shortfall-answered", &args),
        Occasion::AnsweredBy { name, .. } => voice.say("shortfall-answered-by", &args.text("name", name.clone())),
        Occasion::AlreadyAnswered => voice.say("shortfall-answered-already", &args),
        Occasion::TooLate => voice.say("shortfall-too-late", &args.day_time("until", day.closed.answers_by)),
        Occasion::Gone => voice.say("shortfall-gone", &args),
        Occasion::SwapGone => voice.say("shortfall-swap-gone", &args),
        Occasion::NoLaterDelivery => voice.say("shortfall-no-later-delivery", &args),
        Occasion::Better => voice.say("shortfall-better", &args),
        Occasion::Less => voice.say("shortfall-less", &args),
        Occasion::Silent => voice.say("shortfall-silent", &args),
        Occasion::Delivered => voice.say("shortfall-delivered", &args),
        Occasion::Assumed => voice.say("shortfall-assumed", &args),
    }
}

fn line_text(house: &House, voice: &Voice, line: &DayLine) -> String {
    let Award { crop, asked, promised, delivered, state, source, .. } = &line.award;
    let promised = delivered.unwrap_or(*promised);
    let args =
        Args::new().text("crop", house.crop_name(crop, voice)).weight("asked", *asked).weight("promised", promised);
    match state {
        State::Short if promised.is_positive() => voice.say("shortfall-line-short", &args),
        State::Short => voice.say("shortfall-line-none", &args),
        State::Moved => match line.moves_to {
            Some(day) => voice.say("shortfall-line-moved", &args.date("day", day)),
            None => voice.say("shortfall-line-dropped", &args),
        },
        State::Dropped => voice.say("shortfall-line-dropped", &args),
        State::Swapped if !promised.is_positive() => voice.say("shortfall-line-swapped", &args),
        _ if *source == Source::Swap => voice.say("shortfall-line-instead", &args),
        _ if !promised.is_positive() => voice.say("shortfall-line-nothing", &args),
        _ if promised < *asked => voice.say("shortfall-line-part", &args),
        _ => voice.say("shortfall-line-full", &args),
    }
}

/// Why a line was cut, in one sentence.
fn why_cut(house: &House, voice: &Voice, line: &DayLine) -> String {
    let args = Args::new()
        .text("crop", house.crop_name(&line.award.crop, voice))
        .weight("all", line.cut.asked_by_all)
        .weight("there", line.cut.there);
    let promise = &house.config.rules.promise;
    if !line.cut.there.is_positive() {
        voice.say("shortfall-why-nothing", &args)
    } else if line.cut.is_alone {
        voice.say("shortfall-why-alone", &args)
    } else if promise.standing_first && line.cut.is_behind_standing {
        voice.say("shortfall-why-standing-first", &args)
    } else {
        match promise.sharing {
            Sharing::EqualAwards => voice.say("shortfall-why-even", &args),
            Sharing::Proportional => voice.say("shortfall-why-proportional", &args),
            Sharing::ContestedGarment => voice.say("shortfall-why-contested", &args),
        }
    }
}

fn with_buttons(house: &House, voice: &Voice, (line, mut letter): (&DayLine, Letter)) -> Letter {
    let award = line.award.id;
    let amount = |crop: &str, grams| house.amount(crop, grams, voice);
    let intent = |ask| Intent::Shortfall(ask);
    if line.award.promised.is_positive() {
        let args = Args::new().text("amount", amount(&line.award.crop, line.award.promised));
        letter = letter.row([Button::new(voice.plain("button-take", &args), intent(Ask::Take { award }))]);
    }
    for (crop, grams, part) in &line.swaps {
        let args = Args::new().text("amount", amount(crop, *grams));
        let label = match part {
            SwapPart::Missing => {
                voice.plain("button-swap-missing", &args.text("kept", amount(&line.award.crop, line.award.promised)))
            }
            SwapPart::Whole => voice.plain("button-swap-whole", &args),
        };
        let ask = Ask::Swap { award, crop: crop.clone(), grams: *grams, part: *part };
        letter = letter.row([Button::new(label, intent(ask))]);
    }
    let mut last = Vec::new();
    if let Some(day) = line.moves_to {
        let args =
            Args::new().text("amount", amount(&line.award.crop, line.award.asked)).date_as("day", day, DateForm::Short);
        last.push(Button::new(voice.plain("button-move", &args), intent(Ask::Move { award })));
    }
    let args = Args::new().text("crop", house.crop_name(&line.award.crop, voice));
    last.push(Button::new(voice.plain("button-drop", &args), intent(Ask::Drop { award })));
    letter.row(last)
}
