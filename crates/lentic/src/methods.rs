//! All methods of this build, in the order in which they are listed.

use method::Registry;

/// The registry that the command line (and later HTTP) reads.
#[must_use]
pub fn registry() -> Registry {
    layout::methods::register(solid::methods::register(Registry::default()))
}
