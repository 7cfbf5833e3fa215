//! Published samples: what CLDR and the Fluent Syntax Guide say, and what the libraries we stand on do.

#[cfg(test)]
mod tests {
    use super::super::name;
    use fluent::concurrent::FluentBundle;
    use fluent::types::FluentNumber;
    use fluent::{FluentArgs, FluentResource, FluentValue};
    use icu_decimal::input::Decimal;
    use icu_locale_core::Locale;
    use icu_plurals::{PluralRuleType, PluralRules, PluralRulesOptions};

    fn rules(locale: &str, kind: PluralRuleType) -> PluralRules {
        let locale: Locale = locale.parse().expect("a locale");
        PluralRules::try_new(locale.into(), PluralRulesOptions::from(kind)).expect("CLDR knows it")
    }

    const LOCALES: [&str; 7] = ["en", "es", "fr", "pl", "ar", "pt", "pt-PT"];

    /// Cardinal plural categories of CLDR 47 (Unicode TR35, part 3; checked with Babel 2.18), in the order of `LOCALES`.
    const CARDINALS: [(&str, [&str; 7]); 21] = [
        ("0", ["other", "other", "one", "many", "zero", "one", "other"]),
        ("0.5", ["other", "other", "one", "other", "other", "one", "other"]),
        ("1", ["one"; 7]),
        ("1.0", ["other", "one", "one", "other", "one", "one", "other"]),
        ("1.5", ["other", "other", "one", "other", "other", "one", "other"]),
        ("2", ["other", "other", "other", "few", "two", "other", "other"]),
        ("3", ["other", "other", "other", "few", "few", "other", "other"]),
        ("4", ["other", "other", "other", "few", "few", "other", "other"]),
        ("5", ["other", "other", "other", "many", "few", "other", "other"]),
        ("10", ["other", "other", "other", "many", "few", "other", "other"]),
        ("11", ["other", "other", "other", "many", "many", "other", "other"]),
        ("12", ["other", "other", "other", "many", "many", "other", "other"]),
        ("14", ["other", "other", "other", "many", "many", "other", "other"]),
        ("21", ["other", "other", "other", "many", "many", "other", "other"]),
        ("22", ["other", "other", "other", "few", "many", "other", "other"]),
        ("24", ["other", "other", "other", "few", "many", "other", "other"]),
        ("100", ["other", "other", "other", "many", "other", "other", "other"]),
        ("101", ["other", "other", "other", "many", "other", "other", "other"]),
        ("102", ["other", "other", "other", "few", "other", "other", "other"]),
        ("103", ["other", "other", "other", "few", "few", "other", "other"]),
        ("1000000", ["other", "many", "many", "many", "other", "many", "many"]),
    ];

    #[test]
    fn plural_categories_follow_cldr() {
        for (at, locale) in LOCALES.iter().enumerate() {
            let rules = rules(locale, PluralRuleType::Cardinal);
            for (number, expected) in CARDINALS {
                let decimal = Decimal::try_from_str(number).expect("a decimal");
                assert_eq!(name(rules.category_for(&decimal)), expected[at], "{locale} {number}");
            }
        }
    }

    /// English ordinals of CLDR 47 (checked with Babel 2.18).
    #[test]
    fn english_ordinals_follow_cldr() {
        let rules = rules("en", PluralRuleType::Ordinal);
        for (number, expected) in
            [(1, "one"), (2, "two"), (3, "few"), (4, "other"), (11, "other"), (21, "one"), (22, "two"), (23, "few")]
        {
            assert_eq!(name(rules.category_for(number as u64)), expected, "{number}");
        }
    }

    fn said(locale: &str, text: &str, value: impl Into<FluentValue<'static>>) -> (String, Vec<String>) {
        let mut bundle = FluentBundle::new_concurrent(vec![locale.parse().expect("a locale")]);
        bundle.add_builtins().expect("once");
        let resource = FluentResource::try_new(text.to_owned()).expect("Fluent");
        bundle.add_resource(resource).expect("no message twice");
        let mut args = FluentArgs::new();
        args.set("n", value.into());
        let pattern = bundle.get_message("m").and_then(|message| message.value()).expect("there");
        let mut errors = Vec::new();
        let said = bundle.format_pattern(pattern, Some(&args), &mut errors).into_owned();
        (said, errors.iter().map(ToString::to_string).collect())
    }

    /// Fluent's own tables (intl_pluralrules 7.0, CLDR 37) differ from CLDR 47 in a million of Romance languages and in
    /// Arabic above a hundred: nothing that English, Spanish or Polish orders reach.
    #[test]
    fn fluent_chooses_by_nearly_the_same_categories() {
        let text = "m = { $n ->\n [zero] zero\n [one] one\n [two] two\n [few] few\n [many] many\n *[other] other\n}\n";
        let mut differences = Vec::new();
        for (at, locale) in LOCALES.iter().enumerate() {
            for (number, expected) in CARDINALS {
                let value: FluentNumber = number.parse().expect("a number");
                if said(locale, text, value).0 != expected[at] {
                    differences.push((*locale, number));
                }
            }
        }
        let million = |locale| (locale, "1000000");
        let arabic = [("ar", "103")];
        let expected = [&[million("es"), million("fr")][..], &arabic, &[million("pt"), million("pt-PT")]].concat();
        assert_eq!(differences, expected);
    }

    /// Fluent Syntax Guide (projectfluent.org), with isolation marks as fluent-bundle 0.16 writes them.
    #[test]
    fn fluent_says_what_its_guide_says() {
        let boxes = "m = { $n ->\n [0] none\n [one] one box\n *[other] { $n } boxes\n}\n";
        for (text, value, expected) in [
            ("m = { $n } kg\n", FluentValue::from(2.5), "⟨2.5⟩ kg"),
            ("m = { $n }\n", FluentValue::from(3), "3"),
            ("a = { $n } kg\nm = Hi { a }!\n", FluentValue::from(3), "Hi ⟨3⟩ kg!"),
            ("-t = Brand\nm = Use { -t } now\n", FluentValue::from(0), "Use Brand now"),
            (boxes, FluentValue::from(0), "none"),
            (boxes, FluentValue::from(1), "one box"),
            (boxes, FluentValue::from(2), "⟨2⟩ boxes"),
            (boxes, FluentValue::from("1"), "⟨1⟩ boxes"),
            ("m = { $n ->\n [one] cat\n [1] exact\n *[other] x\n}\n", FluentValue::from(1), "cat"),
            ("m = { $n ->\n [1] exact\n [one] cat\n *[other] x\n}\n", FluentValue::from(1), "exact"),
            ("m = x { NUMBER($n, minimumFractionDigits: 2) } y\n", FluentValue::from(1), "x ⟨1.00⟩ y"),
        ] {
            let expected = expected.replace('⟨', "\u{2068}").replace('⟩', "\u{2069}");
            assert_eq!(said("en", text, value), (expected, Vec::new()), "{text}");
        }
        let digits = "m = { NUMBER($n, minimumFractionDigits: 1) ->\n [one] one\n *[other] other\n}\n";
        for (locale, expected) in [("en", "other"), ("pl", "other"), ("fr", "one")] {
            assert_eq!(said(locale, digits, 1).0, expected, "{locale}");
        }
    }

    /// What is missing is named and reported, and the rest is still said.
    #[test]
    fn fluent_reports_what_is_missing() {
        let (text, errors) = said("en", "m = Missing { $zzz } here\n", 0);
        assert_eq!((text.as_str(), errors.len()), ("Missing \u{2068}{$zzz}\u{2069} here", 1));
        assert!(errors[0].contains("Unknown variable: $zzz"), "{errors:?}");
        let (text, errors) = said("en", "m = Ref { nope } end\n", 0);
        assert_eq!((text.as_str(), errors.len()), ("Ref {nope} end", 1));
        assert!(errors[0].contains("Unknown message: nope"), "{errors:?}");
        assert!(FluentResource::try_new("m = { $n ->\n [one] x\n}\n".to_owned()).is_err(), "no default variant");
    }
}
