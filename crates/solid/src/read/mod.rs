//! Reading a scan's bytes into a mesh.
