use std::fmt;

use serde::{Deserialize, Serialize};

/// A name that cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected 1 to 64 printable characters without a space at either end, found {found:?}")]
pub struct BadName {
    /// What was given.
    pub found: String,
}

macro_rules! name {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        ///
        /// 1 to 64 printable characters, without a space at either end.
        #[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub struct $name(String);

        impl $name {
            /// Checks the text and takes it.
            pub fn new(text: &str) -> Result<Self, $crate::BadName> {
                if $crate::ids::is_name(text) {
                    Ok(Self(text.to_owned()))
                } else {
                    Err($crate::BadName { found: text.to_owned() })
                }
            }

            /// Its text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl TryFrom<String> for $name {
            type Error = $crate::BadName;
            fn try_from(text: String) -> Result<Self, $crate::BadName> {
                Self::new(&text)
            }
        }

        impl From<$name> for String {
            fn from(name: $name) -> Self {
                name.0
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl std::fmt::Debug for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                std::fmt::Debug::fmt(&self.0, f)
            }
        }
    )*};
}
pub(crate) use name;

name! {
    /// A probe as the station names it: `28-0316a2b4c5ff`, `hwmon:lm75/temp1`, `sim:core`.
    ProbeId;
}

pub(crate) fn is_name(text: &str) -> bool {
    (1..=64).contains(&text.chars().count()) && text.trim() == text && !text.chars().any(char::is_control)
}

/// Writes names the way a sentence lists them: `a, b, c`; `none` if there are none.
pub(crate) struct Listed<'a, T>(pub(crate) &'a [T]);

impl<T: fmt::Display> fmt::Display for Listed<'_, T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0.is_empty() {
            return f.write_str("none");
        }
        for (n, name) in self.0.iter().enumerate() {
            if n > 0 {
                f.write_str(", ")?;
            }
            write!(f, "{name}")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_with_control_characters_or_outer_spaces_are_refused() {
        assert!(ProbeId::new("hwmon:lm75/temp1").is_ok());
        for bad in ["", " a", "a ", "a\nb", "a\u{1b}[31m", &"x".repeat(65)] {
            assert_eq!(ProbeId::new(bad), Err(BadName { found: bad.to_owned() }));
        }
    }
}
