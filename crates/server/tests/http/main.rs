//! The workshop over HTTP: what the routes do, and what they refuse.

mod bench;
mod people;
mod shop;
mod yard;
