//! What is seen and heard of a run: picture, lamps, sounds, lines of words.

use screens::Phase;
use trial::Priority;

use super::{DRAW_EVERY_MS, Driver, Pace};
use crate::{
    run::channels::{Channel, Channels},
    terminal::{LampLine, Scene},
};

/// Half a period of the fast flash: of what is urgent, and of all where no sound can be heard.
pub(super) const FLASH_FAST: u64 = 250;
/// Half a period of the slow flash.
pub(super) const FLASH_SLOW: u64 = 1_000;
/// Stands below the saved screen.
pub(super) const SAVED_HELP: &str = "saved: any key leaves, h opens the trial again";
/// Stands below what is noted after a trial.
pub(super) const NOTING_HELP: &str = "to note: arrows turn, enter goes on or skips, h takes back; any other key leaves";

/// The lines below the picture in a terminal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Below {
    lamps: [hardware::LampState; 4],
    names: Vec<String>,
    sound: String,
    pub(super) notice: Option<String>,
}

impl Driver {
    /// Tells the station how the channels to the cook stand.
    pub(super) fn tell_channels(&mut self) {
        let shown = self.watchers.live.is_some();
        // a terminal shows lamps and sounds as text
        let or_text = |channel| if channel == Channel::NotSetUp && shown { Channel::Works } else { channel };
        let panel = match (shown || self.watchers.frames.is_some(), self.panel_lost) {
            (false, _) => Channel::NotSetUp,
            (true, lost) => Channel::is(!lost),
        };
        let mut stuck = self.found_down.clone();
        stuck.extend(self.contacts.stuck().filter(|key| !self.found_down.contains(key)));
        self.station.set_channels(Channels {
            sound: or_text(self.signals.sound_channel()),
            lamps: or_text(self.signals.lamp_channel()),
            panel,
            keys: self.key_channel,
            stuck,
        });
    }

    /// Makes sounder and lamps do what they should at this moment.
    pub(super) fn signal(&mut self) {
        // nobody hears or sees a run that jumps
        if self.pace == Pace::Jump {
            return;
        }
        let view = self.station.view(self.now);
        let lamps = self.station.lamps(self.now);
        self.signals.step(&view, lamps, self.station.settings(), self.now);
        self.tell_channels();
    }

    pub(super) fn show(&mut self) {
        if let Some(plain) = &mut self.watchers.plain
            && self.station.is_durable()
        {
            for line in self.lines.drain(..) {
                // a reader who went away does not stop the food
                let _ = writeln!(plain, "{line}");
            }
        }
        let live = self.watchers.live.is_some();
        if !live && self.watchers.frames.is_none() || !self.station.is_durable() {
            return;
        }
        let boot_ms = self.clock.boot_ms();
        if live && self.pace != Pace::Jump && boot_ms < self.last_drawn_ms + DRAW_EVERY_MS && !self.quit {
            self.undrawn = true;
            return;
        }
        self.undrawn = false;
        self.last_drawn_ms = boot_ms;
        let phase = Phase {
            flash: !live || (boot_ms / self.flash()).is_multiple_of(2),
            held: self.contacts.hold_share(self.now).unwrap_or(0),
        };
        let brightness = self.station.settings().brightness;
        let (screen, running) = (self.station.screen(self.now), self.station.is_running());
        if self.panel.draw(screen, phase, brightness, running, self.now).is_some() {
            self.keep_picture();
            self.unsent = true;
        }
        let below = self.below();
        if live && (self.unsent || self.panel_lost || self.shown_below.as_ref() != Some(&below)) {
            self.send_picture(below);
        }
    }

    /// Keeps the picture as a file, where that is asked for.
    pub(super) fn keep_picture(&mut self) {
        let Some(frames) = &mut self.watchers.frames else { return };
        let large;
        let pixels = match self.panel.enlarged() {
            1 => self.panel.pixels(),
            times => {
                large = self.panel.pixels().enlarged(times);
                &large
            }
        };
        // a picture is not worth a run
        if let Err(why) = frames.keep(pixels, self.now.since_start()) {
            let cause = std::error::Error::source(&why).map_or_else(String::new, |cause| format!(": {cause}"));
            tracing::error!("{why}{cause}; no more pictures are kept");
            self.watchers.frames = None;
        }
    }

    /// What stands below the picture.
    pub(super) fn below(&mut self) -> Below {
        let help = if self.station.asks_outcome(self.now) { NOTING_HELP } else { SAVED_HELP };
        let own = &self.station.settings().lanes;
        let lanes = self.station.view(self.now).lanes;
        let name = |(lane, own): (run_engine::view::LaneView, &String)| {
            if lane.name.is_empty() { own.clone() } else { lane.name }
        };
        let notice = self.keyboard.question().or_else(|| self.station.trouble());
        Below {
            lamps: self.station.lamps(self.now),
            names: lanes.into_iter().zip(own).map(name).collect(),
            sound: self.signals.last_sound().to_owned(),
            notice: notice.or_else(|| self.saved_since.map(|_| help)).map(ToOwned::to_owned),
        }
    }

    /// Shows the picture in the terminal. One that cannot be drawn is said once and tried again; the run goes on.
    pub(super) fn send_picture(&mut self, below: Below) {
        let Some(live) = &mut self.watchers.live else { return };
        let states: Vec<(String, Option<[u8; 3]>)> =
            below.lamps.iter().map(|lamp| (lamp.to_string(), colour_of(*lamp))).collect();
        let lines: Vec<LampLine<'_>> =
            below.names.iter().zip(&states).map(|(name, (state, lit))| LampLine { name, state, lit: *lit }).collect();
        let picture = self.panel.pixels();
        let scene = Scene { picture, lamps: &lines, sound: &below.sound, notice: below.notice.as_deref() };
        match live.draw(&scene) {
            Ok(()) => {
                if std::mem::take(&mut self.panel_lost) {
                    tracing::info!("the panel is back");
                }
                self.unsent = false;
                self.shown_below = Some(below);
            }
            Err(why) => {
                if !std::mem::replace(&mut self.panel_lost, true) {
                    tracing::error!("the panel is lost: {why}; sounds and lamps go on");
                }
            }
        }
    }

    /// Half a period of what flashes on the panel.
    pub(super) fn flash(&self) -> u64 {
        let unheard = self.signals.sound_channel() == Channel::Lost;
        match self.station.sounding(self.now) {
            Some(Priority::High) => FLASH_FAST,
            Some(Priority::Medium | Priority::Low) if unheard => FLASH_FAST,
            Some(Priority::Medium | Priority::Low) | None => FLASH_SLOW,
        }
    }
}

fn colour_of(lamp: hardware::LampState) -> Option<[u8; 3]> {
    match lamp {
        hardware::LampState::Off => None,
        hardware::LampState::Lit { colour, .. } => Some(match colour {
            hardware::LampColour::White => [220, 220, 220],
            hardware::LampColour::Yellow => [240, 228, 66],
            hardware::LampColour::Red => [213, 94, 0],
        }),
    }
}
