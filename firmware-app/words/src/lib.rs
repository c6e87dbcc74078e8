//! Every word of the panel in each language.
//!
//! # Duties
//! - [`Language`] has one method for each message of `messages/*.ftl`, made when the program is built: a message that a
//!   language lacks, or that takes other values there, does not build.
//! - [`Text`] is the same said in one or more lengths. A drawing takes the fullest that fits its place, so that one
//!   message serves a wide and a narrow panel, and a language whose words are long.
//!
//! # Not here
//! Words of a recipe stay as its writer wrote them; only the verbs that the recipe check fills in are translated
//! ([`Language::verb`]). Numbers and units are made by the screens. Messages of the command line are no part of the panel.
#![no_std]
#![forbid(unsafe_code)]
extern crate alloc;

mod text;

use alloc::{borrow::Cow, format};

pub use text::Text;

/// A language of the panel.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Language {
    /// English.
    #[default]
    English,
    /// German.
    German,
}

impl Language {
    /// All languages.
    pub const ALL: [Self; 2] = [Self::English, Self::German];

    /// Its two letters after ISO 639-1.
    pub const fn code(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::German => "de",
        }
    }

    /// The language with these two letters.
    pub fn of_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|language| language.code() == code)
    }

    /// Its own name.
    pub fn name(self) -> Text {
        match self {
            Self::English => self.english(),
            Self::German => self.german(),
        }
    }

    /// A verb of a recipe in this language: one of the standard verbs translated, any other as it was written.
    pub fn verb(self, written: &str) -> Text {
        match written {
            "TAKE OUT" => self.verb_take_out(),
            "OFF HEAT" => self.verb_off_heat(),
            "CHECK" => self.verb_check(),
            "START" => self.verb_start(),
            "TURN" => self.verb_turn(),
            "STIR" => self.verb_stir(),
            "ADD" => self.verb_add(),
            "REST" => self.verb_rest(),
            "PROBE" => self.verb_probe(),
            other => Text::from(alloc::string::String::from(other)),
        }
    }
}

include!(concat!(env!("OUT_DIR"), "/messages.rs"));

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_language_is_found_by_its_letters_and_says_its_own_name() {
        for language in Language::ALL {
            assert_eq!(Language::of_code(language.code()), Some(language));
        }
        assert_eq!(Language::of_code("xx"), None);
        assert_eq!(Language::German.name().full(), "Deutsch");
        assert_eq!(Language::English.name().full(), "English");
    }

    #[test]
    fn a_standard_verb_is_translated() {
        for (written, german) in [
            ("TAKE OUT", "ENTNEHMEN"),
            ("OFF HEAT", "VOM HERD"),
            ("CHECK", "PRÜFEN"),
            ("START", "STARTEN"),
            ("TURN", "WENDEN"),
            ("STIR", "RÜHREN"),
            ("ADD", "ZUGEBEN"),
            ("REST", "RUHEN LASSEN"),
            ("PROBE", "MESSEN"),
        ] {
            assert_eq!(Language::German.verb(written).full(), german);
            assert_eq!(Language::English.verb(written).full(), written);
        }
    }

    #[test]
    fn a_verb_of_the_recipe_stays_as_it_was_written() {
        for language in Language::ALL {
            assert_eq!(language.verb("GLAZE").full(), "GLAZE");
            assert!(language.verb("").is_empty());
        }
    }
}
