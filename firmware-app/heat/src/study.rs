//! Trains the models on lessons of simulated cooks, and measures them on cooks they have not seen.

use std::{collections::BTreeMap, fmt::Write as _};

use doneness::{
    Mix,
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
const LEFT: [usize; 2] = [112, 72];
const RISE: [usize; 2] = [64, 40];

/// The shares of the ends for the time left. They are a little within 10 and 90 %, since the estimator moves them out
/// again by how far the nets lie apart.
const ENDS: [f32; 3] = [0.12, 0.5, 0.88];

impl Study {
    /// Trains and packs the models.
    ///
    /// Each net leaves out another part of the cooks, one in as many as there are nets, so that the nets differ most
    /// where the cooks do not say what is right.
    pub fn run(&self, tell: &mut dyn FnMut(&str)) -> Vec<u8> {
        let taught = each(self.cooks, |item| lessons::taught(self.seed, item));
        let quantiles = |of: usize, shares: [f32; 3], weight: f32| {
            shares.map(|share| Output::Quantile { of, share, weight, by: None })
        };
        let left_outputs: Vec<Output> = quantiles(0, ENDS, 1.0).into_iter().chain([Output::Odds { of: 1 }]).collect();
        let [_, middle, high] = quantiles(0, [0.1, 0.5, 0.9], 1.0);
        let low = Output::Quantile { of: 0, share: 0.1, weight: 1.0, by: Some(2) };
        let rise_outputs: Vec<Output> =
            [low, middle, high].into_iter().chain(quantiles(1, [0.1, 0.5, 0.9], 0.2)).collect();
        let lefts = self.nets as u64;
        let rises = lefts.div_ceil(2).max(2);
        let looks: usize = taught.iter().map(|taught| taught.lessons.len()).sum();
        let pulls: usize = taught.iter().map(|taught| taught.rests.len()).sum();
        tell(&format!("{looks} looks, {pulls} pulls"));
        let nets = each(lefts + rises, |net| {
            let seed = self.seed.wrapping_mul(1000).wrapping_add(net);
            let plan = Plan { rounds: self.rounds, batch: 128, rate: 2e-3, widths: LEFT, seed };
            if net < lefts {
                train(&self.looks(&taught, net, lefts), &left_outputs, &plan, |_, _| {})
            } else {
                let table = self.pulls(&taught, net - lefts, rises);
                train(&table, &rise_outputs, &Plan { widths: RISE, ..plan }, |_, _| {})
            }
        });
        Models::pack(self.seed, &nets)
    }

    fn looks(&self, taught: &[Taught], net: u64, nets: u64) -> Table {
        let mut table = Table { inputs: SIGNS, wanted: 2, ..Table::default() };
        for taught in part(taught, net, nets) {
            for lesson in taught.lessons.iter().filter(|lesson| !self.without.contains(&lesson.family)) {
                table.x.extend(lesson.signs);
                table.y.push(lesson.left.unwrap_or(f32::NAN));
                table.y.push(if lesson.left.is_some() { 1.0 } else { 0.0 });
            }
        }
        table
    }

    fn pulls(&self, taught: &[Taught], net: u64, nets: u64) -> Table {
        let mut table = Table { inputs: SIGNS + 1, wanted: 3, ..Table::default() };
        for taught in part(taught, net, nets) {
            for lesson in taught.rests.iter().filter(|lesson| !self.without.contains(&lesson.family)) {
                table.x.extend(lesson.signs);
                table.y.extend([lesson.rise / UNIT as f32, lesson.after, low_side(lesson.family)]);
            }
        }
        table
    }
}

/// All cooks but every `nets`th, beginning with another one for each net; all of them for a net alone.
fn part(taught: &[Taught], net: u64, nets: u64) -> impl Iterator<Item = &Taught> {
    (0u64..).zip(taught).filter(move |(item, _)| nets < 2 || item % nets != net).map(|(_, taught)| taught)
}

/// How much a pull counts for the low end of the rise. What rises least can often not be told from its course, a covered
/// piece least of all; it counts more, so that the low end holds for it too and not only on the average of all food.
const fn low_side(family: Family) -> f32 {
    match family {
        Family::Covered => 12.0,
        Family::OvenSteps | Family::Frozen | Family::Pan => 1.5,
        Family::Oven
        | Family::OvenShort
        | Family::LowOven
        | Family::Doors
        | Family::Hollow
        | Family::SearFirst
        | Family::Microwave
        | Family::Bath => 1.0,
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
            let (Some((out, doubt)), Some(left)) = (models.left_and_doubt(&lesson.signs), lesson.left) else {
                continue;
            };
            let doubt = doubt * Mix::USUAL.doubt;
            let [low, median, high] = [out[0] - doubt, out[1], out[2] + doubt].map(unmeasure);
            let truth = unmeasure(f64::from(left));
            let share = 1.0 / (1.0 + truth);
            let part = PARTS.iter().position(|(top, _)| share < *top).unwrap_or(PARTS.len() - 1);
            let score = ((median - truth).abs() * share * 100.0, truth >= low && truth <= high, truth > high);
            for name in [format!("{:?}", lesson.family), "all".into()] {
                by.entry((name, part)).or_default().push(score);
            }
        }
        for lesson in &taught.rests {
            let Some((out, doubt)) = models.rise_and_doubt(&lesson.signs) else { continue };
            let doubt = doubt * Mix::USUAL.doubt;
            let truth = f64::from(lesson.rise);
            let [low, median, high] = [out[0] - doubt, out[1], out[2] + doubt].map(|x| x * UNIT);
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_net_leaves_out_another_part_and_a_net_alone_none() {
        let taught = vec![Taught::default(); 10];
        let kept: Vec<usize> = (0..4).map(|net| part(&taught, net, 4).count()).collect();
        assert_eq!(kept, [7, 7, 8, 8]);
        assert_eq!(part(&taught, 0, 1).count(), 10);
    }
}
