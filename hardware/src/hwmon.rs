//! Board sensors through the kernel's hardware monitoring tree.
//!
//! The kernel numbers the folders `class/hwmon/hwmon*` in the order it finds the chips, so a number is no name. A sensor
//! is named by its chip and its label, or its input where it has no label: `hwmon:lm75/temp1`. Where two chips have the
//! same name, the device they sit on is added: `hwmon:lm75@1-0048/temp1`.

use std::{
    fs,
    path::{Path, PathBuf},
};

use quantities::{CelsiusStep, NoReading, Reading, Span};

use crate::{
    PlacedReading, ProbeId, ProbeInfo, ProbeKind, Probes,
    w1::{celsius_from_millidegrees, reason_for},
};

/// The temperature sensors of a hardware monitoring tree.
#[derive(Clone, Debug)]
pub struct HwmonProbes {
    class: PathBuf,
}

impl HwmonProbes {
    /// The sensors under this system tree: `/sys` on a board, a made-up one in a test.
    pub fn new(root: &Path) -> Self {
        Self { class: root.join("class/hwmon") }
    }

    /// All inputs with their ids, in the order of the ids.
    fn inputs(&self) -> Vec<(ProbeId, PathBuf)> {
        let chips: Vec<Chip> =
            folder_names(&self.class).into_iter().filter_map(|folder| Chip::at(self.class.join(folder))).collect();
        let mut inputs: Vec<(ProbeId, PathBuf)> = chips
            .iter()
            .flat_map(|chip| {
                let alone = chips.iter().filter(|other| other.name == chip.name).count() == 1;
                chip.inputs(!alone)
            })
            .collect();
        inputs.sort();
        inputs
    }
}

impl Probes for HwmonProbes {
    fn list(&mut self) -> Vec<ProbeInfo> {
        let inputs = self.inputs();
        inputs
            .into_iter()
            .map(|(id, _)| ProbeInfo {
                id,
                kind: ProbeKind::BoardSensor,
                // the kernel's files have this grain; what the chip itself resolves is not told
                resolution: CelsiusStep::from_degrees(0.001).unwrap_or(CelsiusStep::ZERO),
                conversion: Span::ZERO,
            })
            .collect()
    }

    /// Looks the sensor up again each time, since its folder's number may have changed.
    fn read(&mut self, id: &ProbeId) -> PlacedReading {
        match self.inputs().into_iter().find(|(found, _)| found == id) {
            Some((_, input)) => PlacedReading { reading: read_input(&input), place: input.display().to_string() },
            None => {
                PlacedReading::none(NoReading::Unplugged, format!("no chip under {} has {id}", self.class.display()))
            }
        }
    }
}

struct Chip {
    folder: PathBuf,
    name: String,
}

impl Chip {
    fn at(folder: PathBuf) -> Option<Self> {
        let name = read_word(&folder.join("name"))?;
        Some(Self { folder, name })
    }

    fn inputs(&self, with_device: bool) -> Vec<(ProbeId, PathBuf)> {
        let device = if with_device { format!("@{}", self.device()) } else { String::new() };
        folder_names(&self.folder)
            .into_iter()
            .filter_map(|file| {
                let input = file.strip_suffix("_input")?;
                input.strip_prefix("temp")?.parse::<u16>().ok()?;
                let label = read_word(&self.folder.join(format!("{input}_label")));
                let label = label.unwrap_or_else(|| input.to_owned());
                let id = ProbeId::new(&format!("hwmon:{}{device}/{label}", self.name)).ok()?;
                Some((id, self.folder.join(&file)))
            })
            .collect()
    }

    /// The last part of where the chip sits: a bus address such as `1-0048`.
    fn device(&self) -> String {
        let link = fs::read_link(self.folder.join("device")).ok();
        link.as_deref()
            .and_then(Path::file_name)
            .or(self.folder.file_name())
            .map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default()
    }
}

fn read_input(input: &Path) -> Reading {
    let text = fs::read_to_string(input).map_err(|error| reason_for(&error))?;
    let fault = input.to_string_lossy().replace("_input", "_fault");
    if fs::read_to_string(fault).is_ok_and(|flag| flag.trim() == "1") {
        return Err(NoReading::Open);
    }
    celsius_from_millidegrees(&text)
}

/// A line of text as a part of an id: spaces become hyphens.
fn read_word(path: &Path) -> Option<String> {
    let text = fs::read_to_string(path).ok()?;
    let words: Vec<&str> = text.split_whitespace().collect();
    (!words.is_empty()).then(|| words.join("-"))
}

fn folder_names(folder: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut names: Vec<String> = entries.filter_map(|entry| entry.ok()?.file_name().into_string().ok()).collect();
    names.sort();
    names
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::os::unix::fs::symlink;

    use quantities::Celsius;

    use super::*;

    fn chip(root: &Path, number: u8, name: &str, device: &str, files: &[(&str, &str)]) {
        let folder = root.join(format!("class/hwmon/hwmon{number}"));
        fs::create_dir_all(&folder).unwrap();
        fs::write(folder.join("name"), format!("{name}\n")).unwrap();
        symlink(format!("../../../devices/{device}"), folder.join("device")).unwrap();
        for (file, text) in files {
            fs::write(folder.join(file), text).unwrap();
        }
    }

    fn ids(probes: &mut HwmonProbes) -> Vec<String> {
        probes.list().into_iter().map(|i| i.id.into()).collect()
    }

    #[test]
    fn ids_stay_when_the_kernel_numbers_the_chips_anew() {
        let (one, two) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        let lm75 = [("temp1_input", "21500")];
        let soc = [("temp1_input", "48000"), ("temp1_label", "Core 0\n")];
        chip(one.path(), 0, "lm75", "1-0048", &lm75);
        chip(one.path(), 1, "soc", "thermal", &soc);
        chip(two.path(), 0, "soc", "thermal", &soc);
        chip(two.path(), 7, "lm75", "1-0048", &lm75);
        let id = ProbeId::new("hwmon:lm75/temp1").unwrap();
        for root in [one, two] {
            let mut probes = HwmonProbes::new(root.path());
            assert_eq!(ids(&mut probes), ["hwmon:lm75/temp1", "hwmon:soc/Core-0"]);
            let reading = probes.read(&id).reading;
            assert_eq!(reading, Ok(Celsius::from_degrees(21.5).unwrap()));
        }
    }

    #[test]
    fn two_chips_of_one_name_are_told_apart_by_their_device() {
        let root = tempfile::tempdir().unwrap();
        chip(root.path(), 0, "lm75", "1-0049", &[("temp1_input", "9000")]);
        chip(root.path(), 1, "lm75", "1-0048", &[("temp1_input", "8000")]);
        let mut probes = HwmonProbes::new(root.path());
        assert_eq!(ids(&mut probes), ["hwmon:lm75@1-0048/temp1", "hwmon:lm75@1-0049/temp1"]);
        let id = ProbeId::new("hwmon:lm75@1-0049/temp1").unwrap();
        assert_eq!(probes.read(&id).reading, Ok(Celsius::whole(9)));
    }

    #[test]
    fn faults_and_missing_chips_are_named() {
        let root = tempfile::tempdir().unwrap();
        let files = [("temp1_input", "21500"), ("temp1_fault", "1\n"), ("temp2_input", "xx")];
        chip(root.path(), 0, "lm75", "1-0048", &files);
        let mut probes = HwmonProbes::new(root.path());
        for (name, reason) in [
            ("hwmon:lm75/temp1", NoReading::Open),
            ("hwmon:lm75/temp2", NoReading::Garbled),
            ("hwmon:lm75/temp3", NoReading::Unplugged),
        ] {
            let id = ProbeId::new(name).unwrap();
            assert_eq!(probes.read(&id).reading, Err(reason), "{name}");
        }
        let mut nothing = HwmonProbes::new(&root.path().join("none"));
        assert_eq!(nothing.list(), []);
    }
}
