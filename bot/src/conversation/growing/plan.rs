//! The growing plan in words: what to soak or open, and by when.

use super::shelf::{self, units};
use crate::conversation::{Desk, Letter};
use crate::house::House;
use crate::wording::{Args, Voice, key};
use scheduler::farm::plan;
use scheduler::growing::plan::Advice;
use scheduler::people::Person;
use scheduler::store;

/// Shows the plan.
///
/// # Errors
/// Whatever the store fails with.
pub async fn show(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let (voice, house, today) = (desk.voice(person), desk.house, desk.today());
    let plan = plan::load(&mut desk.farm()).await?;
    let mut lines = vec![voice.say("plan-heading", &Args::new())];
    for (shelf, due) in &plan.rested {
        let args = Args::new()
            .text("batch", shelf::name(house, &voice, shelf))
            .word("begun", beginning(house, &shelf.batch.crop, shelf.flush.number))
            .day("day", (*due).max(today), today);
        lines.push(voice.say("plan-rested", &args));
    }
    for (shortage, advice) in &plan.advised {
        let args = Args::new()
            .date("delivery", shortage.delivery)
            .text("short", house.amount(&shortage.crop, shortage.short, &voice));
        lines.push(match advice {
            Advice::Start { units: number, best_on, latest_on, uncovered } => {
                let args = start_words(house, args, &voice, (&shortage.crop, *number))
                    .day("best", *best_on, today)
                    .day("latest", *latest_on, today);
                if uncovered.is_positive() {
                    voice.say("plan-start-part", &args.weight("missing", *uncovered))
                } else {
                    voice.say("plan-start", &args)
                }
            }
            Advice::TooLate { .. } => voice.say("plan-too-late", &args),
            Advice::NothingReady | Advice::UnknownGrowth => voice.say("plan-nothing-ready", &args),
        });
    }
    if lines.len() == 1 {
        lines.push(voice.say("plan-nothing", &Args::new()));
    }
    desk.answer(person, Letter::new(lines.join("\n"))).await
}

/// What is to be started of a crop, in words: "soak 14 blocks" comes from these two.
pub fn start_words(house: &House, args: Args, voice: &Voice, (crop, number): (&str, u32)) -> Args {
    args.text("units", units(house, voice, crop, i64::from(number))).word("begun", beginning(house, crop, 1))
}

/// What the start of a flush is called.
pub fn beginning(house: &House, crop: &str, flush: i64) -> &'static str {
    match (house.crops.is_bagged(crop), flush) {
        (false, _) => key("plan-word-soak"),
        (true, 1) => key("plan-word-opening"),
        (true, _) => key("plan-word-start"),
    }
}
