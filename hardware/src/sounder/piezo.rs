use std::{
    fs::{self, OpenOptions},
    io::{self, Write as _},
    path::{Path, PathBuf},
    sync::mpsc::{Receiver, RecvTimeoutError},
    thread,
    time::{Duration, Instant},
};

use super::{
    Level, Segment, SoundCue,
    player::{Command, Device, Played, Player},
    segments,
};

/// A piezo at a pulse output of the kernel: `pwmchipN/pwmM` below the root, which is `/sys/class/pwm` on a real board.
///
/// It plays on a thread of its own, each step at its own deadline, so that delays do not add up. An output that is not
/// exported yet is exported. That the piezo itself is there cannot be told: the kernel sees only the output.
pub struct PiezoSounder(Player);

impl PiezoSounder {
    /// A piezo at this output. One that is not there is told by [`Sounder::health`](super::Sounder::health) and tried again every 2 s.
    ///
    /// # Errors
    /// No thread can be started.
    pub fn start(root: &Path, chip: u32, output: u32) -> io::Result<Self> {
        let chip = root.join(format!("pwmchip{chip}"));
        let folder = chip.join(format!("pwm{output}"));
        let named = folder.display().to_string();
        let pulses = PulseFiles { chip, output, folder, period: 0 };
        Player::start("piezo", named, pulses).map(Self)
    }
}

impl Played for PiezoSounder {
    fn player(&mut self) -> &mut Player {
        &mut self.0
    }
}

/// Something that can give pulses.
trait Pulses {
    /// So many pulses in a second, on for so many thousandths of the time.
    fn pulse(&mut self, hertz: u16, duty: u16) -> Result<(), String>;
    fn off(&mut self) -> Result<(), String>;
}

/// The kernel's files of one output.
///
/// From memory of the kernel's pulse interface: it refuses a period shorter than the time on, and anything while the
/// period is zero, so the time on goes to zero before the period changes.
struct PulseFiles {
    chip: PathBuf,
    output: u32,
    folder: PathBuf,
    /// As it was written last, in nanoseconds; zero if it is not known.
    period: u64,
}

impl PulseFiles {
    fn write(&self, name: &str, value: u64) -> Result<(), String> {
        write(&self.folder.join(name), value)
    }
}

impl Pulses for PulseFiles {
    fn pulse(&mut self, hertz: u16, duty: u16) -> Result<(), String> {
        let period = 1_000_000_000 / u64::from(hertz.max(1));
        if period != self.period {
            self.write("duty_cycle", 0)?;
            self.write("period", period)?;
            self.period = period;
        }
        self.write("duty_cycle", period * u64::from(duty) / 1000)?;
        self.write("enable", 1)
    }

    fn off(&mut self) -> Result<(), String> {
        self.write("duty_cycle", 0)?;
        self.write("enable", 0)
    }
}

impl Device for PulseFiles {
    fn open(&mut self) -> Result<(), String> {
        if !self.folder.is_dir() {
            write(&self.chip.join("export"), u64::from(self.output))?;
            // the kernel makes the folder at once, the rights to it come a little later
            let mut tries = (0..20).map(|_| thread::sleep(Duration::from_millis(10)));
            tries.find(|()| self.folder.is_dir());
        }
        let period = self.folder.join("period");
        let old = fs::read_to_string(&period).map_err(|error| format!("cannot read {}: {error}", period.display()))?;
        if old.trim() == "0" {
            self.write("period", FIRST_PERIOD)?;
        }
        self.period = 0;
        self.off()
    }

    fn check(&mut self) -> Result<(), String> {
        self.write("duty_cycle", 0)
    }

    fn play(&mut self, cue: &SoundCue, level: Level, commands: &Receiver<Command>) -> Result<Option<Command>, String> {
        play(self, &segments(cue, level), commands)
    }

    fn close(&mut self) {
        self.period = 0;
    }
}

/// Gives the pulses of each segment from its own moment on, counted from the start; silent at the end.
fn play(
    pulses: &mut impl Pulses,
    segments: &[Segment],
    commands: &Receiver<Command>,
) -> Result<Option<Command>, String> {
    let start = Instant::now();
    let mut ends = Duration::ZERO;
    let mut is_on = false;
    let mut came = None;
    for segment in segments {
        match segment.hertz {
            Some(hertz) => pulses.pulse(hertz, segment.duty)?,
            None if is_on => pulses.off()?,
            None => {}
        }
        is_on = segment.hertz.is_some();
        ends += Duration::from_millis(segment.length.millis());
        match commands.recv_timeout((start + ends).saturating_duration_since(Instant::now())) {
            Ok(command) => {
                came = Some(command);
                break;
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => break,
        }
    }
    pulses.off()?;
    Ok(came)
}

/// Files of the kernel are there already; making one would hide that they are not.
fn write(path: &Path, value: u64) -> Result<(), String> {
    let mut file = OpenOptions::new().write(true).truncate(true).open(path);
    let written = file.as_mut().map_err(|error| error.to_string()).and_then(|file| {
        // one write, since each is one order to the kernel
        file.write_all(value.to_string().as_bytes()).map_err(|error| error.to_string())
    });
    written.map_err(|error| format!("cannot write {value} to {}: {error}", path.display()))
}

/// For an output that never had one: 1 kHz, in nanoseconds.
const FIRST_PERIOD: u64 = 1_000_000;

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::sync::mpsc::sync_channel;

    use super::*;
    use crate::{Head, LaneKey, sounder::Sounder as _};

    /// Remembers what it was told and when.
    struct Told {
        since: Instant,
        pulses: Vec<(Duration, Option<(u16, u16)>)>,
    }

    impl Pulses for Told {
        fn pulse(&mut self, hertz: u16, duty: u16) -> Result<(), String> {
            self.pulses.push((self.since.elapsed(), Some((hertz, duty))));
            Ok(())
        }
        fn off(&mut self) -> Result<(), String> {
            self.pulses.push((self.since.elapsed(), None));
            Ok(())
        }
    }

    fn tree(period: &str) -> tempfile::TempDir {
        let root = tempfile::tempdir().unwrap();
        let folder = root.path().join("pwmchip0/pwm1");
        fs::create_dir_all(&folder).unwrap();
        for (name, value) in [("period", period), ("duty_cycle", "0"), ("enable", "0")] {
            fs::write(folder.join(name), value).unwrap();
        }
        root
    }

    fn read(root: &tempfile::TempDir, name: &str) -> u64 {
        fs::read_to_string(root.path().join("pwmchip0/pwm1").join(name)).unwrap().trim().parse().unwrap_or(0)
    }

    fn until(mut is_true: impl FnMut() -> bool) -> bool {
        let give_up = Instant::now() + Duration::from_secs(10);
        while !is_true() {
            if Instant::now() > give_up {
                return false;
            }
            thread::sleep(Duration::from_millis(1));
        }
        true
    }

    #[test]
    fn each_step_has_its_own_deadline_so_that_delays_do_not_add_up() {
        let cue = SoundCue::new(Head::High, &[LaneKey::ALL[1]]);
        let steps = segments(&cue, Level::LOUDEST);
        let (_to, commands) = sync_channel(1);
        let mut told = Told { since: Instant::now(), pulses: Vec::new() };
        assert!(play(&mut told, &steps, &commands).unwrap().is_none());
        let sounding: Vec<(u16, u16)> = told.pulses.iter().filter_map(|(_, pulse)| *pulse).collect();
        let expected: Vec<(u16, u16)> = steps.iter().filter_map(|s| Some((s.hertz?, s.duty))).collect();
        assert_eq!(sounding, expected);
        let (last, silent) = told.pulses.last().unwrap();
        assert_eq!(*silent, None);
        let length = Duration::from_millis(cue.length().millis());
        // 82 steps that were each late by 3 ms would end 250 ms late
        assert!(steps.len() > 80, "{}", steps.len());
        assert!(*last >= length && *last < length + Duration::from_millis(250), "{last:?} for {length:?}");
    }

    #[test]
    fn a_command_cuts_a_sound_off_and_leaves_it_silent() {
        let (to, commands) = sync_channel(1);
        to.send(Command::Stop).unwrap();
        let mut told = Told { since: Instant::now(), pulses: Vec::new() };
        let steps = segments(&SoundCue::plain(Head::Low), Level::LOUDEST);
        assert!(matches!(play(&mut told, &steps, &commands), Ok(Some(Command::Stop))));
        assert_eq!(told.pulses.len(), 2);
        assert_eq!(told.pulses[1].1, None);
    }

    #[test]
    fn a_sound_goes_through_the_files_of_the_kernel() {
        let root = tree("0");
        let mut piezo = PiezoSounder::start(root.path(), 0, 1).unwrap();
        piezo.health().unwrap();
        assert_eq!(read(&root, "period"), FIRST_PERIOD);
        piezo.set_level(Level::LOUDEST);
        piezo.play(&SoundCue::plain(Head::Low)).unwrap();
        // 640 Hz, a fifth of the time
        assert!(until(|| read(&root, "period") == 1_562_500 && read(&root, "duty_cycle") == 312_500));
        assert!(until(|| read(&root, "enable") == 0 && read(&root, "duty_cycle") == 0));
        piezo.play(&SoundCue::new(Head::High, &[LaneKey::ALL[3]])).unwrap();
        assert!(until(|| read(&root, "enable") == 1));
        let asked = Instant::now();
        piezo.stop();
        assert!(until(|| read(&root, "enable") == 0));
        // the whole sound lasts 2 s
        assert!(asked.elapsed() < Duration::from_millis(700), "{:?}", asked.elapsed());
    }

    #[test]
    fn an_output_that_goes_away_is_told_and_taken_again() {
        let root = tree("1000000");
        let mut piezo = PiezoSounder::start(root.path(), 0, 1).unwrap();
        let (folder, away) = (root.path().join("pwmchip0/pwm1"), root.path().join("away"));
        fs::rename(&folder, &away).unwrap();
        piezo.play(&SoundCue::plain(Head::Low)).unwrap();
        assert!(until(|| piezo.health().is_err()));
        let fault = piezo.play(&SoundCue::plain(Head::Low)).unwrap_err();
        assert!(fault.reason.starts_with("cannot write "), "{fault}");
        fs::rename(&away, &folder).unwrap();
        assert!(until(|| piezo.play(&SoundCue::plain(Head::Low)).is_ok()));
        assert!(until(|| piezo.health().is_ok()));
    }

    #[test]
    fn a_piezo_that_is_not_there_is_named() {
        let root = tempfile::tempdir().unwrap();
        let mut piezo = PiezoSounder::start(root.path(), 2, 0).unwrap();
        let trouble = piezo.health().unwrap_err().to_string();
        assert!(trouble.contains("pwmchip2/pwm0: cannot write 0 to "), "{trouble}");
    }
}
