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

    #[test]
    fn first_terms_are_those_of_the_one_term_table() {
        for row in ONE_TERM.lines().skip(1) {
            let cells: Vec<f64> = row.split(',').take(7).map(|cell| cell.parse().unwrap()).collect();
            for (metric, place) in [(Metric::Flat, 1), (Metric::Round, 3), (Metric::Ball, 5)] {
                let (zeta, c) = term(metric, cells[0], 0);
                assert!((zeta - cells[place]).abs() < 2e-8, "{metric:?} Bi {}: {zeta}", cells[0]);
                assert!((c - cells[place + 1]).abs() < 2e-8, "{metric:?} Bi {}: {c}", cells[0]);
            }
        }
    }

    #[test]
    fn worked_examples_of_the_texts_come_out() {
        // worked_examples.csv, rows computed: an oil pipe's steel wall after eight minutes; an egg from 5 to 70 °C in 95 °C water
        let (zeta, c) = term(Metric::Flat, 0.31299, 0);
        assert!((zeta - 0.53189).abs() < 1e-5 && (c - 1.04679).abs() < 1e-5, "{zeta} {c}");
        let face = 60.0 + (-20.0 - 60.0) * c * libm::exp(-zeta * zeta * 5.6397);
        assert!((face - 43.016).abs() < 0.005, "{face}");
        let (zeta, a) = term(Metric::Ball, 47.8469, 0);
        assert!((zeta - 3.07603).abs() < 1e-5 && (a - 1.99588).abs() < 1e-5, "{zeta} {a}");
        let fourier = -libm::log((70.0 - 95.0) / (5.0 - 95.0) / a) / (zeta * zeta);
        let seconds = fourier * 0.025 * 0.025 / 0.151e-6;
        assert!((seconds - 862.6).abs() < 0.5, "{seconds}");
    }

    #[test]
    fn cells_follow_the_series_within_a_twentieth_of_a_degree() {
        let (k, capacity, half) = (0.5, 3.5e6, 0.02);
        let food = Food::constant(k, capacity);
        let mut worst: f64 = 0.0;
        for metric in [Metric::Flat, Metric::Round, Metric::Ball] {
            for biot in [0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0] {
                let line = Line::new(metric, 0.0, half, 80);
                let facing = Facing::fluid(150.0, biot * k / half);
                let mut surface = Surface::new(0.0, 1.0, 5.0);
                let mut t = vec![5.0; 80];
                let mut room = Room::default();
                let dt = 0.1;
                let scale = half * half * capacity / k;
                let steps = (scale / dt) as usize;
                for step in 1..=steps {
                    let ends = [End { surface: None }, End { surface: Some((&mut surface, &facing)) }];
                    line.step(&food, &mut t, dt, ends, None, &mut room);
                    let fourier = step as f64 * dt / scale;
                    if step % 500 == 0 && fourier > 0.05 {
                        let exact = 150.0 - 145.0 * middle(metric, biot, fourier);
                        let off = (line.at(&t, 0.0) - exact).abs();
                        worst = worst.max(off);
                        assert!(off < 0.05, "{metric:?} Bi {biot} Fo {fourier}: off by {off}");
                    }
                }
            }
        }
        assert!(worst > 0.0);
    }
}
