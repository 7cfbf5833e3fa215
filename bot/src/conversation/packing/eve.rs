//! Before a delivery: what is promised for it, what lies ready, and what must still be picked and cooled.

use crate::conversation::cutoff;
use crate::conversation::letter::Patience;
use crate::conversation::{Desk, Letter};
use crate::house::House;
use crate::wording::{Args, Voice};
use scheduler::clock::LocalDate;
use scheduler::farm::event::Event;
use scheduler::farm::{answering, packing};
use scheduler::quantity::Grams;
use scheduler::store::{self, deliveries};

/// Reminds the family of what to pick for the delivery that comes next, and shares a harvest that has become better since
/// cut-off; silent when nothing goes out.
///
/// # Errors
/// Whatever the store fails with.
pub async fn remind(desk: &mut Desk<'_>) -> store::Result<()> {
    cutoff::close_due(desk).await?;
    let mut events = Vec::new();
    for day in packing::to_remind(&desk.farm()) {
        let Some(closed) = deliveries::on(&mut desk.tx, day).await? else { continue };
        events.extend(answering::share_better_harvest(&mut desk.farm(), &closed).await?);
        let crops = packing::to_pick(&mut desk.farm(), day).await?;
        if !crops.is_empty() {
            events.push(Event::PickingDue { day, crops });
        }
    }
    desk.happened(events);
    Ok(())
}

/// What to pick tonight.
pub fn letter(house: &House, voice: &Voice, (day, crops): (LocalDate, &[(String, Grams, Grams)])) -> Letter {
    let mut lines = vec![voice.say("picking-heading", &Args::new().date("day", day))];
    for (crop, promised, ready) in crops {
        let args = Args::new()
            .text("crop", house.crop_name(crop, voice))
            .weight("promised", *promised)
            .weight("ready", *ready)
            .weight("pick", promised.less(*ready));
        lines.push(if ready >= promised {
            voice.say("picking-line-ready", &args)
        } else {
            voice.say("picking-line", &args)
        });
    }
    lines.push(String::new());
    lines.push(voice.say("cold-chain", &Args::new()));
    // Tonight's picking is past by the morning.
    Letter::new(lines.join("\n")).patient(Patience::Cannot).useful_until(house.calendar.departure(day))
}
