use std::collections::BTreeMap;

use quantities::{CelsiusStep, NoReading, Reading, RunTime, Span};
use serde::Serialize;

use crate::ProbeId;

/// A set of temperature probes.
///
/// A read may take as long as the probe's conversion, up to 750 ms for a one-wire sensor: it happens on a thread that
/// the caller owns. Reading a probe that is not there is not an error but a reading without a value.
pub trait Probes {
    /// Looks for the probes that are there at this moment, in the order of their ids.
    fn list(&mut self) -> Vec<ProbeInfo>;

    /// Reads one probe, and says where the reading came from.
    fn read(&mut self, id: &ProbeId) -> PlacedReading;

    /// Tells simulated and recorded probes what time of the run it is; real ones do nothing.
    ///
    /// A time before the last one told changes nothing.
    fn advance(&mut self, to: RunTime) {
        let _ = to;
    }
}

/// What is known of a probe without reading it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ProbeInfo {
    /// Its name; the same after a restart and in another order of plugging in.
    pub id: ProbeId,
    /// What it is.
    pub kind: ProbeKind,
    /// The smallest step between two readings.
    pub resolution: CelsiusStep,
    /// How long one reading takes.
    pub conversion: Span,
}

/// The kinds of probe.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ProbeKind {
    /// A DS18B20 on the one-wire bus.
    OneWire,
    /// A sensor that the kernel's hardware monitoring reads.
    BoardSensor,
    /// A recorded curve that is played.
    Recorded,
    /// A probe of the simulated kitchen.
    Simulated,
}

/// A reading with the place it came from, for the message that tells of a fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlacedReading {
    /// The temperature, or the reason why there is none.
    pub reading: Reading,
    /// The file, curve line or food that it was read from.
    pub place: String,
}

impl PlacedReading {
    /// No temperature, for this reason.
    pub fn none(reason: NoReading, place: impl Into<String>) -> Self {
        Self { reading: Err(reason), place: place.into() }
    }
}

/// Several sets of probes as one.
///
/// Where two sets have a probe of the same name, the earlier set is read.
#[derive(Default)]
pub struct AllProbes {
    sets: Vec<Box<dyn Probes + Send>>,
    set_of: BTreeMap<ProbeId, usize>,
}

impl AllProbes {
    /// One of these sets.
    pub fn new(sets: Vec<Box<dyn Probes + Send>>) -> Self {
        Self { sets, set_of: BTreeMap::new() }
    }
}

impl Probes for AllProbes {
    fn list(&mut self) -> Vec<ProbeInfo> {
        let mut found: BTreeMap<ProbeId, ProbeInfo> = BTreeMap::new();
        for (n, set) in self.sets.iter_mut().enumerate() {
            for info in set.list() {
                // a probe that went away keeps its set, so that its readings still say where it was
                let set_of = self.set_of.entry(info.id.clone()).or_insert(n);
                if !found.contains_key(&info.id) {
                    *set_of = n;
                    found.insert(info.id.clone(), info);
                }
            }
        }
        found.into_values().collect()
    }

    fn read(&mut self, id: &ProbeId) -> PlacedReading {
        if !self.set_of.contains_key(id) {
            self.list();
        }
        let set = self.set_of.get(id).and_then(|n| self.sets.get_mut(*n));
        match set {
            Some(set) => set.read(id),
            None => PlacedReading::none(NoReading::Unplugged, format!("no bus has a probe {id}")),
        }
    }

    fn advance(&mut self, to: RunTime) {
        for set in &mut self.sets {
            set.advance(to);
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use quantities::Celsius;

    use super::*;

    struct One(&'static str, i16);

    impl Probes for One {
        fn list(&mut self) -> Vec<ProbeInfo> {
            vec![ProbeInfo {
                id: ProbeId::new(self.0).unwrap(),
                kind: ProbeKind::Simulated,
                resolution: CelsiusStep::whole(1),
                conversion: Span::ZERO,
            }]
        }
        fn read(&mut self, _: &ProbeId) -> PlacedReading {
            PlacedReading { reading: Ok(Celsius::whole(self.1)), place: self.0.to_owned() }
        }
    }

    #[test]
    fn a_probe_is_read_from_the_first_set_that_has_it() {
        let mut all = AllProbes::new(vec![Box::new(One("b", 1)), Box::new(One("a", 2)), Box::new(One("b", 3))]);
        let b = ProbeId::new("b").unwrap();
        assert_eq!(all.read(&b).reading, Ok(Celsius::whole(1)));
        let names: Vec<String> = all.list().into_iter().map(|i| i.id.into()).collect();
        assert_eq!(names, ["a", "b"]);
        let gone = all.read(&ProbeId::new("c").unwrap());
        assert_eq!(gone.reading, Err(NoReading::Unplugged));
        assert_eq!(gone.place, "no bus has a probe c");
    }
}
