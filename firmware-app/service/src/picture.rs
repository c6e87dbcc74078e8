//! A panel frame as plain pixels, for the terminal and for PNG files.

/// Anything that has a colour at each pixel.
pub trait Picture {
    /// Pixels in a row.
    fn width(&self) -> usize;
    /// Rows.
    fn height(&self) -> usize;
    /// Red, green and blue of a pixel inside the picture.
    fn pixel(&self, x: usize, y: usize) -> [u8; 3];
}

/// Three bytes a pixel, row after row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rgb888<'a> {
    width: usize,
    bytes: &'a [u8],
}

/// Why bytes are no picture.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected {width} x {height} x 3 bytes, found {found}")]
pub struct NotAPicture {
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// How many bytes there were.
    pub found: usize,
}

impl<'a> Rgb888<'a> {
    /// Takes bytes that fill the picture exactly; an empty picture is refused.
    pub fn new(width: usize, height: usize, bytes: &'a [u8]) -> Result<Self, NotAPicture> {
        let whole = width.checked_mul(height).and_then(|pixels| pixels.checked_mul(3));
        if bytes.is_empty() || whole != Some(bytes.len()) {
            return Err(NotAPicture { width, height, found: bytes.len() });
        }
        Ok(Self { width, bytes })
    }
}

impl Picture for Rgb888<'_> {
    fn width(&self) -> usize {
        self.width
    }

    fn height(&self) -> usize {
        self.bytes.len() / 3 / self.width
    }

    fn pixel(&self, x: usize, y: usize) -> [u8; 3] {
        let at = (y * self.width + x) * 3;
        [self.bytes[at], self.bytes[at + 1], self.bytes[at + 2]]
    }
}

/// The pixels row after row, three bytes each.
pub fn bytes_of(picture: &dyn Picture) -> Vec<u8> {
    let pixels = (0..picture.height()).flat_map(|y| (0..picture.width()).map(move |x| (x, y)));
    pixels.flat_map(|(x, y)| picture.pixel(x, y)).collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn bytes_must_fill_the_picture_exactly() {
        assert_eq!(Rgb888::new(2, 2, &[0; 11]), Err(NotAPicture { width: 2, height: 2, found: 11 }));
        assert!(Rgb888::new(0, 0, &[]).is_err());
        assert!(Rgb888::new(usize::MAX, 2, &[0; 6]).is_err());
    }

    #[test]
    fn pixels_come_back_as_they_went_in() {
        let bytes: Vec<u8> = (0..18).collect();
        let picture = Rgb888::new(3, 2, &bytes).unwrap();
        assert_eq!((picture.width(), picture.height()), (3, 2));
        assert_eq!(picture.pixel(2, 1), [15, 16, 17]);
        assert_eq!(bytes_of(&picture), bytes);
    }
}
