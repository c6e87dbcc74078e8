use quantities::{Celsius, CelsiusStep, Span};
use serde::{Deserialize, Serialize};

use super::conduction::{Material, Shape};

crate::ids::name! {
    /// A piece or a mass of food in the simulated kitchen: `loin`, `custard 2`.
    ItemId;
}

/// What is known of a food without being told: what it is made of, its form and its sign of doneness.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FoodKind {
    /// A roast, round and long.
    PorkLoin,
    /// A leg or half a breast, round.
    ChickenPiece,
    /// A flat fillet.
    FishFillet,
    /// Sliced roots in a dish.
    Gratin,
    /// A cup of egg and milk.
    Custard,
    /// A loaf, round and long.
    Bread,
    /// One whole potato.
    Potato,
    /// Something stirred: sauce, soup, glaze.
    Sauce,
    /// Water to be brought to the boil.
    Water,
}

/// The sign by which a food is done, as a number that reaches 1 when it is and 1.25 when it is over.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "by", rename_all = "snake_case", deny_unknown_fields)]
pub enum Cue {
    /// By the hottest it has been: 0 at `from`, 1 at `done`.
    Peak {
        /// Where it counts.
        at: Where,
        /// Nothing has happened yet.
        from: Celsius,
        /// It is done.
        done: Celsius,
    },
    /// By heat over time: 1 after `time` at `reference`, ten times as fast for each `z` more.
    Rate {
        /// Where it counts.
        at: Where,
        /// The temperature that `time` is for.
        reference: Celsius,
        /// The step that makes it ten times as fast.
        z: CelsiusStep,
        /// How long it takes at `reference`.
        time: Span,
    },
}

/// A place in a food.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Where {
    /// In the middle.
    Core,
    /// The upper surface.
    Surface,
    /// On average.
    Mean,
}

/// What a look at a food says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LookSays {
    /// Its doneness is under 1.
    NotYet,
    /// From 1 to 1.25.
    Done,
    /// Above.
    Over,
}

impl LookSays {
    /// The verdict on this doneness.
    pub fn of(doneness: f64) -> Self {
        if doneness < 1.0 {
            Self::NotYet
        } else if doneness <= 1.25 {
            Self::Done
        } else {
            Self::Over
        }
    }
}

/// The form of a food.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Form {
    /// A piece that conducts heat.
    Piece(Shape),
    /// A mass that has one temperature.
    Stirred,
}

/// What the simulation needs to know of a food.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FoodFacts {
    /// Its usual mass, in grams.
    pub grams: f64,
    /// What it is made of.
    pub material: Material,
    /// How wet its surface is, from 0 to 1.
    pub wetness: f64,
    /// Its sign of doneness.
    pub cue: Cue,
}

impl FoodKind {
    /// All kinds.
    pub const ALL: [Self; 9] = [
        Self::PorkLoin,
        Self::ChickenPiece,
        Self::FishFillet,
        Self::Gratin,
        Self::Custard,
        Self::Bread,
        Self::Potato,
        Self::Sauce,
        Self::Water,
    ];

    /// Guesses the kind from a name such as `chicken legs`; nothing if no word of it is known.
    pub fn from_name(name: &str) -> Option<Self> {
        let name = name.to_lowercase();
        let has = |words: &[&str]| words.iter().any(|word| name.contains(word));
        // dishes before what they are made of: a potato gratin is a gratin
        [
            (Self::Gratin, &["gratin", "bake", "lasagne"][..]),
            (Self::Custard, &["custard", "flan"]),
            (Self::Sauce, &["sauce", "soup", "glaze", "gravy", "cream"]),
            (Self::Bread, &["bread", "loaf", "dough"]),
            (Self::ChickenPiece, &["chicken", "duck", "turkey"]),
            (Self::FishFillet, &["fish", "fillet", "trout", "cod"]),
            (Self::PorkLoin, &["pork", "loin", "roast", "beef", "lamb", "veal"]),
            (Self::Potato, &["potato", "beet", "turnip"]),
            (Self::Water, &["water", "stock"]),
        ]
        .into_iter()
        .find_map(|(kind, words)| has(words).then_some(kind))
    }

    /// What is known of it. Properties from memory; signs of doneness are our own, for a cook to look at.
    pub fn facts(self) -> FoodFacts {
        let facts = |grams, [conductivity, density, heat_capacity]: [f64; 3], wetness, cue| FoodFacts {
            grams,
            material: Material { conductivity, density, heat_capacity },
            wetness,
            cue,
        };
        let core = |from, done| Cue::Peak { at: Where::Core, from: Celsius::whole(from), done: Celsius::whole(done) };
        let rate = |at, reference, z, mins| Cue::Rate {
            at,
            reference: Celsius::whole(reference),
            z: CelsiusStep::whole(z),
            time: Span::from_mins(mins),
        };
        match self {
            Self::PorkLoin => facts(900.0, [0.48, 1050.0, 3500.0], 0.5, core(20, 63)),
            Self::ChickenPiece => facts(250.0, [0.50, 1060.0, 3550.0], 0.25, core(20, 74)),
            Self::FishFillet => facts(180.0, [0.50, 1050.0, 3650.0], 0.4, core(20, 60)),
            Self::Gratin => facts(1200.0, [0.52, 1040.0, 3600.0], 0.2, rate(Where::Core, 90, 15, 12)),
            Self::Custard => facts(140.0, [0.55, 1050.0, 3700.0], 0.1, core(60, 82)),
            Self::Bread => facts(800.0, [0.25, 550.0, 2800.0], 0.1, rate(Where::Surface, 125, 40, 18)),
            Self::Potato => facts(180.0, [0.55, 1080.0, 3600.0], 0.1, rate(Where::Core, 92, 12, 8)),
            Self::Sauce => facts(500.0, [0.58, 1020.0, 3900.0], 0.3, rate(Where::Mean, 95, 15, 10)),
            Self::Water => facts(1000.0, [0.60, 1000.0, 4186.0], 1.0, core(20, 99)),
        }
    }

    /// Its usual form at this mass.
    pub fn form(self, grams: f64) -> Form {
        let density = self.facts().material.density;
        let cubic_mm = grams / density * 1e6;
        // a round piece that is so many times as long as it is thick
        let round = |slenderness: f64| Shape::Cylinder {
            radius_mm: libm::cbrt(cubic_mm / (core::f64::consts::TAU * slenderness)),
        };
        let flat = |thickness_mm| Shape::Slab { thickness_mm };
        match self {
            Self::PorkLoin => Form::Piece(round(3.2)),
            Self::ChickenPiece => Form::Piece(round(2.2)),
            Self::Bread => Form::Piece(round(2.2)),
            Self::FishFillet => Form::Piece(flat(25.0)),
            Self::Gratin => Form::Piece(flat(40.0)),
            Self::Potato => {
                Form::Piece(Shape::Sphere { radius_mm: libm::cbrt(cubic_mm * 3.0 / (2.0 * core::f64::consts::TAU)) })
            }
            Self::Custard | Self::Sauce | Self::Water => Form::Stirred,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_are_guessed_from_names() {
        for (name, kind) in [
            ("Potato gratin, tray 2", Some(FoodKind::Gratin)),
            ("chicken legs", Some(FoodKind::ChickenPiece)),
            ("pork loin roast", Some(FoodKind::PorkLoin)),
            ("mustard glaze", Some(FoodKind::Sauce)),
            ("rye loaf", Some(FoodKind::Bread)),
            ("trout", Some(FoodKind::FishFillet)),
            ("thing", None),
        ] {
            assert_eq!(FoodKind::from_name(name), kind, "{name}");
        }
    }

    #[test]
    fn a_verdict_follows_the_doneness() {
        for (doneness, says) in [
            (0.0, LookSays::NotYet),
            (0.999, LookSays::NotYet),
            (1.0, LookSays::Done),
            (1.25, LookSays::Done),
            (1.251, LookSays::Over),
        ] {
            assert_eq!(LookSays::of(doneness), says);
        }
    }

    #[test]
    fn the_usual_form_holds_the_mass() {
        let loin = FoodKind::PorkLoin.form(900.0);
        let Form::Piece(Shape::Cylinder { radius_mm }) = loin else {
            panic!("a loin is round, found {loin:?}");
        };
        let length = 3.2 * 2.0 * radius_mm;
        let cubic_mm = core::f64::consts::PI * radius_mm * radius_mm * length;
        assert!((cubic_mm * 1050.0 / 1e6 - 900.0).abs() < 1e-6);
        assert!((30.0..45.0).contains(&radius_mm));
    }
}
