//! Faces of a Wavefront OBJ file.
//!
//! Points (`v`, with colours where they have them) and faces (`f`) are read;
//! normals, texture places, groups, lines and materials are passed over, so a
//! missing material library never matters. The text is gone through three
//! times: to count, for the points, and for the faces, so that a face may name
//! points that come later and nothing is kept but the result.

use glam::DVec3;

use super::Raw;
use super::faces::{Faces, MOST_TRIANGLES};
use super::fault::{Fault, quoted};
use super::sniff::without_mark;
use super::text::{is_space, number, whole_number};

pub(super) fn read(bytes: &[u8]) -> Result<Raw, Fault> {
    let (mut n_vertices, mut n_faces) = (0, 0);
    for line in lines(bytes) {
        match line.keyword {
            b"v" => n_vertices += 1,
            b"f" | b"fo" => n_faces += 1,
            _ => {}
        }
    }
    if u32::try_from(n_vertices).is_err() {
        return Err(Fault::whole("more than four billion points"));
    }
    let points = read_points(bytes, n_vertices)?;
    let faces = read_faces(bytes, &points.vertices, n_faces)?;
    let mut notes = Vec::new();
    faces.notes(&mut notes);
    Ok(Raw {
        colours: points.colours(),
        vertices: points.vertices,
        n_faces: faces.n_faces,
        triangles: faces.triangles,
        notes,
    })
}

/// Points, with what may be their colours.
struct Points {
    vertices: Vec<DVec3>,
    /// As written, on a scale of 1 or of 255; empty when no point has a colour.
    written_colours: Vec<[f32; 3]>,
}

impl Points {
    /// sRGB colours; a file with any share above one counts in 255ths.
    fn colours(&self) -> Vec<[u8; 3]> {
        let above_one = self.written_colours.iter().flatten().any(|&c| c > 1.0);
        let full = if above_one { 1.0 } else { 255.0 };
        self.written_colours
            .iter()
            .map(|colour| colour.map(|c| (c * full).round().clamp(0.0, 255.0) as u8))
            .collect()
    }
}

fn read_points(bytes: &[u8], n_vertices: usize) -> Result<Points, Fault> {
    let mut vertices = Vec::with_capacity(n_vertices);
    let mut written_colours: Vec<[f32; 3]> = Vec::new();
    for line in lines(bytes).filter(|line| line.keyword == b"v") {
        let mut values = [0.0; 8];
        let mut n_values = 0;
        for (at, word) in line.words() {
            if n_values == values.len() {
                return Err(Fault::at(at, "a point has more than seven numbers"));
            }
            values[n_values] = number(at, word, "a coordinate")?;
            n_values += 1;
        }
        // x y z, then a weight or a colour or both.
        let colour = match n_values {
            3 | 4 => None,
            6 => Some(3),
            7 => Some(4),
            _ => {
                return Err(Fault::at(
                    line.at,
                    format!("a point has {n_values} numbers; three are needed"),
                ));
            }
        };
        if let Some(first) = colour {
            // Points before the first coloured one are white.
            written_colours.resize(vertices.len(), [1.0; 3]);
            written_colours.push([first, first + 1, first + 2].map(|i| values[i] as f32));
        }
        vertices.push(DVec3::new(values[0], values[1], values[2]));
    }
    if !written_colours.is_empty() {
        written_colours.resize(vertices.len(), [1.0; 3]);
    }
    Ok(Points {
        vertices,
        written_colours,
    })
}

fn read_faces(bytes: &[u8], vertices: &[DVec3], n_faces: usize) -> Result<Faces, Fault> {
    let mut faces = Faces::new(n_faces.min(MOST_TRIANGLES));
    let mut corners: Vec<u32> = Vec::new();
    let mut n_so_far: usize = 0;
    for line in lines(bytes) {
        match line.keyword {
            b"v" => n_so_far += 1,
            b"f" | b"fo" => {
                corners.clear();
                for (at, word) in line.words() {
                    corners.push(corner(at, word, n_so_far, vertices.len())?);
                }
                faces.push(&corners, vertices)?;
            }
            _ => {}
        }
    }
    Ok(faces)
}

/// The point that a face's word names: `7`, `7/1`, `7//3`, `7/1/3`, or from the
/// last point backwards, `-1`.
fn corner(at: usize, word: &[u8], n_so_far: usize, n_vertices: usize) -> Result<u32, Fault> {
    let digits = word.split(|&byte| byte == b'/').next().unwrap_or(word);
    let written = whole_number(at, digits, "a face's corner")?;
    let index = match written {
        1.. => written - 1,
        0 => -1,
        // Both are far from overflow: at most eighteen digits, at most a file's length.
        _ => written + n_so_far as i64,
    };
    usize::try_from(index)
        .ok()
        .filter(|&index| index < n_vertices)
        .map(|index| index as u32)
        .ok_or_else(|| {
            let there = if written < 0 { n_so_far } else { n_vertices };
            Fault::at(
                at,
                format!(
                    "a face names point {}, but there are {there} points, counted from 1",
                    quoted(word)
                ),
            )
        })
}

/// One line, continuations included.
struct Line<'a> {
    /// Offset of the keyword in the file.
    at: usize,
    keyword: &'a [u8],
    /// What follows the keyword.
    rest: &'a [u8],
}

impl<'a> Line<'a> {
    /// Words behind the keyword, with their offsets, up to a comment.
    fn words(&self) -> impl Iterator<Item = (usize, &'a [u8])> + use<'a> {
        let rest = self.rest;
        let rest_at = self.at + self.keyword.len();
        let mut at = 0;
        std::iter::from_fn(move || {
            while at < rest.len() && parts(rest[at]) {
                at += 1;
            }
            let start = at;
            while at < rest.len() && !parts(rest[at]) {
                at += 1;
            }
            (start < at && rest[start] != b'#').then(|| (rest_at + start, &rest[start..at]))
        })
    }
}

/// Whether `byte` parts words; a backslash stands only before the end of a continued line.
fn parts(byte: u8) -> bool {
    is_space(byte) || byte == b'\\'
}

/// Lines that have a keyword. A line ends at LF, CR or both; one that ends in a
/// backslash goes on, except a comment.
fn lines(bytes: &[u8]) -> impl Iterator<Item = Line<'_>> {
    let mut at = bytes.len() - without_mark(bytes).len();
    std::iter::from_fn(move || {
        loop {
            while at < bytes.len() && parts(bytes[at]) {
                at += 1;
            }
            if at == bytes.len() {
                return None;
            }
            let start = at;
            let is_comment = bytes[start] == b'#';
            at = end_of_line(bytes, start, !is_comment);
            if is_comment {
                continue;
            }
            let line = &bytes[start..at];
            let length = line
                .iter()
                .position(|&byte| parts(byte))
                .unwrap_or(line.len());
            let (keyword, rest) = line.split_at(length);
            return Some(Line {
                at: start,
                keyword,
                rest,
            });
        }
    })
}

/// Where the line that holds offset `at` ends.
fn end_of_line(bytes: &[u8], mut at: usize, may_go_on: bool) -> usize {
    loop {
        let rest = &bytes[at..];
        let Some(length) = rest.iter().position(|&byte| byte == b'\n' || byte == b'\r') else {
            return bytes.len();
        };
        let end = at + length;
        if !(may_go_on && length > 0 && bytes[end - 1] == b'\\') {
            return end;
        }
        let is_pair = bytes[end..].starts_with(b"\r\n");
        at = end + if is_pair { 2 } else { 1 };
    }
}
