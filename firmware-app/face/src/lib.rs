//! The panel's typeface: a glyph atlas made at build time, and the widths of words.
//!
//! Duties: give the picture of a letter in one of the sizes of the type scale, and of a figure in one bit; say how wide
//! a text is; say whether a text of a recipe fits its place on the panel. Widths are whole pixels and add up: letters are not moved closer in
//! pairs, and all figures of a size have one width, so a running clock never jumps.
//!
//! The face is Roboto Condensed Medium (Apache License 2.0, in `fonts/`).
#![no_std]
#![forbid(unsafe_code)]

mod atlas;
mod bits;
mod limits;
mod size;

pub use atlas::{ATLAS_BYTES, Glyph, covers, glyph, width};
pub use bits::{BITS_BYTES, BitGlyph, BitSize};
pub use limits::{Limit, Place, TooWide, fits, lines};
pub use size::Size;
