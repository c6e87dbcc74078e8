//! The one table of keys that a recipe file may have.
//!
//! The walk over the file, the complaint about an unknown key, the JSON Schema and the order of keys in a formatted file
//! are all driven by it.

/// A kind of table.
#[derive(Debug)]
pub(crate) struct Kind {
    /// How messages call it.
    pub(crate) name: &'static str,
    pub(crate) doc: &'static str,
    pub(crate) keys: &'static [Key],
}

/// A key of a kind of table.
#[derive(Debug)]
pub(crate) struct Key {
    pub(crate) name: &'static str,
    pub(crate) shape: Shape,
    pub(crate) need: Need,
    pub(crate) doc: &'static str,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Need {
    Required,
    Optional,
}

/// Kinds of tables of which one is meant, told by its leading key.
#[derive(Debug)]
pub(crate) struct Choice {
    pub(crate) name: &'static str,
    /// In the order in which leading keys are looked for.
    pub(crate) kinds: &'static [(&'static str, &'static Kind)],
}

/// What may stand behind a key.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Shape {
    /// Words, at most so many letters.
    Text { most: usize },
    /// Lower-case letters, digits and hyphens.
    Id,
    /// The name of something else in the file.
    Reference,
    /// `"12 min 30 s"`.
    Duration,
    /// `"45-60 min"` or one duration.
    Durations,
    /// A duration or `"none"`.
    DurationOrNone,
    /// `"74 °C"`.
    Temperature,
    /// `"0.5 °C"`.
    TemperatureStep,
    /// `"700 W"`.
    Power,
    /// `"900 g"`, `"250 ml"`, `"3 pieces"`.
    Amount,
    /// `"2 %"` or `"5 g"`.
    Tolerance,
    /// `"3-6"`, or a whole number.
    Counts,
    /// A whole number in a range.
    Whole { low: i64, high: i64 },
    /// `true` or `false`.
    Truth,
    /// One of some words.
    Word(Words),
    /// `"oven 2"`.
    Appliance,
    /// A list of values of one shape.
    List(&'static Shape),
    /// A table.
    Table(&'static Kind),
    /// A list of tables.
    Tables(&'static Kind),
    /// A table of one of several kinds.
    OneOf(&'static Choice),
    /// Such a table or a list of them.
    OneOrMore(&'static Choice),
    /// Such a list.
    Many(&'static Choice),
    /// Anything: it is checked where a variant puts it.
    Anything,
}

/// Lists of words that the model knows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Words {
    Food,
    Hazard,
    Caution,
}

impl Words {
    pub(crate) fn all(self) -> Vec<&'static str> {
        use recipe_model::{Caution, FoodClass, Hazard};
        match self {
            Self::Food => FoodClass::ALL.iter().map(|w| w.word()).collect(),
            Self::Hazard => Hazard::ALL.iter().map(|w| w.word()).collect(),
            Self::Caution => Caution::ALL.iter().map(|w| w.word()).collect(),
        }
    }

    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Food => "food class",
            Self::Hazard => "hazard",
            Self::Caution => "caution",
        }
    }
}

impl Kind {
    pub(crate) fn key(&self, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|key| key.name == name)
    }
}

const fn must(name: &'static str, shape: Shape, doc: &'static str) -> Key {
    Key { name, shape, need: Need::Required, doc }
}

const fn may(name: &'static str, shape: Shape, doc: &'static str) -> Key {
    Key { name, shape, need: Need::Optional, doc }
}

/// A label for the panel.
const LABEL: Shape = Shape::Text { most: 60 };
const SENTENCE: Shape = Shape::Text { most: 400 };

pub(crate) static RECIPE: Kind = Kind {
    name: "recipe",
    doc: "A recipe: the stepped programme of one dish or menu.",
    keys: &[
        may("$schema", SENTENCE, "Where an editor finds the schema of this format."),
        must("schema", Shape::Whole { low: 0, high: 1_000_000 }, "Version of this format: 1."),
        must("id", Shape::Id, "Short name: lower-case letters, digits and hyphens, at most 40."),
        must("title", Shape::Text { most: 60 }, "Title as printed."),
        must("yield", LABEL, "What it makes: `6 portions`."),
        may("hazards", Shape::List(&Shape::Word(Words::Hazard)), "What can do harm; cautions follow from it."),
        may("kitchen", Shape::Table(&KITCHEN), "What the kitchen must have."),
        may("record", Shape::Table(&RECORD), "What to weigh, score and photograph."),
        may("ingredient", Shape::Tables(&INGREDIENT), "Ingredients."),
        may("dish", Shape::Tables(&DISH), "Dishes of the menu."),
        may("landing", Shape::Tables(&LANDING), "Dishes that are ready together."),
        must("stage", Shape::Tables(&STAGE), "Stages; they run side by side."),
        may("variant", Shape::Tables(&VARIANT), "Named changes against the control."),
    ],
};

pub(crate) static KITCHEN: Kind = Kind {
    name: "kitchen",
    doc: "What the kitchen must have.",
    keys: &[
        may("ovens", Shape::Whole { low: 0, high: 9 }, "Ovens; 0 if absent."),
        may("microwaves", Shape::Whole { low: 0, high: 9 }, "Microwaves; 0 if absent."),
        may("microwave_power", Shape::Power, "The power that microwave times are written for: `800 W`."),
        may("burners", Shape::Whole { low: 0, high: 9 }, "Burners; 0 if absent."),
        may("cooks", Shape::Whole { low: 1, high: 9 }, "Pairs of hands; 1 if absent."),
        may("probes", Shape::Whole { low: 0, high: 9 }, "Probe thermometers; 0 if absent."),
    ],
};

pub(crate) static RECORD: Kind = Kind {
    name: "record",
    doc: "What the developer wants on record.",
    keys: &[
        may("weigh", Shape::Tables(&WEIGHING), "What to weigh."),
        may("score", Shape::Tables(&SCORE), "What to score."),
        may("photo", Shape::List(&LABEL), "What to photograph."),
    ],
};

pub(crate) static WEIGHING: Kind = Kind {
    name: "weighing",
    doc: "Something to weigh.",
    keys: &[must("what", LABEL, "What."), may("after", Shape::Reference, "After which step: `loin.rest`.")],
};

pub(crate) static SCORE: Kind = Kind {
    name: "score",
    doc: "Something to score, on a scale of numbers or of words.",
    keys: &[
        must("what", LABEL, "What."),
        may("scale", Shape::Counts, "Lowest and highest number: `1-9`."),
        may("words", Shape::List(&LABEL), "A word for each number, lowest first."),
    ],
};

pub(crate) static INGREDIENT: Kind = Kind {
    name: "ingredient",
    doc: "An ingredient.",
    keys: &[
        must("id", Shape::Id, "Its name inside this file."),
        must("name", LABEL, "In words."),
        must("amount", Shape::Amount, "How much: `900 g`, `250 ml`, `3 pieces`."),
        must("tolerance", Shape::Tolerance, "How far the weighed amount may be off: `2 %`, `5 g`."),
    ],
};

pub(crate) static DISH: Kind = Kind {
    name: "dish",
    doc: "A dish.",
    keys: &[must("id", Shape::Id, "Its name inside this file."), must("name", LABEL, "In words.")],
};

pub(crate) static LANDING: Kind = Kind {
    name: "landing",
    doc: "Dishes that are ready together.",
    keys: &[
        must("dishes", Shape::List(&Shape::Reference), "Which dishes."),
        must("within", Shape::Duration, "How far apart they may be."),
    ],
};

pub(crate) static STAGE: Kind = Kind {
    name: "stage",
    doc: "Steps in order at one appliance.",
    keys: &[
        must("id", Shape::Id, "Its name inside this file."),
        may("name", LABEL, "What the panel calls the food; by default the id."),
        must(
            "appliance",
            Shape::Appliance,
            "Where it runs: `oven`, `oven 2`, `microwave`, `burner`, `bench`, `fridge`.",
        ),
        may("lane", LABEL, "What the lane cell calls the place; by default the appliance."),
        may("dish", Shape::Reference, "The dish it belongs to."),
        may(
            "begin",
            Shape::OneOrMore(&BEGIN),
            "What must hold before its first step; by default the start of the trial.",
        ),
        must("step", Shape::Tables(&STEP), "Its steps."),
    ],
};

pub(crate) static STEP: Kind = Kind {
    name: "step",
    doc: "One thing to do or wait for, with the way it ends.",
    keys: &[
        must("id", Shape::Id, "Its name inside the stage."),
        may("name", LABEL, "What the panel calls it; by default the id."),
        must("do", SENTENCE, "The whole instruction."),
        may("then", LABEL, "What to do when it ends, verb in capitals; by default by the appliance."),
        may("setting", Shape::OneOf(&SETTING), "How the appliance is set."),
        may("hands", Shape::Truth, "Whether it takes the cook's hands; by default only hands-on steps do."),
        must("until", Shape::OneOf(&UNTIL), "How it ends."),
        may("begin", Shape::OneOrMore(&BEGIN), "How it begins; by default after the step before it."),
        may("every", Shape::Tables(&RHYTHM), "Things done again and again."),
        may("half", LABEL, "What to do at half-time; the second half runs from the press."),
        may("at", Shape::Tables(&TIMED), "Things to do at a time."),
        may("option", Shape::Tables(&BRANCH), "Ways out that are recorded as deviations."),
        may("mark", Shape::Tables(&MARK), "Events that the cook observes and presses."),
        may("food", Shape::Word(Words::Food), "Class for the minimum core temperature."),
        may("liquid", Shape::Truth, "Whether a liquid is heated."),
        may("hold", Shape::Truth, "Whether it may be held; never where the food goes on cooking."),
        may("grace", Shape::Duration, "How late it may end before it is overdue."),
        may("warn", Shape::DurationOrNone, "Low warning before it is due, or `none`."),
        may("cautions", Shape::List(&Shape::Word(Words::Caution)), "Cautions shown with it."),
        may("uses", Shape::List(&Shape::Reference), "The ingredients that go in."),
    ],
};

pub(crate) static SETTING: Choice =
    Choice { name: "setting", kinds: &[("heat", &SETTING_HEAT), ("power", &SETTING_POWER), ("level", &SETTING_LEVEL)] };

static SETTING_HEAT: Kind = Kind {
    name: "setting by heat",
    doc: "An oven or a bath by temperature.",
    keys: &[
        must("heat", Shape::Temperature, "Dial temperature: `180 °C`, `gas 4`."),
        may("fan", Shape::Truth, "Fan on."),
    ],
};

static SETTING_POWER: Kind =
    Kind { name: "setting by power", doc: "A microwave by power.", keys: &[must("power", Shape::Power, "`700 W`.")] };

static SETTING_LEVEL: Kind =
    Kind { name: "setting by level", doc: "A ring by words.", keys: &[must("level", LABEL, "`medium-high`.")] };

pub(crate) static BEGIN: Choice = Choice {
    name: "begin",
    kinds: &[("after", &BEGIN_AFTER), ("with", &BEGIN_WITH), ("on", &BEGIN_ON), ("before", &BEGIN_BEFORE)],
};

const WAIT: Key = may("wait", Shape::Duration, "Pause after it.");
const WITHIN: Key = may("within", Shape::Duration, "The longest gap that the food can take.");

static BEGIN_AFTER: Kind = Kind {
    name: "begin after an end",
    doc: "After another step has ended.",
    keys: &[
        must("after", Shape::Reference, "That step: `loin.roast`; a stage stands for its last step."),
        WAIT,
        WITHIN,
    ],
};

static BEGIN_WITH: Kind = Kind {
    name: "begin with a start",
    doc: "After another step has started.",
    keys: &[must("with", Shape::Reference, "That step; a stage stands for its first step."), WAIT, WITHIN],
};

static BEGIN_ON: Kind = Kind {
    name: "begin on an event",
    doc: "When the cook presses an observed event.",
    keys: &[must("on", Shape::Reference, "That event: `pan.boil`."), WAIT, WITHIN],
};

static BEGIN_BEFORE: Kind = Kind {
    name: "begin before an end",
    doc: "With a lead before the predicted end of another step.",
    keys: &[
        must("before", Shape::Reference, "That step; a stage stands for its last step."),
        must("lead", Shape::Duration, "How long before."),
        WITHIN,
    ],
};

pub(crate) static UNTIL: Choice = Choice {
    name: "until",
    kinds: &[
        ("time", &UNTIL_TIME),
        ("core", &UNTIL_CORE),
        ("cook", &UNTIL_COOK),
        ("heat", &UNTIL_HEAT),
        ("rest", &UNTIL_REST),
        ("rounds", &UNTIL_ROUNDS),
        ("cue", &UNTIL_CUE),
    ],
};

const CUE: Shape = Shape::Text { most: 120 };
const FIRST_LOOK: Key = may("first_look", Shape::Duration, "First look; by default the low end of the time.");
const LOOK_EVERY: Key =
    may("look_every", Shape::Duration, "Interval of looks; by default 10 % of the middle, at least 30 s.");
const NO_LATER_THAN: Key =
    may("no_later_than", Shape::Duration, "The last moment; by default the high end of the time.");

static UNTIL_TIME: Kind = Kind {
    name: "end by time",
    doc: "At a time: fixed, or a range with looks.",
    keys: &[
        must("time", Shape::Durations, "`12 min`, or a range `45-60 min`."),
        may("cue", CUE, "The sign of doneness."),
        FIRST_LOOK,
        LOOK_EVERY,
        NO_LATER_THAN,
    ],
};

static UNTIL_CORE: Kind = Kind {
    name: "end by core temperature",
    doc: "At a core temperature.",
    keys: &[
        must("core", Shape::Temperature, "The core temperature: `63 °C`."),
        may("in_rest", Shape::Truth, "Whether carry-over in the rest that follows may bring it there; by default not."),
        must("probe", Shape::Id, "The probe as this recipe calls it."),
        may("hold", Shape::Duration, "How long it must stay there; by default 10 s."),
        may("hysteresis", Shape::TemperatureStep, "How far it may dip; by default 0.5 °C."),
        may("points", Shape::Whole { low: 0, high: 99 }, "In how many places it must be measured; by default 1."),
        must("expect", Shape::Durations, "Usual time, for planning."),
        may("else", Shape::Table(&UNTIL_TIME), "Time and sign that take over when the probe is lost."),
    ],
};

static UNTIL_CUE: Kind = Kind {
    name: "end by cue",
    doc: "When the cook sees the sign: an open step.",
    keys: &[
        must("cue", CUE, "The sign."),
        must("expect", Shape::Durations, "Usual time."),
        FIRST_LOOK,
        LOOK_EVERY,
        must("limit", Shape::Duration, "The last moment."),
    ],
};

static UNTIL_COOK: Kind = Kind {
    name: "end by the cook",
    doc: "Hands-on work, ended by a press.",
    keys: &[must("cook", Shape::Durations, "Usual time: `5 min`.")],
};

static UNTIL_HEAT: Kind = Kind {
    name: "end by heat",
    doc: "When an appliance is at temperature.",
    keys: &[
        must("heat", Shape::Temperature, "The temperature."),
        may("probe", Shape::Id, "The probe that measures it."),
        must("expect", Shape::Durations, "Usual time."),
    ],
};

static UNTIL_REST: Kind = Kind {
    name: "end by rest",
    doc: "Rest off the heat; the carry-over is watched.",
    keys: &[
        must("rest", Shape::Duration, "Planned rest."),
        may("least", Shape::Duration, "The rest that cannot be cut short; by default none."),
        may("probe", Shape::Id, "The probe that stays in."),
    ],
};

static UNTIL_ROUNDS: Kind = Kind {
    name: "end by rounds",
    doc: "Rounds until a sign.",
    keys: &[
        must("rounds", Shape::Counts, "Fewest and most rounds: `3-6`."),
        must("each", Shape::Duration, "Usual time of one round."),
        must("cue", CUE, "The sign that ends it."),
    ],
};

pub(crate) static RHYTHM: Kind = Kind {
    name: "rhythm",
    doc: "Something done again and again.",
    keys: &[
        must("time", Shape::Duration, "Interval."),
        must("do", LABEL, "Verb first: `STIR`."),
        may("press", Shape::Truth, "Whether each one wants a press."),
    ],
};

pub(crate) static TIMED: Kind = Kind {
    name: "timed event",
    doc: "Something to do at a time inside the step.",
    keys: &[must("time", Shape::Duration, "From the start of the step."), must("do", LABEL, "Verb first: `UNCOVER`.")],
};

pub(crate) static BRANCH: Kind = Kind {
    name: "option",
    doc: "A way out that a recipe foresees.",
    keys: &[
        must("id", Shape::Id, "Its name inside the step."),
        must("do", LABEL, "Verb first: `TENT with foil`."),
        must("when", LABEL, "The sign that calls for it."),
    ],
};

pub(crate) static MARK: Kind = Kind {
    name: "mark",
    doc: "An event that the cook observes and presses.",
    keys: &[
        must("id", Shape::Id, "Its name inside the stage: `boil`."),
        must("see", LABEL, "What is seen: `it boils`."),
    ],
};

pub(crate) static VARIANT: Kind = Kind {
    name: "variant",
    doc: "A named change against the control.",
    keys: &[
        must("id", Shape::Id, "Its name inside this file."),
        must("title", Shape::Text { most: 60 }, "In words."),
        must("factor", LABEL, "The one thing it changes."),
        may("control", Shape::Truth, "Whether it is the control; otherwise the base is."),
        may("change", Shape::Tables(&CHANGE), "Values that differ."),
        may("skip", Shape::List(&Shape::Reference), "Steps, stages or ingredients that are left out."),
        may("add", Shape::Many(&ADD), "Steps or ingredients that come in."),
    ],
};

static CHANGE: Kind = Kind {
    name: "change",
    doc: "A value that differs.",
    keys: &[
        must("at", Shape::Text { most: 120 }, "Where: `gratin.bake.until.time`, `ingredient.cream.amount`."),
        must("to", Shape::Anything, "The value there."),
    ],
};

pub(crate) static ADD: Choice = Choice { name: "add", kinds: &[("after", &ADD_STEP), ("ingredient", &ADD_INGREDIENT)] };

static ADD_STEP: Kind = Kind {
    name: "added step",
    doc: "A step that comes in.",
    keys: &[
        must("after", Shape::Reference, "The step before it; a stage puts it first."),
        must("step", Shape::Anything, "The step."),
    ],
};

static ADD_INGREDIENT: Kind = Kind {
    name: "added ingredient",
    doc: "An ingredient that comes in.",
    keys: &[must("ingredient", Shape::Anything, "The ingredient.")],
};
