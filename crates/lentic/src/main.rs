//! skeleton
fn main() {}
