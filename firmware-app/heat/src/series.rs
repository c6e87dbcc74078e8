//! Exact series for a wall, a rod and a ball in a fluid, to check the cells against (any text on conduction).

use crate::line::Metric;

/// The part of the first difference left in the middle, after a Fourier number, at a Biot number; by sixty terms.
pub fn middle(metric: Metric, biot: f64, fourier: f64) -> f64 {
    (0..60).map(|n| term(metric, biot, n)).map(|(zeta, c)| c * libm::exp(-zeta * zeta * fourier)).sum()
}

/// Eigenvalue and coefficient of one term, counted from nought.
pub fn term(metric: Metric, biot: f64, n: usize) -> (f64, f64) {
    let pi = core::f64::consts::PI;
    let n = n as f64;
    match metric {
        Metric::Flat => {
            let zeta = root(|z| z * libm::sin(z) - biot * libm::cos(z), n * pi, n * pi + pi / 2.0);
            (zeta, 4.0 * libm::sin(zeta) / (2.0 * zeta + libm::sin(2.0 * zeta)))
        }
        Metric::Round => {
            // zeros of the Bessel functions bracket each root
            let low = if n == 0.0 { 0.0 } else { zero(libm::j1, (n + 0.25) * pi) };
            let high = zero(libm::j0, (n + 0.75) * pi);
            let zeta = root(|z| z * libm::j1(z) - biot * libm::j0(z), low, high);
            let (a, b) = (libm::j0(zeta), libm::j1(zeta));
            (zeta, 2.0 * b / (zeta * (a * a + b * b)))
        }
        Metric::Ball => {
            let zeta = root(|z| libm::sin(z) * (1.0 - biot) - z * libm::cos(z), n * pi + 1e-9, (n + 1.0) * pi);
            let c = 4.0 * (libm::sin(zeta) - zeta * libm::cos(zeta)) / (2.0 * zeta - libm::sin(2.0 * zeta));
            (zeta, c)
        }
    }
}

fn zero(f: impl Fn(f64) -> f64, near: f64) -> f64 {
    root(f, near - 0.8, near + 0.8)
}

/// Halves a bracket until it is as narrow as numbers allow.
fn root(f: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    let (mut a, mut b) = (low, high);
    let rising = f(b) > f(a);
    for _ in 0..200 {
        let m = 0.5 * (a + b);
        if (f(m) > 0.0) == rising { b = m } else { a = m }
    }
    0.5 * (a + b)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{
        food::Food,
        line::{End, Line, Room},
        surface::{Facing, Surface},
    };

    /// `one_term_coefficients.csv`: first eigenvalue and coefficient by Biot number, computed to eight digits.
    const ONE_TERM: &str = include_str!("../tests/data/one_term_coefficients.csv");

    /// `worked_examples.csv`: inputs, the values computed with more digits, and those printed, from memory.
    const EXAMPLES: &str = include_str!("../tests/data/worked_examples.csv");

    fn rows(text: &str) -> Vec<csv::StringRecord> {
        csv::Reader::from_reader(text.as_bytes()).records().map(Result::unwrap).collect()
    }

    fn number(cell: &str) -> f64 {
        cell.parse().unwrap()
    }

    const METRICS: [(Metric, usize); 3] = [(Metric::Flat, 1), (Metric::Round, 3), (Metric::Ball, 5)];

    // one_term_coefficients.csv: columns computed to eight digits; columns printed, from memory, to four
    #[test]
    fn first_terms_are_those_of_the_one_term_table() {
        let (mut computed, mut printed) = (0, 0);
        for row in rows(ONE_TERM) {
            let biot = number(&row[0]);
            for (metric, place) in METRICS {
                let (zeta, c) = term(metric, biot, 0);
                for (found, column) in [(zeta, place), (c, place + 1)] {
                    assert!((found - number(&row[column])).abs() < 2e-8, "{metric:?} Bi {biot}: {found}");
                    computed += 1;
                    if let Ok(four) = row[column + 6].parse::<f64>() {
                        assert!((found - four).abs() <= 5.2e-5, "{metric:?} Bi {biot}: {found}, printed {four}");
                        printed += 1;
                    }
                }
            }
        }
        assert_eq!((computed, printed), (29 * 6, 24 * 6));
    }

    // worked_examples.csv: a pipe's steel wall after eight minutes, an egg from 5 to 70 °C in water of 95 °C; the printed
    // answers were read off coarser tables
    #[test]
    fn worked_examples_of_the_texts_come_out() {
        let inputs = |row: &csv::StringRecord| {
            let read = |part: &str| part.split_once('=').map(|(name, value)| (name.to_owned(), number(value)));
            row[1].split(' ').filter_map(read).collect::<std::collections::BTreeMap<String, f64>>()
        };
        let rows = rows(EXAMPLES);
        assert_eq!(rows.len(), 10);
        let near = |row: &csv::StringRecord, quantity: &str, found: f64, printed: f64| {
            assert_eq!(&row[2], quantity);
            let (exact, text) = (number(&row[3]), number(&row[4]));
            // half of the last digit that stands there
            let places = row[3].split_once('.').map_or(0, |(_, digits)| digits.len()) as i32;
            assert!((found - exact).abs() <= 0.51 * 10.0_f64.powi(-places), "{quantity}: {found} for {exact}");
            assert!((found / text - 1.0).abs() <= printed, "{quantity}: {found}, printed {text}");
        };
        let wall = inputs(&rows[0]);
        let biot = wall["h"] * wall["L"] / wall["k"];
        let fourier = wall["k"] / (wall["rho"] * wall["c"]) * wall["t"] / (wall["L"] * wall["L"]);
        let (zeta, c) = term(Metric::Flat, biot, 0);
        let face = wall["Tinf"] + (wall["Ti"] - wall["Tinf"]) * c * libm::exp(-zeta * zeta * fourier);
        for (row, (quantity, found)) in
            rows.iter().zip([("Bi", biot), ("Fo", fourier), ("zeta1", zeta), ("C1", c), ("T_insulated_face_c", face)])
        {
            near(row, quantity, found, 0.003);
        }
        let egg = inputs(&rows[5]);
        let radius = egg["D"] / 2.0;
        let biot = egg["h"] * radius / egg["k"];
        let (zeta, c) = term(Metric::Ball, biot, 0);
        let left = (egg["Tc"] - egg["Tinf"]) / (egg["Ti"] - egg["Tinf"]);
        let fourier = -libm::log(left / c) / (zeta * zeta);
        let seconds = fourier * radius * radius / egg["alpha"];
        for (row, (quantity, found)) in
            rows[5..].iter().zip([("Bi", biot), ("zeta1", zeta), ("A1", c), ("Fo", fourier), ("t_s", seconds)])
        {
            near(row, quantity, found, 0.003);
        }
    }

    /// Follows a step of 145 °C and gives the worst difference in the middle from the series, and from the one-term table
    /// once further terms have died away.
    fn off(
        metric: Metric,
        row: &csv::StringRecord,
        place: usize,
        cells: usize,
        step: impl Fn(f64) -> f64,
    ) -> (f64, f64) {
        let (k, capacity, half) = (0.5, 3.5e6, 0.02);
        let (food, biot) = (Food::constant(k, capacity), number(&row[0]));
        let (zeta, c) = (number(&row[place]), number(&row[place + 1]));
        let line = Line::new(metric, 0.0, half, cells);
        let facing = Facing::fluid(150.0, biot * k / half);
        let mut surface = Surface::new(0.0, 1.0, 5.0);
        let mut t = vec![5.0; cells];
        let mut room = Room::default();
        let scale = half * half * capacity / k;
        let (mut seconds, mut steps) = (0.0, 0_u32);
        let (mut exact, mut table): (f64, f64) = (0.0, 0.0);
        while seconds < scale {
            let dt = step(seconds);
            let ends = [End { surface: None }, End { surface: Some((&mut surface, &facing)) }];
            line.step(&food, &mut t, dt, ends, None, &mut room);
            seconds += dt;
            steps += 1;
            let fourier = seconds / scale;
            if steps.is_multiple_of(40) && fourier > 0.05 {
                let here = line.at(&t, 0.0);
                exact = exact.max((here - 150.0 + 145.0 * middle(metric, biot, fourier)).abs());
                if fourier > 0.7 {
                    table = table.max((here - 150.0 + 145.0 * c * libm::exp(-zeta * zeta * fourier)).abs());
                }
            }
        }
        (exact, table)
    }

    // one_term_coefficients.csv, every Biot number from 0.5 to 50; the further terms by `term`
    #[test]
    fn cells_follow_the_series_within_a_twentieth_of_a_degree() {
        let mut tried = 0;
        for row in rows(ONE_TERM).iter().filter(|row| (0.5..=50.0).contains(&number(&row[0]))) {
            for (metric, place) in METRICS {
                let (exact, table) = off(metric, row, place, 80, |t| (0.0005 * t).clamp(0.1, 0.8));
                assert!(exact > 0.0 && exact < 0.05, "{metric:?} Bi {}: off by {exact}", &row[0]);
                assert!(table > 0.0 && table < 0.05, "{metric:?} Bi {}: off the table by {table}", &row[0]);
                tried += 1;
            }
        }
        assert_eq!(tried, 19 * 3);
    }

    // the cells and steps of the cooks that bank and models are made from: coarser, and less exact than a probe is
    #[test]
    fn the_cells_of_a_cook_follow_the_series_within_four_tenths_of_a_degree() {
        for row in rows(ONE_TERM).iter().filter(|row| (0.5..=50.0).contains(&number(&row[0]))) {
            for (metric, place) in METRICS {
                let (exact, _) = off(metric, row, place, 22, |t| (0.004 * t).clamp(1.0, 10.0));
                assert!(exact > 0.0 && exact < 0.4, "{metric:?} Bi {}: off by {exact}", &row[0]);
            }
        }
    }
}
