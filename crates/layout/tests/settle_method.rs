//! `scape.settle` as a user runs it: the case file that `method show` prints.

use layout::methods::register;
use method::{CaseFile, Registry, files::NoFiles};

#[test]
fn every_case_of_the_file_holds() {
    let registry = register(Registry::default());
    let file = CaseFile::parse(include_str!("../checks/settle.json")).expect("a case file");
    let failures = file.failures(&registry, &NoFiles);
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}
