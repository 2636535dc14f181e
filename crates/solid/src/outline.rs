//! What a piece covers, seen from above.
