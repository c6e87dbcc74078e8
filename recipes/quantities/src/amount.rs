use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};

macro_rules! amount {
    ($(#[$doc:meta])* $name:ident, $per_unit:literal, $unit:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(u64);

        impl $name {
            /// Nothing.
            pub const ZERO: Self = Self(0);
            /// The most that is read or kept; sums of many never overflow.
            pub const MOST: Self = Self(1_000_000_000 * $per_unit);

            #[doc = concat!("From whole ", $unit, "; for constants.")]
            pub const fn whole(units: u32) -> Self {
                Self(units as u64 * $per_unit)
            }

            #[doc = concat!("From ", $unit, ", rounded; nothing if negative, not a number or over [`Self::MOST`].")]
            pub fn from_units(units: f64) -> Option<Self> {
                let scaled = libm::round(units * $per_unit as f64);
                // NaN fails both comparisons
                (scaled >= 0.0 && scaled <= Self::MOST.0 as f64).then_some(Self(scaled as u64))
            }

            /// From the smallest unit kept; nothing over [`Self::MOST`].
            pub fn from_smallest(raw: u64) -> Option<Self> {
                (raw <= Self::MOST.0).then_some(Self(raw))
            }

            /// In the smallest unit kept.
            pub const fn smallest(self) -> u64 {
                self.0
            }

            #[doc = concat!("In ", $unit, ".")]
            pub fn units(self) -> f64 {
                self.0 as f64 / $per_unit as f64
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_f64(self.units())
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                let units = f64::deserialize(from)?;
                Self::from_units(units).ok_or_else(|| D::Error::custom(concat!("expected an amount in ", $unit)))
            }
        }
    };
}

amount!(
    /// A mass, in micrograms. Serialized as a number of grams.
    Mass, 1_000_000, "grams"
);
amount!(
    /// A volume, in nanolitres. Serialized as a number of millilitres.
    Volume, 1_000_000, "millilitres"
);
amount!(
    /// A power, in milliwatts. Serialized as a number of watts.
    Power, 1000, "watts"
);
