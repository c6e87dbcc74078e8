//! From the settings to sounder, lamps and what the panel can set.

use std::path::{Path, PathBuf};

use hardware::{
    LampFault, LampState, Lamps, LaneKey, LaneLeds, LedLamps, Sounder,
    sounder::{PiezoSounder, WavSounder},
};

use crate::{config::Settings, environment::Environment, failure::Failure, output::Out, run::signals::Signals};

/// Where the kernel shows its lights.
const LEDS: &str = "/sys/class/leds";
/// The program that speaks.
const VOICE: &str = "espeak-ng";

/// What the cook can set, as it is set at the start.
pub(super) fn shown_settings(settings: &Settings, environment: &Environment) -> screens::Settings {
    let can_speak = settings.speech.value.0 || is_installed(VOICE, environment);
    screens::Settings {
        sound: settings.sound_level.value.step(),
        brightness: settings.brightness.value.step(),
        units: settings.units.value.of_panel(),
        language: settings.language.value.of_panel(),
        lamps: settings.lamps.value.0,
        speech: can_speak.then_some(settings.speech.value.0),
        lanes: settings.lanes.value.0.clone(),
    }
}

/// Sounder and lamps by the settings. One that is not there is no failure: it is said and looked for again.
pub(super) fn signals(settings: &Settings, out: &mut Out) -> Result<Signals, Failure> {
    Ok(Signals::new(sounder(settings, out)?, lamps(settings), true))
}

fn sounder(settings: &Settings, out: &mut Out) -> Result<Option<Box<dyn Sounder>>, Failure> {
    if let Some(card) = &settings.speaker.value {
        if let Some(speaker) = speaker(&card.0)? {
            return Ok(Some(speaker));
        }
        out.warn("the setting speaker has no effect: this program was built without the feature speaker");
    }
    if let Some(output) = &settings.piezo.value {
        let (root, chip, output) = pulse_output(&output.0).ok_or_else(|| {
            Failure::usage(format!(
                "piezo: expected a pulse output such as /sys/class/pwm/pwmchip0/pwm0, found {}",
                output.0.display()
            ))
        })?;
        return Ok(Some(Box::new(PiezoSounder::start(&root, chip, output).map_err(Failure::failed)?)));
    }
    match &settings.sound_files.value {
        Some(folder) => {
            let files = WavSounder::new(&folder.0).map_err(|why| {
                Failure::Failed(format!("cannot keep sounds in {}: {why}", folder.0.display()).into())
            })?;
            Ok(Some(Box::new(files)))
        }
        None => Ok(None),
    }
}

#[cfg(feature = "speaker")]
fn speaker(card: &str) -> Result<Option<Box<dyn Sounder>>, Failure> {
    let speaker = hardware::sounder::SpeakerSounder::start(card).map_err(Failure::failed)?;
    Ok(Some(Box::new(speaker)))
}

#[cfg(not(feature = "speaker"))]
#[expect(clippy::unnecessary_wraps, reason = "it fails where the feature is on")]
fn speaker(_card: &str) -> Result<Option<Box<dyn Sounder>>, Failure> {
    Ok(None)
}

fn lamps(settings: &Settings) -> Option<Box<dyn Lamps>> {
    if settings.leds.value.is_empty() {
        return None;
    }
    let mut lanes = [const { None }; 4];
    let named: Vec<LaneKey> = settings.leds.value.iter().map(|(lane, _)| lane).collect();
    for (lane, names) in settings.leds.value.iter() {
        lanes[usize::from(lane.number()) - 1] = match names {
            [one] => Some(LaneLeds::One(one.clone())),
            [white, yellow, red] => {
                Some(LaneLeds::Each { white: white.clone(), yellow: yellow.clone(), red: red.clone() })
            }
            _ => None,
        };
    }
    Some(Box::new(OnlyNamed { lamps: LedLamps::new(Path::new(LEDS), lanes), named }))
}

/// Lamps of some lanes: one that was never there is not lost.
struct OnlyNamed<L> {
    lamps: L,
    named: Vec<LaneKey>,
}

impl<L: Lamps> Lamps for OnlyNamed<L> {
    fn set(&mut self, lane: LaneKey, state: LampState) -> Result<(), LampFault> {
        if self.named.contains(&lane) { self.lamps.set(lane, state) } else { Ok(()) }
    }
}

/// The root, the chip and the output of `ROOT/pwmchipN/pwmM`.
fn pulse_output(path: &Path) -> Option<(PathBuf, u32, u32)> {
    let number = |part: &Path, prefix: &str| part.file_name()?.to_str()?.strip_prefix(prefix)?.parse().ok();
    let chip = path.parent()?;
    Some((chip.parent()?.to_owned(), number(chip, "pwmchip")?, number(path, "pwm")?))
}

fn is_installed(program: &str, environment: &Environment) -> bool {
    let folders = environment.get("PATH").unwrap_or_default();
    std::env::split_paths(folders).any(|folder| folder.join(program).is_file())
}

#[cfg(test)]
mod tests {
    use hardware::RecordingLamps;

    use super::*;

    #[test]
    fn a_lane_without_a_light_is_not_a_lost_lamp() {
        let [one, two, ..] = LaneKey::ALL;
        let lamps = RecordingLamps { dead: vec![two], ..RecordingLamps::default() };
        let mut lamps = OnlyNamed { lamps, named: vec![one] };
        assert_eq!(lamps.set(two, LampState::DUE), Ok(()));
        assert_eq!(lamps.set(one, LampState::DUE), Ok(()));
        assert_eq!(lamps.lamps.set, [(one, LampState::DUE)]);
    }

    #[test]
    fn a_pulse_output_is_named_by_its_folder() {
        let found = pulse_output(Path::new("/sys/class/pwm/pwmchip2/pwm1"));
        assert_eq!(found, Some((PathBuf::from("/sys/class/pwm"), 2, 1)));
        for wrong in ["/sys/class/pwm/pwmchip2", "/dev/pwm1", "pwm1", "/sys/class/pwm/pwmchipx/pwm1"] {
            assert_eq!(pulse_output(Path::new(wrong)), None, "{wrong}");
        }
    }
}
