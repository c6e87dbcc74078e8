//! A sounder on a thread of its own: the caller never waits for the device.

use std::{
    sync::{
        Arc, Mutex, PoisonError,
        mpsc::{Receiver, RecvTimeoutError, SyncSender, TrySendError, sync_channel},
    },
    thread,
    time::{Duration, Instant},
};

use super::{Level, SoundCue, Sounder, SounderFault, SounderTrouble};

/// What the thread is told.
pub(super) enum Command {
    Play(SoundCue, Level),
    Stop,
}

/// A device as its thread uses it. Every error means that it has to be opened again.
pub(super) trait Device: Send {
    /// Opens it, silent.
    fn open(&mut self) -> Result<(), String>;
    /// Whether it is still there, while nothing plays.
    fn check(&mut self) -> Result<(), String>;
    /// Plays a cue to its end, or until a command comes; gives that command, and leaves the device silent.
    fn play(&mut self, cue: &SoundCue, level: Level, commands: &Receiver<Command>) -> Result<Option<Command>, String>;
    /// Lets it go after an error.
    fn close(&mut self);
}

/// How the device is.
#[derive(Clone, Debug)]
enum State {
    /// Open, and the last sound went through.
    Well,
    /// Open again after a sound failed: it is in doubt until one goes through.
    Doubtful(String),
    /// Not open: nothing can be played.
    Shut(String),
}

/// The caller's end of the thread; the thread ends with it.
///
/// Dropping it waits a moment for the device to be silent: a process that ends before would leave an output on.
pub(super) struct Player {
    /// None once it is dropped.
    commands: Option<SyncSender<Command>>,
    /// Closed when the thread has ended.
    ended: Receiver<()>,
    state: Arc<Mutex<State>>,
    device: String,
    level: Level,
}

impl Player {
    /// Starts the thread. A device that cannot be opened is told by `health` and tried again every 2 s.
    pub(super) fn start(name: &str, device: String, it: impl Device + 'static) -> std::io::Result<Self> {
        let (to, commands) = sync_channel(COMMANDS_WAITING);
        let state = Arc::new(Mutex::new(State::Shut("it is not open yet".to_owned())));
        let told = Arc::clone(&state);
        let (opened, is_opened) = sync_channel(1);
        let (running, ended) = sync_channel::<()>(1);
        thread::Builder::new().name(name.to_owned()).spawn(move || {
            serve(it, &commands, &told, &opened);
            drop(running);
        })?;
        // so that the first thing that is asked of it finds it open; a device that hangs is not waited for
        let _opened_or_hanging = is_opened.recv_timeout(FIRST_OPEN);
        Ok(Self { commands: Some(to), ended, state, device, level: Level::default() })
    }

    fn send(&self, command: Command) -> Result<(), String> {
        let sent = match &self.commands {
            Some(commands) => commands.try_send(command),
            None => Err(TrySendError::Disconnected(command)),
        };
        sent.map_err(|error| match error {
            TrySendError::Full(_) => "the device hangs".to_owned(),
            TrySendError::Disconnected(_) => "its thread has ended".to_owned(),
        })
    }

    fn state(&self) -> State {
        self.state.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

/// A sounder that is nothing but a player, with its own way to start.
pub(super) trait Played {
    /// Its player.
    fn player(&mut self) -> &mut Player;
}

impl Played for Player {
    fn player(&mut self) -> &mut Player {
        self
    }
}

impl<S: Played> Sounder for S {
    fn play(&mut self, cue: &SoundCue) -> Result<(), SounderFault> {
        let player = self.player();
        let sent = match player.state() {
            State::Shut(reason) => Err(reason),
            State::Well | State::Doubtful(_) => player.send(Command::Play(cue.clone(), player.level)),
        };
        sent.map_err(|reason| SounderFault { wanted: cue.clone(), reason })
    }

    fn stop(&mut self) {
        // a device that hangs is told by the next play
        let _sent_or_hanging = self.player().send(Command::Stop);
    }

    fn set_level(&mut self, level: Level) {
        self.player().level = level;
    }

    fn health(&mut self) -> Result<(), SounderTrouble> {
        let player = self.player();
        match player.state() {
            State::Well => Ok(()),
            State::Doubtful(reason) | State::Shut(reason) => {
                Err(SounderTrouble { device: player.device.clone(), reason })
            }
        }
    }
}

impl Drop for Player {
    fn drop(&mut self) {
        self.commands = None;
        let _ended_or_hanging = self.ended.recv_timeout(LAST_SOUND);
    }
}

/// Serves commands until nobody can send any more.
fn serve(mut device: impl Device, commands: &Receiver<Command>, state: &Mutex<State>, opened: &SyncSender<()>) {
    let tell = |what: State| *state.lock().unwrap_or_else(PoisonError::into_inner) = what;
    let mut doubt = None;
    loop {
        let outcome = device.open().map_err(Failed::Idle).and_then(|()| {
            tell(doubt.take().map_or(State::Well, State::Doubtful));
            let _told_once = opened.try_send(());
            listen(&mut device, commands, || tell(State::Well))
        });
        let reason = match outcome {
            Ok(()) => return,
            Err(Failed::Idle(reason)) => reason,
            Err(Failed::Playing(reason)) => {
                doubt = Some(reason.clone());
                reason
            }
        };
        tell(State::Shut(reason));
        let _told_once = opened.try_send(());
        device.close();
        // what was asked for meanwhile is out of date by the time it could be heard
        let again = Instant::now() + AGAIN;
        loop {
            match commands.recv_timeout(again.saturating_duration_since(Instant::now())) {
                Ok(Command::Play(..) | Command::Stop) => {}
                Err(RecvTimeoutError::Timeout) => break,
                Err(RecvTimeoutError::Disconnected) => return,
            }
        }
    }
}

/// What the device was doing when it failed, with what it said.
enum Failed {
    Idle(String),
    Playing(String),
}

/// Plays what is asked for, and tells when a sound went through; an error is the device's, and nothing is the end of the
/// sounder.
fn listen(device: &mut impl Device, commands: &Receiver<Command>, went_through: impl Fn()) -> Result<(), Failed> {
    let mut next = None;
    loop {
        let command = match next.take() {
            Some(command) => command,
            None => match commands.recv_timeout(AGAIN) {
                Ok(command) => command,
                Err(RecvTimeoutError::Timeout) => {
                    device.check().map_err(Failed::Idle)?;
                    continue;
                }
                Err(RecvTimeoutError::Disconnected) => return Ok(()),
            },
        };
        match command {
            Command::Play(cue, level) => {
                next = device.play(&cue, level, commands).map_err(Failed::Playing)?;
                if next.is_none() {
                    went_through();
                }
            }
            Command::Stop => {}
        }
    }
}

/// Commands that wait; a thread that is behind by more hangs in its device.
const COMMANDS_WAITING: usize = 8;
/// A device that failed is opened again, and one that is idle is looked at, this often.
const AGAIN: Duration = Duration::from_secs(2);
/// How long the end waits for the device to be silent.
const LAST_SOUND: Duration = Duration::from_millis(500);
/// How long the start waits for the device at most.
const FIRST_OPEN: Duration = Duration::from_millis(500);

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::sync::atomic::{AtomicBool, Ordering};

    use super::*;
    use crate::Head;

    /// Takes no time for a cue; fails while it is out.
    struct Fake {
        is_out: Arc<AtomicBool>,
        played: Arc<Mutex<Vec<(SoundCue, Level)>>>,
    }

    impl Fake {
        fn there(&self) -> Result<(), String> {
            if self.is_out.load(Ordering::SeqCst) { Err("it is out".to_owned()) } else { Ok(()) }
        }
    }

    impl Device for Fake {
        fn open(&mut self) -> Result<(), String> {
            self.there()
        }
        fn check(&mut self) -> Result<(), String> {
            self.there()
        }
        fn play(&mut self, cue: &SoundCue, level: Level, _: &Receiver<Command>) -> Result<Option<Command>, String> {
            self.there()?;
            self.played.lock().unwrap().push((cue.clone(), level));
            Ok(None)
        }
        fn close(&mut self) {}
    }

    fn until(mut is_true: impl FnMut() -> bool) -> bool {
        let give_up = Instant::now() + Duration::from_secs(10);
        while !is_true() {
            if Instant::now() > give_up {
                return false;
            }
            thread::sleep(Duration::from_millis(5));
        }
        true
    }

    #[test]
    fn a_device_that_failed_in_a_sound_is_in_doubt_until_one_goes_through() {
        let is_out = Arc::new(AtomicBool::new(false));
        let played = Arc::new(Mutex::new(Vec::new()));
        let fake = Fake { is_out: Arc::clone(&is_out), played: Arc::clone(&played) };
        let mut player = Player::start("fake", "fake 2".to_owned(), fake).unwrap();
        let cue = SoundCue::plain(Head::Low);
        is_out.store(true, Ordering::SeqCst);
        player.play(&cue).unwrap();
        assert!(until(|| player.health().is_err()));
        is_out.store(false, Ordering::SeqCst);
        // open again, which is not enough to be well
        assert!(until(|| player.play(&cue).is_ok()));
        assert!(until(|| player.health().is_ok()));
        assert_eq!(played.lock().unwrap().len(), 1);
    }

    /// Sounds until a command comes, and takes a moment to be silent.
    struct Slow(Arc<AtomicBool>);

    impl Device for Slow {
        fn open(&mut self) -> Result<(), String> {
            Ok(())
        }
        fn check(&mut self) -> Result<(), String> {
            Ok(())
        }
        fn play(&mut self, _: &SoundCue, _: Level, commands: &Receiver<Command>) -> Result<Option<Command>, String> {
            self.0.store(true, Ordering::SeqCst);
            let came = commands.recv().ok();
            thread::sleep(Duration::from_millis(50));
            self.0.store(false, Ordering::SeqCst);
            Ok(came)
        }
        fn close(&mut self) {}
    }

    #[test]
    fn a_sounder_that_is_dropped_is_silent_before_the_program_goes_on() {
        let sounds = Arc::new(AtomicBool::new(false));
        let mut player = Player::start("slow", "slow 1".to_owned(), Slow(Arc::clone(&sounds))).unwrap();
        player.play(&SoundCue::plain(Head::Low)).unwrap();
        assert!(until(|| sounds.load(Ordering::SeqCst)));
        drop(player);
        assert!(!sounds.load(Ordering::SeqCst), "it would sound on after the end of the program");
    }

    #[test]
    fn a_lost_device_is_told_and_tried_again() {
        let is_out = Arc::new(AtomicBool::new(false));
        let played = Arc::new(Mutex::new(Vec::new()));
        let fake = Fake { is_out: Arc::clone(&is_out), played: Arc::clone(&played) };
        let mut player = Player::start("fake", "fake 1".to_owned(), fake).unwrap();
        let cue = SoundCue::plain(Head::Low);
        player.health().unwrap();
        player.set_level(Level::FLOOR);
        player.play(&cue).unwrap();
        assert!(until(|| played.lock().unwrap().len() == 1));
        is_out.store(true, Ordering::SeqCst);
        // found without a sound, by looking at it
        assert!(until(|| player.health().is_err()));
        assert_eq!(player.health().unwrap_err().to_string(), "no sound through fake 1: it is out");
        assert_eq!(player.play(&cue).unwrap_err().to_string(), "could not play low: it is out");
        is_out.store(false, Ordering::SeqCst);
        assert!(until(|| player.health().is_ok()));
        player.play(&cue).unwrap();
        assert!(until(|| played.lock().unwrap().len() == 2), "what was refused is not played later");
        assert_eq!(*played.lock().unwrap(), [(cue.clone(), Level::FLOOR), (cue, Level::FLOOR)]);
    }
}
