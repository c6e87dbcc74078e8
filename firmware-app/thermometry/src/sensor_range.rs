use quantities::Celsius;

/// A value lies outside the part of a sensor's curve that is kept here.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum OffCurve {
    /// The temperature has no value on the curve.
    #[error("expected a temperature from {:.1} to {:.1} °C for this sensor, found {:.4} °C: choose another sensor", .low.degrees(), .high.degrees(), .found.degrees())]
    Temperature {
        /// What was asked.
        found: Celsius,
        /// The coldest on the curve.
        low: Celsius,
        /// The hottest on the curve.
        high: Celsius,
    },
    /// The electrical value belongs to no temperature on the curve.
    #[error("expected a value from {low} to {high} for {unit} of this sensor, found {found}: look at its wiring")]
    Electrical {
        /// What was measured, in `unit`.
        found: f64,
        /// The lowest on the curve.
        low: f64,
        /// The highest on the curve.
        high: f64,
        /// The unit of the three numbers.
        unit: &'static str,
    },
}

impl OffCurve {
    pub(crate) fn check(found: Celsius, low: Celsius, high: Celsius) -> Result<(), Self> {
        if (low..=high).contains(&found) { Ok(()) } else { Err(Self::Temperature { found, low, high }) }
    }
}

/// A computed temperature as a [`Celsius`]; the curves end far inside its range.
pub(crate) fn on_curve(degrees: f64, low: Celsius, high: Celsius) -> Celsius {
    // NaN cannot come from the closed ranges that callers check; it would read as the coldest end
    Celsius::from_degrees(degrees).unwrap_or(low).clamp(low, high)
}
