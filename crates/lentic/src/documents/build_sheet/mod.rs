//! The build sheet: pictures, lists and the order of work.
