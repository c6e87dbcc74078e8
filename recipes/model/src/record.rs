use alloc::{string::String, vec::Vec};

use quantities::{Mass, Volume};
use serde::{Deserialize, Serialize};

use crate::{IngredientId, StepRef};

/// An ingredient. File form: `[[ingredient]]` with `id`, `name`, `amount = "900 g"`, `tolerance = "2 %"` or `"5 g"`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ingredient {
    /// Its id.
    pub id: IngredientId,
    /// In words.
    pub name: String,
    /// How much.
    pub amount: Amount,
    /// How far the weighed amount may be off.
    pub tolerance: Tolerance,
}

/// How much of an ingredient. File form: `"900 g"`, `"250 ml"`, `"3 pieces"`, `"6 eggs"`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Amount {
    /// Weighed.
    Mass(Mass),
    /// Measured.
    Volume(Volume),
    /// Counted, with the word for one.
    Count(u32, String),
}

/// How far an amount may be off.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Tolerance {
    /// In thousandths of the amount.
    Thousandths(u16),
    /// In grams.
    Mass(Mass),
}

/// What the developer wants on record. File form: table `record`.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct RecordSheet {
    /// What to weigh. File form: `weigh = [{ what = "loin, cooked", after = "loin.rest" }]`.
    pub weigh: Vec<Weighing>,
    /// What to score. File form: `score = [{ what = "crust", words = ["pale", "right", "dark"] }]`, or `scale = "1-9"`.
    pub score: Vec<Score>,
    /// What to photograph. File form: `photo = ["cut face"]`.
    pub photo: Vec<String>,
}

/// Something to weigh.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Weighing {
    /// What.
    pub what: String,
    /// After which step.
    pub after: Option<StepRef>,
}

/// Something to score.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Score {
    /// What.
    pub what: String,
    /// Lowest number.
    pub low: u8,
    /// Highest number.
    pub high: u8,
    /// A word for each number, or none.
    pub words: Vec<String>,
}
