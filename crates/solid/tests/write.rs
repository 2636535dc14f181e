//! Whether written files say to other readers what they were meant to say.
//!
//! The outside reader is the `gltf` crate, which validates a document against
//! the glTF 2.0 specification as it opens it.

use glam::{DMat4, DQuat, DVec3};
use gltf::Gltf;
use solid::Mesh;
use solid::write::{MaterialLook, Node, glb, ply};

/// A closed box with a colour at each corner.
fn coloured_box() -> Mesh {
    let mut mesh = Mesh::cuboid(DVec3::new(0.1, 0.2, 0.3));
    mesh.colours = (0..8).map(|i| [i * 30, 255 - i * 20, 128]).collect();
    mesh
}

/// A flat sheet of `side` × `side` corners, 1 mm apart.
fn sheet(side: u32) -> Mesh {
    let vertices_m = (0..side * side)
        .map(|i| DVec3::new(f64::from(i % side), f64::from(i / side), 0.0) * 0.001)
        .collect();
    let triangles = (0..(side - 1) * (side - 1))
        .flat_map(|i| {
            let corner = i % (side - 1) + i / (side - 1) * side;
            let above = corner + side;
            [[corner, corner + 1, above], [corner + 1, above + 1, above]]
        })
        .collect();
    Mesh {
        vertices_m,
        triangles,
        colours: Vec::new(),
    }
}

fn node<'a>(name: &'a str, mesh: &'a Mesh) -> Node<'a> {
    Node {
        name,
        mesh,
        translation_m: DVec3::ZERO,
        rotation: DQuat::IDENTITY,
        look: MaterialLook::matt(),
    }
}

fn opened(bytes: &[u8]) -> (gltf::Document, Vec<u8>) {
    let file = Gltf::from_slice(bytes).expect("the file is valid glTF");
    (file.document, file.blob.unwrap_or_default())
}

/// The triangles of the named node in the scene's y-up frame, as a viewer would place them.
fn placed(bytes: &[u8], name: &str) -> Vec<[DVec3; 3]> {
    let (document, blob) = opened(bytes);
    let mut triangles = Vec::new();
    let scene = document.default_scene().expect("a default scene");
    let mut open: Vec<_> = scene.nodes().map(|n| (n, DMat4::IDENTITY)).collect();
    while let Some((node, above)) = open.pop() {
        let own = node
            .transform()
            .matrix()
            .map(|column| column.map(f64::from));
        let here = above * DMat4::from_cols_array_2d(&own);
        open.extend(node.children().map(|child| (child, here)));
        let Some(mesh) = node.mesh().filter(|_| node.name() == Some(name)) else {
            continue;
        };
        for primitive in mesh.primitives() {
            let reader = primitive.reader(|_| Some(&blob));
            let points: Vec<DVec3> = reader
                .read_positions()
                .expect("positions")
                .map(|p| here.transform_point3(DVec3::from_array(p.map(f64::from))))
                .collect();
            let indices = reader.read_indices().expect("indices");
            let corners: Vec<usize> = indices.into_u32().map(|i| i as usize).collect();
            let (whole, _) = corners.as_chunks::<3>();
            triangles.extend(whole.iter().map(|t| t.map(|i| points[i])));
        }
    }
    triangles
}

#[test]
fn a_placed_node_lands_where_a_viewer_expects_it() {
    let mesh = coloured_box();
    let turn = DQuat::from_axis_angle(DVec3::new(1.0, 2.0, 3.0).normalize(), 0.7);
    let shift = DVec3::new(0.4, 0.25, 0.1);
    let bytes = glb(&[Node {
        translation_m: shift,
        rotation: turn,
        ..node("S-0001", &mesh)
    }]);
    let seen = placed(&bytes, "S-0001");
    assert_eq!(seen.len(), 12);
    for (index, triangle) in seen.iter().enumerate() {
        for (got, corner) in triangle.iter().zip(mesh.corners(index)) {
            let ours = turn * corner + shift;
            // glTF 2.0, 3.4: y is up, z towards the viewer; our y points to the back.
            let want = DVec3::new(ours.x, ours.z, -ours.y);
            assert!(got.distance(want) < 1e-6, "{got} is not {want}");
        }
    }
}

#[test]
fn indices_reach_every_corner_on_both_sides_of_sixteen_bits() {
    for side in [255, 256, 257] {
        let mesh = sheet(side);
        let seen = placed(&glb(&[node("sheet", &mesh)]), "sheet");
        assert_eq!(seen.len(), mesh.triangles.len());
        for (index, triangle) in seen.iter().enumerate() {
            for (got, ours) in triangle.iter().zip(mesh.corners(index)) {
                assert!(got.distance(DVec3::new(ours.x, ours.z, -ours.y)) < 1e-6);
            }
        }
    }
}

#[test]
fn vertex_colours_are_linear() {
    let mesh = coloured_box();
    let (document, blob) = opened(&glb(&[node("box", &mesh)]));
    let solid_mesh = document.meshes().next().expect("a mesh");
    let primitive = solid_mesh.primitives().next().expect("a primitive");
    let reader = primitive.reader(|_| Some(&blob));
    let colours = reader.read_colors(0).expect("colours").into_rgba_f32();
    for (got, srgb) in colours.zip(&mesh.colours) {
        for channel in 0..3 {
            // IEC 61966-2-1 the other way round: encoding must give the byte back.
            let l = f64::from(got[channel]);
            let encoded = if l <= 0.003_130_8 {
                12.92 * l
            } else {
                1.055 * l.powf(1.0 / 2.4) - 0.055
            };
            assert_eq!((encoded * 255.0).round() as u8, srgb[channel]);
        }
        assert!((got[3] - 1.0).abs() < 1e-6);
    }
}

#[test]
fn bounds_normals_and_looks_are_read_back() {
    let mesh = coloured_box();
    let water = MaterialLook {
        base_srgb: [188, 188, 255],
        alpha: 0.3,
        roughness: 0.05,
        double_sided: true,
        smooth: false,
    };
    let (document, blob) = opened(&glb(&[
        node("stone", &mesh),
        Node {
            look: water,
            ..node("water", &mesh)
        },
    ]));
    let meshes: Vec<_> = document.meshes().collect();
    let stone = meshes[0].primitives().next().expect("a primitive");
    let glass = meshes[1].primitives().next().expect("a primitive");
    let bounds = stone.bounding_box();
    assert_eq!(
        (bounds.min, bounds.max),
        ([-0.05, -0.1, -0.15], [0.05, 0.1, 0.15])
    );
    let reader = stone.reader(|_| Some(&blob));
    for normal in reader.read_normals().expect("smooth normals") {
        let length = normal.iter().map(|c| c * c).sum::<f32>().sqrt();
        assert!((length - 1.0).abs() < 1e-5);
    }
    assert_eq!(
        stone.material().alpha_mode(),
        gltf::material::AlphaMode::Opaque
    );
    assert!(glass.get(&gltf::Semantic::Normals).is_none());
    let look = glass.material();
    assert_eq!(look.alpha_mode(), gltf::material::AlphaMode::Blend);
    assert!(look.double_sided());
    let [red, _, blue, alpha] = look.pbr_metallic_roughness().base_color_factor();
    // ((188/255 + 0.055)/1.055)^2.4 = 0.5029 (IEC 61966-2-1, by hand).
    assert!((red - 0.5029).abs() < 1e-4);
    assert!((blue - 1.0).abs() < 1e-6 && (alpha - 0.3).abs() < 1e-6);
}

#[test]
fn an_empty_scene_and_an_empty_mesh_are_valid_files() {
    let nothing = Mesh::default();
    for nodes in [vec![], vec![node("empty", &nothing)]] {
        let (document, _) = opened(&glb(&nodes));
        assert_eq!(document.nodes().count(), nodes.len() + 1);
        assert_eq!(document.meshes().count(), 0);
    }
}

#[test]
fn a_written_ply_holds_every_number() {
    let mesh = coloured_box();
    let bytes = ply(&mesh);
    let end = bytes.windows(11).position(|w| w == b"end_header\n");
    let body = &bytes[end.expect("a header") + 11..];
    assert_eq!(body.len(), 8 * (24 + 3) + 12 * 13);
    let wanted = mesh.vertices_m.iter().zip(&mesh.colours);
    for (record, (vertex, colour)) in body.chunks(27).zip(wanted) {
        let (numbers, _) = record[..24].as_chunks::<8>();
        let place: Vec<f64> = numbers.iter().map(|n| f64::from_le_bytes(*n)).collect();
        assert_eq!(place, vertex.to_array());
        assert_eq!(&record[24..], colour);
    }
}
