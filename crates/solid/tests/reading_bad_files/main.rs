//! What the readers make of broken and hostile files: an error that says what,
//! where and what to do, and never a panic.

use std::fs;
use std::path::Path;

use proptest::prelude::*;
use solid::SolidError;
use solid::read::{Format, ReadOptions, Scan, Unit, read, sniff};

const OPTIONS: ReadOptions = ReadOptions {
    unit: Some(Unit::Mm),
    up: None,
};

fn try_read(name: &str, bytes: impl AsRef<[u8]>) -> Result<Scan, SolidError> {
    read(bytes.as_ref(), name, &OPTIONS)
}

/// Holds an unreadable file to what its error has to say.
#[track_caller]
fn check_refused(name: &str, bytes: impl AsRef<[u8]>, format: &str, words: &str) {
    let error = match try_read(name, bytes) {
        Ok(scan) => panic!("read as {:?} with {:?}", scan.format, scan.raw),
        Err(error) => error,
    };
    let SolidError::Unreadable { format: got, .. } = &error else {
        panic!("{error:?}");
    };
    assert_eq!(*got, format, "{error}");
    let text = error.to_string();
    assert!(text.contains(words), "`{text}` does not say `{words}`");
    assert!(!error.hint().is_empty());
}

/// The small files of the fuzzing corpus, by name.
fn corpus() -> Vec<(String, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/corpus");
    let mut files: Vec<_> = fs::read_dir(folder)
        .expect("the corpus is there")
        .map(|entry| {
            let path = entry.expect("a folder can be listed").path();
            let name = path
                .file_name()
                .unwrap_or_default()
                .to_string_lossy()
                .into_owned();
            (name, fs::read(path).expect("a file can be read"))
        })
        .collect();
    files.sort();
    assert!(files.len() > 15);
    files
}

/// What the readers promise of every file that they accept.
fn check_sound(name: &str, scan: &Scan) {
    let mesh = &scan.mesh;
    let n_vertices = mesh.vertices_m.len();
    assert!(!mesh.triangles.is_empty(), "{name}");
    assert!(mesh.vertices_m.iter().all(|v| v.is_finite()), "{name}");
    let mut corners = mesh.triangles.iter().flatten();
    assert!(corners.all(|&i| (i as usize) < n_vertices), "{name}");
    assert!(
        mesh.colours.is_empty() || mesh.colours.len() == n_vertices,
        "{name}"
    );
}

#[test]
fn every_file_of_the_corpus_is_read_or_refused() {
    for (name, bytes) in corpus() {
        match try_read(&name, &bytes) {
            Ok(scan) => check_sound(&name, &scan),
            Err(error) => assert!(!error.hint().is_empty(), "{name}: {error}"),
        }
    }
}

#[test]
fn files_cut_at_every_byte_are_read_or_refused() {
    for (name, bytes) in corpus().iter().filter(|(_, bytes)| bytes.len() < 2000) {
        for length in 0..bytes.len() {
            if let Ok(scan) = try_read(name, &bytes[..length]) {
                check_sound(name, &scan);
            }
        }
    }
}

#[test]
fn formats_that_know_their_length_refuse_every_cut() {
    // Whole but for a last line's end is still whole.
    for name in [
        "stl-binary.stl",
        "ply-big.ply",
        "ply-little.ply",
        "glb-plain.glb",
    ] {
        let (_, bytes) = corpus().into_iter().find(|(n, _)| n == name).unwrap();
        assert!(try_read(name, &bytes).is_ok());
        for length in 0..bytes.len() {
            let error = try_read(name, &bytes[..length]).unwrap_err();
            assert!(!error.hint().is_empty(), "{name} at {length}: {error}");
        }
    }
}

#[test]
fn a_unit_is_needed_except_for_gltf() {
    let no_unit = ReadOptions::default();
    for (name, bytes) in corpus() {
        let is_gltf = sniff(&bytes, &name) == Some(Format::Gltf);
        match read(&bytes, &name, &no_unit) {
            Err(SolidError::UnitMissing { hint, .. }) => {
                assert!(!is_gltf, "{name}");
                assert!(hint.contains("unit"));
            }
            _ => assert!(is_gltf, "{name}"),
        }
    }
}

#[test]
fn what_is_no_scan_is_refused() {
    check_refused("", b"", "scan", "none of");
    check_refused("notes.txt", b"nothing to see", "scan", "none of");
    check_refused("a.obj", b"", "OBJ", "no faces");
    check_refused("a.ply", b"plx", "PLY", "end_header");
    check_refused("a.stl", b"", "STL", "0 bytes");
    check_refused("a.glb", b"", "glTF", "JSON");
    check_refused("a.obj", [0_u8; 84], "STL", "no faces");
}

mod obj;

mod stl;

mod ply;

mod gltf;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn random_bytes_never_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400), kind in 0..4_usize) {
        let name = ["a.obj", "a.ply", "a.stl", "a.glb"][kind];
        if let Ok(scan) = try_read(name, &bytes) {
            check_sound(name, &scan);
        }
    }

    #[test]
    fn sound_files_with_changed_bytes_never_panic(
        file in any::<prop::sample::Index>(),
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
    ) {
        let files = corpus();
        let (name, mut bytes) = files[file.index(files.len())].clone();
        for (place, byte) in changes {
            let place = place.index(bytes.len());
            bytes[place] = byte;
        }
        if let Ok(scan) = try_read(&name, &bytes) {
            check_sound(&name, &scan);
        }
    }
}
