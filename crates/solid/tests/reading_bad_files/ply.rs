//! Broken and hostile PLY files.

use super::check_refused;

const XYZ: &str = "property float x\nproperty float y\nproperty float z\n";

#[track_caller]
fn refused(header: &str, body: &[u8], words: &str) {
    let header = header.replace("XYZ", XYZ);
    let mut bytes = format!("ply\n{header}end_header\n").into_bytes();
    bytes.extend(body);
    check_refused("a.ply", bytes, "PLY", words);
}

#[test]
fn counts_that_the_file_cannot_hold_are_refused() {
    for format in ["ascii", "binary_little_endian", "binary_big_endian"] {
        for count in ["4000000000", "999999999999999999", "3"] {
            refused(
                &format!("format {format} 1.0\nelement vertex {count}\nXYZ"),
                b"0 0 0\n",
                "more than the file has room for",
            );
        }
        refused(
            &format!(
                "format {format} 1.0\nelement vertex 0\nXYZelement face 4000000000\n\
                 property list uchar int vertex_indices\n"
            ),
            b"0",
            "more than the file has room for",
        );
    }
}

#[test]
fn lists_that_the_file_cannot_hold_are_refused() {
    let header = "format binary_little_endian 1.0\nelement vertex 1\nXYZelement face 1\n\
                  property list uint uint vertex_indices\n";
    let mut body = vec![0; 12];
    body.extend(u32::MAX.to_le_bytes());
    body.extend([0; 8]);
    refused(header, &body, "ends before all");
}

#[test]
fn headers_without_sense_are_refused() {
    refused("format ascii 2.5x\n", b"", "no `vertex`");
    refused("format morse 1.0\n", b"", "format morse");
    refused("element vertex 1\nXYZ", b"0 0 0", "no `format`");
    refused(
        "format ascii 1.0\nproperty float x\n",
        b"",
        "property float x",
    );
    refused(
        "format ascii 1.0\nelement vertex -1\n",
        b"",
        "element vertex -1",
    );
    refused(
        "format ascii 1.0\nelement vertex 1\nproperty float x\n",
        b"0",
        "no property `y`",
    );
    refused(
        "format ascii 1.0\nelement vertex 1\nproperty list float int x\n",
        b"0",
        "the header says",
    );
    refused(
        "format ascii 1.0\nelement vertex 1\nXYZ",
        b"0 0 0",
        "1 points but no faces",
    );
    let many = "property float x\n".repeat(300);
    refused(
        &format!("format ascii 1.0\nelement vertex 1\n{many}"),
        b"0",
        "too many properties",
    );
    check_refused("a.ply", "ply\nformat ascii 1.0\n", "PLY", "end_header");
}

#[test]
fn points_and_faces_without_sense_are_refused() {
    let header = "format ascii 1.0\nelement vertex 1\nXYZelement face 1\n\
                  property list char int vertex_indices\n";
    refused(header, b"0 0 0\n3 0 0 1\n", "line 11: a face names point 1");
    refused(header, b"0 0 0\n3 0 0 -1\n", "a face names point -1");
    refused(header, b"0 0 0\n3 0 0 0.5\n", "whole number");
    refused(header, b"0 0 0\n-3 0 0 0\n", "line 11: a list counts -3");
    refused(header, b"0 0 0\n3 0 0\n", "ends where a number");
    refused(header, b"0 nan 0\n3 0 0 0\n", "not a finite number");
}
