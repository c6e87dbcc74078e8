use serde::{Deserialize, Serialize};

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal,)* }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        pub enum $name {
            $($(#[$vdoc])* #[serde(rename = $word)] $variant,)*
        }

        impl $name {
            /// All of them, in the order of this list.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// The word in a recipe file.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)* }
            }

            /// Reads the word of a recipe file.
            pub fn from_word(word: &str) -> Option<Self> {
                match word { $($word => Some(Self::$variant),)* _ => None }
            }
        }
    };
}

words! {
    /// The classes of the public table of minimum core temperatures. File form: `food = "pork-whole"` on a step.
    FoodClass {
        /// Steaks, roasts and chops of beef, veal, lamb.
        RedMeatWhole = "red-meat-whole",
        /// Fresh pork, whole cuts.
        PorkWhole = "pork-whole",
        /// Minced beef, pork, veal, lamb.
        MincedMeat = "minced-meat",
        /// Poultry, whole, parts or minced, and stuffing.
        Poultry = "poultry",
        /// Dishes set with egg.
        EggDish = "egg-dish",
        /// Fin fish.
        Fish = "fish",
        /// Leftovers and casseroles.
        Casserole = "casserole",
        /// Ham that comes cooked, reheated.
        HamReheat = "ham-reheat",
        /// Nothing that the table names: bread, vegetables, pastry.
        NoMinimum = "no-minimum",
    }
}

words! {
    /// What can do harm in a recipe and asks for a caution. File form: `hazards = ["raw-pork", "hot-fat"]`.
    Hazard {
        /// Raw poultry.
        RawPoultry = "raw-poultry",
        /// Raw pork.
        RawPork = "raw-pork",
        /// Raw beef, veal or lamb.
        RawRedMeat = "raw-red-meat",
        /// Raw fish.
        RawFish = "raw-fish",
        /// Raw egg.
        RawEgg = "raw-egg",
        /// Raw flour.
        RawFlour = "raw-flour",
        /// Allergen: gluten.
        Gluten = "gluten",
        /// Allergen: milk.
        Milk = "milk",
        /// Allergen: egg.
        Egg = "egg",
        /// Allergen: fish.
        Fish = "fish",
        /// Allergen: nuts.
        Nuts = "nuts",
        /// Allergen: mustard.
        Mustard = "mustard",
        /// Allergen: celery.
        Celery = "celery",
        /// Allergen: soya.
        Soya = "soya",
        /// Allergen: sesame.
        Sesame = "sesame",
        /// Rice kept warm.
        HeldRice = "held-rice",
    }
}

words! {
    /// A usual caution, shown at the step. File form: `cautions = ["steam", "hot-fat"]` on a step.
    Caution {
        /// Steam when uncovering.
        Steam = "steam",
        /// Fat that spits or catches fire.
        HotFat = "hot-fat",
        /// Liquid heated past boiling that erupts when moved.
        Superheated = "superheated",
        /// Handles and tins straight from the oven.
        HotHandle = "hot-handle",
        /// Raw meat or poultry: hands, boards and knives apart.
        RawMeat = "raw-meat",
        /// Raw fish: hands, boards and knives apart.
        RawFish = "raw-fish",
        /// Raw egg.
        RawEgg = "raw-egg",
        /// Hot sugar sticks and burns.
        HotSugar = "hot-sugar",
        /// A sharp blade.
        Blade = "blade",
        /// Contains an allergen: boards and spoons apart.
        Allergen = "allergen",
        /// Cool fast or keep hot: do not leave warm.
        KeepHot = "keep-hot",
    }
}

impl Caution {
    /// The caution in words, as shown and recorded.
    pub const fn text(self) -> &'static str {
        match self {
            Self::Steam => "steam: open away from you",
            Self::HotFat => "hot fat: dry food, lay it in away from you, never leave it",
            Self::Superheated => "hot liquid can erupt: let it stand, stir before lifting",
            Self::HotHandle => "hot tin and handles: dry cloth on both hands",
            Self::RawMeat => "raw meat: own board and knife, wash hands",
            Self::RawFish => "raw fish: own board and knife, wash hands",
            Self::RawEgg => "raw egg: keep cold, wash hands",
            Self::HotSugar => "hot sugar sticks and burns",
            Self::Blade => "sharp blade: fingers away",
            Self::Allergen => "allergen: own board and spoon, tell the table",
            Self::KeepHot => "keep it at 60 °C or over, or cool it fast",
        }
    }
}
