//! The frame round every packed file: a mark, a version, a seed, the content, and a checksum of it all.
//!
//! ```text
//! 0..4   mark        "THcv" heating curves, "THrs" rests, "THmd" models
//! 4..8   version     little endian
//! 8..16  seed        the seed it was made from
//! 16..20 count       items
//! 20..n-8 content
//! n-8..n checksum    FNV-1a of 64 bits over all before it
//! ```

use alloc::vec::Vec;

use thiserror::Error;

/// Which file it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// Heating curves.
    Curves,
    /// What came of pulls from those curves.
    Rests,
    /// Trained models.
    Models,
}

/// Versions of the three forms that this crate reads.
pub const VERSION: u32 = 1;

/// Why a packed file is not taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum PackedError {
    /// Not such a file.
    #[error("expected a file that begins with {expected:?}, found {found:?}; make it anew with the heat command")]
    Mark {
        /// The right mark.
        expected: [u8; 4],
        /// What stands there.
        found: [u8; 4],
    },
    /// Of another version.
    #[error("expected version {VERSION}, found version {found}; make the file anew with the heat command")]
    Version {
        /// What stands there.
        found: u32,
    },
    /// Cut off or changed.
    #[error("expected the checksum {expected:016x}, found {found:016x}; the file is cut off or damaged, copy it again")]
    Checksum {
        /// Over what is there.
        expected: u64,
        /// What stands there.
        found: u64,
    },
    /// The content does not fit its count.
    #[error(
        "expected {expected} bytes of content for {count} items, found {found}; make the file anew with the heat command"
    )]
    Size {
        /// Items.
        count: u32,
        /// Bytes they take.
        expected: usize,
        /// Bytes there are.
        found: usize,
    },
}

/// An opened file.
#[derive(Clone, Copy, Debug)]
pub struct Packed<'a> {
    /// The seed it was made from.
    pub seed: u64,
    /// Items in it.
    pub count: u32,
    /// Between head and checksum.
    pub content: &'a [u8],
}

impl Mark {
    const fn bytes(self) -> [u8; 4] {
        match self {
            Self::Curves => *b"THcv",
            Self::Rests => *b"THrs",
            Self::Models => *b"THmd",
        }
    }
}

/// Puts the frame round a content.
pub fn pack(mark: Mark, seed: u64, count: u32, content: &[u8]) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(content.len() + 28);
    bytes.extend_from_slice(&mark.bytes());
    bytes.extend_from_slice(&VERSION.to_le_bytes());
    bytes.extend_from_slice(&seed.to_le_bytes());
    bytes.extend_from_slice(&count.to_le_bytes());
    bytes.extend_from_slice(content);
    let sum = checksum(&bytes);
    bytes.extend_from_slice(&sum.to_le_bytes());
    bytes
}

/// Opens a packed file; nothing in it is believed before the checksum fits.
pub fn open(mark: Mark, bytes: &[u8]) -> Result<Packed<'_>, PackedError> {
    let word = |from: usize| bytes.get(from..from + 4).and_then(|w| <[u8; 4]>::try_from(w).ok()).unwrap_or([0; 4]);
    let expected = mark.bytes();
    if word(0) != expected || bytes.len() < 28 {
        return Err(PackedError::Mark { expected, found: word(0) });
    }
    let found = u32::from_le_bytes(word(4));
    if found != VERSION {
        return Err(PackedError::Version { found });
    }
    let (body, sum) = bytes.split_at(bytes.len() - 8);
    let found = sum.try_into().map_or(0, u64::from_le_bytes);
    let expected = checksum(body);
    if found != expected {
        return Err(PackedError::Checksum { expected, found });
    }
    let seed = u64::from(u32::from_le_bytes(word(8))) | u64::from(u32::from_le_bytes(word(12))) << 32;
    Ok(Packed { seed, count: u32::from_le_bytes(word(16)), content: &body[20..] })
}

fn checksum(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |sum, byte| (sum ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn any_changed_byte_is_noticed() {
        let bytes = pack(Mark::Rests, 7, 2, b"content");
        assert_eq!(open(Mark::Rests, &bytes).unwrap().content, b"content");
        assert_eq!(open(Mark::Rests, &bytes).unwrap().seed, 7);
        for i in 0..bytes.len() {
            let mut wrong = bytes.clone();
            wrong[i] ^= 0x10;
            assert!(open(Mark::Rests, &wrong).is_err(), "byte {i}");
        }
        assert!(open(Mark::Rests, &bytes[..bytes.len() - 1]).is_err());
        assert!(open(Mark::Curves, &bytes).is_err());
    }
}
