//! Keys of the terminal and of the source of contacts, until they count.

use hardware::{Key, KeyEvent, Press as Pressed};
use screens::DeskKey;

use super::{Driver, World};
use crate::{
    run::{channels::Channel, devices::KeyNews},
    terminal::Press,
};

/// A press this soon after the end was not meant for the saved screen.
const SAVED_UNSEEN_MS: u64 = 500;

impl Driver {
    pub(super) fn terminal_event(&mut self, event: Option<crossterm::event::Event>) {
        let Some(event) = event else {
            self.watchers.terminal_keys = None;
            return;
        };
        if matches!(event, crossterm::event::Event::Resize(..)) {
            self.unsent = true;
        }
        self.advance();
        let key = match self.keyboard.read(&event) {
            Some(Press::Quit) => {
                self.quit = true;
                return;
            }
            Some(Press::Lane(lane)) => DeskKey::Lane(lane),
            Some(Press::Pedal) => DeskKey::Pedal,
            Some(Press::Knob) => DeskKey::Knob,
            Some(Press::KnobHold) => DeskKey::KnobHold,
            Some(Press::Turn(by)) => DeskKey::Turn(by),
            // where all is saved there is nothing to ask, and a key without a meaning leaves too
            None if self.saved_since.is_some() && event.is_key_press() => {
                self.quit = true;
                return;
            }
            None => return,
        };
        // while something is to be noted no key leaves, not even one that does nothing there; the saved screen stays
        // until a key, but for the one that opens the trial again
        let notes = self.station.asks_outcome(self.now);
        if let Some(since) = self.saved_since
            && key != DeskKey::KnobHold
            && !notes
        {
            // not by the press that was meant for the last step
            self.quit = self.clock.boot_ms() >= since + SAVED_UNSEEN_MS;
            return;
        }
        self.key(key);
    }

    pub(super) fn key_news(&mut self, news: Option<KeyNews>) {
        let Some(news) = news else {
            self.keys = None;
            return;
        };
        self.take_news(news);
        self.advance();
        self.press_what_counts();
    }

    /// Takes all that the keys did until now, each change at its own time: once the contacts were asked what counts by a
    /// later moment, a push that was read late would lose its length.
    pub(super) fn hear(&mut self) {
        while let Some(news) = self.keys.as_mut().and_then(|keys| keys.try_recv().ok()) {
            self.take_news(news);
        }
    }

    fn take_news(&mut self, news: KeyNews) {
        match news {
            KeyNews::Event(boot_ms, event) => {
                match event {
                    KeyEvent::Down(Key::Knob) => self.knob_down = true,
                    KeyEvent::Up(key) => {
                        self.knob_down &= key != Key::Knob;
                        self.found_down.retain(|found| *found != key);
                    }
                    KeyEvent::Down(Key::Lane(_) | Key::Pedal) | KeyEvent::Held(_) | KeyEvent::Turn(_) => {}
                }
                let at = self.moment_of(boot_ms);
                self.contacts.take(event, at);
            }
            KeyNews::Found(down) => {
                self.key_channel = Channel::Works;
                for key in &down {
                    self.contacts.found_down(*key, self.now);
                }
                self.found_down = down;
            }
            KeyNews::Lost => {
                // what a key does cannot be seen any more: nothing is held
                self.contacts.lose();
                self.key_channel = Channel::Lost;
                (self.knob_down, self.found_down) = (false, Vec::new());
            }
        }
    }

    /// Takes the presses that count by this moment.
    pub(super) fn press_what_counts(&mut self) {
        for press in self.contacts.due(self.now) {
            let key = match press {
                Pressed::Lane(lane) => DeskKey::Lane(lane.number()),
                Pressed::Pedal => DeskKey::Pedal,
                Pressed::Knob => DeskKey::Knob,
                Pressed::KnobHold => DeskKey::KnobHold,
                Pressed::Turn(by) => DeskKey::Turn(by),
                Pressed::KnobTooLong => {
                    self.station.key_not_possible(self.now);
                    continue;
                }
            };
            self.key(key);
        }
        for key in self.contacts.newly_stuck() {
            let key = match key {
                Key::Lane(lane) => format!("lane key {lane}"),
                Key::Knob => "the knob".to_owned(),
                Key::Pedal => "the pedal".to_owned(),
            };
            tracing::warn!("{key} has been down for more than 10 s: something leans on it, or it sticks");
        }
    }

    pub(super) fn key(&mut self, key: DeskKey) {
        let now = self.now;
        self.panel.used(now);
        match &mut self.world {
            World::Sim(sim) => self.station.key(key, &mut sim.probe_map(), now),
            World::Devices { probes, .. } => self.station.key(key, probes, now),
        }
        self.follow();
    }
}
