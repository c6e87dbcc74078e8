use alloc::string::String;
use core::fmt;

use quantities::{Celsius, Power};
use serde::{Deserialize, Serialize};

/// Where a stage runs. File form: `"oven"`, `"oven 2"`, `"microwave"`, `"burner"`, `"burner 2"`, `"bench"`, `"fridge"`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Appliance {
    /// What it is.
    pub kind: ApplianceKind,
    /// Which one of its kind, from 1.
    pub number: u8,
}

/// The kinds of appliance that a recipe can ask for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ApplianceKind {
    /// One temperature at a time.
    Oven,
    /// Set by watts and time.
    Microwave,
    /// A pan or pot on a ring.
    Burner,
    /// No heat: mixing, resting, cooling.
    Bench,
    /// Cold.
    Fridge,
}

impl ApplianceKind {
    /// All kinds, in lane order.
    pub const ALL: [Self; 5] = [Self::Oven, Self::Microwave, Self::Burner, Self::Bench, Self::Fridge];

    /// The word in a recipe file.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Oven => "oven",
            Self::Microwave => "microwave",
            Self::Burner => "burner",
            Self::Bench => "bench",
            Self::Fridge => "fridge",
        }
    }

    /// The word on the panel, short enough for a lane cell.
    pub const fn lane_word(self) -> &'static str {
        match self {
            Self::Oven => "Oven",
            Self::Microwave => "Micro",
            Self::Burner => "Pan",
            Self::Bench => "Bench",
            Self::Fridge => "Fridge",
        }
    }

    /// Whether food goes on cooking there while a clock stands still, so that a step cannot be held.
    pub const fn heats(self) -> bool {
        matches!(self, Self::Oven | Self::Microwave | Self::Burner)
    }
}

impl fmt::Display for Appliance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.kind.word())?;
        if self.number > 1 { write!(f, " {}", self.number) } else { Ok(()) }
    }
}

/// What the kitchen must have. File form: table `kitchen` with `ovens`, `microwaves`, `burners`, `cooks`, `probes`
/// (whole numbers, 0 if absent but `cooks` 1) and `microwave_power = "800 W"`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct KitchenNeeds {
    /// Ovens.
    pub ovens: u8,
    /// Microwaves.
    pub microwaves: u8,
    /// The power that microwave times in this recipe are written for.
    pub microwave_power: Option<Power>,
    /// Burners.
    pub burners: u8,
    /// Pairs of hands.
    pub cooks: u8,
    /// Probe thermometers.
    pub probes: u8,
}

/// How an appliance is set. File form: `setting = { heat = "180 °C", fan = true }`, `{ power = "700 W" }`,
/// `{ level = "medium-high" }`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Setting {
    /// An oven or a bath by temperature.
    Heat {
        /// Dial temperature.
        at: Celsius,
        /// Fan on.
        fan: bool,
    },
    /// A microwave by power.
    Power(Power),
    /// A ring by words.
    Level(String),
}
