//! Stones and wood grown from a seed.
