//! The bytes of one journal file: a header, then frames, each bound to the one before it by its checksum.
//!
//! All numbers are little-endian.
//!
//! ```text
//! header                                   frame
//!  0  magic            8  "trialjrn"        0  length     4  of the payload, at most 1 MiB
//!  8  version          2                    4  sequence   8  from the header's first, without gaps
//! 10  header length    2  512              12  kind       1  never 0
//! 12  segment          4  from 1           13  filler     2  fewer than 512
//! 16  seed             4                   15  payload    n
//! 20  first sequence   8                   ..  zeros      as many as the filler says
//! 28  followed seq.    8  all ones: none   ..  checksum   4
//! 36  its checksum     4
//! 40  trial id length  1                   checksum = CRC-32C over the checksum before this frame (the header's
//! 41  trial id         n                   for the first one) and all of the frame in front of it
//! ..  zeros
//! 508 checksum         4
//! ```
//!
//! The last frame of a commit is filled up to a whole sector of 512 bytes: no later write touches a sector with durable
//! bytes in it, so a write that the power cut short cannot take them along. A file is laid out ahead of its frames, so
//! zeros after the last frame are no damage: kind 0 is no kind. A segment beyond the first names the frame it follows,
//! so that a missing or shortened file before it shows.
//!
//! [`decode`] reads frames up to the first byte it cannot vouch for and then looks for good frames further on: a frame
//! can be vouched for on its own, because the checksum it was chained to stands in front of it.

use trial::TrialId;

/// The longest payload of a frame, in bytes.
pub const MOST_PAYLOAD: usize = 1 << 20;

/// The version of the layout that this program writes, and the newest it reads.
pub const VERSION: u16 = 1;

/// What a frame holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// The text of the recipe file that is cooked.
    Recipe,
    /// Facts, one a line, in the form of [`trial::line`].
    Facts,
    /// One line of what the service saw; kept to replay a strange trial.
    Input,
    /// A block of probe samples in the form of [`crate::readings`].
    Readings,
    /// A [`crate::Loss`]: something is missing here, and why.
    Loss,
    /// Written by a later program; kept and passed over.
    Unknown(u8),
}

impl Kind {
    /// Nothing for 0, which stands for "no frame".
    pub fn from_byte(byte: u8) -> Option<Self> {
        Some(match byte {
            0 => return None,
            1 => Self::Recipe,
            2 => Self::Facts,
            3 => Self::Input,
            4 => Self::Readings,
            5 => Self::Loss,
            other => Self::Unknown(other),
        })
    }

    /// Its byte in a frame.
    pub fn byte(self) -> u8 {
        match self {
            Self::Recipe => 1,
            Self::Facts => 2,
            Self::Input => 3,
            Self::Readings => 4,
            Self::Loss => 5,
            Self::Unknown(byte) => byte,
        }
    }
}

/// Where a frame ends that is put behind others, the first of which begins on a sector.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ends {
    /// With its own last byte: more frames of the same commit follow.
    Anywhere,
    /// With the sector, filled up: the last frame of a commit.
    OnSector,
}

/// A frame named by its sequence number and its checksum, and so all that came before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Link {
    /// Its sequence number.
    pub seq: u64,
    /// Its checksum.
    pub checksum: u32,
}

/// What stands at the head of a journal file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Header {
    /// Whose record this is.
    pub trial: TrialId,
    /// Which of the trial's files, from 1.
    pub segment: u32,
    /// Starts the chain of checksums; another in each file, so that a stale block never fits.
    pub seed: u32,
    /// The sequence number of its first frame.
    pub first: u64,
    /// The durable frame before it, in an earlier file.
    pub follows: Option<Link>,
}

/// One frame as it stands in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Frame<'a> {
    /// Its sequence number in the trial.
    pub seq: u64,
    /// What it holds.
    pub kind: Kind,
    /// The bytes.
    pub payload: &'a [u8],
    /// Its checksum, to which the next frame is chained.
    pub checksum: u32,
    /// Where it begins in the file.
    pub at: u64,
    /// How long it is there, with all around the payload.
    pub length: u64,
}

/// How a file ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// After a whole frame; nothing but zeros may follow.
    Clean,
    /// In bytes that are no whole frame, with no good frame after them: a write that a power cut stopped.
    TornTail {
        /// Where they begin.
        at: u64,
        /// How many up to the last one that is not zero.
        bytes: u64,
    },
    /// In bytes that cannot be read although good frames come after them, or with an unreadable header.
    Damaged {
        /// Where they begin.
        at: u64,
        /// What is wrong there.
        why: Why,
    },
}

/// Why bytes do not read as a header or a frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Why {
    /// The file ends inside it.
    #[error("expected {expected} more bytes, found {found}")]
    Cut {
        /// How many it needs.
        expected: u64,
        /// How many there are.
        found: u64,
    },
    /// Another kind of file.
    #[error("expected a journal file, found one that does not begin as one")]
    Magic,
    /// A length that no frame or header has.
    #[error("expected a length of at most {most} bytes, found {found}")]
    Length {
        /// The most it can be.
        most: u64,
        /// What stands there.
        found: u64,
    },
    /// The kind that stands for "no frame", with bytes after it.
    #[error("expected a kind of frame, found 0")]
    Kind,
    /// The bytes are not those that were written.
    #[error("expected the checksum {expected:08x}, found {found:08x}")]
    Checksum {
        /// Over the bytes as they are.
        expected: u32,
        /// What stands there.
        found: u32,
    },
    /// A good frame out of its turn.
    #[error("expected frame {expected}, found frame {found}")]
    Sequence {
        /// The next in turn.
        expected: u64,
        /// What stands there.
        found: u64,
    },
    /// The checksum is right, but the trial id is none, or a number makes no sense.
    #[error("expected a header of this program, found fields that it never writes")]
    Fields,
    /// Written by a later program.
    #[error("expected a journal of version {VERSION} or older, found version {found}: update this program to read it")]
    TooNew {
        /// Its version.
        found: u16,
    },
}

/// A frame was not written because of its size.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected a payload of at most {MOST_PAYLOAD} bytes, found {found}: split it")]
pub struct TooLong {
    /// How many bytes it has.
    pub found: usize,
}

/// A journal file, read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Decoded<'a> {
    /// Its header, or why there is none.
    pub header: Result<Header, Why>,
    /// The good frames from the header on, in sequence and without gaps.
    pub frames: Vec<Frame<'a>>,
    /// Where the last of them ends.
    pub end: u64,
    /// The checksum to which a frame written there is chained.
    pub chain: u32,
    /// How it ends after them.
    pub ending: Ending,
    /// Good frames after the damage.
    pub salvaged: Vec<Frame<'a>>,
}

/// Writes a header and gives the checksum to which the first frame is chained.
pub fn encode_header(header: &Header, out: &mut Vec<u8>) -> u32 {
    let start = out.len();
    let id = header.trial.as_str().as_bytes();
    let follows = header.follows.unwrap_or(Link { seq: u64::MAX, checksum: 0 });
    out.extend_from_slice(&MAGIC);
    out.extend_from_slice(&VERSION.to_le_bytes());
    out.extend_from_slice(&(SECTOR as u16).to_le_bytes());
    out.extend_from_slice(&header.segment.to_le_bytes());
    out.extend_from_slice(&header.seed.to_le_bytes());
    out.extend_from_slice(&header.first.to_le_bytes());
    out.extend_from_slice(&follows.seq.to_le_bytes());
    out.extend_from_slice(&follows.checksum.to_le_bytes());
    // a trial id has at most 80 bytes
    out.push(id.len() as u8);
    out.extend_from_slice(id);
    out.resize(start + SECTOR - 4, 0);
    let checksum = crc32c::crc32c(&out[start..]);
    out.extend_from_slice(&checksum.to_le_bytes());
    checksum
}

/// Writes a frame chained to the checksum `before` and gives its own checksum.
///
/// What `out` holds already begins on a sector.
pub fn encode_frame(
    before: u32,
    seq: u64,
    kind: Kind,
    payload: &[u8],
    ends: Ends,
    out: &mut Vec<u8>,
) -> Result<u32, TooLong> {
    if payload.len() > MOST_PAYLOAD {
        return Err(TooLong { found: payload.len() });
    }
    let start = out.len();
    out.extend_from_slice(&(payload.len() as u32).to_le_bytes());
    out.extend_from_slice(&seq.to_le_bytes());
    out.push(kind.byte());
    let end = start + FRAME_FIXED + payload.len();
    let filler = match ends {
        Ends::Anywhere => 0,
        Ends::OnSector => end.next_multiple_of(SECTOR) - end,
    };
    out.extend_from_slice(&(filler as u16).to_le_bytes());
    out.extend_from_slice(payload);
    out.resize(out.len() + filler, 0);
    let checksum = chained(before, &out[start..]);
    out.extend_from_slice(&checksum.to_le_bytes());
    Ok(checksum)
}

/// Reads a whole file.
///
/// Never panics, whatever the bytes; allocates no more than a small multiple of their number.
pub fn decode(bytes: &[u8]) -> Decoded<'_> {
    let (header, length) = match header_at(bytes) {
        Ok(found) => found,
        Err(why) => {
            let salvaged = salvage(bytes, 4, None);
            return Decoded {
                header: Err(why),
                frames: Vec::new(),
                end: 0,
                chain: 0,
                ending: Ending::Damaged { at: 0, why },
                salvaged,
            };
        }
    };
    let mut frames = Vec::new();
    let (mut at, mut before, mut next) = (length, u32_at(bytes, length - 4).unwrap_or(0), header.first);
    let why = loop {
        match frame_at(bytes, at, before) {
            Ok((frame, _)) if frame.seq != next => {
                break Why::Sequence { expected: next, found: frame.seq };
            }
            Ok((frame, end)) => {
                (at, before, next) = (end, frame.checksum, next.saturating_add(1));
                frames.push(frame);
            }
            Err(why) => break why,
        }
    };
    let rest = bytes.get(at..).unwrap_or_default();
    let torn = rest.iter().rposition(|&byte| byte != 0).map_or(0, |last| last + 1);
    let salvaged = if torn == 0 { Vec::new() } else { salvage(bytes, at + 1, Some(next)) };
    let ending = match (torn, salvaged.is_empty()) {
        (0, _) => Ending::Clean,
        (torn, true) => Ending::TornTail { at: at as u64, bytes: torn as u64 },
        (_, false) => Ending::Damaged { at: at as u64, why },
    };
    Decoded { header: Ok(header), frames, end: at as u64, chain: before, ending, salvaged }
}

/// Good frames from `from` on, each with a higher sequence number than the one before.
///
/// `next` is the sequence number that was expected before `from`. The bytes that are summed are bounded, so that a
/// file made to hold many almost-frames cannot stall the reader; frames beyond that bound are not found.
fn salvage(bytes: &[u8], from: usize, next: Option<u64>) -> Vec<Frame<'_>> {
    let mut found = Vec::new();
    let (mut at, mut least) = (from.max(4), next);
    let mut budget = bytes.len().saturating_mul(8).saturating_add(8 * MOST_PAYLOAD);
    while at + FRAME_FIXED <= bytes.len() {
        let likely = u32_at(bytes, at).zip(u64_at(bytes, at + 4)).filter(|&(length, seq)| {
            // a file's frames have no gaps, so a number far beyond what fits in front of here is not one of them
            let fits = |least: u64| seq >= least && seq - least <= (at / FRAME_FIXED) as u64;
            length as usize <= MOST_PAYLOAD && least.is_none_or(fits)
        });
        if let Some((length, _)) = likely {
            let cost = length as usize + FRAME_FIXED + SECTOR;
            if cost > budget {
                return found;
            }
            let before = u32_at(bytes, at - 4).unwrap_or(0);
            if at + FRAME_FIXED + length as usize <= bytes.len() {
                budget -= cost;
                if let Ok((frame, end)) = frame_at(bytes, at, before) {
                    least = Some(frame.seq.saturating_add(1));
                    found.push(frame);
                    at = end;
                    continue;
                }
            }
        }
        at += 1;
    }
    found
}

fn header_at(bytes: &[u8]) -> Result<(Header, usize), Why> {
    let short = Why::Cut { expected: SECTOR as u64, found: bytes.len() as u64 };
    let magic = bytes.get(..8).ok_or(short)?;
    if magic != MAGIC {
        return Err(Why::Magic);
    }
    let version = u16_at(bytes, 8).ok_or(short)?;
    let length = usize::from(u16_at(bytes, 10).ok_or(short)?);
    if length < HEADER_FIXED + 4 {
        return Err(Why::Length { most: SECTOR as u64, found: length as u64 });
    }
    let (body, found) = bytes
        .get(..length - 4)
        .zip(u32_at(bytes, length - 4))
        .ok_or(Why::Cut { expected: length as u64, found: bytes.len() as u64 })?;
    let expected = crc32c::crc32c(body);
    if expected != found {
        return Err(Why::Checksum { expected, found });
    }
    if version > VERSION {
        return Err(Why::TooNew { found: version });
    }
    let header = || {
        let seq = u64_at(body, 28)?;
        let link = Link { seq, checksum: u32_at(body, 36)? };
        let id = body.get(HEADER_FIXED..HEADER_FIXED + usize::from(*body.get(40)?))?;
        let header = Header {
            trial: TrialId::new(std::str::from_utf8(id).ok()?)?,
            segment: u32_at(body, 12)?,
            seed: u32_at(body, 16)?,
            first: u64_at(body, 20)?,
            follows: (seq != u64::MAX).then_some(link),
        };
        let in_order = header.follows.is_none_or(|link| link.seq < header.first);
        (header.segment > 0 && in_order).then_some(header)
    };
    Ok((header().ok_or(Why::Fields)?, length))
}

/// The frame at `at` and where it ends.
fn frame_at(bytes: &[u8], at: usize, before: u32) -> Result<(Frame<'_>, usize), Why> {
    let rest = bytes.get(at..).unwrap_or_default();
    let cut = |expected: usize| Why::Cut { expected: expected as u64, found: rest.len() as u64 };
    let length = u32_at(rest, 0).ok_or(cut(FRAME_FIXED))? as usize;
    let seq = u64_at(rest, 4).ok_or(cut(FRAME_FIXED))?;
    let kind = *rest.get(12).ok_or(cut(FRAME_FIXED))?;
    let filler = usize::from(u16_at(rest, 13).ok_or(cut(FRAME_FIXED))?);
    if length > MOST_PAYLOAD {
        return Err(Why::Length { most: MOST_PAYLOAD as u64, found: length as u64 });
    }
    if filler >= SECTOR {
        return Err(Why::Length { most: SECTOR as u64 - 1, found: filler as u64 });
    }
    let kind = Kind::from_byte(kind).ok_or(Why::Kind)?;
    let end = HEAD + length + filler;
    let (body, found) = rest.get(..end).zip(u32_at(rest, end)).ok_or(cut(end + 4))?;
    let expected = chained(before, body);
    if expected != found {
        return Err(Why::Checksum { expected, found });
    }
    let frame = Frame {
        seq,
        kind,
        payload: &body[HEAD..HEAD + length],
        checksum: found,
        at: at as u64,
        length: end as u64 + 4,
    };
    Ok((frame, at + end + 4))
}

fn chained(before: u32, body: &[u8]) -> u32 {
    crc32c::crc32c_append(crc32c::crc32c(&before.to_le_bytes()), body)
}

fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_le_bytes(*bytes.get(at..)?.first_chunk()?))
}

fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_le_bytes(*bytes.get(at..)?.first_chunk()?))
}

fn u64_at(bytes: &[u8], at: usize) -> Option<u64> {
    Some(u64::from_le_bytes(*bytes.get(at..)?.first_chunk()?))
}

const MAGIC: [u8; 8] = *b"trialjrn";
/// What a disk writes as one, at least.
const SECTOR: usize = 512;
/// Everything of a header but the trial id, the zeros and the checksum.
const HEADER_FIXED: usize = 41;
/// In front of the payload of a frame.
const HEAD: usize = 15;
/// A frame without its payload and filler.
const FRAME_FIXED: usize = HEAD + 4;

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn header() -> Header {
        Header {
            trial: TrialId::new("20261125-1412-loin-a").unwrap(),
            segment: 1,
            seed: 0x5eed,
            first: 0,
            follows: None,
        }
    }

    /// A journal of `count` facts of the size that real ones have, and where each frame begins.
    fn journal(count: u64) -> (Vec<u8>, Vec<usize>) {
        let mut bytes = Vec::new();
        let mut chain = encode_header(&header(), &mut bytes);
        let mut starts = Vec::new();
        for seq in 0..count {
            starts.push(bytes.len());
            let line = format!(r#"{{"v":1,"seq":{seq},"fact":{{"step_due":{{"step":"loin.roast"}}}}}}"#);
            // ten facts a commit
            let ends = if seq % 10 == 9 { Ends::OnSector } else { Ends::Anywhere };
            chain = encode_frame(chain, seq, Kind::Facts, line.as_bytes(), ends, &mut bytes).unwrap();
        }
        (bytes, starts)
    }

    /// What a reader may believe after `bytes` was spoilt: a prefix of `good`, with the rest reported.
    fn is_told(bytes: &[u8], good: &Decoded<'_>) -> bool {
        let read = decode(bytes);
        let prefix = read.frames.len() <= good.frames.len()
            && read.frames.iter().zip(&good.frames).all(|(a, b)| (a.seq, a.payload) == (b.seq, b.payload));
        let told = read.ending != Ending::Clean || read.frames.len() == good.frames.len();
        prefix && told
    }

    #[test]
    fn frames_come_back_as_written() {
        let (bytes, starts) = journal(5);
        let read = decode(&bytes);
        assert_eq!(read.header, Ok(header()));
        assert_eq!(read.ending, Ending::Clean);
        assert_eq!(read.end, bytes.len() as u64);
        assert_eq!(read.frames.iter().map(|f| f.seq).collect::<Vec<_>>(), [0, 1, 2, 3, 4]);
        assert_eq!(read.frames.iter().map(|f| f.at as usize).collect::<Vec<_>>(), starts);
    }

    #[test]
    fn every_commit_ends_on_a_sector() {
        let (bytes, starts) = journal(200);
        assert!(starts.iter().step_by(10).all(|start| start.is_multiple_of(512)));
        assert!(bytes.len().is_multiple_of(512));
        for length in 0..1100 {
            let mut out = Vec::new();
            encode_frame(1, 0, Kind::Input, &vec![1; length], Ends::OnSector, &mut out).unwrap();
            assert!(out.len().is_multiple_of(512) && out.len() < length + FRAME_FIXED + 512, "{length}");
        }
    }

    #[test]
    fn zeros_laid_out_ahead_are_no_damage() {
        let (mut bytes, _) = journal(3);
        let end = bytes.len();
        bytes.resize(end + 5000, 0);
        let read = decode(&bytes);
        assert_eq!((read.ending, read.end, read.frames.len()), (Ending::Clean, end as u64, 3));
    }

    #[test]
    fn every_flipped_bit_of_200_facts_is_told() {
        let (good, _) = journal(200);
        let whole = decode(&good);
        let (mut torn, mut damaged, mut silent) = (0, 0, 0);
        let mut bytes = good.clone();
        for bit in 0..good.len() * 8 {
            bytes[bit / 8] ^= 1 << (bit % 8);
            let read = decode(&bytes);
            match read.ending {
                Ending::TornTail { .. } => torn += 1,
                Ending::Damaged { .. } => damaged += 1,
                Ending::Clean => silent += 1,
            }
            assert!(is_told(&bytes, &whole), "bit {bit} was believed");
            bytes[bit / 8] ^= 1 << (bit % 8);
        }
        assert_eq!(silent, 0, "of {} flips {damaged} were damage, {torn} a torn tail", good.len() * 8);
        // only a flip in the last frame, or in the checksum before it, can look like a torn tail
        let last_two = (good.len() - whole.frames[199].at as usize + 4) * 8;
        assert!(
            torn <= last_two,
            "{torn} of {} flips looked like a torn tail, expected at most {last_two}",
            good.len() * 8
        );
    }

    #[test]
    fn damage_in_the_middle_keeps_the_prefix_and_salvages_the_rest() {
        let (mut bytes, starts) = journal(20);
        bytes[starts[7] + 20] ^= 0x40;
        let read = decode(&bytes);
        assert_eq!(read.frames.len(), 7);
        assert!(matches!(read.ending, Ending::Damaged { at, why: Why::Checksum { .. } } if at as usize == starts[7]));
        assert_eq!(read.salvaged.iter().map(|f| f.seq).collect::<Vec<_>>(), (8..20).collect::<Vec<_>>());
    }

    #[test]
    fn an_unreadable_header_leaves_every_frame_in_salvage() {
        let (mut bytes, _) = journal(6);
        bytes[22] ^= 1;
        let read = decode(&bytes);
        assert!(matches!(read.header, Err(Why::Checksum { .. })));
        assert_eq!(read.frames.len(), 0);
        assert_eq!(read.salvaged.len(), 6);
    }

    #[test]
    fn every_cut_gives_a_prefix_and_a_torn_tail() {
        let (good, starts) = journal(40);
        let whole = decode(&good);
        let head = starts[0];
        for length in 0..good.len() {
            let read = decode(&good[..length]);
            if length < head {
                assert!(matches!(read.ending, Ending::Damaged { at: 0, .. }), "cut at {length}");
                continue;
            }
            assert_eq!(read.frames[..], whole.frames[..read.frames.len()], "cut at {length}");
            let at_border = starts.contains(&length);
            assert_eq!(read.ending == Ending::Clean, at_border, "cut at {length}: {:?}", read.ending);
        }
    }

    #[test]
    fn a_frame_moved_to_another_place_is_not_believed() {
        let (good, starts) = journal(6);
        let mut bytes = good[..starts[2]].to_vec();
        bytes.extend_from_slice(&good[starts[3]..]);
        let read = decode(&bytes);
        assert_eq!(read.frames.len(), 2, "frame 3 is chained to frame 2, not to frame 1");
        assert!(read.ending != Ending::Clean);
    }

    #[test]
    fn a_stale_frame_with_the_right_number_is_not_believed() {
        let (mut bytes, starts) = journal(6);
        // the same facts in a file with another seed: every frame as long, in the same place, with the same number
        let mut other = Vec::new();
        let mut chain = encode_header(&Header { seed: 0x01d, ..header() }, &mut other);
        for frame in &decode(&bytes).frames {
            chain = encode_frame(chain, frame.seq, frame.kind, frame.payload, Ends::Anywhere, &mut other).unwrap();
        }
        bytes.truncate(starts[3]);
        bytes.extend_from_slice(&other[starts[3]..]);
        let read = decode(&bytes);
        assert_eq!(read.frames.len(), 3);
        assert!(matches!(read.ending, Ending::Damaged { why: Why::Checksum { .. }, .. }), "{:?}", read.ending);
    }

    #[test]
    fn a_kind_from_the_future_is_kept() {
        let mut bytes = Vec::new();
        let chain = encode_header(&header(), &mut bytes);
        encode_frame(chain, 0, Kind::Unknown(77), b"later", Ends::OnSector, &mut bytes).unwrap();
        let read = decode(&bytes);
        assert_eq!((read.frames[0].kind, read.frames[0].payload), (Kind::Unknown(77), &b"later"[..]));
    }

    #[test]
    fn a_newer_version_is_named_and_not_taken_for_damage_of_a_field() {
        let mut bytes = Vec::new();
        encode_header(&header(), &mut bytes);
        bytes[8] = 2;
        let length = bytes.len();
        let sum = crc32c::crc32c(&bytes[..length - 4]);
        bytes[length - 4..].copy_from_slice(&sum.to_le_bytes());
        assert_eq!(decode(&bytes).header, Err(Why::TooNew { found: 2 }));
    }

    #[test]
    fn a_payload_over_the_limit_is_refused() {
        let mut out = Vec::new();
        let long = vec![0; MOST_PAYLOAD + 1];
        assert_eq!(
            encode_frame(0, 0, Kind::Recipe, &long, Ends::Anywhere, &mut out),
            Err(TooLong { found: long.len() })
        );
        assert!(out.is_empty());
        assert!(encode_frame(0, 0, Kind::Recipe, &long[1..], Ends::OnSector, &mut out).is_ok());
    }

    #[test]
    fn a_length_of_four_gigabytes_allocates_nothing() {
        let (mut bytes, _) = journal(1);
        let end = bytes.len();
        bytes.extend_from_slice(&[0xff; 40]);
        assert_eq!(decode(&bytes).ending, Ending::TornTail { at: end as u64, bytes: 40 });
    }

    #[test]
    fn almost_frames_by_the_thousand_do_not_stall_the_reader() {
        let (mut bytes, _) = journal(1);
        for _ in 0..120_000 {
            bytes.extend_from_slice(&1_000_000u32.to_le_bytes());
            bytes.extend_from_slice(&1u64.to_le_bytes());
            bytes.extend_from_slice(&[2, 0, 0]);
        }
        bytes.resize(bytes.len() + 1_100_000, 0xff);
        // without a bound: 120,000 sums of 1,000,000 bytes
        let began = std::time::Instant::now();
        decode(&bytes);
        assert!(began.elapsed().as_secs() < 3, "took {:?}", began.elapsed());
    }

    proptest::proptest! {
        #[test]
        fn garbage_never_panics_and_is_never_a_frame(noise in proptest::collection::vec(0u8.., 0..3000)) {
            let read = decode(&noise);
            proptest::prop_assert!(read.frames.is_empty());
        }

        #[test]
        fn garbage_over_a_good_file_leaves_a_true_prefix(
            at in 0usize..4000, noise in proptest::collection::vec(0u8.., 1..600)
        ) {
            let (good, _) = journal(50);
            let whole = decode(&good);
            let mut bytes = good.clone();
            let at = at.min(bytes.len());
            let end = (at + noise.len()).min(bytes.len());
            bytes[at..end].copy_from_slice(&noise[..end - at]);
            proptest::prop_assert!(is_told(&bytes, &whole));
        }
    }
}
