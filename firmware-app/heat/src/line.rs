//! Conduction along one line of cells: walls, rods and balls, and each line of a body in two directions.

use crate::{
    food::Food,
    surface::{Facing, Surface},
};

/// How the area grows along a line: the power of the distance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Metric {
    /// A wall.
    Flat,
    /// A rod, by its radius.
    Round,
    /// A ball, by its radius.
    Ball,
}

/// Cells of equal width from one face to another.
#[derive(Clone, Debug)]
pub struct Line {
    /// Distance of each face from the axis or middle, m; one more than cells.
    pub(crate) faces: Vec<f64>,
    /// Area of each face for one unit of the body.
    area: Vec<f64>,
    /// Volume of each cell.
    pub(crate) volume: Vec<f64>,
    width: f64,
}

/// Room to work in, so that a step needs no memory of its own.
#[derive(Clone, Debug, Default)]
pub struct Room {
    k: Vec<f64>,
    below: Vec<f64>,
    diagonal: Vec<f64>,
    above: Vec<f64>,
    right: Vec<f64>,
}

/// One end of a line.
pub struct End<'a> {
    /// The surface there; none for an axis or a plane of symmetry.
    pub surface: Option<(&'a mut Surface, &'a Facing)>,
}

impl Line {
    /// Cells between two distances from the axis.
    pub fn new(metric: Metric, from: f64, to: f64, cells: usize) -> Self {
        let width = (to - from) / cells as f64;
        let faces: Vec<f64> = (0..=cells).map(|i| from + width * i as f64).collect();
        let area = faces
            .iter()
            .map(|r| match metric {
                Metric::Flat => 1.0,
                Metric::Round => *r,
                Metric::Ball => r * r,
            })
            .collect();
        let volume = faces
            .windows(2)
            .map(|pair| {
                let (a, b) = (pair[0], pair[1]);
                match metric {
                    Metric::Flat => b - a,
                    Metric::Round => (b * b - a * a) / 2.0,
                    Metric::Ball => (b * b * b - a * a * a) / 3.0,
                }
            })
            .collect();
        Self { faces, area, volume, width }
    }

    /// How many cells.
    pub fn cells(&self) -> usize {
        self.volume.len()
    }

    /// The temperature at a distance from the axis, between the middles of cells; even about an axis at nought.
    pub fn at(&self, temperatures: &[f64], distance: f64) -> f64 {
        let n = self.cells();
        let place = (distance - self.faces[0]) / self.width - 0.5;
        if place <= 0.0 {
            let (a, b) = (temperatures[0], temperatures[1]);
            // a parabola with its top on the first face
            let (x0, x1) = (0.25, 2.25);
            let x = (place + 0.5) * (place + 0.5);
            return a + (b - a) * (x - x0) / (x1 - x0);
        }
        let i = (place as usize).min(n - 2);
        temperatures[i] + (temperatures[i + 1] - temperatures[i]) * (place - i as f64)
    }

    /// Advances by `dt` seconds: implicit in temperature, then stored heat is moved by the fluxes found, so that none is
    /// lost in melting or boiling. `source` is heat made in each cell, W/m³.
    pub fn step(
        &self,
        food: &Food,
        temperatures: &mut [f64],
        dt: f64,
        mut ends: [End<'_>; 2],
        source: Option<&[f64]>,
        room: &mut Room,
    ) {
        let n = self.cells();
        room.fit(n);
        for (k, t) in room.k.iter_mut().zip(temperatures.iter()) {
            *k = food.conductivity(*t);
        }
        for i in 0..n {
            room.diagonal[i] = food.capacity(temperatures[i]) * self.volume[i] / dt;
            room.right[i] = source.map_or(0.0, |made| made[i] * self.volume[i]);
            room.below[i] = 0.0;
            room.above[i] = 0.0;
        }
        for i in 0..n - 1 {
            // two half cells in a row
            let g = self.area[i + 1] * 2.0 * room.k[i] * room.k[i + 1] / (room.k[i] + room.k[i + 1]) / self.width;
            room.above[i] = -g;
            room.below[i + 1] = -g;
        }
        let mut edge = [None, None];
        for (side, end) in ends.iter_mut().enumerate() {
            let Some((surface, facing)) = &mut end.surface else { continue };
            let (cell, face) = if side == 0 { (0, 0) } else { (n - 1, n) };
            let conductance = 2.0 * room.k[cell] / self.width;
            let flux = surface.flux(facing, temperatures[cell], conductance);
            surface.dry(facing, dt);
            edge[side] = Some((cell, self.area[face] * flux.q, self.area[face] * flux.slope));
        }
        // unknowns are the changes of temperature: the right side is the balance at the start of the step
        for i in 0..n {
            let mut g = 0.0;
            if i > 0 {
                g -= room.below[i];
                room.right[i] -= room.below[i] * (temperatures[i - 1] - temperatures[i]);
            }
            if i + 1 < n {
                g -= room.above[i];
                room.right[i] -= room.above[i] * (temperatures[i + 1] - temperatures[i]);
            }
            room.diagonal[i] += g;
        }
        for (cell, q, slope) in edge.iter().flatten() {
            room.diagonal[*cell] -= slope;
            room.right[*cell] += q;
        }
        room.solve(n);
        // the heat each cell takes up is its capacity at the start times the change; latent heat is set right by the table
        for (t, change) in temperatures.iter_mut().zip(&room.right) {
            let capacity = food.capacity(*t);
            *t = food.temperature(food.heat(*t) + capacity * change, *t);
        }
    }
}

impl Room {
    fn fit(&mut self, n: usize) {
        for list in [&mut self.k, &mut self.below, &mut self.diagonal, &mut self.above, &mut self.right] {
            list.resize(n, 0.0);
        }
    }

    /// Thomas's elimination; the answer is left in `right`.
    fn solve(&mut self, n: usize) {
        for i in 1..n {
            let m = self.below[i] / self.diagonal[i - 1];
            self.diagonal[i] -= m * self.above[i - 1];
            self.right[i] -= m * self.right[i - 1];
        }
        self.right[n - 1] /= self.diagonal[n - 1];
        for i in (0..n - 1).rev() {
            self.right[i] = (self.right[i] - self.above[i] * self.right[i + 1]) / self.diagonal[i];
        }
    }
}
