use recipe_model::Recipe;
use sha2::{Digest, Sha256};

/// The hash of a recipe's meaning, 64 hexadecimal digits. Comments, the order of keys, defaults written out and the way
/// a unit is written leave it as it is; any change that the engine, the panel or the record would see changes it.
pub(crate) fn version(recipe: &Recipe) -> String {
    let mut bare = recipe.clone();
    bare.version.clear();
    // the changes repeat in the writer's words what the variants' programmes say
    bare.variants.iter_mut().for_each(|variant| variant.changes.clear());
    // the model's stored form has a fixed order of fields and quantities in base units
    let form = serde_json::to_vec(&bare).unwrap_or_default();
    let digest = Sha256::digest(&form);
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}
