//! Search and proof together.

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc;

use schedule::{Problem, Progress, Proven, Schedule, Search};

use crate::proof::{Proof, ProofError};

/// Evaluations of the own search before the proof begins, so that it begins near a good schedule.
const FIRST_EVALUATIONS: u64 = 400;
/// Evaluations and conflicts of one turn on a single thread.
const TURN_EVALUATIONS: u64 = 800;
const TURN_CONFLICTS: u64 = 500;
/// Conflicts within which the proof of a problem that is hard to prove comes to its end, if it does at all; from then on
/// its thread searches too, with evaluations of this many a turn.
const HARD_CONFLICTS: u64 = 2_000;
const HARD_EVALUATIONS: u64 = 4_000;
/// Larger ones may be hard to prove.
const HARD_FROM: usize = 60;

/// How many threads are used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Threads {
    /// Search and proof take turns.
    One,
    /// Search and proof run side by side.
    Two,
}

/// How much may be tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Schedules tried by the own search.
    pub evaluations: u64,
    /// Conflicts of the proof; zero leaves the proof out.
    pub conflicts: u64,
    /// How many threads are used.
    pub threads: Threads,
}

/// What came out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// The best schedule, if one was found.
    pub best: Option<Schedule>,
    /// Its value.
    pub value: Option<i64>,
    /// No schedule has a smaller value.
    pub bound: i64,
    /// What is known without doubt.
    pub proven: Proven,
    /// Schedules tried by the own search.
    pub evaluations: u64,
    /// Conflicts of the proof.
    pub conflicts: u64,
    /// Why the proof was left out, if it could not be made.
    pub without_proof: Option<ProofError>,
}

/// Takes a search through its problem with the help of a proof, and publishes every better schedule at once.
///
/// The search decides where it begins: new, or from a former schedule. `go_on` is asked often, on both threads; when it
/// says no, what was found by then is the answer. `on_better` is called on the thread of the caller.
///
/// On one thread the answer follows from the problem, the seeds and the limits alone. On two threads the same holds
/// for a proven value and for "impossible"; which of several best schedules comes out, and how far an open problem
/// came, depends on which thread was faster.
pub fn solve(
    mut search: Search<'_>,
    problem: &Problem,
    seed: u64,
    limits: &Limits,
    go_on: &(dyn Fn() -> bool + Sync),
    on_better: &mut dyn FnMut(&Schedule, i64),
) -> Answer {
    let mut told = None;
    let mut first = 0;
    // the very first schedule is published alone, then the rest of the first lists
    while first < FIRST_EVALUATIONS.min(limits.evaluations) {
        let turn = if told.is_none() { 1 } else { FIRST_EVALUATIONS - first };
        let turn = turn.min(limits.evaluations - first);
        let progress = search.improve(turn, &mut || go_on());
        tell(&progress, &mut told, on_better);
        first += turn;
        if progress.proven != Proven::Open || !go_on() {
            break;
        }
    }
    let progress = search.progress();
    if progress.proven != Proven::Open || limits.conflicts == 0 {
        let left = limits.evaluations.saturating_sub(progress.evaluations);
        return search_alone(search, left, go_on, told, on_better);
    }
    match limits.threads {
        Threads::One => take_turns(search, problem, seed, limits, go_on, told, on_better),
        Threads::Two => side_by_side(search, problem, seed, limits, go_on, told, on_better),
    }
}

fn tell(progress: &Progress, told: &mut Option<i64>, on_better: &mut dyn FnMut(&Schedule, i64)) {
    if let (Some(best), Some(value)) = (&progress.best, progress.value)
        && told.is_none_or(|told| value < told)
    {
        *told = Some(value);
        on_better(best, value);
    }
}

fn search_alone(
    mut search: Search<'_>,
    mut left: u64,
    go_on: &(dyn Fn() -> bool + Sync),
    mut told: Option<i64>,
    on_better: &mut dyn FnMut(&Schedule, i64),
) -> Answer {
    let mut progress = search.progress();
    while left > 0 && progress.proven == Proven::Open && go_on() {
        let turn = left.min(TURN_EVALUATIONS);
        progress = search.improve(turn, &mut || go_on());
        tell(&progress, &mut told, on_better);
        left -= turn;
    }
    answer(progress, 0, Proven::Open, None)
}

fn answer(progress: Progress, conflicts: u64, proven: Proven, without_proof: Option<ProofError>) -> Answer {
    let proven = match proven {
        Proven::Open => progress.proven,
        Proven::Best | Proven::Impossible => proven,
    };
    let bound = match (proven, progress.value) {
        (Proven::Best, Some(value)) => value,
        (Proven::Best | Proven::Open | Proven::Impossible, _) => progress.bound,
    };
    Answer {
        best: progress.best,
        value: progress.value,
        bound,
        proven,
        evaluations: progress.evaluations,
        conflicts,
        without_proof,
    }
}

fn take_turns(
    mut search: Search<'_>,
    problem: &Problem,
    seed: u64,
    limits: &Limits,
    go_on: &(dyn Fn() -> bool + Sync),
    mut told: Option<i64>,
    on_better: &mut dyn FnMut(&Schedule, i64),
) -> Answer {
    let mut progress = search.progress();
    let mut proof = match Proof::new(problem, progress.best.as_ref(), seed) {
        Ok(proof) => proof,
        Err(error) => {
            let left = limits.evaluations.saturating_sub(progress.evaluations);
            let alone = search_alone(search, left, go_on, told, on_better);
            return Answer { without_proof: Some(error), ..alone };
        }
    };
    loop {
        let conflicts = match proof.is_open() {
            true => limits.conflicts.saturating_sub(proof.conflicts()),
            false => 0,
        };
        let evaluations = limits.evaluations.saturating_sub(search.progress().evaluations);
        if proof.proven() != Proven::Open || (conflicts == 0 && evaluations == 0) || !go_on() {
            break;
        }
        if conflicts > 0 {
            proof.step(conflicts.min(TURN_CONFLICTS), &mut || go_on());
            if let Some((_, best)) = proof.best() {
                search.offer(best);
            }
            search.raise_bound(proof.bound());
        }
        if proof.proven() == Proven::Open && evaluations > 0 {
            progress = search.improve(evaluations.min(TURN_EVALUATIONS), &mut || go_on());
            if let Some(best) = &progress.best {
                proof.learn(best);
            }
        }
        progress = search.progress();
        tell(&progress, &mut told, on_better);
    }
    progress = search.progress();
    answer(progress, proof.conflicts(), proof.proven(), None)
}

/// What the proof sends to the thread of the search.
enum News {
    Better(Schedule),
    Ended { proven: Proven, conflicts: u64, without_proof: Option<ProofError> },
}

fn side_by_side(
    mut search: Search<'_>,
    problem: &Problem,
    seed: u64,
    limits: &Limits,
    go_on: &(dyn Fn() -> bool + Sync),
    mut told: Option<i64>,
    on_better: &mut dyn FnMut(&Schedule, i64),
) -> Answer {
    let best = Mutex::new(search.progress().best);
    let newer = AtomicBool::new(false);
    let found = AtomicBool::new(false);
    let (send, news) = mpsc::channel();
    std::thread::scope(|scope| {
        let (best, newer, found) = (&best, &newer, &found);
        scope.spawn(move || {
            let proven_elsewhere = || found.load(Ordering::Relaxed);
            let ended = prove(problem, seed, limits, (best, newer), &send, &|| go_on() && !proven_elsewhere());
            // the other side waits for this as its last word; if it is gone, nobody asks
            let _ = send.send(ended);
        });
        let mut ended = None;
        loop {
            let progress = search.progress();
            let searching = progress.evaluations < limits.evaluations && progress.proven == Proven::Open && go_on();
            if progress.proven != Proven::Open {
                found.store(true, Ordering::Relaxed);
            }
            if !searching && ended.is_some() {
                break;
            }
            // once the search is at its end, wait for the proof
            let next = if searching { news.try_recv().ok() } else { news.recv().ok() };
            match next {
                Some(News::Better(schedule)) => {
                    search.offer(&schedule);
                }
                Some(News::Ended { proven, conflicts, without_proof }) => {
                    ended = Some((proven, conflicts, without_proof));
                    if proven != Proven::Open {
                        break;
                    }
                }
                None if searching => {
                    let left = limits.evaluations - progress.evaluations;
                    let before = progress.value;
                    let progress = search.improve(left.min(TURN_EVALUATIONS), &mut || go_on());
                    if progress.value != before
                        && let Ok(mut best) = best.lock()
                    {
                        best.clone_from(&progress.best);
                        newer.store(true, Ordering::Release);
                    }
                }
                None => break,
            }
            tell(&search.progress(), &mut told, on_better);
        }
        let (proven, conflicts, without_proof) = ended.unwrap_or((Proven::Open, 0, None));
        tell(&search.progress(), &mut told, on_better);
        answer(search.progress(), conflicts, proven, without_proof)
    })
}

/// Whether proofs mostly fail: many activities, one end, and resources that hold several at once.
fn is_hard(problem: &Problem) -> bool {
    let shared = |resource: usize, capacity: i32| {
        let needs = (0..problem.len()).filter_map(|i| problem.demands(i).iter().find(|need| need.0 == resource));
        needs.filter(|need| 2 * i64::from(need.1) <= i64::from(capacity)).count() > 1
    };
    let mut resources = problem.capacities().iter().enumerate();
    problem.len() > HARD_FROM && problem.weights().len() == 1 && resources.any(|(r, &capacity)| shared(r, capacity))
}

/// The side of the proof: takes what the search found, sends what it finds.
fn prove(
    problem: &Problem,
    seed: u64,
    limits: &Limits,
    (best, newer): (&Mutex<Option<Schedule>>, &AtomicBool),
    news: &mpsc::Sender<News>,
    go_on: &dyn Fn() -> bool,
) -> News {
    let taken = || best.lock().ok().and_then(|best| best.clone());
    let mut proof = match Proof::new(problem, taken().as_ref(), seed) {
        Ok(proof) => proof,
        Err(error) => {
            return News::Ended { proven: Proven::Open, conflicts: 0, without_proof: Some(error) };
        }
    };
    // another seed, and nothing of what the first search found: it goes its own way
    let mut second = is_hard(problem).then(|| Search::new(problem, seed.wrapping_add(1)));
    let mut sent = proof.best().map(|best| best.0);
    while proof.is_open() && proof.conflicts() < limits.conflicts && go_on() {
        let left = limits.conflicts - proof.conflicts();
        let turn = if second.is_some() { left.min(TURN_CONFLICTS) } else { left };
        proof.step(turn, &mut || go_on() && !newer.load(Ordering::Relaxed));
        if let Some(second) = &mut second
            && proof.is_open()
            && proof.conflicts() >= HARD_CONFLICTS
        {
            let left = limits.evaluations.saturating_sub(second.progress().evaluations);
            let progress = second.improve(left.min(HARD_EVALUATIONS), &mut || go_on());
            if let Some(found) = &progress.best {
                proof.learn(found);
            }
        }
        if let Some((value, schedule)) = proof.best()
            && sent.is_none_or(|sent| value < sent)
        {
            sent = Some(value);
            if news.send(News::Better(schedule.clone())).is_err() {
                break;
            }
        }
        if newer.swap(false, Ordering::Acquire)
            && let Some(schedule) = taken()
        {
            proof.learn(&schedule);
            sent = proof.best().map(|best| best.0);
        }
    }
    News::Ended { proven: proof.proven(), conflicts: proof.conflicts(), without_proof: None }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::instances::{Instance, read};
    use schedule::check;

    fn kitchens() -> Vec<Instance> {
        read(include_str!("../tests/data/kitchen.json")).unwrap()
    }

    fn limits(threads: Threads) -> Limits {
        Limits { evaluations: 20_000, conflicts: 5_000, threads }
    }

    fn answered(problem: &Problem, limits: &Limits) -> (Answer, Vec<i64>) {
        let mut values = Vec::new();
        let mut on_better = |schedule: &Schedule, value: i64| {
            assert_eq!(check(problem, schedule), Ok(value));
            values.push(value);
        };
        let search = Search::new(problem, 1);
        let answer = solve(search, problem, 1, limits, &|| true, &mut on_better);
        (answer, values)
    }

    #[test]
    fn one_and_two_threads_prove_the_same_value() {
        for instance in kitchens() {
            let problem = instance.problem().unwrap();
            for threads in [Threads::One, Threads::Two] {
                let (answer, values) = answered(&problem, &limits(threads));
                assert_eq!(answer.proven, Proven::Best, "{} {threads:?}", instance.name);
                assert_eq!(answer.value, instance.opt, "{} {threads:?}", instance.name);
                assert_eq!(values.last().copied(), instance.opt);
                assert!(values.is_sorted_by(|a, b| a > b), "{values:?}");
            }
        }
    }

    #[test]
    fn only_large_problems_of_shared_resources_and_one_end_are_hard() {
        let of = |count: usize, capacity: i32, waits: bool| {
            let mut draft = schedule::Draft::new();
            let burners = draft.resource(capacity);
            for _ in 0..count {
                let pan = draft.activity(3);
                draft.needs(pan, burners, 1);
                if waits {
                    draft.weigh(pan, 1);
                }
            }
            is_hard(&draft.build().unwrap())
        };
        assert!(of(61, 2, false));
        assert!(!of(60, 2, false));
        assert!(!of(61, 1, false));
        assert!(!of(61, 2, true));
    }

    #[test]
    fn one_thread_gives_the_same_answer_twice() {
        for instance in kitchens() {
            let problem = instance.problem().unwrap();
            let small = Limits { evaluations: 1500, conflicts: 40, threads: Threads::One };
            assert_eq!(answered(&problem, &small), answered(&problem, &small));
        }
    }

    #[test]
    fn a_stop_leaves_the_first_plan_as_the_answer() {
        let problem = kitchens()[1].problem().unwrap();
        for threads in [Threads::One, Threads::Two] {
            let stop = AtomicBool::new(false);
            let go_on = || !stop.load(Ordering::Relaxed);
            let endless = Limits { evaluations: u64::MAX, conflicts: u64::MAX, threads };
            let mut on_better = |_: &Schedule, _| stop.store(true, Ordering::Relaxed);
            let search = Search::new(&problem, 1);
            let answer = solve(search, &problem, 1, &endless, &go_on, &mut on_better);
            assert!(answer.best.is_some());
            assert!(answer.evaluations < 2000);
        }
    }

    #[test]
    fn without_conflicts_the_search_runs_alone() {
        let problem = kitchens()[0].problem().unwrap();
        let alone = Limits { evaluations: 700, conflicts: 0, threads: Threads::Two };
        let (answer, _) = answered(&problem, &alone);
        assert_eq!((answer.conflicts, answer.evaluations), (0, 700));
    }
}
