//! A plan as a picture: lanes of kitchen and hands, steps as bars, where the dishes land.
//!
//! Duties: [`Timeline`] is plain data, which a command fills from a plan; [`svg()`], [`png()`] and [`text()`] draw it. SVG and
//! PNG come from one list of shapes, so they are the same picture with the same places.
//!
//! # How it is read
//! A bar is a step; its hue is its dish, the strip along its foot says what it asks for (hands, heat, time, setting up),
//! and every hue has its dish's letter in the text, so that it reads in black and white. What may be shorter or longer is
//! hatched. The thin line behind a bar reaches to where it would end if it began as late as it may. Thick outlines and
//! arrows are the chain that makes the landing as late as it is.
//!
//! # Promises
//! No two texts overlap; a name that has no room ends in an ellipsis, and is whole in the tooltip and in the table of
//! [`text()`]. The same timeline gives the same bytes. No font is embedded: texts are set in the panel's typeface in the
//! PNG, and squeezed or stretched to its widths by whatever shows the SVG.
//!
//! # Not here
//! What a plan is and what is critical (crate `planner`).

mod colour;
mod layout;
mod lines;
mod raster;
mod scene;
mod svg;
mod times;

use quantities::{RunTime, Span};

use colour::Colour;

pub use lines::text;

/// What is drawn, in plain data.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Timeline {
    /// What the plan is for.
    pub title: String,
    /// The time of day at which the run starts, since midnight; none: times are counted from the start of the run.
    pub clock: Option<Span>,
    /// Where the run is; left out of the picture if it lies far outside the plan.
    pub now: Option<RunTime>,
    /// Dishes or trials by name. With two or more, each has a letter and a hue of its own.
    pub dishes: Vec<String>,
    /// Lanes from top to bottom.
    pub rows: Vec<Row>,
    /// When the dishes are ready.
    pub landings: Vec<LandingMark>,
    /// What follows what on the critical chain.
    pub links: Vec<Connector>,
}

/// A lane: an oven, one burner, the hands.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Row {
    /// As a cook calls it: `oven`.
    pub label: String,
    /// What else is to be known of it, in small letters below: `180 °C fan`.
    pub detail: String,
    /// Its steps. Those at the same time are stacked.
    pub bars: Vec<Bar>,
}

/// A step in a lane.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bar {
    /// Which step of the plan. A step that needs hands and a burner has a bar in both lanes, and one line in the table.
    pub step: usize,
    /// As a cook calls it: `thighs roast`.
    pub name: String,
    /// Which of the dishes it is for.
    pub dish: Option<usize>,
    /// What it asks for.
    pub kind: BarKind,
    /// How far it is.
    pub standing: BarStanding,
    /// When it starts, or began.
    pub start: RunTime,
    /// When it is expected to end, or ended.
    pub end: RunTime,
    /// Hardly ever earlier and hardly ever later than this, if that differs.
    pub ends: Option<(RunTime, RunTime)>,
    /// The last moment at which it can start, if it can still move.
    pub latest: Option<RunTime>,
    /// Whether it makes the landing as late as it is.
    pub critical: bool,
}

/// What a step asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum BarKind {
    /// Hands, all the time.
    Hands,
    /// Heat; hands only now and then.
    Cooks,
    /// Time: rest, soak, chill, stand.
    Waits,
    /// An appliance that is made ready: preheating, another temperature.
    SetsUp,
}

/// How far a step is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum BarStanding {
    /// Not begun.
    #[default]
    Open,
    /// Under way.
    Running,
    /// Over.
    Ended,
}

/// When dishes are ready together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LandingMark {
    /// As a cook calls it: `chicken and pilaf`.
    pub name: String,
    /// When the last of them is ready.
    pub at: RunTime,
    /// Between which moments it lands in eight cases of ten, if that is known.
    pub likely: Option<(RunTime, RunTime)>,
    /// When it is wanted, if that is known.
    pub wanted: Option<RunTime>,
}

/// An arrow from the end of a bar to the start of another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Connector {
    /// The one before, as row and bar.
    pub from: (usize, usize),
    /// The one after, as row and bar.
    pub to: (usize, usize),
    /// Why, for the tooltip: `gets the hands`.
    pub why: String,
}

/// How wide pictures are unless something else is asked for, in pixels; on a landscape page of A4 the letters are 9 points
/// high.
pub const WIDTH: u32 = 1920;
/// Narrower pictures are drawn this wide.
pub const LEAST_WIDTH: u32 = 640;

/// Draws the timeline as an SVG of its own, so many pixels wide by its view box; it scales to where it is shown.
pub fn svg(timeline: &Timeline, width: u32) -> String {
    svg::written(&layout::scene(timeline, width))
}

/// Draws the timeline as a PNG, so many pixels wide.
pub fn png(timeline: &Timeline, width: u32) -> Result<Vec<u8>, png::EncodingError> {
    let scene = layout::scene(timeline, width);
    let picture = raster::drawn(&scene);
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, picture.width, picture.height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&picture.bytes)?;
    writer.finish()?;
    Ok(bytes)
}

impl Timeline {
    fn bars(&self) -> impl Iterator<Item = &Bar> {
        self.rows.iter().flat_map(|row| &row.bars)
    }

    /// The hue of a bar: of its dish; where there is one dish only, all are its own but what sets up an appliance.
    fn hue(&self, bar: &Bar) -> Colour {
        let only = Some(0).filter(|_| self.dishes.len() < 2 && bar.kind != BarKind::SetsUp);
        Colour::of_dish(if self.dishes.len() < 2 { only } else { bar.dish })
    }

    /// The letter of a dish, where there are several: `A`, `B` and on.
    fn letter(&self, dish: Option<usize>) -> Option<String> {
        let dish = dish.filter(|dish| self.dishes.len() > 1 && *dish < self.dishes.len())?;
        // after Z two letters
        let letter = |place: usize| char::from(b'A' + (place % 26) as u8);
        Some(if dish < 26 { letter(dish).to_string() } else { format!("{}{}", letter(dish / 26 - 1), letter(dish)) })
    }

    /// The name of a bar with the letter of its dish.
    fn called(&self, bar: &Bar) -> String {
        self.letter(bar.dish).map_or_else(|| bar.name.clone(), |letter| format!("{letter} {}", bar.name))
    }
}

impl Bar {
    /// When it would end if it started as late as it can.
    fn slack_end(&self) -> Option<RunTime> {
        let latest = self.latest.filter(|latest| *latest > self.start)?;
        Some(latest + self.end.since(self.start))
    }

    fn low(&self) -> RunTime {
        self.ends.map_or(self.end, |(low, _)| low.min(self.end).max(self.start))
    }

    fn high(&self) -> RunTime {
        self.ends.map_or(self.end, |(_, high)| high.max(self.end))
    }
}

impl BarKind {
    const ALL: [Self; 4] = [Self::Hands, Self::Cooks, Self::Waits, Self::SetsUp];

    const fn word(self) -> &'static str {
        match self {
            Self::Hands => "needs hands",
            Self::Cooks => "on heat",
            Self::Waits => "waits",
            Self::SetsUp => "made ready",
        }
    }
}

#[cfg(test)]
mod tests;
