//! Any bytes through the whole measure: figures that are finite or an error,
//! never a panic.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| lentic_fuzz::measure_any(bytes));
