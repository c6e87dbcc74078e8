use serde::{Deserialize, Serialize};

use crate::Celsius;

/// What a probe said at one moment: a temperature, or the reason why there is none.
pub type Reading = Result<Celsius, NoReading>;

/// Why a probe gave no temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum NoReading {
    /// The probe is not there: unplugged, or its file or address is gone.
    Unplugged,
    /// It did not answer in time.
    Timeout,
    /// It answered with a wrong checksum or in a form that cannot be read.
    Garbled,
    /// The sensor circuit is open: a broken wire or a loose plug.
    Open,
    /// The sensor is in contact with ground.
    ShortToGround,
    /// The sensor is in contact with the supply.
    ShortToSupply,
    /// The value lies outside what this sensor can measure.
    OutOfRange,
    /// The value that the sensor holds after power comes on, before its first measurement.
    PowerOnValue,
    /// It has said the very same thing for longer than food can.
    Stuck,
    /// It moved faster than food can: pulled out, or a loose contact.
    Jumped,
}
