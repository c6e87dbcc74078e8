use quantities::{RunTime, Span};

/// Spares a panel whose pixels age with use: while nothing is cooked and no key is pressed, the picture moves by a pixel
/// now and then, and after a while it is dim.
///
/// Tell it about each key and about the run; ask it before each drawing. A run keeps the picture bright and where it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BurnIn {
    /// How often the picture was moved before it was used last.
    moves: u64,
    state: State,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    /// A run goes on.
    Running,
    /// No run goes on; the panel was used last at this moment.
    Idle { since: RunTime },
}

/// The picture moves after each such time.
pub const MOVES_AFTER: Span = Span::from_secs(10 * 60);
/// The picture is dim after such a time without a run and without a key.
pub const DIM_AFTER: Span = Span::from_secs(10 * 60);

/// Where the picture stands in turn: right and down, in px.
const PLACES: [(u32, u32); 4] = [(0, 0), (1, 0), (1, 1), (0, 1)];

impl BurnIn {
    /// Of a panel that was switched on at this moment, without a run.
    pub const fn new(now: RunTime) -> Self {
        Self { moves: 0, state: State::Idle { since: now } }
    }

    /// A key was pressed: the picture is bright, and stays where it is for as long again.
    pub fn used(&mut self, now: RunTime) {
        self.moves += self.moves_since(now);
        self.state = match self.state {
            State::Running => State::Running,
            State::Idle { .. } => State::Idle { since: now },
        };
    }

    /// Whether a run goes on. Can be told as often as one likes.
    pub fn run(&mut self, goes_on: bool, now: RunTime) {
        match (self.state, goes_on) {
            (State::Running, true) | (State::Idle { .. }, false) => {}
            (State::Idle { .. }, true) => {
                self.moves += self.moves_since(now);
                self.state = State::Running;
            }
            (State::Running, false) => self.state = State::Idle { since: now },
        }
    }

    /// How far right and down the picture stands.
    pub fn place(&self, now: RunTime) -> (u32, u32) {
        PLACES[((self.moves + self.moves_since(now)) % PLACES.len() as u64) as usize]
    }

    /// Whether the panel is to be dim.
    pub fn is_dim(&self, now: RunTime) -> bool {
        match self.state {
            State::Running => false,
            State::Idle { since } => now.since(since) >= DIM_AFTER,
        }
    }

    /// When the picture changes next by itself; never while a run goes on.
    pub fn next_deadline(&self, now: RunTime) -> Option<RunTime> {
        match self.state {
            State::Running => None,
            State::Idle { since } => {
                let moved = now.since(since).millis() / MOVES_AFTER.millis() + 1;
                let next = since + Span::from_millis(moved * MOVES_AFTER.millis());
                let dims = Some(since + DIM_AFTER).filter(|dims| *dims > now);
                Some(dims.map_or(next, |dims| dims.min(next)))
            }
        }
    }

    fn moves_since(&self, now: RunTime) -> u64 {
        match self.state {
            State::Running => 0,
            State::Idle { since } => now.since(since).millis() / MOVES_AFTER.millis(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(minutes: u64) -> RunTime {
        RunTime::START + Span::from_mins(minutes)
    }

    #[test]
    fn an_idle_picture_moves_every_ten_minutes_and_comes_back() {
        let panel = BurnIn::new(at(0));
        let places: Vec<_> = [0, 9, 10, 20, 30, 40].into_iter().map(|minutes| panel.place(at(minutes))).collect();
        assert_eq!(places, [(0, 0), (0, 0), (1, 0), (1, 1), (0, 1), (0, 0)]);
    }

    #[test]
    fn a_key_makes_it_bright_and_leaves_it_where_it_is() {
        let mut panel = BurnIn::new(at(0));
        assert!(!panel.is_dim(at(9)) && panel.is_dim(at(10)));
        panel.used(at(25));
        assert!(!panel.is_dim(at(25)));
        assert_eq!((panel.place(at(25)), panel.place(at(34)), panel.place(at(35))), ((1, 1), (1, 1), (0, 1)));
    }

    #[test]
    fn a_run_keeps_it_bright_and_still() {
        let mut panel = BurnIn::new(at(0));
        panel.run(true, at(12));
        panel.used(at(13));
        let place = panel.place(at(12));
        for minutes in 12..600 {
            panel.run(true, at(minutes));
            assert!(!panel.is_dim(at(minutes)) && panel.place(at(minutes)) == place);
        }
        assert_eq!(panel.next_deadline(at(300)), None);
        panel.run(false, at(600));
        assert_eq!((panel.is_dim(at(609)), panel.is_dim(at(610))), (false, true));
    }

    #[test]
    fn between_two_deadlines_nothing_changes() {
        let mut panel = BurnIn::new(at(0));
        panel.used(at(3));
        let mut now = at(3);
        for _ in 0..20 {
            let shown = |now| (panel.place(now), panel.is_dim(now));
            let next = panel.next_deadline(now).unwrap_or(now);
            assert!(next > now);
            let last = RunTime::from_millis(next.millis() - 1);
            assert_eq!(shown(now), shown(last));
            assert_ne!(shown(last), shown(next));
            now = next;
        }
    }

    use alloc::vec::Vec;
}
