//! Pictures that were accepted: comparing with them, and writing them anew.
#![allow(clippy::unwrap_used)]

use std::{
    collections::BTreeSet,
    env, fs,
    io::{BufReader, BufWriter},
    path::{Path, PathBuf},
};

use words::Language;

/// A picture as it is kept: its name without an ending, and its pixels, three bytes each.
pub(crate) type Picture = (String, Vec<u8>);

/// Where pictures of one panel lie, and how large they are.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Gallery {
    /// The folder below `tests`.
    pub(crate) folder: &'static str,
    /// Width and height in pixels.
    pub(crate) size: (u32, u32),
}

impl Gallery {
    /// Compares each picture in each language with the accepted one of its name, byte for byte; one that no screen has any
    /// more is a failure too. With `ACCEPT_PICTURES` set it writes them instead. What differs is written beside the test
    /// output.
    pub(crate) fn looks_as_accepted(self, pictures: impl Fn(Language) -> Vec<Picture>) {
        let accept = env::var_os("ACCEPT_PICTURES").is_some();
        let accepted = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join(self.folder);
        let found = Path::new(env!("CARGO_TARGET_TMPDIR")).join(self.folder);
        let (mut changed, mut known) = (Vec::new(), BTreeSet::new());
        for language in Language::ALL {
            for folder in [&accepted, &found] {
                fs::create_dir_all(folder.join(language.code())).unwrap();
            }
            for (name, pixels) in pictures(language) {
                let file = Path::new(language.code()).join(format!("{name}.png"));
                let path = accepted.join(&file);
                if accept {
                    self.write(&path, &pixels);
                } else if !path.exists() || self.read(&path) != pixels {
                    let seen = found.join(&file);
                    self.write(&seen, &pixels);
                    changed.push(seen);
                }
                assert!(known.insert(path), "two pictures are called {name}");
            }
        }
        assert!(changed.is_empty(), "{} pictures differ from {}:\n{changed:#?}", changed.len(), accepted.display());
        for language in Language::ALL {
            for file in fs::read_dir(accepted.join(language.code())).unwrap() {
                let path: PathBuf = file.unwrap().path();
                assert!(known.contains(&path), "{} belongs to no screen", path.display());
            }
        }
    }

    fn write(self, path: &Path, pixels: &[u8]) {
        let (width, height) = self.size;
        let mut encoder = png::Encoder::new(BufWriter::new(fs::File::create(path).unwrap()), width, height);
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_compression(png::Compression::High);
        encoder.set_filter(png::Filter::NoFilter);
        encoder.write_header().unwrap().write_image_data(pixels).unwrap();
    }

    fn read(self, path: &Path) -> Vec<u8> {
        let mut reader = png::Decoder::new(BufReader::new(fs::File::open(path).unwrap())).read_info().unwrap();
        assert_eq!((reader.info().width, reader.info().height), self.size, "{}", path.display());
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut pixels).unwrap();
        pixels.truncate(info.buffer_size());
        pixels
    }
}
