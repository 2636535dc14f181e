//! Beds and banks of ground, their volume and their slopes.
