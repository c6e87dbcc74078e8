//! Waiting for a moment of boot time, through suspends, with the kernel's own timer.

use std::{io, os::fd::OwnedFd};

use rustix::time::{Itimerspec, TimerfdClockId, TimerfdFlags, TimerfdTimerFlags, Timespec};
use tokio::io::unix::AsyncFd;

/// One alarm on the boot-time clock.
///
/// It is set to a moment, not for a span: time lost between asking the clock and setting it makes nothing late, and a
/// moment that passed in a suspend rings at once on waking. It does not wake a sleeping machine.
#[derive(Debug)]
pub struct Wake {
    timer: AsyncFd<OwnedFd>,
}

impl Wake {
    /// Makes the alarm; inside the runtime only.
    pub fn new() -> io::Result<Self> {
        let timer =
            rustix::time::timerfd_create(TimerfdClockId::Boottime, TimerfdFlags::NONBLOCK | TimerfdFlags::CLOEXEC)?;
        #[allow(
            deprecated,
            reason = "its successor needs unsafe code; an owned descriptor stays the same and open, which is all it asks"
        )]
        let timer = AsyncFd::new(timer)?;
        Ok(Self { timer })
    }

    /// Waits until the boot-time clock shows `boot_ms`; never returns earlier.
    ///
    /// A moment in the past returns at once. Dropped before it is done, it leaves nothing behind: the next call sets
    /// the alarm anew.
    pub async fn until(&mut self, boot_ms: u64) -> io::Result<()> {
        let at = Itimerspec { it_interval: Timespec { tv_sec: 0, tv_nsec: 0 }, it_value: moment(boot_ms) };
        // setting the timer also clears a ring that nobody fetched
        rustix::time::timerfd_settime(self.timer.get_ref(), TimerfdTimerFlags::ABSTIME, &at)?;
        loop {
            let mut ready = self.timer.readable().await?;
            let mut rings = [0; 8];
            match ready.try_io(|timer| Ok(rustix::io::read(timer.get_ref(), &mut rings)?)) {
                Ok(read) => return read.map(drop),
                // readiness left over from an alarm that was set anew
                Err(_would_block) => {}
            }
        }
    }
}

/// All zero would switch the alarm off, so the moment of boot is one nanosecond after it.
fn moment(boot_ms: u64) -> Timespec {
    let tv_sec = i64::try_from(boot_ms / 1000).unwrap_or(i64::MAX);
    let tv_nsec = i64::try_from(boot_ms % 1000).unwrap_or(0) * 1_000_000;
    Timespec { tv_sec, tv_nsec: if boot_ms == 0 { 1 } else { tv_nsec } }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::clock::{Clock, SystemClock};

    #[tokio::test]
    async fn it_is_never_early_and_not_far_behind() {
        let clock = SystemClock::new();
        let mut wake = Wake::new().unwrap();
        for span in [0, 1, 2, 3, 5, 8, 13, 21, 34, 55] {
            let deadline = clock.boot_ms() + span;
            wake.until(deadline).await.unwrap();
            let now = clock.boot_ms();
            assert!(now >= deadline, "{} ms early", deadline - now);
            assert!(now < deadline + 2_000, "{} ms late", now - deadline);
        }
    }

    #[tokio::test]
    async fn a_moment_in_the_past_returns_at_once() {
        let clock = SystemClock::new();
        let mut wake = Wake::new().unwrap();
        let before = clock.boot_ms();
        for past in [0, 1, before.saturating_sub(60_000)] {
            wake.until(past).await.unwrap();
        }
        assert!(clock.boot_ms() - before < 2_000);
    }

    #[tokio::test]
    async fn a_wait_that_was_dropped_never_ends_the_next_one_early() {
        let clock = SystemClock::new();
        let mut wake = Wake::new().unwrap();
        for _ in 0..20 {
            let dropped = clock.boot_ms() + 2;
            tokio::select! {
                biased;
                done = wake.until(dropped) => done.unwrap(),
                () = tokio::task::yield_now() => {}
            }
            // long enough for the dropped alarm to ring unheard
            let mut other = Wake::new().unwrap();
            other.until(dropped + 3).await.unwrap();
            let deadline = clock.boot_ms() + 20;
            wake.until(deadline).await.unwrap();
            assert!(clock.boot_ms() >= deadline);
        }
    }
}
