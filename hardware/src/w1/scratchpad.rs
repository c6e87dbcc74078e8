use quantities::{Celsius, NoReading, Reading};

/// How finely a DS18B20 measures, from its configuration byte.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Resolution {
    /// Halves of a degree.
    Nine,
    /// Quarters.
    Ten,
    /// Eighths.
    Eleven,
    /// Sixteenths.
    Twelve,
}

impl Resolution {
    /// From a number of bits; nothing but for 9 to 12.
    pub const fn from_bits(bits: u8) -> Option<Self> {
        match bits {
            9 => Some(Self::Nine),
            10 => Some(Self::Ten),
            11 => Some(Self::Eleven),
            12 => Some(Self::Twelve),
            _ => None,
        }
    }

    /// From the configuration byte of the scratchpad: bits 5 and 6.
    pub const fn from_configuration(byte: u8) -> Self {
        match byte >> 5 & 0b11 {
            0 => Self::Nine,
            1 => Self::Ten,
            2 => Self::Eleven,
            _ => Self::Twelve,
        }
    }

    /// The bits of a raw value that mean something at this resolution.
    const fn mask(self) -> i16 {
        match self {
            Self::Nine => !0b111,
            Self::Ten => !0b11,
            Self::Eleven => !0b1,
            Self::Twelve => !0,
        }
    }
}

/// The scratchpad of a sensor that has not measured since power came on: 85 °C with byte 6 as shipped (from memory).
pub const POWER_ON: [u8; 9] = [0x50, 0x05, 0x4B, 0x46, 0x7F, 0xFF, 0x0C, 0x10, 0x1C];

const POWER_ON_RAW: i16 = 0x0550;
const POWER_ON_BYTE_6: u8 = 0x0C;

/// Judges the nine bytes of a scratchpad.
///
/// All ones are a bus that nothing answers on, all zeros a data line held low: a checksum of zeros is right by itself.
/// The power-on value is known by byte 6, which a measurement sets to 0x10 less the lowest four bits of the raw value
/// (from memory): a measured 85 °C has 0x10 there. Copies of the sensor that never change byte 6 lose exactly that one
/// value.
pub fn reading_from_scratchpad(bytes: &[u8; 9]) -> Reading {
    if bytes == &[0xFF; 9] {
        return Err(NoReading::Unplugged);
    }
    if bytes == &[0; 9] {
        return Err(NoReading::ShortToGround);
    }
    let [low, high, _, _, configuration, _, byte_6, _, sum] = *bytes;
    if crc8(&bytes[..8]) != sum {
        return Err(NoReading::Garbled);
    }
    let raw = i16::from_le_bytes([low, high]);
    if raw == POWER_ON_RAW && byte_6 == POWER_ON_BYTE_6 {
        return Err(NoReading::PowerOnValue);
    }
    let sixteenths = raw & Resolution::from_configuration(configuration).mask();
    // a sixteenth is 625 ten-thousandths; an i16 of them fits an i32
    Celsius::from_ten_thousandths(i32::from(sixteenths) * 625).ok_or(NoReading::OutOfRange).and_then(within_range)
}

/// Reads the kernel's `w1_slave`: nine bytes in hex, the kernel's own verdict on the checksum, and its temperature.
///
/// Only the bytes count; a verdict of NO is believed even where they look right.
pub fn parse_w1_slave(text: &str) -> Reading {
    let Some(first) = text.lines().next().filter(|line| !line.trim().is_empty()) else {
        return Err(NoReading::Timeout);
    };
    let (hex, verdict) = first.split_once(':').ok_or(NoReading::Garbled)?;
    let mut bytes = [0; 9];
    let mut words = hex.split_whitespace();
    for byte in &mut bytes {
        *byte = words.next().and_then(|word| u8::from_str_radix(word, 16).ok()).ok_or(NoReading::Garbled)?;
    }
    if words.next().is_some() {
        return Err(NoReading::Garbled);
    }
    let reading = reading_from_scratchpad(&bytes);
    if reading.is_ok() && !verdict.trim_end().ends_with("YES") {
        return Err(NoReading::Garbled);
    }
    reading
}

/// The scratchpad of a sensor that has just measured this, rounded to sixteenths.
pub fn scratchpad_of(temperature: Celsius) -> [u8; 9] {
    // at most 2000 °C: fits an i16 of sixteenths
    let sixteenths = (temperature.ten_thousandths() as f64 / 625.0).round() as i16;
    let [low, high] = sixteenths.to_le_bytes();
    let mut bytes = POWER_ON;
    bytes[0] = low;
    bytes[1] = high;
    bytes[6] = 0x10 - (low & 0x0F);
    bytes[8] = crc8(&bytes[..8]);
    bytes
}

/// The checksum of the one-wire bus: polynomial x⁸ + x⁵ + x⁴ + 1, lowest bit first, starting from zero.
pub fn crc8(bytes: &[u8]) -> u8 {
    bytes
        .iter()
        .fold(0, |sum, byte| (0..8).fold(sum ^ byte, |sum, _| if sum & 1 == 1 { sum >> 1 ^ 0x8C } else { sum >> 1 }))
}

/// What the sensor can measure (data sheet, from memory).
pub(super) fn within_range(temperature: Celsius) -> Reading {
    if (Celsius::whole(-55)..=Celsius::whole(125)).contains(&temperature) {
        Ok(temperature)
    } else {
        Err(NoReading::OutOfRange)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn with_raw(raw: u16, configuration: u8, byte_6: u8) -> [u8; 9] {
        let [low, high] = raw.to_le_bytes();
        let mut bytes = [low, high, 0x4B, 0x46, configuration, 0xFF, byte_6, 0x10, 0];
        bytes[8] = crc8(&bytes[..8]);
        bytes
    }

    // DS18B20 data sheet, table 1 (from memory)
    const TABLE: [(u16, f64); 10] = [
        (0x07D0, 125.0),
        (0x0550, 85.0),
        (0x0191, 25.0625),
        (0x00A2, 10.125),
        (0x0008, 0.5),
        (0x0000, 0.0),
        (0xFFF8, -0.5),
        (0xFF5E, -10.125),
        (0xFE6F, -25.0625),
        (0xFC90, -55.0),
    ];

    #[test]
    fn the_data_sheet_table_is_read_exactly() {
        for (raw, degrees) in TABLE {
            let bytes = with_raw(raw, 0x7F, 0x10 - (raw as u8 & 0x0F));
            let celsius = Celsius::from_degrees(degrees).unwrap();
            assert_eq!(reading_from_scratchpad(&bytes), Ok(celsius), "{raw:#06x}");
            assert_eq!(scratchpad_of(celsius), bytes, "{degrees}");
        }
    }

    #[test]
    fn the_power_on_value_is_refused_and_a_measured_85_is_taken() {
        assert_eq!(crc8(&POWER_ON[..8]), POWER_ON[8]);
        assert_eq!(reading_from_scratchpad(&POWER_ON), Err(NoReading::PowerOnValue));
        let measured = with_raw(0x0550, 0x7F, 0x10);
        assert_eq!(reading_from_scratchpad(&measured), Ok(Celsius::whole(85)));
    }

    #[test]
    fn every_single_bit_flip_is_found() {
        let good = scratchpad_of(Celsius::from_degrees(63.0625).unwrap());
        for bit in 0..72 {
            let mut bad = good;
            bad[bit / 8] ^= 1 << (bit % 8);
            assert_eq!(reading_from_scratchpad(&bad), Err(NoReading::Garbled), "bit {bit}");
        }
    }

    #[test]
    fn bits_below_the_resolution_are_cut_off() {
        for (configuration, degrees) in [(0x1F, 25.0), (0x3F, 25.25), (0x5F, 25.375), (0x7F, 25.4375)] {
            let bytes = with_raw(0x0197, configuration, 0x09);
            assert_eq!(reading_from_scratchpad(&bytes), Ok(Celsius::from_degrees(degrees).unwrap()));
        }
    }

    #[test]
    fn impossible_values_with_a_right_checksum_are_out_of_range() {
        for raw in [0x07D1, 0xFC8F, 0x7FFF, 0x8000] {
            assert_eq!(reading_from_scratchpad(&with_raw(raw, 0x7F, 0x0F)), Err(NoReading::OutOfRange));
        }
    }

    #[test]
    fn the_kernels_text_is_read() {
        // an example as the kernel's documentation prints them (from memory)
        let text = "72 01 4b 46 7f ff 0e 10 57 : crc=57 YES\n72 01 4b 46 7f ff 0e 10 57 t=23125\n";
        assert_eq!(parse_w1_slave(text), Ok(Celsius::from_degrees(23.125).unwrap()));
        for (bad, reason) in [
            ("", NoReading::Timeout),
            ("\n", NoReading::Timeout),
            ("72 01", NoReading::Garbled),
            ("72 01 4b 46 7f ff 0e 10 : crc=57 YES", NoReading::Garbled),
            ("72 01 4b 46 7f ff 0e 10 57 00 : crc=57 YES", NoReading::Garbled),
            ("72 01 4b 46 7f ff 0e 10 zz : crc=57 YES", NoReading::Garbled),
            ("72 01 4b 46 7f ff 0e 10 57 : crc=57 NO", NoReading::Garbled),
            ("73 01 4b 46 7f ff 0e 10 57 : crc=57 YES", NoReading::Garbled),
            ("ff ff ff ff ff ff ff ff ff : crc=c9 NO", NoReading::Unplugged),
            ("00 00 00 00 00 00 00 00 00 : crc=00 YES", NoReading::ShortToGround),
            ("50 05 4b 46 7f ff 0c 10 1c : crc=1c YES", NoReading::PowerOnValue),
        ] {
            assert_eq!(parse_w1_slave(bad), Err(reason), "{bad:?}");
        }
    }
}
