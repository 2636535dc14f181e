//! The parts of the program `lentic`: what a person types, and what it hands back.

pub mod cli;
pub mod disk;
pub mod methods;
pub mod plan;
