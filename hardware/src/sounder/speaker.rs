use std::{
    cell::RefCell,
    io,
    rc::Rc,
    sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError},
    time::{Duration, Instant},
};

use alsa::{
    Direction, Output, PCM, ValueOr,
    pcm::{Access, Format, HwParams, State},
};

use super::{
    Level, SoundCue, Wave,
    player::{Command, Device, Played, Player},
};

/// A speaker at a sound card, by the name that the system's sound library has for it: `default`, `hw:1`.
///
/// It plays on a thread of its own. A card that runs dry goes on where it was; one that fails, hangs for half a second or
/// is unplugged is told by [`Sounder::health`](super::Sounder::health) and opened again every 2 s.
pub struct SpeakerSounder(Player);

impl SpeakerSounder {
    /// A speaker at this card.
    ///
    /// # Errors
    /// No thread can be started.
    pub fn start(card: &str) -> io::Result<Self> {
        Player::start("speaker", card.to_owned(), Card { name: card.to_owned(), open: None }).map(Self)
    }
}

impl Played for SpeakerSounder {
    fn player(&mut self) -> &mut Player {
        &mut self.0
    }
}

struct Card {
    name: String,
    open: Option<OpenCard>,
}

struct OpenCard {
    pcm: PCM,
    channels: usize,
    /// Frames that the card holds.
    buffer: usize,
    wave: Wave,
}

impl Device for Card {
    fn open(&mut self) -> Result<(), String> {
        // else the library writes its complaints to standard error, again with every try
        let said = Output::local_error_handler().ok();
        let opened = OpenCard::open(&self.name);
        self.open = Some(opened.map_err(|error| with_words(error, said))?);
        Ok(())
    }

    fn check(&mut self) -> Result<(), String> {
        let card = self.open.as_ref().ok_or("it is not open")?;
        match card.pcm.state() {
            State::Disconnected => Err("the card is gone".to_owned()),
            State::Open
            | State::Setup
            | State::Prepared
            | State::Running
            | State::XRun
            | State::Draining
            | State::Paused
            | State::Suspended => Ok(()),
        }
    }

    fn play(&mut self, cue: &SoundCue, level: Level, commands: &Receiver<Command>) -> Result<Option<Command>, String> {
        self.open.as_ref().ok_or("it is not open")?.play(cue, level, commands)
    }

    fn close(&mut self) {
        self.open = None;
    }
}

impl OpenCard {
    fn open(name: &str) -> Result<Self, alsa::Error> {
        let pcm = PCM::new(name, Direction::Playback, true)?;
        let (rate, channels, buffer) = {
            let wanted = HwParams::any(&pcm)?;
            wanted.set_access(Access::RWInterleaved)?;
            wanted.set_format(Format::s16())?;
            let channels = wanted.set_channels_near(1)?;
            let rate = wanted.set_rate_near(Wave::RATE, ValueOr::Nearest)?;
            wanted.set_buffer_time_near(BUFFER_MICROS, ValueOr::Nearest)?;
            wanted.set_period_time_near(BUFFER_MICROS / 4, ValueOr::Nearest)?;
            pcm.hw_params(&wanted)?;
            (rate, channels, wanted.get_buffer_size()?)
        };
        {
            let wanted = pcm.sw_params_current()?;
            wanted.set_start_threshold(buffer / 2)?;
            pcm.sw_params(&wanted)?;
        }
        pcm.prepare()?;
        let (channels, buffer) = (channels as usize, buffer as usize);
        Ok(Self { pcm, channels, buffer, wave: Wave::new(rate) })
    }

    fn play(&self, cue: &SoundCue, level: Level, commands: &Receiver<Command>) -> Result<Option<Command>, String> {
        let mut samples = self.wave.render(cue, level);
        // silence behind it, so that a card which plays on for a moment finds nothing old
        samples.resize(samples.len() + self.buffer, 0);
        let frames: Vec<i16> = samples.iter().flat_map(|s| std::iter::repeat_n(*s, self.channels)).collect();
        let came = self.write(&frames, commands).and_then(|came| match came {
            Some(came) => Ok(Some(came)),
            None => self.play_out(commands),
        });
        let came = came.map_err(|error| error.to_string())?;
        let silent = self.pcm.drop().and_then(|()| self.pcm.prepare());
        silent.map_err(|error| error.to_string())?;
        match came {
            Some(Ended::Command(command)) => Ok(Some(command)),
            Some(Ended::Hangs) => Err("the card takes no sound".to_owned()),
            Some(Ended::Nobody) | None => Ok(None),
        }
    }

    /// Hands the frames over as fast as the card takes them.
    fn write(&self, frames: &[i16], commands: &Receiver<Command>) -> Result<Option<Ended>, alsa::Error> {
        let io = self.pcm.io_i16()?;
        let chunk = (self.buffer / 8).max(1) * self.channels;
        let mut left = frames;
        let mut taken_at = Instant::now();
        while !left.is_empty() {
            match commands.try_recv() {
                Ok(command) => return Ok(Some(Ended::Command(command))),
                Err(TryRecvError::Disconnected) => return Ok(Some(Ended::Nobody)),
                Err(TryRecvError::Empty) => {}
            }
            let taken = match io.writei(&left[..left.len().min(chunk)]) {
                Ok(taken) => taken,
                Err(error) => {
                    if error.errno() != TRY_AGAIN {
                        // empty after that, it starts again at its threshold
                        self.pcm.try_recover(error, true)?;
                    }
                    0
                }
            };
            if taken > 0 {
                left = &left[taken * self.channels..];
                taken_at = Instant::now();
            } else if taken_at.elapsed() > HANGS {
                return Ok(Some(Ended::Hangs));
            } else if let Err(error) = self.pcm.wait(Some(CHUNK_WAIT.as_millis() as u32)) {
                self.pcm.try_recover(error, true)?;
            }
        }
        Ok(None)
    }

    /// Waits until the card has played what it holds.
    fn play_out(&self, commands: &Receiver<Command>) -> Result<Option<Ended>, alsa::Error> {
        if self.pcm.state() == State::Prepared {
            self.pcm.start()?;
        }
        let held = Duration::from_millis(self.buffer as u64 * 1000 / u64::from(self.wave.rate()));
        let until = Instant::now() + held + CHUNK_WAIT;
        while Instant::now() < until && self.pcm.state() == State::Running && self.pcm.delay().unwrap_or(0) > 0 {
            match commands.recv_timeout(CHUNK_WAIT) {
                Ok(command) => return Ok(Some(Ended::Command(command))),
                Err(RecvTimeoutError::Disconnected) => return Ok(Some(Ended::Nobody)),
                Err(RecvTimeoutError::Timeout) => {}
            }
        }
        Ok(None)
    }
}

/// Why a sound did not go on to its end.
enum Ended {
    Command(Command),
    /// The sounder was dropped.
    Nobody,
    /// The card stopped taking frames.
    Hangs,
}

/// The error with what the library said about it, on one line.
fn with_words(error: alsa::Error, said: Option<Rc<RefCell<Output>>>) -> String {
    let said = said.map(|said| said.borrow().to_string()).unwrap_or_default();
    match said.lines().next_back() {
        Some(line) => format!("{error} ({})", line.trim()),
        None => error.to_string(),
    }
}

/// What the card holds, in microseconds: short enough to be cut off at once, long enough for a busy board.
const BUFFER_MICROS: u32 = 80_000;
/// How often a command is looked for while the card is full.
const CHUNK_WAIT: Duration = Duration::from_millis(10);
/// A card that takes nothing for so long hangs.
const HANGS: Duration = Duration::from_millis(500);
/// The system's number for "try again", EAGAIN of Linux.
const TRY_AGAIN: i32 = 11;

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::{fs, path::Path, thread};

    use super::*;
    use crate::{Head, LaneKey, sounder::Sounder as _};

    /// The library's own device that writes what it is played into a file.
    fn into(path: &Path) -> String {
        format!("file:'{}',raw", path.display())
    }

    fn samples(path: &Path) -> Vec<i16> {
        let bytes = fs::read(path).unwrap_or_default();
        let samples = bytes.as_chunks::<2>().0.iter().map(|pair| i16::from_le_bytes(*pair));
        samples.skip_while(|sample| *sample == 0).collect()
    }

    fn rendered(cue: &SoundCue, level: Level) -> Vec<i16> {
        Wave::new(Wave::RATE).render(cue, level).into_iter().skip_while(|sample| *sample == 0).collect()
    }

    fn until(mut is_true: impl FnMut() -> bool) -> bool {
        let give_up = Instant::now() + Duration::from_secs(15);
        while !is_true() {
            if Instant::now() > give_up {
                return false;
            }
            thread::sleep(Duration::from_millis(5));
        }
        true
    }

    /// Whether the sound that was asked for last went through.
    fn goes_through(speaker: &mut SpeakerSounder) -> bool {
        let give_up = Instant::now() + Duration::from_secs(1);
        while Instant::now() < give_up && speaker.health().is_err() {
            thread::sleep(Duration::from_millis(5));
        }
        speaker.health().is_ok()
    }

    #[test]
    fn the_card_is_handed_the_samples_of_the_sound() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("played.raw");
        let mut speaker = SpeakerSounder::start(&into(&path)).unwrap();
        speaker.health().unwrap();
        let cue = SoundCue::new(Head::High, &[LaneKey::ALL[3], LaneKey::ALL[2]]);
        let expected = rendered(&cue, Level::LOUDEST);
        speaker.set_level(Level::LOUDEST);
        speaker.play(&cue).unwrap();
        assert!(until(|| samples(&path).len() >= expected.len()), "{} frames", samples(&path).len());
        let played = samples(&path);
        assert_eq!(played[..expected.len()], expected);
        assert!(played[expected.len()..].iter().all(|sample| *sample == 0), "silence behind it");
        speaker.health().unwrap();
    }

    #[test]
    fn a_second_sound_follows_the_first_on_the_same_card() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("played.raw");
        let mut speaker = SpeakerSounder::start(&into(&path)).unwrap();
        let [first, second] = [Head::Taken, Head::Undone].map(SoundCue::plain);
        let [one, two] = [&first, &second].map(|cue| rendered(cue, Level::default()));
        speaker.play(&first).unwrap();
        assert!(until(|| samples(&path).len() >= one.len()));
        // the first is over, not cut off
        thread::sleep(Duration::from_millis(300));
        let before = samples(&path).len();
        assert!(samples(&path)[one.len()..].iter().all(|sample| *sample == 0));
        speaker.play(&second).unwrap();
        assert!(until(|| samples(&path).len() > before + two.len()));
        let played = samples(&path);
        assert_eq!(played[..one.len()], one);
        let begins = before + played[before..].iter().take_while(|sample| **sample == 0).count();
        assert_eq!(played[begins..begins + two.len()], two);
    }

    #[test]
    fn a_card_that_is_not_there_is_told_and_taken_once_it_is() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("played.raw");
        // a folder stands where the file should
        fs::create_dir(&path).unwrap();
        let mut speaker = SpeakerSounder::start(&into(&path)).unwrap();
        // this device opens all the same, and is found out by the first sound
        speaker.play(&SoundCue::plain(Head::Low)).unwrap();
        assert!(until(|| speaker.health().is_err()));
        // and opening it again makes it no better
        thread::sleep(Duration::from_millis(2500));
        let trouble = speaker.health().unwrap_err();
        assert_eq!(trouble.device, into(&path));
        fs::remove_dir(&path).unwrap();
        // what was opened before the folder was gone fails once more
        assert!(until(|| speaker.play(&SoundCue::plain(Head::Low)).is_ok() && goes_through(&mut speaker)));
        let expected = rendered(&SoundCue::plain(Head::Low), Level::default());
        assert!(until(|| samples(&path).len() >= expected.len()));
        assert_eq!(samples(&path)[..expected.len()], expected);
    }

    #[test]
    fn a_card_that_does_not_exist_is_named() {
        let mut speaker = SpeakerSounder::start("hw:77").unwrap();
        let trouble = speaker.health().unwrap_err().to_string();
        assert!(trouble.starts_with("no sound through hw:77: "), "{trouble}");
    }
}
