//! The words of our enums as they stand in facts, for columns that hold one word.

use serde::{Serialize, de::DeserializeOwned};

/// The word of a variant without data.
pub(crate) fn word<T: Serialize>(value: &T) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => word,
        // a variant with data has no one word
        Ok(other) => other.to_string(),
        Err(error) => error.to_string(),
    }
}

/// The variant with this word.
pub(crate) fn from_word<T: DeserializeOwned>(word: &str) -> Option<T> {
    serde_json::from_value(serde_json::Value::String(word.to_owned())).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use trial::EndCause;

    #[test]
    fn words_read_back() {
        assert_eq!(word(&EndCause::CoreHeld), "core_held");
        assert_eq!(from_word("core_held"), Some(EndCause::CoreHeld));
        assert_eq!(from_word::<EndCause>("burnt"), None);
    }
}
