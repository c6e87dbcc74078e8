//! A made-up one-wire tree, for tests and for trying the station without a sensor.
//!
//! It writes what the kernel would show under `bus/w1/devices`, with right checksums, so that the code that reads a real
//! sensor is what is tried. Each change is made by renaming a finished file, so a reader never sees half of one.

use std::{
    fs, io,
    path::{Path, PathBuf},
};

use quantities::{Celsius, NoReading, Reading, RunTime};

use crate::{ProbeId, curve::Curve, w1};

/// What a made-up sensor shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// A measured temperature, rounded to sixteenths.
    Temperature(Celsius),
    /// No folder: the sensor is unplugged.
    Missing,
    /// A wrong checksum, which the kernel calls out.
    BadChecksum,
    /// The scratchpad of a sensor that has not measured since power came on.
    PowerOnValue,
    /// An empty file.
    NoAnswer,
    /// All ones: the bus is up and nothing answers.
    LineHigh,
    /// All zeros, with the checksum that is right for them: the data line is held low.
    LineLow,
}

/// Why the tree could not show something.
#[derive(Debug, thiserror::Error)]
pub enum FakeFault {
    /// A file could not be written.
    #[error("could not write {}: {source}", path.display())]
    Write {
        /// Which file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A one-wire sensor cannot fail like that.
    #[error(
        "a one-wire sensor cannot show {found:?}: give a temperature, unplugged, timeout, garbled, short to ground or power-on value"
    )]
    NotShowable {
        /// The reason that was asked for.
        found: NoReading,
    },
}

/// A one-wire tree under a folder of the caller's.
#[derive(Clone, Debug)]
pub struct FakeW1 {
    devices: PathBuf,
}

impl FakeW1 {
    /// A tree under this root; nothing is written before something is shown.
    pub fn new(root: &Path) -> Self {
        Self { devices: root.join("bus/w1/devices") }
    }

    /// Lets a sensor show this from here on.
    pub fn show(&self, id: &ProbeId, shown: &Shown) -> Result<(), FakeFault> {
        let folder = self.devices.join(id.as_str());
        let text = match shown {
            Shown::Missing => return remove(&folder),
            Shown::Temperature(celsius) => slave_text(&w1::scratchpad_of(*celsius)),
            Shown::PowerOnValue => slave_text(&w1::POWER_ON),
            Shown::BadChecksum => {
                let mut bytes = w1::scratchpad_of(Celsius::whole(20));
                bytes[8] ^= 0xFF;
                slave_text(&bytes)
            }
            Shown::NoAnswer => String::new(),
            Shown::LineHigh => slave_text(&[0xFF; 9]),
            Shown::LineLow => slave_text(&[0; 9]),
        };
        let write = |path: PathBuf, what: io::Result<()>| what.map_err(|source| FakeFault::Write { path, source });
        write(folder.clone(), fs::create_dir_all(&folder))?;
        let (new, path) = (folder.join("w1_slave.new"), folder.join("w1_slave"));
        write(new.clone(), fs::write(&new, text))?;
        write(path.clone(), fs::rename(&new, &path))
    }

    /// Lets a sensor show a reading, or fail for its reason.
    pub fn show_reading(&self, id: &ProbeId, reading: &Reading) -> Result<(), FakeFault> {
        let shown = match *reading {
            Ok(celsius) => Shown::Temperature(celsius),
            Err(NoReading::Unplugged) => Shown::Missing,
            Err(NoReading::Timeout) => Shown::NoAnswer,
            Err(NoReading::Garbled) => Shown::BadChecksum,
            Err(NoReading::ShortToGround) => Shown::LineLow,
            Err(NoReading::PowerOnValue) => Shown::PowerOnValue,
            Err(
                found @ (NoReading::Open
                | NoReading::ShortToSupply
                | NoReading::OutOfRange
                | NoReading::Stuck
                | NoReading::Jumped),
            ) => return Err(FakeFault::NotShowable { found }),
        };
        self.show(id, &shown)
    }

    /// Lets a sensor show what a curve says at a moment after its start.
    pub fn show_curve(&self, id: &ProbeId, curve: &Curve, at: RunTime) -> Result<(), FakeFault> {
        self.show_reading(id, &curve.reading_at(at))
    }
}

fn remove(folder: &Path) -> Result<(), FakeFault> {
    match fs::remove_dir_all(folder) {
        Err(source) if source.kind() != io::ErrorKind::NotFound => {
            Err(FakeFault::Write { path: folder.to_owned(), source })
        }
        Ok(()) | Err(_) => Ok(()),
    }
}

fn slave_text(bytes: &[u8; 9]) -> String {
    let hex: Vec<String> = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    let hex = hex.join(" ");
    let sum = w1::crc8(&bytes[..8]);
    let verdict = if sum == bytes[8] { "YES" } else { "NO" };
    let raw = i32::from(i16::from_le_bytes([bytes[0], bytes[1]]));
    let thousandths = raw * 1000 / 16;
    format!("{hex} : crc={sum:02x} {verdict}\n{hex} t={thousandths}\n")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{Probes, w1::W1Probes};

    #[test]
    fn the_text_is_the_kernels() {
        assert_eq!(
            slave_text(&w1::scratchpad_of(Celsius::from_degrees(23.125).unwrap())),
            "72 01 4b 46 7f ff 0e 10 57 : crc=57 YES\n72 01 4b 46 7f ff 0e 10 57 t=23125\n"
        );
    }

    #[test]
    fn a_curve_with_a_gap_is_seen_through_the_tree() {
        let root = tempfile::tempdir().unwrap();
        let (fake, mut probes) = (FakeW1::new(root.path()), W1Probes::new(root.path()));
        let id = ProbeId::new("28-0000000000a1").unwrap();
        let curve = Curve::parse("time_s,core_c\n0,5\n1,\n2,5.25\n").unwrap();
        for (second, reading) in
            [(0, Ok(Celsius::whole(5))), (1, Err(NoReading::Unplugged)), (2, Ok(Celsius::from_degrees(5.25).unwrap()))]
        {
            fake.show_curve(&id, &curve, RunTime::from_millis(second * 1000)).unwrap();
            assert_eq!(probes.read(&id).reading, reading);
        }
    }

    #[test]
    fn what_a_one_wire_sensor_cannot_show_is_refused() {
        let root = tempfile::tempdir().unwrap();
        let id = ProbeId::new("28-0000000000a1").unwrap();
        let refused = FakeW1::new(root.path()).show_reading(&id, &Err(NoReading::ShortToSupply));
        assert!(refused.unwrap_err().to_string().contains("ShortToSupply"));
    }
}
