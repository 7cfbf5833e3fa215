//! Texts of people, read by the bot in the situations they were written in, and judged by the record. The rules are in
//! `tests/src/texts.rs`.

use pinset_tests::texts::dialogues;
use pinset_tests::texts::judge::{Verdict, judge};
use pinset_tests::texts::read::{self, Dialogue, LANGUAGES, Situation, Text, Who};
use pinset_tests::texts::report::Round;
use pinset_tests::texts::staging;
use pinset_tests::texts::world::World;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// All texts and dialogues of a folder, each in its situation.
async fn measure(folder: &Path) -> anyhow::Result<Round> {
    let mut round = Round::default();
    for language in LANGUAGES {
        let mut texts: BTreeMap<(Who, Situation), (Vec<Text>, Vec<Dialogue>)> = BTreeMap::new();
        let file = folder.join(format!("{language}.jsonl"));
        if file.exists() {
            for text in read::lines::<Text>(&file)? {
                texts.entry((text.role, text.situation)).or_default().0.push(text);
            }
        }
        let file = folder.join(format!("dialogues-{language}.jsonl"));
        if file.exists() {
            for dialogue in read::lines::<Dialogue>(&file)? {
                texts.entry((dialogue.role, dialogue.situation)).or_default().1.push(dialogue);
            }
        }
        for ((who, situation), (texts, talks)) in texts {
            let mut world = staging::set(language, who, situation).await?;
            for text in texts {
                let judged = judge(&mut world, &text).await?;
                round.texts.push((language, text, judged));
            }
            for dialogue in talks {
                let played = dialogues::play(&mut world, &dialogue).await?;
                let told = format!("{}    after   {:?}\n    changed {}\n", played.told, dialogue.after, played.changed);
                round.dialogues.push((language, dialogue.id, played.is_right, told));
            }
            world.close().await;
        }
    }
    Ok(round)
}

/// Where what became of each text is written.
fn told(name: &str) -> PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR")).join(name)
}

/// Texts whose verdict is known beforehand, with meanings that are right and meanings that are not: the judge must tell them
/// apart. The last field is the verdict.
const KNOWN: &[(&str, &str, &str, &str, bool, &str, Verdict)] = &[
    ("en", "restaurant", "plain", "5 lb shiitake for Thursday", true, ORDER_5_LB, Verdict::Exact),
    ("en", "restaurant", "plain", "5 lb shiitake for Thursday", true, ORDER_6_LB, Verdict::Wrong),
    ("en", "restaurant", "plain", "5 lb shiitake for Thursday", false, ORDER_6_LB, Verdict::NotRead),
    ("en", "restaurant", "plain", "5 lb shiitake for Thursday", true, r#"{"act":"courtesy"}"#, Verdict::Wrong),
    ("en", "restaurant", "plain", "zzgrmpf", true, ORDER_5_LB, Verdict::NotRead),
    ("en", "restaurant", "plain", "zzgrmpf", true, r#"{"act":"unclear"}"#, Verdict::Exact),
    ("en", "restaurant", "plain", "zzgrmpf", true, r#"{"act":"ask","about":"price"}"#, Verdict::NotRead),
    ("en", "restaurant", "plain", "/orders", true, r#"{"act":"ask","about":"my_order"}"#, Verdict::Exact),
    ("en", "restaurant", "plain", "/orders", true, r#"{"act":"ask","about":"price"}"#, Verdict::NotRead),
    ("en", "restaurant", "plain", "thanks", true, r#"{"act":"courtesy"}"#, Verdict::Exact),
    ("en", "restaurant", "plain", "/help", true, r#"{"act":"courtesy"}"#, Verdict::NotRead),
    ("en", "restaurant", "standing", "/standing", true, ENDS_OYSTER, Verdict::NotRead),
    ("es", "restaurant", "short", "sí", true, r#"{"act":"accept","grams":null}"#, Verdict::Exact),
    ("es", "restaurant", "short", "sí", true, r#"{"act":"refuse"}"#, Verdict::Wrong),
    ("es", "restaurant", "short", "no", true, r#"{"act":"refuse"}"#, Verdict::Exact),
    ("es", "restaurant", "offer", "4 kg", true, r#"{"act":"accept","grams":4000}"#, Verdict::Exact),
    ("es", "restaurant", "offer", "/orders", true, r#"{"act":"accept","grams":4000}"#, Verdict::NotRead),
    ("pl", "food_bank", "drop_asked", "tak", true, r#"{"act":"accept","grams":null}"#, Verdict::Exact),
    ("pl", "food_bank", "drop_asked", "tak", true, r#"{"act":"refuse"}"#, Verdict::Wrong),
    ("pl", "food_bank", "drop_asked", "tak", true, r#"{"act":"courtesy"}"#, Verdict::Act),
    ("pl", "food_bank", "drop_asked", "/drops", true, r#"{"act":"ask","about":"how_much"}"#, Verdict::Exact),
    ("pl", "food_bank", "drop_agreed", "zzgrmpf", true, r#"{"act":"cancel"}"#, Verdict::NotRead),
    ("en", "driver", "on_run", "/run", true, r#"{"act":"ask","about":"next_stop"}"#, Verdict::Exact),
    ("en", "driver", "on_run", "/run", true, HERON_DELIVERED, Verdict::Pressed),
    ("en", "driver", "on_run", "/run", true, r#"{"act":"ask","about":"address"}"#, Verdict::NotRead),
    ("en", "driver", "before_run", "/packing", true, r#"{"act":"ask","about":"what_to_load"}"#, Verdict::Exact),
    ("es", "grower", "growing", "cosechamos 2 kg de ostra", true, PICKED_2_KG, Verdict::Exact),
    ("es", "grower", "growing", "cosechamos 3 kg de ostra", true, PICKED_2_KG, Verdict::Wrong),
    ("es", "grower", "growing", "cosechamos 2 kg de ostra", false, r#"{"act":"unclear"}"#, Verdict::Act),
    ("es", "grower", "growing", "/shelves", true, r#"{"act":"ask","about":"what_is_there"}"#, Verdict::Exact),
    ("en", "keeper", "week", "picked 2 kg oyster", true, PICKED_2_KG, Verdict::Exact),
    ("en", "keeper", "week", "/coldroom", true, r#"{"act":"ask","about":"sold"}"#, Verdict::NotRead),
    ("en", "keeper", "week", "/went", true, r#"{"act":"ask","about":"sold"}"#, Verdict::Exact),
];

const ORDER_5_LB: &str = r#"{"act":"order","crop":"shiitake","grams":2268,"day":"2026-06-04","how":"set"}"#;
const ORDER_6_LB: &str = r#"{"act":"order","crop":"shiitake","grams":2722,"day":"2026-06-04","how":"set"}"#;
const ENDS_OYSTER: &str = r#"{"act":"cancel","crop":"oyster","standing":true}"#;
const HERON_DELIVERED: &str = r#"{"act":"delivered","buyer":"Night Heron Noodle Bar"}"#;
const PICKED_2_KG: &str = r#"{"act":"picked","crop":"oyster","grams":2000,"day":"2026-06-01"}"#;

#[tokio::test]
async fn the_judge_tells_right_from_wrong() -> anyhow::Result<()> {
    let mut misjudged = Vec::new();
    let mut at: Option<(&str, &str, &str, World)> = None;
    for (number, (language, role, situation, said, clear, means, verdict)) in KNOWN.iter().enumerate() {
        let text: Text = serde_json::from_value(serde_json::json!({
            "id": number.to_string(), "role": role, "situation": situation, "text": said, "clear": clear,
            "means": [serde_json::from_str::<serde_json::Value>(means)?],
        }))?;
        let is_there = at.as_ref().is_some_and(|one| (one.0, one.1, one.2) == (*language, *role, *situation));
        if !is_there {
            if let Some((.., world)) = at.take() {
                world.close().await;
            }
            at = Some((language, role, situation, staging::set(language, text.role, text.situation).await?));
        }
        let Some((.., world)) = &mut at else { continue };
        let judged = judge(world, &text).await?;
        if judged.verdict != *verdict {
            misjudged.push(format!("{said:?} as {means} is not {verdict:?} but {judged:?}"));
        }
    }
    assert!(misjudged.is_empty(), "{}", misjudged.join("\n"));
    Ok(())
}

/// Least rates of a round's language.
#[derive(serde::Deserialize)]
struct Rates {
    /// Percent of the clear texts that are exact at once, and after at most one press or answer.
    exact: f64,
    reached: f64,
    /// Dialogues that end right.
    dialogues: usize,
}

/// The rounds that were measured and joined the files: nothing is misread, nothing happens that nobody meant, and what was
/// understood once stays understood.
#[tokio::test]
async fn measured_rounds_stay_understood() -> anyhow::Result<()> {
    let files = Path::new(env!("CARGO_MANIFEST_DIR")).join("texts");
    let least: BTreeMap<String, BTreeMap<String, Rates>> =
        toml::from_str(&std::fs::read_to_string(files.join("rates.toml"))?)?;
    let mut rounds: Vec<PathBuf> =
        std::fs::read_dir(&files)?.map(|one| Ok(one?.path())).collect::<anyhow::Result<_>>()?;
    rounds.retain(|path| path.is_dir());
    let names = rounds.iter().filter_map(|path| path.file_name()).map(|name| name.to_string_lossy().into_owned());
    assert_eq!(
        least.keys().cloned().collect::<BTreeSet<_>>(),
        names.collect(),
        "rounds, and their rates in rates.toml"
    );
    for (name, rates) in least {
        let round = measure(&files.join(&name)).await?;
        std::fs::write(told(&format!("texts-{name}.txt")), round.every_text())?;
        let bad = round.texts.iter().filter(|(.., judged)| matches!(judged.verdict, Verdict::Wrong | Verdict::Act));
        let bad: Vec<_> = bad.map(|(_, text, judged)| format!("{} {:?}: {}", text.id, text.text, judged.way)).collect();
        assert!(bad.is_empty(), "{name}: {bad:#?}");
        for language in LANGUAGES {
            let (count, rates) = (round.count(language, None, true), &rates[language]);
            assert!(count.of > 0, "{name}: no texts in {language}");
            let (exact, reached, right) = (count.exact_rate(), count.reached_rate(), round.dialogues(language).0);
            assert!(exact >= rates.exact, "{name} {language}: {exact:.1} % exact");
            assert!(reached >= rates.reached, "{name} {language}: {reached:.1} % after a press or answer");
            assert!(right >= rates.dialogues, "{name} {language}: {right} dialogues");
        }
    }
    Ok(())
}

#[tokio::test]
#[ignore = "measures the texts in the folder PINSET_TEXTS"]
async fn a_folder_of_texts() -> anyhow::Result<()> {
    let folder = std::env::var("PINSET_TEXTS")?;
    let round = measure(Path::new(&folder)).await?;
    anyhow::ensure!(!round.texts.is_empty(), "no texts in {folder}");
    let file = told("texts.txt");
    std::fs::write(&file, round.every_text())?;
    println!("{}\n{}", round.table(), file.display());
    Ok(())
}
