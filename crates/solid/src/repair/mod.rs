//! Making one closed, outward-wound solid of what a scanner gave.
