//! Texts that must not reach a log.

use std::fmt;

/// A text that prints as "(secret)" however it is printed.
///
/// Keep tokens, codes and passwords in it from the moment they are read: a struct that holds one can then derive `Debug`
/// and stand in a log line.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(String);

impl Secret {
    /// Hides a text.
    pub fn new(text: impl Into<String>) -> Self {
        Self(text.into())
    }

    /// The text itself, at the one place that needs it.
    pub fn reveal(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("(secret)")
    }
}

impl fmt::Display for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(self, f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_secret_shows_itself_to_no_format() {
        let secret = Secret::new("83417209");
        for text in [format!("{secret}"), format!("{secret:?}"), format!("{secret:#?}"), format!("{:?}", Some(&secret))]
        {
            assert!(!text.contains("8341"), "{text}");
        }
        assert_eq!(secret.reveal(), "83417209");
    }
}
