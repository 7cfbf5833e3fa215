//! What is built in: every licence is one of those allowed in `.ci/deny.toml` (SPDX expressions read by the spdx crate), and
//! everything comes from the one registry, unchanged. Crates that are there in two versions are printed. Known weaknesses
//! are those of `.ci/advisories.toml`, a list kept by hand: the whole list is elsewhere, and `.ci/run` says when it was not looked at.

use anyhow::Context;
use serde_json::Value;
use spdx::{Expression, ParseMode};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Command;

fn workspace() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the workspace")
}

/// The platform this was built for, as cargo names it.
fn platform() -> anyhow::Result<String> {
    let output = Command::new(env!("CARGO")).arg("-vV").output()?;
    let said = String::from_utf8(output.stdout)?;
    let host = said.lines().find_map(|line| line.strip_prefix("host: "));
    Ok(host.context("cargo names its host")?.to_owned())
}

/// Every package outside the workspace that is built in here. What only other platforms take is not on this machine.
fn packages() -> anyhow::Result<Vec<Value>> {
    let platform = platform()?;
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked", "--offline", "--filter-platform", &platform])
        .current_dir(workspace())
        .output()?;
    anyhow::ensure!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let mut metadata: Value = serde_json::from_slice(&output.stdout)?;
    let members = metadata["workspace_members"].take();
    let members: Vec<&Value> = members.as_array().into_iter().flatten().collect();
    let packages = metadata["packages"].take();
    let Value::Array(packages) = packages else { anyhow::bail!("no packages") };
    Ok(packages.into_iter().filter(|package| !members.contains(&&package["id"])).collect())
}

fn allowed(table: &str, key: &str) -> anyhow::Result<BTreeSet<String>> {
    let rules: toml::Table = std::fs::read_to_string(workspace().join(".ci/deny.toml"))?.parse()?;
    let list = rules[table][key].as_array().into_iter().flatten();
    Ok(list.filter_map(|one| one.as_str().map(str::to_owned)).collect())
}

fn is_free(licence: &str, allowed: &BTreeSet<String>) -> bool {
    Expression::parse_mode(licence, ParseMode::LAX)
        .is_ok_and(|expression| expression.evaluate(|one| allowed.contains(&one.to_string())))
}

#[test]
fn everything_built_in_may_be_and_comes_from_where_it_should() -> anyhow::Result<()> {
    let licences = allowed("licenses", "allow")?;
    let mut sources: BTreeSet<String> = BTreeSet::new();
    let mut versions: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut wrong = Vec::new();
    let packages = packages()?;
    assert!(packages.len() > 100, "{} packages", packages.len());
    for package in &packages {
        let text = |key: &str| package[key].as_str().unwrap_or_default().to_owned();
        let (name, licence, source) = (text("name"), text("license"), text("source"));
        if !is_free(&licence, &licences) {
            wrong.push(format!("{name}: licence {licence:?}"));
        }
        if !source.starts_with("registry+") {
            wrong.push(format!("{name}: from {source:?}"));
        }
        sources.insert(source);
        versions.entry(name).or_default().insert(text("version"));
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert_eq!(sources.len(), 1, "one registry and no other: {sources:?}");
    for (name, versions) in versions.iter().filter(|(_, versions)| versions.len() > 1) {
        println!("in {} versions: {name} {versions:?}", versions.len());
    }
    Ok(())
}

/// SPDX specification 2.3, annex D: AND needs both, OR either, WITH is another licence than without.
#[test]
fn an_expression_is_read_as_it_is_meant() -> anyhow::Result<()> {
    let licences = allowed("licenses", "allow")?;
    for (licence, is_allowed) in [
        ("MIT OR GPL-3.0-only", true),
        ("MIT/GPL-2.0", true),
        ("MIT AND GPL-3.0-only", false),
        ("(MIT OR Apache-2.0) AND Unicode-3.0", true),
        ("GPL-2.0-only WITH Classpath-exception-2.0", false),
        ("AGPL-3.0-only", false),
        ("", false),
        ("to be agreed", false),
    ] {
        assert_eq!(is_free(licence, &licences), is_allowed, "{licence:?}");
    }
    Ok(())
}

/// A known weakness, from `.ci/advisories.toml`.
struct Advisory {
    id: String,
    name: String,
    /// From this version on and before that one, where there is one.
    fixed: Vec<(Version, Option<Version>)>,
    is_accepted: bool,
}

type Version = Vec<u64>;

fn version(text: &str) -> anyhow::Result<Version> {
    let numbers = text.split(['-', '+']).next().unwrap_or_default();
    numbers.split('.').map(|number| number.parse().with_context(|| format!("{text:?} is no version"))).collect()
}

fn advisories() -> anyhow::Result<Vec<Advisory>> {
    let list: toml::Table = std::fs::read_to_string(workspace().join(".ci/advisories.toml"))?.parse()?;
    let entries = list["advisory"].as_array().context("a list of advisories")?;
    let read = entries.iter().map(|entry| {
        let text = |key: &str| entry[key].as_str().map(str::to_owned).with_context(|| format!("{key} of {entry}"));
        let ranges = entry["fixed"].as_array().context("ranges of versions")?.iter().map(|range| {
            let ends = range.as_array().context("a range")?;
            let [from, before] = [0, 1].map(|end| ends[end].as_str().unwrap_or_default());
            let before = if before.is_empty() { None } else { Some(version(before)?) };
            anyhow::Ok((version(from)?, before))
        });
        let is_accepted = entry.get("accepted").and_then(|why| why.as_str()).is_some_and(|why| why.len() > 20);
        Ok(Advisory { id: text("id")?, name: text("crate")?, fixed: ranges.collect::<Result<_, _>>()?, is_accepted })
    });
    read.collect()
}

/// Every crate of `Cargo.lock` with its version, for every platform.
fn locked() -> anyhow::Result<Vec<(String, Version)>> {
    let lock: toml::Table = std::fs::read_to_string(workspace().join("Cargo.lock"))?.parse()?;
    let packages = lock["package"].as_array().context("packages")?;
    let read = packages.iter().map(|package| {
        let text = |key: &str| package[key].as_str().unwrap_or_default();
        Ok((text("name").to_owned(), version(text("version"))?))
    });
    read.collect()
}

impl Advisory {
    fn concerns(&self, (name, version): &(String, Version)) -> bool {
        let is_fixed = |(from, before): &(Version, Option<Version>)| {
            from <= version && before.as_ref().is_none_or(|before| version < before)
        };
        self.name == *name && !self.fixed.iter().any(is_fixed)
    }
}

/// The list is kept by hand, and is not every weakness that is known: `.ci/advisories.toml` says where it comes from.
#[test]
fn nothing_built_in_has_a_weakness_of_the_list_that_is_not_explained() -> anyhow::Result<()> {
    let (advisories, locked) = (advisories()?, locked()?);
    for advisory in &advisories {
        let concerned: Vec<_> = locked.iter().filter(|package| advisory.concerns(package)).collect();
        assert!(concerned.is_empty() || advisory.is_accepted, "{}: {concerned:?}", advisory.id);
        assert!(!concerned.is_empty() || !advisory.is_accepted, "{} is explained and built in no more", advisory.id);
    }
    // The versions that were built in before.
    for (name, before, id) in [("lopdf", "0.39.0", "RUSTSEC-2026-0187"), ("rand", "0.8.5", "RUSTSEC-2026-0097")] {
        let package = (name.to_owned(), version(before)?);
        assert!(advisories.iter().any(|one| one.id == id && one.concerns(&package)), "{id} is not seen");
    }
    Ok(())
}
