//! The trained models: several nets whose answers are averaged.

use alloc::vec::Vec;

use libm::sqrt;
use thiserror::Error;

use crate::{
    net::Net,
    packed::{self, Mark, PackedError},
    signs::SIGNS,
};

/// Nets for the time left and for the rise after a pull.
#[derive(Clone, Debug)]
pub struct Models {
    /// The seed they were trained with.
    pub seed: u64,
    left: Vec<Net>,
    rise: Vec<Net>,
}

/// Why models are not taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum ModelsError {
    /// The frame is wrong.
    #[error(transparent)]
    Packed(#[from] PackedError),
    /// A net does not fit.
    #[error(
        "expected nets of {SIGNS} inputs and 4 or 6 outputs, found {inputs} and {outputs}; train the models anew with the heat command"
    )]
    Shape {
        /// Inputs found.
        inputs: usize,
        /// Outputs found.
        outputs: usize,
    },
    /// The content ends within a net.
    #[error("expected {expected} nets, found {found} and then the end; copy the file again")]
    CutOff {
        /// Nets promised.
        expected: u32,
        /// Nets found.
        found: u32,
    },
}

impl Models {
    /// Outputs of a net for the time left: 10, 50 and 90 % in the learnt measure, and the log odds of coming there.
    pub const LEFT: usize = 4;
    /// Outputs of a net for the rise: 10, 50 and 90 % of the rise in tens of °C, then of the root of time to the peak
    /// over time so far.
    pub const RISE: usize = 6;

    /// Opens packed models.
    pub fn open(bytes: &[u8]) -> Result<Self, ModelsError> {
        let packed = packed::open(Mark::Models, bytes)?;
        let mut models = Self { seed: packed.seed, left: Vec::new(), rise: Vec::new() };
        let mut rest = packed.content;
        for found in 0..packed.count {
            let (net, after) = Net::unpack(rest).ok_or(ModelsError::CutOff { expected: packed.count, found })?;
            rest = after;
            let (inputs, outputs) = (net.middle.len(), net.layers.last().map_or(0, |layer| layer.outputs));
            match (inputs, outputs) {
                (SIGNS, Self::LEFT) => models.left.push(net),
                (n, Self::RISE) if n == SIGNS + 1 => models.rise.push(net),
                _ => return Err(ModelsError::Shape { inputs, outputs }),
            }
        }
        Ok(models)
    }

    /// Packs nets that were trained from a seed.
    pub fn pack(seed: u64, nets: &[Net]) -> Vec<u8> {
        let mut content = Vec::new();
        for net in nets {
            net.pack(&mut content);
        }
        packed::pack(Mark::Models, seed, nets.len() as u32, &content)
    }

    /// The mean answer for the time left, quantiles in order; nothing without nets.
    pub fn left(&self, signs: &[f32]) -> Option<[f64; Self::LEFT]> {
        self.left_and_doubt(signs).map(|(out, _)| out)
    }

    /// The same, with how far the nets' middles lie apart (their standard deviation): much where a course is like none
    /// that they were trained on.
    pub fn left_and_doubt(&self, signs: &[f32]) -> Option<([f64; Self::LEFT], f64)> {
        let (mut out, doubt) = together(&self.left, signs)?;
        out[..3].sort_unstable_by(f64::total_cmp);
        Some((out, doubt))
    }

    /// The mean answer for the rise, quantiles in order; nothing without nets.
    pub fn rise(&self, signs: &[f32]) -> Option<[f64; Self::RISE]> {
        self.rise_and_doubt(signs).map(|(out, _)| out)
    }

    /// The same, with how far the nets' middles of the rise lie apart.
    pub fn rise_and_doubt(&self, signs: &[f32]) -> Option<([f64; Self::RISE], f64)> {
        let (mut out, doubt) = together(&self.rise, signs)?;
        out[..3].sort_unstable_by(f64::total_cmp);
        out[3..].sort_unstable_by(f64::total_cmp);
        Some((out, doubt))
    }
}

/// The mean of the nets' answers, and the standard deviation of their second one, the middle.
fn together<const N: usize>(nets: &[Net], signs: &[f32]) -> Option<([f64; N], f64)> {
    let (mut sum, mut squares) = ([0.0; N], 0.0);
    let n = nets.len() as f64;
    for net in nets {
        let out = net.run(signs);
        for (sum, out) in sum.iter_mut().zip(&out) {
            *sum += f64::from(*out) / n;
        }
        let middle = out.get(1).copied().map_or(0.0, f64::from);
        squares += middle * middle / n;
    }
    let doubt = sqrt((squares - sum[1] * sum[1]).max(0.0));
    (!nets.is_empty()).then_some((sum, doubt))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use alloc::vec;

    use super::*;
    use crate::net::Layer;

    /// Answers these numbers whatever it is asked.
    fn steady(bias: [f32; Models::LEFT]) -> Net {
        let layer = Layer {
            inputs: SIGNS,
            outputs: Models::LEFT,
            weights: vec![0.0; SIGNS * Models::LEFT],
            bias: bias.to_vec(),
        };
        Net { middle: vec![0.0; SIGNS], scale: vec![1.0; SIGNS], layers: vec![layer] }
    }

    #[test]
    fn nets_that_disagree_say_so() {
        let doubt = |one: f32, other: f32| {
            let nets = [one, other].map(|middle| steady([0.25, middle, 1.0, 3.0]));
            let models = Models::open(&Models::pack(7, &nets)).unwrap();
            let (out, doubt) = models.left_and_doubt(&[0.0; SIGNS]).unwrap();
            assert_eq!(models.left(&[0.0; SIGNS]), Some(out));
            assert_eq!(out[1], f64::from(one + other) / 2.0);
            doubt
        };
        assert!(doubt(0.5, 0.5) < 1e-9);
        assert!((doubt(0.5, 0.75) - 0.125).abs() < 1e-6);
    }
}
