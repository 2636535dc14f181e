//! What the glTF reader makes of the standard's ways to write one shape.
//!
//! Each file is put together here from Khronos' glTF 2.0 specification; what
//! comes out is checked against the places and the winding worked out by hand.

use glam::DVec3;
use solid::Moments;
use solid::read::{ReadOptions, Scan, Unit, Up, read};

/// The corners of the unit tetrahedron as floats, 48 bytes.
fn corners() -> Vec<u8> {
    let corners: [f32; 12] = [0., 0., 0., 1., 0., 0., 0., 1., 0., 0., 0., 1.];
    corners.iter().flat_map(|x| x.to_le_bytes()).collect()
}

/// Its faces, wound outwards.
const FACES: [u8; 12] = [0, 2, 1, 0, 1, 3, 0, 3, 2, 1, 2, 3];

fn glb(json: &str, binary: &[u8]) -> Vec<u8> {
    let mut json = json.as_bytes().to_vec();
    json.resize(json.len().next_multiple_of(4), b' ');
    let mut binary = binary.to_vec();
    binary.resize(binary.len().next_multiple_of(4), 0);
    let word = |n: usize| (n as u32).to_le_bytes();
    let mut bytes = b"glTF\x02\0\0\0".to_vec();
    bytes.extend(word(28 + json.len() + binary.len()));
    bytes.extend(word(json.len()));
    bytes.extend(b"JSON");
    bytes.extend(json);
    bytes.extend(word(binary.len()));
    bytes.extend(b"BIN\0");
    bytes.extend(binary);
    bytes
}

#[track_caller]
fn scan(json: &str, binary: &[u8], options: &ReadOptions) -> Scan {
    read(&glb(json, binary), "a.glb", options).unwrap_or_else(|error| panic!("{error}"))
}

/// A file of one mesh: corners as floats, faces as the given index type.
fn tetrahedron(nodes: &str, index_type: u32, n_index_bytes: usize) -> (String, Vec<u8>) {
    let mut binary = corners();
    for index in FACES {
        binary.extend(&u32::from(index).to_le_bytes()[..n_index_bytes]);
    }
    let json = format!(
        r#"{{"asset":{{"version":"2.0"}},"nodes":[{nodes}],
        "meshes":[{{"primitives":[{{"attributes":{{"POSITION":0}},"indices":1}}]}}],
        "accessors":[{{"bufferView":0,"componentType":5126,"count":4,"type":"VEC3"}},
          {{"bufferView":0,"byteOffset":48,"componentType":{index_type},"count":12,"type":"SCALAR"}}],
        "bufferViews":[{{"buffer":0,"byteLength":{0}}}],"buffers":[{{"byteLength":{0}}}]}}"#,
        binary.len()
    );
    (json, binary)
}

#[track_caller]
fn check_volume(scan: &Scan, volume: f64) {
    let got = Moments::of(&scan.mesh).volume_m3;
    assert!(
        (got - volume).abs() < 1e-6 * volume.abs(),
        "{got} for {volume}"
    );
}

#[test]
fn it_is_in_metres_and_y_up_unless_told_otherwise() {
    let (json, binary) = tetrahedron(r#"{"mesh":0}"#, 5121, 1);
    let by_standard = scan(&json, &binary, &ReadOptions::default());
    // The file's (x, y, z) becomes (x, −z, y).
    assert_eq!(by_standard.mesh.vertices_m[2], DVec3::Z);
    assert_eq!(by_standard.mesh.vertices_m[3], DVec3::NEG_Y);
    check_volume(&by_standard, 1.0 / 6.0);
    let told = ReadOptions {
        unit: Some(Unit::Cm),
        up: Some(Up::Z),
    };
    let told = scan(&json, &binary, &told);
    assert_eq!(told.mesh.vertices_m[3], DVec3::Z * 0.01);
    assert!(told.notes.iter().any(|note| note.contains("metres")));
}

#[test]
fn all_index_types_are_read() {
    for (index_type, n_bytes) in [(5121, 1), (5123, 2), (5125, 4)] {
        let (json, binary) = tetrahedron(r#"{"mesh":0}"#, index_type, n_bytes);
        check_volume(&scan(&json, &binary, &ReadOptions::default()), 1.0 / 6.0);
    }
}

#[test]
fn transforms_of_nodes_are_multiplied_down_the_tree() {
    // The parent turns z to −x … about y, and moves; the child doubles.
    let nodes = r#"{"translation":[10,0,0],"rotation":[0,0.7071067811865476,0,0.7071067811865476],"children":[1]},
        {"mesh":0,"matrix":[2,0,0,0,0,2,0,0,0,0,2,0,0,1,0,1]}"#;
    let (json, binary) = tetrahedron(nodes, 5121, 1);
    let options = ReadOptions {
        unit: None,
        up: Some(Up::Z),
    };
    let scan = scan(&json, &binary, &options);
    // A quarter turn about y takes (x, y, z) to (z, y, −x).
    let expected = [
        DVec3::new(10.0, 1.0, 0.0),
        DVec3::new(10.0, 1.0, -2.0),
        DVec3::new(10.0, 3.0, 0.0),
        DVec3::new(12.0, 1.0, 0.0),
    ];
    for (got, want) in scan.mesh.vertices_m.iter().zip(expected) {
        assert!(got.distance(want) < 1e-12, "{got} for {want}");
    }
    check_volume(&scan, 8.0 / 6.0);
}

#[test]
fn mirrored_instances_are_wound_outwards_too() {
    let nodes = r#"{"mesh":0},{"mesh":0,"scale":[-1,1,1]},{"mesh":0,"scale":[-1,-1,-3]},
        {"mesh":0,"matrix":[-1,0,0,0,0,-1,0,0,0,0,1,0,0,0,0,1]}"#;
    let (json, binary) = tetrahedron(nodes, 5121, 1);
    let scan = scan(&json, &binary, &ReadOptions::default());
    assert_eq!(scan.raw.triangles, 16);
    check_volume(&scan, (1.0 + 1.0 + 3.0 + 1.0) / 6.0);
}

#[test]
fn only_the_scene_of_the_file_is_read() {
    let nodes = r#"{"mesh":0,"scale":[5,5,5]},{"mesh":0}"#;
    let (json, binary) = tetrahedron(nodes, 5121, 1);
    let scenes = r#""scene":1,"scenes":[{"nodes":[0]},{"nodes":[1]}],"nodes""#;
    let json = json.replacen(r#""nodes""#, scenes, 1);
    check_volume(&scan(&json, &binary, &ReadOptions::default()), 1.0 / 6.0);
}

/// A strip and a fan for the four faces, without indices on the fan.
#[test]
fn strips_and_fans_are_wound_as_the_standard_says() {
    let mut binary = corners();
    // The strip 0 2 1 3: triangles 0 2 1 and, turned round, 1 2 3.
    binary.extend([0, 2, 1, 3]);
    // The fan round corner 0: 0 1 3 and 0 3 2.
    binary.extend([0, 1, 3, 2]);
    let json = r#"{"asset":{"version":"2.0"},"meshes":[{"primitives":[
        {"attributes":{"POSITION":0},"indices":1,"mode":5},
        {"attributes":{"POSITION":0},"indices":2,"mode":6}]}],
        "accessors":[{"bufferView":0,"componentType":5126,"count":4,"type":"VEC3"},
          {"bufferView":0,"byteOffset":48,"componentType":5121,"count":4,"type":"SCALAR"},
          {"bufferView":0,"byteOffset":52,"componentType":5121,"count":4,"type":"SCALAR"}],
        "bufferViews":[{"buffer":0,"byteLength":56}],"buffers":[{"byteLength":56}]}"#;
    let scan = scan(json, &binary, &ReadOptions::default());
    assert_eq!(scan.raw.triangles, 4);
    check_volume(&scan, 1.0 / 6.0);
}

#[test]
fn sparse_numbers_replace_those_beneath() {
    for base in ["", r#""bufferView":0,"#] {
        // Beneath lies the tetrahedron, or nothing; all corners but the first are replaced.
        let mut binary = corners();
        binary.extend(FACES);
        binary.extend([1, 2, 3, 0]);
        let doubled: [f32; 9] = [2., 0., 0., 0., 2., 0., 0., 0., 2.];
        binary.extend(doubled.iter().flat_map(|x| x.to_le_bytes()));
        let json = format!(
            r#"{{"asset":{{"version":"2.0"}},
            "meshes":[{{"primitives":[{{"attributes":{{"POSITION":0}},"indices":1}}]}}],
            "accessors":[{{{base}"componentType":5126,"count":4,"type":"VEC3","sparse":{{"count":3,
              "indices":{{"bufferView":1,"byteOffset":12,"componentType":5121}},
              "values":{{"bufferView":1,"byteOffset":16}}}}}},
              {{"bufferView":1,"componentType":5121,"count":12,"type":"SCALAR"}}],
            "bufferViews":[{{"buffer":0,"byteLength":48}},{{"buffer":0,"byteOffset":48,"byteLength":52}}],
            "buffers":[{{"byteLength":100}}]}}"#
        );
        check_volume(&scan(&json, &binary, &ReadOptions::default()), 8.0 / 6.0);
    }
}

#[test]
fn quantised_points_and_colours_at_a_stride_are_read() {
    // Rows of twelve bytes: three i16, two bytes of nothing, four bytes of colour.
    let mut binary = Vec::new();
    let places: [[i16; 3]; 4] = [[0, 0, 0], [32767, 0, 0], [0, 32767, 0], [0, 0, 32767]];
    for place in places {
        binary.extend(place.iter().flat_map(|x| x.to_le_bytes()));
        binary.extend([9, 9, 0, 255, 55, 255]);
    }
    binary.extend(FACES);
    let json = r#"{"asset":{"version":"2.0"},"extensionsRequired":["KHR_mesh_quantization"],
        "meshes":[{"primitives":[{"attributes":{"POSITION":0,"COLOR_0":1},"indices":2}]}],
        "accessors":[{"bufferView":0,"componentType":5122,"normalized":true,"count":4,"type":"VEC3"},
          {"bufferView":0,"byteOffset":8,"componentType":5121,"normalized":true,"count":4,"type":"VEC4"},
          {"bufferView":1,"componentType":5121,"count":12,"type":"SCALAR"}],
        "bufferViews":[{"buffer":0,"byteLength":48,"byteStride":12},
          {"buffer":0,"byteOffset":48,"byteLength":12}],"buffers":[{"byteLength":60}]}"#;
    let scan = scan(json, &binary, &ReadOptions::default());
    check_volume(&scan, 1.0 / 6.0);
    // IEC 61966-2-1: a linear share of 55/255 is encoded as 0.50193, 128 of 255.
    assert_eq!(scan.mesh.colours, [[0, 255, 128]; 4]);
}
