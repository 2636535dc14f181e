//! What the workshop keeps: rows in SQLite or PostgreSQL, files in an object store.
//!
//! Every change is one transaction that also appends an event; what was acknowledged is
//! on the disk. A thing that changes carries a version, and a change names the version
//! that it saw: a stale one is refused with the current one. The store never reads a
//! clock: who makes a change passes the time in.

mod backup;
mod commission;
mod error;
mod event;
mod folder;
mod grade;
mod in_use;
mod job;
mod kind;
mod layout;
mod lot;
mod money;
mod objects;
mod open;
mod piece;
mod schema;
mod session;
mod setting;
mod text;
mod upload;
mod user;
mod word;
mod write;

pub use backup::{BackedUp, Manifest, Restored, TableSum};
pub use commission::{Commission, CommissionChange, CommissionState};
pub use error::StoreError;
pub use event::{By, Event, Live};
pub use grade::{GradeMeasure, GradeRule, Grades};
pub use job::{Job, JobState, NewJob};
pub use layout::{Layout, LayoutCard, NewLayout, Revision, RevisionCard};
pub use lot::{Lot, LotFields};
pub use objects::{Kept, ObjectId, ObjectWriter, Objects};
pub use open::{Place, Store};
pub use piece::{
    Facet, Facets, FitPiece, Hold, MassCertainty, MaterialFacet, Measured, Photograph, Piece,
    PieceCard, PieceChange, PieceFilter, PieceList, PieceSort, PieceState, TakeIn,
};
pub use setting::Setting;
pub use upload::{Upload, UploadKind};
pub use user::{Role, Units, User};
