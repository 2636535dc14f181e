//! The parts of the program `lentic`: what a person types, and what it hands back.

pub mod cli;
pub mod disk;
pub mod documents;
pub mod methods;
pub mod plan;
