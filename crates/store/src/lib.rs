//! Rows and files: what is kept.
