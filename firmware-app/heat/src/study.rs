//! Trains the models on lessons of simulated cooks, and measures them on cooks they have not seen.

use std::{collections::BTreeMap, fmt::Write as _};

use doneness::{
    carry_over::UNIT,
    models::Models,
    signs::{SIGNS, unmeasure},
};

use crate::{
    family::Family,
    lessons::{self, Taught},
    packing::each,
    training::{Output, Plan, Table, train},
};

/// What to train.
#[derive(Clone, Debug, PartialEq)]
pub struct Study {
    /// Seed of the cooks, and of the nets.
    pub seed: u64,
    /// Cooks to learn from.
    pub cooks: u64,
    /// Times through all lessons.
    pub rounds: usize,
    /// Nets for the time left; half as many for the rise.
    pub nets: usize,
    /// Families left out, to see how the others carry over to them.
    pub without: Vec<Family>,
}

/// The two hidden widths for the time left, and for the rise.
const LEFT: [usize; 2] = [96, 64];
const RISE: [usize; 2] = [64, 40];

impl Study {
    /// Trains and packs the models.
    pub fn run(&self, tell: &mut dyn FnMut(&str)) -> Vec<u8> {
        let taught = each(self.cooks, |item| lessons::taught(self.seed, item));
        let (left, rise) = self.tables(&taught);
        drop(taught);
        tell(&format!("{} looks, {} pulls", left.rows(), rise.rows()));
        let quantiles = |of: usize, weight: f32| [0.1, 0.5, 0.9].map(|share| Output::Quantile { of, share, weight });
        let left_outputs: Vec<Output> = quantiles(0, 1.0).into_iter().chain([Output::Odds { of: 1 }]).collect();
        let rise_outputs: Vec<Output> = quantiles(0, 1.0).into_iter().chain(quantiles(1, 0.2)).collect();
        let lefts = self.nets as u64;
        let nets = each(lefts + lefts.div_ceil(2), |net| {
            let seed = self.seed.wrapping_mul(1000).wrapping_add(net);
            let plan = Plan { rounds: self.rounds, batch: 128, rate: 2e-3, widths: LEFT, seed };
            if net < lefts {
                train(&left, &left_outputs, &plan, |_, _| {})
            } else {
                train(&rise, &rise_outputs, &Plan { widths: RISE, ..plan }, |_, _| {})
            }
        });
        Models::pack(self.seed, &nets)
    }

    fn tables(&self, taught: &[Taught]) -> (Table, Table) {
        let mut left = Table { inputs: SIGNS, wanted: 2, ..Table::default() };
        let mut rise = Table { inputs: SIGNS + 1, wanted: 2, ..Table::default() };
        for taught in taught {
            for lesson in taught.lessons.iter().filter(|lesson| !self.without.contains(&lesson.family)) {
                left.x.extend(lesson.signs);
                left.y.push(lesson.left.unwrap_or(f32::NAN));
                left.y.push(if lesson.left.is_some() { 1.0 } else { 0.0 });
            }
            for lesson in taught.rests.iter().filter(|lesson| !self.without.contains(&lesson.family)) {
                rise.x.extend(lesson.signs);
                rise.y.extend([lesson.rise / UNIT as f32, lesson.after]);
            }
        }
        (left, rise)
    }
}

/// An error, whether the truth was inside the interval, and whether beyond it on the bad side.
type Score = (f64, bool, bool);

/// Errors of models on the lessons of another seed, by family and by the share of the cook that is over.
pub fn report(models: &Models, seed: u64, cooks: u64) -> String {
    let taught = each(cooks, |item| lessons::taught(seed, item));
    let mut by: BTreeMap<(String, usize), Vec<Score>> = BTreeMap::new();
    let mut rises: BTreeMap<String, Vec<Score>> = BTreeMap::new();
    for taught in &taught {
        for lesson in &taught.lessons {
            let (Some(out), Some(left)) = (models.left(&lesson.signs), lesson.left) else { continue };
            let [low, median, high] = [out[0], out[1], out[2]].map(unmeasure);
            let truth = unmeasure(f64::from(left));
            let share = 1.0 / (1.0 + truth);
            let part = PARTS.iter().position(|(top, _)| share < *top).unwrap_or(PARTS.len() - 1);
            let score = ((median - truth).abs() * share * 100.0, truth >= low && truth <= high, truth > high);
            for name in [format!("{:?}", lesson.family), "all".into()] {
                by.entry((name, part)).or_default().push(score);
            }
        }
        for lesson in &taught.rests {
            let Some(out) = models.rise(&lesson.signs) else { continue };
            let truth = f64::from(lesson.rise);
            let [low, median, high] = [out[0], out[1], out[2]].map(|x| x * UNIT);
            let score = ((median - truth).abs(), truth >= low && truth <= high, truth < low);
            for name in [format!("{:?}", lesson.family), "all".into()] {
                rises.entry(name).or_default().push(score);
            }
        }
    }
    let mut text =
        String::from("family, share over: looks, error of the whole time in % (median, 90 %), inside, late\n");
    for ((family, part), scores) in &mut by {
        line(&mut text, &format!("{family:10} {}", PARTS[*part].1), scores);
    }
    text.push_str("family, rise: pulls, error in °C (median, 90 %), inside, below\n");
    for (family, scores) in &mut rises {
        line(&mut text, &format!("{family:10} rise"), scores);
    }
    text
}

const PARTS: [(f64, &str); 5] =
    [(0.2, "to 20 %"), (0.32, "20 to 32"), (0.6, "32 to 60"), (0.85, "60 to 85"), (2.0, "from 85")];

fn line(text: &mut String, name: &str, scores: &mut [Score]) {
    scores.sort_by(|a, b| a.0.total_cmp(&b.0));
    let n = scores.len();
    let at = |share: f64| scores[((n - 1) as f64 * share) as usize].0;
    let share = |pick: fn(&Score) -> bool| 100.0 * scores.iter().filter(|s| pick(s)).count() as f64 / n as f64;
    let _ =
        writeln!(text, "{name:20} {n:6} {:5.1} {:5.1} {:4.0} {:4.0}", at(0.5), at(0.9), share(|s| s.1), share(|s| s.2));
}
