//! Broken and hostile glTF files.

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
