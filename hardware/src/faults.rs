//! Faults on demand round any probes.
//!
//! A fault is planned for one probe and a stretch of the run. Each fault counts how often it changed a reading, so that
//! a test which never reaches its fault is seen to have tested nothing.

use std::mem;

use quantities::{Celsius, CelsiusStep, NoReading, Reading, RunTime};
use serde::{Deserialize, Serialize};

use crate::{PlacedReading, ProbeId, ProbeInfo, Probes, kitchen::Chance};

/// What goes wrong with a probe.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum Fault {
    /// It is not there.
    Unplugged,
    /// It does not answer.
    Silent,
    /// Its checksum is wrong.
    Checksum,
    /// It shows the value from before its first measurement.
    PowerOnValue,
    /// Its circuit is open.
    Open,
    /// It keeps saying the first value of the stretch.
    Stuck,
    /// It is off by this much.
    Jump {
        /// How far.
        by: CelsiusStep,
    },
    /// It scatters: normal noise on top of its own.
    Noise {
        /// Standard deviation.
        sd: CelsiusStep,
    },
    /// It is out of the food, and its tip moves towards the temperature round it with a time constant of 40 s.
    PulledOut {
        /// What is round it.
        into: Celsius,
    },
}

/// A fault with its probe and its stretch of the run.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedFault {
    /// Which probe.
    pub probe: ProbeId,
    /// What goes wrong.
    pub fault: Fault,
    /// From this moment on.
    pub from: RunTime,
    /// Until just before this moment.
    pub until: RunTime,
}

/// A planned fault with how often it fired.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FaultCount {
    /// The plan.
    pub planned: PlannedFault,
    /// How many readings it changed.
    pub fired: u32,
}

/// Planned faults and what they did so far.
#[derive(Clone, Debug, Default)]
pub struct FaultSchedule {
    seed: u64,
    entries: Vec<Entry>,
}

#[derive(Clone, Debug)]
struct Entry {
    count: FaultCount,
    /// The value that a stuck or pulled-out probe holds, and since when.
    held: Option<(Celsius, RunTime)>,
}

impl FaultSchedule {
    /// These faults; the seed is for the noisy ones.
    pub fn new(planned: Vec<PlannedFault>, seed: u64) -> Self {
        let entries = planned.into_iter().map(|planned| Entry { count: FaultCount { planned, fired: 0 }, held: None });
        Self { seed, entries: entries.collect() }
    }

    /// Adds a fault.
    pub fn plan(&mut self, planned: PlannedFault) {
        let added = Self::new(vec![planned], self.seed);
        self.entries.extend(added.entries);
    }

    /// Changes a reading by every fault of its probe whose stretch has come, in the order they were planned.
    pub fn apply(&mut self, probe: &ProbeId, now: RunTime, reading: Reading) -> Reading {
        let seed = self.seed;
        self.entries
            .iter_mut()
            .filter(|entry| {
                let planned = &entry.count.planned;
                planned.probe == *probe && planned.from <= now && now < planned.until
            })
            .fold(reading, |reading, entry| {
                let changed = entry.apply(now, reading, seed);
                if changed != reading {
                    entry.count.fired = entry.count.fired.saturating_add(1);
                }
                changed
            })
    }

    /// Every planned fault with how often it fired.
    pub fn counts(&self) -> Vec<FaultCount> {
        self.entries.iter().map(|entry| entry.count.clone()).collect()
    }

    /// The faults that changed no reading so far.
    pub fn unfired(&self) -> Vec<PlannedFault> {
        let unfired = self.entries.iter().filter(|entry| entry.count.fired == 0);
        unfired.map(|entry| entry.count.planned.clone()).collect()
    }
}

impl Entry {
    fn apply(&mut self, now: RunTime, reading: Reading, seed: u64) -> Reading {
        match self.count.planned.fault {
            Fault::Unplugged => Err(NoReading::Unplugged),
            Fault::Silent => Err(NoReading::Timeout),
            Fault::Checksum => Err(NoReading::Garbled),
            Fault::PowerOnValue => Err(NoReading::PowerOnValue),
            Fault::Open => Err(NoReading::Open),
            Fault::Stuck => {
                let value = reading?;
                Ok(self.held.get_or_insert((value, now)).0)
            }
            Fault::Jump { by } => reading.map(|value| value + by),
            Fault::Noise { sd } => {
                let probe = self.count.planned.probe.as_str();
                let off = Chance::new(seed, probe, now.millis()).normal() * sd.degrees();
                let off = CelsiusStep::from_degrees(off).unwrap_or(CelsiusStep::ZERO);
                reading.map(|value| value + off)
            }
            Fault::PulledOut { into } => {
                let value = reading?;
                let (left, since) = *self.held.get_or_insert((value, now));
                let share = libm::exp(-now.since(since).secs() / PULLED_OUT_TIME_CONSTANT_S);
                let step = CelsiusStep::from_degrees((left - into).degrees() * share);
                Ok(into + step.unwrap_or(CelsiusStep::ZERO))
            }
        }
    }
}

const PULLED_OUT_TIME_CONSTANT_S: f64 = 40.0;

/// Any probes with planned faults.
///
/// The faults go by the time that [`Probes::advance`] told last.
pub struct Faulty<P> {
    inner: P,
    now: RunTime,
    schedule: FaultSchedule,
}

impl<P: Probes> Faulty<P> {
    /// These probes with these faults.
    pub fn new(inner: P, schedule: FaultSchedule) -> Self {
        Self { inner, now: RunTime::START, schedule }
    }

    /// The planned faults and what they did.
    pub fn schedule(&self) -> &FaultSchedule {
        &self.schedule
    }

    /// Plans other faults; the old ones are given back.
    pub fn reschedule(&mut self, schedule: FaultSchedule) -> FaultSchedule {
        mem::replace(&mut self.schedule, schedule)
    }

    /// The probes behind the faults.
    pub fn inner_mut(&mut self) -> &mut P {
        &mut self.inner
    }
}

impl<P: Probes> Probes for Faulty<P> {
    /// A probe with a fault is still listed, as a known device is.
    fn list(&mut self) -> Vec<ProbeInfo> {
        self.inner.list()
    }

    fn read(&mut self, id: &ProbeId) -> PlacedReading {
        let found = self.inner.read(id);
        PlacedReading { reading: self.schedule.apply(id, self.now, found.reading), place: found.place }
    }

    fn advance(&mut self, to: RunTime) {
        self.now = self.now.max(to);
        self.inner.advance(to);
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::curve::{Curve, CurveProbes};

    fn secs(secs: u64) -> RunTime {
        RunTime::from_millis(secs * 1000)
    }

    fn id() -> ProbeId {
        ProbeId::new("curve:loin").unwrap()
    }

    /// A curve that rises 1 °C every 10 s from 20 °C, with one fault from 20 s to 40 s; read every 10 s.
    fn readings_with(fault: Fault) -> (Vec<Reading>, Vec<FaultCount>) {
        let rows: String = (0..7).map(|n| format!("{},{}\n", n * 10, 20 + n)).collect();
        let mut probes = CurveProbes::new();
        let curve = Curve::parse(&format!("time_s,core_c\n{rows}")).unwrap();
        probes.play(id(), curve, RunTime::START);
        let planned = PlannedFault { probe: id(), fault, from: secs(20), until: secs(40) };
        let mut faulty = Faulty::new(probes, FaultSchedule::new(vec![planned], 7));
        let read = |n: u64| {
            faulty.advance(secs(n * 10));
            faulty.read(&id()).reading
        };
        let readings = (0..6).map(read).collect();
        (readings, faulty.schedule().counts())
    }

    fn whole(degrees: i16) -> Reading {
        Ok(Celsius::whole(degrees))
    }

    #[test]
    fn a_fault_lasts_for_its_stretch_and_is_counted() {
        for (fault, reason) in [
            (Fault::Unplugged, NoReading::Unplugged),
            (Fault::Silent, NoReading::Timeout),
            (Fault::Checksum, NoReading::Garbled),
            (Fault::PowerOnValue, NoReading::PowerOnValue),
            (Fault::Open, NoReading::Open),
        ] {
            let (readings, counts) = readings_with(fault);
            let expected = [whole(20), whole(21), Err(reason), Err(reason), whole(24), whole(25)];
            assert_eq!(readings, expected);
            assert_eq!(counts[0].fired, 2);
        }
    }

    #[test]
    fn a_stuck_probe_repeats_and_a_jump_moves() {
        let (stuck, counts) = readings_with(Fault::Stuck);
        assert_eq!(stuck[2..5], [whole(22), whole(22), whole(24)]);
        // the first reading of the stretch is still true
        assert_eq!(counts[0].fired, 1);
        let by = CelsiusStep::whole(-9);
        let (jump, _) = readings_with(Fault::Jump { by });
        assert_eq!(jump[1..5], [whole(21), whole(13), whole(14), whole(24)]);
    }

    #[test]
    fn a_pulled_out_probe_moves_towards_the_air() {
        let into = Celsius::whole(-58);
        let (readings, counts) = readings_with(Fault::PulledOut { into });
        assert_eq!(readings[2], whole(22));
        // 80 °C above the air, one quarter of the time constant later
        let expected = -58.0 + 80.0 * (-0.25_f64).exp();
        assert!((readings[3].unwrap().degrees() - expected).abs() < 0.001);
        assert_eq!(readings[4], whole(24));
        assert_eq!(counts[0].fired, 1);
    }

    #[test]
    fn noise_comes_from_the_seed_alone() {
        let sd = CelsiusStep::whole(1);
        let (one, _) = readings_with(Fault::Noise { sd });
        let (two, counts) = readings_with(Fault::Noise { sd });
        assert_eq!(one, two);
        assert_ne!(one[2], whole(22));
        assert_eq!(counts[0].fired, 2);
    }

    #[test]
    fn a_fault_that_never_came_is_told() {
        let planned = PlannedFault { probe: id(), fault: Fault::Stuck, from: secs(500), until: secs(600) };
        let mut schedule = FaultSchedule::new(vec![planned.clone()], 1);
        assert_eq!(schedule.apply(&id(), secs(499), whole(1)), whole(1));
        assert_eq!(schedule.unfired(), [planned]);
    }
}
