use std::{cmp::Reverse, collections::VecDeque};

use quantities::{RunTime, Span};

use super::{Head, SoundCue};
use crate::LaneKey;

/// What the sounder is told to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Sounding {
    /// Cut off what is playing.
    Stop,
    /// Play this; nothing else is playing.
    Play(SoundCue),
}

/// Decides which sound plays when.
///
/// - Nothing overlaps. A sound waits for the one in play to end, with one exception: a high alert cuts off everything
///   that is not high, and counts the lanes of the alert it cut off along with its own.
/// - Alerts that wait together become one: the highest head, then the counts of the two worst lanes. The others are left
///   to panel and lamps, and to their own repeats.
/// - The sounds of keys come after alerts, never cut one off, and are dropped if they would come later than 300 ms.
///
/// There is no clock inside: [`Self::offer`] everything that came, then ask [`Self::due`], again at
/// [`Self::next_deadline`].
#[derive(Clone, Debug, Default)]
pub struct Playing {
    in_play: Option<InPlay>,
    /// What waits to be heard, in the order it came; a lane stands in it once.
    alerts: Vec<Waiting>,
    keys: VecDeque<(SoundCue, RunTime)>,
    /// The alert in play was answered, and is to be cut off.
    answered: bool,
    now: RunTime,
}

#[derive(Clone, Debug)]
struct InPlay {
    head: Head,
    /// The lanes that are still to be told of if it is cut off.
    lanes: Vec<LaneKey>,
    heard_until: RunTime,
    ends: RunTime,
}

#[derive(Clone, Copy, Debug)]
struct Waiting {
    head: Head,
    /// Nothing for an alert that is about no lane.
    lane: Option<LaneKey>,
}

/// What a head may do to others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Weight {
    Key,
    Low,
    Medium,
    High,
}

impl Playing {
    /// Takes a sound that should be heard from now on.
    pub fn offer(&mut self, cue: &SoundCue, at: RunTime) {
        self.now = self.now.max(at);
        if weight(cue.head()) == Weight::Key {
            self.keys.push_back((cue.clone(), self.now));
        } else if cue.lanes().is_empty() {
            self.wait(Waiting { head: cue.head(), lane: None });
        } else {
            cue.lanes().iter().for_each(|lane| self.wait(Waiting { head: cue.head(), lane: Some(*lane) }));
        }
    }

    /// Takes back what is not to be heard about a lane any more, since its alert was answered: what waits, and what is
    /// in play unless it is about another lane too.
    pub fn withdraw(&mut self, lane: LaneKey) {
        self.alerts.retain(|waiting| waiting.lane != Some(lane));
        if let Some(in_play) = &mut self.in_play
            && in_play.lanes.contains(&lane)
        {
            in_play.lanes.retain(|told| *told != lane);
            self.answered |= in_play.lanes.is_empty();
        }
    }

    /// Takes that the sounder did not play what it was told last: nothing is in play.
    pub fn failed(&mut self) {
        self.in_play = None;
        self.answered = false;
    }

    /// Gives what the sounder has to do at this moment, in this order. What is told to play begins at this moment.
    pub fn due(&mut self, at: RunTime) -> Vec<Sounding> {
        self.now = self.now.max(at);
        let now = self.now;
        let mut told = Vec::new();
        let is_cut = self.answered || self.alerts_are_high();
        match self.in_play.take_if(|in_play| in_play.ends <= now || is_cut && weight(in_play.head) < Weight::High) {
            None if self.answered => {
                // a high one that was answered
                self.in_play = None;
                told.push(Sounding::Stop);
            }
            None => {}
            Some(over) if over.ends <= now => {}
            Some(cut) => {
                told.push(Sounding::Stop);
                if cut.heard_until > now && weight(cut.head) > Weight::Key {
                    cut.lanes.iter().for_each(|lane| self.wait(Waiting { head: cut.head, lane: Some(*lane) }));
                }
            }
        }
        self.answered = false;
        if self.in_play.is_none()
            && let Some((cue, lanes)) = self.next_cue()
        {
            let heard_until = now + cue.heard();
            self.in_play = Some(InPlay { head: cue.head(), lanes, heard_until, ends: now + cue.length() });
            told.push(Sounding::Play(cue));
        }
        told
    }

    /// When to ask again, if nothing is offered before; a moment that has passed means at once.
    pub fn next_deadline(&self) -> Option<RunTime> {
        let waits = !self.alerts.is_empty() || !self.keys.is_empty();
        match &self.in_play {
            None => waits.then_some(self.now),
            Some(in_play) => {
                let cuts = self.answered || self.alerts_are_high() && weight(in_play.head) < Weight::High;
                let ends = waits.then_some(in_play.ends);
                if cuts { Some(self.now) } else { ends }
            }
        }
    }

    /// Whether something is in play at this moment.
    pub fn is_playing(&self, at: RunTime) -> bool {
        self.in_play.as_ref().is_some_and(|in_play| in_play.ends > at)
    }

    /// Adds to what waits; of a lane that waits already only the higher head is kept, at its old place.
    fn wait(&mut self, new: Waiting) {
        match self.alerts.iter_mut().find(|waiting| waiting.lane == new.lane) {
            Some(old) if weight(old.head) < weight(new.head) => old.head = new.head,
            Some(_) => {}
            None => self.alerts.push(new),
        }
    }

    fn alerts_are_high(&self) -> bool {
        self.alerts.iter().any(|waiting| weight(waiting.head) == Weight::High)
    }

    /// Everything that waits as one alert, else the next sound of a key that is not too late.
    fn next_cue(&mut self) -> Option<(SoundCue, Vec<LaneKey>)> {
        let mut alerts = std::mem::take(&mut self.alerts);
        // stable, so that of two alike the older comes first
        alerts.sort_by_key(|waiting| Reverse(weight(waiting.head)));
        if let Some(worst) = alerts.first() {
            let lanes: Vec<LaneKey> = alerts.iter().filter_map(|waiting| waiting.lane).collect();
            let cue = SoundCue::new(worst.head, &lanes);
            let told = cue.lanes().to_vec();
            return Some((cue, told));
        }
        while let Some((cue, offered)) = self.keys.pop_front() {
            if self.now.since(offered) <= KEY_LATEST {
                return Some((cue, Vec::new()));
            }
        }
        None
    }
}

fn weight(head: Head) -> Weight {
    match head {
        Head::High => Weight::High,
        Head::Medium => Weight::Medium,
        Head::Low | Head::Count => Weight::Low,
        Head::Taken | Head::NotPossible | Head::Undone | Head::Saved => Weight::Key,
    }
}

/// The sound of a key that would come later than this says nothing about the key.
const KEY_LATEST: Span = Span::from_millis(300);

#[cfg(test)]
mod tests {
    use rand::{RngExt as _, SeedableRng as _};
    use rand_chacha::ChaCha8Rng;

    use super::*;
    use crate::sounder::tests::cue;

    fn at(ms: u64) -> RunTime {
        RunTime::from_millis(ms)
    }

    /// Offers cues at their moments; gives what the sounder was told, as `ms words`.
    fn told(offers: &[(u64, SoundCue)]) -> Vec<String> {
        let mut playing = Playing::default();
        let mut lines = Vec::new();
        let mut ask = |playing: &mut Playing, now: RunTime| {
            for act in playing.due(now) {
                lines.push(match act {
                    Sounding::Stop => format!("{} stop", now.millis()),
                    Sounding::Play(cue) => format!("{} {cue}", now.millis()),
                });
            }
        };
        let mut left = offers.iter().peekable();
        loop {
            let deadline = playing.next_deadline();
            match (left.peek().map(|(ms, _)| at(*ms)), deadline) {
                (Some(offered), deadline) if deadline.is_none_or(|deadline| offered <= deadline) => {
                    while let Some((_, cue)) = left.next_if(|(ms, _)| at(*ms) == offered) {
                        playing.offer(cue, offered);
                    }
                    ask(&mut playing, offered);
                }
                (_, Some(deadline)) => ask(&mut playing, deadline),
                (_, None) => return lines,
            }
        }
    }

    #[test]
    fn a_medium_waits_for_the_pattern_in_play_to_end() {
        let first = cue(Head::Medium, &[1]);
        let ends = first.length().millis();
        assert_eq!(
            told(&[(0, first), (100, cue(Head::Medium, &[2]))]),
            ["0 medium, then 1 beep".to_owned(), format!("{ends} medium, then 2 beeps")]
        );
    }

    #[test]
    fn a_high_cuts_a_medium_off_and_counts_its_lane_too() {
        for lower in [Head::Medium, Head::Low] {
            let lines = told(&[(0, cue(lower, &[3])), (500, cue(Head::High, &[2]))]);
            assert_eq!(lines[1..], ["500 stop", "500 high x5, then 2 beeps, then 3 beeps"]);
        }
        // once the last beep was heard there is nothing left to tell
        let heard = cue(Head::Medium, &[1]).heard().millis();
        let lines = told(&[(0, cue(Head::Medium, &[1])), (heard, cue(Head::High, &[2]))]);
        assert_eq!(lines[2], format!("{heard} high x5, then 2 beeps"));
    }

    #[test]
    fn a_high_waits_for_a_high() {
        let ends = cue(Head::High, &[1]).length().millis();
        assert_eq!(
            told(&[(0, cue(Head::High, &[1])), (10, cue(Head::High, &[2])), (20, cue(Head::Low, &[4]))])[1..],
            [format!("{ends} high x5, then 2 beeps, then 4 beeps")]
        );
    }

    #[test]
    fn alerts_of_one_moment_become_one_with_the_two_worst() {
        assert_eq!(
            told(&[(0, cue(Head::Medium, &[4])), (0, cue(Head::High, &[2]))]),
            ["0 high x5, then 2 beeps, then 4 beeps"]
        );
        assert_eq!(
            told(&[
                (0, cue(Head::Low, &[1])),
                (0, cue(Head::Medium, &[4])),
                (0, cue(Head::Medium, &[3])),
                (0, cue(Head::High, &[2]))
            ]),
            ["0 high x5, then 2 beeps, then 4 beeps"]
        );
        // one lane twice is one count, and an alert about no lane gives only its head
        assert_eq!(told(&[(0, cue(Head::Low, &[1])), (0, cue(Head::Medium, &[1]))]), ["0 medium, then 1 beep"]);
        assert_eq!(told(&[(0, cue(Head::Low, &[1])), (0, cue(Head::Medium, &[]))]), ["0 medium, then 1 beep"]);
    }

    #[test]
    fn key_sounds_never_cut_an_alert_and_are_dropped_when_late() {
        let ends = cue(Head::Low, &[]).length().millis();
        assert_eq!(ends, 300);
        let click = || SoundCue::plain(Head::Taken);
        assert_eq!(told(&[(0, cue(Head::Low, &[])), (0, click())]), ["0 low", "300 key taken"]);
        let longer = cue(Head::Medium, &[]).length().millis();
        assert_eq!(told(&[(0, cue(Head::Medium, &[])), (longer - 301, click())]), ["0 medium"]);
        assert_eq!(told(&[(0, cue(Head::Medium, &[])), (longer - 300, click())])[1], format!("{longer} key taken"));
        // and a high one cuts them off
        assert_eq!(
            told(&[(0, SoundCue::plain(Head::Saved)), (60, cue(Head::High, &[1]))]),
            ["0 saved", "60 stop", "60 high x5, then 1 beep"]
        );
    }

    #[test]
    fn an_answered_alert_is_cut_off_and_another_is_not() {
        let [one, two] = [LaneKey::ALL[0], LaneKey::ALL[1]];
        let mut playing = Playing::default();
        playing.offer(&cue(Head::High, &[1]), at(0));
        playing.due(at(0));
        playing.offer(&cue(Head::Medium, &[2]), at(5));
        playing.withdraw(two);
        assert_eq!(playing.due(at(10)), []);
        playing.withdraw(one);
        playing.offer(&SoundCue::plain(Head::Taken), at(20));
        assert_eq!(playing.next_deadline(), Some(at(20)));
        assert_eq!(playing.due(at(20)), [Sounding::Stop, Sounding::Play(SoundCue::plain(Head::Taken))]);
        // about two lanes: it goes on for the other
        playing.offer(&cue(Head::Medium, &[1, 2]), at(1000));
        playing.due(at(1000));
        playing.withdraw(one);
        assert_eq!(playing.due(at(1010)), []);
        // and what was answered is not told again when it is cut off
        playing.offer(&cue(Head::High, &[4]), at(1020));
        assert_eq!(playing.due(at(1020)), [Sounding::Stop, Sounding::Play(cue(Head::High, &[4, 2]))]);
    }

    #[test]
    fn a_sound_that_failed_holds_nothing_up() {
        let mut playing = Playing::default();
        playing.offer(&cue(Head::High, &[1]), at(0));
        assert_eq!(playing.due(at(0)).len(), 1);
        playing.failed();
        playing.offer(&cue(Head::High, &[2]), at(1));
        assert_eq!(playing.due(at(1)), [Sounding::Play(cue(Head::High, &[2]))]);
    }

    /// A storm of cues, with the loop asking late by up to `late` ms; every act is checked against a sounder that can
    /// play one thing at a time.
    #[test]
    fn in_a_storm_nothing_overlaps_and_every_high_is_heard_in_time() {
        let heads = [Head::High, Head::Medium, Head::Low, Head::Taken, Head::NotPossible, Head::Undone, Head::Saved];
        for (seed, late) in [(1, 0), (2, 0), (3, 8), (4, 30)] {
            let mut chance = ChaCha8Rng::seed_from_u64(seed);
            let mut playing = Playing::default();
            let mut now = 0;
            // what plays: its head and its end; the high ones that wait for a sound
            let mut sounding: Option<(Head, u64)> = None;
            let mut highs: Vec<u64> = Vec::new();
            let mut offered_keys: Vec<u64> = Vec::new();
            let (mut played, mut offered) = (0, 0);
            while offered < 10_000 {
                let next_offer = now + chance.random_range(0..1500);
                while let Some(deadline) = playing.next_deadline().map(RunTime::millis).filter(|at| *at <= next_offer) {
                    now = now.max(deadline) + if late > 0 { chance.random_range(0..late) } else { 0 };
                    heard(&mut playing, now, &mut sounding, &mut highs, &mut offered_keys, &mut played, seed);
                }
                now = now.max(next_offer);
                for _ in 0..chance.random_range(1..=3) {
                    let head = heads[chance.random_range(0..heads.len())];
                    let mut lanes: Vec<u8> = (0..chance.random_range(0..=2)).collect();
                    lanes.iter_mut().for_each(|lane| *lane = chance.random_range(1..=4));
                    let is_key = weight(head) == Weight::Key;
                    playing.offer(&cue(head, if is_key { &[] } else { &lanes }), at(now));
                    highs.extend((head == Head::High).then_some(now));
                    offered_keys.extend(is_key.then_some(now));
                    offered += 1;
                }
                heard(&mut playing, now, &mut sounding, &mut highs, &mut offered_keys, &mut played, seed);
            }
            assert!(played > 1000, "seed {seed}: only {played} were played");
        }
    }

    fn heard(
        playing: &mut Playing,
        now: u64,
        sounding: &mut Option<(Head, u64)>,
        highs: &mut Vec<u64>,
        offered_keys: &mut Vec<u64>,
        played: &mut usize,
        seed: u64,
    ) {
        for act in playing.due(at(now)) {
            match act {
                Sounding::Stop => {
                    let (head, _) = sounding.take().filter(|(_, end)| *end > now).unwrap_or((Head::High, 0));
                    assert!(weight(head) < Weight::High, "seed {seed}, {now} ms: stopped {head:?} or nothing");
                }
                Sounding::Play(cue) => {
                    let free = sounding.is_none_or(|(_, end)| end <= now);
                    assert!(free, "seed {seed}, {now} ms: {cue} comes into {sounding:?}");
                    assert!(cue.length() <= Span::from_millis(3500));
                    if weight(cue.head()) == Weight::Key {
                        assert!(offered_keys.iter().any(|offered| now - offered <= 300), "seed {seed}, {now} ms");
                    }
                    if cue.head() == Head::High {
                        highs.clear();
                    }
                    *sounding = Some((cue.head(), now + cue.length().millis()));
                    *played += 1;
                }
            }
        }
        offered_keys.retain(|offered| now - offered <= 300);
        // at most one pattern of another high lies before it, and a loop that is late
        let waits = highs.iter().map(|offered| now - offered).max().unwrap_or(0);
        assert!(waits <= 3600, "seed {seed}, {now} ms: a high one waits for {waits} ms");
    }
}
