//! The early warning in words.

use crate::conversation::Letter;
use crate::conversation::growing::plan;
use crate::house::House;
use crate::wording::{Args, Voice};
use scheduler::allotment::warning::{Help, Risk};
use scheduler::clock::LocalDate;
use scheduler::farm::event::EarlyWarning;
use scheduler::farm::warning::told::News;

/// Which deliveries will be short, by how much, and what would help.
pub fn letter(house: &House, voice: &Voice, (warning, today): (&EarlyWarning, LocalDate)) -> Letter {
    let mut lines = Vec::new();
    for delivery in &warning.open {
        let of_day: Vec<&(Risk, News)> = warning.risks.iter().filter(|(risk, _)| risk.day == delivery.date).collect();
        if of_day.is_empty() {
            continue;
        }
        let cutoff_at = delivery.cutoff_at.unwrap_or(delivery.departs_at);
        let args = Args::new().date("day", delivery.date).day_time("cutoff", cutoff_at);
        lines.push(voice.say("warning-heading", &args));
        for (risk, news) in of_day {
            lines.extend(write(house, voice, (risk, *news), today));
        }
    }
    lines.push(voice.say("warning-help", &Args::new()));
    Letter::new(lines.join("\n"))
}

fn write(house: &House, voice: &Voice, (risk, news): (&Risk, News), today: LocalDate) -> Vec<String> {
    let args = Args::new()
        .text("crop", house.crop_name(&risk.crop, voice))
        .weight("asked", risk.asked)
        .weight("likely", risk.likely())
        .weight("short", risk.short);
    let mut lines = vec![match news {
        News::Again => voice.say("warning-line-again", &args),
        News::Fresh | News::Known => voice.say("warning-line", &args),
    }];
    for help in &risk.helps {
        let args = Args::new();
        lines.push(match help {
            Help::Start { units, best_on, latest_on, .. } => {
                let args = plan::start_words(house, args, voice, (&risk.crop, *units));
                let args = args.day("best", *best_on, today).day("latest", *latest_on, today);
                voice.say("warning-start", &args)
            }
            Help::Swap { crop, grams } => {
                voice.say("warning-swap", &args.text("amount", house.amount(crop, *grams, voice)))
            }
            Help::Move { to, grams } => voice.say("warning-move", &args.date("day", *to).weight("weight", *grams)),
            Help::AskLess { each } => voice.say("warning-less", &args.weight("each", *each)),
        });
    }
    lines
}
