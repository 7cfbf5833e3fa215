//! The phrase files, read with their expected readings, and what must hold for any text at all.

use super::*;
use crate::wording::Language;
use proptest::prelude::*;

const ENGLISH: &str = include_str!("phrases/en.tsv");
const SPANISH: &str = include_str!("phrases/es.tsv");
const POLISH: &str = include_str!("phrases/pl.tsv");

fn words(tag: &str) -> std::sync::Arc<Words> {
    Words::of(Language::from_code(tag).expect("a language on board"))
}

fn reader(language: &str) -> Reader {
    let crop = |key: &str| CropWords { key: key.to_owned(), words: Vec::new() };
    Reader::new(&words(language), &[crop("shiitake"), crop("oyster")])
}

/// What the files are read against: Tuesday 2 March 2027, no usual unit, no usual order of day and month.
fn context() -> Context {
    Context {
        today: date("2027-03-02"),
        unit_default: None,
        day_month_order: None,
        delivery_weekday: Some(Weekday::Thu),
    }
}

fn date(iso: &str) -> LocalDate {
    iso.parse().expect("an ISO date")
}

/// A line of a phrase file: `e` (everyday) or `h` (hard), the phrase, the reading. Lines with `@` change the context.
struct Case<'a> {
    is_hard: bool,
    phrase: String,
    expected: &'a str,
    context: Context,
}

fn cases(file: &str) -> Vec<Case<'_>> {
    let mut now = context();
    let mut all = Vec::new();
    for line in file.lines().filter(|line| !line.is_empty() && !line.starts_with('#')) {
        let mut cells = line.split('\t');
        match (cells.next(), cells.next(), cells.next(), cells.next()) {
            (Some("@"), Some(setting), None, None) => now = with(now, setting),
            (Some(mark @ ("e" | "h")), Some(phrase), Some(expected), None) => {
                all.push(Case { is_hard: mark == "h", phrase: phrase.replace("\\n", "\n"), expected, context: now });
            }
            _ => panic!("a line of another form: {line}"),
        }
    }
    all
}

fn with(mut context: Context, setting: &str) -> Context {
    match setting.split_once('=').expect("name=value") {
        ("today", day) => context.today = date(day),
        ("unit", "ask") => context.unit_default = None,
        ("unit", "metric") => context.unit_default = Some(UnitSystem::Metric),
        ("unit", "avoirdupois") => context.unit_default = Some(UnitSystem::Avoirdupois),
        ("order", "ask") => context.day_month_order = None,
        ("order", "day") => context.day_month_order = Some(DayMonthOrder::DayFirst),
        ("order", "month") => context.day_month_order = Some(DayMonthOrder::MonthFirst),
        _ => panic!("an unknown setting: {setting}"),
    }
    context
}

fn shown(reading: &Reading) -> String {
    match reading {
        Reading::Nothing => "nothing".to_owned(),
        Reading::Understood(phrase) => shown_phrase(phrase),
        Reading::Guess { phrase, left } => format!("ask-guess:{}:{}", left.join(" "), shown_phrase(phrase)),
        Reading::Unclear(question) => format!("ask-{}", shown_question(question)),
    }
}

fn shown_phrase(phrase: &Phrase) -> String {
    let count = |units: &Option<i64>| units.map(|units| format!(" {units}")).unwrap_or_default();
    let crop = |crop: &Option<String>| crop.iter().map(|c| format!(" {c}")).collect::<String>();
    let on = |on: &Option<LocalDate>| on.iter().map(|d| format!(" @{d}")).collect::<String>();
    let day = |name: &str, date: &Option<LocalDate>| date.iter().map(|d| format!(" {name}:{d}")).collect::<String>();
    let batch = |batch: &Option<String>| batch.iter().map(|b| format!(" batch:{b}")).collect::<String>();
    match phrase {
        Phrase::Order { lines, when } => format!("order{}{}", shown_lines(lines), shown_when(when)),
        Phrase::Standing { lines, every_weeks, weekdays, from, until } => {
            let days: Vec<String> = weekdays.iter().map(|d| d.to_string().to_lowercase()).collect();
            let (from, until) = (day("from", from), day("until", until));
            format!("standing{} every:{every_weeks} {}{from}{until}", shown_lines(lines), days.join(","))
        }
        Phrase::SameAsLast { when } => format!("same{}", shown_when(when)),
        Phrase::Skip { when, crop: one } => format!("skip{}{}", crop(one), shown_when(when)),
        Phrase::Change { lines, when } => format!("change{}{}", shown_lines(lines), shown_when(when)),
        Phrase::NoCrop { crop, when } => format!("without {crop}{}", shown_when(when)),
        Phrase::Pause { from, until, is_open } => {
            format!("pause{}{}{}", day("from", from), day("until", until), if *is_open { " open" } else { "" })
        }
        Phrase::Edits { edits, of } => format!("edits{}{}", shown_of(*of), shown_edits(edits)),
        Phrase::UsualWith { edits, .. } => format!("usual{}", shown_edits(edits)),
        Phrase::MakeIt { weight, when, of } => {
            format!("make{} {}{}", shown_of(*of), shown_weight(weight), shown_when(when))
        }
        Phrase::Swap { from, to, weight, when } => {
            let (gone, come) = match weight {
                None => (String::new(), String::new()),
                Some(SwapWeight::From(weight)) => (format!("{} ", shown_weight(weight)), String::new()),
                Some(SwapWeight::To(weight)) => (String::new(), format!("{} ", shown_weight(weight))),
            };
            let from = from.clone().unwrap_or_else(|| "what-is-there".to_owned());
            format!("swap {gone}{from} {come}{to}{}", shown_when(when))
        }
        Phrase::SkipDays { days } => {
            format!("skip {}", days.iter().map(|day| format!("@{day}")).collect::<Vec<_>>().join(" "))
        }
        Phrase::CancelThat => "cancel-that".to_owned(),
        Phrase::Agree { crop: one, weight } => format!("agree {}{}", shown_weight(weight), crop(one)),
        Phrase::Full { when } => format!("full{}", shown_when(when)),
        Phrase::Moment { when, minute } => format!("at {}:{:02}{}", minute / 60, minute % 60, shown_when(when)),
        Phrase::Late { minutes } => format!("late{}", count(minutes)),
        Phrase::NobodyThere => "nobody".to_owned(),
        Phrase::Refused { crop: one, weight } => {
            format!(
                "refused{}{}",
                weight.iter().map(|w| format!(" {}", shown_weight(w))).collect::<String>(),
                crop(one)
            )
        }
        Phrase::SetOff => "set-off".to_owned(),
        Phrase::Undo => "undo".to_owned(),
        Phrase::FlushOver { crop: one, batch: b } => format!("over{}{}", crop(one), batch(b)),
        Phrase::NothingYet { crop: one, batch: b } => format!("nothing-yet{}{}", crop(one), batch(b)),
        Phrase::Resume { from } => format!("resume{}", day("from", from)),
        Phrase::EndStanding { crop: one } => format!("end{}", crop(one)),
        Phrase::Cancel { when, crop: one } => format!("cancel{}{}", crop(one), shown_when(when)),
        Phrase::Pick { lines, batch: from, on: d } => format!("pick{}{}{}", shown_lines(lines), batch(from), on(d)),
        Phrase::PickFromBatch { weight, batch, on: d } => {
            format!("pick {} batch:{batch}{}", shown_weight(weight), on(d))
        }
        Phrase::PinsSeen { crop: one, batch: b, on: d } => format!("pins{}{}{}", crop(one), batch(b), on(d)),
        Phrase::Lost { units, crop: one, batch: b, on: d } => format!("lost {units}{}{}{}", crop(one), batch(b), on(d)),
        Phrase::Soaked { units, crop: one, batch: b, on: d } => {
            format!("soaked{}{}{}{}", count(units), crop(one), batch(b), on(d))
        }
        Phrase::Opened { units, crop: one, batch: b, on: d } => {
            format!("opened{}{}{}{}", count(units), crop(one), batch(b), on(d))
        }
        Phrase::MarketReturn { lines, on: d } => format!("return{}{}", shown_lines(lines), on(d)),
        Phrase::HandedOver { lines, temperature, on: d } => {
            let degrees = temperature.map(|t| {
                let scale = if t.scale == TemperatureScale::Celsius { "C" } else { "F" };
                format!(" {}.{}{scale}", t.tenths / 10, (t.tenths % 10).abs())
            });
            format!("handed{}{}{}", shown_lines(lines), degrees.unwrap_or_default(), on(d))
        }
        Phrase::Stock { lines } => format!("stock{}", shown_lines(lines)),
        Phrase::ThrownAway { lines } => format!("thrown{}", shown_lines(lines)),
        Phrase::Yes => "yes".to_owned(),
        Phrase::No => "no".to_owned(),
        Phrase::Help => "help".to_owned(),
        Phrase::ShowOrders => "orders".to_owned(),
        Phrase::Today => "today".to_owned(),
        Phrase::Weight(weight) => format!("weight {}", shown_weight(weight)),
        Phrase::Date(when) => format!("date{}", shown_when(&Some(*when))),
    }
}

fn shown_of(of: Of) -> &'static str {
    if of == Of::Standing { " standing" } else { "" }
}

fn shown_edits(edits: &[Edit]) -> String {
    let one = |edit: &Edit| {
        let how = match &edit.how {
            How::Set(weight) => shown_weight(weight),
            How::More(weight) => format!("+{}", shown_weight(weight)),
            How::Less(weight) => format!("-{}", shown_weight(weight)),
            How::Nothing => "no".to_owned(),
        };
        format!(" {how} {}{}", edit.crop, shown_when(&edit.when))
    };
    edits.iter().map(one).collect::<Vec<_>>().join(" +")
}

fn shown_lines(lines: &[Line]) -> String {
    let all: Vec<String> = lines.iter().map(|line| format!(" {} {}", shown_weight(&line.weight), line.crop)).collect();
    all.join(" +")
}

fn shown_weight(weight: &Weight) -> String {
    let unit = match weight.unit {
        WeightUnit::Gram => "g",
        WeightUnit::Kilogram => "kg",
        WeightUnit::Ounce => "oz",
        WeightUnit::Pound => "lb",
    };
    match (weight.amount.numerator, weight.amount.denominator) {
        (whole, 1) => format!("{whole}{unit}"),
        (top, bottom) => format!("{top}/{bottom}{unit}"),
    }
}

fn shown_when(when: &Option<When>) -> String {
    match when {
        None => String::new(),
        Some(When::On(date)) => format!(" @{date}"),
        Some(When::Week(monday)) => format!(" @week:{monday}"),
        Some(When::NextDelivery) => " @next".to_owned(),
    }
}

fn shown_question(question: &Question) -> String {
    let dates = |all: &[LocalDate]| all.iter().map(LocalDate::to_string).collect::<Vec<_>>().join(",");
    match question {
        Question::TooLong { .. } => "long".to_owned(),
        Question::UnitMissing { .. } => "unit".to_owned(),
        Question::TooLittle { .. } => "little".to_owned(),
        Question::TooMuch { .. } => "much".to_owned(),
        Question::UnitsOutOfRange { .. } => "units-range".to_owned(),
        Question::WhichWeight { candidates } => {
            format!("which:{}", candidates.iter().map(shown_weight).collect::<Vec<_>>().join(","))
        }
        Question::UnknownCrop { word } => format!("crop:{word}"),
        Question::WeightMissing { crop } => format!("weight:{crop}"),
        Question::CropMissing => "which-crop".to_owned(),
        Question::CropTwice { crop } => format!("twice:{crop}"),
        Question::UnitsMissing => "units".to_owned(),
        Question::WhichDate { candidates } => format!("date:{}", dates(candidates)),
        Question::DateInPast { date } => format!("past:{date}"),
        Question::DateTooFar { .. } => "far".to_owned(),
        Question::NoSuchDate => "no-date".to_owned(),
        Question::WhichScale => "scale".to_owned(),
        Question::IsQuestion { .. } => "question".to_owned(),
        Question::WhichOf { phrases } => {
            format!("which-of:{}", phrases.iter().map(shown_phrase).collect::<Vec<_>>().join("|"))
        }
        Question::SeveralWishes => "several".to_owned(),
        Question::Incomplete => "more".to_owned(),
        Question::NotUnderstood { words } => format!("words:{}", words.join(" ")),
    }
}

/// `ask` alone expects any question: the meaning does not tell which.
fn is_exact(expected: &str, got: &str) -> bool {
    expected == got || (expected == "ask" && got.starts_with("ask-"))
}

/// Reads a whole file: no wrong reading, and at least `floor_per_mille` of all read exactly.
fn check_file(language: &str, file: &str, floor_per_mille: usize) {
    let reader = reader(language);
    let cases = cases(file);
    let (mut exact, mut hard_exact, mut wrong, mut report) = (0, 0, 0, String::new());
    for case in &cases {
        let got = shown(&reader.read(&case.phrase, &case.context));
        if is_exact(case.expected, &got) {
            exact += 1;
            hard_exact += usize::from(case.is_hard);
            continue;
        }
        // Asked back, or not understood at all, is a lost turn; anything else is a wrong reading.
        let is_wrong = !(got.starts_with("ask-") || got == "nothing");
        wrong += usize::from(is_wrong);
        let kind = if is_wrong { "WRONG" } else { "asked" };
        report += &format!("{kind}: {:?} expected {:?} got {:?}\n", case.phrase, case.expected, got);
    }
    let (all, hard) = (cases.len(), cases.iter().filter(|case| case.is_hard).count());
    println!("{report}{language}: {exact} of {all} exact, {hard_exact} of {hard} hard ones exact, {wrong} wrong");
    assert_eq!(wrong, 0, "{report}");
    assert!(all >= 300 && hard * 3 >= all, "{all} phrases, {hard} hard");
    assert!(exact * 1000 >= all * floor_per_mille, "{exact} of {all}\n{report}");
}

#[test]
fn english_phrases_are_read_as_meant() {
    check_file("en", ENGLISH, 985);
}

#[test]
fn spanish_phrases_are_read_as_meant() {
    check_file("es", SPANISH, 985);
}

#[test]
fn polish_phrases_are_read_as_meant() {
    check_file("pl", POLISH, 985);
}

/// Every understood phrase of a file with its reading.
fn understood<'a>(language: &str, file: &'a str) -> Vec<(Case<'a>, Reading)> {
    let reader = reader(language);
    let read = cases(file).into_iter().map(|case| {
        let reading = reader.read(&case.phrase, &case.context);
        (case, reading)
    });
    read.filter(|(_, reading)| matches!(reading, Reading::Understood(_))).collect()
}

const FILES: [(&str, &str, [&str; 3]); 3] = [
    ("en", ENGLISH, ["zorp", "maybe", "unless"]),
    ("es", SPANISH, ["zorp", "quizás", "nunca"]),
    ("pl", POLISH, ["zorp", "chyba", "jeśli"]),
];

#[test]
fn a_word_not_understood_is_never_dropped_wherever_it_stands() {
    for (language, file, strangers) in FILES {
        let reader = reader(language);
        for (case, _) in understood(language, file) {
            let words: Vec<&str> = case.phrase.split(' ').collect();
            for stranger in strangers {
                for at in 0..=words.len() {
                    // "batch zorp" is a batch of that name.
                    let text = [&words[..at], &[stranger], &words[at..]].concat().join(" ");
                    let reading = reader.read(&text, &case.context);
                    let is_batch = shown(&reading).contains("batch:zorp");
                    assert!(is_batch || !matches!(reading, Reading::Understood(_)), "{text}: {}", shown(&reading));
                }
            }
        }
    }
}

#[test]
fn two_letters_changed_about_never_change_the_reading_to_another() {
    for (language, file, _) in FILES {
        let reader = reader(language);
        for (case, meant) in understood(language, file) {
            let letters: Vec<char> = case.phrase.chars().collect();
            for at in 1..letters.len() {
                // Two letters alone make another word that is right in itself: "od" and "do".
                let beside = |at: usize| letters.get(at).is_some_and(|c| c.is_alphabetic());
                let is_inside = beside(at - 1) && beside(at) && (beside(at + 1) || (at > 1 && beside(at - 2)));
                if !is_inside {
                    continue;
                }
                let mut slipped = letters.clone();
                slipped.swap(at - 1, at);
                let text: String = slipped.into_iter().collect();
                let reading = reader.read(&text, &case.context);
                let is_kept = reading == meant || !matches!(reading, Reading::Understood(_));
                assert!(is_kept, "{:?} as {text:?}: {}", case.phrase, shown(&reading));
            }
        }
    }
}

#[test]
fn no_phrase_stands_twice_in_a_file() {
    for file in [ENGLISH, SPANISH, POLISH] {
        let mut seen = std::collections::HashSet::new();
        for case in cases(file) {
            let key = (case.phrase.clone(), format!("{:?}", case.context));
            assert!(seen.insert(key), "{}", case.phrase);
        }
    }
}

#[test]
fn a_text_over_the_limit_is_not_read() {
    let text = "5 lb shiitake ".repeat(100);
    let limit = TEXT_CHARACTERS_MOST;
    assert_eq!(reader("en").read(&text, &context()), Reading::Unclear(Question::TooLong { limit }));
}

#[test]
fn a_farms_own_crop_and_names_are_known() {
    let lions_mane =
        CropWords { key: "lions_mane".to_owned(), words: vec!["Lion's mane".to_owned(), "pom pom".to_owned()] };
    let reader = Reader::new(&words("en"), &[lions_mane]);
    for (text, expected) in [
        ("2 lb lions mane", "order 2lb lions_mane"),
        ("2 lb lion’s mane for thursday", "order 2lb lions_mane @2027-03-04"),
        ("3 kg pom poms", "order 3kg lions_mane"),
        ("3 kg shiitake", "ask-crop:shiitake"),
    ] {
        assert_eq!(shown(&reader.read(text, &context())), expected, "{text}");
    }
}

/// No reading over the stated limits, whatever was typed.
fn check_limits(text: &str, context: &Context, language: &str) -> Result<(), TestCaseError> {
    let Reading::Understood(phrase) = reader(language).read(text, context) else { return Ok(()) };
    prop_assert_eq!(broken_limit(text, &phrase, context), None, "{:?}", text);
    Ok(())
}

fn any_language() -> impl Strategy<Value = &'static str> {
    prop_oneof![Just("en"), Just("es"), Just("pl")]
}

/// Pieces of real phrases in any order, so that the forms are reached and not only their refusals.
fn any_pieces() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        proptest::sample::select(vec![
            "lb",
            "kg",
            "oz",
            "g",
            "half",
            "media",
            "pół",
            "and",
            "y",
            "i",
            "a",
            "una",
            "shiitake",
            "oyster",
            "ostra",
            "boczniaka",
            "thursday",
            "jueves",
            "czwartek",
            "every",
            "cada",
            "co",
            "next",
            "week",
            "semana",
            "tydzień",
            "from",
            "desde",
            "od",
            "until",
            "hasta",
            "do",
            "june",
            "junio",
            "czerwca",
            "skip",
            "no",
            "nie",
            "change",
            "picked",
            "lost",
            "soaked",
            "batch",
            "½",
            "-",
            "#",
            "°",
            "c",
            "f",
            ",",
            "?",
            "\n",
            "the",
            "el",
            "na",
            "w",
            "in",
            "29",
            "february",
            "2028",
            "1/2",
            "3/5",
            "0",
            "pause",
            "for",
        ])
        .prop_map(str::to_owned),
        any::<u32>().prop_map(|number| number.to_string()),
        (0_u32..40).prop_map(|number| number.to_string()),
        "[0-9]{1,12}[.,/:-][0-9]{1,6}",
    ];
    proptest::collection::vec(piece, 0..14).prop_map(|pieces| pieces.join(" "))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

    #[test]
    fn any_unicode_is_read_without_panic_and_within_limits(text in "\\PC{0,200}", language in any_language()) {
        check_limits(&text, &context(), language)?;
    }

    #[test]
    fn any_characters_at_all_are_read(text in any::<String>(), language in any_language()) {
        check_limits(&text, &context(), language)?;
    }

    #[test]
    fn pieces_of_phrases_stay_within_limits(text in any_pieces(), language in any_language(), days in 0_i64..3000) {
        let today = date("2024-01-01") + chrono::Duration::days(days);
        for unit_default in [None, Some(UnitSystem::Metric), Some(UnitSystem::Avoirdupois)] {
            check_limits(&text, &Context { today, unit_default, ..context() }, language)?;
        }
    }
}

/// A language that is only a file: read at run time, and ordered in.
#[test]
fn a_language_is_added_by_its_words_alone() {
    let words = Words::parse(
        r#"
        [reading]
        point = "either"
        dotted-dates = false
        plurals-in-s = false
        [wish]
        order = ["bistel"]
        skip = ["lasetel"]
        [number]
        5 = ["lul"]
        [unit]
        kilogram = ["kilogramä", "kg"]
        [weekday]
        thu = ["dönudel"]
        [month]
        6 = ["yunul"]
        [near]
        1 = ["odelo"]
        [word]
        for = ["pro"]
        and = ["e"]
        courtesy = ["begö"]
        [crop]
        oyster = ["funig huita"]
        "#,
    )
    .expect("sound words");
    let crop = |key: &str| CropWords { key: key.to_owned(), words: Vec::new() };
    let reader = Reader::new(&words, &[crop("shiitake"), crop("oyster")]);
    for (text, expected) in [
        ("begö 5 kg shiitake e lul kilogramä funig huita pro dönudel", "order 5kg shiitake + 5kg oyster @2027-03-04"),
        ("lasetel odelo", "skip @2027-03-03"),
        ("5 lb shiitake", "ask-words:lb"),
    ] {
        assert_eq!(shown(&reader.read(text, &context())), expected, "{text}");
    }
}

#[test]
fn words_that_cannot_be_right_are_refused() {
    let with = |old: &str, new: &str| Words::parse(&Language::ENGLISH.words().replace(old, new));
    for (old, new, expected) in [
        ("help = [", "halp = [", "[wish] has no entry called \"halp\""),
        ("\"lb\",", "\"lb\", \"kilo\",", "listed twice"),
        ("[number]", "[numeral]", "numeral"),
        ("thu = [", "thursdie = [", "[weekday] has no entry called \"thursdie\""),
    ] {
        let error = with(old, new).expect_err(new).to_string();
        assert!(error.contains(expected), "{error}");
    }
}

#[test]
fn a_text_in_another_language_of_the_kitchen_is_understood() {
    let readers = Readers::new(&[
        CropWords { key: "shiitake".to_owned(), words: Vec::new() },
        CropWords { key: "oyster".to_owned(), words: Vec::new() },
    ]);
    for (own, text, expected) in [
        ("en", "5 lb de setas ostra para el jueves", "order 5lb oyster @2027-03-04"),
        ("en", "3 kg boczniaka na czwartek", "order 3kg oyster @2027-03-04"),
        ("pl", "skip next week", "skip @week:2027-03-08"),
        ("es", "5 lb oysters for Thursday please", "order 5lb oyster @2027-03-04"),
        // Numbers keep the rule of one's own language: a comma parts thousands in English.
        ("en", "1,500 g de shiitake para el jueves", "order 1500g shiitake @2027-03-04"),
        // What one's own language asks about is asked, whatever another would make of it.
        ("en", "5 shiitake", "ask-unit"),
        ("en", "zorp 5 lb shiitake", "ask-guess:zorp:order 5lb shiitake"),
        ("pl", "maybe 5 lb oyster", "ask-words:maybe"),
    ] {
        let own = Language::from_code(own).expect("a language on board");
        assert_eq!(shown(&readers.read(own, text, &context())), expected, "{text}");
    }
}

/// Whatever is understood in one's own language is read so, and nothing that another language reads is read otherwise.
#[test]
fn no_phrase_is_read_otherwise_by_somebody_with_another_language() {
    let crop = |key: &str| CropWords { key: key.to_owned(), words: Vec::new() };
    let readers = Readers::new(&[crop("shiitake"), crop("oyster")]);
    for (language, file, _) in FILES {
        for (case, meant) in understood(language, file) {
            for own in Language::all() {
                let reading = readers.read(own, &case.phrase, &case.context);
                // Digits are the reader's own: "1,500" differs from language to language.
                let has_marked_digits = case.phrase.contains(|c: char| ".,".contains(c));
                let is_kept = reading == meant || !matches!(reading, Reading::Understood(_)) || has_marked_digits;
                assert!(is_kept, "{:?} read in {own}: {}", case.phrase, shown(&reading));
            }
        }
    }
}
