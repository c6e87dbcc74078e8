//! Critical path and PERT on a network of jobs, with the correction where paths meet.
//!
//! The classical figures take the longest path by expected times for the whole: where several paths meet, the last of
//! them decides, and the true mean lies later (the merge bias). [`Network::finishes`] corrects it with the moments of the
//! maximum of two normal variables of C. E. Clark, "The greatest of a finite set of random variables", Operations
//! Research 9 (1961), 145-162.
//!
//! Times are plain numbers in one unit of the caller's choice.

use alloc::{vec, vec::Vec};

use crate::project::Edge;

/// A time that is not sure: its mean and variance, taken as normally distributed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Normal {
    /// Expected value.
    pub mean: f64,
    /// Square of the standard deviation; zero for what is sure.
    pub variance: f64,
}

/// One job of a network.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Job {
    /// How long it takes.
    pub lasts: Normal,
    /// What it waits for.
    pub after: Vec<After>,
    /// It does not start before this moment.
    pub not_before: Option<f64>,
}

/// A wait for another job.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct After {
    /// The job that is waited for.
    pub job: usize,
    /// Which end of it.
    pub edge: Edge,
    /// At least so long after it; negative: up to so long before it.
    pub lag: f64,
}

/// Why jobs are no network.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NetworkError {
    /// A wait for a job that is not there.
    #[error("expected a job from 0 to {count} less one, found a wait of job {job} for job {found}")]
    UnknownJob {
        /// The job that waits.
        job: usize,
        /// The job that is not there.
        found: usize,
        /// How many jobs there are.
        count: usize,
    },
    /// Jobs that wait for each other.
    #[error("expected jobs that can be done one after the other, found that job {job} waits for itself through others")]
    Ring {
        /// A job of the ring.
        job: usize,
    },
}

/// Jobs in an order in which they can be done.
#[derive(Clone, Debug, PartialEq)]
pub struct Network {
    jobs: Vec<Job>,
    order: Vec<usize>,
}

/// When jobs can and must be done, by their expected times.
#[derive(Clone, Debug, PartialEq)]
pub struct Times {
    /// The jobs, by their index.
    pub jobs: Vec<JobTimes>,
    /// When the last of them ends.
    pub end: f64,
    /// A longest path, from its first job to its last. Where several are equally long, the jobs of lower index.
    pub path: Vec<usize>,
}

/// When a job can and must be done.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct JobTimes {
    /// It cannot start earlier.
    pub early_start: f64,
    /// It cannot end earlier.
    pub early_finish: f64,
    /// Started later, it makes the whole later.
    pub late_start: f64,
    /// Ended later, it makes the whole later.
    pub late_finish: f64,
    /// How much later it can start without the whole becoming later.
    pub total_float: f64,
    /// How much later it can start without any other job starting later.
    pub free_float: f64,
}

/// The larger of two times.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Larger {
    /// Its moments.
    pub of_both: Normal,
    /// How likely the first of the two is the larger one.
    pub first: f64,
}

impl Normal {
    /// Takes what always takes the same.
    pub const fn exactly(mean: f64) -> Self {
        Self { mean, variance: 0.0 }
    }

    /// Takes PERT's three estimates: mean `(low + 4 likely + high) / 6`, variance `((high - low) / 6)²`.
    pub fn pert(low: f64, likely: f64, high: f64) -> Self {
        let sixth = (high - low) / 6.0;
        Self { mean: (low + 4.0 * likely + high) / 6.0, variance: sixth * sixth }
    }

    /// Takes the moments of the triangular distribution between low and high with its peak at likely.
    pub fn triangular(low: f64, likely: f64, high: f64) -> Self {
        let (left, right) = (likely - low, high - likely);
        Self { mean: (low + likely + high) / 3.0, variance: (left * left + left * right + right * right) / 18.0 }
    }

    /// Gives the standard deviation.
    pub fn deviation(self) -> f64 {
        libm::sqrt(self.variance)
    }

    /// Gives the chance that it is over by a moment, between 0 and 1.
    pub fn chance_by(self, moment: f64) -> f64 {
        if self.variance > 0.0 {
            below((moment - self.mean) / self.deviation())
        } else if moment >= self.mean {
            1.0
        } else {
            0.0
        }
    }

    /// Gives the moment by which it is over with this chance; a chance outside 0.000001 to 0.999999 counts as the nearest.
    pub fn moment_at(self, chance: f64) -> f64 {
        let chance = chance.clamp(1e-6, 1.0 - 1e-6);
        let (mut low, mut high) = (-8.0, 8.0);
        // 60 halvings leave less than 1e-16 of the width
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            if below(middle) < chance {
                low = middle;
            } else {
                high = middle;
            }
        }
        self.mean + self.deviation() * (low + high) / 2.0
    }

    /// Gives the sum with an independent time.
    pub fn and_then(self, other: Self) -> Self {
        Self { mean: self.mean + other.mean, variance: self.variance + other.variance }
    }
}

/// Gives the moments of the larger of two normal times with this covariance, after Clark (1961).
pub fn larger(first: Normal, second: Normal, covariance: f64) -> Larger {
    let apart = first.variance + second.variance - 2.0 * covariance;
    let shift = first.mean - second.mean;
    // what always moves together: the later one is always the later one
    if apart <= 1e-12 * (first.variance + second.variance) || apart <= 0.0 {
        return if shift >= 0.0 {
            Larger { of_both: first, first: 1.0 }
        } else {
            Larger { of_both: second, first: 0.0 }
        };
    }
    let apart = libm::sqrt(apart);
    let alpha = shift / apart;
    let (share, density) = (below(alpha), libm::exp(-alpha * alpha / 2.0) / libm::sqrt(2.0 * core::f64::consts::PI));
    let other = below(-alpha);
    let mean = first.mean * share + second.mean * other + apart * density;
    // moments about the mean of the second, so that large means do not eat the digits of the variance
    let from_second = shift * share + apart * density;
    let square = (shift * shift + first.variance) * share + second.variance * other + shift * apart * density;
    let variance = (square - from_second * from_second).max(0.0);
    Larger { of_both: Normal { mean, variance }, first: share }
}

impl Network {
    /// Takes jobs that wait for each other without a ring.
    pub fn new(jobs: Vec<Job>) -> Result<Self, NetworkError> {
        let count = jobs.len();
        let mut waits = vec![0usize; count];
        let mut followers: Vec<Vec<usize>> = vec![Vec::new(); count];
        for (job, what) in jobs.iter().enumerate() {
            for after in &what.after {
                let found = after.job;
                followers.get_mut(found).ok_or(NetworkError::UnknownJob { job, found, count })?.push(job);
                waits[job] += 1;
            }
        }
        let mut order: Vec<usize> = (0..count).filter(|job| waits[*job] == 0).collect();
        let mut next = 0;
        while let Some(&job) = order.get(next) {
            next += 1;
            for &follower in &followers[job] {
                waits[follower] -= 1;
                if waits[follower] == 0 {
                    order.push(follower);
                }
            }
        }
        match waits.iter().position(|left| *left > 0) {
            Some(job) => Err(NetworkError::Ring { job }),
            None => Ok(Self { jobs, order }),
        }
    }

    /// Gives the jobs.
    pub fn jobs(&self) -> &[Job] {
        &self.jobs
    }

    /// Works out the earliest and latest times, the floats and a critical path by expected times.
    pub fn times(&self) -> Times {
        let mut jobs = vec![JobTimes::default(); self.jobs.len()];
        let mut held_by: Vec<Option<usize>> = vec![None; self.jobs.len()];
        for &job in &self.order {
            let what = &self.jobs[job];
            let mut start = what.not_before.unwrap_or(0.0);
            for after in &what.after {
                let ready = edge_of(&jobs[after.job], after.edge) + after.lag;
                let lower = held_by[job].is_some_and(|holder| after.job < holder);
                if ready > start || (ready == start && (held_by[job].is_none() || lower)) {
                    start = ready;
                    held_by[job] = Some(after.job);
                }
            }
            jobs[job].early_start = start;
            jobs[job].early_finish = start + what.lasts.mean;
        }
        let end = jobs.iter().map(|job| job.early_finish).fold(0.0, f64::max);
        for (times, what) in jobs.iter_mut().zip(&self.jobs) {
            times.late_start = end - what.lasts.mean;
            times.free_float = end - times.early_finish;
        }
        for &job in self.order.iter().rev() {
            let (starts, must) = (jobs[job].early_start, jobs[job].late_start);
            for after in &self.jobs[job].after {
                let lasts = match after.edge {
                    Edge::Start => 0.0,
                    Edge::End => self.jobs[after.job].lasts.mean,
                };
                let before = &mut jobs[after.job];
                before.late_start = before.late_start.min(must - after.lag - lasts);
                before.free_float = before.free_float.min(starts - after.lag - lasts - before.early_start);
            }
        }
        for (times, what) in jobs.iter_mut().zip(&self.jobs) {
            times.late_finish = times.late_start + what.lasts.mean;
            times.total_float = times.late_start - times.early_start;
        }
        let mut path = Vec::new();
        let mut at = (0..jobs.len()).find(|job| jobs[*job].early_finish == end);
        while let Some(job) = at {
            path.push(job);
            at = held_by[job];
        }
        path.reverse();
        Times { jobs, end, path }
    }

    /// Gives the moments of a path: what its jobs take, and the lags between them. Each job waits for the one before it.
    pub fn along(&self, path: &[usize]) -> Normal {
        let mut sum = Normal::exactly(path.first().map_or(0.0, |job| self.jobs[*job].not_before.unwrap_or(0.0)));
        for (at, job) in path.iter().enumerate() {
            let what = &self.jobs[*job];
            let before = at.checked_sub(1).map(|before| path[before]);
            let wait = what.after.iter().find(|after| Some(after.job) == before);
            sum.mean += wait.map_or(0.0, |wait| wait.lag);
            sum = sum.and_then(what.lasts);
            // a wait for a start leaves out what the job before takes
            if let (Some(After { edge: Edge::Start, job, .. }), true) = (wait, at > 0) {
                sum.mean -= self.jobs[*job].lasts.mean;
                sum.variance -= self.jobs[*job].lasts.variance;
            }
        }
        sum
    }

    /// Gives the moments of the end of each job, where paths meet by Clark's formulas, with what paths have in common.
    pub fn finishes(&self) -> Vec<Normal> {
        let moments = Moments::of(self);
        (0..self.jobs.len()).map(|job| moments.at(job, Edge::End)).collect()
    }

    /// Gives the moments of the end of the last of these jobs; nothing if there are none.
    pub fn last_of(&self, jobs: &[usize]) -> Option<Normal> {
        let moments = Moments::of(self);
        moments.last_of(jobs.iter().map(|job| (moments.variable(*job, Edge::End), 0.0)).collect()).map(|row| row.time)
    }

    /// Gives the moments of the end of the whole.
    pub fn end(&self) -> Normal {
        let waited_for = |job: usize| {
            let mut waits = self.jobs.iter().flat_map(|what| &what.after);
            waits.any(|after| after.job == job && after.edge == Edge::End && after.lag >= 0.0)
        };
        let last: Vec<usize> = (0..self.jobs.len()).filter(|job| !waited_for(*job)).collect();
        self.last_of(&last).unwrap_or_default()
    }
}

fn edge_of(times: &JobTimes, edge: Edge) -> f64 {
    match edge {
        Edge::Start => times.early_start,
        Edge::End => times.early_finish,
    }
}

/// Probability that a standard normal variable is below a value.
fn below(value: f64) -> f64 {
    libm::erfc(-value / core::f64::consts::SQRT_2) / 2.0
}

/// Starts and ends of all jobs with their covariances; the start of a job has twice its index, its end one more.
struct Moments {
    times: Vec<Normal>,
    covariances: Vec<f64>,
}

/// A time with its covariances to all others.
struct Row {
    time: Normal,
    covariances: Vec<f64>,
}

impl Moments {
    fn of(network: &Network) -> Self {
        let count = 2 * network.jobs.len();
        let mut moments = Self { times: vec![Normal::default(); count], covariances: vec![0.0; count * count] };
        for &job in &network.order {
            let what = &network.jobs[job];
            let waits = what.after.iter().map(|after| (moments.variable(after.job, after.edge), after.lag)).collect();
            let none = || Row { time: Normal::default(), covariances: vec![0.0; count] };
            let mut start = moments.last_of(waits).unwrap_or_else(none);
            if let Some(moment) = what.not_before {
                let fixed = Row { time: Normal::exactly(moment), covariances: vec![0.0; count] };
                start = if what.after.is_empty() { fixed } else { later_of(start, &fixed, 0.0) };
            }
            let (at, end) = (moments.variable(job, Edge::Start), moments.variable(job, Edge::End));
            let finish = start.time.and_then(what.lasts);
            for (other, covariance) in start.covariances.iter().enumerate() {
                for variable in [at, end] {
                    moments.covariances[variable * count + other] = *covariance;
                    moments.covariances[other * count + variable] = *covariance;
                }
            }
            let own = start.time.variance;
            for (one, other, covariance) in [(at, at, own), (at, end, own), (end, at, own), (end, end, finish.variance)]
            {
                moments.covariances[one * count + other] = covariance;
            }
            moments.times[at] = start.time;
            moments.times[end] = finish;
        }
        moments
    }

    fn variable(&self, job: usize, edge: Edge) -> usize {
        match edge {
            Edge::Start => 2 * job,
            Edge::End => 2 * job + 1,
        }
    }

    fn at(&self, job: usize, edge: Edge) -> Normal {
        self.times[self.variable(job, edge)]
    }

    /// The last of variables with a lag each.
    fn last_of(&self, waits: Vec<(usize, f64)>) -> Option<Row> {
        let count = self.times.len();
        let row = |(variable, lag): (usize, f64)| {
            let time = self.times[variable];
            Row {
                time: Normal { mean: time.mean + lag, variance: time.variance },
                covariances: self.covariances[variable * count..(variable + 1) * count].to_vec(),
            }
        };
        waits.into_iter().fold(None, |last, wait| {
            let next = row(wait);
            Some(match last {
                None => next,
                Some(last) => {
                    let covariance = last.covariances[wait.0];
                    later_of(last, &next, covariance)
                }
            })
        })
    }
}

fn later_of(one: Row, other: &Row, covariance: f64) -> Row {
    let Larger { of_both, first } = larger(one.time, other.time, covariance);
    let pairs = one.covariances.iter().zip(&other.covariances);
    Row { time: of_both, covariances: pairs.map(|(one, other)| one * first + other * (1.0 - first)).collect() }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn after(jobs: &[usize]) -> Vec<After> {
        jobs.iter().map(|job| After { job: *job, edge: Edge::End, lag: 0.0 }).collect()
    }

    fn network(jobs: &[([f64; 3], &[usize])]) -> Network {
        let job = |(estimates, before): &([f64; 3], &[usize])| {
            let [low, likely, high] = *estimates;
            Job { lasts: Normal::pert(low, likely, high), after: after(before), not_before: None }
        };
        Network::new(jobs.iter().map(job).collect()).unwrap()
    }

    /// The Reliable Construction Co. project, activities A to N in weeks: Hillier & Lieberman, "Introduction to Operations
    /// Research", chapter on project management. Estimates and results from memory.
    const RELIABLE: [([f64; 3], &[usize]); 14] = [
        ([1.0, 2.0, 3.0], &[]),
        ([2.0, 3.5, 8.0], &[0]),
        ([6.0, 9.0, 18.0], &[1]),
        ([4.0, 5.5, 10.0], &[2]),
        ([1.0, 4.5, 5.0], &[2]),
        ([4.0, 4.0, 10.0], &[4]),
        ([5.0, 6.5, 11.0], &[3]),
        ([5.0, 8.0, 17.0], &[4, 6]),
        ([3.0, 7.5, 9.0], &[2]),
        ([3.0, 9.0, 9.0], &[5, 8]),
        ([4.0, 4.0, 4.0], &[9]),
        ([1.0, 5.5, 7.0], &[9]),
        ([1.0, 2.0, 3.0], &[7]),
        ([5.0, 5.5, 9.0], &[10, 11]),
    ];

    /// A project of eight activities in weeks, the Milwaukee Paper example: Heizer & Render, "Operations Management",
    /// chapter on project management. Estimates and results from memory.
    const PAPER: [([f64; 3], &[usize]); 8] = [
        ([1.0, 2.0, 3.0], &[]),
        ([2.0, 3.0, 4.0], &[]),
        ([1.0, 2.0, 3.0], &[0]),
        ([2.0, 4.0, 6.0], &[0, 1]),
        ([1.0, 4.0, 7.0], &[2]),
        ([1.0, 2.0, 9.0], &[2]),
        ([3.0, 4.0, 11.0], &[3, 4]),
        ([1.0, 2.0, 3.0], &[5, 6]),
    ];

    fn letters(path: &[usize]) -> alloc::string::String {
        path.iter().map(|job| char::from(b'A' + u8::try_from(*job).unwrap())).collect()
    }

    fn near(found: f64, expected: f64, within: f64) {
        assert!((found - expected).abs() <= within, "expected {expected} within {within}, found {found}");
    }

    #[test]
    fn reliable_construction_takes_44_weeks_with_variance_9_and_47_weeks_with_84_per_cent() {
        let project = network(&RELIABLE);
        let times = project.times();
        assert_eq!(letters(&times.path), "ABCEFJLN");
        near(times.end, 44.0, 1e-9);
        let along = project.along(&times.path);
        near(along.mean, 44.0, 1e-9);
        near(along.variance, 9.0, 1e-9);
        near(along.chance_by(47.0), 0.8413, 5e-5);
        // slack of D, G, H, I, K, M; none elsewhere
        let expected = [0, 0, 0, 4, 0, 0, 4, 4, 2, 0, 1, 0, 4, 0];
        for (job, slack) in expected.into_iter().enumerate() {
            near(times.jobs[job].total_float, f64::from(slack), 1e-9);
        }
        // the float of D, G and H is passed on, that of M, I and K is their own
        let free = |letter: u8| times.jobs[usize::from(letter - b'A')].free_float;
        for (letter, expected) in [(b'D', 0.0), (b'G', 0.0), (b'H', 0.0), (b'I', 2.0), (b'K', 1.0), (b'M', 4.0)] {
            near(free(letter), expected, 1e-9);
        }
    }

    #[test]
    fn paper_mill_takes_15_weeks_along_acegh_and_16_weeks_with_72_per_cent() {
        let project = network(&PAPER);
        let times = project.times();
        assert_eq!(letters(&times.path), "ACEGH");
        let along = project.along(&times.path);
        near(along.mean, 15.0, 1e-9);
        near(along.variance, 3.11, 0.005);
        // the book reads 0.7157 off its table at 0.57 deviations; unrounded it is 0.7146
        near(along.chance_by(16.0), 0.7157, 0.0012);
        // the date that is kept in 99 of 100: 19.1 weeks
        near(along.moment_at(0.99), 19.1, 0.01);
        let row = |job: usize| {
            let JobTimes { early_start, early_finish, late_start, late_finish, total_float, .. } = times.jobs[job];
            [early_start, early_finish, late_start, late_finish, total_float]
        };
        for (job, expected) in [
            (0, [0.0, 2.0, 0.0, 2.0, 0.0]),
            (1, [0.0, 3.0, 1.0, 4.0, 1.0]),
            (2, [2.0, 4.0, 2.0, 4.0, 0.0]),
            (3, [3.0, 7.0, 4.0, 8.0, 1.0]),
            (4, [4.0, 8.0, 4.0, 8.0, 0.0]),
            (5, [4.0, 7.0, 10.0, 13.0, 6.0]),
            (6, [8.0, 13.0, 8.0, 13.0, 0.0]),
            (7, [13.0, 15.0, 13.0, 15.0, 0.0]),
        ] {
            for (found, expected) in row(job).into_iter().zip(expected) {
                near(found, expected, 1e-9);
            }
        }
    }

    #[test]
    fn larger_of_two_equal_normals_has_clarks_mean_and_variance() {
        let normal = Normal { mean: 0.0, variance: 1.0 };
        let both = larger(normal, normal, 0.0);
        near(both.of_both.mean, 1.0 / libm::sqrt(core::f64::consts::PI), 1e-12);
        near(both.of_both.variance, 1.0 - 1.0 / core::f64::consts::PI, 1e-12);
        near(both.first, 0.5, 1e-15);
        // moved together there is nothing to choose; moved against each other it is the mean of |x|
        assert_eq!(larger(normal, normal, 1.0).of_both, normal);
        near(larger(normal, normal, -1.0).of_both.mean, libm::sqrt(2.0 / core::f64::consts::PI), 1e-12);
    }

    #[test]
    fn normal_chances_and_moments_are_each_others_inverse() {
        let normal = Normal { mean: 30.0, variance: 4.0 };
        near(normal.chance_by(30.0), 0.5, 1e-15);
        // 1.959964 deviations: 97.5 %
        near(normal.chance_by(30.0 + 2.0 * 1.959_964), 0.975, 1e-6);
        for chance in [0.001, 0.1, 0.5, 0.9, 0.975] {
            near(normal.chance_by(normal.moment_at(chance)), chance, 1e-12);
        }
        assert_eq!(Normal::exactly(5.0).chance_by(4.999), 0.0);
        assert_eq!(Normal::exactly(5.0).chance_by(5.0), 1.0);
    }

    /// Numbers from 0 to 1 from a seed (splitmix64).
    struct Chance(u64);

    impl Chance {
        fn next(&mut self) -> f64 {
            self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
            let mut bits = self.0;
            bits = (bits ^ (bits >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            bits = (bits ^ (bits >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            ((bits ^ (bits >> 31)) >> 11) as f64 / (1u64 << 53) as f64
        }

        /// PERT's beta distribution, whose mean is that of the three estimates, by rejection.
        fn beta(&mut self, [low, likely, high]: [f64; 3]) -> f64 {
            if low == high {
                return low;
            }
            let peak = (likely - low) / (high - low);
            let (left, right) = (4.0 * peak, 4.0 * (1.0 - peak));
            let density = |at: f64| libm::pow(at, left) * libm::pow(1.0 - at, right);
            let most = density(peak);
            loop {
                let at = self.next();
                if self.next() * most <= density(at) {
                    return low + at * (high - low);
                }
            }
        }

        fn normal(&mut self, of: Normal) -> f64 {
            let radius = libm::sqrt(-2.0 * libm::log(1.0 - self.next()));
            of.mean + of.deviation() * radius * libm::cos(2.0 * core::f64::consts::PI * self.next())
        }
    }

    /// Mean, variance and share that ends by a moment, of so many runs of a project.
    fn simulated(
        jobs: &[([f64; 3], &[usize])],
        runs: u32,
        by: f64,
        mut lasts: impl FnMut([f64; 3]) -> f64,
    ) -> [f64; 3] {
        let (mut sum, mut squares, mut held) = (0.0, 0.0, 0u32);
        for _ in 0..runs {
            let mut ends: Vec<f64> = Vec::new();
            for (estimates, before) in jobs {
                let start = before.iter().map(|job| ends[*job]).fold(0.0, f64::max);
                ends.push(start + lasts(*estimates));
            }
            let end = ends.into_iter().fold(0.0, f64::max);
            sum += end;
            squares += end * end;
            held += u32::from(end <= by);
        }
        let runs = f64::from(runs);
        let mean = sum / runs;
        [mean, squares / runs - mean * mean, f64::from(held) / runs]
    }

    #[test]
    fn clark_comes_nearer_to_simulation_than_the_critical_path_where_paths_meet() {
        let project = network(&RELIABLE);
        let along = project.along(&project.times().path);
        let clark = project.end();
        // 100,000 runs: the mean is known to about 0.01 weeks, the chance to 0.0012
        let mut chance = Chance(11);
        let [mean, variance, held] =
            simulated(&RELIABLE, 100_000, 47.0, |[low, likely, high]| chance.normal(Normal::pert(low, likely, high)));
        assert!(mean > along.mean + 0.2, "no merge bias: {mean}");
        near(clark.mean, mean, 0.03);
        near(clark.variance, variance, 0.15);
        near(clark.chance_by(47.0), held, 0.004);
        // what the book reads off the critical path is too sure
        assert!((along.chance_by(47.0) - held).abs() > 4.0 * (clark.chance_by(47.0) - held).abs());
        // not the shape of the distribution makes the bias
        let mut chance = Chance(12);
        let [beta_mean, ..] = simulated(&RELIABLE, 20_000, 47.0, |estimates| chance.beta(estimates));
        assert!((clark.mean - beta_mean).abs() < (along.mean - beta_mean).abs() / 3.0, "{beta_mean}");
    }

    #[test]
    fn common_part_of_two_paths_makes_no_bias_of_its_own() {
        // one job of large variance, then two short ones that are sure: the later is always the same
        let jobs = [
            Job { lasts: Normal { mean: 10.0, variance: 25.0 }, ..Job::default() },
            Job { lasts: Normal::exactly(1.0), after: after(&[0]), not_before: None },
            Job { lasts: Normal::exactly(2.0), after: after(&[0]), not_before: None },
            Job { lasts: Normal::exactly(0.0), after: after(&[1, 2]), not_before: None },
        ];
        let end = Network::new(jobs.to_vec()).unwrap().end();
        near(end.mean, 12.0, 1e-9);
        near(end.variance, 25.0, 1e-9);
    }

    #[test]
    fn waits_for_a_start_leave_out_what_the_job_takes() {
        let wait = After { job: 0, edge: Edge::Start, lag: 3.0 };
        let jobs = [
            Job { lasts: Normal { mean: 10.0, variance: 4.0 }, ..Job::default() },
            Job { lasts: Normal { mean: 20.0, variance: 1.0 }, after: vec![wait], not_before: None },
        ];
        let network = Network::new(jobs.to_vec()).unwrap();
        let times = network.times();
        assert_eq!((times.end, times.path.as_slice()), (23.0, [0, 1].as_slice()));
        // the second holds the end, whenever the first ends
        near(times.jobs[0].total_float, 0.0, 1e-12);
        near(network.along(&times.path).variance, 1.0, 1e-12);
        near(network.finishes()[1].variance, 1.0, 1e-12);
        // the first ends last in one of some million runs: Clark's mean is next to the longer one
        near(network.end().mean, 23.0, 1e-6);
    }

    #[test]
    fn job_that_is_not_started_before_its_moment_takes_no_early_luck() {
        let job = Job { lasts: Normal { mean: 10.0, variance: 4.0 }, ..Job::default() };
        let next = Job { lasts: Normal::exactly(5.0), after: after(&[0]), not_before: Some(10.0) };
        let end = Network::new(vec![job, next]).unwrap().end();
        // mean of the larger of 0 and a normal of deviation 2: 2 / sqrt(2 pi)
        near(end.mean, 15.0 + 2.0 / libm::sqrt(2.0 * core::f64::consts::PI), 1e-9);
    }

    #[test]
    fn rings_and_unknown_jobs_are_told_by_their_number() {
        let job = |before: &[usize]| Job { after: after(before), ..Job::default() };
        assert_eq!(Network::new(vec![job(&[]), job(&[2]), job(&[1])]), Err(NetworkError::Ring { job: 1 }));
        let unknown = NetworkError::UnknownJob { job: 0, found: 7, count: 1 };
        assert_eq!(Network::new(vec![job(&[7])]), Err(unknown));
        assert_eq!(Network::new(Vec::new()).unwrap().end(), Normal::exactly(0.0));
    }
}
