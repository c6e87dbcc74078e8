use std::{
    ffi::OsStr,
    fmt,
    ops::Range,
    path::{Path, PathBuf},
};

use serde_json::Value as Json;
use toml::{Spanned, de::DeValue};

/// What was expected and found; the place is known to the caller.
#[derive(Debug)]
pub(super) struct Wrong {
    pub(super) expected: &'static str,
    pub(super) found: String,
    pub(super) help: Option<String>,
}

/// The same, with its place in a file.
#[derive(Debug)]
pub(super) struct WrongAt {
    pub(super) wrong: Wrong,
    pub(super) span: Range<usize>,
}

/// A kind of setting: how it is read and shown.
pub(super) trait Value: Sized {
    /// What a person may write, after the word "expected".
    const EXPECTED: &'static str;

    /// From text, as in an environment variable.
    fn from_text(text: &str) -> Result<Self, Wrong>;

    /// From an option or variable that need not be Unicode.
    fn from_typed(typed: &OsStr) -> Result<Self, Wrong> {
        match typed.to_str() {
            Some(text) => Self::from_text(text),
            None => Err(wrong::<Self>(typed.display())),
        }
    }

    /// From a file; a string, unless the kind says otherwise.
    fn from_toml(value: &Spanned<DeValue<'_>>) -> Result<Self, WrongAt> {
        let at = |wrong| WrongAt { wrong, span: value.span() };
        match value.get_ref().as_str() {
            Some(text) => Self::from_text(text).map_err(at),
            None => Err(at(wrong::<Self>(kind_of(value)))),
        }
    }

    /// Takes a path that stands in a file from the file's folder.
    fn placed_in(self, _folder: &Path) -> Self {
        self
    }

    /// As JSON.
    fn shown(&self) -> Json;
}

/// The scale temperatures are shown in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Units {
    /// °C
    Celsius,
    /// °F
    Fahrenheit,
}

/// A language tag.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Language(String);

/// What is logged, as a filter that is known to parse.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LogFilter(String);

/// How log lines look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LogFormat {
    /// For people.
    Text,
    /// One object a line.
    Json,
}

impl Language {
    /// Its tag, such as en or de-AT.
    pub fn tag(&self) -> &str {
        &self.0
    }

    /// The language of the panel that it names.
    pub fn of_panel(&self) -> words::Language {
        known(&self.0).unwrap_or_default()
    }
}

/// The language of the panel that a tag names, whatever its region.
fn known(tag: &str) -> Option<words::Language> {
    words::Language::of_code(&tag.split('-').next().unwrap_or_default().to_ascii_lowercase())
}

impl From<words::Language> for Language {
    fn from(language: words::Language) -> Self {
        Self(language.code().to_owned())
    }
}

impl Units {
    /// The same for the panel.
    pub fn of_panel(self) -> screens::Units {
        match self {
            Self::Celsius => screens::Units::Celsius,
            Self::Fahrenheit => screens::Units::Fahrenheit,
        }
    }
}

impl From<screens::Units> for Units {
    fn from(units: screens::Units) -> Self {
        match units {
            screens::Units::Celsius => Self::Celsius,
            screens::Units::Fahrenheit => Self::Fahrenheit,
        }
    }
}

impl Default for Language {
    fn default() -> Self {
        Self("en".to_owned())
    }
}

impl LogFilter {
    pub(super) fn level(level: &'static str) -> Self {
        Self(level.to_owned())
    }

    /// The filter's text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl Value for PathBuf {
    const EXPECTED: &'static str = "a path";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        Self::from_typed(text.as_ref())
    }
    fn from_typed(typed: &OsStr) -> Result<Self, Wrong> {
        if typed.is_empty() { Err(wrong::<Self>("nothing")) } else { Ok(typed.into()) }
    }
    fn placed_in(self, folder: &Path) -> Self {
        folder.join(self)
    }
    fn shown(&self) -> Json {
        self.display().to_string().into()
    }
}

impl Value for Vec<PathBuf> {
    const EXPECTED: &'static str = "a list of paths, in a variable with colons between them";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        Self::from_typed(text.as_ref())
    }
    fn from_typed(typed: &OsStr) -> Result<Self, Wrong> {
        Ok(std::env::split_paths(typed).filter(|path| !path.as_os_str().is_empty()).collect())
    }
    fn from_toml(value: &Spanned<DeValue<'_>>) -> Result<Self, WrongAt> {
        strings::<Self>(value)?
            .iter()
            .map(|(text, span)| PathBuf::from_text(text).map_err(|wrong| WrongAt { wrong, span: span.clone() }))
            .collect()
    }
    fn placed_in(self, folder: &Path) -> Self {
        self.into_iter().map(|path| folder.join(path)).collect()
    }
    fn shown(&self) -> Json {
        self.iter().map(Value::shown).collect()
    }
}

impl<T: Value> Value for Option<T> {
    const EXPECTED: &'static str = T::EXPECTED;
    fn from_text(text: &str) -> Result<Self, Wrong> {
        Self::from_typed(text.as_ref())
    }
    fn from_typed(typed: &OsStr) -> Result<Self, Wrong> {
        if typed == "none" { Ok(None) } else { T::from_typed(typed).map(Some) }
    }
    fn placed_in(self, folder: &Path) -> Self {
        self.map(|value| value.placed_in(folder))
    }
    fn shown(&self) -> Json {
        self.as_ref().map_or(Json::Null, Value::shown)
    }
}

impl Value for Units {
    const EXPECTED: &'static str = "celsius or fahrenheit";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        one_of(text, [("celsius", Self::Celsius), ("fahrenheit", Self::Fahrenheit)])
    }
    fn shown(&self) -> Json {
        match self {
            Self::Celsius => "celsius".into(),
            Self::Fahrenheit => "fahrenheit".into(),
        }
    }
}

impl Value for Language {
    const EXPECTED: &'static str = "a language of the panel: en, de, or one of them with its region such as de-AT";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        let mut regions = text.split('-').skip(1);
        let rest = regions.all(|part| (1..=8).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_alphanumeric()));
        if known(text).is_some() && rest {
            Ok(Self(text.to_owned()))
        } else {
            Err(wrong::<Self>(format_args!("{text:?}")))
        }
    }
    fn shown(&self) -> Json {
        self.0.as_str().into()
    }
}

impl Value for bool {
    const EXPECTED: &'static str = "true or false";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        one_of(text, [("true", true), ("false", false), ("yes", true), ("no", false), ("1", true), ("0", false)])
    }
    fn from_toml(value: &Spanned<DeValue<'_>>) -> Result<Self, WrongAt> {
        value.get_ref().as_bool().ok_or_else(|| WrongAt { wrong: wrong::<Self>(kind_of(value)), span: value.span() })
    }
    fn shown(&self) -> Json {
        (*self).into()
    }
}

impl Value for LogFilter {
    const EXPECTED: &'static str = "error, warn, info, debug, trace, or such levels by module";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        let parsed = tracing_subscriber::EnvFilter::builder().parse(text);
        parsed
            .map(|_| Self(text.to_owned()))
            .map_err(|error| Wrong { help: Some(error.to_string()), ..wrong::<Self>(format_args!("{text:?}")) })
    }
    fn shown(&self) -> Json {
        self.0.as_str().into()
    }
}

impl Value for LogFormat {
    const EXPECTED: &'static str = "text or json";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        one_of(text, [("text", Self::Text), ("json", Self::Json)])
    }
    fn shown(&self) -> Json {
        match self {
            Self::Text => "text".into(),
            Self::Json => "json".into(),
        }
    }
}

/// The known word nearest to `word`, if it is near enough to be meant.
pub(super) fn nearest<'a>(word: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let near = known.map(|known| (strsim::jaro_winkler(word, known), known)).filter(|(score, _)| *score >= 0.85);
    near.max_by(|(a, _), (b, _)| a.total_cmp(b)).map(|(_, known)| known)
}

pub(super) fn wrong<T: Value>(found: impl fmt::Display) -> Wrong {
    Wrong { expected: T::EXPECTED, found: found.to_string(), help: None }
}

pub(super) fn one_of<T: Value, const N: usize>(text: &str, words: [(&'static str, T); N]) -> Result<T, Wrong> {
    let near = nearest(text, words.iter().map(|(word, _)| *word));
    let found = words.into_iter().find(|(word, _)| *word == text);
    found.map(|(_, value)| value).ok_or_else(|| Wrong {
        help: near.map(|near| format!("did you mean {near}?")),
        ..wrong::<T>(format_args!("{text:?}"))
    })
}

pub(super) fn strings<T: Value>(value: &Spanned<DeValue<'_>>) -> Result<Vec<(String, Range<usize>)>, WrongAt> {
    let items =
        value.get_ref().as_array().ok_or_else(|| WrongAt { wrong: wrong::<T>(kind_of(value)), span: value.span() })?;
    let texts = items.iter().map(|item| match item.get_ref().as_str() {
        Some(text) => Ok((text.to_owned(), item.span())),
        None => Err(WrongAt { wrong: wrong::<T>(kind_of(item)), span: item.span() }),
    });
    texts.collect()
}

/// The kind a value in a file has, in a writer's words.
pub(super) fn kind_of(value: &Spanned<DeValue<'_>>) -> &'static str {
    match value.get_ref() {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// A whole number of a settings file.
pub(super) fn whole(value: &Spanned<DeValue<'_>>) -> Option<i64> {
    let written = value.get_ref().as_integer()?;
    i64::from_str_radix(written.as_str(), written.radix()).ok()
}

/// What stands where a whole number is wanted.
pub(super) fn found(value: &Spanned<DeValue<'_>>) -> String {
    whole(value).map_or_else(|| kind_of(value).to_owned(), |number| number.to_string())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::config::Kitchen;

    #[test]
    fn a_language_is_one_of_the_panel_and_nothing_else() {
        for wrong in ["", "e", "english", "../de", "de_DE", "de-", "xx"] {
            assert!(Language::from_text(wrong).is_err(), "{wrong}");
        }
        let austrian = Language::from_text("de-AT").unwrap();
        assert_eq!((austrian.tag(), austrian.of_panel()), ("de-AT", words::Language::German));
    }

    #[test]
    fn a_log_filter_that_does_not_parse_is_refused() {
        assert!(LogFilter::from_text("tallyhob=loudly").is_err());
        assert_eq!(LogFilter::from_text("warn,tallyhob=debug").unwrap().as_str(), "warn,tallyhob=debug");
    }

    #[test]
    fn what_can_be_unset_is_unset_by_none() {
        assert_eq!(Option::<Kitchen>::from_text("none").unwrap(), None);
        assert!(Option::<Kitchen>::from_text("a b").is_err());
    }
}
