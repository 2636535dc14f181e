//! How a scene of meshes is written as one glTF 2.0 binary file.
//!
//! glTF is y up and in metres; ours is z up. One root node turns the whole
//! scene, so that every other node keeps the numbers of the tank frame.

use glam::{DQuat, DVec3};
use serde_json::{Map, Value, json};

use crate::Mesh;

const BYTE_BUFFER: u32 = 34962;
const INDEX_BUFFER: u32 = 34963;
const UNSIGNED_SHORT: u32 = 5123;
const UNSIGNED_INT: u32 = 5125;
const FLOAT: u32 = 5126;

/// How the surface of a node looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MaterialLook {
    /// sRGB colour; vertex colours, where the mesh has them, are multiplied by it.
    pub base_srgb: [u8; 3],
    /// 1 is opaque; anything less is blended, as glass and water are.
    pub alpha: f64,
    /// 0 is a mirror, 1 is wholly matt.
    pub roughness: f64,
    /// Whether the inner side is drawn too.
    pub double_sided: bool,
    /// Whether light is spread over the triangles as if the surface were round.
    pub smooth: bool,
}

impl MaterialLook {
    /// Matt, opaque and white, so that the vertex colours are seen unchanged.
    #[must_use]
    pub fn matt() -> Self {
        Self {
            base_srgb: [255; 3],
            alpha: 1.0,
            roughness: 0.9,
            double_sided: false,
            smooth: true,
        }
    }
}

/// One named mesh at its place in the scene.
#[derive(Debug, Clone)]
pub struct Node<'a> {
    /// Name of the node, as a viewer lists it.
    pub name: &'a str,
    /// The mesh in its own frame; all numbers in it are finite.
    pub mesh: &'a Mesh,
    /// Where the mesh's origin lies in the scene, m, z up.
    pub translation_m: DVec3,
    /// Turn from the mesh's axes to the scene's.
    pub rotation: DQuat,
    /// How it looks.
    pub look: MaterialLook,
}

/// Writes `nodes` as a glTF 2.0 binary file.
///
/// Positions carry their least and greatest values; vertex colours become
/// `COLOR_0`, linear as the standard asks; a mesh without triangles becomes a
/// node without a mesh. The format ends at 4 GiB; a larger scene is the
/// caller's to split.
///
/// # Source
/// Khronos Group, glTF 2.0 Specification (2021), sections 3.4 to 3.9 and 4.
#[must_use]
pub fn glb(nodes: &[Node]) -> Vec<u8> {
    let mut scene = Scene::default();
    for node in nodes {
        scene.add(node);
    }
    scene.into_bytes()
}

/// The lists of a glTF document while it grows.
#[derive(Default)]
struct Scene {
    binary: Vec<u8>,
    views: Vec<Value>,
    accessors: Vec<Value>,
    meshes: Vec<Value>,
    materials: Vec<Value>,
    nodes: Vec<Value>,
}

impl Scene {
    fn add(&mut self, node: &Node) {
        let turn = if node.rotation.length_squared() > 0.0 {
            node.rotation.normalize()
        } else {
            DQuat::IDENTITY
        };
        let mut entry = json!({
            "name": node.name,
            "translation": node.translation_m.to_array(),
            "rotation": turn.to_array(),
        });
        if !node.mesh.triangles.is_empty() {
            let primitive = self.primitive(node.mesh, &node.look);
            entry["mesh"] = json!(self.meshes.len());
            self.meshes
                .push(json!({"name": node.name, "primitives": [primitive]}));
        }
        self.nodes.push(entry);
    }

    fn primitive(&mut self, mesh: &Mesh, look: &MaterialLook) -> Value {
        let positions: Vec<[f32; 3]> = mesh.vertices_m.iter().map(|v| rounded(*v)).collect();
        let mut attributes = Map::new();
        attributes.insert("POSITION".into(), json!(self.positions(&positions)));
        if look.smooth {
            let normals: Vec<[f32; 3]> = mesh.vertex_normals().into_iter().map(rounded).collect();
            let view = self.floats(&normals);
            let accessor = self.accessor(view, FLOAT, "VEC3", normals.len());
            attributes.insert("NORMAL".into(), json!(accessor));
        }
        if mesh.colours.len() == mesh.vertices_m.len() {
            attributes.insert("COLOR_0".into(), json!(self.colours(&mesh.colours)));
        }
        let indices = self.indices(mesh);
        self.materials.push(material(look));
        json!({
            "attributes": attributes,
            "indices": indices,
            "material": self.materials.len() - 1,
            "mode": 4,
        })
    }

    fn positions(&mut self, positions: &[[f32; 3]]) -> usize {
        let (mut low, mut high) = ([f32::INFINITY; 3], [f32::NEG_INFINITY; 3]);
        for position in positions {
            for axis in 0..3 {
                low[axis] = low[axis].min(position[axis]);
                high[axis] = high[axis].max(position[axis]);
            }
        }
        let view = self.floats(positions);
        let accessor = self.accessor(view, FLOAT, "VEC3", positions.len());
        self.accessors[accessor]["min"] = json!(low.map(f64::from));
        self.accessors[accessor]["max"] = json!(high.map(f64::from));
        accessor
    }

    fn floats(&mut self, values: &[[f32; 3]]) -> usize {
        let start = self.binary.len();
        for value in values.iter().flatten() {
            self.binary.extend_from_slice(&value.to_le_bytes());
        }
        self.view(start, BYTE_BUFFER)
    }

    /// Linear colours in 16 bits: 8 would lose the dark half of the sRGB scale.
    fn colours(&mut self, colours: &[[u8; 3]]) -> usize {
        let start = self.binary.len();
        for colour in colours {
            for channel in colour {
                let linear = (linear_of_srgb(*channel) * 65535.0).round() as u16;
                self.binary.extend_from_slice(&linear.to_le_bytes());
            }
            self.binary.extend_from_slice(&u16::MAX.to_le_bytes());
        }
        let view = self.view(start, BYTE_BUFFER);
        let accessor = self.accessor(view, UNSIGNED_SHORT, "VEC4", colours.len());
        self.accessors[accessor]["normalized"] = json!(true);
        accessor
    }

    /// The greatest number of each width is reserved by the standard, hence `<` and not `<=`.
    fn indices(&mut self, mesh: &Mesh) -> usize {
        let start = self.binary.len();
        let short = mesh.vertices_m.len() < usize::from(u16::MAX);
        for corner in mesh.triangles.iter().flatten() {
            if short {
                self.binary
                    .extend_from_slice(&(*corner as u16).to_le_bytes());
            } else {
                self.binary.extend_from_slice(&corner.to_le_bytes());
            }
        }
        let view = self.view(start, INDEX_BUFFER);
        let width = if short { UNSIGNED_SHORT } else { UNSIGNED_INT };
        self.accessor(view, width, "SCALAR", 3 * mesh.triangles.len())
    }

    fn view(&mut self, start: usize, target: u32) -> usize {
        let length = self.binary.len() - start;
        while !self.binary.len().is_multiple_of(4) {
            self.binary.push(0);
        }
        self.views.push(
            json!({"buffer": 0, "byteOffset": start, "byteLength": length, "target": target}),
        );
        self.views.len() - 1
    }

    fn accessor(&mut self, view: usize, component: u32, kind: &str, count: usize) -> usize {
        self.accessors.push(
            json!({"bufferView": view, "componentType": component, "type": kind, "count": count}),
        );
        self.accessors.len() - 1
    }

    /// The root comes last; lists that would be empty are left out, as the standard asks.
    fn into_bytes(mut self) -> Vec<u8> {
        let children: Vec<usize> = (0..self.nodes.len()).collect();
        let half = std::f64::consts::FRAC_1_SQRT_2;
        let mut root = json!({"name": "scene, z up", "rotation": [-half, 0.0, 0.0, half]});
        if !children.is_empty() {
            root["children"] = json!(children);
        }
        self.nodes.push(root);
        let mut document = json!({
            "asset": {"version": "2.0", "generator": "Lentic"},
            "scene": 0,
            "scenes": [{"nodes": [self.nodes.len() - 1]}],
            "nodes": self.nodes,
        });
        for (key, list) in [
            ("meshes", self.meshes),
            ("materials", self.materials),
            ("accessors", self.accessors),
            ("bufferViews", self.views),
        ] {
            if !list.is_empty() {
                document[key] = Value::Array(list);
            }
        }
        if !self.binary.is_empty() {
            document["buffers"] = json!([{"byteLength": self.binary.len()}]);
        }
        container(document.to_string().into_bytes(), &self.binary)
    }
}

/// Joins the document and its binary part: header, then chunks of four-byte multiples.
fn container(mut document: Vec<u8>, binary: &[u8]) -> Vec<u8> {
    while !document.len().is_multiple_of(4) {
        document.push(b' ');
    }
    let binary_part = if binary.is_empty() {
        0
    } else {
        8 + binary.len()
    };
    let total = 12 + 8 + document.len() + binary_part;
    let mut bytes = Vec::with_capacity(total);
    let word = |value: usize| u32::try_from(value).unwrap_or(u32::MAX).to_le_bytes();
    bytes.extend_from_slice(b"glTF");
    bytes.extend_from_slice(&word(2));
    bytes.extend_from_slice(&word(total));
    bytes.extend_from_slice(&word(document.len()));
    bytes.extend_from_slice(b"JSON");
    bytes.extend_from_slice(&document);
    if !binary.is_empty() {
        bytes.extend_from_slice(&word(binary.len()));
        bytes.extend_from_slice(b"BIN\0");
        bytes.extend_from_slice(binary);
    }
    bytes
}

fn material(look: &MaterialLook) -> Value {
    let [red, green, blue] = look.base_srgb.map(linear_of_srgb);
    let alpha = look.alpha.clamp(0.0, 1.0);
    json!({
        "pbrMetallicRoughness": {
            "baseColorFactor": [red, green, blue, alpha],
            "metallicFactor": 0.0,
            "roughnessFactor": look.roughness.clamp(0.0, 1.0),
        },
        "alphaMode": if alpha < 1.0 { "BLEND" } else { "OPAQUE" },
        "doubleSided": look.double_sided,
    })
}

/// Linear light, 0 to 1, of one sRGB channel.
///
/// # Source
/// IEC 61966-2-1:1999, the sRGB transfer function.
fn linear_of_srgb(channel: u8) -> f64 {
    let c = f64::from(channel) / 255.0;
    if c <= 0.04045 {
        c / 12.92
    } else {
        ((c + 0.055) / 1.055).powf(2.4)
    }
}

fn rounded(v: DVec3) -> [f32; 3] {
    v.to_array().map(|value| value as f32)
}
