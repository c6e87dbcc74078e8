use std::{
    fs::{self, OpenOptions},
    io::Write as _,
    path::{Path, PathBuf},
};

use super::{LampColour, LampFault, LampPattern, LampState, Lamps};
use crate::LaneKey;

/// The names under which the kernel has the LEDs of a lane.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LaneLeds {
    /// One LED, whatever its colour: its pattern says it all, and panel and sounds say it again.
    One(String),
    /// One LED for each colour.
    Each {
        /// For running.
        white: String,
        /// For what wants a press.
        yellow: String,
        /// For what is late or lost.
        red: String,
    },
}

/// Lamps as LEDs of the kernel: a folder for each below the root, which is `/sys/class/leds` on a real board.
///
/// Flashing is left to the kernel's timer trigger, so that it goes on by itself whatever the station does. Without that
/// trigger a lamp that should flash is lit without a break, and the fault says so. A lamp that fails is tried again
/// whenever it is set, and a lamp that shows what it should is still looked for, so that one that goes away is told.
pub struct LedLamps {
    root: PathBuf,
    lanes: [Option<LaneLeds>; 4],
    /// What each lane shows; nothing if that is not known.
    shown: [Option<LampState>; 4],
}

impl LedLamps {
    /// Lamps at these LEDs, from the left; a lane without any is told once it should be lit.
    pub fn new(root: &Path, lanes: [Option<LaneLeds>; 4]) -> Self {
        Self { root: root.to_owned(), lanes, shown: [None; 4] }
    }

    fn show(&self, lane: &LaneLeds, state: LampState) -> Result<(), String> {
        let wanted = match state {
            LampState::Off => None,
            LampState::Lit { colour, pattern } => Some((colour, pattern)),
        };
        let leds: Vec<(&str, Option<LampPattern>)> = match lane {
            LaneLeds::One(name) => vec![(name, wanted.map(|(_, pattern)| pattern))],
            LaneLeds::Each { white, yellow, red } => {
                let of = |own| wanted.filter(|(colour, _)| *colour == own).map(|(_, pattern)| pattern);
                vec![(white, of(LampColour::White)), (yellow, of(LampColour::Yellow)), (red, of(LampColour::Red))]
            }
        };
        // dark ones first, so that no two colours mix; all are tried, the first that failed is told
        let (dark, lit): (Vec<_>, Vec<_>) = leds.into_iter().partition(|(_, pattern)| pattern.is_none());
        let tried: Vec<_> = dark.into_iter().chain(lit).map(|(name, pattern)| self.led(name, pattern)).collect();
        tried.into_iter().collect()
    }

    fn led(&self, name: &str, pattern: Option<LampPattern>) -> Result<(), String> {
        let led = Led(self.root.join(name));
        // a trigger that is taken away leaves the LED dark
        led.write("trigger", "none")?;
        let Some(pattern) = pattern else { return led.write("brightness", 0) };
        let most = led.most()?;
        // the timer flashes as bright as the LED is when it begins
        led.write("brightness", (most * u64::from(pattern.level()) / 100).max(1))?;
        let Some((on, off)) = pattern.flash() else { return Ok(()) };
        led.write("trigger", "timer").map_err(|reason| format!("lit without flashing, since {reason}"))?;
        led.write("delay_on", on.millis())?;
        led.write("delay_off", off.millis())
    }

    /// Whether all LEDs of a lane are there.
    fn are_there(&self, lane: &LaneLeds) -> Result<(), String> {
        let names = match lane {
            LaneLeds::One(name) => vec![name],
            LaneLeds::Each { white, yellow, red } => vec![white, yellow, red],
        };
        for name in names {
            let path = self.root.join(name).join("brightness");
            fs::metadata(&path).map_err(|error| format!("{} is gone: {error}", path.display()))?;
        }
        Ok(())
    }
}

impl Lamps for LedLamps {
    fn set(&mut self, lane: LaneKey, state: LampState) -> Result<(), LampFault> {
        let place = usize::from(lane.number() - 1);
        let done = match &self.lanes[place] {
            None if state == LampState::Off => Ok(()),
            None => Err("no LED is named for it".to_owned()),
            Some(leds) if self.shown[place] == Some(state) => self.are_there(leds),
            Some(leds) => self.show(leds, state),
        };
        self.shown[place] = done.is_ok().then_some(state);
        done.map_err(|reason| LampFault { lane, wanted: state, reason })
    }
}

/// The folder of an LED.
struct Led(PathBuf);

impl Led {
    fn most(&self) -> Result<u64, String> {
        let path = self.0.join("max_brightness");
        let text = fs::read_to_string(&path).map_err(|error| format!("cannot read {}: {error}", path.display()))?;
        let most = text.trim().parse().ok().filter(|most| *most > 0);
        most.ok_or_else(|| format!("expected a number over 0 in {}, found {:?}", path.display(), text.trim()))
    }

    fn write(&self, name: &str, value: impl ToString) -> Result<(), String> {
        let (path, value) = (self.0.join(name), value.to_string());
        // the kernel's files are there already; making one would hide that they are not
        let file = OpenOptions::new().write(true).truncate(true).open(&path);
        let written = file.and_then(|mut file| file.write_all(value.as_bytes()));
        written.map_err(|error| format!("cannot write {value} to {}: {error}", path.display()))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// Plain files in the place of the kernel's.
    struct Tree(tempfile::TempDir);

    impl Tree {
        fn new(names: &[&str], most: &str) -> Self {
            let root = tempfile::tempdir().unwrap();
            for name in names {
                let folder = root.path().join(name);
                fs::create_dir(&folder).unwrap();
                for file in ["brightness", "max_brightness", "trigger", "delay_on", "delay_off"] {
                    fs::write(folder.join(file), if file == "max_brightness" { most } else { "" }).unwrap();
                }
            }
            Self(root)
        }

        /// Brightness, trigger, and the times on and off if it is the timer.
        fn read(&self, name: &str) -> String {
            let file = |file| fs::read_to_string(self.0.path().join(name).join(file)).unwrap();
            let (brightness, trigger) = (file("brightness"), file("trigger"));
            let times = format!(" {} {}", file("delay_on"), file("delay_off"));
            format!("{brightness} {trigger}{}", if trigger == "timer" { &times } else { "" })
        }
    }

    fn one(name: &str) -> [Option<LaneLeds>; 4] {
        [Some(LaneLeds::One(name.to_owned())), None, None, None]
    }

    const FIRST: LaneKey = LaneKey::ALL[0];

    #[test]
    fn the_kernel_flashes_the_led() {
        let tree = Tree::new(&["lane1"], "255\n");
        let mut lamps = LedLamps::new(tree.0.path(), one("lane1"));
        for (state, expected) in [
            (LampState::RUNNING, "38 none"),
            (LampState::DUE, "255 timer 1000 1000"),
            (LampState::WINDOW, "255 timer 200 1800"),
            (LampState::OVERDUE, "255 timer 250 250"),
            (LampState::OVERDUE_ACKNOWLEDGED, "255 none"),
            (LampState::LATER, "38 none"),
            (LampState::WAS_LOST, "255 timer 1000 1000"),
            (LampState::Off, "0 none"),
        ] {
            lamps.set(FIRST, state).unwrap();
            assert_eq!(tree.read("lane1"), expected, "{state}");
        }
    }

    #[test]
    fn an_led_that_is_only_on_or_off_is_dim_by_being_on() {
        let tree = Tree::new(&["lane1"], "1");
        let mut lamps = LedLamps::new(tree.0.path(), one("lane1"));
        lamps.set(FIRST, LampState::RUNNING).unwrap();
        assert_eq!(tree.read("lane1"), "1 none");
    }

    #[test]
    fn of_three_leds_only_the_one_of_the_colour_is_lit() {
        let tree = Tree::new(&["w", "y", "r"], "100");
        let each = LaneLeds::Each { white: "w".into(), yellow: "y".into(), red: "r".into() };
        let mut lamps = LedLamps::new(tree.0.path(), [Some(each), None, None, None]);
        for (state, expected) in [
            (LampState::DUE, ["0 none", "100 timer 1000 1000", "0 none"]),
            (LampState::OVERDUE, ["0 none", "0 none", "100 timer 250 250"]),
            (LampState::RUNNING, ["15 none", "0 none", "0 none"]),
            (LampState::Off, ["0 none", "0 none", "0 none"]),
        ] {
            lamps.set(FIRST, state).unwrap();
            assert_eq!(["w", "y", "r"].map(|name| tree.read(name)), expected, "{state}");
        }
    }

    #[test]
    fn a_dead_led_is_told_and_tried_again() {
        let tree = Tree::new(&["lane1"], "100");
        let mut lamps = LedLamps::new(tree.0.path(), one("lane1"));
        lamps.set(FIRST, LampState::OVERDUE).unwrap();
        let (there, away) = (tree.0.path().join("lane1"), tree.0.path().join("away"));
        fs::rename(&there, &away).unwrap();
        // found without a change
        let fault = lamps.set(FIRST, LampState::OVERDUE).unwrap_err();
        assert!(fault.to_string().starts_with("lamp 1 could not be set to red, fast: "), "{fault}");
        assert!(fault.reason.contains("lane1/brightness is gone"), "{fault}");
        fs::rename(&away, &there).unwrap();
        fs::write(there.join("trigger"), "none").unwrap();
        lamps.set(FIRST, LampState::OVERDUE).unwrap();
        assert_eq!(tree.read("lane1"), "100 timer 250 250");
    }

    #[test]
    fn a_lamp_whose_timer_fails_stays_lit_and_is_told() {
        let tree = Tree::new(&["lane1"], "100");
        let mut lamps = LedLamps::new(tree.0.path(), one("lane1"));
        let folder = tree.0.path().join("lane1");
        fs::remove_file(folder.join("delay_on")).unwrap();
        let fault = lamps.set(FIRST, LampState::DUE).unwrap_err();
        assert!(fault.reason.contains("cannot write 1000 to "), "{fault}");
        assert_eq!(fs::read_to_string(folder.join("brightness")).unwrap(), "100");
    }

    #[test]
    fn a_lane_without_an_led_is_told_once_it_should_be_lit() {
        let tree = Tree::new(&[], "");
        let mut lamps = LedLamps::new(tree.0.path(), [None, None, None, None]);
        lamps.set(FIRST, LampState::Off).unwrap();
        let fault = lamps.set(FIRST, LampState::DUE).unwrap_err();
        assert_eq!(fault.reason, "no LED is named for it");
    }

    #[test]
    fn an_led_with_a_strange_file_is_told() {
        let tree = Tree::new(&["lane1"], "none");
        let mut lamps = LedLamps::new(tree.0.path(), one("lane1"));
        let fault = lamps.set(FIRST, LampState::DUE).unwrap_err();
        assert!(fault.reason.starts_with("expected a number over 0 in "), "{fault}");
    }
}
