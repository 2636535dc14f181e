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

mod obj {
    use super::check_refused;

    #[track_caller]
    fn refused(text: &str, words: &str) {
        check_refused("a.obj", text, "OBJ", words);
    }

    #[test]
    fn faults_are_named_with_their_line() {
        refused(
            "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 4\n",
            "line 4: a face names point `4`, but there are 3",
        );
        refused(
            "v 0 0 0\r\nv 1 0 0\r\nf 1 2 0",
            "line 3: a face names point `0`",
        );
        refused(
            "v 0 0 0\rv 1 0 0\rf 1 2 -3",
            "line 3: a face names point `-3`",
        );
        refused("v 0 0 0\nf -1 -1 -2\nv 0 0 0\n", "but there are 1 points");
        refused("v 0 0 nan\n", "line 1: a coordinate is not a finite number");
        refused("v 0 0 1e999\n", "not a finite number");
        refused("v 0 0 -inf\n", "not a finite number");
        refused("v 0 0 x\n", "`x`, not a number");
        refused("v 0 0\n", "2 numbers");
        refused("v 1 2 3 4 5\n", "5 numbers");
        refused("v 0 0 0\nf 1 1 99999999999999999999", "not a whole number");
        refused("v 0 0 0\nf 1 1 1.5", "not a whole number");
        refused("v 0 0 0\nf /1 1 1", "not a whole number");
        refused("v 1 2 3\n", "1 points but no faces");
        refused("v 1e300 0 0\nf 1 1 1", "million kilometres");
    }

    #[test]
    fn a_decimal_comma_gets_its_own_advice() {
        let error = super::try_read("a.obj", "v 0,5 1 1\n").unwrap_err();
        assert!(error.hint().contains("decimal points"));
    }
}

mod stl {
    use super::check_refused;

    #[test]
    fn a_count_that_the_file_cannot_hold_is_refused() {
        for count in [1_u32, 4_000_000_000, u32::MAX] {
            let mut bytes = vec![b' '; 80];
            bytes.extend(count.to_le_bytes());
            bytes.extend([0; 49]);
            check_refused("a.stl", bytes, "STL", "only 0 are there");
        }
    }

    #[test]
    fn a_corner_that_is_not_finite_is_refused() {
        for bad in [f32::NAN, f32::INFINITY] {
            let mut bytes = vec![b' '; 80];
            bytes.extend(1_u32.to_le_bytes());
            bytes.extend([0; 50]);
            bytes[84 + 12 + 12 + 4..][..4].copy_from_slice(&bad.to_le_bytes());
            check_refused(
                "a.stl",
                bytes,
                "STL",
                "triangle 1 is not a finite number (at byte 108)",
            );
        }
    }

    #[test]
    fn faults_of_text_are_named_with_their_line() {
        let facet = "facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\n";
        let refused = |text: &str, words: &str| check_refused("a.stl", text, "STL", words);
        refused(&format!("solid a\n{facet}"), "ends where `endloop`");
        refused(
            &format!("solid a\n{facet}vertex 1 1 1\n"),
            "line 7: `vertex` where `endloop`",
        );
        refused(
            &format!("solid a\n{facet}endloop\nendfacet\n"),
            "ends where `facet` or `endsolid`",
        );
        refused("solid a\nendsolid a\n", "no faces");
        refused(
            "solid a\nfacet normal 0 0 1 outer loop vertex 1 2 inf",
            "z is not a finite",
        );
    }
}

mod ply {
    use super::check_refused;

    const XYZ: &str = "property float x\nproperty float y\nproperty float z\n";

    #[track_caller]
    fn refused(header: &str, body: &[u8], words: &str) {
        let header = header.replace("XYZ", XYZ);
        let mut bytes = format!("ply\n{header}end_header\n").into_bytes();
        bytes.extend(body);
        check_refused("a.ply", bytes, "PLY", words);
    }

    #[test]
    fn counts_that_the_file_cannot_hold_are_refused() {
        for format in ["ascii", "binary_little_endian", "binary_big_endian"] {
            for count in ["4000000000", "999999999999999999", "3"] {
                refused(
                    &format!("format {format} 1.0\nelement vertex {count}\nXYZ"),
                    b"0 0 0\n",
                    "more than the file has room for",
                );
            }
            refused(
                &format!(
                    "format {format} 1.0\nelement vertex 0\nXYZelement face 4000000000\n\
                     property list uchar int vertex_indices\n"
                ),
                b"0",
                "more than the file has room for",
            );
        }
    }

    #[test]
    fn lists_that_the_file_cannot_hold_are_refused() {
        let header = "format binary_little_endian 1.0\nelement vertex 1\nXYZelement face 1\n\
                      property list uint uint vertex_indices\n";
        let mut body = vec![0; 12];
        body.extend(u32::MAX.to_le_bytes());
        body.extend([0; 8]);
        refused(header, &body, "ends before all");
    }

    #[test]
    fn headers_without_sense_are_refused() {
        refused("format ascii 2.5x\n", b"", "no `vertex`");
        refused("format morse 1.0\n", b"", "format morse");
        refused("element vertex 1\nXYZ", b"0 0 0", "no `format`");
        refused(
            "format ascii 1.0\nproperty float x\n",
            b"",
            "property float x",
        );
        refused(
            "format ascii 1.0\nelement vertex -1\n",
            b"",
            "element vertex -1",
        );
        refused(
            "format ascii 1.0\nelement vertex 1\nproperty float x\n",
            b"0",
            "no property `y`",
        );
        refused(
            "format ascii 1.0\nelement vertex 1\nproperty list float int x\n",
            b"0",
            "the header says",
        );
        refused(
            "format ascii 1.0\nelement vertex 1\nXYZ",
            b"0 0 0",
            "1 points but no faces",
        );
        let many = "property float x\n".repeat(300);
        refused(
            &format!("format ascii 1.0\nelement vertex 1\n{many}"),
            b"0",
            "too many properties",
        );
        check_refused("a.ply", "ply\nformat ascii 1.0\n", "PLY", "end_header");
    }

    #[test]
    fn points_and_faces_without_sense_are_refused() {
        let header = "format ascii 1.0\nelement vertex 1\nXYZelement face 1\n\
                      property list char int vertex_indices\n";
        refused(header, b"0 0 0\n3 0 0 1\n", "line 11: a face names point 1");
        refused(header, b"0 0 0\n3 0 0 -1\n", "a face names point -1");
        refused(header, b"0 0 0\n3 0 0 0.5\n", "whole number");
        refused(header, b"0 0 0\n-3 0 0 0\n", "line 11: a list counts -3");
        refused(header, b"0 0 0\n3 0 0\n", "ends where a number");
        refused(header, b"0 nan 0\n3 0 0 0\n", "not a finite number");
    }
}

mod gltf {
    use super::check_refused;

    /// A triangle; `edit` changes the JSON.
    fn triangle(edit: impl Fn(String) -> String) -> String {
        edit(
            r#"{"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0]}],"nodes":[{"mesh":0}],
            "meshes":[{"primitives":[{"attributes":{"POSITION":0}}]}],
            "accessors":[{"bufferView":0,"componentType":5126,"count":3,"type":"VEC3"}],
            "bufferViews":[{"buffer":0,"byteLength":36}],
            "buffers":[{"byteLength":36,"uri":"data:;base64,AAAAAAAAAAAAAAAAAACAPwAAAAAAAAAAAAAAAAAAgD8AAAAA"}]}"#
                .to_owned(),
        )
    }

    /// The triangle with one part of its JSON replaced.
    #[track_caller]
    fn refused(from: &str, to: &str, words: &str) {
        let json = triangle(|json| {
            assert!(json.contains(from));
            json.replacen(from, to, 1)
        });
        check_refused("a.gltf", json, "glTF", words);
    }

    #[test]
    fn the_triangle_itself_is_read() {
        assert!(super::try_read("a.gltf", triangle(|json| json)).is_ok());
    }

    #[test]
    fn lengths_and_offsets_are_held_to_the_data() {
        refused(
            r#""byteLength":36}"#,
            r#""byteLength":37}"#,
            "over the end of its buffer",
        );
        refused(
            r#""byteLength":36,"#,
            r#""byteLength":37,"#,
            "should hold 37 bytes, but 36",
        );
        refused(r#""buffer":0"#, r#""buffer":7"#, "names buffer 7");
        refused(r#""bufferView":0"#, r#""bufferView":7"#, "no buffer view 7");
        refused(
            r#""count":3"#,
            r#""count":6"#,
            "over the end of buffer view 0",
        );
        refused(r#""count":3"#, r#""count":4"#, "three for each triangle");
        refused(
            r#""count":3"#,
            r#""count":3,"byteOffset":4"#,
            "over the end of buffer view",
        );
        refused(
            r#""count":3"#,
            r#""count":18446744073709551615"#,
            "more than 20000000 triangles",
        );
        refused(
            r#""count":3"#,
            r#""count":3,"byteOffset":18446744073709551615"#,
            "over the end of buffer view",
        );
        refused(
            r#""buffer":0"#,
            r#""buffer":0,"byteOffset":18446744073709551615"#,
            "over the end of its buffer",
        );
        refused(
            r#""buffer":0"#,
            r#""buffer":0,"byteStride":8"#,
            "longer than the stride",
        );
        refused(
            r#""buffer":0"#,
            r#""buffer":0,"byteStride":18446744073709551615"#,
            "over the end",
        );
        refused(r#""count":3"#, r#""count":-3"#, "the JSON can't be used");
    }

    #[test]
    fn accessors_without_data_are_bounded() {
        refused(r#""bufferView":0,"#, "", "points without data");
        let sparse = r#""sparse":{"count":1,"indices":{"bufferView":0,"componentType":5121},
            "values":{"bufferView":0}},"count":18000000"#;
        refused(
            r#""bufferView":0,"componentType":5126,"count":3"#,
            &format!(r#""componentType":5126,{sparse}"#),
            "promises more numbers",
        );
    }

    #[test]
    fn nodes_that_are_no_tree_are_refused() {
        refused(
            r#"[{"mesh":0}]"#,
            r#"[{"mesh":0,"children":[0]}]"#,
            "reached twice",
        );
        refused(
            r#"[{"mesh":0}]"#,
            r#"[{"children":[1]},{"children":[0]}]"#,
            "reached twice",
        );
        refused(
            r#"[{"mesh":0}]"#,
            r#"[{"children":[1,1]},{"mesh":0}]"#,
            "reached twice",
        );
        refused(r#"[{"mesh":0}]"#, r#"[{"children":[9]}]"#, "no node 9");
        refused(r#"[{"mesh":0}]"#, r#"[{"mesh":9}]"#, "no mesh 9");
        refused(r#"{"nodes":[0]}"#, r#"{"nodes":[5]}"#, "no node 5");
        refused(r#""scene":0"#, r#""scene":5"#, "no scene 5");
        let chain: String = (1..1000)
            .map(|i| format!(r#"{{"children":[{i}]}},"#))
            .collect();
        refused(
            r#"[{"mesh":0}]"#,
            &format!(r#"[{chain}{{"mesh":0}}]"#),
            "nested more than 512",
        );
        refused(
            r#""scene":0,"scenes":[{"nodes":[0]}],"nodes":[{"mesh":0}]"#,
            r#""nodes":[{"children":[1]},{"children":[0]}]"#,
            "child of another",
        );
    }

    #[test]
    fn instances_are_bounded_before_they_are_built() {
        // Ten thousand times two million triangles.
        let nodes = vec![r#"{"mesh":0}"#; 10_000].join(",");
        let roots: Vec<String> = (0..10_000).map(|i| i.to_string()).collect();
        let json = triangle(|json| {
            json.replacen(
                r#"{"nodes":[0]}"#,
                &format!(r#"{{"nodes":[{}]}}"#, roots.join(",")),
                1,
            )
            .replacen(r#"{"mesh":0}"#, &nodes, 1)
            .replacen(r#""count":3"#, r#""count":6000000"#, 1)
        });
        check_refused("a.gltf", json, "glTF", "more than 20000000 triangles");
    }

    #[test]
    fn transforms_without_sense_are_refused() {
        let node = |part: &str| format!(r#"[{{"mesh":0,{part}}}]"#);
        let from = r#"[{"mesh":0}]"#;
        refused(from, &node(r#""rotation":[0,0,0,0]"#), "unit quaternion");
        refused(
            from,
            &node(r#""matrix":[1,0,0,1,0,1,0,0,0,0,1,0,0,0,0,1]"#),
            "perspective",
        );
        refused(from, &node(r#""matrix":[1,0,0]"#), "JSON can't be used");
        refused(
            from,
            &node(r#""translation":[1e400,0,0]"#),
            "JSON can't be used",
        );
        refused(
            from,
            &node(r#""translation":[1e300,0,0]"#),
            "million kilometres",
        );
        refused(
            from,
            r#"[{"scale":[1e300,1,1],"children":[1]},{"mesh":0,"scale":[1e300,1,1]}]"#,
            "out of all bounds",
        );
    }

    #[test]
    fn types_that_do_not_fit_are_refused() {
        refused(
            r#""componentType":5126"#,
            r#""componentType":1"#,
            "component type",
        );
        refused(
            r#""componentType":5126"#,
            r#""componentType":5125"#,
            "points of a wrong type",
        );
        refused(r#""VEC3""#, r#""MAT4""#, "not made of numbers");
        refused(r#""VEC3""#, r#""VEC2""#, "points of a wrong type");
        refused(
            r#""POSITION":0}"#,
            r#""POSITION":0},"indices":0"#,
            "indices of a wrong type",
        );
        refused(
            r#""POSITION":0}"#,
            r#""POSITION":0,"COLOR_0":1}"#,
            "no accessor 1",
        );
        refused(r#""POSITION":0}"#, r#""POSITION":0},"mode":7"#, "mode 7");
        refused(r#""POSITION":0}"#, r#""POSITION":0},"mode":1"#, "no faces");
        refused(r#""POSITION":0"#, r#""NORMAL":0"#, "no faces");
    }

    #[test]
    fn not_finite_points_and_wild_indices_are_refused() {
        // The first float becomes 7FC00000 hexadecimal, which is not a number.
        refused(
            "base64,AAAAAA",
            "base64,AADAfw",
            "point (0) that is not finite",
        );
        let indices =
            r#"{"componentType":5121,"count":3,"type":"SCALAR","bufferView":0,"byteOffset":0}"#;
        let json = triangle(|json| {
            json.replacen(r#""POSITION":0}"#, r#""POSITION":0},"indices":1"#, 1)
                .replacen(
                    r#""VEC3"}"#,
                    &format!(r#""VEC3"}},{}"#, indices.replace(":0}", ":14}")),
                    1,
                )
        });
        check_refused("a.gltf", json, "glTF", "names point 128, but there are 3");
    }

    #[test]
    fn json_bombs_are_refused() {
        for bomb in ["[", "{\"a\":", "[{\"a\":"] {
            let json = format!("{{\"asset\":{}", bomb.repeat(100_000));
            check_refused("a.gltf", json, "glTF", "nested more than 64 deep");
        }
        // Sixty-four deep is still allowed, in a part that is passed over.
        let deep = format!(r#""extras":{}{},"scene":0"#, "[".repeat(63), "]".repeat(63));
        let json = triangle(|json| json.replacen(r#""scene":0"#, &deep, 1));
        assert!(super::try_read("a.gltf", json).is_ok());
        let many = format!(r#"[{}{{"mesh":0}}]"#, "{},".repeat(300_000));
        refused(r#"[{"mesh":0}]"#, &many, "more than 250000 objects");
    }

    #[test]
    fn other_files_and_unknown_extensions_are_refused() {
        refused(
            "data:;base64,",
            "https://example.org/",
            "lies in another file",
        );
        refused("data:;base64,", "../secret.bin?", "lies in another file");
        refused("data:;base64,", "data:,", "not sound base64");
        refused(
            r#""scene":0"#,
            r#""scene":0,"extensionsRequired":["KHR_draco_mesh_compression"]"#,
            "KHR_draco_mesh_compression",
        );
        refused(
            r#""version":"2.0""#,
            r#""version":"1.0""#,
            "glTF version `1.0`",
        );
    }

    #[test]
    fn a_material_or_picture_in_another_file_does_not_matter() {
        let json = triangle(|json| {
            json.replacen(
                r#""scene":0"#,
                r#""scene":0,"images":[{"uri":"absent.png"}],"materials":[{}]"#,
                1,
            )
            .replacen(r#""buffers":["#, r#""unused":["#, 1)
            .replacen(
                r#""unused":["#,
                r#""buffers":[{"byteLength":36,"uri":"data:;base64,AAAAAAAAAAAAAAAAAACAPwAAAAAAAAAAAAAAAAAAgD8AAAAA"},{"byteLength":4,"uri":"absent.bin"}],"unused":["#,
                1,
            )
        });
        assert!(super::try_read("a.gltf", json).is_ok());
    }

    #[test]
    fn broken_glb_containers_are_refused() {
        let glb = |version: u32, length: u32, chunk: u32, kind: &[u8; 4]| {
            let mut bytes = b"glTF".to_vec();
            bytes.extend(
                [version, length, chunk]
                    .iter()
                    .flat_map(|n| n.to_le_bytes()),
            );
            bytes.extend(kind);
            bytes.extend(b"{}  ");
            bytes
        };
        let refused = |bytes, words| check_refused("a.glb", bytes, "glTF", words);
        refused(glb(1, 24, 4, b"JSON"), "GLB version 1");
        refused(
            glb(2, 25, 4, b"JSON"),
            "header says 25 bytes, the file has 24",
        );
        refused(glb(2, 24, 5, b"JSON"), "over the file's end");
        refused(glb(2, 24, u32::MAX, b"JSON"), "over the file's end");
        refused(glb(2, 24, 4, b"NOSJ"), "first chunk is not JSON");
        refused(glb(2, 12, 4, b"JSON"), "ends within its header");
        refused(glb(2, 24, 4, b"JSON"), "missing field `asset`");
    }
}

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
