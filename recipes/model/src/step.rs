use alloc::{string::String, vec::Vec};

use quantities::Span;
use serde::{Deserialize, Serialize};

use crate::{Begin, Caution, FoodClass, IngredientId, Inside, Setting, StepId, Until};

/// One thing to do or wait for. File form: `[[stage.step]]`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Step {
    /// Its id with its stage: `loin.roast`. File form: `id = "roast"`.
    pub id: StepId,
    /// What the panel calls it: `roast`. File form: `name`.
    pub name: String,
    /// The whole instruction. File form: `do`.
    pub text: String,
    /// What to do when it ends, verb in capitals: `TAKE OUT`. File form: `then`; by default by the appliance
    /// (oven and microwave `TAKE OUT`, burner `OFF HEAT`, bench and fridge `CHECK`), and `CHECK` where the stage goes on.
    pub then: String,
    /// How the appliance is set.
    pub setting: Option<Setting>,
    /// Whether it takes the cook's hands. File form: `hands = true`; by default only for `cook` steps.
    pub hands: Hands,
    /// How it ends.
    pub until: Until,
    /// How it begins, if it does not simply follow the step before it; all must hold.
    pub begin: Vec<Begin>,
    /// What happens inside it.
    pub inside: Inside,
    /// The class for the minimum core temperature. File form: `food`.
    pub food: Option<FoodClass>,
    /// Whether a liquid is heated. File form: `liquid = true`.
    pub liquid: bool,
    /// Whether it may be held: only where the food does not go on cooking. File form: `hold = true`; by default bench
    /// and fridge steps that are not a rest.
    pub holdable: bool,
    /// How late it may end before it is overdue. File form: `grace = "90 s"`; default 60 s on heat, 120 s elsewhere.
    pub grace: Span,
    /// Low warning before it is due. File form: `warn = "1 min"`, or `"none"`; default 1 min for steps of 3 min or more.
    pub warn: Option<Span>,
    /// Cautions shown with it.
    pub cautions: Vec<Caution>,
    /// The ingredients that go in. File form: `uses = ["pork"]`.
    pub uses: Vec<IngredientId>,
}

/// Whether a step takes a pair of hands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Hands {
    /// The cook is free.
    Free,
    /// The cook is busy with it.
    Busy,
}
