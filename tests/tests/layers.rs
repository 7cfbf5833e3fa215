//! The layers of DEVELOPERS.md, read from the `use` lines: no circle among the modules of `scheduler`, and no module of `bot` that
//! uses one above it, but for today's exceptions, which may only become fewer.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// The modules of `bot` from the lowest to the highest; each may use those of its own row and below.
const BOT: [&[&str]; 8] = [
    &["incoming", "outgoing", "wording", "phrase"],
    &["pictures"],
    &["config"],
    &["house"],
    &["intent"],
    &["conversation"],
    &["watch", "engine", "line"],
    &["backups", "telegram", "stage", "scenario", "demo", "rehearsal", "stored", "cli"],
];

/// Who looks up today, and at what. Whoever mends one strikes it out here.
const EXCEPTIONS: [(&str, &str); 1] = [("intent", "conversation")];

/// What each module uses of its own crate: by the first name below the crate.
type Uses = BTreeMap<String, BTreeSet<String>>;

fn source(of: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(of).join("src")
}

/// The text without comments and without the tests at its end.
fn without_tests(text: &str) -> String {
    let text = text.split("\nmod tests {").next().unwrap_or_default();
    text.lines().filter(|line| !line.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n")
}

/// Every path of a `use` declaration, braces written out.
fn paths(declaration: &str) -> Vec<String> {
    let declaration = declaration.trim();
    let Some((before, rest)) = declaration.split_once('{') else {
        return vec![declaration.split(" as ").next().unwrap_or_default().trim().to_owned()];
    };
    let inside = rest.rsplit_once('}').map_or(rest, |(inside, _)| inside);
    let (mut parts, mut depth) = (vec![String::new()], 0);
    for letter in inside.chars() {
        match letter {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                parts.push(String::new());
                continue;
            }
            _ => {}
        }
        parts.last_mut().expect("there is always one").push(letter);
    }
    let parts = parts.into_iter().filter(|part| !part.trim().is_empty());
    parts.flat_map(|part| paths(&format!("{before}{}", part.trim()))).collect()
}

/// The `use` declarations of a file.
fn declarations(text: &str) -> Vec<String> {
    let text = without_tests(text);
    let mut found = Vec::new();
    for statement in text.split(';') {
        let lines: Vec<&str> = statement.lines().collect();
        let is_use = |line: &&str| {
            let line = line.trim_start();
            let public = line.strip_prefix("pub").map(|rest| rest.trim_start_matches(|letter| letter != ' '));
            public.map_or(line, str::trim_start).starts_with("use ")
        };
        if let Some(start) = lines.iter().rposition(is_use) {
            let whole = lines[start..].join(" ");
            found.extend(whole.split_once("use ").map(|(_, path)| path.to_owned()));
        }
    }
    found
}

/// The module a path names, below the crate; `None` for another crate's.
fn target(module: &[String], path: &str) -> Option<String> {
    let mut names: Vec<&str> = path.split("::").map(str::trim).collect();
    let mut at: Vec<String> = match *names.first()? {
        "crate" => Vec::new(),
        "self" => module.to_vec(),
        "super" => module[..module.len().saturating_sub(1)].to_vec(),
        _ => return None,
    };
    names.remove(0);
    while names.first() == Some(&"super") {
        at.pop();
        names.remove(0);
    }
    at.extend(names.into_iter().map(str::to_owned));
    at.into_iter().next()
}

/// Whether a module in this folder is there for tests only.
fn is_for_tests(folder: &Path, name: &str) -> bool {
    let parent = std::fs::read_to_string(folder.with_extension("rs")).unwrap_or_default();
    parent.contains(&format!("#[cfg(test)]\nmod {name};"))
}

fn collect(folder: &Path, module: &[String], uses: &mut Uses) {
    for entry in std::fs::read_dir(folder).expect("the sources are there") {
        let path = entry.expect("an entry").path();
        let name = path.file_stem().and_then(|stem| stem.to_str()).unwrap_or_default().to_owned();
        let own: Vec<String> = module.iter().cloned().chain([name.clone()]).collect();
        if is_for_tests(folder, &name) {
            continue;
        }
        if path.is_dir() {
            collect(&path, &own, uses);
        } else if path.extension().is_some_and(|extension| extension == "rs")
            && !["lib", "main"].contains(&name.as_str())
        {
            let text = std::fs::read_to_string(&path).expect("a source file is text");
            let targets = declarations(&text).iter().flat_map(|one| paths(one)).collect::<Vec<_>>();
            let targets = targets.iter().filter_map(|path| target(&own, path)).filter(|target| *target != own[0]);
            uses.entry(own[0].clone()).or_default().extend(targets);
        }
    }
}

fn uses_of(of: &str) -> Uses {
    let mut uses = Uses::new();
    collect(&source(of), &[], &mut uses);
    let modules: BTreeSet<String> = uses.keys().cloned().collect();
    for targets in uses.values_mut() {
        targets.retain(|target| modules.contains(target));
    }
    uses
}

/// A way from a module back to itself.
fn circle(uses: &Uses) -> Option<Vec<String>> {
    fn walk(uses: &Uses, way: &mut Vec<String>, done: &mut BTreeSet<String>) -> Option<Vec<String>> {
        let here = way.last().expect("a way begins somewhere").clone();
        for next in &uses[&here] {
            if let Some(place) = way.iter().position(|one| one == next) {
                return Some(way[place..].to_vec());
            }
            if !done.contains(next) {
                way.push(next.clone());
                let found = walk(uses, way, done);
                if found.is_some() {
                    return found;
                }
                way.pop();
            }
        }
        done.insert(here);
        None
    }
    let mut done = BTreeSet::new();
    uses.keys().find_map(|module| walk(uses, &mut vec![module.clone()], &mut done))
}

#[test]
fn the_scheduler_has_no_circle() {
    let uses = uses_of("scheduler");
    assert!(uses["farm"].contains("store"), "the reader finds what is plainly there: {uses:?}");
    assert_eq!(circle(&uses), None);
    for pure in ["allotment", "crop", "delivery", "growing", "harvest", "orders", "surplus", "timetable"] {
        let up: Vec<&String> = uses[pure].iter().filter(|one| ["store", "farm"].contains(&one.as_str())).collect();
        assert!(up.is_empty(), "{pure} decides without a database and uses {up:?}");
    }
}

#[test]
fn no_layer_of_the_bot_looks_up() {
    let uses = uses_of("bot");
    let row = |module: &str| BOT.iter().position(|modules| modules.contains(&module));
    let mut looking_up = BTreeSet::new();
    for (module, targets) in &uses {
        let own = row(module).unwrap_or_else(|| panic!("{module} has no layer: give it one"));
        for target in targets {
            if row(target).is_none_or(|other| other > own) {
                looking_up.insert((module.as_str(), target.as_str()));
            }
        }
    }
    assert_eq!(looking_up, EXCEPTIONS.into_iter().collect(), "left: found; right: the exceptions that are known");
}

#[test]
fn a_circle_would_be_found() {
    let uses = |pairs: &[(&str, &str)]| {
        let mut uses = Uses::new();
        for (from, to) in pairs {
            uses.entry((*to).to_owned()).or_default();
            uses.entry((*from).to_owned()).or_default().insert((*to).to_owned());
        }
        uses
    };
    assert_eq!(circle(&uses(&[("a", "b"), ("b", "c"), ("a", "c")])), None);
    assert_eq!(circle(&uses(&[("a", "b"), ("b", "c"), ("c", "b")])), Some(vec!["b".to_owned(), "c".to_owned()]));
    let read = declarations("use a::b;\npub use crate::x::{self, y::{Z, W as V}};\nfn f() {}\nmod tests {\nuse q::r;");
    let read: Vec<String> = read.iter().flat_map(|one| paths(one)).collect();
    assert_eq!(read, ["a::b", "crate::x::self", "crate::x::y::Z", "crate::x::y::W"]);
    let own = ["farm".to_owned(), "ordering".to_owned(), "book".to_owned()];
    assert_eq!(target(&own, "super::super::stock::Held"), Some("farm".to_owned()));
    assert_eq!(target(&own, "crate::store::Tx"), Some("store".to_owned()));
    assert_eq!(target(&own, "chrono::Days"), None);
}
