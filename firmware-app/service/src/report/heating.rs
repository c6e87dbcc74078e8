//! What the recorded readings of a core amount to against named public tables.
//!
//! Only readings that were believed count, as means of ten seconds, by their best value and by the lower bound that the
//! calibration on record leaves. Where a probe was moved from place to place each place stands for itself, and the one that
//! was heated least is told.

use std::collections::BTreeSet;

use journal::{TrialFile, readings::Sample};
use lethality::{BEEF, Both, CHART, ChartFood, Claim, HeldFood, Holds, Integral, Kinetics, Published, Row, Seen};
use quantities::{Celsius, RunTime, Span};
use recipe_model::{ApplianceKind, FoodClass, ProbeName, Programme, Stage, Step, StepId, Until};
use run_engine::Calibrated;
use serde::Serialize;
use thermometry::{Heat, Place, ProbeWatch, Sensor};
use trial::{
    Entry, Equipment, Fact,
    record::{StepRecord, TrialRecord, in_force},
};

use super::rests::rests_after;
use crate::{failure::Failure, library::Library, run::calibration};

/// A core that was watched through one or more steps, held against the tables for its food.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Heating {
    /// The steps, in the order in which they ran.
    pub steps: Vec<StepId>,
    /// The probe.
    pub probe: ProbeName,
    /// The class of the food.
    pub food: FoodClass,
    /// What corrected the readings, in words.
    pub corrected_by: String,
    /// In how many places it was measured, one after another; what follows is of the place that was heated least.
    pub places: usize,
    /// The highest mean of ten seconds, by the best value.
    pub highest_celsius: Option<Celsius>,
    /// The same by the lower bound.
    pub highest_at_least_celsius: Option<Celsius>,
    /// Against the minimum of the chart, if it names such food.
    pub chart: Option<AgainstChart>,
    /// Against a table of times, if there is one for such food.
    pub table: Option<AgainstTable>,
}

/// A core against the minimum of the chart.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AgainstChart {
    /// The chart with its edition and where its rows were read.
    pub chart: String,
    /// Its food, in its words.
    pub food: &'static str,
    /// The minimum.
    pub minimum_celsius: Celsius,
    /// As the chart prints it.
    pub minimum_fahrenheit: u16,
    /// The rest that belongs to it.
    pub rest: Span,
    /// For how long at the longest a mean of ten seconds was there by its lower bound; nothing if it never was.
    pub reached_for: Option<Span>,
}

/// A core against a table of times.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AgainstTable {
    /// The table with its edition and where its rows were read.
    pub table: String,
    /// Its food, in its words.
    pub food: &'static str,
    /// The hottest row that was held for its time without a break.
    pub held: Option<HeldRow>,
    /// The equivalent time, for a table whose rows lie on a line.
    pub equivalent: Option<Equivalent>,
}

/// A row that was held, literally.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct HeldRow {
    /// Its temperature.
    pub celsius: Celsius,
    /// As the table prints it.
    pub fahrenheit: u16,
    /// The time that it asks for.
    pub asked: Span,
    /// For how long it was held.
    pub held: Span,
}

/// The integral over all temperatures within a table, as time at one of its rows.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Equivalent {
    /// Temperature of the row.
    pub celsius: Celsius,
    /// By the best value.
    pub best: Span,
    /// By the lower bound.
    pub at_least: Span,
    /// The time that the row asks for.
    pub asked: Span,
    /// The line that it was integrated with.
    pub line: String,
    /// All of it in words.
    pub words: String,
}

/// Means of so many milliseconds.
const MEAN: Span = Span::from_secs(10);
/// Where food may be hotter than boiling water, as sugar and fat: this far over the target.
const OVER_TARGET: i16 = 25;

impl Heating {
    /// Every core of a trial whose step names a class of food.
    pub fn of(
        file: &TrialFile,
        entries: &[Entry],
        record: &TrialRecord,
        programme: &Programme,
    ) -> Result<Vec<Self>, Failure> {
        let moved = moves(entries);
        let mut found = Vec::new();
        for watched in watched(record, programme) {
            let samples = Library::samples(file, watched.probe)?;
            let noted: Vec<&Equipment> = record.equipment.iter().collect();
            let device = device_of(&noted, watched.probe);
            let calibrated = calibration::recorded(&noted, watched.probe, device);
            let places = watched.places(&samples, &moved);
            found.push(watched.against(&places, &calibrated));
        }
        Ok(found)
    }
}

/// A step as it ran, with what the recipe says of it.
struct Ran<'a> {
    record: &'a StepRecord,
    stage: &'a Stage,
    step: &'a Step,
}

/// Steps in a row through which one probe was in one piece of food.
struct Watched<'a> {
    probe: &'a ProbeName,
    food: FoodClass,
    ran: Vec<Ran<'a>>,
}

/// A core step opens a piece of food; more of its stage, and the rest that follows, go on with it.
fn watched<'a>(record: &'a TrialRecord, programme: &'a Programme) -> Vec<Watched<'a>> {
    let mut all: Vec<Watched<'a>> = Vec::new();
    for step in &record.steps {
        let Some((_, stage, plan)) = programme.steps().find(|(_, _, plan)| plan.id == step.step) else { continue };
        let rests = matches!(plan.until, Until::Rest { .. });
        let Some(probe) = plan.until.probe().filter(|_| rests || matches!(plan.until, Until::Core(_))) else {
            continue;
        };
        let ran = Ran { record: step, stage, step: plan };
        let goes_on = |open: &&mut Watched<'a>| {
            let same_food = plan.food.map_or(rests, |food| food == open.food);
            let follows = if rests {
                open.ran.iter().any(|before| rests_after(programme, &step.step, &before.record.step))
            } else {
                open.ran.last().is_some_and(|last| last.stage.id == stage.id)
            };
            open.probe == probe && same_food && follows
        };
        match (all.iter_mut().rev().find(goes_on), plan.food) {
            (Some(open), _) => open.ran.push(ran),
            (None, Some(food)) => all.push(Watched { probe, food, ran: vec![ran] }),
            (None, None) => {}
        }
    }
    all
}

impl Watched<'_> {
    /// Means of ten seconds of what was believed, a list a place of the probe. Nothing marks a break.
    fn places(&self, samples: &[Sample], moved: &BTreeSet<(StepId, RunTime)>) -> Vec<Vec<(RunTime, Option<Celsius>)>> {
        let mut places = vec![Vec::new()];
        let mut watch: Option<ProbeWatch> = None;
        for ran in &self.ran {
            let (began, ended) = (ran.record.began, ran.until());
            let place = ran.place();
            match &mut watch {
                Some(watch) => watch.heated_by(place, began),
                None => watch = Some(ProbeWatch::new(Sensor::KITCHEN, place, began)),
            }
            let moves: Vec<RunTime> =
                moved.iter().filter(|(step, _)| *step == ran.record.step).map(|(_, at)| *at).collect();
            let mut next_move = 0;
            let within = samples.iter().filter(|sample| (began..=ended).contains(&sample.at));
            for sample in within {
                while moves.get(next_move).is_some_and(|at| sample.at >= *at) {
                    watch = Some(ProbeWatch::new(Sensor::KITCHEN, place, sample.at));
                    places.push(Vec::new());
                    next_move += 1;
                }
                let (Some(watch), Some(here)) = (&mut watch, places.last_mut()) else { continue };
                let judged = watch.judge(sample.reading, sample.at);
                if let Some(since) = judged.suspect_from {
                    here.retain(|(at, _)| *at < since);
                }
                here.extend(judged.for_target().map(|core| (sample.at, core)));
            }
        }
        places.into_iter().map(|readings| means(&readings)).collect()
    }

    fn against(&self, places: &[Vec<(RunTime, Option<Celsius>)>], calibrated: &Calibrated) -> Heating {
        let corrected = |means: &[(RunTime, Option<Celsius>)]| -> Vec<(RunTime, Option<Both>)> {
            let both = |read| Both {
                best: calibrated.by.corrected(read),
                at_least: calibrated.by.lower_bound(read, calibrated.age),
            };
            means.iter().map(|(at, read)| (*at, read.map(both))).collect()
        };
        let places: Vec<Vec<(RunTime, Option<Both>)>> = places.iter().map(|means| corrected(means)).collect();
        let highest = |value: fn(&Both) -> Celsius| {
            // of the place that came least high
            let peaks = places.iter().map(|place| place.iter().filter_map(|(_, both)| both.as_ref().map(value)).max());
            peaks.min().flatten()
        };
        Heating {
            steps: self.ran.iter().map(|ran| ran.record.step.clone()).collect(),
            probe: self.probe.clone(),
            food: self.food,
            corrected_by: corrected_words(calibrated),
            places: places.len(),
            highest_celsius: highest(|both| both.best),
            highest_at_least_celsius: highest(|both| both.at_least.min(both.best)),
            chart: chart_food(self.food).map(|food| against_chart(food, &places)),
            table: self.table().map(|table| against_table(table, &places)),
        }
    }

    /// The table of times for the food; none for poultry, which is held against the plain minimum alone.
    fn table(&self) -> Option<&'static Published> {
        let microwave = self.ran.iter().any(|ran| ran.stage.appliance.kind == ApplianceKind::Microwave);
        let held = match self.food {
            FoodClass::RedMeatWhole => HeldFood::BeefRoast,
            FoodClass::PorkWhole => HeldFood::PorkRoast,
            FoodClass::MincedMeat | FoodClass::EggDish => HeldFood::Comminuted,
            FoodClass::Fish => HeldFood::ForImmediateService,
            FoodClass::Poultry | FoodClass::Casserole | FoodClass::HamReheat | FoodClass::NoMinimum => return None,
        };
        // heat lies anywhere there, so that no lower temperature is published for it
        if microwave { Some(&lethality::MICROWAVED) } else { held.tables().first().copied() }
    }
}

impl Ran<'_> {
    /// Until when the probe is taken to be in the food.
    fn until(&self) -> RunTime {
        let ended = self.record.end.as_ref().map_or(RunTime::NEVER, |end| end.at);
        self.record.taken_off.map_or(ended, |off| off.max(ended))
    }

    fn place(&self) -> Place {
        let boiling = Celsius::whole(105);
        match &self.step.until {
            Until::Core(target) => {
                let heat = match self.stage.appliance.kind {
                    ApplianceKind::Oven | ApplianceKind::Burner => Heat::Outside,
                    ApplianceKind::Microwave => Heat::Microwave,
                    ApplianceKind::Bench | ApplianceKind::Fridge => Heat::Nothing,
                };
                let hottest = boiling.max(target.target + quantities::CelsiusStep::whole(OVER_TARGET));
                Place::Food { heat, hottest }
            }
            Until::Rest { .. }
            | Until::Time { .. }
            | Until::Cue { .. }
            | Until::Cook { .. }
            | Until::Heat { .. }
            | Until::Rounds { .. } => Place::RESTING,
        }
    }
}

/// Means of ten seconds; one with less than half of the readings that its neighbours have is a break.
fn means(readings: &[(RunTime, Celsius)]) -> Vec<(RunTime, Option<Celsius>)> {
    let bin = |at: &RunTime| at.millis() / MEAN.millis();
    let mut sums: Vec<(u64, i64, i64)> = Vec::new();
    for (at, core) in readings {
        let raw = i64::from(core.ten_thousandths());
        match sums.last_mut() {
            Some((of, sum, count)) if *of == bin(at) => (*sum, *count) = (*sum + raw, *count + 1),
            Some(_) | None => sums.push((bin(at), raw, 1)),
        }
    }
    let most = sums.iter().map(|(_, _, count)| *count).max().unwrap_or(0);
    let mean = |(of, sum, count): &(u64, i64, i64)| {
        let middle = RunTime::from_millis(of * MEAN.millis() + MEAN.millis() / 2);
        let mean = i32::try_from(sum.div_euclid(*count)).ok().and_then(Celsius::from_ten_thousandths);
        (middle, mean.filter(|_| count * 2 >= most))
    };
    sums.iter().map(mean).collect()
}

fn against_chart(food: ChartFood, places: &[Vec<(RunTime, Option<Both>)>]) -> AgainstChart {
    let minimum = CHART.minimum(food);
    let reached_for = |place: &Vec<(RunTime, Option<Both>)>| {
        let (mut since, mut newest, mut longest): (Option<RunTime>, Option<RunTime>, Option<Span>) = (None, None, None);
        for (at, both) in place {
            let there = both.is_some_and(|both| minimum.is_reached_by(both.at_least.min(both.best)));
            if !there || newest.is_some_and(|newest| at.since(newest) > MEAN) {
                since = None;
            }
            newest = Some(*at);
            if there {
                // a mean of ten seconds stands for these ten seconds
                let held = at.since(*since.get_or_insert(*at)) + MEAN;
                longest = longest.max(Some(held));
            }
        }
        longest
    };
    AgainstChart {
        chart: format!("{}, {}, {}", CHART.title, CHART.edition, CHART.source),
        food: minimum.food,
        minimum_celsius: minimum.row.celsius(),
        minimum_fahrenheit: minimum.row.fahrenheit,
        rest: minimum.rest(),
        reached_for: places.iter().map(reached_for).min().flatten(),
    }
}

fn against_table(table: &'static Published, places: &[Vec<(RunTime, Option<Both>)>]) -> AgainstTable {
    let mut held: Option<Vec<HeldRow>> = None;
    let mut least: Option<Integral> = None;
    let line = line_of(table);
    for place in places {
        let mut holds = Holds::new(table);
        let mut integral = line.as_ref().and_then(|(kinetics, _)| Claim::integral(*kinetics, table));
        for (at, both) in place {
            match (both, &mut integral) {
                (Some(both), integral) => {
                    holds.take(both.at_least.min(both.best), *at);
                    if let Some(integral) = integral {
                        integral.take(*both, *at);
                    }
                }
                (None, integral) => {
                    holds.lost();
                    if let Some(integral) = integral {
                        integral.lost();
                    }
                }
            }
        }
        let rows = held_rows(&holds);
        // only what every place was held at
        held = Some(match held {
            None => rows,
            Some(before) => {
                before.into_iter().filter(|row| rows.iter().any(|other| other.celsius == row.celsius)).collect()
            }
        });
        least = match (least, integral) {
            (Some(least), Some(here)) if least.at_least_minutes() <= here.at_least_minutes() => Some(least),
            (Some(_) | None, Some(here)) => Some(here),
            (least, None) => least,
        };
    }
    let claim = line.zip(least).and_then(|((kinetics, row), integral)| {
        let claim = Claim::new(&integral, table, row)?;
        Some(Equivalent {
            celsius: row.celsius(),
            best: claim.equivalent,
            at_least: claim.at_least,
            asked: row.hold,
            line: format!("{}, ten times as fast each {:.2} °C", kinetics.organism, kinetics.z),
            words: claim.to_string(),
        })
    });
    AgainstTable {
        table: format!("{}, {}, {}", table.title, table.edition, table.source),
        food: table.food,
        held: held.and_then(|rows| rows.into_iter().max_by_key(|row| row.celsius)),
        equivalent: claim,
    }
}

fn held_rows(holds: &Holds) -> Vec<HeldRow> {
    let rows = holds.table().rows.iter().enumerate().filter(|(_, row)| row.seen == Seen::Read);
    let held = rows.filter_map(|(i, row)| {
        let held = holds.longest(i).filter(|held| *held >= row.hold)?;
        Some(HeldRow { celsius: row.celsius(), fahrenheit: row.fahrenheit, asked: row.hold, held })
    });
    held.collect()
}

/// The line along which a table is integrated, with the row that asks for most of it: what reaches that row's time reaches
/// every row's. Only for the tables of whole roasts: other rows do not lie on a line.
fn line_of(table: &'static Published) -> Option<(Kinetics, Row)> {
    let roasts = [&lethality::BEEF_7_LOG, &lethality::BEEF_6_5_LOG, &lethality::ROASTS];
    if !roasts.contains(&table) {
        return None;
    }
    let worth = |row: &Row| row.hold.secs() * BEEF.rate(row.celsius().max(row.from()).degrees());
    let timed = || table.rows.iter().filter(|row| row.seen == Seen::Read && !row.hold.is_zero());
    let hardest = timed().max_by(|a, b| worth(a).total_cmp(&worth(b)))?;
    let easiest = timed().map(worth).min_by(f64::total_cmp)?;
    // from the middle of the rows to its edge; what is told of the beef table where that is more
    let misfit = ((worth(hardest) / easiest).log10() / 2.0).max(BEEF.misfit);
    Some((Kinetics { misfit, ..BEEF }, *hardest))
}

fn chart_food(food: FoodClass) -> Option<ChartFood> {
    match food {
        FoodClass::RedMeatWhole => Some(ChartFood::RedMeat),
        FoodClass::PorkWhole => Some(ChartFood::Pork),
        FoodClass::MincedMeat => Some(ChartFood::Minced),
        FoodClass::Poultry => Some(ChartFood::Poultry),
        FoodClass::EggDish => Some(ChartFood::EggDish),
        FoodClass::Fish => Some(ChartFood::Fish),
        FoodClass::Casserole => Some(ChartFood::Casserole),
        FoodClass::HamReheat => Some(ChartFood::HamReheat),
        FoodClass::NoMinimum => None,
    }
}

/// The device that stood for a probe in a trial.
fn device_of<'a>(noted: &[&'a Equipment], probe: &ProbeName) -> &'a str {
    let name = calibration::equipment_name(probe);
    noted.iter().rev().find(|it| it.name == name).and_then(|it| it.device.as_deref()).unwrap_or_default()
}

#[allow(clippy::wildcard_enum_match_arm, reason = "one kind of fact is about a move")]
fn moves(entries: &[Entry]) -> BTreeSet<(StepId, RunTime)> {
    let moved = in_force(entries).into_iter().filter_map(|entry| match &entry.fact {
        Fact::ProbeMoved { step } => Some((step.clone(), entry.at)),
        _ => None,
    });
    moved.collect()
}

/// What corrects the readings, in words.
pub(super) fn corrected_words(calibrated: &Calibrated) -> String {
    let Calibrated { by, age } = calibrated;
    let zero = Celsius::whole(0);
    let never = by.is_due(Some(Span::ZERO));
    if never {
        let within = (zero - by.lower_bound(zero, Some(Span::ZERO))).degrees();
        return format!("as read, a probe without a check on file: within {within:.1} °C");
    }
    let baths = if by.is_two_point() { "ice and boiling water" } else { "one point" };
    let age = match age.map(|age| age.whole_secs() / 86_400) {
        Some(0) => "of that day".to_owned(),
        Some(1) => "of the day before".to_owned(),
        Some(days) => format!("of {days} days before"),
        None => "of an unknown day".to_owned(),
    };
    let at = Celsius::whole(60);
    format!("corrected by {:+.1} °C at 60 °C, after a check in {baths} {age}", by.offset(at).degrees())
}

#[cfg(test)]
mod tests;
