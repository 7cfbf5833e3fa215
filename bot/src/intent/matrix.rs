//! Every action against every role. The table is written by hand from what each role is for (see [`Role`]); the names
//! of the actions come from the types themselves, so that none can be added without a line here.

use super::Intent;
use super::permission::may;
use scheduler::people::Role;
use serde_json::{Map, Value, json};
use std::collections::BTreeSet;

/// Action, and who may: keeper, grower, driver, buyer, food bank.
const EXPECTED: &[(&str, &str)] = &[
    ("joining help", "KGDBP"),
    ("joining unknown_command", "KGDBP"),
    ("joining settings", "KGDBP"),
    ("joining language", "KGDBP"),
    ("joining units", "KGDBP"),
    ("joining hours", "KGDBP"),
    ("joining quiet_hours", "KGDBP"),
    ("joining quiet", "KGDBP"),
    ("joining when_silent", "B"),
    ("joining new_account", "KGDBP"),
    ("joining leave_farm", "KGDBP"),
    ("joining use_code", "KGDBP"),
    ("joining group", "K"),
    ("joining group_goes_on", "K"),
    ("joining group_ends", "K"),
    ("joining people", "K"),
    ("joining people_page", "K"),
    ("joining invite", "K"),
    ("joining new_buyer", "K"),
    ("joining invite_buyer", "K"),
    ("joining invite_partner", "K"),
    ("joining invitations", "K"),
    ("joining withdraw_invitation", "K"),
    ("joining removable", "K"),
    ("joining removable_page", "K"),
    ("joining remove", "K"),
    ("ordering card", "B"),
    ("ordering days", "B"),
    ("ordering step", "B"),
    ("ordering place", "B"),
    ("ordering change", "B"),
    ("ordering same_as_last", "B"),
    ("ordering skip", "B"),
    ("ordering withdraw", "B"),
    ("ordering edit", "B"),
    ("ordering usual_with", "B"),
    ("ordering make_it", "B"),
    ("ordering swap", "B"),
    ("ordering cancel_last", "B"),
    ("ordering standing_edit", "B"),
    ("ordering standing", "B"),
    ("ordering draft", "B"),
    ("ordering one", "B"),
    ("ordering usual", "B"),
    ("ordering type_usual", "B"),
    ("ordering type_draft", "B"),
    ("ordering pause", "B"),
    ("ordering resume", "B"),
    ("ordering end", "B"),
    ("ordering end_one", "B"),
    ("ordering undo", "B"),
    ("ordering leave", "B"),
    ("ordering show", "B"),
    ("ordering calendar_file", "B"),
    ("growing new_batch", "KG"),
    ("growing new_batch_of", "KG"),
    ("growing new_batch_units", "KG"),
    ("growing start", "KG"),
    ("growing undo_start", "KG"),
    ("growing initiate", "KG"),
    ("growing undo_initiate", "KG"),
    ("growing initiate_part", "KG"),
    ("growing correct", "KG"),
    ("growing correct_detail", "KG"),
    ("growing correct_batch", "KG"),
    ("growing split", "KG"),
    ("growing pins", "KG"),
    ("growing undo_pins", "KG"),
    ("growing pick_where", "KG"),
    ("growing pick_weight", "KG"),
    ("growing picked", "KG"),
    ("growing pick_lines", "KG"),
    ("growing undo_pick", "KG"),
    ("growing lost_how_many", "KG"),
    ("growing lost", "KG"),
    ("growing undo_lost", "KG"),
    ("growing flush_over", "KG"),
    ("growing nothing_yet", "KG"),
    ("growing last_pick", "KG"),
    ("growing undo_last_pick", "KG"),
    ("growing spent", "KG"),
    ("growing shelves", "KG"),
    ("growing show", "KG"),
    ("growing plan", "KG"),
    ("growing nothing", "KG"),
    ("growing warmth_of", "KG"),
    ("growing warmth_scale", "KG"),
    ("growing warmth", "KG"),
    ("shortfall take", "B"),
    ("shortfall swap", "B"),
    ("shortfall move", "B"),
    ("shortfall drop", "B"),
    ("packing list", "KGD"),
    ("packing file", "KGD"),
    ("packing packed", "KGD"),
    ("packing other_weights packed", "KGD"),
    ("packing other_weights_of packed", "KGD"),
    ("packing other_weight packed", "KGD"),
    ("packing nothing packed", "KGD"),
    ("packing other_weights delivered", "KD"),
    ("packing other_weights_of delivered", "KD"),
    ("packing other_weight delivered", "KD"),
    ("packing nothing delivered", "KD"),
    ("packing run", "KD"),
    ("packing run_of", "KD"),
    ("packing delivered_on", "KD"),
    ("packing delivered", "KD"),
    ("packing all_delivered", "KD"),
    ("packing late", "KD"),
    ("packing nobody_there", "KD"),
    ("packing refused", "KD"),
    ("surplus left", "K"),
    ("surplus leave", "KGD"),
    ("surplus best", "K"),
    ("surplus offer", "K"),
    ("surplus withdraw", "K"),
    ("surplus keep", "K"),
    ("surplus keep_weight", "K"),
    ("surplus release", "K"),
    ("surplus to_market", "KGD"),
    ("surplus market_back", "KGD"),
    ("surplus market_return", "KGD"),
    ("surplus dried", "KGD"),
    ("surplus discarded", "KGD"),
    ("surplus throw_away", "KGD"),
    ("surplus count", "KGD"),
    ("surplus counted", "KGD"),
    ("surplus set_right", "KGD"),
    ("surplus put_back", "KGD"),
    ("surplus cold_room_scale", "KGD"),
    ("surplus cold_room_warmth", "KGD"),
    ("surplus rules", "K"),
    ("surplus rule_day", "K"),
    ("surplus rule_time", "K"),
    ("surplus set_rule", "K"),
    ("surplus stop_rule", "K"),
    ("surplus rule_unread", "K"),
    ("surplus take", "B"),
    ("surplus take_other", "B"),
    ("surplus no_thanks", "B"),
    ("surplus look_again", "B"),
    ("surplus give_back", "B"),
    ("surplus pick_up", "B"),
    ("surplus collected", "K"),
    ("surplus not_collected", "K"),
    ("giving give", "K"),
    ("giving banks", "K"),
    ("giving banks_page", "K"),
    ("giving new_bank", "K"),
    ("giving bank", "K"),
    ("giving change", "K"),
    ("giving toggle_crop", "K"),
    ("giving toggle_cold_store", "K"),
    ("giving toggle_closed", "K"),
    ("giving full", "KP"),
    ("giving toggle_full", "KP"),
    ("giving toggle_need", "K"),
    ("giving regular", "K"),
    ("giving unknown_bank", "K"),
    ("giving regular_at", "K"),
    ("giving regular_agree", "KP"),
    ("giving regular_decline", "P"),
    ("giving regular_stop", "KP"),
    ("giving regular_on", "KP"),
    ("giving remove_bank", "K"),
    ("giving agree", "KP"),
    ("giving other_times", "KP"),
    ("giving at", "KP"),
    ("giving decline", "P"),
    ("giving said_part", "P"),
    ("giving said_full", "P"),
    ("giving said_time", "P"),
    ("giving said_cancel", "P"),
    ("giving call_off", "K"),
    ("giving again", "K"),
    ("giving show", "KD"),
    ("giving papers", "KD"),
    ("giving handed_over", "KD"),
    ("giving handed_other_weight", "KD"),
    ("giving said_handed_over", "KD"),
    ("giving handed_lines", "KD"),
    ("giving undo_hand_over", "KD"),
    ("giving could_not", "KD"),
    ("giving drops", "KDP"),
    ("giving drop_table", "KD"),
    ("giving given", "K"),
    ("giving given_year", "K"),
    ("giving correct_given", "K"),
    ("giving correct_drop", "K"),
    ("views today", "KGD"),
    ("views coming", "KGD"),
    ("views week", "KGD"),
    ("views went", "KGD"),
    ("views cold_room", "KGD"),
    ("views record", "KGD"),
    ("typing say", "KGDBP"),
    // As the wish inside it, here the family's week.
    ("typing meant", "KGD"),
    ("crops list", "K"),
    ("crops new", "K"),
    ("crops new_like", "K"),
    ("crops show", "K"),
    ("crops change_name", "K"),
    ("crops name", "K"),
    ("crops change", "K"),
    ("crops set", "K"),
    ("crops add", "K"),
    ("crops rest", "K"),
    ("crops grow_again", "K"),
];

const ROLES: [(char, Role); 5] =
    [('K', Role::Keeper), ('G', Role::Grower), ('D', Role::Driver), ('B', Role::Buyer), ('P', Role::Pantry)];

/// The names a type says it knows when it is given another: serde's own list.
fn names(known_of: impl Fn(Value) -> Result<Intent, serde_json::Error>) -> Vec<String> {
    let error = known_of(json!("no such name")).expect_err("no such name").to_string();
    let (_, list) = error.split_once("expected ").expect("serde lists what it knows");
    list.split('`').skip(1).step_by(2).map(str::to_owned).collect()
}

fn read(value: Value) -> Result<Intent, serde_json::Error> {
    serde_json::from_value(value)
}

/// Values a field of this name may have, whatever the action.
fn values(field: &str) -> Value {
    match field {
        "day" | "from" | "until" | "keeps_until" => json!("2026-06-04"),
        "opens_at" | "closes_at" => json!(1_780_650_000),
        "crop" | "room" | "come" => json!("oyster"),
        "sure" | "is_on" => json!(true),
        "lines" | "edits" | "weekdays" | "lots" | "parts" | "steps" => json!([]),
        "part" => json!("whole"),
        "form" => json!("sheet"),
        "kind" => json!("dried"),
        "weekday" => json!("Fri"),
        "detail" => json!("address"),
        "correction" => json!("units"),
        "change" => json!({"units": 5}),
        "text" => json!("orders"),
        "intent" => json!({"views": "week"}),
        "grows_like" => json!("oyster"),
        "of" => json!({"known": "oyster"}),
        "draft" => json!({"grows_like": "oyster", "changes": {}}),
        "language" => json!("en"),
        "name" => json!("enoki"),
        "value" => json!("price"),
        _ => json!(1),
    }
}

/// One wish of this name, with fields filled in until the type takes it.
fn example(domain: &str, name: &str, stage: Option<&str>) -> Option<Intent> {
    if let Ok(intent) = read(json!({ domain: name })) {
        return Some(intent);
    }
    for inner in [
        json!("en"),
        json!("metric"),
        json!("twelve"),
        json!("keeper"),
        json!("take"),
        json!(1),
        json!({"coming": {"page": 0}}),
    ] {
        if let Ok(intent) = read(json!({ domain: { name: inner } })) {
            return Some(intent);
        }
    }
    let mut fields = Map::new();
    loop {
        match read(json!({ domain: { name: fields.clone() } })) {
            Ok(intent) => return Some(intent),
            Err(error) => {
                let error = error.to_string();
                let missing = error.split("missing field `").nth(1)?.split('`').next()?.to_owned();
                let value = if missing == "stage" { json!(stage?) } else { values(&missing) };
                fields.insert(missing, value);
            }
        }
    }
}

/// One wish of every kind there is, with its name; of a kind with two stages one of each.
pub(super) fn every_example() -> Vec<(String, Intent)> {
    let mut all = Vec::new();
    for domain in names(read) {
        for name in names(|value| read(json!({ domain.as_str(): value }))) {
            let whole = example(&domain, &name, None).map(|intent| (format!("{domain} {name}"), intent));
            let staged = ["packed", "delivered"].map(|stage| {
                example(&domain, &name, Some(stage)).map(|intent| (format!("{domain} {name} {stage}"), intent))
            });
            let before = all.len();
            match whole {
                Some(one) => all.push(one),
                None => all.extend(staged.into_iter().flatten()),
            }
            assert!(all.len() > before, "no example of {domain} {name} could be made: add its fields to `values`");
        }
    }
    all
}

#[test]
fn every_action_is_for_the_roles_it_is_meant_for_and_no_other() {
    let mut seen = BTreeSet::new();
    let mut wrong = Vec::new();
    for (action, intent) in every_example() {
        match EXPECTED.iter().find(|(expected, _)| *expected == action) {
            None => wrong.push(format!("{action} is in no line of the table: say there who may")),
            Some((_, allowed)) => {
                let differs = ROLES.iter().filter(|(letter, role)| may(*role, &intent) != allowed.contains(*letter));
                wrong.extend(differs.map(|(_, role)| format!("{role:?}: {action}")));
            }
        }
        seen.insert(action);
    }
    for (action, _) in EXPECTED {
        if !seen.contains(*action) {
            wrong.push(format!("{action} is in the table and nowhere else"));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert_eq!(seen.len(), EXPECTED.len());
}
