use alloc::string::String;

use quantities::{CelsiusStep, Power, Span};
use serde::{Deserialize, Serialize};
use thermometry::Calibration;

/// A piece of the kitchen's equipment as it stood when a trial was cooked: two trials differ by their ovens too.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Equipment {
    /// What the recipe calls it: `oven`, `oven 2`, `microwave`, `probe core`.
    pub name: String,
    /// The device that stood for it, if one did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub device: Option<String>,
    /// How far it was off at its last check: positive if hotter than it is set, or if it reads too high.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offset_celsius: Option<CelsiusStep>,
    /// How well that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uncertainty_celsius: Option<CelsiusStep>,
    /// What its checks in ice and boiling water say of a probe, as it was used in the trial; none for one that was never
    /// checked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calibration: Option<Calibration>,
    /// The age of those checks when the trial was opened, if the station knew the date.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calibration_age: Option<Span>,
    /// The power that a water load took up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power_watts: Option<Power>,
    /// The day of that check: `2026-11-02`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub checked: Option<String>,
    /// In words: make, size, shelf, load.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}
