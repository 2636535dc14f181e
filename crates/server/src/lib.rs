//! What a workshop is reached by: documents, pictures, and the words for what falls.

pub mod documents;
pub mod reason;
pub mod scene;
