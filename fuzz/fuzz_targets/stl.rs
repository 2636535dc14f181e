//! Any bytes as an STL file: an answer or an error, never a panic.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| lentic_fuzz::read_any(bytes, "fuzz.stl"));
