//! Letting a piece down onto what lies below it.
