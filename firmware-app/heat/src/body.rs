//! A piece of food as cells: one direction (wall, rod, ball) or two (short cylinder, bar).

use crate::{
    food::Food,
    line::{End, Line, Metric, Room},
    surface::{Facing, Surface},
};

/// The outline of a piece of food. Lengths are in metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// One direction, from the middle (or a bone or cavity) to the outer face.
    Even {
        /// How the area grows.
        metric: Metric,
        /// Where the food begins: 0, or the radius of a bone or cavity.
        from: f64,
        /// The outer face.
        to: f64,
    },
    /// A flat piece between two different faces: a pan below, air above.
    Flat {
        /// From face to face.
        thickness: f64,
    },
    /// A disc or a bar: round or flat across, with two ends along.
    Short {
        /// Round or flat across.
        metric: Metric,
        /// Half the breadth.
        across: f64,
        /// The height, from the lower face to the upper.
        height: f64,
    },
}

/// What each side of a piece faces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Around {
    /// Outer or upper faces.
    pub outer: Facing,
    /// The lower face, where there is one.
    pub lower: Facing,
    /// The wall of a cavity or bone, where there is one.
    pub inner: Facing,
}

/// A piece of food with its temperatures.
#[derive(Clone, Debug)]
pub struct Body {
    shape: Shape,
    across: Line,
    /// Only where there are two directions.
    along: Option<Line>,
    /// Row by row along, across first.
    t: Vec<f64>,
    /// Outer faces: one, or one a row.
    outer: Vec<Surface>,
    /// Upper faces, one a column.
    upper: Vec<Surface>,
    /// Lower or inner faces, one or one a column.
    lower: Vec<Surface>,
    room: Room,
    column: Vec<f64>,
    made: Vec<f64>,
}

impl Body {
    /// A piece at one temperature; `cells` across and, where there are two directions, as many along.
    pub fn new(shape: Shape, cells: usize, start: f64, skin: Surface) -> Self {
        let (across, along) = match shape {
            Shape::Even { metric, from, to } => (Line::new(metric, from, to, cells), None),
            Shape::Flat { thickness } => (Line::new(Metric::Flat, 0.0, thickness, cells), None),
            Shape::Short { metric, across, height } => {
                (Line::new(metric, 0.0, across, cells), Some(Line::new(Metric::Flat, 0.0, height, cells)))
            }
        };
        let rows = along.as_ref().map_or(1, Line::cells);
        let columns = if along.is_some() { cells } else { 1 };
        Self {
            shape,
            t: vec![start; cells * rows],
            outer: vec![skin; rows],
            upper: vec![skin; columns],
            lower: vec![skin; columns],
            across,
            along,
            room: Room::default(),
            column: Vec::new(),
            made: Vec::new(),
        }
    }

    /// Turns a flat piece over.
    pub fn turn(&mut self) {
        match self.shape {
            Shape::Flat { .. } => {
                self.t.reverse();
                core::mem::swap(&mut self.outer, &mut self.lower);
            }
            Shape::Short { .. } => {
                let n = self.across.cells();
                let rows = self.t.len() / n;
                for row in 0..rows / 2 {
                    for i in 0..n {
                        self.t.swap(row * n + i, (rows - 1 - row) * n + i);
                    }
                }
                self.outer.reverse();
                core::mem::swap(&mut self.upper, &mut self.lower);
            }
            Shape::Even { .. } => {}
        }
    }

    /// Advances by `dt` seconds. `source` gives heat made at a depth below the outer face, W/m³.
    pub fn step(&mut self, food: &Food, dt: f64, around: &Around, source: Option<&dyn Fn(f64) -> f64>) {
        let n = self.across.cells();
        let outermost = self.across.faces[n];
        self.made.clear();
        if let Some(source) = source {
            let depth = |i: usize| outermost - 0.5 * (self.across.faces[i] + self.across.faces[i + 1]);
            self.made.extend((0..n).map(|i| source(depth(i))));
        }
        let made = source.map(|_| self.made.as_slice());
        match (&self.shape, &self.along) {
            (Shape::Even { from, .. }, _) => {
                let inner = if *from > 0.0 { self.lower.first_mut().map(|s| (s, &around.inner)) } else { None };
                let ends = [End { surface: inner }, End { surface: Some((&mut self.outer[0], &around.outer)) }];
                self.across.step(food, &mut self.t, dt, ends, made, &mut self.room);
            }
            (Shape::Flat { .. }, _) | (Shape::Short { .. }, None) => {
                let ends = [
                    End { surface: Some((&mut self.lower[0], &around.lower)) },
                    End { surface: Some((&mut self.outer[0], &around.outer)) },
                ];
                self.across.step(food, &mut self.t, dt, ends, made, &mut self.room);
            }
            (Shape::Short { .. }, Some(along)) => {
                for (row, surface) in self.t.chunks_mut(n).zip(&mut self.outer) {
                    let ends = [End { surface: None }, End { surface: Some((surface, &around.outer)) }];
                    self.across.step(food, row, dt, ends, made, &mut self.room);
                }
                let rows = along.cells();
                for i in 0..n {
                    self.column.clear();
                    self.column.extend((0..rows).map(|row| self.t[row * n + i]));
                    let ends = [
                        End { surface: Some((&mut self.lower[i], &around.lower)) },
                        End { surface: Some((&mut self.upper[i], &around.outer)) },
                    ];
                    along.step(food, &mut self.column, dt, ends, None, &mut self.room);
                    for row in 0..rows {
                        self.t[row * n + i] = self.column[row];
                    }
                }
            }
        }
    }

    /// The temperature at a place: shares of the way from the inner to the outer face, and from the lower to the upper.
    pub fn at(&self, across: f64, along: f64) -> f64 {
        let n = self.across.cells();
        let (from, to) = (self.across.faces[0], self.across.faces[n]);
        let Some(line) = &self.along else {
            let x = from + across * (to - from);
            return match self.shape {
                // no axis inside a piece with two faces: plain interpolation
                Shape::Flat { .. } => between(&self.t, across),
                Shape::Even { from, .. } if from > 0.0 => between(&self.t, across),
                Shape::Even { .. } | Shape::Short { .. } => self.across.at(&self.t, x),
            };
        };
        let column: Vec<f64> =
            (0..line.cells()).map(|row| self.across.at(&self.t[row * n..(row + 1) * n], across * to)).collect();
        between(&column, along)
    }

    /// The faces: the outer or upper one, and the inner or lower one, in the middle of each.
    pub fn skin(&self) -> (f64, f64) {
        (self.outer[self.outer.len() / 2].face(), self.lower[0].face())
    }

    /// The coldest cell.
    pub fn coldest(&self) -> f64 {
        self.t.iter().copied().fold(f64::INFINITY, f64::min)
    }

    /// The mean over the volume of a piece of one direction; for checks.
    pub fn heat(&self, food: &Food) -> f64 {
        let n = self.across.cells();
        self.t.iter().enumerate().map(|(i, t)| food.heat(*t) * self.across.volume[i % n]).sum()
    }
}

/// Between the middles of equal cells, flat beyond the outermost.
fn between(cells: &[f64], share: f64) -> f64 {
    let last = cells.len() - 1;
    let place = (share * cells.len() as f64 - 0.5).clamp(0.0, last as f64);
    let i = (place as usize).min(last - 1);
    cells[i] + (cells[i + 1] - cells[i]) * (place - i as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{food::Makeup, series};

    const LEAN: Makeup = Makeup { water: 0.74, protein: 0.21, fat: 0.04, carbohydrate: 0.0, ash: 0.01, gas: 0.0 };

    #[test]
    fn a_short_cylinder_is_the_product_of_a_rod_and_a_wall() {
        let (k, capacity, radius, height) = (0.5, 3.5e6, 0.03, 0.05);
        let food = Food::constant(k, capacity);
        let shape = Shape::Short { metric: Metric::Round, across: radius, height };
        let mut body = Body::new(shape, 60, 5.0, Surface::new(0.0, 1.0, 5.0));
        let facing = Facing::fluid(150.0, 50.0);
        let around = Around { outer: facing, lower: facing, inner: Facing::NOTHING };
        let alpha = k / capacity;
        let mut worst: f64 = 0.0;
        for step in 1..=12_000 {
            body.step(&food, 0.2, &around, None);
            if step % 500 == 0 && step > 1500 {
                let t = f64::from(step) * 0.2;
                let rod = series::middle(Metric::Round, 50.0 * radius / k, alpha * t / (radius * radius));
                let wall = series::middle(Metric::Flat, 50.0 * height / 2.0 / k, alpha * t / (height * height / 4.0));
                let exact = 150.0 - 145.0 * rod * wall;
                worst = worst.max((body.at(0.0, 0.5) - exact).abs());
            }
        }
        assert!(worst > 0.0 && worst < 0.05, "off by {worst}");
    }

    /// Seconds until the middle of a ball of this mass is at 70 °C, from 5 °C, at water's density.
    fn ball(mass: f64, facing: Facing, watts: f64) -> f64 {
        let volume = mass / 1000.0;
        let radius = libm::cbrt(volume * 3.0 / (4.0 * core::f64::consts::PI));
        let food = Food::constant(0.5, 3.5e6);
        let shape = Shape::Even { metric: Metric::Ball, from: 0.0, to: radius };
        let mut body = Body::new(shape, 40, 5.0, Surface::new(0.0, 1.0, 5.0));
        let around = Around { outer: facing, lower: facing, inner: Facing::NOTHING };
        let dt = 0.25;
        let mut before = body.at(0.0, 0.0);
        for step in 1..400_000 {
            body.step(&food, dt, &around, (watts > 0.0).then_some(&|_| watts / volume));
            let here = body.at(0.0, 0.0);
            if here >= 70.0 {
                return dt * (f64::from(step) - (here - 70.0) / (here - before));
            }
            before = here;
        }
        f64::INFINITY
    }

    // scaling_laws.csv: by conduction in one shape time goes with mass^(2/3) (the face kept at one temperature), in a
    // microwave of one power with mass
    #[test]
    fn time_goes_with_mass_as_the_laws_say() {
        let fluid = Facing::fluid(150.0, 1e6);
        let (oven, microwave) = (ball(0.5, fluid, 0.0), ball(0.5, Facing::NOTHING, 700.0));
        let mut rows = 0;
        for row in csv::Reader::from_reader(include_bytes!("../tests/data/scaling_laws.csv").as_slice()).records() {
            let row = row.expect("a row of the table");
            let [mass, conduction, power] = [0, 1, 2].map(|i| row[i].parse::<f64>().expect("a number"));
            let by_conduction = ball(0.5 * mass, fluid, 0.0) / oven;
            assert!((by_conduction / conduction - 1.0).abs() < 2e-3, "{mass}: {by_conduction} for {conduction}");
            let by_power = ball(0.5 * mass, Facing::NOTHING, 700.0) / microwave;
            assert!((by_power / power - 1.0).abs() < 1e-6, "{mass}: {by_power} for {power}");
            rows += 1;
        }
        assert_eq!(rows, 6);
    }

    // common practice, no source: one large piece takes 8 to 12 minutes, two of half its mass 5 to 7
    #[test]
    fn half_the_mass_takes_the_time_that_cooks_know() {
        let fluid = Facing::fluid(150.0, 1e6);
        let ratio = ball(0.1, fluid, 0.0) / ball(0.2, fluid, 0.0);
        assert!((5.0..=7.0).contains(&(10.0 * ratio)), "{ratio}");
    }

    // microwave_power.csv: a maker's service manual, 1000 g of water by 10 K (P = 4187 dT/t); its printed times are whole
    // seconds
    #[test]
    fn heat_made_inside_warms_a_load_of_water_as_the_power_says() {
        let water = Food::constant(0.6, 4.187e6);
        let (volume, mut rows) = (1e-3, 0);
        let radius = libm::cbrt(volume * 3.0 / (4.0 * core::f64::consts::PI));
        for row in csv::Reader::from_reader(include_bytes!("../tests/data/microwave_power.csv").as_slice()).records() {
            let row = row.expect("a row of the table");
            let [watts, printed, computed] = [0, 1, 2].map(|i| row[i].parse::<f64>().expect("a number"));
            let shape = Shape::Even { metric: Metric::Ball, from: 0.0, to: radius };
            let mut body = Body::new(shape, 20, 10.0, Surface::new(0.0, 1.0, 10.0));
            let none = Around { outer: Facing::NOTHING, lower: Facing::NOTHING, inner: Facing::NOTHING };
            for _ in 0..1000 {
                body.step(&water, computed / 1000.0, &none, Some(&|_| watts / volume));
            }
            assert!((body.at(0.0, 0.0) - 20.0).abs() < 2e-3, "{watts} W: {}", body.at(0.0, 0.0));
            assert!((computed - printed).abs() <= 0.5, "{watts} W: {computed} s, printed {printed} s");
            rows += 1;
        }
        assert_eq!(rows, 11);
    }

    #[test]
    fn an_insulated_piece_keeps_its_heat_through_thawing() {
        let food = Food::new(&LEAN);
        let mut body = Body::new(Shape::Flat { thickness: 0.03 }, 20, -12.0, Surface::new(0.5, 0.3, -12.0));
        let warm =
            Around { outer: Facing::fluid(60.0, 40.0), lower: Facing::fluid(60.0, 40.0), inner: Facing::NOTHING };
        for _ in 0..900 {
            body.step(&food, 1.0, &warm, None);
        }
        let before = body.heat(&food);
        let none = Around { outer: Facing::NOTHING, lower: Facing::NOTHING, inner: Facing::NOTHING };
        for _ in 0..3000 {
            body.step(&food, 2.0, &none, None);
        }
        let after = body.heat(&food);
        let melted = food.heat(0.0) - food.heat(-12.0);
        assert!((after - before).abs() < 0.02 * melted * 0.03, "{before} became {after}");
    }

    #[test]
    fn turning_twice_is_not_turning() {
        let food = Food::new(&LEAN);
        let mut body = Body::new(Shape::Flat { thickness: 0.02 }, 20, 5.0, Surface::new(0.5, 0.3, 5.0));
        let around = Around {
            outer: Facing::fluid(25.0, 8.0),
            lower: Facing { metal: Some((170.0, 300.0)), ..Facing::NOTHING },
            inner: Facing::NOTHING,
        };
        for _ in 0..120 {
            body.step(&food, 1.0, &around, None);
        }
        let before = body.t.clone();
        body.turn();
        assert_ne!(body.t, before);
        body.turn();
        assert_eq!(body.t, before);
    }
}
