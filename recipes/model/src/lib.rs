//! What a recipe is.
//!
//! A [`Recipe`] comes out of the parser only, so what is said here can be trusted: ids are unique, every reference
//! points at something, a stage has at least one step, begin conditions have no cycle, windows are in order.
//!
//! - A **recipe** has one base [`Programme`] and a programme for each variant, already resolved.
//! - A **programme** is stages that run side by side; a **stage** is steps in order at one appliance.
//! - A **step** is one thing to do or wait for, with the way it ends ([`Until`]) and, if it does not simply follow the
//!   step before it, the way it begins ([`Begin`]).
//!
//! The file form of each item is in its doc comment; the parser's key table and the JSON Schema follow it.
#![no_std]
#![forbid(unsafe_code)]
extern crate alloc;

mod begin;
mod food;
mod id;
mod inside;
mod kitchen;
mod recipe;
mod record;
mod step;
mod until;

pub use begin::{Anchor, Begin, Edge};
pub use food::{Caution, FoodClass, Hazard};
pub use id::{BranchId, DishId, EventId, IngredientId, ProbeName, RecipeId, StageId, StepId, VariantId};
pub use inside::{Branch, HalfTime, Inside, Rhythm, TimedEvent};
pub use kitchen::{Appliance, ApplianceKind, KitchenNeeds, Setting};
pub use recipe::{Dish, Landing, Programme, Recipe, Stage, StepRef, Variant};
pub use record::{Amount, Ingredient, RecordSheet, Score, Tolerance, Weighing};
pub use step::{Hands, Step};
pub use until::{CoreTarget, Fallback, Looks, Until, Window};
