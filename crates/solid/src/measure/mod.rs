//! What a piece measures: volume, mass, size, balance and how it lies.

mod open;
