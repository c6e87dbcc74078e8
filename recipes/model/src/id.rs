use alloc::{string::String, sync::Arc};
use core::{borrow::Borrow, fmt};

use serde::{Deserialize, Deserializer, Serialize, Serializer};

macro_rules! id {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        ///
        /// Cheap to clone: copies share the text.
        #[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(Arc<str>);

        impl $name {
            /// The id with this text; that it is well formed is the caller's promise.
            pub fn new(text: &str) -> Self {
                Self(text.into())
            }

            /// Its text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl Borrow<str> for $name {
            fn borrow(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Debug::fmt(&self.0, f)
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_str(&self.0)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                String::deserialize(from).map(|text| Self(text.into()))
            }
        }
    )*};
}

id! {
    /// A recipe: lower-case letters, digits and hyphens, at most 40.
    RecipeId;
    /// A variant of a recipe: `base` is the recipe as written.
    VariantId;
    /// A stage of a programme.
    StageId;
    /// A step, written with its stage: `loin.roast`.
    StepId;
    /// A dish of the menu.
    DishId;
    /// An ingredient.
    IngredientId;
    /// A probe as the recipe calls it: `core`, `air`. The station maps it to a device.
    ProbeName;
    /// An event that the cook observes inside a step, written with the stage: `pan.boil`.
    EventId;
    /// An optional branch of a step: `tent`.
    BranchId;
}

impl VariantId {
    /// The recipe as written, without a variant's changes.
    pub fn base() -> Self {
        Self::new("base")
    }
}
