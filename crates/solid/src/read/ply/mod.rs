//! Faces of a PLY file: text, or binary of either byte order.

mod body;
mod header;

use glam::DVec3;

use super::Raw;
use super::faces::{Faces, MOST_TRIANGLES};
use super::fault::Fault;
use super::text::not_finite;
use body::{Binary, Source, Text, skip_element, skip_properties, take_count};
use header::{Element, Encoding, Header, Scalar};

/// Whether the whole file is text, so that its lines can be counted.
pub(super) fn is_text(bytes: &[u8]) -> bool {
    Header::read(bytes).is_ok_and(|header| header.encoding == Encoding::Text)
}

pub(super) fn read(bytes: &[u8]) -> Result<Raw, Fault> {
    let header = Header::read(bytes)?;
    // Before anything is reserved: is the body long enough for the counts?
    let n_body_bytes = (bytes.len() - header.body_at) as u64;
    let mut n_needed: u64 = 0;
    for element in &header.elements {
        let row_bytes = element.least_row_bytes(header.encoding) as u64;
        n_needed = n_needed.saturating_add(element.n_rows.saturating_mul(row_bytes));
        // The last word of a text may lack its end.
        if n_needed > n_body_bytes.saturating_add(1) {
            return Err(Fault::at(
                element.at,
                format!(
                    "the header announces {} rows of `{}`, more than the file has room for",
                    element.n_rows,
                    element.name.escape_ascii()
                ),
            )
            .hint("the file is cut short or damaged: copy or export it again"));
        }
    }
    match header.encoding {
        Encoding::Text => read_body(&header, Text::new(bytes, header.body_at)),
        Encoding::LittleEndian => read_body(&header, Binary::<false>::new(bytes, header.body_at)),
        Encoding::BigEndian => read_body(&header, Binary::<true>::new(bytes, header.body_at)),
    }
}

fn read_body(header: &Header, mut source: impl Source) -> Result<Raw, Fault> {
    let is_faces = |element: &&Element| matches!(element.name, b"face" | b"tristrips");
    let n_expected: u64 = header
        .elements
        .iter()
        .filter(is_faces)
        .map(|e| e.n_rows)
        .sum();
    let mut faces = Faces::new(usize::try_from(n_expected).unwrap_or(MOST_TRIANGLES));
    let mut points: Option<Points> = None;
    // Faces may stand before the points that they name: those are read last.
    let mut put_off: Vec<(&Element, usize)> = Vec::new();
    for element in &header.elements {
        match (element.name, &points) {
            (b"vertex", None) => points = Some(read_points(&mut source, element)?),
            (b"face" | b"tristrips", Some(points)) => {
                read_faces(&mut source, element, &points.vertices, &mut faces)?;
            }
            (name, _) => {
                if matches!(name, b"face" | b"tristrips") {
                    put_off.push((element, source.offset()));
                }
                skip_element(&mut source, element, header.encoding)?;
            }
        }
    }
    let Points { vertices, colours } = points.ok_or_else(|| Fault::whole("no `vertex` element"))?;
    for (element, at) in put_off {
        source.set_offset(at);
        read_faces(&mut source, element, &vertices, &mut faces)?;
    }
    let mut notes = Vec::new();
    faces.notes(&mut notes);
    Ok(Raw {
        vertices,
        colours,
        n_faces: faces.n_faces,
        triangles: faces.triangles,
        notes,
    })
}

struct Points {
    vertices: Vec<DVec3>,
    colours: Vec<[u8; 3]>,
}

fn read_points(source: &mut impl Source, element: &Element) -> Result<Points, Fault> {
    let missing = |name: &str| Fault::at(element.at, format!("points have no property `{name}`"));
    let x = element.find(&[b"x"]).ok_or_else(|| missing("x"))?;
    let y = element.find(&[b"y"]).ok_or_else(|| missing("y"))?;
    let z = element.find(&[b"z"]).ok_or_else(|| missing("z"))?;
    let places = [x, y, z];
    if places
        .iter()
        .any(|&i| element.properties[i].count.is_some())
    {
        return Err(Fault::at(element.at, "a coordinate is a list"));
    }
    let colour_places = colour_places(element);
    let n_rows = usize::try_from(element.n_rows)
        .ok()
        .filter(|&n| u32::try_from(n).is_ok())
        .ok_or_else(|| Fault::at(element.at, "more than four billion points"))?;
    let mut vertices = Vec::with_capacity(n_rows);
    let mut colours = Vec::with_capacity(if colour_places.is_some() { n_rows } else { 0 });
    let mut row = vec![0.0; element.properties.len()];
    for _ in 0..n_rows {
        let at = source.offset();
        for (value, property) in row.iter_mut().zip(&element.properties) {
            match property.count {
                None => *value = source.take(property.item)?,
                Some(count) => {
                    let n = take_count(source, count)?;
                    source.skip(property.item, n)?;
                }
            }
        }
        let vertex = DVec3::from_array(places.map(|i| row[i]));
        if !vertex.is_finite() {
            let what = format!("a coordinate of point {}", vertices.len());
            return Err(not_finite(at, &what));
        }
        vertices.push(vertex);
        if let Some(places) = colour_places {
            colours.push(places.map(|i| to_byte(row[i], element.properties[i].item)));
        }
    }
    Ok(Points { vertices, colours })
}

/// Where a point's red, green and blue stand, if all three do.
fn colour_places(element: &Element) -> Option<[usize; 3]> {
    let names: [&[&[u8]]; 3] = [
        &[b"red", b"r", b"diffuse_red"],
        &[b"green", b"g", b"diffuse_green"],
        &[b"blue", b"b", b"diffuse_blue"],
    ];
    let [red, green, blue] = names.map(|names| {
        element
            .find(names)
            .filter(|&i| element.properties[i].count.is_none())
    });
    Some([red?, green?, blue?])
}

/// A share of colour as a byte: floats count from 0 to 1, wider whole numbers to their greatest.
fn to_byte(value: f64, scalar: Scalar) -> u8 {
    let scale = match scalar {
        Scalar::F32 | Scalar::F64 => 255.0,
        Scalar::U16 => 255.0 / 65535.0,
        _ => 1.0,
    };
    (value * scale).round().clamp(0.0, 255.0) as u8
}

fn read_faces(
    source: &mut impl Source,
    element: &Element,
    vertices: &[DVec3],
    faces: &mut Faces,
) -> Result<(), Fault> {
    let place = element
        .find(&[b"vertex_indices", b"vertex_index"])
        .ok_or_else(|| Fault::at(element.at, "faces have no property `vertex_indices`"))?;
    let corner_list = &element.properties[place];
    let Some(count) = corner_list.count.filter(|_| !corner_list.item.is_float()) else {
        return Err(Fault::at(
            element.at,
            "`vertex_indices` is not a list of whole numbers",
        ));
    };
    let is_strip = element.name == b"tristrips";
    let (before, after) = (
        &element.properties[..place],
        &element.properties[place + 1..],
    );
    let mut corners: Vec<u32> = Vec::new();
    for _ in 0..element.n_rows {
        skip_properties(source, before)?;
        let n_corners = take_count(source, count)?;
        corners.clear();
        for _ in 0..n_corners {
            let at = source.offset();
            let value = source.take(corner_list.item)?;
            if is_strip && value == -1.0 {
                faces.push_strip(&corners)?;
                corners.clear();
            } else if value >= 0.0 && value < vertices.len() as f64 {
                corners.push(value as u32);
            } else {
                return Err(Fault::at(
                    at,
                    format!(
                        "a face names point {value}, but there are {} points, counted from 0",
                        vertices.len()
                    ),
                ));
            }
        }
        if is_strip {
            faces.push_strip(&corners)?;
        } else {
            faces.push(&corners, vertices)?;
        }
        skip_properties(source, after)?;
    }
    Ok(())
}
