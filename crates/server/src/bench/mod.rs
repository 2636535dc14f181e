//! The bench: layouts, edited and reckoned.

pub mod compose;
pub mod documents;
pub mod ground;
pub mod group;
pub mod let_down;
pub mod open;
pub mod pictures;
pub mod reckon;
pub mod revisions;
pub mod routes;
pub mod settle;
pub mod shapes;
pub mod view;
