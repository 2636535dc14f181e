//! The layer picture of DESIGN.md as a table, held against the workspace in both directions.

use std::collections::{BTreeMap, BTreeSet};

use cargo_metadata::{DependencyKind, Metadata, MetadataCommand, Package};

/// Every crate of the workspace, and the crates of the workspace that it may use.
const LAYERS: &[(&str, &[&str])] = &[
    ("method", &[]),
    ("solid", &["method"]),
    ("layout", &["method", "solid"]),
    ("workshop", &["method", "solid", "layout"]),
    ("store", &["workshop"]),
    (
        "server",
        &["method", "solid", "layout", "workshop", "store"],
    ),
    (
        "lentic",
        &["method", "solid", "layout", "workshop", "store", "server"],
    ),
];

/// Crates that compute: no files, clock, network, logging or threads of their own.
const PURE: &[&str] = &["method", "solid", "layout", "workshop"];

/// What must never be a dependency of a crate that computes, and why.
const FORBIDDEN: &[(&str, &str)] = &[
    ("tokio", "no async"),
    ("reqwest", "no network"),
    ("hyper", "no network"),
    ("sqlx", "no storage"),
    ("axum", "no HTTP"),
    ("anyhow", "errors are typed"),
    ("tracing", "no logging"),
    ("log", "no logging"),
    ("env_logger", "no logging"),
    ("rand", "randomness takes a seed and a stated generator"),
    ("chrono", "no clock"),
    ("time", "no clock"),
    ("clap", "no command line"),
    ("indicatif", "no terminal"),
];

/// Licences that a dependency may carry.
const LICENCES: &[&str] = &[
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "MPL-2.0",
    "OFL-1.1",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

fn metadata() -> Metadata {
    MetadataCommand::new()
        .manifest_path(concat!(env!("CARGO_MANIFEST_DIR"), "/../../Cargo.toml"))
        .other_options(vec!["--locked".to_owned()])
        .exec()
        .expect("cargo metadata runs on the workspace")
}

fn normal_dependencies(package: &Package) -> BTreeSet<&str> {
    package
        .dependencies
        .iter()
        .filter(|d| d.kind == DependencyKind::Normal)
        .map(|d| d.name.as_str())
        .collect()
}

#[test]
fn crates_and_arrows_are_those_of_the_table() {
    let metadata = metadata();
    let packages = metadata.workspace_packages();
    let members: BTreeSet<&str> = packages.iter().map(|p| p.name.as_str()).collect();
    let found: BTreeMap<&str, BTreeSet<&str>> = packages
        .iter()
        .map(|p| {
            let inside = normal_dependencies(p)
                .intersection(&members)
                .copied()
                .collect();
            (p.name.as_str(), inside)
        })
        .collect();
    let wanted: BTreeMap<&str, BTreeSet<&str>> = LAYERS
        .iter()
        .map(|(name, below)| (*name, below.iter().copied().collect()))
        .collect();
    assert_eq!(found, wanted);
}

#[test]
fn crates_that_compute_use_nothing_that_acts() {
    let metadata = metadata();
    for package in metadata.workspace_packages() {
        if PURE.contains(&package.name.as_str()) {
            let used = normal_dependencies(package);
            for (name, why) in FORBIDDEN {
                assert!(!used.contains(name), "{} uses {name}: {why}", package.name);
            }
        }
    }
}

#[test]
fn every_dependency_has_a_licence_that_permits() {
    for package in metadata().packages {
        let licence = package.license.clone().unwrap_or_default();
        assert!(
            permitted(&licence),
            "{} {}: licence {licence:?} is not in the list",
            package.name,
            package.version
        );
    }
}

/// Whether some way to read an SPDX expression without brackets is permitted.
fn permitted(expression: &str) -> bool {
    let flat = expression.replace(['(', ')'], "").replace('/', " OR ");
    flat.split(" AND ").all(|part| {
        part.split(" OR ")
            .any(|licence| LICENCES.contains(&licence.trim()))
    })
}

#[test]
fn an_expression_needs_one_permitted_alternative_of_each_part() {
    assert!(permitted("(MIT OR GPL-3.0) AND Unicode-3.0"));
    assert!(!permitted("GPL-3.0"));
    assert!(!permitted("MIT AND GPL-3.0"));
}

#[test]
fn the_architecture_names_every_crate() {
    let text = std::fs::read_to_string(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../ARCHITECTURE.md"
    ))
    .expect("ARCHITECTURE.md is there");
    let named: BTreeSet<&str> = text
        .lines()
        .filter_map(|line| line.strip_prefix("### `")?.strip_suffix('`'))
        .collect();
    assert_eq!(named, LAYERS.iter().map(|(name, _)| *name).collect());
    assert!(text.lines().count() < 250, "ARCHITECTURE.md is too long");
}

#[test]
fn no_source_file_of_a_crate_that_computes_touches_the_machine() {
    const WORDS: &[&str] = &[
        "std::fs",
        "std::net",
        "std::env",
        "SystemTime",
        "Instant::now",
        "println!",
        "eprintln!",
    ];
    for name in PURE {
        let folder = format!("{}/../{name}/src", env!("CARGO_MANIFEST_DIR"));
        for file in sources(folder.as_ref()) {
            let text = std::fs::read_to_string(&file).expect("a source file is text");
            for word in WORDS {
                assert!(!text.contains(word), "{} uses {word}", file.display());
            }
        }
    }
}

fn sources(folder: &std::path::Path) -> Vec<std::path::PathBuf> {
    std::fs::read_dir(folder)
        .expect("a crate has its sources in src")
        .flat_map(|entry| {
            let path = entry.expect("a folder can be listed").path();
            if path.is_dir() {
                sources(&path)
            } else {
                vec![path]
            }
        })
        .filter(|path| path.extension().is_some_and(|e| e == "rs"))
        .collect()
}
