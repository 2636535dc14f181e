//! The handbook's method pages are what the program prints.

use std::{path::PathBuf, process::Command};

fn printed(arguments: &[&str]) -> String {
    let done = Command::new(env!("CARGO_BIN_EXE_lentic"))
        .args(arguments)
        .output()
        .expect("the program starts");
    assert!(done.status.success(), "{arguments:?} failed");
    String::from_utf8(done.stdout).expect("the program prints UTF-8")
}

#[test]
fn every_method_has_its_page_and_it_is_current() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../docs/methods");
    let list = printed(&["method", "list"]);
    let names: Vec<&str> = list.lines().filter_map(|l| l.split(' ').next()).collect();
    assert!(!names.is_empty());
    for name in names {
        let page = printed(&["method", "show", name, "--format", "markdown"]);
        let kept = std::fs::read_to_string(folder.join(format!("{name}.md"))).unwrap_or_default();
        assert!(
            page == kept,
            "docs/methods/{name}.md is not current: write it anew with `lentic method show {name} --format markdown`"
        );
    }
}

#[test]
fn every_method_shows_checks_with_sources() {
    for line in printed(&["method", "list"]).lines() {
        let name = line.split(' ').next().unwrap_or_default();
        let shown: serde_json::Value =
            serde_json::from_str(&printed(&["method", "show", name, "--format", "json"]))
                .expect("the program prints JSON");
        let checks = shown["checks"].as_array().expect("checks are a list");
        assert!(!checks.is_empty(), "{name} shows no check");
        for check in checks {
            assert!(
                check["source"].as_str().is_some_and(|s| !s.is_empty()),
                "{name}: {check} names no source"
            );
        }
    }
}
