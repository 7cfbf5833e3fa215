//! The evening before: what is promised for tomorrow, what lies ready, and what must still be picked and cooled.

use super::live_awards;
use crate::conversation::audience::Audience;
use crate::conversation::cutoff::{self, supply};
use crate::conversation::letter::Patience;
use crate::conversation::shortfall::settle;
use crate::conversation::{Desk, Letter};
use crate::wording::Args;
use scheduler::farm::stock;
use scheduler::store::{self, deliveries};

/// Reminds the family of tomorrow's picking, and shares a harvest that has become better since cut-off; silent when
/// nothing goes out tomorrow.
///
/// # Errors
/// Whatever the store fails with.
pub async fn remind(desk: &mut Desk<'_>) -> store::Result<()> {
    cutoff::close_due(desk).await?;
    let house = desk.house;
    let Some(day) = desk.today().succ_opt() else { return Ok(()) };
    let Some(closed) = deliveries::on(&mut desk.tx, day).await? else { return Ok(()) };
    settle::share_better_harvest(desk, &closed).await?;
    let awards = live_awards(desk, day).await?;
    if awards.is_empty() {
        return Ok(());
    }
    let ready = stock::ready_on(&mut desk.farm(), day).await?;
    let promised = supply::promised_by_crop(&awards);
    desk.tell_family(Audience::Everyone, |voice| {
        let mut lines = vec![voice.say("picking-heading", &Args::new().date("day", day))];
        for (crop, promised) in &promised {
            let ready = ready.get(crop).copied().unwrap_or_default();
            let args = Args::new()
                .text("crop", house.crop_name(crop, voice))
                .weight("promised", *promised)
                .weight("ready", ready)
                .weight("pick", promised.less(ready));
            lines.push(if ready >= *promised {
                voice.say("picking-line-ready", &args)
            } else {
                voice.say("picking-line", &args)
            });
        }
        lines.push(String::new());
        lines.push(voice.say("cold-chain", &Args::new()));
        // Tonight's picking is past by the morning.
        Letter::new(lines.join("\n")).patient(Patience::Cannot).useful_until(house.calendar.departure(day))
    })
    .await
}
