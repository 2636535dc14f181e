//! Writing meshes in open formats.
