//! The walk from list to list: worse ones are taken with a chance that falls over a round and rises again with the next.

use alloc::vec::Vec;

use crate::chance::Chance;
use crate::model::Model;
use crate::order;
use crate::problem::Ticks;

/// A schedule the walk stands on, as a list.
#[derive(Clone, Debug, Default)]
pub(crate) struct Footing {
    /// Empty as long as there is none.
    pub(crate) order: Vec<u16>,
    pub(crate) energy: f64,
    pub(crate) starts: Vec<Ticks>,
    /// What waited for resources.
    pub(crate) waiting: Vec<u16>,
}

/// Where the walk stands and how far its round is.
#[derive(Clone, Debug)]
pub(crate) struct Walk {
    pub(crate) footing: Footing,
    /// A list near the one the walk stands on.
    pub(crate) candidate: Vec<u16>,
    kept: Vec<u16>,
    places: Vec<u16>,
    round: u32,
    step: u32,
    steps: u32,
    scale: f64,
}

impl Walk {
    pub(crate) fn new(count: usize) -> Walk {
        Walk {
            footing: Footing::default(),
            candidate: Vec::with_capacity(count),
            kept: Vec::with_capacity(count),
            places: alloc::vec![0; count],
            round: 0,
            step: 0,
            steps: 0,
            scale: 0.0,
        }
    }

    /// Whether there is a schedule to walk on from.
    pub(crate) fn stands(&self) -> bool {
        !self.footing.order.is_empty()
    }

    /// Whether the round is at its end.
    pub(crate) fn is_round(&self) -> bool {
        self.step >= self.steps
    }

    /// Begins a round, twice as long as the one before; `share` of the energy is its heat, if the best value lies
    /// far enough above what is known to be out of reach. Tells whether it is the first.
    pub(crate) fn begin_round(&mut self, share: f64, spread: f64) -> bool {
        self.round += 1;
        self.step = 0;
        self.steps = (20 * self.places.len() as u32) << self.round.min(6);
        self.scale = (share * self.footing.energy).min(0.3 * spread).max(0.8);
        self.round == 1
    }

    /// The energy up to which the next list is taken.
    pub(crate) fn limit(&mut self, chance: &mut Chance) -> f64 {
        let progress = f64::from(self.step) / f64::from(self.steps);
        self.step += 1;
        let heat = self.scale * (1.0 - progress) * (1.0 - progress);
        self.footing.energy - heat * libm::log(1.0 - chance.unit())
    }

    /// Makes the candidate: a list near the one the walk stands on.
    pub(crate) fn vary(&mut self, model: &Model, chance: &mut Chance) {
        self.candidate.clear();
        self.candidate.extend_from_slice(&self.footing.order);
        let count = model.count;
        if count < 2 {
            return;
        }
        let kind = chance.below(10);
        if kind < 3
            && let Some((from, to)) = self.before_a_rival(model, chance)
        {
            order::pull(model, &mut self.candidate, from, to, &mut self.kept);
            return;
        }
        let from = chance.below(count);
        let reach = if kind < 8 { 1 + count / 6 } else { count };
        let distance = 1 + chance.below(reach);
        if chance.below(2) == 0 {
            let to = from.saturating_sub(distance);
            order::pull(model, &mut self.candidate, from, to, &mut self.kept);
        } else {
            let to = (from + distance).min(count - 1);
            order::push(model, &mut self.candidate, from, to, &mut self.kept);
        }
    }

    /// A place of something that waited for a resource, and the place of something that it waited for.
    fn before_a_rival(&mut self, model: &Model, chance: &mut Chance) -> Option<(usize, usize)> {
        if self.footing.waiting.is_empty() {
            return None;
        }
        for (place, &activity) in self.candidate.iter().enumerate() {
            self.places[usize::from(activity)] = place as u16;
        }
        let pick = chance.below(self.footing.waiting.len());
        let waiting = usize::from(self.footing.waiting[pick]);
        let from = usize::from(self.places[waiting]);
        let start = self.footing.starts[waiting];
        let mut chosen = None;
        let mut seen = 0;
        for (place, &other) in self.candidate[..from].iter().enumerate() {
            let other = usize::from(other);
            let end = self.footing.starts[other] + model.durations[other];
            let near = end <= start && end > start - 3 * model.durations[waiting].max(4);
            if near && !model.stands_before(other, waiting) && model.clash(other, waiting) {
                seen += 1;
                if chance.below(seen) == 0 {
                    chosen = Some(place);
                }
            }
        }
        chosen.map(|to| (from, to))
    }
}
