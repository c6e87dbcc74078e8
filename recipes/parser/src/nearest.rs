/// The known word that is nearest to an unknown one, and all known ones.
pub(crate) struct Nearest<'k> {
    pub(crate) word: Option<&'k str>,
    known: &'k [&'k str],
}

/// Looks for a slip of the finger: up to a third of the letters differ.
pub(crate) fn nearest<'k>(unknown: &str, known: &'k [&'k str]) -> Nearest<'k> {
    // a word many times too long is no slip, and comparing it would take long
    let close = |word: &&&str| unknown.chars().count() <= 2 * word.chars().count() + 4;
    let word = known
        .iter()
        .filter(close)
        .map(|word| (strsim::osa_distance(&unknown.to_lowercase(), word), *word))
        .filter(|(distance, word)| *distance <= (word.chars().count() / 3).max(1))
        .min()
        .map(|(_, word)| word);
    Nearest { word, known }
}

impl Nearest<'_> {
    /// What to write instead.
    pub(crate) fn help(&self) -> String {
        match self.word {
            Some(word) => format!("write {word}"),
            None if self.known.is_empty() => {
                "there is none in this file: add one, or leave the reference out".to_owned()
            }
            None => {
                let few: Vec<&str> = self.known.iter().take(24).copied().collect();
                let more = if self.known.len() > few.len() { ", …" } else { "" };
                format!("known here: {}{more}", few.join(", "))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_finds_its_word_and_a_stranger_finds_the_list() {
        let known = ["time", "cue", "first_look", "no_later_than"];
        for (slip, word) in [
            ("tme", "time"),
            ("timee", "time"),
            ("no_later_then", "no_later_than"),
            ("Cue", "cue"),
            ("first-look", "first_look"),
        ] {
            assert_eq!(nearest(slip, &known).word, Some(word), "{slip}");
        }
        assert_eq!(nearest("temperature", &known).help(), "known here: time, cue, first_look, no_later_than");
        assert_eq!(nearest(&"x".repeat(100_000), &known).word, None);
    }
}
