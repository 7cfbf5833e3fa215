//! How many actions a task takes: every message typed and every button pressed is counted while a farm's two weeks are
//! played in each language. The table in DEVELOPERS.md is held to what was counted.

use anyhow::Context;
use pinset_tests::tasks::{self, LANGUAGES};
use std::collections::BTreeMap;

/// A chef with wet hands: what these tasks may take at the most. Our own limits.
const LIMITS: [(&str, usize); 8] = [
    ("place the usual order", 2),
    ("change one line", 3),
    ("skip a week", 2),
    ("answer a shortfall", 1),
    ("take an offer", 1),
    ("agree a drop", 1),
    ("log a pick", 2),
    ("see today", 1),
];

/// The table of DEVELOPERS.md: who, task, median of the languages.
async fn counted() -> anyhow::Result<Vec<(&'static str, &'static str, usize)>> {
    let mut counts: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    let mut order = Vec::new();
    for words in &LANGUAGES {
        let play = tasks::play(words, None).await?;
        order = play.counted.iter().map(|(who, name, _)| (*who, *name)).collect();
        for (_, name, actions) in play.counted {
            counts.entry(name).or_default().push(actions);
        }
        play.farm.stage.close().await;
    }
    Ok(order
        .into_iter()
        .map(|(who, name)| {
            let mut of = counts[name].clone();
            of.sort_unstable();
            (who, name, of[of.len() / 2])
        })
        .collect())
}

#[tokio::test]
async fn tasks_take_few_actions_and_the_table_says_so() -> anyhow::Result<()> {
    let counted = counted().await?;
    assert!(counted.len() >= 20, "only {} tasks", counted.len());
    for (name, most) in LIMITS {
        let (.., actions) = counted.iter().find(|(_, task, _)| *task == name).context(name)?;
        assert!(*actions <= most, "{name} takes {actions} actions, at most {most} are allowed");
    }
    let limit =
        |name| LIMITS.iter().find(|(task, _)| *task == name).map_or(String::new(), |(_, most)| most.to_string());
    let rows = counted.iter().map(|(who, name, actions)| format!("| {who} | {name} | {actions} | {} |", limit(*name)));
    let table = rows.collect::<Vec<_>>().join("\n");
    let guide = include_str!("../../DEVELOPERS.md");
    let (_, part) = guide.split_once("| who | task | actions | at most |\n|---|---|---|---|\n").context("a table")?;
    let written: Vec<&str> = part.lines().take_while(|line| line.starts_with('|')).collect();
    assert_eq!(written.join("\n"), table, "DEVELOPERS.md must say:\n{table}\n");
    Ok(())
}
