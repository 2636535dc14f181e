//! Where rays meet a mesh, what is nearest, what is inside.
