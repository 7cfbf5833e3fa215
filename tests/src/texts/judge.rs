//! What is to be said of one text: says it, and looks for the way from there to what was meant, over the yes that confirms
//! and at most one press or answer more.

use super::answers::Admissions;
use super::outcomes::{are_met, is_of_record};
use super::questions;
use super::read::{Meaning, Order, Question, Text, Unsaid};
use super::world::{Offered, Reading, World};
use chrono::{Datelike, Weekday};
use scheduler::clock::LocalDate;

/// Characters of a short friendly word.
const SHORT: usize = 80;
/// Buttons of one answer that are tried.
const BUTTONS_MOST: usize = 16;
/// Grams taken where the text says no amount, by the unit of the language; and the crop, where it says none.
const AMOUNT: [(&str, i64, &str); 3] = [("en", 2268, "5 lb"), ("es", 2500, "2.5 kg"), ("pl", 2500, "2,5 kg")];
const CROP: &str = "oyster";

/// What is said of a text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    Exact,
    Pressed,
    NotRead,
    Wrong,
    Act,
}

/// A verdict with what led to it.
#[derive(Clone, Debug)]
pub struct Judged {
    pub verdict: Verdict,
    /// The presses and answers that led to what was meant, or why it was not reached.
    pub way: String,
    pub wishes: Vec<String>,
    pub answer: String,
    pub offered: Vec<String>,
    /// What changed at once.
    pub changed: String,
}

/// One more step.
#[derive(Clone, Debug)]
enum Step {
    Yes,
    Press(Offered),
    /// Typed; whether the text itself left it open.
    Type(String, bool),
}

impl Step {
    fn told(&self) -> String {
        match self {
            Step::Yes => "yes".into(),
            Step::Press(button) => format!("[{}]", button.label),
            Step::Type(text, _) => format!("“{text}”"),
        }
    }

    /// Whether it counts as a press or an answer more.
    fn is_more(&self) -> bool {
        matches!(self, Step::Press(_) | Step::Type(_, false))
    }
}

/// Judges a text; the world is then as it was before.
///
/// # Errors
/// When the bot hangs or the store fails.
pub async fn judge(world: &mut World, text: &Text) -> anyhow::Result<Judged> {
    let admissions = Admissions::of(world.language)?;
    let reading = world.say(&text.text).await?;
    let is_changed = world.is_changed().await?;
    let (verdict, way) = verdict(world, text, (&reading, is_changed), &admissions).await?;
    world.go_home().await?;
    let labels = reading.yes.iter().map(|button| format!("{} (yes)", button.label));
    Ok(Judged {
        verdict,
        way,
        answer: reading.text(),
        offered: labels.chain(reading.offered.iter().map(|button| button.label.clone())).collect(),
        changed: if is_changed { reading.books.news(&world.books) } else { String::new() },
        wishes: reading.wishes,
    })
}

async fn verdict(
    world: &mut World,
    text: &Text,
    (reading, is_changed): (&Reading, bool),
    admissions: &Admissions,
) -> anyhow::Result<(Verdict, String)> {
    let is_admission = admissions.are_in(&reading.text());
    let told = |verdict, why: &str| Ok((verdict, why.to_owned()));
    // An order put as a question must be possible to place.
    let (means, fillings) = filled(world, &text.means);
    let acts: Vec<&Meaning> = means.iter().filter(|one| is_of_record(one)).collect();
    if acts.is_empty() {
        if is_changed && !means.iter().any(may_change) {
            return told(Verdict::Act, "the record changed");
        }
        return quiet(world, (&means, text.clear), (reading, is_changed), is_admission).await;
    }
    let goal = Goal { acts: acts.clone(), world_books: world.books.clone(), fillings };
    let is_asked_too = acts.len() < means.len();
    if let Some((verdict, way)) = search(world, reading, &goal).await? {
        if is_asked_too && !are_asked(&means, reading, world) {
            return told(Verdict::NotRead, "done, but what else was asked was not answered");
        }
        let is_for_keeper = means.iter().any(|one| matches!(one, Meaning::Complaint {} | Meaning::Person {}));
        if is_for_keeper && passed_on(world, reading, is_admission).await?.0 == Verdict::NotRead {
            return told(Verdict::NotRead, "done, but nobody hears of the rest");
        }
        return Ok((verdict, way));
    }
    if let [Meaning::Undo {} | Meaning::Swap { .. } | Meaning::Cancel { .. }] = acts.as_slice()
        && !is_changed
        && !is_admission
        && reading.yes.is_none()
        && are_met(&world.books, &world.books, &acts, &world.scene)
        && !reading.answers.is_empty()
    {
        return told(Verdict::Exact, "there was nothing to change, and so it was said");
    }
    let part = |books: &super::books::Books| {
        acts.len() > 1 && acts.iter().any(|act| are_met(&world.books, books, &[act], &world.scene))
    };
    if is_changed {
        return match part(&reading.books) {
            true => told(Verdict::NotRead, "only a part was done"),
            false => told(Verdict::Wrong, "the record says something else"),
        };
    }
    if let Some(yes) = reading.yes.clone() {
        let confirmed = world.press(&yes).await?;
        if confirmed.books != world.books {
            return match (part(&confirmed.books), text.clear) {
                (true, _) => told(Verdict::NotRead, "only a part was said back"),
                (false, false) => told(Verdict::NotRead, "asked whether something else is meant"),
                (false, true) => {
                    Ok((Verdict::Wrong, format!("said back something else: {}", confirmed.books.news(&world.books))))
                }
            };
        }
    }
    told(
        Verdict::NotRead,
        if is_admission { "not understood" } else { "asked or said something that does not lead there" },
    )
}

/// Meanings outside the record that may leave their mark there all the same.
fn may_change(meaning: &Meaning) -> bool {
    matches!(
        meaning,
        Meaning::Late { .. }
            | Meaning::NobodyThere { .. }
            | Meaning::Left {}
            | Meaning::Complaint {}
            | Meaning::Person {}
            | Meaning::NothingYet {}
    )
}

/// What is meant when nothing is to be written down.
async fn quiet(
    world: &mut World,
    (means, is_clear): (&[Meaning], bool),
    (reading, is_changed): (&Reading, bool),
    is_admission: bool,
) -> anyhow::Result<(Verdict, String)> {
    let told = |verdict, why: &str| Ok((verdict, why.to_owned()));
    if let Some(yes) = &reading.yes
        && !means.iter().any(|one| matches!(one, Meaning::Unclear {}))
        && !means.iter().any(is_possible)
    {
        let verdict = if is_clear { Verdict::Wrong } else { Verdict::NotRead };
        return Ok((verdict, format!("said back something to do: {}", yes.label)));
    }
    let is_said = !reading.answers.is_empty();
    let (mut verdict, mut way) = (Verdict::Exact, Vec::new());
    for meaning in means {
        let one = match meaning {
            Meaning::Courtesy {} => {
                let is_short = reading.answers.len() <= 1 && reading.text().chars().count() <= SHORT;
                match is_short && !is_admission && reading.offered.is_empty() {
                    true => (Verdict::Exact, "nothing happened".to_owned()),
                    false => (Verdict::NotRead, "more than a short answer".to_owned()),
                }
            }
            Meaning::Unclear {} if is_said => (Verdict::Exact, "nothing happened".to_owned()),
            Meaning::Ask(question) if question.about == "possible" => possible(world, question, reading).await?,
            Meaning::Ask(question) if !is_admission && questions::is_answered(question, reading, &world.scene) => {
                (Verdict::Exact, "answered".to_owned())
            }
            Meaning::WhoComes {} if !is_admission => {
                match questions::is_answered(&who_comes(), reading, &world.scene) {
                    true => (Verdict::Exact, "answered".to_owned()),
                    false => (Verdict::NotRead, "answered on another subject".to_owned()),
                }
            }
            Meaning::NothingYet {} if is_said && !is_admission => (Verdict::Exact, "taken as it is".to_owned()),
            Meaning::Late { .. } | Meaning::NobodyThere { .. } if !reading.heard.is_empty() => {
                (Verdict::Exact, "somebody hears of it".to_owned())
            }
            Meaning::Left {} if is_said && !is_admission => (Verdict::Exact, "taken as it is".to_owned()),
            Meaning::Complaint {} | Meaning::Person {} | Meaning::Late { .. } | Meaning::NobodyThere { .. } => {
                passed_on(world, reading, is_admission).await?
            }
            Meaning::Ask(question) if question.about == "other" => match passed_on(world, reading, is_admission).await?
            {
                (Verdict::Exact | Verdict::Pressed, way) => (Verdict::Pressed, way),
                other => other,
            },
            _ if is_said && !is_admission => (Verdict::NotRead, "answered on another subject".to_owned()),
            _ => (Verdict::NotRead, "not understood".to_owned()),
        };
        verdict = verdict.max(one.0);
        way.push(one.1);
    }
    if is_changed && verdict == Verdict::NotRead {
        return told(Verdict::Wrong, "the record says something else");
    }
    Ok((verdict, way.join("; ")))
}

fn who_comes() -> Question {
    Question { about: "who_comes".into(), ..Question::default() }
}

fn is_possible(meaning: &Meaning) -> bool {
    matches!(meaning, Meaning::Ask(question) if question.about == "possible")
}

fn are_asked(means: &[Meaning], reading: &Reading, world: &World) -> bool {
    means.iter().all(|one| match one {
        Meaning::Ask(question) => questions::is_answered(question, reading, &world.scene),
        Meaning::WhoComes {} => questions::is_answered(&who_comes(), reading, &world.scene),
        _ => true,
    })
}

/// An order put as a question: nothing is ordered, and one press of what is offered orders it.
async fn possible(world: &mut World, question: &Question, reading: &Reading) -> anyhow::Result<(Verdict, String)> {
    let is_closed = world.scene.is_short && question.day.is_none_or(|day| day < world.scene.next);
    if is_closed || question.crop.is_none() || question.grams.is_none() {
        // Without an amount it is asked what there is; what a closed day can still bring is told, not ordered.
        let asked = Question { about: "available".into(), ..question.clone() };
        return Ok(match questions::is_answered(&asked, reading, &world.scene) {
            true => (Verdict::Exact, "answered".into()),
            false => (Verdict::NotRead, "not answered".into()),
        });
    }
    let order = Order { crop: question.crop.clone(), grams: question.grams, day: question.day, ..Order::default() };
    let meaning = Meaning::Order(order);
    let goal = Goal { acts: vec![&meaning], world_books: world.books.clone(), fillings: Vec::new() };
    Ok(match search(world, reading, &goal).await? {
        Some((_, way)) if !way.contains(',') => (Verdict::Exact, format!("the button that orders it: {way}")),
        Some((_, way)) => (Verdict::Pressed, way),
        None => (Verdict::NotRead, "no button that orders it".into()),
    })
}

/// The keeper hears of it at once, or by a button under the answer.
async fn passed_on(world: &mut World, reading: &Reading, is_admission: bool) -> anyhow::Result<(Verdict, String)> {
    let keeper = world.keeper.0;
    if reading.heard.contains(&keeper) {
        return Ok((Verdict::Exact, "the keeper hears of it".into()));
    }
    let here = world.keep().await?;
    for button in reading.yes.iter().chain(&reading.offered).take(BUTTONS_MOST) {
        let pressed = world.press(button).await?;
        let is_heard = pressed.heard.contains(&keeper) && pressed.books == reading.books;
        world.go_back(&here).await?;
        if is_heard {
            // Under an admission it is the way out that everything has.
            let verdict = if is_admission { Verdict::Pressed } else { Verdict::Exact };
            return Ok((verdict, format!("[{}] passes it on", button.label)));
        }
    }
    Ok((Verdict::NotRead, "nobody hears of it".into()))
}

/// What is looked for.
struct Goal<'a> {
    acts: Vec<&'a Meaning>,
    world_books: super::books::Books,
    /// What a person answers where the text leaves something open.
    fillings: Vec<String>,
}

/// The shortest way from a reading to the goal.
async fn search(world: &mut World, reading: &Reading, goal: &Goal<'_>) -> anyhow::Result<Option<(Verdict, String)>> {
    for more in 0..=1 {
        let here = world.keep().await?;
        let found = Box::pin(walk(world, reading, goal, (more, 2), 0)).await?;
        world.go_back(&here).await?;
        if let Some(mut way) = found {
            way.reverse();
            let verdict = if more == 0 { Verdict::Exact } else { Verdict::Pressed };
            return Ok(Some((verdict, if way.is_empty() { "at once".into() } else { way.join(", ") })));
        }
    }
    Ok(None)
}

/// Walks on from a reading with so many more presses and confirmations; the way backwards.
async fn walk(
    world: &mut World,
    reading: &Reading,
    goal: &Goal<'_>,
    (more, yeses): (usize, usize),
    filled: usize,
) -> anyhow::Result<Option<Vec<String>>> {
    // What stays as it is was not done, unless that is what is meant: then it is for the caller to say.
    if reading.books != goal.world_books {
        let is_met = |acts: &[&Meaning]| are_met(&goal.world_books, &reading.books, acts, &world.scene);
        if is_met(&goal.acts) {
            return Ok(Some(Vec::new()));
        }
        // What was written down wrongly is not made right by mending it; of several things one may be done first.
        if goal.acts.len() == 1 || !goal.acts.iter().any(|act| is_met(&[*act])) {
            return Ok(None);
        }
    }
    let mut steps = Vec::new();
    if yeses > 0 && reading.yes.is_some() {
        steps.push(Step::Yes);
    }
    if filled < goal.fillings.len() && reading.is_asked {
        steps.extend(goal.fillings.iter().map(|text| Step::Type(text.clone(), true)));
    }
    if more > 0 {
        steps.extend(reading.offered.iter().take(BUTTONS_MOST).cloned().map(Step::Press));
        if reading.yes.is_none() && reading.is_asked {
            let texts = goal.acts.iter().flat_map(|act| obvious(act, world.language));
            steps.extend(texts.map(|text| Step::Type(text, false)));
        }
    }
    if steps.is_empty() {
        return Ok(None);
    }
    let here = world.keep().await?;
    for step in steps {
        let next = match &step {
            Step::Yes => world.press(reading.yes.as_ref().expect("it was looked for")).await?,
            Step::Press(button) => world.press(button).await?,
            Step::Type(text, _) => world.say(text).await?,
        };
        let left = (more - usize::from(step.is_more()), yeses - usize::from(matches!(step, Step::Yes)));
        let filled = filled + usize::from(matches!(step, Step::Type(_, true)));
        let found = Box::pin(walk(world, &next, goal, left, filled)).await?;
        world.go_back(&here).await?;
        if let Some(mut way) = found {
            way.push(step.told());
            return Ok(Some(way));
        }
    }
    Ok(None)
}

/// The meanings with what was left open filled in, and what a person then answers.
fn filled(world: &World, means: &[Meaning]) -> (Vec<Meaning>, Vec<String>) {
    let mut fillings = Vec::new();
    let (_, grams, amount) = AMOUNT.iter().find(|(language, ..)| *language == world.language).expect("a language");
    let mut fill = |order: &Order| {
        let mut order = order.clone();
        if order.crop.is_none() {
            order.crop = Some(CROP.into());
            fillings.push(crop_name(CROP, world.language).to_owned());
        }
        if order.grams.is_none() {
            order.grams = Some(*grams);
            fillings.push((*amount).to_owned());
        }
        if order.day.is_none() {
            order.day = Some(world.scene.next);
        }
        if order.unsaid.contains(&Unsaid::Day) {
            fillings.push(day_name(order.day.unwrap_or(world.scene.next), world.language));
        }
        order
    };
    let means: Vec<Meaning> = means
        .iter()
        .map(|one| match one {
            Meaning::Order(order) => Meaning::Order(fill(order)),
            Meaning::OrderFor(order) => Meaning::OrderFor(fill(order)),
            other => other.clone(),
        })
        .collect();
    if means.iter().any(|one| matches!(one, Meaning::Started { .. } | Meaning::Soaked { .. })) {
        // What a new batch is asked for, and nobody says in one breath.
        fillings.extend([written(1000, world.language), "North room".to_owned()]);
    }
    (means, fillings)
}

/// What a person would answer to the question for a fact of this.
fn obvious(meaning: &Meaning, language: &str) -> Vec<String> {
    let mut texts = Vec::new();
    let (crop, grams, day) = match meaning {
        Meaning::Order(order) | Meaning::OrderFor(order) => {
            texts.extend(order.buyer.clone());
            (order.crop.as_deref(), order.grams, order.day)
        }
        Meaning::Standing { crop, grams, from, .. } => (crop.as_deref(), *grams, *from),
        Meaning::Cancel { crop, day, .. } | Meaning::CancelFor { crop, day, .. } => (crop.as_deref(), None, *day),
        Meaning::Skip { from, .. } => (None, None, Some(*from)),
        Meaning::Picked { crop, grams, .. } | Meaning::ThrownAway { crop, grams } | Meaning::Stock { crop, grams } => {
            (crop.as_deref(), *grams, None)
        }
        Meaning::Accept { grams } => (None, *grams, None),
        Meaning::ThrownOut { crop, units } | Meaning::Soaked { crop, units, .. } => {
            texts.extend(units.map(|units| units.to_string()));
            (crop.as_deref(), None, None)
        }
        Meaning::Pins { crop } | Meaning::FlushOver { crop } => (crop.as_deref(), None, None),
        _ => (None, None, None),
    };
    if let Meaning::Temperature { .. } = meaning {
        texts.push(if language == "en" { "F" } else { "C" }.to_owned());
    }
    texts.extend(grams.map(|grams| written(grams, language)));
    texts.extend(crop.map(|crop| crop_name(crop, language).to_owned()));
    texts.extend(day.map(|day| day_name(day, language)));
    texts
}

/// A weight as people of this language write it.
fn written(grams: i64, language: &str) -> String {
    match language {
        "en" => {
            let ounces = (grams as f64 / 28.349_523_125).round() as i64;
            match (ounces / 16, ounces % 16) {
                (pounds, 0) => format!("{pounds} lb"),
                (0, ounces) => format!("{ounces} oz"),
                (pounds, ounces) => format!("{pounds} lb {ounces} oz"),
            }
        }
        _ if grams % 1000 == 0 => format!("{} kg", grams / 1000),
        _ => format!("{grams} g"),
    }
}

fn crop_name(crop: &str, language: &str) -> &'static str {
    match (crop, language) {
        ("shiitake", _) => "shiitake",
        (_, "es") => "ostra",
        (_, "pl") => "boczniak",
        _ => "oyster",
    }
}

/// A day as people of this language answer "which day?".
pub fn day_name(day: LocalDate, language: &str) -> String {
    if day.weekday() == Weekday::Thu && day.day() == 4 {
        return match language {
            "es" => "jueves",
            "pl" => "czwartek",
            _ => "Thursday",
        }
        .into();
    }
    let month = day.month();
    match language {
        "es" => format!("{} de {}", day.day(), if month == 6 { "junio" } else { "julio" }),
        "pl" => format!("{} {}", day.day(), if month == 6 { "czerwca" } else { "lipca" }),
        _ => format!("{} {}", if month == 6 { "June" } else { "July" }, day.day()),
    }
}
