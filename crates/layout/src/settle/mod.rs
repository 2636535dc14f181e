//! Where pieces come to rest, and how firmly.
