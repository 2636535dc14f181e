//! The methods of this crate: JSON and its units live here.
