//! `scape.settle` as a user runs it: the tables that `method show` prints.

use layout::methods::register;
use method::{CaseFile, Registry, files::NoFiles};

fn check(text: &str) {
    let registry = register(Registry::default());
    let file = CaseFile::parse(text).expect("a case file");
    let failures = file.failures(&registry, &NoFiles);
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

#[test]
fn every_closed_form_holds() {
    check(include_str!("../checks/settle.json"));
}

// Where mujoco 4.0 lets the same pieces come to rest, for starts from which eight
// perturbed runs end alike; the table says how it was made.
#[test]
fn pieces_come_to_rest_where_an_independent_engine_lets_them() {
    check(include_str!("../../../reference/tables/scape.settle.json"));
}
