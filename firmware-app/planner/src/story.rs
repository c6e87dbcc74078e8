//! What happened in one run: when each activity began and ended, and which windows were kept.

use alloc::vec::Vec;

use crate::project::{Edge, GapKind, Project};

/// Begin and end of every activity, in milliseconds from the moment of the project.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Story {
    /// When each began.
    pub began: Vec<i64>,
    /// When each ended.
    pub ended: Vec<i64>,
}

/// A window that was not kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Missed {
    /// The gap of this index was longer than its most.
    Gap(usize),
    /// A dish of the landing waited longer than it keeps, or than the dishes may lie apart.
    Waited {
        /// The landing.
        landing: usize,
        /// The place of the dish in the landing.
        dish: usize,
    },
    /// The landing came outside its window.
    Landing(usize),
}

impl Story {
    /// The windows that were not kept, each with how much too long it was, in milliseconds.
    ///
    /// A gap of kind lead breaks nothing. The window of a landing without a wanted moment is not judged.
    pub fn missed(&self, project: &Project) -> Vec<(Missed, i64)> {
        let mut missed = Vec::new();
        for (index, gap) in project.gaps.iter().enumerate() {
            let counts = match gap.kind {
                GapKind::Order | GapKind::Quality | GapKind::Harm => true,
                GapKind::Lead => false,
            };
            if let (Some(most), true) = (gap.most, counts) {
                let from = match gap.edge {
                    Edge::Start => self.began[gap.from],
                    Edge::End => self.ended[gap.from],
                };
                let over = self.began[gap.to] - from - most.millis();
                if over > 0 {
                    missed.push((Missed::Gap(index), over));
                }
            }
        }
        for (index, landing) in project.landings.iter().enumerate() {
            let at = self.landed(project, index);
            for (place, &dish) in landing.dishes.iter().enumerate() {
                if let Some(keeps) = landing.keeps.get(place).copied().flatten().or(landing.within) {
                    let over = at - self.ended[dish] - keeps.millis() as i64;
                    if over > 0 {
                        missed.push((Missed::Waited { landing: index, dish: place }, over));
                    }
                }
            }
            if let Some(wanted) = landing.wanted {
                let off = (at - (wanted - project.now).millis()).abs() - landing.window.millis() as i64;
                if off > 0 {
                    missed.push((Missed::Landing(index), off));
                }
            }
        }
        missed
    }

    /// When a landing came, in milliseconds from the moment of the project.
    pub fn landed(&self, project: &Project, landing: usize) -> i64 {
        project.landings[landing].dishes.iter().map(|&dish| self.ended[dish]).max().unwrap_or(0)
    }
}
