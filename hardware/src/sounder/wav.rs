use std::{
    fs, io,
    path::{Path, PathBuf},
};

use super::{Level, SoundCue, Sounder, SounderFault, SounderTrouble, Wave};

/// Sounds as WAV files, for listening to them where there is no sounder: one file for each sound, named after it, such
/// as `high-x5-then-2-beeps.wav`. A sound that comes again replaces its file.
pub struct WavSounder {
    folder: PathBuf,
    wave: Wave,
    level: Level,
    trouble: Option<String>,
}

impl WavSounder {
    /// Files in this folder, which is made if it is not there.
    ///
    /// # Errors
    /// The folder cannot be made.
    pub fn new(folder: &Path) -> io::Result<Self> {
        fs::create_dir_all(folder)?;
        Ok(Self { folder: folder.to_owned(), wave: Wave::new(Wave::RATE), level: Level::default(), trouble: None })
    }

    /// Where the file of a sound is.
    pub fn path(&self, cue: &SoundCue) -> PathBuf {
        let name = cue.to_string().replace(", ", " ").replace(' ', "-");
        self.folder.join(name).with_extension("wav")
    }

    fn write(&self, cue: &SoundCue) -> Result<(), hound::Error> {
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: self.wave.rate(),
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let path = self.path(cue);
        // whoever listens never finds half a file
        let half = path.with_extension("part");
        let mut file = hound::WavWriter::create(&half, spec)?;
        for sample in self.wave.render(cue, self.level) {
            file.write_sample(sample)?;
        }
        file.finalize()?;
        fs::rename(half, path)?;
        Ok(())
    }
}

impl Sounder for WavSounder {
    fn play(&mut self, cue: &SoundCue) -> Result<(), SounderFault> {
        self.trouble = self.write(cue).err().map(|error| error.to_string());
        match &self.trouble {
            Some(reason) => Err(SounderFault { wanted: cue.clone(), reason: reason.clone() }),
            None => Ok(()),
        }
    }

    /// Changes nothing: a file holds its whole sound.
    fn stop(&mut self) {}

    fn set_level(&mut self, level: Level) {
        self.level = level;
    }

    fn health(&mut self) -> Result<(), SounderTrouble> {
        let device = || self.folder.display().to_string();
        match &self.trouble {
            Some(reason) => Err(SounderTrouble { device: device(), reason: reason.clone() }),
            None => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{Head, LaneKey};

    #[test]
    fn a_file_holds_the_samples_of_its_sound() {
        let folder = tempfile::tempdir().unwrap();
        let mut sounder = WavSounder::new(&folder.path().join("sounds")).unwrap();
        sounder.set_level(Level::FLOOR);
        let cue = SoundCue::new(Head::High, &LaneKey::ALL[1..2]);
        sounder.play(&cue).unwrap();
        sounder.play(&cue).unwrap();
        let names: Vec<_> =
            fs::read_dir(folder.path().join("sounds")).unwrap().map(|e| e.unwrap().file_name()).collect();
        assert_eq!(names, ["high-x5-then-2-beeps.wav"]);
        let mut read = hound::WavReader::open(sounder.path(&cue)).unwrap();
        assert_eq!((read.spec().channels, read.spec().sample_rate, read.spec().bits_per_sample), (1, 48_000, 16));
        let samples: Vec<i16> = read.samples().map(Result::unwrap).collect();
        assert_eq!(samples, Wave::new(48_000).render(&cue, Level::FLOOR));
    }

    #[test]
    fn a_folder_that_is_gone_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let mut sounder = WavSounder::new(folder.path()).unwrap();
        folder.close().unwrap();
        assert!(sounder.play(&SoundCue::plain(Head::Low)).is_err());
        assert!(sounder.health().is_err());
    }
}
