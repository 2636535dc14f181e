//! All methods of this build, in the order in which they are listed.

pub use server::methods::registry;
