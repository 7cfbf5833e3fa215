//! What is built in: every licence is one of those allowed in `.ci/deny.toml` (SPDX expressions read by the spdx crate), and
//! everything comes from the one registry, unchanged. Crates that are there in two versions are printed. Known weaknesses
//! are not looked up here: that takes a list from elsewhere, and `.ci/run` says when it was not looked at.

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
