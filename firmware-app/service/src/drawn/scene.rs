use face::Size;

use super::colour::Colour;

/// A picture as a list of shapes, drawn in their order. Everything in whole pixels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Scene {
    pub(super) width: i32,
    pub(super) height: i32,
    pub(super) title: String,
    /// The picture in words, for those who do not see it.
    pub(super) told: String,
    pub(super) parts: Vec<Part>,
}

/// A shape, with what a pointer on it tells.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Part {
    pub(super) shape: Shape,
    pub(super) told: Option<String>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Shape {
    /// A surface.
    Fill { area: Area, paint: Paint },
    /// An outline that lies within the area.
    Outline { area: Area, line: Line },
    /// A line straight down or straight across, centred on its points.
    Stroke { from: (i32, i32), to: (i32, i32), line: Line },
    /// The tip of an arrow, 8 px long, that points down, up or right at its end.
    Tip { at: (i32, i32), towards: Towards, colour: Colour },
    /// A line of letters from the start of its baseline; a halo keeps what is behind them away.
    Text { at: (i32, i32), text: String, size: Size, colour: Colour, halo: Option<Colour> },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Area {
    pub(super) x: i32,
    pub(super) y: i32,
    pub(super) w: i32,
    pub(super) h: i32,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Paint {
    Plain(Colour),
    Pattern(Pattern, Colour),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Line {
    pub(super) colour: Colour,
    pub(super) thick: i32,
    pub(super) dashed: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Pattern {
    /// Broad slanted stripes.
    Stripes,
    /// Dots.
    Dots,
    /// Upright bars.
    Bars,
    /// Thin slanted lines.
    Hatch,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Towards {
    Down,
    Up,
    Right,
}

/// What a pattern repeats after, both ways.
pub(super) const TILE: i32 = 8;
/// How far a halo reaches from its letters.
pub(super) const HALO: i32 = 3;
/// Dashes and the gaps between them.
pub(super) const DASH: i32 = 6;

impl Pattern {
    /// Whether a pixel of the picture has ink.
    pub(super) fn inks(self, x: i32, y: i32) -> bool {
        let (column, row) = (x.rem_euclid(TILE), y.rem_euclid(TILE));
        match self {
            Self::Stripes => (column + row) % TILE < 4,
            Self::Dots => (2..6).contains(&column) && (2..6).contains(&row),
            Self::Bars => column < 3,
            Self::Hatch => (column + row) % 4 == 0,
        }
    }
}

impl Line {
    pub(super) const fn solid(colour: Colour, thick: i32) -> Self {
        Self { colour, thick, dashed: false }
    }

    pub(super) const fn dashed(colour: Colour, thick: i32) -> Self {
        Self { colour, thick, dashed: true }
    }
}

impl Area {
    pub(super) const fn right(self) -> i32 {
        self.x + self.w
    }

    pub(super) const fn bottom(self) -> i32 {
        self.y + self.h
    }

    #[cfg(test)]
    pub(super) fn meets(self, other: Self) -> bool {
        self.x < other.right() && other.x < self.right() && self.y < other.bottom() && other.y < self.bottom()
    }
}

impl Scene {
    pub(super) fn add(&mut self, shape: Shape) {
        self.parts.push(Part { shape, told: None });
    }

    pub(super) fn write(&mut self, at: (i32, i32), text: &str, size: Size, colour: Colour) {
        self.add(Shape::Text { at, text: text.to_owned(), size, colour, halo: None });
    }
}

/// How wide a text is.
pub(super) fn wide(text: &str, size: Size) -> i32 {
    i32::try_from(face::width(size, text)).unwrap_or(i32::MAX / 4)
}

/// The room that a line of letters takes from the start of its baseline: from above its capitals to below its tails.
#[cfg(test)]
pub(super) fn letters(at: (i32, i32), text: &str, size: Size) -> Area {
    let capital = size.capital() as i32;
    Area { x: at.0, y: at.1 - capital - 4, w: wide(text, size), h: capital + capital / 3 + 5 }
}
