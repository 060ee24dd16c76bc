#![no_main]
#[path = "../../suite/readers.rs"]
mod readers;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| readers::document(bytes));
