//! The family's table of a closed day: a row a buyer, what can be expected, what is unpromised and who must answer.

use crate::conversation::Letter;
use crate::house::House;
use crate::wording::{Args, Voice};
use scheduler::farm::closed_day::ClosedDay;
use scheduler::farm::event::{DayTable, Moment};
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store::deliveries::{Award, State};

/// Restaurants in one message: the service takes 4096 characters.
const ROWS_MAX: usize = 25;

/// How many messages the table takes: one, more only for a farm with very many restaurants.
pub fn parts(table: &DayTable) -> usize {
    table.day.buyer_ids().len().div_ceil(ROWS_MAX)
}

/// One of them.
pub fn letter(house: &House, voice: &Voice, (table, part): (&DayTable, usize)) -> Letter {
    let mut lines = if part == 0 { head(table, house, voice) } else { Vec::new() };
    let ids = table.day.buyer_ids();
    lines.extend(ids.iter().skip(part * ROWS_MAX).take(ROWS_MAX).map(|id| row(&table.day, *id, house, voice)));
    Letter::new(lines.join("\n"))
}

fn head(DayTable { day: facts, moment }: &DayTable, house: &House, voice: &Voice) -> Vec<String> {
    let day = Args::new().date("day", facts.closed.day);
    let mut lines = vec![match moment {
        Moment::Closed => voice.say("cutoff-table", &day),
        Moment::Settled => voice.say("cutoff-table-settled", &day),
    }];
    lines.extend(crop_lines(facts, house, voice));
    // Answers move promises within what the chance was reckoned for, so it is told once; of nothing promised there is none.
    let is_promised = facts.awards.iter().any(|award| award.promised.is_positive());
    if let Some(chance) = facts.holds.filter(|_| *moment == Moment::Closed && is_promised) {
        lines.push(voice.say("cutoff-table-chance", &Args::new().percent("chance", chance)));
    }
    let waiting = facts.waiting_names();
    if !waiting.is_empty() {
        let args = Args::new().list("buyers", waiting).day_time("until", facts.closed.answers_by);
        lines.push(voice.say("cutoff-table-waiting", &args));
    }
    lines.push(String::new());
    lines
}

/// A line for each crop with anything expected or promised.
pub fn crop_lines(facts: &ClosedDay, house: &House, voice: &Voice) -> Vec<String> {
    let mut lines = Vec::new();
    for one in &facts.expected {
        let promised = facts.promised_of(&one.crop);
        if !one.p90.is_positive() && !promised.is_positive() {
            continue;
        }
        let args = Args::new()
            .text("crop", house.crop_name(&one.crop, voice))
            .between("range", one.p10, one.p90)
            .weight("promised", promised)
            .weight("free", facts.free_of(&one.crop));
        lines.push(voice.say("cutoff-table-crop", &args));
    }
    lines
}

fn row(facts: &ClosedDay, buyer_id: Id, house: &House, voice: &Voice) -> String {
    let lines = facts.awards.iter().filter(|award| award.buyer_id == buyer_id);
    let lines = lines.map(|award| line(award, house, voice)).collect::<Vec<_>>().join("; ");
    voice.say("cutoff-table-row", &Args::new().text("buyer", facts.name_of(buyer_id)).said("lines", lines))
}

fn line(award: &Award, house: &House, voice: &Voice) -> String {
    let args = Args::new()
        .text("crop", house.crop_name(&award.crop, voice))
        .weight("asked", award.asked)
        .weight("promised", award.promised);
    match award.state {
        State::Moved => voice.say("cutoff-table-moved", &args),
        State::Dropped => voice.say("cutoff-table-dropped", &args),
        State::Swapped if award.promised == Grams::ZERO => voice.say("cutoff-table-swapped", &args),
        _ => voice.say("cutoff-table-line", &args),
    }
}
