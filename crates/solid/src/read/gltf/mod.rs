//! Triangles of a glTF 2.0 file, JSON with embedded buffers or GLB.
//!
//! Everything is checked before memory is reserved for it: the JSON's nesting
//! and size, the tree of nodes, the sums over all instances, every accessor and
//! every number. Only then are the triangles built.
//!
//! Source: Khronos Group, glTF 2.0 specification (ISO/IEC 12113:2022).

mod accessor;
mod buffers;
mod container;
mod document;
mod scene;
mod surface;

use std::collections::BTreeSet;

use glam::{DAffine3, DVec3};

use super::Raw;
use super::fault::{Fault, quoted};
use accessor::{Component, View, views_of};
use buffers::Buffers;
use container::Container;
use document::Document;
use scene::{Instance, instances};
use surface::{Plan, Surface};

/// Required extensions that change nothing of the triangles, by their beginning.
const HARMLESS_EXTENSIONS: [&str; 8] = [
    "KHR_mesh_quantization",
    "KHR_materials_",
    "KHR_texture_",
    "KHR_lights_",
    "KHR_xmp",
    "KHR_animation_pointer",
    "EXT_texture_",
    "MSFT_texture_",
];

pub(super) fn read(bytes: &[u8]) -> Result<Raw, Fault> {
    let container = Container::read(bytes)?;
    let document = Document::parse(container.json, container.json_at)?;
    check_version(&document)?;
    let mut notes = Vec::new();
    let instances = instances(&document, &mut notes)?;
    let plan = Plan::of(&document, &instances, &mut notes)?;
    let accessors: BTreeSet<usize> = plan.surfaces.iter().flat_map(Surface::accessors).collect();
    let views = accessors
        .iter()
        .flat_map(|&index| views_of(&document, index));
    let buffers = Buffers::load(&document, container.binary, views)?;
    let mut n_zero_bytes = 0;
    let checked = plan
        .surfaces
        .iter()
        .map(|surface| Checked::new(&document, &buffers, surface, &mut n_zero_bytes))
        .collect::<Result<Vec<_>, _>>()?;
    let mut raw = build(&instances, &plan, &checked)?;
    raw.notes = notes;
    raw.n_faces = raw.triangles.len();
    Ok(raw)
}

fn check_version(document: &Document) -> Result<(), Fault> {
    let asset = &document.asset;
    let version = &asset.min_version.as_ref().unwrap_or(&asset.version).0;
    if version.split('.').next() != Some("2") {
        let version = quoted(version.as_bytes());
        return Err(
            Fault::whole(format!("glTF version {version}; only 2 is read"))
                .hint("save the scan as glTF 2.0"),
        );
    }
    let unknown = document.extensions_required.iter().find(|name| {
        !HARMLESS_EXTENSIONS
            .iter()
            .any(|known| name.0.starts_with(known))
    });
    match unknown {
        None => Ok(()),
        Some(name) => Err(Fault::whole(format!(
            "the file needs the extension {}, which is not read",
            quoted(name.0.as_bytes())
        ))
        .hint("save the scan as plain glTF 2.0 without compression or extensions")),
    }
}

/// A surface whose every number was looked at.
struct Checked<'a> {
    positions: View<'a>,
    indices: Option<View<'a>>,
    colours: Option<View<'a>>,
}

impl<'a> Checked<'a> {
    fn new(
        document: &'a Document<'a>,
        buffers: &'a Buffers<'a>,
        surface: &Surface,
        n_zero_bytes: &mut u64,
    ) -> Result<Self, Fault> {
        let mut view = |index| View::check(document, buffers, index, n_zero_bytes);
        let checked = Self {
            positions: view(surface.positions)?,
            indices: surface.indices.map(&mut view).transpose()?,
            colours: surface.colours.map(&mut view).transpose()?,
        };
        checked.check_positions(surface)?;
        checked.check_indices(surface)?;
        if let Some(colours) = &checked.colours {
            let is_colour = matches!(colours.n_components, 3 | 4)
                && (colours.component == Component::F32
                    || (colours.normalised
                        && matches!(colours.component, Component::U8 | Component::U16)));
            if !is_colour || colours.count != checked.positions.count {
                return Err(surface.fault("has colours that do not fit its points"));
            }
        }
        Ok(checked)
    }

    fn check_positions(&self, surface: &Surface) -> Result<(), Fault> {
        let positions = &self.positions;
        if positions.n_components != 3 || positions.component == Component::U32 {
            return Err(surface.fault("has points of a wrong type"));
        }
        if positions.is_empty_of_data() {
            return Err(surface.fault("has points without data").hint(
                "the scan may be compressed: save it as plain glTF 2.0 without compression",
            ));
        }
        positions.for_each(|index, place: [f64; 3]| {
            if place.iter().all(|number| number.is_finite()) {
                Ok(())
            } else {
                let what = format!("has a point ({index}) that is not finite");
                Err(surface.fault(&what).hint(
                    "remove the broken points in the program the scan comes from, then export again",
                ))
            }
        })
    }

    fn check_indices(&self, surface: &Surface) -> Result<(), Fault> {
        let Some(indices) = &self.indices else {
            return Ok(());
        };
        let is_index = indices.n_components == 1
            && !indices.normalised
            && matches!(
                indices.component,
                Component::U8 | Component::U16 | Component::U32
            );
        if !is_index {
            return Err(surface.fault("has indices of a wrong type"));
        }
        let n_points = self.positions.count as f64;
        indices.for_each(|_, [index]: [f64; 1]| {
            if index < n_points {
                Ok(())
            } else {
                Err(surface.fault(&format!(
                    "names point {index}, but there are {n_points} points, counted from 0"
                )))
            }
        })
    }
}

/// Puts all instances together. What can be wrong was found before.
fn build(instances: &[Instance], plan: &Plan, checked: &[Checked]) -> Result<Raw, Fault> {
    let has_colours = checked.iter().any(|surface| surface.colours.is_some());
    let mut raw = Raw {
        vertices: Vec::with_capacity(plan.n_vertices),
        triangles: Vec::with_capacity(plan.n_triangles),
        colours: Vec::with_capacity(if has_colours { plan.n_vertices } else { 0 }),
        n_faces: 0,
        notes: Vec::new(),
    };
    for instance in instances {
        for index in plan.surfaces_of(instance.mesh) {
            append(
                &mut raw,
                &instance.scene_from_mesh,
                &plan.surfaces[index],
                &checked[index],
            )?;
            if has_colours {
                // Surfaces without colours are white beside those with.
                raw.colours.resize(raw.vertices.len(), [255; 3]);
            }
        }
    }
    Ok(raw)
}

fn append(
    raw: &mut Raw,
    scene_from_mesh: &DAffine3,
    surface: &Surface,
    checked: &Checked,
) -> Result<(), Fault> {
    let first = raw.vertices.len();
    raw.vertices
        .resize(first + checked.positions.count, DVec3::ZERO);
    let new_vertices = &mut raw.vertices[first..];
    checked.positions.for_each(|index, place: [f64; 3]| {
        new_vertices[index] = scene_from_mesh.transform_point3(place.into());
        Ok(())
    })?;
    if let Some(colours) = &checked.colours {
        raw.colours.resize(first + colours.count, [255; 3]);
        let new_colours = &mut raw.colours[first..];
        colours.for_each(|index, colour: [f64; 3]| {
            new_colours[index] = colour.map(srgb_byte);
            Ok(())
        })?;
    }
    // A mirroring transform turns the winding round.
    let is_mirrored = scene_from_mesh.matrix3.determinant() < 0.0;
    let offset = first as u32;
    let corners = corners(checked)?;
    surface.mode.triangles(&corners, |[a, b, c]| {
        let triangle = if is_mirrored { [a, c, b] } else { [a, b, c] };
        raw.triangles.push(triangle.map(|corner| offset + corner));
    });
    Ok(())
}

/// The points that a surface's corners name, in order.
fn corners(checked: &Checked) -> Result<Vec<u32>, Fault> {
    let Some(indices) = &checked.indices else {
        return Ok((0..checked.positions.count as u32).collect());
    };
    let mut corners = vec![0; indices.count];
    indices.for_each(|place, [index]: [f64; 1]| {
        corners[place] = index as u32;
        Ok(())
    })?;
    Ok(corners)
}

/// A linear share of light as an sRGB byte.
///
/// Source: IEC 61966-2-1:1999, the transfer function.
fn srgb_byte(linear: f64) -> u8 {
    let encoded = if linear <= 0.003_130_8 {
        12.92 * linear
    } else {
        1.055 * linear.powf(1.0 / 2.4) - 0.055
    };
    (encoded * 255.0).round().clamp(0.0, 255.0) as u8
}
