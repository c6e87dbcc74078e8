//! DS18B20 sensors through the kernel's one-wire tree.
//!
//! The kernel gives each sensor a folder `bus/w1/devices/28-<12 hex digits>` under the system tree. Its `w1_slave` holds
//! the whole scratchpad of the sensor, so the checksum, the resolution and the power-on value are judged here and not
//! taken on trust. Where that file is missing, `temperature` is read, which holds thousandths of a degree.

mod scratchpad;

use std::{
    fs, io,
    path::{Path, PathBuf},
};

use quantities::{Celsius, CelsiusStep, NoReading, Reading, Span};

pub use scratchpad::{POWER_ON, Resolution, crc8, parse_w1_slave, reading_from_scratchpad, scratchpad_of};

use crate::{PlacedReading, ProbeId, ProbeInfo, ProbeKind, Probes};

/// The DS18B20 sensors of a one-wire tree.
#[derive(Clone, Debug)]
pub struct W1Probes {
    devices: PathBuf,
}

impl W1Probes {
    /// The sensors under this system tree: `/sys` on a board, a made-up one in a test.
    pub fn new(root: &Path) -> Self {
        Self { devices: root.join("bus/w1/devices") }
    }

    fn info(&self, id: ProbeId) -> ProbeInfo {
        let bits = fs::read_to_string(self.devices.join(id.as_str()).join("resolution")).ok();
        let resolution =
            bits.and_then(|text| Resolution::from_bits(text.trim().parse().ok()?)).unwrap_or(Resolution::Twelve);
        ProbeInfo { id, kind: ProbeKind::OneWire, resolution: resolution.step(), conversion: resolution.conversion() }
    }
}

impl Probes for W1Probes {
    fn list(&mut self) -> Vec<ProbeInfo> {
        let Ok(entries) = fs::read_dir(&self.devices) else {
            return Vec::new();
        };
        let mut ids: Vec<ProbeId> = entries
            .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
            .filter(|name| is_sensor(name))
            .filter_map(|name| ProbeId::new(&name).ok())
            .collect();
        ids.sort();
        ids.into_iter().map(|id| self.info(id)).collect()
    }

    fn read(&mut self, id: &ProbeId) -> PlacedReading {
        if !is_sensor(id.as_str()) {
            return PlacedReading::none(NoReading::Unplugged, format!("{id} is not the name of a one-wire sensor"));
        }
        let folder = self.devices.join(id.as_str());
        let slave = folder.join("w1_slave");
        match fs::read_to_string(&slave) {
            Ok(text) => PlacedReading { reading: parse_w1_slave(&text), place: slave.display().to_string() },
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                let plain = folder.join("temperature");
                PlacedReading { reading: read_plain(&plain), place: plain.display().to_string() }
            }
            Err(error) => PlacedReading { reading: Err(reason_for(&error)), place: slave.display().to_string() },
        }
    }
}

/// Whether this is the name of a DS18B20: its family code, a hyphen and its serial number in hex.
///
/// Nothing else becomes part of a path.
fn is_sensor(name: &str) -> bool {
    name.strip_prefix("28-").is_some_and(|serial| serial.len() == 12 && serial.bytes().all(|b| b.is_ascii_hexdigit()))
}

/// Without the scratchpad a true 85 °C cannot be told from the power-on value, so it is withheld.
fn read_plain(path: &Path) -> Reading {
    let text = fs::read_to_string(path).map_err(|error| reason_for(&error))?;
    let reading = celsius_from_millidegrees(&text)?;
    if reading == Celsius::whole(85) {
        return Err(NoReading::PowerOnValue);
    }
    scratchpad::within_range(reading)
}

/// Reads a whole number of thousandths of a degree, as the kernel writes it.
pub(crate) fn celsius_from_millidegrees(text: &str) -> Reading {
    let text = text.trim();
    if text.is_empty() {
        return Err(NoReading::Timeout);
    }
    let thousandths: i32 = text.parse().map_err(|_| NoReading::Garbled)?;
    thousandths.checked_mul(10).and_then(Celsius::from_ten_thousandths).ok_or(NoReading::OutOfRange)
}

/// Why a file of the system tree could not be read, as a reason for having no reading.
pub(crate) fn reason_for(error: &io::Error) -> NoReading {
    // error numbers of Linux: no such device or address, no such device; input/output error, try again
    const GONE: [i32; 2] = [6, 19];
    const NO_ANSWER: [i32; 2] = [5, 11];
    let number = error.raw_os_error().unwrap_or(0);
    if error.kind() == io::ErrorKind::NotFound || GONE.contains(&number) {
        NoReading::Unplugged
    } else if error.kind() == io::ErrorKind::TimedOut || NO_ANSWER.contains(&number) {
        NoReading::Timeout
    } else {
        NoReading::Garbled
    }
}

impl Resolution {
    /// The smallest step between two readings.
    pub fn step(self) -> CelsiusStep {
        let degrees = match self {
            Self::Nine => 0.5,
            Self::Ten => 0.25,
            Self::Eleven => 0.125,
            Self::Twelve => 0.0625,
        };
        CelsiusStep::from_degrees(degrees).expect("a step under one degree is in range")
    }

    /// How long one conversion takes at most (DS18B20 data sheet, from memory).
    pub const fn conversion(self) -> Span {
        Span::from_millis(match self {
            Self::Nine => 94,
            Self::Ten => 188,
            Self::Eleven => 375,
            Self::Twelve => 750,
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::fake_w1::{FakeW1, Shown};

    const SERIAL: &str = "28-0316a2b4c5ff";

    fn tree() -> (tempfile::TempDir, FakeW1, W1Probes, ProbeId) {
        let root = tempfile::tempdir().unwrap();
        let fake = FakeW1::new(root.path());
        let probes = W1Probes::new(root.path());
        (root, fake, probes, ProbeId::new(SERIAL).unwrap())
    }

    #[test]
    fn sensors_are_listed_with_their_resolution() {
        let (root, fake, mut probes, id) = tree();
        assert_eq!(probes.list(), []);
        fake.show(&id, &Shown::Temperature(Celsius::whole(20))).unwrap();
        let other = root.path().join("bus/w1/devices/w1_bus_master1");
        fs::create_dir_all(other).unwrap();
        let folder = root.path().join("bus/w1/devices").join(SERIAL);
        let found = probes.list();
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].id, id);
        assert_eq!(found[0].resolution.ten_thousandths(), 625);
        assert_eq!(found[0].conversion, Span::from_millis(750));
        fs::write(folder.join("resolution"), "9\n").unwrap();
        assert_eq!(probes.list()[0].resolution.ten_thousandths(), 5000);
        assert_eq!(probes.list()[0].conversion, Span::from_millis(94));
    }

    #[test]
    fn every_fault_of_the_tree_is_named() {
        let (_root, fake, mut probes, id) = tree();
        for (shown, reading) in [
            (Shown::Missing, Err(NoReading::Unplugged)),
            (Shown::BadChecksum, Err(NoReading::Garbled)),
            (Shown::PowerOnValue, Err(NoReading::PowerOnValue)),
            (Shown::NoAnswer, Err(NoReading::Timeout)),
            (Shown::LineHigh, Err(NoReading::Unplugged)),
            (Shown::LineLow, Err(NoReading::ShortToGround)),
            (Shown::Temperature(Celsius::whole(85)), Ok(Celsius::whole(85))),
        ] {
            fake.show(&id, &shown).unwrap();
            assert_eq!(probes.read(&id).reading, reading, "{shown:?}");
        }
    }

    #[test]
    fn a_kernel_without_the_scratchpad_file_is_read_too() {
        let (root, fake, mut probes, id) = tree();
        fake.show(&id, &Shown::Temperature(Celsius::whole(20))).unwrap();
        let folder = root.path().join("bus/w1/devices").join(SERIAL);
        fs::remove_file(folder.join("w1_slave")).unwrap();
        for (text, reading) in [
            ("23125\n", Ok(Celsius::from_degrees(23.125).unwrap())),
            ("-1250", Ok(Celsius::from_degrees(-1.25).unwrap())),
            ("85000", Err(NoReading::PowerOnValue)),
            ("130000", Err(NoReading::OutOfRange)),
            ("2147483647", Err(NoReading::OutOfRange)),
            ("", Err(NoReading::Timeout)),
            ("23.1", Err(NoReading::Garbled)),
        ] {
            fs::write(folder.join("temperature"), text).unwrap();
            let found = probes.read(&id);
            assert_eq!(found.reading, reading, "{text:?}");
            assert!(found.place.ends_with("temperature"));
        }
    }

    #[test]
    fn no_name_leads_out_of_the_tree() {
        let (root, _fake, mut probes, _) = tree();
        fs::write(root.path().join("w1_slave"), "secret").unwrap();
        for name in ["../../..", "28-../../../..", "28-0316a2b4c5f", "10-000000000000"] {
            let found = probes.read(&ProbeId::new(name).unwrap());
            assert_eq!(found.reading, Err(NoReading::Unplugged));
            assert!(found.place.contains("is not the name"), "{}", found.place);
        }
    }

    #[test]
    fn file_errors_become_reasons() {
        for (number, reason) in
            [(2, NoReading::Unplugged), (19, NoReading::Unplugged), (5, NoReading::Timeout), (13, NoReading::Garbled)]
        {
            assert_eq!(reason_for(&io::Error::from_raw_os_error(number)), reason);
        }
    }
}
