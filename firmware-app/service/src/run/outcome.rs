//! What the record sheet of a trial asks for after its end, and what of it is on record.

use std::collections::BTreeMap;

use recipe_model::Recipe;
use run_engine::TrialNo;
use screens::{OutcomeItem, OutcomeKind, OutcomeView};
use trial::{Entry, Fact};

/// What was measured and scored in a trial, without what was undone.
#[derive(Clone, Debug, Default)]
pub struct Noted {
    /// What, by the entry that begins its action.
    by_action: BTreeMap<u64, String>,
}

impl Noted {
    /// Takes an entry of the trial, in their order.
    #[allow(clippy::wildcard_enum_match_arm, reason = "of the facts only two are about the record sheet")]
    pub fn take(&mut self, entry: &Entry) {
        match &entry.fact {
            Fact::Measured { what, .. } => {
                self.by_action.insert(entry.action.unwrap_or(entry.seq), what.clone());
            }
            Fact::Undone { action } => {
                self.by_action.remove(action);
            }
            _ => {}
        }
    }

    /// Whether this is on record.
    pub fn has(&self, what: &str) -> bool {
        self.by_action.values().any(|noted| noted == what)
    }
}

/// The record sheet of a recipe as the panel asks it: what is weighed first, then what is scored. None where the recipe
/// asks for nothing.
pub fn sheet(trial: TrialNo, recipe: &Recipe, noted: &Noted) -> Option<OutcomeView> {
    let item = |what: &str, kind| OutcomeItem { what: what.to_owned(), kind, noted: noted.has(what) };
    let weighed = recipe.record.weigh.iter().map(|weighing| item(&weighing.what, OutcomeKind::Weight));
    let scored = recipe.record.score.iter().map(|score| {
        let kind = match score.words.as_slice() {
            [] => OutcomeKind::Scale(score.low, score.high),
            words => OutcomeKind::Words(score.low, words.to_vec()),
        };
        item(&score.what, kind)
    });
    let items: Vec<OutcomeItem> = weighed.chain(scored).collect();
    (!items.is_empty()).then_some(OutcomeView { trial, items })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::path::Path;

    use quantities::RunTime;

    use super::*;
    use crate::run::shelf;

    const SOUP: &str = include_str!("../../../../recipes/library/soup-reheat.toml");

    fn entry(seq: u64, action: Option<u64>, fact: Fact) -> Entry {
        Entry { seq, at: RunTime::START, action, fact }
    }

    fn measured(what: &str) -> Fact {
        Fact::Measured { what: what.into(), value_thousandths: 1000, unit: None }
    }

    #[test]
    fn the_sheet_asks_in_the_order_of_the_recipe_and_knows_what_is_on_record() {
        let recipe = shelf::parse(Path::new("soup.toml"), SOUP.into()).unwrap().recipe;
        let mut noted = Noted::default();
        noted.take(&entry(7, Some(7), measured("one bowl after")));
        let sheet = sheet(TrialNo(0), &recipe, &noted).unwrap();
        let items: Vec<(&str, bool)> = sheet.items.iter().map(|item| (item.what.as_str(), item.noted)).collect();
        assert_eq!(items, [("one bowl before", false), ("one bowl after", true), ("heat in the mouth", false)]);
        assert_eq!(sheet.items[0].kind, OutcomeKind::Weight);
        let OutcomeKind::Words(first, words) = &sheet.items[2].kind else { panic!("{:?}", sheet.items[2]) };
        assert_eq!((*first, words.len()), (1, 4));
    }

    #[test]
    fn what_was_undone_is_not_on_record() {
        let mut noted = Noted::default();
        noted.take(&entry(7, Some(7), measured("crust")));
        noted.take(&entry(8, Some(8), measured("crust")));
        noted.take(&entry(9, None, Fact::Undone { action: 8 }));
        assert!(noted.has("crust"));
        noted.take(&entry(10, None, Fact::Undone { action: 7 }));
        assert!(!noted.has("crust"));
    }
}
