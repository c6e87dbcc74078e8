//! The project's simulated development curves, for tests of this crate.

use std::{string::String, vec::Vec};

use quantities::Celsius;

/// One cook, one reading a second.
pub(crate) struct Curve {
    pub(crate) id: String,
    pub(crate) family: String,
    pub(crate) target: f64,
    /// When the food at the tip is five degrees below the target.
    pub(crate) at_5_below: f64,
    /// When it is there.
    pub(crate) at_target: f64,
    /// When it leaves the heat.
    pub(crate) pulled: usize,
    /// The fixed error of the probe.
    pub(crate) offset: f64,
    pub(crate) quantum: f64,
    /// The oven's air; none for a pan or a microwave.
    pub(crate) air: Option<f64>,
    pub(crate) readings: Vec<Celsius>,
}

pub(crate) fn all() -> Vec<Curve> {
    include_str!("../../tests/data/curves.txt").lines().filter(|line| !line.starts_with('#')).map(read).collect()
}

fn read(line: &str) -> Curve {
    let part: Vec<&str> = line.split(' ').collect();
    assert_eq!(part.len(), 13, "a curve has thirteen fields");
    let number = |i: usize| part[i].parse::<f64>().expect("a number");
    let quantum = number(9);
    let mut quanta = number(11);
    let mut readings = Vec::from([celsius(quanta * quantum)]);
    for letter in part[12].bytes() {
        quanta += f64::from(letter) - 79.0;
        readings.push(celsius(quanta * quantum));
    }
    Curve {
        id: part[0].into(),
        family: part[1].into(),
        target: number(2),
        at_5_below: number(3),
        at_target: number(4),
        pulled: number(5) as usize,
        offset: number(7),
        quantum,
        air: Some(number(10)).filter(|air| *air > 0.0),
        readings,
    }
}

pub(crate) fn celsius(degrees: f64) -> Celsius {
    Celsius::from_degrees(degrees).expect("a kitchen temperature")
}
