//! Heat moving through a piece of food in one dimension.
//!
//! Finite volumes, second order in space. In time the middle rule (Crank and Nicolson, second order), and as much more
//! implicit as is needed that no cell can swing: thin pieces that meet a hot pan stay smooth. Checked against the exact
//! series for a wall, a long cylinder and a sphere.

use serde::{Deserialize, Serialize};

/// The shape of a piece, with the length that heat has to cross.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "form", rename_all = "snake_case", deny_unknown_fields)]
pub enum Shape {
    /// Flat, heated from below and above.
    Slab {
        /// From the lower to the upper face.
        thickness_mm: f64,
    },
    /// Long and round, heated all round.
    Cylinder {
        /// From the axis to the surface.
        radius_mm: f64,
    },
    /// A ball.
    Sphere {
        /// From the centre to the surface.
        radius_mm: f64,
    },
}

/// What a piece is made of.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Material {
    /// Conductivity, in W/(m K).
    pub conductivity: f64,
    /// Density, in kg/m³.
    pub density: f64,
    /// Heat capacity, in J/(kg K).
    pub heat_capacity: f64,
}

/// What lies against a face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Film {
    /// How well heat passes, in W/(m² K).
    pub conductance: f64,
    /// How warm it is, in °C.
    pub round_c: f64,
    /// Heat that comes to the face besides, in W/m²: negative for evaporation.
    pub extra: f64,
}

/// The temperatures inside a piece, from the lower face or the centre outwards.
#[derive(Clone, Debug)]
pub struct Conduction {
    material: Material,
    flat: bool,
    cell_m: f64,
    /// The area between a cell and the one before, for one unit of the outer area; one more than there are cells.
    areas: Vec<f64>,
    volumes: Vec<f64>,
    cells: Vec<f64>,
    // kept between steps so that a step allocates nothing
    rest: Vec<f64>,
    ratio: Vec<f64>,
}

/// Heat that came in during a step, in J/m² of each face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatIn {
    /// Through the lower face; nothing for round shapes.
    pub below: f64,
    /// Through the upper face, or the whole surface of a round shape.
    pub above: f64,
}

const FLAT_CELLS: usize = 60;
const ROUND_CELLS: usize = 48;

impl Conduction {
    /// A piece that has the same temperature everywhere.
    pub fn new(shape: Shape, material: Material, start_c: f64) -> Self {
        let (length_mm, power, count) = match shape {
            Shape::Slab { thickness_mm } => (thickness_mm, 0, FLAT_CELLS),
            Shape::Cylinder { radius_mm } => (radius_mm, 1, ROUND_CELLS),
            Shape::Sphere { radius_mm } => (radius_mm, 2, ROUND_CELLS),
        };
        let length = length_mm / 1000.0;
        let cell_m = length / count as f64;
        let to_power = |share: f64, power: u32| (0..power).fold(1.0, |product, _| product * share);
        let share = |face: usize| face as f64 / count as f64;
        let areas = (0..=count).map(|face| to_power(share(face), power));
        let volumes = (0..count).map(|cell| {
            let enclosed = |face| to_power(share(face), power + 1) / f64::from(power + 1);
            (enclosed(cell + 1) - enclosed(cell)) * length
        });
        Self {
            material,
            flat: power == 0,
            cell_m,
            areas: areas.collect(),
            volumes: volumes.collect(),
            cells: vec![start_c; count],
            rest: vec![0.0; count],
            ratio: vec![0.0; count],
        }
    }

    /// Moves on by a step; `below` counts for a slab only, and `source` gives each cell's own heat in W/m³ by its depth
    /// under the nearest face, in metres.
    pub fn step(&mut self, secs: f64, below: Film, above: Film, source: impl Fn(f64) -> f64) -> HeatIn {
        let count = self.cells.len();
        let inner = self.material.conductivity / self.cell_m;
        let below_passes = if self.flat { self.face_conductance(below) } else { 0.0 };
        let above_passes = self.face_conductance(above);
        let (first, last) = (self.cells[0], self.cells[count - 1]);
        // the share of the step that goes by the temperatures at its end: half, and more where cells are thin
        let capacity = self.material.density * self.material.heat_capacity;
        let late = (1.0 - capacity * self.cell_m / (6.0 * secs * inner)).max(0.5);
        let early = 1.0 - late;
        for cell in 0..count {
            let here = self.cells[cell];
            let store = capacity * self.volumes[cell] / secs;
            let (west, west_c) = match cell {
                0 => (below_passes, below.round_c),
                _ => (inner * self.areas[cell], self.cells[cell - 1]),
            };
            let (east, east_c) = if cell + 1 == count {
                (above_passes, above.round_c)
            } else {
                (inner * self.areas[cell + 1], self.cells[cell + 1])
            };
            let mut heat = store * here
                + early * (west * (west_c - here) + east * (east_c - here))
                + source(self.depth(cell)) * self.volumes[cell];
            // what the known neighbours outside give in the late share of the step
            if cell == 0 {
                heat += late * west * west_c;
                if self.flat {
                    heat += below.extra * self.share_of_extra(below);
                }
            }
            if cell + 1 == count {
                heat += late * east * east_c + above.extra * self.share_of_extra(above);
            }
            // elimination from the inside out
            let west_inner = if cell == 0 { 0.0 } else { late * west };
            let east_inner = if cell + 1 == count { 0.0 } else { late * east };
            let (ratio_before, rest_before) = match cell {
                0 => (0.0, 0.0),
                _ => (self.ratio[cell - 1], self.rest[cell - 1]),
            };
            let pivot = store + late * (west + east) - west_inner * ratio_before;
            self.ratio[cell] = east_inner / pivot;
            self.rest[cell] = (heat + west_inner * rest_before) / pivot;
        }
        let mut outer = 0.0;
        for cell in (0..count).rev() {
            outer = self.rest[cell] + self.ratio[cell] * outer;
            self.cells[cell] = outer;
        }
        // what is taken from the surface itself comes in part from the film, not from the food
        let through = |passes: f64, film: Film, before: f64, after: f64| {
            let from_film = film.extra * (1.0 - self.share_of_extra(film));
            secs * (passes * (film.round_c - (early * before + late * after)) - from_film)
        };
        HeatIn {
            below: if self.flat { through(below_passes, below, first, self.cells[0]) } else { 0.0 },
            above: through(above_passes, above, last, self.cells[count - 1]),
        }
    }

    /// The temperature at the middle of a slab, on the axis, or at the centre.
    pub fn centre(&self) -> f64 {
        if self.flat {
            return self.at_mm(0.0);
        }
        // the profile is level at the centre: a parabola through the two innermost cells
        (9.0 * self.cells[0] - self.cells[1]) / 8.0
    }

    /// The temperature this far from the centre: upwards in a slab, outwards in a round shape; at most at the surface.
    pub fn at_mm(&self, offset_mm: f64) -> f64 {
        let from_start = if self.flat {
            offset_mm / 1000.0 + 0.5 * self.cell_m * self.cells.len() as f64
        } else if offset_mm == 0.0 {
            return self.centre();
        } else {
            offset_mm.abs() / 1000.0
        };
        let last = self.cells.len() - 1;
        let place = (from_start / self.cell_m - 0.5).clamp(0.0, last as f64);
        let cell = (place as usize).min(last - 1);
        let share = place - cell as f64;
        self.cells[cell] * (1.0 - share) + self.cells[cell + 1] * share
    }

    /// The temperature of the upper or outer surface against this film.
    pub fn surface_above(&self, film: Film) -> f64 {
        self.surface(self.cells[self.cells.len() - 1], film)
    }

    /// The temperature of the lower surface against this film; of a slab only.
    pub fn surface_below(&self, film: Film) -> f64 {
        self.surface(self.cells[0], film)
    }

    /// The outermost temperature inside, with the conductance from there to the surface, in W/(m² K).
    pub fn under_surface(&self) -> (f64, f64) {
        (self.cells[self.cells.len() - 1], self.to_surface())
    }

    /// The mean by volume.
    pub fn mean(&self) -> f64 {
        let heat: f64 = self.cells.iter().zip(&self.volumes).map(|(c, v)| c * v).sum();
        heat / self.volumes.iter().sum::<f64>()
    }

    /// The mean by volume of a quantity that depends on the depth under the nearest face, in metres.
    pub fn mean_by_depth(&self, of: impl Fn(f64) -> f64) -> f64 {
        let sum: f64 = (0..self.cells.len()).map(|cell| of(self.depth(cell)) * self.volumes[cell]).sum();
        sum / self.volumes.iter().sum::<f64>()
    }

    /// Holds what lies deeper than this at most at the boiling point, and gives what boils off, in J for each m² of the
    /// outer area.
    pub fn boil(&mut self, deeper_than_m: f64, boiling_c: f64) -> f64 {
        let capacity = self.material.density * self.material.heat_capacity;
        let mut boiled = 0.0;
        for cell in 0..self.cells.len() {
            if self.depth(cell) > deeper_than_m && self.cells[cell] > boiling_c {
                boiled += (self.cells[cell] - boiling_c) * capacity * self.volumes[cell];
                self.cells[cell] = boiling_c;
            }
        }
        boiled
    }

    /// Turns a slab over; a round shape stays as it is.
    pub fn flip(&mut self) {
        if self.flat {
            self.cells.reverse();
        }
    }

    /// Evens the temperature out, as stirring or cutting up does.
    pub fn even_out(&mut self) {
        let mean = self.mean();
        self.cells.fill(mean);
    }

    fn depth(&self, cell: usize) -> f64 {
        let cells = self.cells.len() as f64;
        let from_start = cell as f64 + 0.5;
        let to_end = cells - from_start;
        self.cell_m * if self.flat { from_start.min(to_end) } else { to_end }
    }

    fn surface(&self, cell_c: f64, film: Film) -> f64 {
        let inner = self.to_surface();
        (film.conductance * film.round_c + inner * cell_c + film.extra) / (film.conductance + inner)
    }

    /// From what lies round to the middle of the outermost cell.
    fn face_conductance(&self, film: Film) -> f64 {
        film.conductance * self.share_of_extra(film)
    }

    /// How much of the heat that comes to the surface besides reaches the food, the rest passing into the film.
    fn share_of_extra(&self, film: Film) -> f64 {
        let inner = self.to_surface();
        inner / (film.conductance + inner)
    }

    fn to_surface(&self) -> f64 {
        2.0 * self.material.conductivity / self.cell_m
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const MEAT: Material = Material { conductivity: 0.48, density: 1050.0, heat_capacity: 3500.0 };
    const LENGTH_M: f64 = 0.03;
    const START_C: f64 = 5.0;
    const STEP_C: f64 = 145.0;

    #[derive(Clone, Copy, Debug)]
    enum Form {
        Wall,
        Cylinder,
        Sphere,
    }

    impl Form {
        fn shape(self) -> Shape {
            match self {
                Self::Wall => Shape::Slab { thickness_mm: 2000.0 * LENGTH_M },
                Self::Cylinder => Shape::Cylinder { radius_mm: 1000.0 * LENGTH_M },
                Self::Sphere => Shape::Sphere { radius_mm: 1000.0 * LENGTH_M },
            }
        }

        /// Zero at the roots of the series.
        fn characteristic(self, z: f64, biot: f64) -> f64 {
            match self {
                Self::Wall => z * libm::sin(z) - biot * libm::cos(z),
                Self::Cylinder => z * libm::j1(z) - biot * libm::j0(z),
                Self::Sphere => libm::sin(z) * (1.0 - biot) - z * libm::cos(z),
            }
        }

        fn coefficient(self, z: f64) -> f64 {
            match self {
                Self::Wall => 4.0 * libm::sin(z) / (2.0 * z + libm::sin(2.0 * z)),
                Self::Cylinder => {
                    let (j0, j1) = (libm::j0(z), libm::j1(z));
                    2.0 / z * j1 / (j0 * j0 + j1 * j1)
                }
                Self::Sphere => 4.0 * (libm::sin(z) - z * libm::cos(z)) / (2.0 * z - libm::sin(2.0 * z)),
            }
        }

        fn roots(self, biot: f64, how_many: usize) -> Vec<f64> {
            let mut roots = Vec::new();
            let (mut low, grain) = (1e-6, 1e-3);
            while roots.len() < how_many {
                let f = |z| self.characteristic(z, biot);
                if f(low) * f(low + grain) < 0.0 {
                    let (mut a, mut b) = (low, low + grain);
                    for _ in 0..60 {
                        let middle = 0.5 * (a + b);
                        if f(a) * f(middle) <= 0.0 {
                            b = middle;
                        } else {
                            a = middle;
                        }
                    }
                    roots.push(0.5 * (a + b));
                }
                low += grain;
            }
            roots
        }
    }

    /// The rows of the table: Biot number, then first root and coefficient of wall, cylinder and sphere.
    fn table() -> Vec<[f64; 7]> {
        let text = include_str!("../../tests/data/one_term_coefficients.csv");
        let rows = text.lines().filter(|line| !line.starts_with(['#', 'B']));
        rows.map(|row| {
            let numbers: Vec<f64> = row.split(',').map(|n| n.parse().unwrap()).collect();
            numbers.try_into().unwrap()
        })
        .collect()
    }

    /// Largest error of the centre in °C against a series, from one Fourier number to 1.5, at 1 s a step.
    fn worst_error(form: Form, biot: f64, from_fourier: f64, series: &[(f64, f64)]) -> f64 {
        let diffusivity = MEAT.conductivity / (MEAT.density * MEAT.heat_capacity);
        let film = Film { conductance: biot * MEAT.conductivity / LENGTH_M, round_c: START_C + STEP_C, extra: 0.0 };
        let mut piece = Conduction::new(form.shape(), MEAT, START_C);
        let mut worst: f64 = 0.0;
        for second in 1.. {
            piece.step(1.0, film, film, |_| 0.0);
            let fourier = diffusivity * f64::from(second) / (LENGTH_M * LENGTH_M);
            if fourier > 1.5 {
                return worst;
            }
            if fourier >= from_fourier {
                let left: f64 = series.iter().map(|(z, c)| c * libm::exp(-z * z * fourier)).sum();
                let exact = START_C + STEP_C * (1.0 - left);
                worst = worst.max((piece.centre() - exact).abs());
            }
        }
        worst
    }

    fn forms(row: [f64; 7]) -> [(Form, f64, f64, f64); 3] {
        let [biot, wall_z, wall_c, cylinder_z, cylinder_c, sphere_z, sphere_c] = row;
        [
            (Form::Wall, biot, wall_z, wall_c),
            (Form::Cylinder, biot, cylinder_z, cylinder_c),
            (Form::Sphere, biot, sphere_z, sphere_c),
        ]
    }

    #[test]
    fn the_centre_follows_the_exact_series() {
        let rows = table();
        assert_eq!(rows.len(), 5);
        for (form, biot, z, c) in rows.into_iter().flat_map(forms) {
            let roots = form.roots(biot, 8);
            let series: Vec<(f64, f64)> = roots.iter().map(|z| (*z, form.coefficient(*z))).collect();
            assert!((series[0].0 - z).abs() < 2e-8 && (series[0].1 - c).abs() < 2e-8, "{form:?} {biot}");
            let worst = worst_error(form, biot, 0.05, &series);
            assert!(worst < 0.05, "{form:?} at Bi {biot}: {worst} °C");
        }
    }

    #[test]
    fn the_centre_follows_the_one_term_table_where_one_term_is_enough() {
        // at Fo 0.2 the second term of a wall still holds most of a degree of the 145; from 0.65 on less than 0.02
        for (form, biot, z, c) in table().into_iter().flat_map(forms) {
            let worst = worst_error(form, biot, 0.65, &[(z, c)]);
            assert!(worst < 0.1, "{form:?} at Bi {biot}: {worst} °C");
        }
    }

    #[test]
    fn no_heat_is_lost_or_made() {
        let hot = Film { conductance: 40.0, round_c: 180.0, extra: -500.0 };
        let cold = Film { conductance: 9.0, round_c: 20.0, extra: 0.0 };
        for form in [Form::Wall, Form::Cylinder, Form::Sphere] {
            let mut piece = Conduction::new(form.shape(), MEAT, START_C);
            let mut taken = 0.0;
            for _ in 0..600 {
                let heat = piece.step(1.0, cold, hot, |_| 2000.0);
                taken += heat.below + heat.above - 500.0;
            }
            let volume: f64 = piece.volumes.iter().sum();
            taken += 2000.0 * volume * 600.0;
            let stored = MEAT.density * MEAT.heat_capacity * volume * (piece.mean() - START_C);
            assert!((stored - taken).abs() < 1e-6 * stored, "{form:?}: {stored} J/m² stored, {taken} taken");
        }
    }

    #[test]
    fn a_flipped_slab_has_its_hot_side_up() {
        let pan = Film { conductance: 250.0, round_c: 200.0, extra: 0.0 };
        let air = Film { conductance: 9.0, round_c: 21.0, extra: 0.0 };
        let mut piece = Conduction::new(Shape::Slab { thickness_mm: 25.0 }, MEAT, START_C);
        for _ in 0..120 {
            piece.step(1.0, pan, air, |_| 0.0);
        }
        let (below, above) = (piece.at_mm(-12.0), piece.at_mm(12.0));
        assert!(below > above + 50.0);
        piece.flip();
        assert!((piece.at_mm(-12.0) - above).abs() < 1e-9 && (piece.at_mm(12.0) - below).abs() < 1e-9);
        let mean = piece.mean();
        piece.even_out();
        assert!((piece.centre() - mean).abs() < 1e-9);
    }
}
