//! Blocks of probe samples, without loss.
//!
//! ```text
//! version 1 byte │ name length 1 byte, name │ interval │ grain │ count │ first time │ token token token …
//! ```
//!
//! All numbers after the name are variable-length (7 bits a byte, low first). Times are milliseconds of the run;
//! temperatures are steps of 0.0001 °C, divided by `grain`, the largest number that divides all their differences: the
//! sixteenths of a one-wire sensor then take one byte. A token's two low bits say what the rest of it is:
//!
//! | bits | sample | time since the one before |
//! |---|---|---|
//! | 00 | difference from the last temperature, zigzag | as before |
//! | 01 | the same | changed: the change follows, zigzag |
//! | 10 | reason for no reading | as before |
//! | 11 | the same | changed: the change follows, zigzag |
//!
//! The time before the first sample counts as one interval, and the temperature before the first as 0 °C. A stretch
//! longer than twice the interval is a gap ([`Block::gaps`]).

use quantities::{Celsius, NoReading, Reading, RunTime, Span};
use recipe_model::ProbeName;

/// What a probe said at one moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sample {
    /// When.
    pub at: RunTime,
    /// What it said, or why it said nothing.
    pub reading: Reading,
}

/// A stretch of samples of one probe, in order of time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Block {
    probe: ProbeName,
    every: Span,
    samples: Vec<Sample>,
}

/// A stretch without samples although the probe was to be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gap {
    /// The last sample before it.
    pub from: RunTime,
    /// The first after it.
    pub to: RunTime,
}

/// Why samples do not make a block, or bytes do not read as one.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BlockError {
    /// Too many for one block.
    #[error("expected at most {MOST_SAMPLES} samples in a block, found {found}: split it")]
    TooMany {
        /// How many there are.
        found: u64,
    },
    /// A sample earlier than the one before it.
    #[error("expected samples in order of time, found one at {found} ms after one at {before} ms")]
    Order {
        /// The time of the one before.
        before: u64,
        /// Its own.
        found: u64,
    },
    /// A probe name that does not fit.
    #[error("expected a probe name of 1 to 255 bytes, found {found} bytes")]
    Name {
        /// How long it is.
        found: usize,
    },
    /// A time further off than any run lasts.
    #[error("expected a time of at most {} ms, found {found} ms", Span::LONGEST.millis())]
    Time {
        /// The time.
        found: u64,
    },
    /// Written by a later program.
    #[error("expected a readings block of version {VERSION}, found version {found}: update this program to read it")]
    Version {
        /// Its version.
        found: u8,
    },
    /// The bytes end inside the block, or go on after it.
    #[error("expected a readings block of {samples} samples, found {found} bytes that hold fewer or more")]
    Length {
        /// How many samples it says it holds.
        samples: u64,
        /// How many bytes there are.
        found: usize,
    },
    /// A number that no block holds.
    #[error("expected a sample that a probe can give, found {found} at sample {sample}")]
    Value {
        /// Which sample.
        sample: usize,
        /// The number.
        found: i128,
    },
}

impl Block {
    /// A block of samples that were to come `every` so often.
    pub fn new(probe: ProbeName, every: Span, samples: Vec<Sample>) -> Result<Self, BlockError> {
        let name = probe.as_str().len();
        if !(1..=255).contains(&name) {
            return Err(BlockError::Name { found: name });
        }
        if samples.len() > MOST_SAMPLES {
            return Err(BlockError::TooMany { found: samples.len() as u64 });
        }
        if let Some(two) = samples.windows(2).find(|two| two[1].at < two[0].at) {
            return Err(BlockError::Order { before: two[0].at.millis(), found: two[1].at.millis() });
        }
        let latest = samples.last().map_or(0, |last| last.at.millis()).max(every.millis());
        if latest > Span::LONGEST.millis() {
            return Err(BlockError::Time { found: latest });
        }
        Ok(Self { probe, every, samples })
    }

    /// Whose samples they are.
    pub fn probe(&self) -> &ProbeName {
        &self.probe
    }

    /// How often one was to come.
    pub fn every(&self) -> Span {
        self.every
    }

    /// The samples, in order of time.
    pub fn samples(&self) -> &[Sample] {
        &self.samples
    }

    /// The stretches in which samples are missing: longer than twice the interval.
    pub fn gaps(&self) -> impl Iterator<Item = Gap> + '_ {
        let pairs = self.samples.windows(2).map(|two| Gap { from: two[0].at, to: two[1].at });
        pairs.filter(|gap| gap.to.since(gap.from) > self.every * 2)
    }

    /// Its bytes.
    pub fn encode(&self) -> Vec<u8> {
        let name = self.probe.as_str().as_bytes();
        let mut out = vec![VERSION, name.len() as u8];
        out.extend_from_slice(name);
        let grain = grain(&self.samples);
        put(&mut out, self.every.millis());
        put(&mut out, grain.unsigned_abs());
        put(&mut out, self.samples.len() as u64);
        let first = self.samples.first().map_or(0, |sample| sample.at.millis());
        put(&mut out, first);
        let mut before =
            Before { at: first.wrapping_sub(self.every.millis()) as i64, step: self.every.millis() as i64, value: 0 };
        for sample in &self.samples {
            let at = sample.at.millis() as i64;
            let step = at.wrapping_sub(before.at);
            let changed = u64::from(step != before.step);
            match sample.reading {
                Ok(celsius) => {
                    let value = i64::from(celsius.ten_thousandths());
                    put(&mut out, (zigzag((value - before.value) / grain) << 2) | changed);
                    before.value = value;
                }
                Err(why) => put(&mut out, (code(why) << 2) | 2 | changed),
            }
            if changed == 1 {
                put(&mut out, zigzag(step - before.step));
            }
            (before.at, before.step) = (at, step);
        }
        out
    }

    /// Reads what [`Self::encode`] wrote; never panics, whatever the bytes.
    pub fn decode(bytes: &[u8]) -> Result<Self, BlockError> {
        let mut rest = bytes;
        let cut = |samples| BlockError::Length { samples, found: bytes.len() };
        let version = take_byte(&mut rest).ok_or(cut(0))?;
        if version != VERSION {
            return Err(BlockError::Version { found: version });
        }
        let length = usize::from(take_byte(&mut rest).ok_or(cut(0))?);
        let (name, after) = rest.split_at_checked(length).ok_or(cut(0))?;
        let name = std::str::from_utf8(name).map_err(|_| BlockError::Name { found: length })?;
        rest = after;
        let every = take(&mut rest).ok_or(cut(0))?;
        let grain = take(&mut rest).ok_or(cut(0))?;
        let count = take(&mut rest).ok_or(cut(0))?;
        let first = take(&mut rest).ok_or(cut(count))?;
        // a sample takes a byte at least: nothing is made room for that is not there
        if count > rest.len() as u64 {
            return Err(cut(count));
        }
        let mut samples = Vec::with_capacity(count as usize);
        let (mut at, mut step, mut value) = (i128::from(first) - i128::from(every), i128::from(every), 0i128);
        for sample in 0..count as usize {
            let wrong = |found| BlockError::Value { sample, found };
            let token = take(&mut rest).ok_or(cut(count))?;
            let reading = if token & 2 == 0 {
                value += i128::from(unzigzag(token >> 2)) * i128::from(grain);
                let steps = i32::try_from(value).map_err(|_| wrong(value))?;
                Ok(Celsius::from_ten_thousandths(steps).ok_or(wrong(value))?)
            } else {
                Err(reason(token >> 2).ok_or(wrong(i128::from(token >> 2)))?)
            };
            if token & 1 == 1 {
                step += i128::from(unzigzag(take(&mut rest).ok_or(cut(count))?));
            }
            at += step;
            let millis = u64::try_from(at).map_err(|_| wrong(at))?;
            samples.push(Sample { at: RunTime::from_millis(millis), reading });
        }
        if !rest.is_empty() {
            return Err(cut(count));
        }
        Self::new(ProbeName::new(name), Span::from_millis(every), samples)
    }
}

struct Before {
    at: i64,
    step: i64,
    value: i64,
}

/// The largest number that divides all differences, so that dividing by it loses nothing.
fn grain(samples: &[Sample]) -> i64 {
    let mut before = 0;
    let mut grain = 0;
    for celsius in samples.iter().filter_map(|sample| sample.reading.ok()) {
        let value = i64::from(celsius.ten_thousandths());
        let (mut a, mut b) = (grain, (value - before).abs());
        while b != 0 {
            (a, b) = (b, a % b);
        }
        (grain, before) = (a, value);
    }
    grain.max(1)
}

fn put(out: &mut Vec<u8>, mut number: u64) {
    while number >= 0x80 {
        out.push(number as u8 | 0x80);
        number >>= 7;
    }
    out.push(number as u8);
}

/// Nothing if the bytes end, or if the number is longer than 64 bits.
fn take(rest: &mut &[u8]) -> Option<u64> {
    let mut number = 0u64;
    for shift in (0..64).step_by(7) {
        let byte = take_byte(rest)?;
        let bits = u64::from(byte & 0x7f);
        if bits << shift >> shift != bits {
            return None;
        }
        number |= bits << shift;
        if byte < 0x80 {
            return Some(number);
        }
    }
    None
}

fn take_byte(rest: &mut &[u8]) -> Option<u8> {
    let (&byte, after) = rest.split_first()?;
    *rest = after;
    Some(byte)
}

/// Small numbers of either sign to small numbers without one.
fn zigzag(number: i64) -> u64 {
    ((number << 1) ^ (number >> 63)) as u64
}

fn unzigzag(number: u64) -> i64 {
    (number >> 1) as i64 ^ -((number & 1) as i64)
}

fn code(why: NoReading) -> u64 {
    match why {
        NoReading::Unplugged => 1,
        NoReading::Timeout => 2,
        NoReading::Garbled => 3,
        NoReading::Open => 4,
        NoReading::ShortToGround => 5,
        NoReading::ShortToSupply => 6,
        NoReading::OutOfRange => 7,
        NoReading::PowerOnValue => 8,
        NoReading::Stuck => 9,
        NoReading::Jumped => 10,
    }
}

fn reason(code: u64) -> Option<NoReading> {
    Some(match code {
        1 => NoReading::Unplugged,
        2 => NoReading::Timeout,
        3 => NoReading::Garbled,
        4 => NoReading::Open,
        5 => NoReading::ShortToGround,
        6 => NoReading::ShortToSupply,
        7 => NoReading::OutOfRange,
        8 => NoReading::PowerOnValue,
        9 => NoReading::Stuck,
        10 => NoReading::Jumped,
        _ => return None,
    })
}

/// The version of the form that this program writes.
const VERSION: u8 = 1;
/// The most samples of one block; a block of five minutes has a few hundred.
const MOST_SAMPLES: usize = 100_000;

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use proptest::prelude::*;

    fn block(samples: Vec<Sample>) -> Block {
        Block::new(ProbeName::new("core"), Span::from_secs(1), samples).unwrap()
    }

    fn at(millis: u64, reading: Reading) -> Sample {
        Sample { at: RunTime::from_millis(millis), reading }
    }

    /// A loin warming from 6 °C towards an oven at 160 °C, as a one-wire sensor in sixteenths says it.
    fn four_hours() -> Vec<Sample> {
        let mut noise = 1u32;
        let samples = (0..4 * 3600u64).map(|second| {
            noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let wobble = f64::from(noise >> 16) / 65_536.0 * 0.12 - 0.06;
            let true_core = 160.0 - 154.0 * libm_exp(-(second as f64) / 9000.0) + wobble;
            let sixteenths = (true_core * 16.0).round() / 16.0;
            // the cook opens the oven, and the plug slips once
            let reading = if (7000..7012).contains(&second) {
                Err(NoReading::Unplugged)
            } else {
                Celsius::from_degrees(sixteenths).ok_or(NoReading::Garbled)
            };
            at(second * 1000 + u64::from(second % 40 == 0), reading)
        });
        samples.collect()
    }

    fn libm_exp(x: f64) -> f64 {
        x.exp()
    }

    #[test]
    fn four_hours_at_one_a_second_come_back_in_a_few_bytes() {
        let samples = four_hours();
        let mut bytes = 0;
        for part in samples.chunks(300) {
            let block = block(part.to_vec());
            let encoded = block.encode();
            assert_eq!(Block::decode(&encoded).unwrap(), block);
            bytes += encoded.len();
        }
        // 12 bytes a sample as they are in memory: 172,800
        assert!(bytes < 20_000, "14,400 samples took {bytes} bytes");
        let _ = std::io::Write::write_fmt(
            &mut std::io::stderr(),
            format_args!("14,400 samples in blocks of 300: {bytes} bytes, {:.2} a sample\n", bytes as f64 / 14_400.0),
        );
    }

    #[test]
    fn a_gap_is_marked_and_a_late_sample_is_none() {
        let warm = Ok(Celsius::whole(58));
        let block = block(vec![at(0, warm), at(1000, warm), at(3000, warm), at(9000, warm), at(10_000, warm)]);
        let gaps: Vec<_> = Block::decode(&block.encode()).unwrap().gaps().collect();
        assert_eq!(gaps, [Gap { from: RunTime::from_millis(3000), to: RunTime::from_millis(9000) }]);
    }

    #[test]
    fn samples_out_of_order_are_refused() {
        let warm = Ok(Celsius::whole(58));
        let wrong = Block::new(ProbeName::new("core"), Span::from_secs(1), vec![at(2000, warm), at(1000, warm)]);
        assert_eq!(wrong, Err(BlockError::Order { before: 2000, found: 1000 }));
    }

    #[test]
    fn a_count_of_samples_that_are_not_there_allocates_nothing() {
        let mut bytes = block(vec![]).encode();
        let count = bytes.len() - 2;
        bytes.truncate(count);
        put(&mut bytes, u64::MAX);
        put(&mut bytes, 0);
        assert!(matches!(Block::decode(&bytes), Err(BlockError::Length { samples: u64::MAX, .. })));
    }

    #[test]
    fn every_cut_of_a_block_is_refused() {
        let bytes = block(four_hours()[6990..7020].to_vec()).encode();
        for length in 0..bytes.len() {
            assert!(Block::decode(&bytes[..length]).is_err(), "cut at {length}");
        }
        let longer = [&bytes[..], &[0]].concat();
        assert!(Block::decode(&longer).is_err());
    }

    fn any_reading() -> impl Strategy<Value = Reading> {
        let celsius = (Celsius::ABSOLUTE_ZERO.ten_thousandths()..=Celsius::HIGHEST.ten_thousandths())
            .prop_map(|raw| Ok(Celsius::from_ten_thousandths(raw).unwrap()));
        let none = (1u64..=10).prop_map(|code| Err(reason(code).unwrap()));
        prop_oneof![4 => celsius, 1 => none]
    }

    proptest! {
        #[test]
        fn any_samples_come_back(
            every in 1u64..100_000,
            steps in proptest::collection::vec((prop_oneof![0u64..3000, 0u64..1_000_000_000], any_reading()), 0..200)
        ) {
            let mut time = 0;
            let samples = steps.into_iter().map(|(step, reading)| { time += step; at(time, reading) }).collect();
            let block = Block::new(ProbeName::new("air"), Span::from_millis(every), samples).unwrap();
            prop_assert_eq!(Block::decode(&block.encode()), Ok(block));
        }

        #[test]
        fn noise_never_panics(noise in proptest::collection::vec(0u8.., 0..400)) {
            let _ = Block::decode(&noise);
            let named = [&[VERSION, 1, b'c'][..], &noise].concat();
            let _ = Block::decode(&named);
        }

        #[test]
        fn a_changed_byte_never_panics(place in 0usize..400, to in 0u8..) {
            let mut bytes = block(four_hours()[6900..7100].to_vec()).encode();
            let place = place % bytes.len();
            bytes[place] = to;
            let _ = Block::decode(&bytes);
        }
    }
}
