//! The list of methods, a line each.

use method::Registry;

/// `name  purpose`, aligned.
pub(super) fn text(registry: &Registry) -> String {
    let width = registry.iter().map(|m| m.name.len()).max().unwrap_or(0);
    registry
        .iter()
        .map(|m| format!("{:width$}  {}\n", m.name, m.purpose))
        .collect()
}
