//! Triangles of an STL file, text or binary.
//!
//! STL has no shared corners: each triangle brings its own three, and they stay
//! so until they are welded. The normals in the file are not used: the corners'
//! order says which side is out.

use glam::DVec3;

use super::Raw;
use super::faces::{MOST_TRIANGLES, too_many_triangles};
use super::fault::{Fault, quoted};
use super::sniff::{STL_HEADER_BYTES, STL_TRIANGLE_BYTES, is_binary_stl, stl_count, without_mark};
use super::text::{Words, not_finite};

pub(super) fn read(bytes: &[u8]) -> Result<Raw, Fault> {
    let (vertices, notes) = if is_binary_stl(bytes) {
        read_binary(bytes)?
    } else {
        (read_text(bytes)?, Vec::new())
    };
    let n_triangles = vertices.len() / 3;
    let triangles = (0..vertices.len() as u32)
        .step_by(3)
        .map(|first| [first, first + 1, first + 2])
        .collect();
    Ok(Raw {
        vertices,
        triangles,
        colours: Vec::new(),
        n_faces: n_triangles,
        notes,
    })
}

fn read_binary(bytes: &[u8]) -> Result<(Vec<DVec3>, Vec<String>), Fault> {
    let Some(count) = stl_count(bytes) else {
        return Err(Fault::at(
            bytes.len(),
            format!(
                "the file has {} bytes; the header alone takes {STL_HEADER_BYTES}",
                bytes.len()
            ),
        )
        .hint("the file is cut short: copy or export it again"));
    };
    let count = count as usize;
    let body = &bytes[STL_HEADER_BYTES..];
    let n_whole = body.len() / STL_TRIANGLE_BYTES;
    if count > n_whole {
        return Err(Fault::at(
            STL_HEADER_BYTES - 4,
            format!("the header counts {count} triangles, but only {n_whole} are there"),
        )
        .hint("the file is cut short or damaged: copy or export it again"));
    }
    if count > MOST_TRIANGLES {
        return Err(too_many_triangles());
    }
    let mut vertices = Vec::with_capacity(3 * count);
    for (index, triangle) in body
        .chunks_exact(STL_TRIANGLE_BYTES)
        .take(count)
        .enumerate()
    {
        // Twelve bytes of normal, three corners of twelve, two bytes of attributes.
        for (corner, place) in triangle[12..48].chunks_exact(12).enumerate() {
            let number =
                |i: usize| f32::from_le_bytes([place[i], place[i + 1], place[i + 2], place[i + 3]]);
            let vertex = DVec3::new(number(0).into(), number(4).into(), number(8).into());
            if !vertex.is_finite() {
                let at = STL_HEADER_BYTES + index * STL_TRIANGLE_BYTES + 12 * (corner + 1);
                return Err(not_finite(
                    at,
                    &format!("a corner of triangle {}", index + 1),
                ));
            }
            vertices.push(vertex);
        }
    }
    let n_behind = body.len() - count * STL_TRIANGLE_BYTES;
    let notes = if n_behind > 0 {
        vec![format!(
            "{n_behind} bytes behind the last triangle were ignored"
        )]
    } else {
        Vec::new()
    };
    Ok((vertices, notes))
}

/// Text: any number of solids, one after another.
fn read_text(bytes: &[u8]) -> Result<Vec<DVec3>, Fault> {
    let mut words = Words::new(bytes, bytes.len() - without_mark(bytes).len());
    let mut vertices = Vec::new();
    while let Some((at, word)) = words.next() {
        if !word.eq_ignore_ascii_case(b"solid") {
            return Err(unexpected(at, word, "`solid`"));
        }
        skip_line(&mut words, bytes);
        read_solid(&mut words, &mut vertices)?;
        skip_line(&mut words, bytes);
    }
    Ok(vertices)
}

/// Facets up to and with `endsolid`.
fn read_solid(words: &mut Words, vertices: &mut Vec<DVec3>) -> Result<(), Fault> {
    loop {
        let (at, word) = words.expect("`facet` or `endsolid`")?;
        if word.eq_ignore_ascii_case(b"endsolid") {
            return Ok(());
        }
        if !word.eq_ignore_ascii_case(b"facet") {
            return Err(unexpected(at, word, "`facet` or `endsolid`"));
        }
        keyword(words, "normal")?;
        for _ in 0..3 {
            // Normals of flat triangles are often written as not-a-number.
            words.expect("a normal")?;
        }
        keyword(words, "outer")?;
        keyword(words, "loop")?;
        if vertices.len() / 3 == MOST_TRIANGLES {
            return Err(too_many_triangles());
        }
        for _ in 0..3 {
            keyword(words, "vertex")?;
            let x = words.expect_number("x")?;
            let y = words.expect_number("y")?;
            let z = words.expect_number("z")?;
            vertices.push(DVec3::new(x, y, z));
        }
        keyword(words, "endloop")?;
        keyword(words, "endfacet")?;
    }
}

fn keyword(words: &mut Words, expected: &str) -> Result<(), Fault> {
    // The words of the error are only put together when there is one.
    match words.next() {
        Some((_, word)) if word.eq_ignore_ascii_case(expected.as_bytes()) => Ok(()),
        Some((at, word)) => Err(unexpected(at, word, &format!("`{expected}`"))),
        None => Err(words.cut_short(&format!("`{expected}`"))),
    }
}

fn unexpected(at: usize, word: &[u8], expected: &str) -> Fault {
    Fault::at(
        at,
        format!("{} where {expected} was expected", quoted(word)),
    )
}

/// Passes over the rest of the line: a solid's name, which may hold any words.
fn skip_line(words: &mut Words, bytes: &[u8]) {
    let rest = &bytes[words.offset()..];
    let length = rest
        .iter()
        .position(|&byte| byte == b'\n' || byte == b'\r')
        .unwrap_or(rest.len());
    words.set_offset(words.offset() + length);
}
