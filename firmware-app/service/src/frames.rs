//! Panel pictures kept as PNG files, one for each change.

use std::{
    fs::File,
    io::{self, BufWriter},
    path::{Path, PathBuf},
};

use quantities::Span;

use crate::picture::{Picture, bytes_of};

/// A folder that gets a file each time the picture changed.
///
/// Names sort in the order of the frames: number, then the time elapsed: `00042-0h12m30.250s.png`.
#[derive(Debug)]
pub struct FrameFolder {
    folder: PathBuf,
    kept: u32,
    last: Option<(usize, Vec<u8>)>,
}

/// Why a picture was not kept.
#[derive(Debug, thiserror::Error)]
pub enum FrameError {
    /// The folder cannot be made or looked into.
    #[error("cannot use {} for panel pictures", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The folder has pictures of another cook.
    #[error("expected a folder without panel pictures, found {}; name another folder", path.display())]
    Used {
        /// One of the pictures.
        path: PathBuf,
    },
    /// The file cannot be written.
    #[error("cannot write {}", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// What went wrong.
        source: png::EncodingError,
    },
    /// The picture is too large for its file format.
    #[error("expected a picture of at most 4 294 967 295 pixels a side, found {width} x {height}")]
    TooLarge {
        /// Pixels in a row.
        width: usize,
        /// Rows.
        height: usize,
    },
}

impl FrameFolder {
    /// Makes the folder if it is not there; one that holds pictures is refused, so that two cooks never mix.
    pub fn open(folder: &Path) -> Result<Self, FrameError> {
        let failed = |source| FrameError::Folder { path: folder.to_owned(), source };
        std::fs::create_dir_all(folder).map_err(failed)?;
        for entry in std::fs::read_dir(folder).map_err(failed)? {
            let path = entry.map_err(failed)?.path();
            if path.extension().is_some_and(|ending| ending == "png") {
                return Err(FrameError::Used { path });
            }
        }
        Ok(Self { folder: folder.to_owned(), kept: 0, last: None })
    }

    /// Keeps the picture if it is not the one kept last, and gives its file's path then.
    pub fn keep(&mut self, picture: &dyn Picture, elapsed: Span) -> Result<Option<PathBuf>, FrameError> {
        let frame = (picture.width(), bytes_of(picture));
        if self.last.as_ref() == Some(&frame) {
            return Ok(None);
        }
        let (width, height) = (picture.width(), picture.height());
        let side = |pixels: usize| u32::try_from(pixels).map_err(|_| FrameError::TooLarge { width, height });
        let path = self.folder.join(name(self.kept + 1, elapsed));
        write(&path, side(width)?, side(height)?, &frame.1)
            .map_err(|source| FrameError::Write { path: path.clone(), source })?;
        self.kept += 1;
        self.last = Some(frame);
        Ok(Some(path))
    }

    /// How many pictures were kept.
    pub fn kept(&self) -> u32 {
        self.kept
    }
}

fn name(number: u32, elapsed: Span) -> String {
    let (millis, secs) = (elapsed.millis() % 1000, elapsed.whole_secs());
    format!("{number:05}-{}h{:02}m{:02}.{millis:03}s.png", secs / 3600, secs / 60 % 60, secs % 60)
}

fn write(path: &Path, width: u32, height: u32, rgb: &[u8]) -> Result<(), png::EncodingError> {
    encode(BufWriter::new(File::create(path)?), width, height, rgb)
}

/// Writes a picture of three bytes a pixel as PNG.
pub fn encode(to: impl io::Write, width: u32, height: u32, rgb: &[u8]) -> Result<(), png::EncodingError> {
    let mut encoder = png::Encoder::new(to, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header()?;
    writer.write_image_data(rgb)?;
    writer.finish()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::io::BufReader;

    use super::*;
    use crate::picture::Rgb888;

    #[test]
    fn a_picture_is_kept_at_each_change_and_only_then() {
        let folder = tempfile::tempdir().unwrap();
        let mut frames = FrameFolder::open(folder.path()).unwrap();
        let (dark, light) = ([0; 24], [255; 24]);
        let (dark, light) = (Rgb888::new(4, 2, &dark).unwrap(), Rgb888::new(4, 2, &light).unwrap());
        let shown = [(&dark, 0), (&dark, 1_000), (&light, 750_250), (&light, 750_500), (&dark, 3_661_007)];
        let kept: Vec<String> = shown
            .iter()
            .filter_map(|(picture, ms)| frames.keep(*picture, Span::from_millis(*ms)).unwrap())
            .map(|path| path.file_name().unwrap().to_str().unwrap().to_owned())
            .collect();
        assert_eq!(kept, ["00001-0h00m00.000s.png", "00002-0h12m30.250s.png", "00003-1h01m01.007s.png"]);
        assert_eq!(frames.kept(), 3);
    }

    #[test]
    fn a_kept_picture_decodes_to_its_pixels() {
        let folder = tempfile::tempdir().unwrap();
        let bytes: Vec<u8> = (0..36).collect();
        let picture = Rgb888::new(4, 3, &bytes).unwrap();
        let path = FrameFolder::open(folder.path()).unwrap().keep(&picture, Span::ZERO).unwrap().unwrap();
        let mut reader = png::Decoder::new(BufReader::new(File::open(path).unwrap())).read_info().unwrap();
        let mut decoded = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut decoded).unwrap();
        assert_eq!((info.width, info.height, &decoded[..]), (4, 3, &bytes[..]));
    }

    #[test]
    fn a_picture_with_the_same_bytes_in_another_shape_is_a_change() {
        let folder = tempfile::tempdir().unwrap();
        let mut frames = FrameFolder::open(folder.path()).unwrap();
        assert!(frames.keep(&Rgb888::new(4, 2, &[7; 24]).unwrap(), Span::ZERO).unwrap().is_some());
        assert!(frames.keep(&Rgb888::new(2, 4, &[7; 24]).unwrap(), Span::ZERO).unwrap().is_some());
    }

    #[test]
    fn pictures_of_two_cooks_never_mix() {
        let folder = tempfile::tempdir().unwrap();
        let mut first = FrameFolder::open(folder.path()).unwrap();
        first.keep(&Rgb888::new(1, 1, &[1, 2, 3]).unwrap(), Span::ZERO).unwrap();
        assert!(matches!(FrameFolder::open(folder.path()), Err(FrameError::Used { .. })));
    }
}
