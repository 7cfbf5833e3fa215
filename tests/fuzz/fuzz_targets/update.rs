#![no_main]
libfuzzer_sys::fuzz_target!(|bytes: &[u8]| pinset_tests::hostile::on_ground(|ground| pinset_tests::hostile::update(ground, bytes)));
