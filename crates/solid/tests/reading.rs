//! What each format's reader makes of sound files.
//!
//! The files are written by hand from the formats' own descriptions: OBJ from
//! Wavefront's Advanced Visualizer manual, appendix B1; PLY from G. Turk's PLY
//! polygon file format (1994); STL from 3D Systems' StereoLithography interface
//! specification (1989); glTF from Khronos' glTF 2.0 specification. What a body
//! measures is checked against its closed form.

use glam::DVec3;
use solid::Moments;
use solid::read::{Format, ReadOptions, Scan, Unit, Up, read, sniff};

const METRES: ReadOptions = ReadOptions {
    unit: Some(Unit::M),
    up: Some(Up::Z),
};

#[track_caller]
fn scan(name: &str, bytes: &[u8], options: &ReadOptions) -> Scan {
    read(bytes, name, options).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// A tetrahedron with three edges of length one along the axes: volume 1/6.
const CORNERS: [[f64; 3]; 4] = [[0., 0., 0.], [1., 0., 0.], [0., 1., 0.], [0., 0., 1.]];
const FACES: [[usize; 3]; 4] = [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]];

#[track_caller]
fn check_tetrahedron(scan: &Scan, format: Format) {
    assert_eq!(scan.format, format);
    assert_eq!(scan.raw.triangles, 4);
    assert_eq!(scan.mesh.triangles.len(), 4);
    let moments = Moments::of(&scan.mesh);
    assert!((moments.volume_m3 - 1.0 / 6.0).abs() < 1e-12, "{moments:?}");
    assert!((moments.centre_m - DVec3::splat(0.25)).length() < 1e-12);
}

fn obj() -> String {
    let mut text = String::from("# a tetrahedron\nmtllib absent.mtl\no tetra\n");
    for [x, y, z] in CORNERS {
        text += &format!("v {x} {y} {z}\n");
    }
    text += "usemtl none\ns off\n";
    for [a, b, c] in FACES {
        text += &format!("f {} {} {}\n", a + 1, b + 1, c + 1);
    }
    text
}

fn stl_text() -> String {
    let mut text = String::from("solid tetra with a name\n");
    for face in FACES {
        text += "  facet normal 0 0 0\n    outer loop\n";
        for corner in face {
            let [x, y, z] = CORNERS[corner];
            text += &format!("      vertex {x:e} {y:e} {z:e}\n");
        }
        text += "    endloop\n  endfacet\n";
    }
    text + "endsolid tetra with a name\n"
}

fn stl_binary(header: &[u8]) -> Vec<u8> {
    let mut bytes = header.to_vec();
    bytes.resize(80, b' ');
    bytes.extend(4_u32.to_le_bytes());
    for face in FACES {
        bytes.extend([0; 12]);
        for corner in face {
            bytes.extend(
                CORNERS[corner]
                    .iter()
                    .flat_map(|&x| (x as f32).to_le_bytes()),
            );
        }
        bytes.extend([0; 2]);
    }
    bytes
}

fn ply_text() -> String {
    let mut text = String::from(
        "ply\nformat ascii 1.0\ncomment by hand\nelement vertex 4\nproperty float x\n\
         property float y\nproperty float z\nelement face 4\n\
         property list uchar int vertex_indices\nend_header\n",
    );
    for [x, y, z] in CORNERS {
        text += &format!("{x} {y} {z}\n");
    }
    for [a, b, c] in FACES {
        text += &format!("3 {a} {b} {c}\n");
    }
    text
}

/// Binary PLY with colours, an odd order of properties and an element of no interest.
fn ply_binary(big_endian: bool) -> Vec<u8> {
    let order = if big_endian { "big" } else { "little" };
    let mut bytes = format!(
        "ply\r\nformat binary_{order}_endian 1.0\r\nelement camera 2\r\n\
         property list uchar short notes\r\nproperty double focus\r\nelement vertex 4\r\n\
         property double z\r\nproperty uchar blue\r\nproperty uchar green\r\nproperty uchar red\r\n\
         property float x\r\nproperty short y\r\nelement face 4\r\nproperty uchar flags\r\n\
         property list ushort uint vertex_index\r\nproperty list uchar float texcoord\r\n\
         end_header\r\n"
    )
    .into_bytes();
    let put = |bytes: &mut Vec<u8>, number: &[u8]| {
        // `number` is little endian.
        if big_endian {
            bytes.extend(number.iter().rev());
        } else {
            bytes.extend(number);
        }
    };
    for n in [3_u8, 0] {
        bytes.push(n);
        bytes.extend(vec![7; 2 * usize::from(n)]);
        put(&mut bytes, &50_f64.to_le_bytes());
    }
    for (i, [x, y, z]) in CORNERS.into_iter().enumerate() {
        put(&mut bytes, &z.to_le_bytes());
        bytes.extend([3, 2, i as u8]);
        put(&mut bytes, &(x as f32).to_le_bytes());
        put(&mut bytes, &(y as i16).to_le_bytes());
    }
    for face in FACES {
        bytes.push(255);
        put(&mut bytes, &3_u16.to_le_bytes());
        for corner in face {
            put(&mut bytes, &(corner as u32).to_le_bytes());
        }
        bytes.push(1);
        put(&mut bytes, &0.5_f32.to_le_bytes());
    }
    bytes
}

#[test]
fn every_format_gives_the_tetrahedron() {
    check_tetrahedron(&scan("a.obj", obj().as_bytes(), &METRES), Format::Obj);
    check_tetrahedron(&scan("a.stl", stl_text().as_bytes(), &METRES), Format::Stl);
    check_tetrahedron(&scan("a.stl", &stl_binary(b"x"), &METRES), Format::Stl);
    check_tetrahedron(&scan("a.ply", ply_text().as_bytes(), &METRES), Format::Ply);
    check_tetrahedron(&scan("a.ply", &ply_binary(false), &METRES), Format::Ply);
    check_tetrahedron(&scan("a.ply", &ply_binary(true), &METRES), Format::Ply);
}

#[test]
fn content_is_believed_before_the_name() {
    check_tetrahedron(&scan("a.stl", obj().as_bytes(), &METRES), Format::Obj);
    check_tetrahedron(&scan("a", stl_text().as_bytes(), &METRES), Format::Stl);
    check_tetrahedron(&scan("a.obj", &stl_binary(b"x"), &METRES), Format::Stl);
    check_tetrahedron(&scan("a.glb", &ply_binary(true), &METRES), Format::Ply);
    assert_eq!(sniff(b"", "scan.GLB"), Some(Format::Gltf));
    assert_eq!(sniff(b"", "scan"), None);
}

#[test]
fn binary_stl_that_begins_with_solid_is_binary() {
    for header in [b"solid made by a scanner".as_slice(), b"solid facet normal"] {
        check_tetrahedron(&scan("a.stl", &stl_binary(header), &METRES), Format::Stl);
    }
}

#[test]
fn ply_colours_are_kept() {
    let scan = scan("a.ply", &ply_binary(false), &METRES);
    assert_eq!(
        scan.mesh.colours,
        [[0, 2, 3], [1, 2, 3], [2, 2, 3], [3, 2, 3]]
    );
}

#[test]
fn unit_and_up_are_applied() {
    let options = ReadOptions {
        unit: Some(Unit::In),
        up: Some(Up::Y),
    };
    let mesh = scan("a.obj", obj().as_bytes(), &options).mesh;
    // (x, y, z) becomes (x, −z, y).
    let inch = 0.0254;
    assert_eq!(mesh.vertices_m[1], DVec3::new(inch, 0.0, 0.0));
    assert_eq!(mesh.vertices_m[2], DVec3::new(0.0, 0.0, inch));
    assert_eq!(mesh.vertices_m[3], DVec3::new(0.0, -inch, 0.0));
    assert!(Moments::of(&mesh).volume_m3 > 0.0);
}

#[test]
fn obj_names_points_in_all_its_ways() {
    // Relative places, texture places and normals, continued lines, three line
    // ends, points after their faces, keywords of no interest.
    let text = "\u{feff}# from \\ somewhere\\\r\nvt 0 0\r\nvn 0 0 1\r\nf 1/1/1 3//1 2/1\r\nv 0 0 0\r\
                v 1 0 \\\r\n0\nv 0 1 0\ng all of it\nv 0 0 1\nf -4 -3 -1 # last\ns 1\nl 1 2\n\
                f 1 \\\n4 3\nusemtl x\nfo 2 3 4";
    check_tetrahedron(&scan("a.obj", text.as_bytes(), &METRES), Format::Obj);
}

#[test]
fn obj_colours_count_to_one_or_to_255() {
    let colours = |text: &str| scan("a.obj", text.as_bytes(), &METRES).mesh.colours;
    let expected = [[255, 0, 51], [0, 255, 0], [255, 255, 255]];
    assert_eq!(
        colours("v 0 0 0 1 0 0.2\nv 1 0 0 0 1 0\nv 0 1 0\nf 1 2 3\n"),
        expected
    );
    assert_eq!(
        colours("v 0 0 0 1 255 0 51\nv 1 0 0 1 0 255 0\nv 0 1 0 1 255 255 255\nf 1 2 3\n"),
        expected
    );
}

#[test]
fn polygons_of_obj_and_ply_are_cut() {
    // A closed box of six quads, and a prism over an L of six corners.
    let quads = "v 0 0 0\nv 2 0 0\nv 2 3 0\nv 0 3 0\nv 0 0 4\nv 2 0 4\nv 2 3 4\nv 0 3 4\n\
                 f 4 3 2 1\nf 5 6 7 8\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf 4 1 5 8\n";
    let quads = scan("a.obj", quads.as_bytes(), &METRES);
    assert_eq!((quads.raw.faces, quads.raw.triangles), (6, 12));
    assert!((Moments::of(&quads.mesh).volume_m3 - 24.0).abs() < 1e-12);
    let outline = [[0, 0], [2, 0], [2, 1], [1, 1], [1, 2], [0, 2]];
    let mut text = String::from(
        "ply\nformat ascii 1.0\nelement vertex 12\nproperty int x\nproperty int y\nproperty int z\n\
         element face 8\nproperty list uchar int vertex_indices\nend_header\n",
    );
    for z in [0, 5] {
        for [x, y] in outline {
            text += &format!("{x} {y} {z}\n");
        }
    }
    text += "6 5 4 3 2 1 0\n6 6 7 8 9 10 11\n";
    for i in 0..6 {
        let next = (i + 1) % 6;
        text += &format!("4 {i} {next} {} {}\n", next + 6, i + 6);
    }
    let prism = scan("a.ply", text.as_bytes(), &METRES);
    assert_eq!((prism.raw.faces, prism.raw.triangles), (8, 20));
    assert!((Moments::of(&prism.mesh).volume_m3 - 15.0).abs() < 1e-12);
}

#[test]
fn ply_strips_are_cut_at_their_marks_and_may_come_first() {
    // The strip 0 2 1 3 and then, behind a mark, 0 1 3 with its turned neighbour 0 3 2.
    let mut text = String::from(
        "ply\nformat ascii 1.0\nelement tristrips 1\nproperty list int int vertex_indices\n\
         element vertex 4\nproperty float x\nproperty float y\nproperty float z\nend_header\n\
         12 0 2 1 3 -1 0 1 3 -1 0 3 2\n",
    );
    for [x, y, z] in CORNERS {
        text += &format!("{x} {y} {z}\n");
    }
    check_tetrahedron(&scan("a.ply", text.as_bytes(), &METRES), Format::Ply);
}

#[test]
fn all_solids_of_a_text_stl_are_read() {
    let one = stl_text();
    let both = format!("{one}\n{}", one.to_uppercase().replace("\n", "\r\n"));
    let scan = scan("a.stl", both.as_bytes(), &METRES);
    assert_eq!(scan.raw.triangles, 8);
    assert!((Moments::of(&scan.mesh).volume_m3 - 2.0 / 6.0).abs() < 1e-12);
}

#[test]
fn points_without_a_face_are_left_out_and_said_so() {
    let text = format!(
        "v 900 900 900 1 0 0\n{}f 2 3 4\n",
        "v 0 0 0\nv 1 0 0\nv 0 1 0\n"
    );
    let scan = scan("a.obj", text.as_bytes(), &METRES);
    assert_eq!(scan.raw.vertices, 4);
    assert_eq!(scan.mesh.vertices_m.len(), 3);
    assert_eq!(scan.mesh.triangles, [[0, 1, 2]]);
    assert_eq!(scan.mesh.colours, [[255; 3]; 3]);
    assert!(scan.notes[0].contains("1 points belong to no face"));
}
