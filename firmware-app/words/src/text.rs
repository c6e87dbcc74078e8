use alloc::{borrow::Cow, string::String, vec::Vec};
use core::fmt;

/// The same said in one or more lengths, fullest first. May be empty: nothing is said.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Text {
    lengths: Vec<Cow<'static, str>>,
}

impl Text {
    /// Nothing.
    pub const fn none() -> Self {
        Self { lengths: Vec::new() }
    }

    /// These, fullest first; empty ones are left out.
    pub fn of<const N: usize>(lengths: [Cow<'static, str>; N]) -> Self {
        Self { lengths: lengths.into_iter().filter(|text| !text.is_empty()).collect() }
    }

    /// Whether nothing is said.
    pub fn is_empty(&self) -> bool {
        self.lengths.is_empty()
    }

    /// The fullest.
    pub fn full(&self) -> &str {
        self.lengths.first().map_or("", |text| text)
    }

    /// The shortest.
    pub fn least(&self) -> &str {
        self.lengths.last().map_or("", |text| text)
    }

    /// All lengths, fullest first.
    pub fn lengths(&self) -> impl Iterator<Item = &str> {
        self.lengths.iter().map(|text| &**text)
    }

    /// The fullest that fits; the shortest if none does.
    pub fn fitting(&self, fits: impl Fn(&str) -> bool) -> &str {
        self.lengths().find(|text| fits(text)).unwrap_or(self.least())
    }

    /// The same, with other ways to say it where these do not fit.
    #[must_use]
    pub fn or(mut self, shorter: impl Into<Self>) -> Self {
        for text in shorter.into().lengths {
            if !self.lengths.contains(&text) {
                self.lengths.push(text);
            }
        }
        self
    }

    /// Each length changed in the same way.
    #[must_use]
    pub fn map(&self, change: impl Fn(&str) -> String) -> Self {
        Self { lengths: self.lengths().map(|text| Cow::Owned(change(text))).collect() }
    }
}

impl From<&'static str> for Text {
    fn from(text: &'static str) -> Self {
        Self::of([Cow::Borrowed(text)])
    }
}

impl From<String> for Text {
    fn from(text: String) -> Self {
        Self::of([Cow::Owned(text)])
    }
}

/// Writes the fullest.
impl fmt::Display for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.full())
    }
}

#[cfg(test)]
mod tests {
    use alloc::{format, string::ToString};

    use super::*;

    fn three() -> Text {
        Text::of(["left, ends at 12:09".into(), "ends 12:09".into(), "12:09".into()])
    }

    #[test]
    fn the_fullest_that_fits_is_taken() {
        assert_eq!(three().fitting(|_| true), "left, ends at 12:09");
        assert_eq!(three().fitting(|text| text.len() <= 12), "ends 12:09");
        assert_eq!(three().fitting(|text| text.len() <= 5), "12:09");
    }

    #[test]
    fn the_shortest_is_taken_where_nothing_fits() {
        assert_eq!(three().fitting(|_| false), "12:09");
        assert_eq!(Text::none().fitting(|_| false), "");
    }

    #[test]
    fn other_ways_to_say_it_come_after_and_only_once() {
        let text = Text::from("TURN loaf").or("TURN").or("TURN loaf").or(Text::none()).or(Text::from("TURN").or("!"));
        assert!(text.lengths().eq(["TURN loaf", "TURN", "!"]));
        assert_eq!((text.full(), text.least()), ("TURN loaf", "!"));
    }

    #[test]
    fn an_empty_form_is_no_form() {
        assert!(Text::of(["".into(), "".into()]).is_empty());
        assert!(Text::from("").is_empty() && Text::from(String::new()).is_empty() && Text::none().is_empty());
        assert_eq!(Text::of(["".into(), "off".into()]).full(), "off");
        assert_eq!(Text::none().or("off"), Text::from("off"));
        assert_eq!((Text::none().full(), Text::none().least()), ("", ""));
    }

    #[test]
    fn a_change_reaches_every_form() {
        let changed = three().map(|text| format!("{text}!"));
        assert!(changed.lengths().eq(["left, ends at 12:09!", "ends 12:09!", "12:09!"]));
    }

    #[test]
    fn written_it_is_the_fullest() {
        assert_eq!(three().to_string(), "left, ends at 12:09");
        assert_eq!(Text::none().to_string(), "");
    }
}
