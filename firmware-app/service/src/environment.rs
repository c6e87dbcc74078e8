//! The environment variables, read once, so that a test can hand in others.

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
};

/// The environment variables that are set and not empty.
///
/// A variable whose name or value is not Unicode counts as not set.
#[derive(Clone, Debug, Default)]
pub struct Environment(BTreeMap<String, String>);

impl Environment {
    /// Reads those of this process.
    pub fn of_process() -> Self {
        let unicode =
            std::env::vars_os().filter_map(|(name, value)| Some((name.into_string().ok()?, value.into_string().ok()?)));
        Self::from_pairs(unicode)
    }

    /// Takes the pairs given, for tests and for child processes.
    pub fn from_pairs(pairs: impl IntoIterator<Item = (String, String)>) -> Self {
        Self(pairs.into_iter().filter(|(_, value)| !value.is_empty()).collect())
    }

    /// The value of a variable that is set and not empty.
    pub fn get(&self, name: &str) -> Option<&str> {
        self.0.get(name).map(String::as_str)
    }

    /// The path in a variable; a relative one does not count, as the XDG Base Directory specification asks.
    pub fn absolute(&self, name: &str) -> Option<PathBuf> {
        self.get(name).map(Path::new).filter(|path| path.is_absolute()).map(Path::to_owned)
    }

    /// The names that start with `prefix`, in order.
    pub fn names_from<'a>(&'a self, prefix: &'a str) -> impl Iterator<Item = &'a str> {
        self.0.keys().map(String::as_str).filter(move |name| name.starts_with(prefix))
    }
}

#[cfg(test)]
impl From<&[(&str, &str)]> for Environment {
    fn from(pairs: &[(&str, &str)]) -> Self {
        Self::from_pairs(pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())))
    }
}
