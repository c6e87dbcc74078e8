use quantities::{Celsius, RunTime, Span};

/// The newest readings, at most `N`, oldest first; a fixed amount of memory.
#[derive(Clone, Debug)]
pub(crate) struct Recent<const N: usize> {
    points: [Point; N],
    first: usize,
    len: usize,
}

/// A reading that is kept.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Point {
    pub(crate) at: RunTime,
    pub(crate) core: Celsius,
    /// Whether the line that the next reading is held against may lean on it.
    pub(crate) leaned_on: bool,
}

/// A straight line through readings, by least squares.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Line {
    middle: RunTime,
    level: f64,
    /// Degrees a second.
    pub(crate) slope: f64,
    /// The standard deviation of the readings about the line.
    pub(crate) spread: f64,
    /// How many readings.
    pub(crate) n: usize,
    /// Sum of the squared times from their middle, in s².
    pub(crate) lever: f64,
}

const NOTHING: Point = Point { at: RunTime::START, core: Celsius::whole(0), leaned_on: false };

impl<const N: usize> Recent<N> {
    pub(crate) const fn new() -> Self {
        Self { points: [NOTHING; N], first: 0, len: 0 }
    }

    pub(crate) fn clear(&mut self) {
        self.len = 0;
    }

    pub(crate) fn push(&mut self, point: Point) {
        if self.len == N {
            self.points[self.first] = point;
            self.first = (self.first + 1) % N;
        } else {
            self.points[(self.first + self.len) % N] = point;
            self.len += 1;
        }
    }

    pub(crate) fn newest(&self) -> Option<Point> {
        self.len.checked_sub(1).map(|last| self.points[(self.first + last) % N])
    }

    pub(crate) fn iter(&self) -> impl DoubleEndedIterator<Item = Point> + Clone {
        (0..self.len).map(|i| self.points[(self.first + i) % N])
    }

    /// The newest `count` readings, oldest first.
    pub(crate) fn tail(&self, count: usize) -> impl Iterator<Item = Point> + Clone {
        self.iter().skip(self.len.saturating_sub(count))
    }

    /// Keeps only the newest `count` readings.
    pub(crate) fn keep_newest(&mut self, count: usize) {
        let gone = self.len.saturating_sub(count);
        self.first = (self.first + gone) % N;
        self.len -= gone;
    }

    /// Forgets the readings from a moment on.
    pub(crate) fn forget_since(&mut self, at: RunTime) {
        self.len = self.iter().take_while(|p| p.at < at).count();
    }

    /// Leans on every reading, after a small step that stayed.
    pub(crate) fn lean_on_all(&mut self) {
        for point in &mut self.points {
            point.leaned_on = true;
        }
    }
}

impl Line {
    /// Through at least three readings at different moments.
    pub(crate) fn through(points: impl Iterator<Item = Point> + Clone) -> Option<Self> {
        let mut n = 0usize;
        let mut origin = None;
        let (mut sum_x, mut sum_y) = (0.0, 0.0);
        for point in points.clone() {
            let start: RunTime = *origin.get_or_insert(point.at);
            n += 1;
            sum_x += point.at.since(start).secs();
            sum_y += point.core.degrees();
        }
        let start = origin.filter(|_| n >= 3)?;
        let (mean_x, mean_y) = (sum_x / n as f64, sum_y / n as f64);
        let (mut lever, mut rise) = (0.0, 0.0);
        for point in points.clone() {
            let x = point.at.since(start).secs() - mean_x;
            lever += x * x;
            rise += x * (point.core.degrees() - mean_y);
        }
        if lever <= 0.0 {
            return None;
        }
        let slope = rise / lever;
        let mut off = 0.0;
        for point in points {
            let x = point.at.since(start).secs() - mean_x;
            let miss = point.core.degrees() - mean_y - slope * x;
            off += miss * miss;
        }
        let middle = start + Span::from_millis(libm::round(mean_x * 1000.0) as u64);
        let spread = libm::sqrt(off / (n - 2) as f64);
        Some(Self { middle, level: mean_y, slope, spread, n, lever })
    }

    /// Its value at a moment.
    pub(crate) fn at(&self, now: RunTime) -> f64 {
        self.level + self.slope * now.drift_from(self.middle).millis() as f64 / 1000.0
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn point(secs: u64, degrees: f64) -> Point {
        Point { at: RunTime::from_millis(secs * 1000), core: Celsius::from_degrees(degrees).unwrap(), leaned_on: true }
    }

    #[test]
    fn the_oldest_reading_makes_room() {
        let mut recent = Recent::<3>::new();
        for s in 0..5u32 {
            recent.push(point(s.into(), f64::from(s)));
        }
        let kept: std::vec::Vec<_> = recent.iter().map(|p| p.at.since_start().whole_secs()).collect();
        assert_eq!(kept, [2, 3, 4]);
        assert_eq!(recent.newest().unwrap().core, Celsius::whole(4));
    }

    // by hand: 10 + 0.5 t, off by +0.1, -0.2, +0.1
    #[test]
    fn a_line_is_found_through_its_noise() {
        let points = [point(100, 60.1), point(102, 60.8), point(104, 62.1)];
        let line = Line::through(points.into_iter()).unwrap();
        assert!((line.slope - 0.5).abs() < 1e-9);
        assert!((line.at(RunTime::from_millis(110_000)) - 65.0).abs() < 1e-9);
        assert!((line.spread - libm::sqrt(0.06)).abs() < 1e-9);
        assert!(Line::through([point(1, 1.0); 4].into_iter()).is_none());
    }
}
