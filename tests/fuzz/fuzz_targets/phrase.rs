#![no_main]
libfuzzer_sys::fuzz_target!(|bytes: &[u8]| pinset_tests::hostile::phrase(bytes));
