#![no_main]
use pinset::wording::Wording;
use std::sync::LazyLock;

static WORDING: LazyLock<Wording> = LazyLock::new(|| Wording::embedded().expect("the words are whole"));

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| pinset_tests::hostile::configuration(&WORDING, bytes));
