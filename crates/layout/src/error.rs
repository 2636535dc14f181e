//! Why a layout is refused.
