//! The ground that every computation of Lentic stands on: what a method is, how
//! it is found, how it refuses, and how its figures say where they come from.
//!
//! This crate knows no trade, no file, no clock and no network.

pub mod basis;
pub mod bound;
pub mod case;
pub mod caution;
pub mod error;
pub mod figure;
pub mod files;
pub mod length;
pub mod pointer;
pub mod registry;

pub use basis::Basis;
pub use bound::Bound;
pub use case::{Case, CaseFile};
pub use caution::{Caution, Severity};
pub use error::MethodError;
pub use figure::{Certainty, Figure};
pub use files::{FileRefused, Files};
pub use registry::{Equation, Method, Registered, Registry};
