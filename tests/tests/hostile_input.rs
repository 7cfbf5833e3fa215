//! The inputs kept in `tests/fuzz/corpus`, each put where its fuzz target puts it: what was found once stays found, without a
//! fuzzer.

use pinset::wording::Wording;
use pinset_tests::hostile;
use std::path::Path;

/// Every input of a target.
fn corpus(target: &str) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/corpus").join(target);
    let entries = std::fs::read_dir(&folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let inputs: Vec<_> = entries.map(|entry| std::fs::read(entry.expect("an entry").path()).expect("a file")).collect();
    assert!(!inputs.is_empty(), "nothing is kept for {target}");
    inputs
}

#[test]
fn what_is_posted_and_said_and_pressed_breaks_nothing() {
    type Target = (&'static str, fn(&hostile::Ground, &[u8]));
    let targets: [Target; 4] = [
        ("update", hostile::update),
        ("callback", hostile::callback),
        ("conversation", hostile::conversation),
        ("backup", hostile::backup),
    ];
    for (name, target) in targets {
        for input in corpus(name) {
            hostile::on_ground(|ground| target(ground, &input));
        }
    }
}

#[test]
fn texts_are_read_within_limits() {
    corpus("phrase").iter().for_each(|input| hostile::phrase(input));
}

#[test]
fn configurations_are_refused_with_a_reason_or_good() {
    let wording = Wording::embedded().expect("the words are whole");
    corpus("configuration").iter().for_each(|input| hostile::configuration(&wording, input));
}
