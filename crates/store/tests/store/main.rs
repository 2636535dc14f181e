//! The store as its users see it, on SQLite, and on PostgreSQL when
//! `LENTIC_TEST_POSTGRES` names a server on which databases may be made and dropped.

mod backups;
mod events;
mod home;
mod jobs;
mod layouts;
mod objects;
mod people;
mod pieces;
mod promises;
mod server;
mod settings;
