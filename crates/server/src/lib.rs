//! What a workshop is reached by: routes, documents, pictures and the web client.

pub mod app;
pub mod bench;
pub mod clock;
pub mod commissions;
pub mod crew;
pub mod demo;
pub mod documents;
pub mod events;
pub mod figure;
pub mod ground_materials;
pub mod http;
pub mod jobs;
pub mod least_recent;
pub mod methods;
pub mod people;
pub mod reason;
pub mod router;
pub mod scene;
pub mod serve;
pub mod taking_in;
pub mod today;
pub mod web;
pub mod yard;

pub use app::{App, Config};
pub use router::{openapi, router};
pub use serve::{Options, ServeError, serve};
