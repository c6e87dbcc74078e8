//! Reads instances in the form in which planning problems are exchanged.
//!
//! `tasks[{d, r:[[resource, amount]]}]`, `caps[]`, `prec[[i, j, lag]]` for `S_j >= S_i + lag`,
//! `incompat[[i, j, s_ij, s_ji]]`, `obj[[i, w]]`, and what is known: `opt`, `lb`, `ub`.

use schedule::{Draft, Incompatible, Problem, ProblemError};
use serde::Deserialize;
use thiserror::Error;

/// One instance as it stands in a file.
#[derive(Clone, Debug, Deserialize)]
pub struct Instance {
    /// Its name.
    pub name: String,
    /// What kind of problem it is.
    #[serde(default)]
    pub kind: String,
    /// The activities in the order of their indices.
    pub tasks: Vec<Task>,
    /// The capacities of the resources.
    #[serde(default)]
    pub caps: Vec<i32>,
    /// Lags: from, to, ticks.
    #[serde(default)]
    pub prec: Vec<(usize, usize, i32)>,
    /// Pairs that never overlap: first, second, set-up if the first is first, set-up if the second is first.
    #[serde(default)]
    pub incompat: Vec<(usize, usize, i32, i32)>,
    /// Weighted starts; without them the start of the last activity counts.
    #[serde(default)]
    pub obj: Option<Vec<(usize, i64)>>,
    /// The best value there is, where it is proven.
    #[serde(default)]
    pub opt: Option<i64>,
    /// A proven bound.
    #[serde(default)]
    pub lb: Option<i64>,
    /// The best value known.
    #[serde(default)]
    pub ub: Option<i64>,
}

/// One activity of an instance.
#[derive(Clone, Debug, Deserialize)]
pub struct Task {
    /// Its duration.
    pub d: i32,
    /// What it needs: resource and amount.
    #[serde(default)]
    pub r: Vec<(usize, i32)>,
}

/// Why a file of instances cannot be read.
#[derive(Debug, Error)]
pub enum InstanceError {
    /// Not in the form.
    #[error("expected a list of instances in JSON: {0}")]
    Form(#[from] serde_json::Error),
    /// An instance that is no problem.
    #[error("instance {name}: {problem}")]
    Problem {
        /// Its name.
        name: String,
        /// What is wrong.
        problem: ProblemError,
    },
}

/// Reads a list of instances.
pub fn read(text: &str) -> Result<Vec<Instance>, InstanceError> {
    Ok(serde_json::from_str(text)?)
}

impl Instance {
    /// The instance as a draft.
    pub fn draft(&self) -> Draft {
        let mut draft = Draft::new();
        for &capacity in &self.caps {
            draft.resource(capacity);
        }
        for task in &self.tasks {
            let activity = draft.activity(task.d);
            for &(resource, amount) in &task.r {
                draft.needs(activity, resource, amount);
            }
        }
        for &(from, to, lag) in &self.prec {
            draft.lag(from, to, lag);
        }
        for &(first, second, setup_first, setup_second) in &self.incompat {
            draft.incompatible(Incompatible { first, second, setup_first, setup_second });
        }
        for &(activity, weight) in self.obj.iter().flatten() {
            draft.weigh(activity, weight);
        }
        draft
    }

    /// The instance as a problem.
    pub fn problem(&self) -> Result<Problem, InstanceError> {
        self.draft().build().map_err(|problem| InstanceError::Problem { name: self.name.clone(), problem })
    }
}
