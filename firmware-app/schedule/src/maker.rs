//! Makes schedules of lists; where time can be reversed, each is pushed to its end and back to its start.

use alloc::vec::Vec;
use core::cmp::Reverse;

use crate::decode::Decoder;
use crate::model::Model;
use crate::order;
use crate::problem::Ticks;

/// Turns lists into starts. Its memory is kept between lists.
#[derive(Clone, Debug)]
pub(crate) struct Maker {
    forward: Decoder,
    /// The problem with time reversed, where that has a meaning, and what decodes it.
    reversed: Option<(Model, Decoder)>,
    turned: Vec<u16>,
    kept: Vec<Ticks>,
}

impl Maker {
    /// Prepares for a problem; `pushing` allows for schedules to be pushed to and fro.
    pub(crate) fn new(model: &Model, pushing: bool) -> Maker {
        let reversed = if pushing { model.reversed() } else { None };
        Maker {
            forward: Decoder::new(model),
            reversed: reversed.map(|reversed| (reversed, Decoder::new(model))),
            turned: Vec::with_capacity(model.count),
            kept: Vec::with_capacity(model.count),
        }
    }

    /// Whether schedules are pushed to and fro.
    pub(crate) fn pushes(&self) -> bool {
        self.reversed.is_some()
    }

    /// The starts of the last list that gave a schedule.
    pub(crate) fn starts(&self) -> &[Ticks] {
        &self.forward.starts
    }

    /// What waited for resources alone.
    pub(crate) fn waiting(&self) -> Vec<u16> {
        let waits = self.forward.waits.iter().enumerate();
        waits.filter(|wait| *wait.1 > 0).map(|wait| wait.0 as u16).collect()
    }

    /// Makes the schedule of a list as it is.
    pub(crate) fn plain(&mut self, model: &Model, list: &[u16]) -> Option<i64> {
        self.forward.decode(model, list, i64::MAX)
    }

    /// Makes the best schedule of a list, unless its value would be above the limit.
    pub(crate) fn best_of(&mut self, model: &Model, list: &[u16], limit: f64) -> Option<i64> {
        let Some((reversed, back)) = &mut self.reversed else {
            return self.forward.decode(model, list, (limit + 1.0).min(9e15) as i64);
        };
        // pushing may still gain this much
        let most = (limit * 1.06 + 2.0).min(9e15) as i64;
        let value = self.forward.decode(model, list, most)?;
        let ends = |starts: &[Ticks], i: u16| starts[usize::from(i)] + model.durations[usize::from(i)];
        self.turned.clear();
        self.turned.extend_from_slice(list);
        self.turned.sort_by_key(|&i| Reverse(ends(&self.forward.starts, i)));
        order::repair(reversed, &mut self.turned);
        if back.decode(reversed, &self.turned, i64::MAX).is_none() {
            return Some(value);
        }
        self.turned.sort_by_key(|&i| Reverse(ends(&back.starts, i)));
        order::repair(model, &mut self.turned);
        self.kept.clone_from(&self.forward.starts);
        match self.forward.decode(model, &self.turned, i64::MAX) {
            Some(better) if better <= value => Some(better),
            Some(_) | None => {
                self.forward.starts.copy_from_slice(&self.kept);
                Some(value)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::draft::Draft;

    #[test]
    fn a_schedule_pushed_to_its_end_and_back_closes_a_gap_that_its_list_left() {
        let mut draft = Draft::new();
        let burner = draft.resource(2);
        let [stew, rice, chop, fry] = [3, 2, 1, 3].map(|duration| {
            let activity = draft.activity(duration);
            draft.needs(activity, burner, 1);
            activity
        });
        draft.lag(chop, fry, 1);
        let end = draft.activity(0);
        for (activity, duration) in [(stew, 3), (rice, 2), (chop, 1), (fry, 3)] {
            draft.lag(activity, end, duration);
        }
        let model = Model::of(&draft.build().unwrap());
        let list = [stew, rice, chop, fry, end].map(|i| i as u16);
        let mut plain = Maker::new(&model, false);
        assert_eq!(plain.best_of(&model, &list, 6.0), Some(6));
        let mut pushing = Maker::new(&model, true);
        assert!(pushing.pushes());
        assert_eq!(pushing.plain(&model, &list), Some(6));
        assert_eq!(pushing.best_of(&model, &list, 6.0), Some(5));
        assert_eq!(pushing.starts()[end], 5);
        // far above the limit it is not even pushed
        assert_eq!(pushing.best_of(&model, &list, 3.0), None);
    }
}
