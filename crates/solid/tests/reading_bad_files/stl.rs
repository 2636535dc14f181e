//! Broken and hostile STL files.

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
