//! The demo as a stranger runs it: it ends well, and its document tells a good week, a short one, and where the rest went.

use serde_json::Value;
use std::process::{Command, Stdio};

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");

fn demo(arguments: &[&str]) -> String {
    let output = Command::new(PROGRAM).args(arguments).stdin(Stdio::null()).output().expect("the program starts");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("UTF-8")
}

fn list<'a>(of: &'a Value, key: &str) -> &'a [Value] {
    of[key].as_array().unwrap_or_else(|| panic!("{key} is a list"))
}

fn grams(of: &Value, key: &str) -> i64 {
    of[key].as_i64().unwrap_or_else(|| panic!("{key} is a whole number in {of}"))
}

#[test]
fn the_document_tells_both_weeks() {
    let document: Value = serde_json::from_str(&demo(&["demo", "--json"])).expect("one JSON document");
    for one in list(&document, "forecast") {
        let (p10, p50, p90) = (grams(one, "p10_g"), grams(one, "p50_g"), grams(one, "p90_g"));
        assert!(0 <= p10 && p10 <= p50 && p50 <= p90, "{one}");
    }
    let orders = list(&document, "orders");
    let good_week: Vec<&Value> = orders.iter().filter(|order| order["date"] == "2026-06-04").collect();
    assert!(good_week.len() >= 3);
    assert!(good_week.iter().all(|order| order["asked_g"] == order["delivered_g"]), "the good week goes out whole");
    // The short week: what was promised of shiitake at the end is what the cold room held, to the gram.
    let shiitake = orders.iter().filter(|order| order["date"] == "2026-06-11" && order["crop"] == "shiitake");
    let (asked, promised) = shiitake.fold((0, 0), |(asked, promised), order| {
        (asked + grams(order, "asked_g"), promised + grams(order, "promised_g"))
    });
    assert!(promised < asked, "{promised} of {asked}");
    assert_eq!(promised, 3175, "7 lb came back from the market");
    let mut ended: Vec<&str> = list(&document, "shortfalls").iter().filter_map(|one| one["ended"].as_str()).collect();
    ended.sort_unstable();
    assert_eq!(ended, ["silent", "swapped", "taken"]);
    let offer = &list(&document, "offers")[0];
    let taken: i64 = list(offer, "taken").iter().map(|one| grams(one, "grams")).sum();
    assert_eq!(taken + grams(offer, "left_g"), grams(offer, "grams"));
    let drops = list(&document, "drops");
    let given = drops.iter().find(|drop| !drop["handed_over_at"].is_null()).expect("a drop was handed over");
    assert_eq!(list(given, "reminded_at").len(), 2);
    assert_eq!(grams(given, "grams"), grams(offer, "left_g"));
    assert!(grams(&document, "messages_sent") > 100);
}

#[test]
fn the_chats_are_told_in_everybodys_language() {
    let told = demo(&["demo", "--all"]);
    for part in [
        "Mina, Night Heron Noodle Bar",
        "we cannot fill all of your order",
        "no podemos surtir todo tu pedido",
        "Packing list, Thursday, June 4",
        "Merrow Community Pantry",
        "The two weeks in tables",
    ] {
        assert!(told.contains(part), "{part}");
    }
}

#[test]
fn the_story_is_short_and_goes_by_time() {
    let told = demo(&["demo"]);
    let lines = told.lines().count();
    assert!(lines <= 300, "{lines} lines");
    let mut rest = told.as_str();
    for part in [
        "Friday, May 15",
        "every Thursday 5 lb shiitake",
        "Tuesday, June 2",
        "Mina: Thursday, June 4: all confirmed",
        "packed as listed",
        "Tuesday, June 9",
        "we cannot fill all of your order",
        "presses [Take",
        "we have not heard from you",
        "offer",
        "Ben presses [Not this time]",
        "Lucía presses [De acuerdo]",
        "Ngozi presses [Handed over as planned]",
        "The two weeks in tables",
    ] {
        let at = rest.find(part).unwrap_or_else(|| panic!("{part:?} comes next in {rest}"));
        rest = &rest[at + part.len()..];
    }
}
