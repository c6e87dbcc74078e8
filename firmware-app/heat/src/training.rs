//! Trains the small models: quantiles by the tilted absolute error, chances by the logarithmic one, steps after Adam.
//!
//! One thread, one order of sums: the same lessons and seed give the same bits.

use doneness::net::{FARTHEST, Layer, Net, bend};

use crate::chance::Chance;

/// What one output learns.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Output {
    /// This quantile of one of the wanted numbers, with a weight of its error.
    Quantile {
        /// Which wanted number.
        of: usize,
        /// The share below it.
        share: f32,
        /// Weight of its error.
        weight: f32,
        /// Which wanted number weighs each row as well, if any.
        by: Option<usize>,
    },
    /// The logarithm of the odds that one of the wanted numbers is 1 rather than 0.
    Odds {
        /// Which wanted number.
        of: usize,
    },
}

/// Rows of inputs, and of wanted numbers; one that is not a number teaches nothing.
#[derive(Clone, Debug, Default)]
pub struct Table {
    /// Inputs a row.
    pub inputs: usize,
    /// Wanted numbers a row.
    pub wanted: usize,
    /// Rows of inputs.
    pub x: Vec<f32>,
    /// Rows of wanted numbers.
    pub y: Vec<f32>,
}

/// How to train.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plan {
    /// Times through all rows.
    pub rounds: usize,
    /// Rows a step.
    pub batch: usize,
    /// The largest step.
    pub rate: f32,
    /// Width of the inner layers.
    pub widths: [usize; 2],
    /// Seed of the first weights and of the order.
    pub seed: u64,
}

impl Table {
    /// How many rows.
    pub fn rows(&self) -> usize {
        self.x.len().checked_div(self.inputs).unwrap_or(0)
    }

    fn row(&self, i: usize) -> (&[f32], &[f32]) {
        (&self.x[i * self.inputs..(i + 1) * self.inputs], &self.y[i * self.wanted..(i + 1) * self.wanted])
    }
}

/// Momentum and size of one list of weights.
struct Slow {
    m: Vec<f32>,
    v: Vec<f32>,
}

impl Slow {
    fn new(n: usize) -> Self {
        Self { m: vec![0.0; n], v: vec![0.0; n] }
    }

    fn step(&mut self, weights: &mut [f32], slope: &mut [f32], rate: f32, c1: f32, c2: f32, shrink: f32) {
        for (((w, g), m), v) in weights.iter_mut().zip(slope.iter_mut()).zip(&mut self.m).zip(&mut self.v) {
            *m = 0.9 * *m + 0.1 * *g;
            *v = 0.999 * *v + 0.001 * *g * *g;
            *w -= rate * (*m * c1 / ((*v * c2).sqrt() + 1e-8) + shrink * *w);
            *g = 0.0;
        }
    }
}

/// Trains a model on a table; `tell` is given the round and the mean error in it.
pub fn train(table: &Table, outputs: &[Output], plan: &Plan, mut tell: impl FnMut(usize, f64)) -> Net {
    let mut chance = Chance::of(plan.seed, 77);
    let mut net = fresh(table, outputs, plan, &mut chance);
    let mut slopes: Vec<(Vec<f32>, Vec<f32>)> =
        net.layers.iter().map(|layer| (vec![0.0; layer.weights.len()], vec![0.0; layer.outputs])).collect();
    let mut slow: Vec<(Slow, Slow)> =
        net.layers.iter().map(|layer| (Slow::new(layer.weights.len()), Slow::new(layer.outputs))).collect();
    let mut order: Vec<u32> = (0..table.rows() as u32).collect();
    let steps = (table.rows() / plan.batch).max(1) * plan.rounds;
    let mut work = Work::new(&net);
    let mut step = 0;
    let (mut power1, mut power2) = (1.0f32, 1.0f32);
    for round in 0..plan.rounds {
        for i in (1..order.len()).rev() {
            order.swap(i, chance.below(i + 1));
        }
        let mut error = 0.0;
        for batch in order.chunks_exact(plan.batch) {
            for i in batch {
                let (x, y) = table.row(*i as usize);
                error += work.learn(&net, x, y, outputs, &mut slopes);
            }
            step += 1;
            power1 *= 0.9;
            power2 *= 0.999;
            let share = step as f64 / steps as f64;
            // a short rise, then down along half a cosine
            let rate = (share / 0.03).min(1.0) * 0.5 * (1.0 + libm::cos(core::f64::consts::PI * share));
            let rate = plan.rate * rate as f32;
            let scale = 1.0 / plan.batch as f32;
            for ((layer, (gw, gb)), (sw, sb)) in net.layers.iter_mut().zip(&mut slopes).zip(&mut slow) {
                for g in gw.iter_mut().chain(gb.iter_mut()) {
                    *g *= scale;
                }
                sw.step(&mut layer.weights, gw, rate, 1.0 / (1.0 - power1), 1.0 / (1.0 - power2), 3e-3);
                sb.step(&mut layer.bias, gb, rate, 1.0 / (1.0 - power1), 1.0 / (1.0 - power2), 0.0);
            }
        }
        tell(round, error / table.rows() as f64);
    }
    net
}

fn fresh(table: &Table, outputs: &[Output], plan: &Plan, chance: &mut Chance) -> Net {
    let n = table.rows() as f64;
    let mut middle = vec![0.0; table.inputs];
    let mut scale = vec![0.0; table.inputs];
    for j in 0..table.inputs {
        let column = || table.x.iter().skip(j).step_by(table.inputs).map(|x| f64::from(*x));
        let mean = column().sum::<f64>() / n;
        let spread = column().map(|x| (x - mean) * (x - mean)).sum::<f64>() / n;
        middle[j] = mean as f32;
        scale[j] = (1.0 / libm::sqrt(spread + 1e-8)) as f32;
    }
    let widths = [table.inputs, plan.widths[0], plan.widths[1], outputs.len()];
    let layers = widths
        .windows(2)
        .map(|pair| {
            let spread = libm::sqrt(1.5 / pair[0] as f64);
            let weights = (0..pair[0] * pair[1]).map(|_| (spread * chance.normal()) as f32).collect();
            Layer { inputs: pair[0], outputs: pair[1], weights, bias: vec![0.0; pair[1]] }
        })
        .collect();
    Net { middle, scale, layers }
}

/// Sums of one row on their way forth and back.
struct Work {
    /// What goes into each layer, and out of the last.
    acts: Vec<Vec<f32>>,
    /// Sums before the bend.
    sums: Vec<Vec<f32>>,
    back: Vec<Vec<f32>>,
}

impl Work {
    fn new(net: &Net) -> Self {
        let widths = || net.layers.iter().map(|layer| vec![0.0; layer.outputs]);
        let first = vec![0.0; net.middle.len()];
        Self {
            acts: core::iter::once(first.clone()).chain(widths()).collect(),
            sums: widths().collect(),
            back: core::iter::once(first).chain(widths()).collect(),
        }
    }

    fn learn(
        &mut self,
        net: &Net,
        x: &[f32],
        y: &[f32],
        outputs: &[Output],
        slopes: &mut [(Vec<f32>, Vec<f32>)],
    ) -> f64 {
        for (((act, x), middle), scale) in self.acts[0].iter_mut().zip(x).zip(&net.middle).zip(&net.scale) {
            *act = ((x - middle) * scale).clamp(-FARTHEST, FARTHEST);
        }
        let last = net.layers.len() - 1;
        for (n, layer) in net.layers.iter().enumerate() {
            let (before, after) = self.acts.split_at_mut(n + 1);
            let sums = &mut self.sums[n];
            sums.copy_from_slice(&layer.bias);
            for (x, row) in before[n].iter().zip(layer.weights.chunks_exact(layer.outputs)) {
                for (sum, w) in sums.iter_mut().zip(row) {
                    *sum += x * w;
                }
            }
            for (act, sum) in after[0].iter_mut().zip(sums.iter()) {
                *act = if n < last { bend(*sum) } else { *sum };
            }
        }
        let mut error = 0.0;
        for ((back, out), output) in self.back[last + 1].iter_mut().zip(&self.acts[last + 1]).zip(outputs) {
            let (e, slope) = output.error(*out, y);
            error += f64::from(e);
            *back = slope;
        }
        for n in (0..=last).rev() {
            let layer = &net.layers[n];
            let (below, above) = self.back.split_at_mut(n + 1);
            let above = &mut above[0];
            if n < last {
                for (g, sum) in above.iter_mut().zip(&self.sums[n]) {
                    let q = 1.0 + sum.abs();
                    *g *= 0.5 + sum * (0.5 + 0.5 * q) / (q * q);
                }
            }
            let (gw, gb) = &mut slopes[n];
            for (g, a) in gb.iter_mut().zip(above.iter()) {
                *g += a;
            }
            let inputs = self.acts[n].iter().zip(&mut below[n]);
            let rows = gw.chunks_exact_mut(layer.outputs).zip(layer.weights.chunks_exact(layer.outputs));
            for ((x, back), (grow, wrow)) in inputs.zip(rows) {
                for (g, a) in grow.iter_mut().zip(above.iter()) {
                    *g += x * a;
                }
                if n > 0 {
                    // eight sums side by side, always in the same order
                    let mut lanes = [0.0f32; 8];
                    let whole = wrow.len() / 8 * 8;
                    for (w, a) in wrow[..whole].chunks_exact(8).zip(above.chunks_exact(8)) {
                        for i in 0..8 {
                            lanes[i] += w[i] * a[i];
                        }
                    }
                    let mut sum: f32 = lanes.iter().sum();
                    for (w, a) in wrow[whole..].iter().zip(&above[whole..]) {
                        sum += w * a;
                    }
                    *back = sum;
                }
            }
        }
        error
    }
}

impl Output {
    /// The error of an answer and its slope.
    fn error(self, answer: f32, y: &[f32]) -> (f32, f32) {
        match self {
            Self::Quantile { of, share, weight, by } => {
                let d = y[of] - answer;
                let weight = by.map_or(weight, |by| weight * y[by]);
                if d.is_nan() {
                    (0.0, 0.0)
                } else if d > 0.0 {
                    (weight * share * d, -weight * share)
                } else {
                    (weight * (share - 1.0) * d, weight * (1.0 - share))
                }
            }
            Self::Odds { of } => {
                if y[of].is_nan() {
                    return (0.0, 0.0);
                }
                let chance = 1.0 / (1.0 + libm::expf(-answer));
                let right = if y[of] > 0.5 { chance } else { 1.0 - chance };
                (-libm::logf(right.max(1e-6)) * 0.1, (chance - y[of]) * 0.1)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_that_count_more_draw_a_quantile_to_them() {
        let mut low = Vec::new();
        for heavy in [1.0f32, 9.0] {
            let mut table = Table { inputs: 1, wanted: 2, ..Table::default() };
            // one row in twenty lies at 0, the others at 1; which it is cannot be seen
            for i in 0..2000 {
                table.x.push((i % 7) as f32);
                table.y.extend(if i % 20 == 0 { [0.0, heavy] } else { [1.0, 1.0] });
            }
            let outputs = [Output::Quantile { of: 0, share: 0.1, weight: 1.0, by: Some(1) }];
            let plan = Plan { rounds: 30, batch: 50, rate: 5e-3, widths: [8, 8], seed: 1 };
            low.push(train(&table, &outputs, &plan, |_, _| {}).run(&[3.0])[0]);
        }
        assert!(low[0] > 0.8 && low[1] < 0.2, "{low:?}");
    }

    #[test]
    fn quantiles_of_a_known_spread_are_learnt_and_repeat_to_the_bit() {
        let mut table = Table { inputs: 2, wanted: 1, ..Table::default() };
        let mut chance = Chance::of(5, 0);
        for _ in 0..4000 {
            let (a, b) = (chance.between(-1.0, 1.0), chance.between(-1.0, 1.0));
            table.x.extend([a as f32, b as f32]);
            table.y.push((a * b + (0.5 + 0.3 * a) * chance.normal()) as f32);
        }
        let outputs = [0.1, 0.5, 0.9].map(|share| Output::Quantile { of: 0, share, weight: 1.0, by: None });
        let plan = Plan { rounds: 40, batch: 50, rate: 5e-3, widths: [16, 16], seed: 1 };
        let net = train(&table, &outputs, &plan, |_, _| {});
        assert_eq!(net, train(&table, &outputs, &plan, |_, _| {}));
        for (a, b) in [(-0.5f32, 0.5f32), (0.5, 0.5), (0.7, -0.7)] {
            let out = net.run(&[a, b]);
            let spread = 0.5 + 0.3 * a;
            for (answer, z) in out.iter().zip([-1.2816, 0.0, 1.2816]) {
                let right = a * b + spread * z;
                assert!((answer - right).abs() < 0.2, "at {a} {b}: {answer} for {right}");
            }
        }
    }
}
