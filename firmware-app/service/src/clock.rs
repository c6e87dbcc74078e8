//! The one place that asks the clocks.
//!
//! Elapsed time is the kernel's boot-time clock: it runs on in suspend and no one can set it. The wall clock is only
//! written beside it, with whether it was known to be right, and never times the food.

use std::{
    fmt,
    path::Path,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use quantities::{Drift, Span};
use rustix::time::{ClockId, Timespec};

/// Which boot of the station a boot time belongs to.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct BootId(Arc<str>);

/// What all clocks said at one moment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stamp {
    /// Which boot.
    pub boot: BootId,
    /// Milliseconds since that boot, time asleep included, rounded down.
    pub boot_ms: u64,
    /// Milliseconds since 1970 in universal time; nothing if the clock was never set.
    pub wall: Option<i64>,
    /// Whether the wall clock was known to be right.
    pub synced: bool,
}

/// Gives the time.
///
/// Boot time never runs backwards within one boot.
pub trait Clock: Send + Sync {
    /// What all clocks say.
    fn stamp(&self) -> Stamp;

    /// Milliseconds since boot, rounded down; cheaper than a stamp.
    fn boot_ms(&self) -> u64;
}

/// The clocks of this machine.
#[derive(Clone, Debug)]
pub struct SystemClock {
    boot: BootId,
}

/// A clock that says what a test or a simulated kitchen tells it; clones share one time.
#[derive(Clone, Debug)]
pub struct ScriptedClock(Arc<Mutex<Stamp>>);

/// Notices when the wall clock was set: it then moved by another span than boot time did.
#[derive(Clone, Debug)]
pub struct WallWatch {
    last: Option<Stamp>,
    least: Span,
}

/// A station that was away for less than this in one boot was only restarted: the food was on all the time.
pub const ASK_AFTER: Span = Span::from_secs(60);

/// 2025-01-01: a wall clock before it was never set, since the program is younger.
const OLDEST_WALL_MS: i64 = 1_735_689_600_000;
const BOOT_ID: &str = "/proc/sys/kernel/random/boot_id";
/// systemd-timesyncd makes this file at the first synchronisation after boot (systemd-timesyncd.service(8)).
const SYNCED_FLAG: &str = "/run/systemd/timesync/synchronized";

impl BootId {
    /// The id as the system writes it.
    pub fn new(text: &str) -> Self {
        Self(text.into())
    }

    /// Its text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl SystemClock {
    /// Opens the clocks; reads the boot id once.
    ///
    /// Without a boot id (no `/proc`) every start counts as a boot of its own, named by the boot time of this call: dark
    /// time is then bounded instead of known, never wrongly taken for known.
    pub fn new() -> Self {
        let boot = match std::fs::read_to_string(BOOT_ID) {
            Ok(text) => BootId::new(text.trim()),
            Err(_) => BootId::new(&format!("unnamed-{}-{}", std::process::id(), millis(now(ClockId::Boottime)))),
        };
        Self { boot }
    }
}

impl Default for SystemClock {
    fn default() -> Self {
        Self::new()
    }
}

impl Clock for SystemClock {
    fn stamp(&self) -> Stamp {
        let synced = Path::new(SYNCED_FLAG).exists();
        sample(self.boot.clone(), now(ClockId::Boottime), now(ClockId::Realtime), synced)
    }

    fn boot_ms(&self) -> u64 {
        u64::try_from(millis(now(ClockId::Boottime))).unwrap_or(0)
    }
}

impl ScriptedClock {
    /// Starts at this stamp.
    pub fn at(stamp: Stamp) -> Self {
        Self(Arc::new(Mutex::new(stamp)))
    }

    /// Lets time pass on all clocks.
    pub fn advance(&self, span: Span) {
        let mut stamp = self.held();
        stamp.boot_ms = stamp.boot_ms.saturating_add(span.millis());
        stamp.wall = stamp.wall.map(|wall| wall.saturating_add_unsigned(span.millis()));
    }

    /// Sets the wall clock off by this much; boot time does not move.
    pub fn set_wall_off(&self, by: Drift) {
        let mut stamp = self.held();
        stamp.wall = stamp.wall.map(|wall| wall.saturating_add(by.millis()));
    }

    /// Becomes another stamp altogether, such as after a restart.
    pub fn become_stamp(&self, stamp: Stamp) {
        *self.held() = stamp;
    }

    fn held(&self) -> MutexGuard<'_, Stamp> {
        // a stamp is written whole or not at all, so one left by a panic is still a stamp
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Clock for ScriptedClock {
    fn stamp(&self) -> Stamp {
        self.held().clone()
    }

    fn boot_ms(&self) -> u64 {
        self.held().boot_ms
    }
}

impl WallWatch {
    /// Calls a difference of at least this a jump; below it is the slow correction of a good clock.
    pub fn new(least: Span) -> Self {
        Self { last: None, least }
    }

    /// How far the wall clock was set since the last call, if it was; call it every few seconds.
    ///
    /// Stamps of two boots, or with an unset wall clock, are not compared.
    pub fn jump(&mut self, stamp: &Stamp) -> Option<Drift> {
        let last = self.last.replace(stamp.clone())?;
        if last.boot != stamp.boot {
            return None;
        }
        let moved = i128::from(stamp.wall?) - i128::from(last.wall?);
        let passed = i128::from(stamp.boot_ms) - i128::from(last.boot_ms);
        let drift = Drift::from_millis(i64::try_from(moved - passed).ok()?);
        (drift.size() >= self.least).then_some(drift)
    }
}

impl Stamp {
    /// In the form of the record; an unset wall clock is written as 1970 and not synchronised.
    pub fn for_record(&self) -> trial::Stamp {
        trial::Stamp {
            boot: self.boot.as_str().to_owned(),
            boot_ms: self.boot_ms,
            wall_ms: self.wall.unwrap_or(0),
            synced: self.synced && self.wall.is_some(),
        }
    }
}

impl fmt::Debug for BootId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(&self.0, f)
    }
}

impl fmt::Display for BootId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[allow(clippy::disallowed_methods, reason = "the one place that asks the clocks")]
fn now(clock: ClockId) -> Timespec {
    rustix::time::clock_gettime(clock)
}

fn sample(boot: BootId, since_boot: Timespec, wall: Timespec, synced: bool) -> Stamp {
    let wall = Some(millis(wall)).filter(|wall| *wall >= OLDEST_WALL_MS);
    Stamp { boot, boot_ms: u64::try_from(millis(since_boot)).unwrap_or(0), wall, synced: synced && wall.is_some() }
}

fn millis(time: Timespec) -> i64 {
    time.tv_sec.saturating_mul(1000).saturating_add(time.tv_nsec / 1_000_000)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spec(secs: i64, nanos: i64) -> Timespec {
        Timespec { tv_sec: secs, tv_nsec: nanos }
    }

    fn stamp() -> Stamp {
        sample(BootId::new("one"), spec(100, 0), spec(1_795_000_000, 0), true)
    }

    #[test]
    fn boot_time_is_rounded_down_so_that_nothing_comes_early() {
        assert_eq!(sample(BootId::new("b"), spec(12, 999_999_999), spec(1_795_000_000, 0), false).boot_ms, 12_999);
    }

    #[test]
    fn a_wall_clock_that_was_never_set_is_no_time_and_never_synchronised() {
        let unset = sample(BootId::new("b"), spec(5, 0), spec(86_400, 0), true);
        assert_eq!((unset.wall, unset.synced), (None, false));
        assert_eq!((unset.for_record().wall_ms, unset.for_record().synced), (0, false));
    }

    #[test]
    fn the_system_clock_names_its_boot_and_goes_forward() {
        let clock = SystemClock::new();
        let (first, second) = (clock.stamp(), clock.stamp());
        assert_eq!(first.boot, second.boot);
        assert!(first.boot_ms <= second.boot_ms);
        assert!(second.boot_ms <= clock.boot_ms());
        assert_eq!(SystemClock::new().stamp().boot, first.boot);
    }

    #[test]
    fn setting_the_wall_clock_moves_no_boot_time_and_is_noticed_once() {
        let clock = ScriptedClock::at(stamp());
        let mut watch = WallWatch::new(Span::from_secs(2));
        assert_eq!(watch.jump(&clock.stamp()), None);
        clock.advance(Span::from_secs(10));
        assert_eq!(watch.jump(&clock.stamp()), None);
        clock.set_wall_off(Drift::from_millis(-3_600_000));
        clock.advance(Span::from_secs(10));
        assert_eq!(watch.jump(&clock.stamp()), Some(Drift::from_millis(-3_600_000)));
        assert_eq!(clock.boot_ms(), 120_000);
        clock.advance(Span::from_secs(10));
        assert_eq!(watch.jump(&clock.stamp()), None);
    }

    #[test]
    fn a_slow_correction_is_no_jump() {
        let clock = ScriptedClock::at(stamp());
        let mut watch = WallWatch::new(Span::from_secs(2));
        watch.jump(&clock.stamp());
        clock.set_wall_off(Drift::from_millis(1_999));
        assert_eq!(watch.jump(&clock.stamp()), None);
    }

    #[test]
    fn two_boots_are_not_compared() {
        let clock = ScriptedClock::at(stamp());
        let mut watch = WallWatch::new(Span::from_secs(2));
        watch.jump(&clock.stamp());
        clock.become_stamp(Stamp { boot: BootId::new("two"), boot_ms: 3, ..stamp() });
        assert_eq!(watch.jump(&clock.stamp()), None);
    }
}
