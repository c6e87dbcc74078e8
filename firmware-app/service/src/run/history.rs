//! How long the core steps of a recipe took in earlier trials, for the forecasts of the next one.

use std::collections::BTreeMap;

use journal::index::{Filter, Index, Status, StepRow, TrialRow};
use quantities::{RunTime, Span};
use recipe_model::{Programme, Recipe, Stage, Step, StepId, Until, VariantId};
use run_engine::predict::History;
use trial::{DoneTime, EndCause};

use super::shelf;
use crate::library::Library;

/// So many of the newest trials count.
const MOST: usize = 20;
/// Older trials than these are not looked at, so that a start stays quick.
const LOOKED_AT: u32 = 60;
/// Other versions of the recipe whose text is read to see whether the step is the same.
const OTHER_VERSIONS: usize = 4;
/// Cooks that are meant to be the same differ by about 9 % (simulated); a few that came out alike say little.
const LEAST_SPREAD: f64 = 0.05;
/// And fewer than three say even less.
const FEW: usize = 3;
const SPREAD_OF_FEW: f64 = 0.12;

/// The times of the core steps of a programme in closed trials of the same recipe, as far as step, appliance and weights
/// were the same and the step ended by its core, or when the cook was called to take the food.
///
/// Nothing of a library without an index: it is not worth a wait.
pub fn of(library: &Library, recipe: &Recipe, programme: &Programme) -> BTreeMap<StepId, History> {
    let cores: Vec<(&Stage, &Step)> =
        programme.steps().filter(|(_, _, step)| is_core(step)).map(|(_, stage, step)| (stage, step)).collect();
    if cores.is_empty() || !library.has_index() {
        return BTreeMap::new();
    }
    let found = library.open_index().ok().and_then(|index| times(library, &index, recipe, programme, &cores));
    let found = found.unwrap_or_default();
    found.into_iter().filter_map(|(step, times)| Some((step, summed_up(&times)?))).collect()
}

fn times(
    library: &Library,
    index: &Index,
    recipe: &Recipe,
    programme: &Programme,
    cores: &[(&Stage, &Step)],
) -> Option<BTreeMap<StepId, Vec<Span>>> {
    let filter = Filter {
        recipe: Some(recipe.id.to_string()),
        status: Some(Status::Closed),
        limit: Some(LOOKED_AT),
        ..Filter::default()
    };
    let mut versions = Versions { library, recipe, others: BTreeMap::new() };
    let mut found: BTreeMap<StepId, Vec<Span>> = BTreeMap::new();
    for row in index.list(&filter).ok()? {
        if cores.iter().all(|(_, step)| found.get(&step.id).is_some_and(|times| times.len() >= MOST)) {
            break;
        }
        let wanted: Vec<&Step> =
            cores.iter().filter(|core| versions.has(&row, programme, core)).map(|(_, step)| *step).collect();
        if wanted.is_empty() {
            continue;
        }
        let Some(detail) = index.show(&row.trial).ok().flatten() else { continue };
        for step in wanted {
            // the last run of a step is the one that counts
            let ran = detail.steps.iter().rev().find(|ran| ran.step == step.id.as_str());
            let ran = ran.and_then(|ran| time_to_its_end(ran, is_left_to_rest(step)));
            let times = found.entry(step.id.clone()).or_default();
            times.extend(ran.filter(|_| times.len() < MOST));
        }
    }
    Some(found)
}

/// Recipes of earlier trials, read once a version.
struct Versions<'a> {
    library: &'a Library,
    recipe: &'a Recipe,
    others: BTreeMap<String, Option<Recipe>>,
}

impl Versions<'_> {
    /// Whether a trial cooked this very step: the same programme, or the same step of the same weights in another one.
    fn has(&mut self, row: &TrialRow, programme: &Programme, core: &(&Stage, &Step)) -> bool {
        let variant = VariantId::new(&row.variant);
        let cooked = if row.version == self.recipe.version {
            self.recipe.programme(&variant)
        } else {
            self.other(row).and_then(|recipe| recipe.programme(&variant))
        };
        cooked.is_some_and(|cooked| same_step(cooked, programme, core))
    }

    fn other(&mut self, row: &TrialRow) -> Option<&Recipe> {
        if !self.others.contains_key(&row.version) {
            if self.others.len() >= OTHER_VERSIONS {
                return None;
            }
            let file = self.library.read(row.trial.as_str()).ok();
            let text = file.as_ref().and_then(|file| file.recipe());
            let read = text.and_then(|text| shelf::parse(row.trial.as_str().as_ref(), text.to_owned()).ok());
            let recipe = read.map(|shelved| shelved.recipe.as_ref().clone());
            self.others.insert(row.version.clone(), recipe);
        }
        self.others.get(&row.version)?.as_ref()
    }
}

fn same_step(cooked: &Programme, programme: &Programme, (stage, step): &(&Stage, &Step)) -> bool {
    let amount_of =
        |id| cooked.ingredients.iter().find(|ingredient| ingredient.id == id).map(|ingredient| &ingredient.amount);
    let same_weights = programme
        .ingredients
        .iter()
        .all(|ingredient| amount_of(ingredient.id.clone()).is_none_or(|amount| *amount == ingredient.amount));
    same_weights && cooked.steps().any(|(_, place, other)| place.appliance == stage.appliance && other == *step)
}

fn is_core(step: &Step) -> bool {
    match step.until {
        Until::Core(_) => true,
        Until::Time { .. }
        | Until::Cue { .. }
        | Until::Cook { .. }
        | Until::Heat { .. }
        | Until::Rest { .. }
        | Until::Rounds { .. } => false,
    }
}

fn is_left_to_rest(step: &Step) -> bool {
    matches!(&step.until, Until::Core(core) if core.in_rest)
}

/// From the start of a step to its target, holds left out; where the target is left to the rest, to the call to take the
/// food instead: that is what is foretold then, and the two are not one time.
fn time_to_its_end(row: &StepRow, left_to_rest: bool) -> Option<Span> {
    let by_call = row.cause? == EndCause::Press;
    if by_call != left_to_rest {
        return None;
    }
    let (ended, ran) = (row.ended?, row.ran?);
    match (row.cause?, row.done?) {
        // a press on a core step is exact only where it answered the call to take the food
        (EndCause::CoreHeld | EndCause::Press, DoneTime::Exact { at }) => Some(ran.saturating_sub(ended.since(at))),
        (EndCause::CoreHeld, DoneTime::Between { after, by }) => {
            let middle = RunTime::from_millis(after.millis() / 2 + by.millis() / 2);
            Some(ran.saturating_sub(ended.since(middle)))
        }
        (
            EndCause::CoreHeld
            | EndCause::Press
            | EndCause::LookDone
            | EndCause::LookOver
            | EndCause::HeatReached
            | EndCause::Skipped
            | EndCause::Stopped,
            DoneTime::Exact { .. }
            | DoneTime::Between { .. }
            | DoneTime::Before { .. }
            | DoneTime::After { .. }
            | DoneTime::Timed,
        ) => None,
    }
    .filter(|time| !time.is_zero())
}

/// The middle of the times and the spread of their logarithms.
fn summed_up(times: &[Span]) -> Option<History> {
    let mut logs: Vec<f64> = times.iter().map(|time| time.secs().ln()).collect();
    logs.sort_by(f64::total_cmp);
    let n = logs.len();
    let middle = (logs.get(n.checked_sub(1)? / 2)? + logs.get(n / 2)?) / 2.0;
    let mean = logs.iter().sum::<f64>() / n as f64;
    let spread = (logs.iter().map(|log| (log - mean) * (log - mean)).sum::<f64>() / (n.max(2) - 1) as f64).sqrt();
    let least = if n < FEW { SPREAD_OF_FEW } else { LEAST_SPREAD };
    Some(History { time: Span::from_millis((middle.exp() * 1000.0).round() as u64), spread: spread.max(least) })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::path::Path;

    use journal::{Writer, read_trial};
    use quantities::{Celsius, Drift};
    use trial::{Fact, Stamp, Stamped, TrialId, TrialInfo};

    use super::*;

    const LOIN: &str = include_str!("../../../../recipes/library/pork-loin.toml");

    fn parsed(text: &str) -> Recipe {
        match shelf::parse(Path::new("loin.toml"), text.to_owned()) {
            Ok(shelved) => shelved.recipe.as_ref().clone(),
            Err(shelf::ShelfError::Refused { complaints, .. }) => panic!("{complaints:#?}"),
            Err(why) => panic!("{why}"),
        }
    }

    /// Trials of the loin in a folder that goes away.
    struct Past {
        _home: tempfile::TempDir,
        library: Library,
        count: u32,
    }

    impl Past {
        fn new() -> Self {
            let home = tempfile::tempdir().unwrap();
            let library = Library::at(home.path());
            std::fs::create_dir_all(&library.trials).unwrap();
            Self { _home: home, library, count: 0 }
        }

        /// A closed trial whose roast was at its target after so many minutes.
        fn roasted(&mut self, text: &str, variant: &str, cause: EndCause, minutes: u64) {
            let recipe = parsed(text);
            self.count += 1;
            let trial = TrialId::new(&format!("20261101-{:06}-loin", self.count)).unwrap();
            let at = |minutes: u64| RunTime::from_start(Span::from_mins(minutes));
            let step = StepId::new("loin.roast");
            let done = if cause == EndCause::CoreHeld {
                DoneTime::Exact { at: at(10 + minutes) }
            } else {
                DoneTime::After { after: at(10 + minutes), reason: trial::EarlyReason::PulledEarly }
            };
            let info = TrialInfo {
                trial: trial.clone(),
                recipe: recipe.id.clone(),
                title: recipe.title.clone(),
                version: recipe.version.clone(),
                variant: VariantId::new(variant),
                cook: None,
                kitchen: None,
                left_open: Vec::new(),
            };
            let facts = [
                (at(0), Fact::TrialOpened(info)),
                (
                    at(10),
                    Fact::StepBegan {
                        step: step.clone(),
                        planned: None,
                        expect: Span::from_mins(60),
                        over_gap: None,
                        cautions: Vec::new(),
                    },
                ),
                (
                    at(11 + minutes),
                    Fact::StepEnded {
                        step,
                        cause,
                        ran: Span::from_mins(minutes + 1),
                        done,
                        core_celsius: Some(Celsius::whole(63)),
                    },
                ),
                (at(12 + minutes), Fact::TrialClosed { given_up: false, missing: Vec::new() }),
            ];
            let mut writer = Writer::create(Library::disk(), &self.library.trials, &trial, self.count).unwrap();
            writer.append(journal::Kind::Recipe, text.as_bytes()).unwrap();
            let stamp = Stamp { boot: "b".into(), boot_ms: 0, wall_ms: i64::from(self.count) * 1000, synced: true };
            for (seq, (at, fact)) in (0..).zip(facts) {
                let entry = trial::Entry { seq, at, action: None, fact };
                writer.append_fact(&Stamped { stamp: stamp.clone(), entry }).unwrap();
            }
            writer.finish().unwrap();
            let file = read_trial(&journal::RealDisk, &self.library.trials, &trial).unwrap();
            Index::open(&self.library.index).unwrap().put(&file).unwrap();
        }

        fn of_roast(&self, text: &str, variant: &str) -> Option<History> {
            let recipe = parsed(text);
            let programme = recipe.programme(&VariantId::new(variant)).unwrap().clone();
            of(&self.library, &recipe, &programme).remove(&StepId::new("loin.roast"))
        }
    }

    #[test]
    fn the_middle_of_earlier_trials_counts_from_start_to_target() {
        let mut past = Past::new();
        assert_eq!(past.of_roast(LOIN, "base"), None, "no index yet");
        for minutes in [50, 62, 55] {
            past.roasted(LOIN, "base", EndCause::CoreHeld, minutes);
        }
        let found = past.of_roast(LOIN, "base").unwrap();
        assert!(found.time.drift_of(Span::from_mins(55)) < 1000, "{found:?}");
        // by hand: logarithms of 50, 55 and 62 have the standard deviation 0.1078
        assert!((found.spread - 0.1078).abs() < 0.0005, "{found:?}");
    }

    #[test]
    fn few_trials_and_trials_that_are_all_alike_are_not_trusted_too_far() {
        let mut past = Past::new();
        past.roasted(LOIN, "base", EndCause::CoreHeld, 50);
        assert_eq!(past.of_roast(LOIN, "base").unwrap().spread, SPREAD_OF_FEW);
        for _ in 0..3 {
            past.roasted(LOIN, "base", EndCause::CoreHeld, 50);
        }
        assert_eq!(past.of_roast(LOIN, "base").unwrap().spread, LEAST_SPREAD);
    }

    #[test]
    fn another_oven_setting_another_weight_and_food_pulled_early_do_not_count() {
        let mut past = Past::new();
        past.roasted(LOIN, "low-oven", EndCause::CoreHeld, 85);
        past.roasted(LOIN, "base", EndCause::Press, 40);
        past.roasted(&LOIN.replace("\"1.2 kg\"", "\"2 kg\""), "base", EndCause::CoreHeld, 90);
        assert_eq!(past.of_roast(LOIN, "base"), None);
        // honey in the glaze changes nothing of the roast, nor does another title
        past.roasted(LOIN, "honey", EndCause::CoreHeld, 56);
        past.roasted(&LOIN.replace("title = \"Roast pork", "title = \"Pork"), "base", EndCause::CoreHeld, 56);
        assert!(past.of_roast(LOIN, "base").unwrap().time.drift_of(Span::from_mins(56)) < 1000);
        assert!(past.of_roast(LOIN, "low-oven").unwrap().time.drift_of(Span::from_mins(85)) < 1000);
    }

    #[test]
    fn only_the_newest_twenty_count() {
        let mut past = Past::new();
        for minutes in std::iter::repeat_n(90, 30).chain(std::iter::repeat_n(50, MOST)) {
            past.roasted(LOIN, "base", EndCause::CoreHeld, minutes);
        }
        let found = past.of_roast(LOIN, "base").unwrap();
        assert!(found.time.drift_of(Span::from_mins(50)) < 1000, "{found:?}");
        assert_eq!(found.spread, LEAST_SPREAD);
    }

    trait Near {
        fn drift_of(self, other: Span) -> u64;
    }

    impl Near for Span {
        fn drift_of(self, other: Span) -> u64 {
            Drift::from_millis(self.millis() as i64 - other.millis() as i64).size().millis()
        }
    }
}
