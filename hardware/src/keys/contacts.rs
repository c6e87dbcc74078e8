//! From contacts that open and close to presses that count.

use quantities::{RunTime, Span};

use super::{Key, KeyEvent, LaneKey};

/// A press that counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Press {
    /// The key of a lane.
    Lane(LaneKey),
    /// The pedal.
    Pedal,
    /// The knob, let go under 0.6 s.
    Knob,
    /// The knob, held for 1 s; told while it is still down.
    KnobHold,
    /// The knob, let go between 0.6 s and 1 s: neither a push nor a hold, and answered as not possible.
    KnobTooLong,
    /// The knob, turned by so many clicks, to the right if positive.
    Turn(i8),
}

/// Decides which changes of the contacts are presses.
///
/// - A lane key counts 90 ms after its contact closed, or later until it was closed for 30 ms without a change. One that
///   was let go earlier counts too if it was closed that long. The same key is then deaf for 250 ms.
/// - Lane keys that close within 80 ms of each other are a cloth or a palm: none of them counts. The pedal follows the
///   rules of a lane key and takes no part in this one.
/// - The knob counts when it was let go, 30 ms after its last bounce; see [`Press`] for how long it was down.
/// - Single clicks of the knob in opposite directions within 20 ms are bounce, and give nothing (common practice, no
///   source).
/// - Open for less than 30 ms is still the same push.
///
/// There is no clock inside: [`Self::take`] what came, oldest first, then ask [`Self::due`], again at
/// [`Self::next_deadline`] if nothing comes before. An event that is taken after `due` was asked for a later moment is
/// treated as if it came at that moment, so take everything that can be read before asking.
#[derive(Clone, Debug)]
pub struct Contacts {
    rules: Rules,
    /// The latest moment that was told.
    now: RunTime,
    lanes: [Contact; 4],
    pedal: Contact,
    knob: Contact,
    /// A single click that may be taken back by the next.
    click: Option<(i8, RunTime)>,
    counted: Vec<Press>,
    newly_stuck: Vec<Key>,
}

impl Contacts {
    /// For contacts that bounce: keys of an input device.
    pub fn new() -> Self {
        Self::with(Rules {
            counts_after: Span::from_millis(90),
            steady: Span::from_millis(30),
            together: Some(Span::from_millis(80)),
            deaf: Span::from_millis(250),
            click_bounce: Some(Span::from_millis(20)),
        })
    }

    /// For a source that cannot bounce, such as a terminal or a script: a lane key and the pedal count at once, and so
    /// does a turn; keys that come together all count.
    pub fn settled() -> Self {
        Self::with(Rules {
            counts_after: Span::ZERO,
            steady: Span::ZERO,
            together: None,
            deaf: Span::ZERO,
            click_bounce: None,
        })
    }

    /// Takes what happened to a contact. An event from before the last one is treated as if it came with it.
    pub fn take(&mut self, event: KeyEvent, at: RunTime) {
        self.settle(at);
        match event {
            KeyEvent::Down(key) => self.closed(key),
            KeyEvent::Up(key) => {
                let (now, steady) = (self.now, self.rules.steady);
                self.contact(key).open(now, steady);
            }
            KeyEvent::Held(Key::Knob) => {
                // it may have counted already when it was down for a second
                self.counted.extend((!self.knob.is_spent()).then_some(Press::KnobHold));
                self.knob = Contact::default();
            }
            KeyEvent::Held(Key::Lane(_) | Key::Pedal) => {}
            KeyEvent::Turn(clicks) => self.turned(clicks),
        }
        // what counts at once
        self.settle(at);
    }

    /// Gives the presses that count up to this moment, oldest first, each once.
    pub fn due(&mut self, at: RunTime) -> Vec<Press> {
        self.settle(at);
        std::mem::take(&mut self.counted)
    }

    /// When to ask again, if nothing is taken before.
    pub fn next_deadline(&self) -> Option<RunTime> {
        let next = self.next().map(|(at, _)| at);
        if self.counted.is_empty() { next } else { Some(self.now) }
    }

    /// How far the bar of a held knob is filled, in thousandths: from 0.4 s to 1 s after it went down. Nothing before,
    /// and nothing once the hold has counted.
    pub fn hold_share(&self, at: RunTime) -> Option<u16> {
        let State::Down { since, stage: Stage::Waiting { .. }, .. } = self.knob.state else { return None };
        let held = at.since(since).millis();
        // a knob that was let go only waits to be told from one that bounces
        if !self.knob.is_closed() || held < BAR_FROM.millis() {
            return None;
        }
        let filled = (held - BAR_FROM.millis()) * 1000 / (HOLD.millis() - BAR_FROM.millis());
        Some(filled.min(1000) as u16)
    }

    /// The keys that have been down for more than 10 s at the last moment told: something leans on them, or they stick.
    pub fn stuck(&self) -> impl Iterator<Item = Key> + '_ {
        self.keys().filter(|(_, contact)| contact.is_stuck()).map(|(key, _)| key)
    }

    /// The keys that got stuck since the last call, each once for every time it sticks.
    pub fn newly_stuck(&mut self) -> Vec<Key> {
        std::mem::take(&mut self.newly_stuck)
    }

    /// Takes a key that was found down when its device was opened: no press, and stuck after 10 s.
    pub fn found_down(&mut self, key: Key, at: RunTime) {
        self.settle(at);
        let now = self.now;
        let contact = self.contact(key);
        contact.closed_since = Some(now);
        contact.state = State::Down { since: now, stage: Stage::Spent, told_stuck: false };
    }

    /// Lets everything go without a press: the device of the keys is gone, and what they do cannot be seen.
    pub fn lose(&mut self) {
        *self = Self { now: self.now, counted: std::mem::take(&mut self.counted), ..Self::with(self.rules) };
    }

    fn with(rules: Rules) -> Self {
        Self {
            rules,
            now: RunTime::START,
            lanes: [Contact::default(); 4],
            pedal: Contact::default(),
            knob: Contact::default(),
            click: None,
            counted: Vec::new(),
            newly_stuck: Vec::new(),
        }
    }

    fn closed(&mut self, key: Key) {
        let now = self.now;
        let is_new_push = self.contact(key).close(now);
        let (Key::Lane(lane), Some(together), true) = (key, self.rules.together, is_new_push) else { return };
        let mut alone = true;
        for (other, contact) in LaneKey::ALL.into_iter().zip(&mut self.lanes) {
            if other != lane && contact.pushed.is_some_and(|pushed| now.since(pushed) <= together) {
                contact.spend();
                alone = false;
            }
        }
        if !alone {
            self.contact(key).spend();
        }
    }

    fn turned(&mut self, clicks: i8) {
        if let (Some((waiting, _)), true) = (self.click, clicks.unsigned_abs() == 1)
            && waiting == -clicks
        {
            // one that waited for longer than a bounce was counted before this
            self.click = None;
            return;
        }
        if let Some((waiting, _)) = self.click.take() {
            self.counted.push(Press::Turn(waiting));
        }
        match self.rules.click_bounce {
            Some(bounce) if clicks.unsigned_abs() == 1 => self.click = Some((clicks, self.now + bounce)),
            Some(_) | None if clicks != 0 => self.counted.push(Press::Turn(clicks)),
            Some(_) | None => {}
        }
    }

    /// Does everything that is due up to a moment, in the order of time.
    fn settle(&mut self, at: RunTime) {
        while let Some((when, what)) = self.next().filter(|(when, _)| *when <= at) {
            self.now = self.now.max(when);
            match what {
                Due::Count(key) => self.count(key),
                Due::LetGo(key) => self.let_go(key),
                Due::Stuck(key) => {
                    self.contact(key).tell_stuck();
                    self.newly_stuck.push(key);
                }
                Due::Click => {
                    let click = self.click.take();
                    self.counted.extend(click.map(|(clicks, _)| Press::Turn(clicks)));
                }
            }
        }
        self.now = self.now.max(at);
    }

    fn count(&mut self, key: Key) {
        let (now, deaf) = (self.now, self.rules.deaf);
        let contact = self.contact(key);
        contact.spend();
        let press = match key {
            Key::Lane(lane) => Press::Lane(lane),
            Key::Pedal => Press::Pedal,
            // it stays down after the hold has counted, so there is no bounce to be deaf to
            Key::Knob => return self.counted.push(Press::KnobHold),
        };
        contact.deaf_until = now + deaf;
        self.counted.push(press);
    }

    fn let_go(&mut self, key: Key) {
        let contact = self.contact(key);
        let (state, opened) = (contact.state, contact.changed);
        contact.state = State::Open;
        // a lane key or the pedal is let go either after it counted or without having been closed for long enough
        if let (Key::Knob, State::Down { since, stage: Stage::Waiting { firm: true }, .. }) = (key, state) {
            let short = opened.since(since) < PUSH;
            self.counted.push(if short { Press::Knob } else { Press::KnobTooLong });
        }
    }

    fn next(&self) -> Option<(RunTime, Due)> {
        let of_contacts = self.keys().flat_map(|(key, contact)| contact.deadlines(key, self.rules));
        let click = self.click.map(|(_, until)| (until, Due::Click));
        of_contacts.chain(click).min_by_key(|(at, _)| *at)
    }

    fn keys(&self) -> impl Iterator<Item = (Key, &Contact)> {
        let lanes = LaneKey::ALL.map(Key::Lane).into_iter().zip(&self.lanes);
        lanes.chain([(Key::Pedal, &self.pedal), (Key::Knob, &self.knob)])
    }

    fn contact(&mut self, key: Key) -> &mut Contact {
        match key {
            Key::Lane(lane) => &mut self.lanes[usize::from(lane.number() - 1)],
            Key::Pedal => &mut self.pedal,
            Key::Knob => &mut self.knob,
        }
    }
}

impl Default for Contacts {
    fn default() -> Self {
        Self::new()
    }
}

/// What is waited for.
#[derive(Clone, Copy, Debug)]
enum Due {
    /// The press counts, or the hold of the knob.
    Count(Key),
    /// The key was open for long enough to be let go.
    LetGo(Key),
    /// It has been down for too long.
    Stuck(Key),
    /// A click is no bounce.
    Click,
}

#[derive(Clone, Copy, Debug)]
struct Rules {
    counts_after: Span,
    steady: Span,
    together: Option<Span>,
    deaf: Span,
    click_bounce: Option<Span>,
}

/// One contact.
#[derive(Clone, Copy, Debug, Default)]
struct Contact {
    state: State,
    /// Since when it is closed; nothing while it is open.
    closed_since: Option<RunTime>,
    /// When it last opened or closed.
    changed: RunTime,
    /// When the last push began, whether it counted or not.
    pushed: Option<RunTime>,
    deaf_until: RunTime,
}

#[derive(Clone, Copy, Debug, Default)]
enum State {
    #[default]
    Open,
    /// From the first time it closed until it was open for long enough, through all bounces.
    Down { since: RunTime, stage: Stage, told_stuck: bool },
}

#[derive(Clone, Copy, Debug)]
enum Stage {
    /// May still count; firm once it was closed for long enough without a change.
    Waiting { firm: bool },
    /// Has counted, or never will.
    Spent,
}

impl Contact {
    /// The contact closes; says whether that begins a push.
    fn close(&mut self, now: RunTime) -> bool {
        if self.is_closed() {
            return false;
        }
        self.closed_since = Some(now);
        self.changed = now;
        match self.state {
            State::Down { .. } => false,
            State::Open => {
                self.pushed = Some(now);
                let stage = if now < self.deaf_until { Stage::Spent } else { Stage::Waiting { firm: false } };
                self.state = State::Down { since: now, stage, told_stuck: false };
                true
            }
        }
    }

    fn open(&mut self, now: RunTime, steady: Span) {
        let Some(closed) = self.closed_since.take() else { return };
        self.changed = now;
        if let State::Down { stage: Stage::Waiting { firm }, .. } = &mut self.state {
            *firm |= now.since(closed) >= steady;
        }
    }

    /// Makes sure that this push does not count.
    fn spend(&mut self) {
        if let State::Down { stage, .. } = &mut self.state {
            *stage = Stage::Spent;
        }
    }

    fn tell_stuck(&mut self) {
        if let State::Down { told_stuck, .. } = &mut self.state {
            *told_stuck = true;
        }
    }

    fn is_closed(&self) -> bool {
        self.closed_since.is_some()
    }

    fn is_stuck(&self) -> bool {
        matches!(self.state, State::Down { told_stuck: true, .. })
    }

    fn is_spent(&self) -> bool {
        matches!(self.state, State::Down { stage: Stage::Spent, .. })
    }

    fn deadlines(&self, key: Key, rules: Rules) -> impl Iterator<Item = (RunTime, Due)> + use<> {
        let State::Down { since, stage, told_stuck } = self.state else { return [None, None].into_iter().flatten() };
        let let_go = || (self.changed + rules.steady, Due::LetGo(key));
        let main = match (stage, self.closed_since) {
            (Stage::Spent, None) => Some(let_go()),
            (Stage::Spent, Some(_)) => None,
            (Stage::Waiting { firm }, closed) => match key {
                Key::Lane(_) | Key::Pedal => match (firm, closed) {
                    (true, _) => Some((since + rules.counts_after, Due::Count(key))),
                    (false, Some(closed)) => {
                        Some(((since + rules.counts_after).max(closed + rules.steady), Due::Count(key)))
                    }
                    (false, None) => Some(let_go()),
                },
                Key::Knob => match closed {
                    Some(_) => Some((since + HOLD, Due::Count(key))),
                    None => Some(let_go()),
                },
            },
        };
        let stuck = (!told_stuck).then(|| (since + STUCK, Due::Stuck(key)));
        [main, stuck].into_iter().flatten()
    }
}

/// A knob that is let go before is pushed.
const PUSH: Span = Span::from_millis(600);
/// The bar of a held knob begins to fill.
const BAR_FROM: Span = Span::from_millis(400);
/// A knob that is down for so long is held.
const HOLD: Span = Span::from_secs(1);
/// A key that is down for longer is stuck.
const STUCK: Span = Span::from_millis(10_001);

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const ONE: Key = Key::Lane(LaneKey::ALL[0]);
    const TWO: Key = Key::Lane(LaneKey::ALL[1]);

    fn at(ms: u64) -> RunTime {
        RunTime::from_millis(ms)
    }

    fn lane(number: usize) -> Press {
        Press::Lane(LaneKey::ALL[number - 1])
    }

    fn down(key: Key) -> KeyEvent {
        KeyEvent::Down(key)
    }

    fn up(key: Key) -> KeyEvent {
        KeyEvent::Up(key)
    }

    /// Plays events, asking at every deadline between them; gives each press with its moment.
    fn play(mut contacts: Contacts, events: &[(u64, KeyEvent)], until: u64) -> Vec<(u64, Press)> {
        let mut presses = Vec::new();
        let mut ask = |contacts: &mut Contacts, until: RunTime| {
            while let Some(next) = contacts.next_deadline().filter(|next| *next <= until) {
                presses.extend(contacts.due(next).into_iter().map(|press| (next.millis(), press)));
            }
        };
        for (ms, event) in events {
            ask(&mut contacts, at(*ms));
            contacts.take(*event, at(*ms));
        }
        ask(&mut contacts, at(until));
        presses
    }

    fn check(events: &[(u64, KeyEvent)], presses: &[(u64, Press)]) {
        assert_eq!(play(Contacts::new(), events, 20_000), presses, "{events:?}");
    }

    /// A key that closes at `start`, bounces with these lengths of closed and open, is held, and bounces open.
    fn push(key: Key, start: u64, closing: &[u64], held: u64, opening: &[u64]) -> Vec<(u64, KeyEvent)> {
        let mut events = vec![(start, down(key))];
        let mut now = start;
        // an even number of changes leaves it closed
        for (n, length) in closing.iter().enumerate().take(closing.len() / 2 * 2) {
            now += length;
            events.push((now, if n % 2 == 0 { up(key) } else { down(key) }));
        }
        now += held;
        events.push((now, up(key)));
        for (n, length) in opening.iter().enumerate().take(opening.len() / 2 * 2) {
            now += length;
            events.push((now, if n % 2 == 0 { down(key) } else { up(key) }));
        }
        events
    }

    #[test]
    fn a_lane_key_counts_ninety_milliseconds_after_its_contact_closed() {
        check(&[(1000, down(ONE)), (1200, up(ONE))], &[(1090, lane(1))]);
        // held for long it counts once
        check(&[(1000, down(ONE)), (9000, up(ONE))], &[(1090, lane(1))]);
    }

    #[test]
    fn a_tap_counts_if_it_was_closed_for_thirty_milliseconds() {
        check(&[(0, down(ONE)), (30, up(ONE))], &[(90, lane(1))]);
        check(&[(0, down(ONE)), (29, up(ONE))], &[]);
    }

    #[test]
    fn bounce_of_five_milliseconds_for_twenty_gives_one_press() {
        check(&push(ONE, 0, &[5, 5, 5, 5], 300, &[5, 5, 5, 5]), &[(90, lane(1))]);
        check(&push(Key::Pedal, 0, &[5, 5, 5, 5], 300, &[5, 5, 5, 5]), &[(90, Press::Pedal)]);
        check(&push(Key::Knob, 0, &[5, 5, 5, 5], 300, &[5, 5, 5, 5]), &[(370, Press::Knob)]);
    }

    #[test]
    fn a_key_that_chatters_counts_once_it_is_steady() {
        // closed for good at 80, steady for 30 ms at 110
        check(&push(ONE, 0, &[10, 10, 10, 10, 10, 10, 10, 10], 200, &[]), &[(110, lane(1))]);
    }

    #[test]
    fn the_key_is_deaf_for_a_quarter_of_a_second_after_it_counted() {
        let twice = |second| [(0, down(ONE)), (100, up(ONE)), (second, down(ONE)), (second + 150, up(ONE))];
        check(&twice(339), &[(90, lane(1))]);
        check(&twice(340), &[(90, lane(1)), (430, lane(1))]);
        // the next key is not
        check(&[(0, down(ONE)), (100, up(ONE)), (180, down(TWO)), (300, up(TWO))], &[(90, lane(1)), (270, lane(2))]);
    }

    #[test]
    fn two_lane_keys_within_eighty_milliseconds_change_nothing() {
        check(&[(0, down(ONE)), (80, down(TWO)), (300, up(ONE)), (300, up(TWO))], &[]);
        check(&[(0, down(TWO)), (0, down(ONE)), (40, up(ONE)), (300, up(TWO))], &[]);
        check(&[(0, down(ONE)), (81, down(TWO)), (300, up(ONE)), (300, up(TWO))], &[(90, lane(1)), (171, lane(2))]);
    }

    #[test]
    fn a_palm_on_two_three_or_four_keys_counts_for_none_of_them() {
        for first in 0..4 {
            for keys in 2..=4usize {
                for apart in 0..=120 {
                    let lanes = (0..keys).map(|n| LaneKey::ALL[(first + n) % 4]);
                    let starts = lanes.clone().zip(0u64..).map(|(lane, n)| (n * apart, down(Key::Lane(lane))));
                    let ends = lanes.clone().map(|lane| (1000, up(Key::Lane(lane))));
                    let events: Vec<_> = starts.chain(ends).collect();
                    let presses = play(Contacts::new(), &events, 5000);
                    let expected: Vec<_> =
                        lanes.zip(0u64..).map(|(lane, n)| (n * apart + 90, Press::Lane(lane))).collect();
                    let expected = if apart <= 80 { Vec::new() } else { expected };
                    assert_eq!(presses, expected, "{keys} keys from {first}, {apart} ms apart");
                }
            }
        }
    }

    #[test]
    fn the_pedal_does_not_take_part_in_a_palm() {
        check(
            &[(0, down(Key::Pedal)), (20, down(ONE)), (300, up(ONE)), (300, up(Key::Pedal))],
            &[(90, Press::Pedal), (110, lane(1))],
        );
    }

    #[test]
    fn a_key_that_bounces_open_does_not_hinder_the_next() {
        let mut events = push(ONE, 0, &[], 200, &[5, 5, 5, 5]);
        events.extend([(260, down(TWO)), (400, up(TWO))]);
        check(&events, &[(90, lane(1)), (350, lane(2))]);
    }

    #[test]
    fn the_knob_counts_by_how_long_it_was_down() {
        let held = |ms| [(0, down(Key::Knob)), (ms, up(Key::Knob))];
        check(&held(20), &[]);
        check(&held(30), &[(60, Press::Knob)]);
        check(&held(599), &[(629, Press::Knob)]);
        check(&held(600), &[(630, Press::KnobTooLong)]);
        check(&held(999), &[(1029, Press::KnobTooLong)]);
        check(&held(1000), &[(1000, Press::KnobHold)]);
        check(&held(4000), &[(1000, Press::KnobHold)]);
        // bounce at the end of a second is still a hold
        check(
            &[(0, down(Key::Knob)), (990, up(Key::Knob)), (995, down(Key::Knob)), (1500, up(Key::Knob))],
            &[(1000, Press::KnobHold)],
        );
    }

    #[test]
    fn the_bar_of_a_held_knob_fills_from_four_tenths_to_one_second() {
        let mut contacts = Contacts::new();
        assert_eq!(contacts.hold_share(at(500)), None);
        contacts.take(down(Key::Knob), at(1000));
        for (ms, share) in [(1399, None), (1400, Some(0)), (1700, Some(500)), (1999, Some(998))] {
            assert_eq!(contacts.hold_share(at(ms)), share, "{ms}");
        }
        assert_eq!(contacts.due(at(2000)), [Press::KnobHold]);
        assert_eq!(contacts.hold_share(at(2000)), None);
        contacts.take(up(Key::Knob), at(2100));
        assert_eq!(contacts.hold_share(at(2700)), None);
    }

    #[test]
    fn opposite_clicks_within_twenty_milliseconds_are_bounce() {
        let turn = |ms, clicks| (ms, KeyEvent::Turn(clicks));
        check(&[turn(0, 1)], &[(20, Press::Turn(1))]);
        check(&[turn(0, 1), turn(19, -1)], &[]);
        check(&[turn(0, 1), turn(20, -1)], &[(20, Press::Turn(1)), (40, Press::Turn(-1))]);
        check(&[turn(0, 1), turn(5, -1), turn(10, 1)], &[(30, Press::Turn(1))]);
        // a quick turn loses nothing
        let quick: Vec<_> = (0..10).map(|n| turn(n * 8, -1)).collect();
        assert_eq!(play(Contacts::new(), &quick, 1000).len(), 10);
        check(&[turn(0, 1), turn(5, -3)], &[(5, Press::Turn(1)), (5, Press::Turn(-3))]);
    }

    #[test]
    fn a_stuck_key_is_told_once_until_it_is_released() {
        let mut contacts = Contacts::new();
        contacts.take(down(TWO), at(0));
        contacts.due(at(10_000));
        assert_eq!(contacts.newly_stuck(), []);
        assert_eq!(contacts.next_deadline(), Some(at(10_001)));
        contacts.due(at(10_001));
        assert_eq!(contacts.newly_stuck(), [TWO]);
        assert_eq!(contacts.stuck().collect::<Vec<_>>(), [TWO]);
        contacts.due(at(60_000));
        assert_eq!(contacts.newly_stuck(), []);
        // the others still count
        contacts.take(down(ONE), at(61_000));
        assert_eq!(contacts.due(at(61_090)), [lane(1)]);
        contacts.take(up(TWO), at(62_000));
        contacts.due(at(62_030));
        assert_eq!(contacts.stuck().count(), 0);
        contacts.take(down(TWO), at(63_000));
        assert_eq!(contacts.due(at(63_090)), [lane(2)]);
        contacts.due(at(74_000));
        // the first one is down for more than 10 s by now
        assert_eq!(contacts.newly_stuck(), [ONE, TWO]);
    }

    #[test]
    fn a_key_found_down_is_no_press_and_sticks() {
        let mut contacts = Contacts::new();
        contacts.found_down(ONE, at(500));
        assert_eq!(contacts.due(at(20_000)), []);
        assert_eq!(contacts.newly_stuck(), [ONE]);
        contacts.take(up(ONE), at(21_000));
        contacts.take(down(ONE), at(22_000));
        assert_eq!(contacts.due(at(22_090)), [lane(1)]);
    }

    #[test]
    fn a_lost_device_lets_everything_go_without_a_press() {
        for key in [ONE, Key::Knob, Key::Pedal] {
            let mut contacts = Contacts::new();
            contacts.take(down(key), at(0));
            contacts.take(KeyEvent::Turn(1), at(10));
            contacts.lose();
            assert_eq!(contacts.next_deadline(), None);
            // the end of the push comes from the device that was opened anew
            contacts.take(up(key), at(50));
            assert_eq!(contacts.due(at(60_000)), [], "{key:?}");
            assert_eq!(contacts.newly_stuck(), []);
        }
    }

    #[test]
    fn a_source_that_cannot_bounce_counts_at_once() {
        let [one, knob, pedal] = [ONE, Key::Knob, Key::Pedal].map(|key| [(7, down(key)), (7, up(key))]);
        let two = [(7, down(TWO)), (7, up(TWO))];
        let turns = [(7, KeyEvent::Turn(1)), (7, KeyEvent::Turn(-1)), (7, KeyEvent::Held(Key::Knob))];
        let events = [&one[..], &one, &two, &knob, &pedal, &turns].concat();
        let presses =
            [lane(1), lane(1), lane(2), Press::Knob, Press::Pedal, Press::Turn(1), Press::Turn(-1), Press::KnobHold];
        assert_eq!(play(Contacts::settled(), &events, 7), presses.map(|press| (7, press)));
        // a terminal that tells when keys go up
        let held = [(0, down(Key::Knob)), (1100, up(Key::Knob)), (2000, down(Key::Knob)), (2700, up(Key::Knob))];
        assert_eq!(play(Contacts::settled(), &held, 9000), [(1000, Press::KnobHold), (2700, Press::KnobTooLong)]);
    }

    #[test]
    fn a_hold_that_counted_is_not_counted_again() {
        let events = [(0, down(Key::Knob)), (1500, KeyEvent::Held(Key::Knob)), (1500, up(Key::Knob))];
        assert_eq!(play(Contacts::settled(), &events, 9000), [(1000, Press::KnobHold)]);
    }

    #[test]
    fn events_out_of_order_never_turn_time_back() {
        let mut contacts = Contacts::new();
        contacts.take(down(ONE), at(100));
        assert_eq!(contacts.due(at(150)), []);
        contacts.take(down(TWO), at(120));
        // taken as 150: within 80 ms of the other
        assert_eq!(contacts.due(at(1000)), []);
    }

    proptest! {
        #[test]
        fn one_push_is_one_press_however_it_bounces(
            closing in prop::collection::vec(1u64..30, 0..12),
            held in 0u64..2500,
            opening in prop::collection::vec(1u64..30, 0..12),
            key in prop::sample::select(vec![ONE, TWO, Key::Pedal]),
            asked_every in 1u64..40,
        ) {
            let events = push(key, 50, &closing, held, &opening);
            let presses = play(Contacts::new(), &events, 20_000);
            prop_assert!(presses.len() <= 1, "{:?} from {:?}", presses, events);
            if held >= 120 {
                prop_assert_eq!(presses.len(), 1, "lost: {:?}", events);
            }
            // a loop that asks at its own pace finds the same presses
            let mut contacts = Contacts::new();
            let mut found = Vec::new();
            let mut left = events.iter().peekable();
            for now in (0..20_000).step_by(asked_every as usize) {
                while let Some((ms, event)) = left.next_if(|(ms, _)| *ms <= now) {
                    contacts.take(*event, at(*ms));
                }
                found.extend(contacts.due(at(now)));
            }
            prop_assert_eq!(found, presses.into_iter().map(|(_, press)| press).collect::<Vec<_>>());
        }

        #[test]
        fn a_knob_is_one_thing_however_it_bounces(
            closing in prop::collection::vec(1u64..30, 0..8),
            held in 120u64..3000,
            opening in prop::collection::vec(1u64..30, 0..8),
        ) {
            let events = push(Key::Knob, 0, &closing, held, &opening);
            let presses = play(Contacts::new(), &events, 20_000);
            prop_assert_eq!(presses.len(), 1, "{:?} from {:?}", presses, events);
        }
    }
}
