//! Recipe files: found by path or by id, read and checked.

use std::{
    collections::BTreeSet,
    fs, io,
    path::{Path, PathBuf},
    sync::Arc,
};

use recipe_model::{ProbeName, Programme, Recipe, VariantId};
use recipe_parser::Complaint;

use crate::output::counted;

/// A recipe with the text it was read from.
#[derive(Clone, Debug)]
pub struct Shelved {
    /// The recipe.
    pub recipe: Arc<Recipe>,
    /// The text of its file.
    pub text: String,
    /// Its file.
    pub path: PathBuf,
}

/// Why a recipe cannot be cooked.
#[derive(Debug, thiserror::Error)]
pub enum ShelfError {
    /// There is no such file and no recipe of that id.
    #[error("expected a recipe file or the id of a recipe, found {asked}; {known}")]
    NotFound {
        /// What was asked for.
        asked: String,
        /// What there is.
        known: String,
    },
    /// The file cannot be read.
    #[error("cannot read {}", path.display())]
    Unreadable {
        /// Which.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The check refuses it.
    #[error("{} is refused, with {}: see tallyhob check {}", path.display(), counted(*errors, "error"), path.display())]
    Refused {
        /// Which.
        path: PathBuf,
        /// How many.
        errors: usize,
        /// What is wrong.
        complaints: Vec<Complaint>,
        /// The text they point into.
        text: String,
    },
    /// It has no such variant.
    #[error("expected a variant of {recipe} ({known}), found {asked}")]
    NoVariant {
        /// The recipe.
        recipe: String,
        /// What was asked for.
        asked: String,
        /// What there is.
        known: String,
    },
}

/// Reads one recipe: a path, or an id that is looked up in the folders.
pub fn find(asked: &str, folders: &[PathBuf]) -> Result<Shelved, ShelfError> {
    let path = Path::new(asked);
    if path.is_file() {
        return read(path);
    }
    for folder in folders {
        let path = folder.join(format!("{asked}.toml"));
        if is_plain_name(asked) && path.is_file() {
            return read(&path);
        }
    }
    let known: Vec<String> =
        all(folders).into_iter().filter_map(|(path, _)| Some(path.file_stem()?.to_string_lossy().into())).collect();
    let known =
        if known.is_empty() { "no recipe folder has any".into() } else { format!("there is {}", known.join(", ")) };
    Err(ShelfError::NotFound { asked: asked.into(), known })
}

/// Every recipe file of the folders, in the order of their names; the first file of a name counts.
pub fn all(folders: &[PathBuf]) -> Vec<(PathBuf, Result<Shelved, ShelfError>)> {
    let mut names = BTreeSet::new();
    let mut found = Vec::new();
    for folder in folders {
        let Ok(entries) = fs::read_dir(folder) else { continue };
        let paths = entries.filter_map(|entry| Some(entry.ok()?.path()));
        let files: BTreeSet<PathBuf> =
            paths.filter(|path| path.extension().is_some_and(|end| end == "toml") && path.is_file()).collect();
        for path in files {
            if names.insert(path.file_name().map(ToOwned::to_owned)) {
                let read = read(&path);
                found.push((path, read));
            }
        }
    }
    found
}

/// Reads a recipe file; warnings do not refuse it.
pub fn read(path: &Path) -> Result<Shelved, ShelfError> {
    let text = fs::read_to_string(path).map_err(|source| ShelfError::Unreadable { path: path.into(), source })?;
    parse(path, text)
}

/// Reads a recipe from text, as it was kept with a trial.
pub fn parse(path: &Path, text: String) -> Result<Shelved, ShelfError> {
    let parsed = recipe_parser::parse(&path.display().to_string(), &text);
    match parsed.recipe {
        Some(recipe) => Ok(Shelved { recipe: Arc::new(recipe), text, path: path.into() }),
        None => {
            let errors = parsed.complaints.iter().filter(|c| c.severity == recipe_parser::Severity::Error).count();
            Err(ShelfError::Refused { path: path.into(), errors, complaints: parsed.complaints, text })
        }
    }
}

impl Shelved {
    /// The variant asked for; without one, the control.
    pub fn variant(&self, asked: Option<&str>) -> Result<(VariantId, Arc<Programme>), ShelfError> {
        let id = match asked {
            Some(asked) => VariantId::new(asked),
            None => self
                .recipe
                .variants
                .iter()
                .find(|variant| variant.control)
                .map_or_else(VariantId::base, |control| control.id.clone()),
        };
        match self.recipe.programme(&id) {
            Some(programme) => Ok((id, Arc::new(programme.clone()))),
            None => {
                let known: Vec<&str> = self.recipe.variants.iter().map(|variant| variant.id.as_str()).collect();
                let known = if known.is_empty() {
                    "it has none but base".into()
                } else {
                    format!("base, {}", known.join(", "))
                };
                Err(ShelfError::NoVariant { recipe: self.recipe.id.to_string(), asked: id.to_string(), known })
            }
        }
    }
}

/// The probes that a programme reads.
pub fn probes_of(programme: &Programme) -> BTreeSet<ProbeName> {
    programme.steps().filter_map(|(_, _, step)| step.until.probe().cloned()).collect()
}

fn is_plain_name(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-')
}
