use alloc::{string::String, sync::Arc};
use core::fmt;

use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};

macro_rules! id {
    ($($(#[$doc:meta])* $name:ident, $most:literal;)*) => {$(
        $(#[$doc])*
        ///
        /// Letters, digits and hyphens only, so that it can stand in a file name.
        #[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(Arc<str>);

        impl $name {
            /// Nothing if the text is empty, too long, or has anything but letters, digits and hyphens.
            pub fn new(text: &str) -> Option<Self> {
                let fits = !text.is_empty() && text.len() <= $most;
                (fits && text.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-')).then(|| Self(text.into()))
            }

            /// Its text.
            pub fn as_str(&self) -> &str {
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
                let text = String::deserialize(from)?;
                Self::new(&text).ok_or_else(|| {
                    D::Error::custom(format_args!(concat!("expected 1 to ", $most, " letters, digits or hyphens, found {:?}"), text))
                })
            }
        }
    )*};
}

id! {
    /// One cook of one variant: `20261125-1412-pork-loin-a`.
    TrialId, 80;
    /// A cook by initials.
    CookId, 8;
    /// A kitchen: a set of equipment.
    KitchenId, 40;
}
