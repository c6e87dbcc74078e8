//! From a recipe file to a recipe, or to a list of complaints with their places.
//!
//! [`parse`] takes the whole text and gives back the recipe if it may be cooked, and every complaint at once. What it
//! does, in order:
//!
//! 1. the text becomes a tree that knows the place of every value, syntax faults or not (`syntax`);
//! 2. the tree is seen through the one table of keys (`keys`, `walk`) and read into a draft (`draft`, `read`);
//! 3. each variant is applied to the tree and read the same way (`variant`);
//! 4. every rule (`rules`, one file a rule) looks at the draft of the base and of each variant;
//! 5. if no rule found an error, the draft becomes the model's recipe (`build`), named by the hash of its meaning.
//!
//! [`render`] shows a complaint, [`format()`] lays a file out anew, [`steps_text`] prints a programme, [`json_schema`]
//! gives the schema for editors, [`food_table`] holds the public tables of core temperatures.
#![forbid(unsafe_code)]

mod build;
mod complaint;
mod draft;
pub mod food_table;
mod format;
mod keys;
mod nearest;
mod plan;
mod read;
mod render;
pub mod rules;
mod schema;
mod source;
mod steps_text;
mod syntax;
mod variant;
mod version;
mod walk;

pub use complaint::{Complaint, Severity};
pub use format::format;
pub use render::render;
pub use schema::json_schema;
pub use source::Source;
pub use steps_text::steps_text;

use quantities::print::World;
use recipe_model::Recipe;

/// What came out of a recipe file.
#[derive(Clone, Debug)]
pub struct Parsed {
    /// The recipe, if nothing stands against cooking it.
    pub recipe: Option<Recipe>,
    /// Everything there is to say about the file, in its order; with a recipe there are warnings only.
    pub complaints: Vec<Complaint>,
}

/// Reads a recipe file. Gives a recipe exactly when no complaint is an error. Never panics and never stops at the first
/// fault; a file over 256 KiB is refused unread.
pub fn parse(file_name: &str, text: &str) -> Parsed {
    let source = Source { name: file_name, text };
    let (mut complaints, sound) = rules::check(&source);
    let mut recipe = None;
    if let Some(sound) = sound {
        match build::recipe(&sound) {
            Ok(built) => recipe = Some(built),
            Err(gap) => complaints.push(rules::unread(&source, gap)),
        }
    }
    complaints.sort_by_key(|c| (c.span.start, c.span.end, c.severity, c.rule));
    Parsed { recipe, complaints }
}

/// The unit world in which most temperatures of a recipe file are written, for printing the recipe as its writer would;
/// metric where there are none.
pub fn writers_world(text: &str) -> World {
    let is_readable = text.len() <= syntax::LARGEST && syntax::too_deep(text).is_none();
    if is_readable { walk::Walk::new(&syntax::tree(text).0).world() } else { World::Metric }
}
