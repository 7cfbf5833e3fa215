//! Numbers and lists as CLDR writes them in one locale.

use super::escape::plain_spaces;
use fluent::FluentValue;
use fluent::memoizer::MemoizerKind;
use icu_decimal::DecimalFormatter;
use icu_decimal::input::Decimal;
use icu_list::ListFormatter;
use icu_list::options::ListFormatterOptions;
use icu_locale_core::Locale;
use intl_memoizer::Memoizable;
use scheduler::money::Cents;
use unic_langid::LanguageIdentifier;

/// Formatters of one locale.
pub struct Numbers {
    decimal: DecimalFormatter,
    list: ListFormatter,
}

impl Numbers {
    /// # Errors
    /// Says why, when CLDR as compiled in has nothing for the locale.
    pub fn new(locale: &Locale) -> Result<Numbers, String> {
        Ok(Numbers {
            decimal: decimal_formatter(locale)?,
            list: ListFormatter::try_new_and(locale.into(), ListFormatterOptions::default())
                .map_err(|error| error.to_string())?,
        })
    }

    /// A whole number with its grouping.
    pub fn whole(&self, number: i64) -> String {
        self.write(&Decimal::from(number))
    }

    /// `number` thousandths without trailing zeros: 1500 is "1.5".
    pub fn thousandths(&self, number: i64) -> String {
        let mut decimal = Decimal::from(number);
        decimal.absolute.multiply_pow10(-3);
        decimal.absolute.trim_end();
        self.write(&decimal)
    }

    /// Hundredths with both digits shown.
    pub fn cents(&self, amount: Cents) -> String {
        let mut decimal = Decimal::from(amount.get());
        decimal.absolute.multiply_pow10(-2);
        decimal.absolute.pad_end(-2);
        self.write(&decimal)
    }

    /// "a, b and c".
    pub fn list(&self, items: &[String]) -> String {
        plain_spaces(&self.list.format_to_string(items.iter()))
    }

    fn write(&self, decimal: &Decimal) -> String {
        plain_spaces(&self.decimal.format(decimal).to_string())
    }
}

fn decimal_formatter(locale: &Locale) -> Result<DecimalFormatter, String> {
    DecimalFormatter::try_new(locale.into(), Default::default()).map_err(|error| error.to_string())
}

/// A decimal formatter as Fluent's memoizer keeps it.
struct CountFormatter(DecimalFormatter);

impl Memoizable for CountFormatter {
    type Args = ();
    type Error = String;

    fn construct(language: LanguageIdentifier, (): ()) -> Result<CountFormatter, String> {
        let locale = language.to_string().parse::<Locale>().map_err(|error| error.to_string())?;
        decimal_formatter(&locale).map(CountFormatter)
    }
}

/// For Fluent, which by itself prints numbers without grouping and with a decimal point in every language.
pub fn write_count<M: MemoizerKind>(value: &FluentValue, memoizer: &M) -> Option<String> {
    let FluentValue::Number(number) = value else { return None };
    let decimal = Decimal::try_from_str(&number.as_string()).ok()?;
    memoizer
        .with_try_get_threadsafe::<CountFormatter, _, _>((), |formatter| formatter.0.format(&decimal).to_string())
        .ok()
        .map(|written| plain_spaces(&written))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn numbers(locale: &str) -> Numbers {
        Numbers::new(&locale.parse().expect("a locale")).expect("CLDR knows it")
    }

    /// CLDR 47 (checked with Babel 2.18); no-break spaces as plain ones. Spanish of Spain and Polish leave four digits
    /// ungrouped (minimum grouping of two in CLDR).
    #[test]
    fn separators_follow_cldr() {
        for (locale, cents, expected) in [
            ("en-US", 123_456_789, "1,234,567.89"),
            ("es-MX", 123_456_789, "1,234,567.89"),
            ("fr-CA", 123_456_789, "1 234 567,89"),
            ("fr-FR", 123_456_789, "1 234 567,89"),
            ("pt-PT", 123_456_789, "1 234 567,89"),
            ("pl-PL", 123_456_789, "1 234 567,89"),
            ("en-US", 123_450, "1,234.50"),
            ("pl-PL", 123_450, "1234,50"),
            ("en-US", 5, "0.05"),
        ] {
            assert_eq!(numbers(locale).cents(Cents::new(cents)), expected, "{locale}");
        }
    }

    #[test]
    fn thousandths_drop_trailing_zeros() {
        for (locale, number, expected) in [
            ("en-US", 1500, "1.5"),
            ("pl-PL", 1500, "1,5"),
            ("fr-CA", 2500, "2,5"),
            ("es-MX", 2000, "2"),
            ("en", 1, "0.001"),
        ] {
            assert_eq!(numbers(locale).thousandths(number), expected, "{locale}");
        }
    }

    #[test]
    fn lists_join_as_the_language_does() {
        let items = |words: &[&str]| words.iter().map(|&word| word.to_owned()).collect::<Vec<_>>();
        for (locale, words, expected) in [
            ("en-US", &["a", "b", "c"][..], "a, b, and c"),
            ("es-MX", &["a", "b"][..], "a y b"),
            ("es-MX", &["a", "iglesia"][..], "a e iglesia"),
            ("pl", &["a", "b", "c"][..], "a, b i c"),
            ("pl", &["a"][..], "a"),
            ("pl", &[][..], ""),
        ] {
            assert_eq!(numbers(locale).list(&items(words)), expected, "{locale}");
        }
    }
}
