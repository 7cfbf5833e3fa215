//! The table of a round, and each text with what became of it.

use super::judge::{Judged, Verdict};
use super::read::{Text, Who};
use std::collections::BTreeMap;
use std::fmt::Write;

/// Verdicts counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Count {
    pub of: usize,
    pub exact: usize,
    pub pressed: usize,
    pub not_read: usize,
    pub wrong: usize,
    pub act: usize,
}

impl Count {
    fn add(&mut self, verdict: Verdict) {
        self.of += 1;
        *match verdict {
            Verdict::Exact => &mut self.exact,
            Verdict::Pressed => &mut self.pressed,
            Verdict::NotRead => &mut self.not_read,
            Verdict::Wrong => &mut self.wrong,
            Verdict::Act => &mut self.act,
        } += 1;
    }

    /// Percent of the texts that were exact at once.
    pub fn exact_rate(&self) -> f64 {
        percent(self.exact, self.of)
    }

    /// Percent of the texts that were so after at most one press or answer more.
    pub fn reached_rate(&self) -> f64 {
        percent(self.exact + self.pressed, self.of)
    }
}

fn percent(part: usize, of: usize) -> f64 {
    if of == 0 { 100.0 } else { 100.0 * part as f64 / of as f64 }
}

/// Every text of a round with its verdict.
#[derive(Debug, Default)]
pub struct Round {
    pub texts: Vec<(&'static str, Text, Judged)>,
    /// Language, identifier, whether it was right, and what was said.
    pub dialogues: Vec<(&'static str, String, bool, String)>,
}

impl Round {
    /// The texts of a language that are clear, or that are not; of a role, or of all.
    pub fn count(&self, language: &str, role: Option<Who>, is_clear: bool) -> Count {
        let mut count = Count::default();
        let of = self.texts.iter().filter(|(in_language, text, _)| {
            *in_language == language && text.clear == is_clear && role.is_none_or(|role| role == text.role)
        });
        of.for_each(|(.., judged)| count.add(judged.verdict));
        count
    }

    /// How many dialogues of a language ended right, of how many.
    pub fn dialogues(&self, language: &str) -> (usize, usize) {
        let of: Vec<_> = self.dialogues.iter().filter(|one| one.0 == language).collect();
        (of.iter().filter(|one| one.2).count(), of.len())
    }

    /// The table.
    pub fn table(&self) -> String {
        let mut table = String::from(
            "| language | who | texts | exact | pressed | not read | wrong | act | exact % | reached % |\n\
             | --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n",
        );
        let roles: BTreeMap<Who, &str> = [
            (Who::Restaurant, "restaurant"),
            (Who::FoodBank, "food bank"),
            (Who::Driver, "driver"),
            (Who::Grower, "grower"),
            (Who::Keeper, "keeper"),
        ]
        .into();
        for language in super::read::LANGUAGES {
            for is_clear in [true, false] {
                let rows = roles.iter().map(|(role, name)| (Some(*role), *name)).chain([(None, "all")]);
                for (role, name) in rows {
                    let count = self.count(language, role, is_clear);
                    if count.of == 0 {
                        continue;
                    }
                    let clear = if is_clear { "clear" } else { "unclear" };
                    let _ = writeln!(
                        table,
                        "| {language} | {name}, {clear} | {} | {} | {} | {} | {} | {} | {:.0} | {:.0} |",
                        count.of,
                        count.exact,
                        count.pressed,
                        count.not_read,
                        count.wrong,
                        count.act,
                        count.exact_rate(),
                        count.reached_rate(),
                    );
                }
            }
            let (right, of) = self.dialogues(language);
            if of > 0 {
                let _ = writeln!(
                    table,
                    "| {language} | dialogues | {of} | {right} | | | | | {:.0} | |",
                    percent(right, of)
                );
            }
        }
        table
    }

    /// Each text with what became of it, the worst first.
    pub fn every_text(&self) -> String {
        let mut texts: Vec<_> = self.texts.iter().collect();
        texts.sort_by_key(|(language, text, judged)| {
            (*language, std::cmp::Reverse(judged.verdict), text.role, text.id.clone())
        });
        let mut told = String::new();
        for (_, text, judged) in texts {
            let clear = if text.clear { "" } else { " (not clear)" };
            let _ = writeln!(
                told,
                "{:?}\t{}\t{:?} {:?}{clear}\t{}",
                judged.verdict, text.id, text.role, text.situation, text.text
            );
            let _ = writeln!(told, "    means   {:?}", text.means);
            let _ = writeln!(told, "    wishes  {}", judged.wishes.join(", "));
            let _ = writeln!(told, "    answer  {}", judged.answer.replace('\n', "\n            "));
            let _ = writeln!(told, "    buttons {}", judged.offered.join(" | "));
            if !judged.changed.is_empty() {
                let _ = writeln!(told, "    changed {}", judged.changed);
            }
            let _ = writeln!(told, "    because {}\n", judged.way);
        }
        for (language, id, is_right, dialogue) in &self.dialogues {
            let _ = writeln!(told, "{}\t{language}\t{id}\n{dialogue}", if *is_right { "Right" } else { "Not right" });
        }
        told
    }
}
