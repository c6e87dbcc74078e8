//! A small trained model: layers of sums with a soft bend between them.
//!
//! Numbers are 32-bit and summed in one order, so the answer has the same bits on every machine.

use alloc::{vec, vec::Vec};

/// One layer: a row of weights for each input, then one number more for each output.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// Inputs.
    pub inputs: usize,
    /// Outputs.
    pub outputs: usize,
    /// Row by row of the inputs.
    pub weights: Vec<f32>,
    /// One an output.
    pub bias: Vec<f32>,
}

/// Layers, with the middle and spread of each input in what it was trained on.
#[derive(Clone, Debug, PartialEq)]
pub struct Net {
    /// Taken off each input.
    pub middle: Vec<f32>,
    /// Each input is multiplied by this.
    pub scale: Vec<f32>,
    /// First to last.
    pub layers: Vec<Layer>,
}

/// Bends a sum: nought far below, the sum itself far above.
pub fn bend(x: f32) -> f32 {
    0.5 * x * (1.0 + x / (1.0 + x.abs()))
}

/// An input is held within this many spreads of the middle: beyond it the model knows nothing.
pub const FARTHEST: f32 = 5.0;

impl Net {
    /// The outputs for these inputs, of which there are as many as it was trained on.
    pub fn run(&self, inputs: &[f32]) -> Vec<f32> {
        let mut now: Vec<f32> = inputs
            .iter()
            .zip(&self.middle)
            .zip(&self.scale)
            .map(|((x, middle), scale)| ((x - middle) * scale).clamp(-FARTHEST, FARTHEST))
            .collect();
        for (n, layer) in self.layers.iter().enumerate() {
            let mut next = layer.bias.clone();
            for (x, row) in now.iter().zip(layer.weights.chunks_exact(layer.outputs)) {
                for (sum, w) in next.iter_mut().zip(row) {
                    *sum += x * w;
                }
            }
            if n + 1 < self.layers.len() {
                for sum in &mut next {
                    *sum = bend(*sum);
                }
            }
            now = next;
        }
        now
    }

    /// Reads a model from the front of packed numbers and gives the rest; nothing if there are too few.
    pub fn unpack(bytes: &[u8]) -> Option<(Self, &[u8])> {
        let mut from = Words { bytes };
        let layers = from.count()?;
        let inputs = from.count()?;
        let middle = from.floats(inputs)?;
        let scale = from.floats(inputs)?;
        let mut net = Self { middle, scale, layers: vec![] };
        let mut width = inputs;
        for _ in 0..layers {
            let outputs = from.count()?;
            let weights = from.floats(width.checked_mul(outputs)?)?;
            let bias = from.floats(outputs)?;
            net.layers.push(Layer { inputs: width, outputs, weights, bias });
            width = outputs;
        }
        Some((net, from.bytes))
    }

    /// Packs a model behind what is there.
    pub fn pack(&self, into: &mut Vec<u8>) {
        let count = |into: &mut Vec<u8>, n: usize| into.extend_from_slice(&(n as u32).to_le_bytes());
        let floats = |into: &mut Vec<u8>, list: &[f32]| {
            for x in list {
                into.extend_from_slice(&x.to_le_bytes());
            }
        };
        count(into, self.layers.len());
        count(into, self.middle.len());
        floats(into, &self.middle);
        floats(into, &self.scale);
        for layer in &self.layers {
            count(into, layer.outputs);
            floats(into, &layer.weights);
            floats(into, &layer.bias);
        }
    }
}

struct Words<'a> {
    bytes: &'a [u8],
}

impl Words<'_> {
    fn word(&mut self) -> Option<[u8; 4]> {
        let (word, rest) = self.bytes.split_first_chunk::<4>()?;
        self.bytes = rest;
        Some(*word)
    }

    fn count(&mut self) -> Option<usize> {
        let n = u32::from_le_bytes(self.word()?) as usize;
        // nothing here is larger; a wrong file must not ask for memory
        (n <= 4096).then_some(n)
    }

    fn floats(&mut self, n: usize) -> Option<Vec<f32>> {
        if self.bytes.len() < n.checked_mul(4)? {
            return None;
        }
        (0..n).map(|_| self.word().map(f32::from_le_bytes)).collect()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn small() -> Net {
        Net {
            middle: vec![1.0, 0.0],
            scale: vec![1.0, 2.0],
            layers: vec![
                Layer { inputs: 2, outputs: 2, weights: vec![1.0, 0.0, 0.0, 1.0], bias: vec![0.0, 0.5] },
                Layer { inputs: 2, outputs: 1, weights: vec![1.0, 1.0], bias: vec![0.25] },
            ],
        }
    }

    #[test]
    fn two_layers_add_up_as_by_hand() {
        // inputs become 1 and 2, the first layer 1 and 2.5, bent 0.75 and 2.142857
        let out = small().run(&[2.0, 1.0]);
        let by_hand = 0.75 + 0.5 * 2.5 * (1.0 + 2.5 / 3.5) + 0.25;
        assert!((out[0] - by_hand).abs() < 1e-6, "{out:?}");
    }

    #[test]
    fn a_packed_model_comes_back_and_a_short_one_does_not() {
        let mut bytes = vec![];
        small().pack(&mut bytes);
        let (net, rest) = Net::unpack(&bytes).unwrap();
        assert_eq!((net, rest.len()), (small(), 0));
        assert!(Net::unpack(&bytes[..bytes.len() - 1]).is_none());
    }
}
