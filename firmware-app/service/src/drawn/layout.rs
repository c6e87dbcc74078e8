//! From a timeline to shapes with places.

mod bars;
mod frame;
mod legend;
mod pack;

use face::Size;

use super::{
    BarStanding, LEAST_WIDTH, Row, Timeline,
    colour::{BLACK, Colour, GREY, SHADE, WHITE},
    scene::{Area, Line, Paint, Part, Scene, Shape, TILE, Towards, wide},
    times::{self, Stretch},
};
use bars::Placed;
pub(super) use frame::landing_told;

/// Free edge round the picture.
const MARGIN: i32 = 24;
/// Height of a bar: a line of letters, and the strip along its foot.
const BAR: i32 = 32;
/// The strip along the foot of a bar: one tile of a pattern, on whose grid all bars lie.
const STRIP: i32 = TILE;
/// From one bar to the one stacked under it; arrows go through the gap.
const PITCH: i32 = BAR + TILE;
/// Above and below the bars of a row.
const AIR: i32 = TILE;
/// A line of small letters.
const LINE: i32 = 26;
/// The times above the lanes.
const AXIS: i32 = LINE + 4;
/// What the widest picture may be, so that every place is a small number.
const MOST_WIDTH: u32 = 16_000;

/// Where things go from left to right and from top to bottom.
struct Sheet<'a> {
    timeline: &'a Timeline,
    stretch: Stretch,
    width: i32,
    /// Left and right edge of the time.
    left: i32,
    right: i32,
    /// Top and bottom of each row.
    rows: Vec<(i32, i32)>,
    /// The bars of each row.
    bars: Vec<Vec<Placed>>,
}

/// What passes behind the bars, then surfaces, then lines, then letters.
#[derive(Default)]
struct Layers {
    under: Vec<Part>,
    fills: Vec<Part>,
    lines: Vec<Part>,
    texts: Vec<Part>,
}

pub(super) fn scene(timeline: &Timeline, width: u32) -> Scene {
    let mut sheet = Sheet::new(timeline, width);
    let width = sheet.width;
    let told = told(timeline, sheet.stretch);
    let mut scene = Scene { width, height: 0, title: timeline.title.clone(), told, parts: Vec::new() };
    scene.add(Shape::Fill { area: Area { x: 0, y: 0, w: width, h: 0 }, paint: Paint::Plain(WHITE) });
    let mut y = MARGIN;
    if !timeline.title.is_empty() {
        let title = shortened(&timeline.title, Size::M, width - 2 * MARGIN);
        scene.write((MARGIN, y + Size::M.capital() as i32), &title, Size::M, BLACK);
        y += Size::M.capital() as i32 + 18;
    }
    let flags = frame::flags(&sheet);
    let flags_top = y;
    y += flags.iter().map(|flag| flag.line + 1).max().unwrap_or(0) * LINE + AXIS;
    let top = on_grid(y);
    y = top;
    for (row, bars) in timeline.rows.iter().zip(&sheet.bars) {
        let lanes = bars.iter().map(|bar| bar.lane + 1).max().unwrap_or(1);
        let words = if row.detail.is_empty() { LINE } else { 2 * LINE };
        let high = on_grid((lanes * PITCH - (PITCH - BAR)).max(words) + 2 * AIR);
        sheet.rows.push((y, y + high));
        y += high;
    }
    let bottom = y;
    frame::ground(&sheet, &mut scene, top, bottom);
    y = frame::axes(&sheet, &mut scene, &flags, top, bottom);
    let mut layers = Layers::default();
    frame::landings(&sheet, &mut layers, &flags, (flags_top, top, bottom));
    connectors(&sheet, &mut layers);
    for (row, bars) in sheet.bars.iter().enumerate() {
        for (index, placed) in bars.iter().enumerate() {
            bars::draw(&sheet, &mut layers, (row, index), placed);
        }
    }
    frame::now(&sheet, &mut layers, top, y);
    if timeline.now.is_some_and(|now| sheet.stretch.holds(now)) {
        y += LINE;
    }
    row_names(&sheet, &mut layers);
    scene.parts.extend(layers.in_order());
    y = legend::draw(&sheet, &mut scene, y + 12);
    scene.height = y + MARGIN / 2;
    if let Some(Part { shape: Shape::Fill { area, .. }, .. }) = scene.parts.first_mut() {
        area.h = scene.height;
    }
    scene
}

/// The bars with their tails, and their names, by row.
#[cfg(test)]
pub(super) fn boxes(timeline: &Timeline, width: u32) -> Vec<(usize, Area, Area)> {
    let sheet = Sheet::new(timeline, width);
    let rows = sheet.bars.iter().enumerate();
    let boxes = rows.flat_map(|(row, bars)| bars.iter().map(move |bar| (row, bar)));
    boxes.map(|(row, placed)| (row, placed.bar_box(), placed.name_box())).collect()
}

impl<'a> Sheet<'a> {
    /// Finds the places from left to right, and the lanes of each row.
    fn new(timeline: &'a Timeline, width: u32) -> Self {
        let width = width.clamp(LEAST_WIDTH, MOST_WIDTH) as i32;
        let names = timeline.rows.iter().flat_map(|row| [&row.label, &row.detail]);
        let names = names.map(|name| wide(name, Size::S)).max().unwrap_or(0).clamp(60, width / 5);
        let (left, right) = (MARGIN + names + 16, width - MARGIN);
        let stretch = Stretch::of(timeline);
        let row = |row: &Row| {
            pack::stacked(row.bars.iter().map(|bar| bars::placed(timeline, bar, stretch, left, right)).collect())
        };
        let bars = timeline.rows.iter().map(row).collect();
        Self { timeline, stretch, width, left, right, rows: Vec::new(), bars }
    }

    fn x(&self, moment: quantities::RunTime) -> i32 {
        self.stretch.place(moment, self.left, self.right)
    }

    /// Where a bar is drawn, to its expected end.
    fn area(&self, row: usize, placed: &Placed) -> Area {
        let y = self.rows[row].0 + AIR + placed.lane * PITCH;
        Area { x: placed.start, y, w: (placed.end - placed.start).max(4), h: BAR }
    }

    /// The colour under a row.
    fn ground(&self, row: usize) -> Colour {
        if row % 2 == 1 { SHADE } else { WHITE }
    }
}

impl Layers {
    fn in_order(self) -> impl Iterator<Item = Part> {
        self.under.into_iter().chain(self.fills).chain(self.lines).chain(self.texts)
    }

    fn pass(&mut self, from: (i32, i32), to: (i32, i32), line: Line, told: Option<&str>) {
        self.under.push(Part { shape: Shape::Stroke { from, to, line }, told: told.map(str::to_owned) });
    }

    fn text(&mut self, at: (i32, i32), text: &str, colour: Colour, halo: Option<Colour>, told: Option<&str>) {
        if !text.is_empty() {
            let shape = Shape::Text { at, text: text.to_owned(), size: Size::S, colour, halo };
            self.texts.push(Part { shape, told: told.map(str::to_owned) });
        }
    }

    fn fill(&mut self, area: Area, paint: Paint, told: Option<&str>) {
        self.fills.push(Part { shape: Shape::Fill { area, paint }, told: told.map(str::to_owned) });
    }

    fn line(&mut self, from: (i32, i32), to: (i32, i32), line: Line, told: Option<&str>) {
        self.lines.push(Part { shape: Shape::Stroke { from, to, line }, told: told.map(str::to_owned) });
    }

    fn tip(&mut self, at: (i32, i32), towards: Towards, colour: Colour) {
        self.lines.push(Part { shape: Shape::Tip { at, towards, colour }, told: None });
    }
}

fn row_names(sheet: &Sheet<'_>, layers: &mut Layers) {
    let room = sheet.left - 16 - MARGIN;
    for (row, (top, _)) in sheet.timeline.rows.iter().zip(&sheet.rows) {
        for (text, line, colour) in [(&row.label, 0, BLACK), (&row.detail, 1, GREY)] {
            let at = (MARGIN, top + AIR + Size::S.capital() as i32 + 4 + line * LINE);
            layers.text(at, &shortened(text, Size::S, room), colour, None, Some(text));
        }
    }
}

/// Arrows along the gaps between bars: down or up at the end of the first, across, and into the start of the second.
fn connectors(sheet: &Sheet<'_>, layers: &mut Layers) {
    for link in &sheet.timeline.links {
        let find = |(row, bar): (usize, usize)| {
            let placed = sheet.bars.get(row)?.get(bar)?;
            Some(sheet.area(row, placed))
        };
        let (Some(from), Some(to)) = (find(link.from), find(link.to)) else { continue };
        let line = Line::solid(BLACK, 2);
        let told = Some(link.why.as_str()).filter(|why| !why.is_empty());
        if from.y == to.y {
            let y = from.bottom() - STRIP / 2;
            // bars that touch need no arrow
            if to.x - from.right() >= 10 {
                layers.pass((from.right(), y), (to.x - 6, y), line, told);
                layers.tip((to.x, y), Towards::Right, BLACK);
            }
            continue;
        }
        let down = to.y > from.y;
        let (leaves, enters) = if down { (from.bottom(), to.y) } else { (from.y, to.bottom()) };
        // into the second bar near its start, straight from the first where it lies above or below that
        let into = to.x + 6.min(to.w / 2);
        let out = if (from.x..from.right()).contains(&into) { into } else { from.right() - 4.min(from.w / 2) };
        let towards = if down { Towards::Down } else { Towards::Up };
        let before = if down { enters - 7 } else { enters + 7 };
        let last = if down { enters - 6 } else { enters + 6 };
        if out == into {
            layers.pass((out, leaves), (out, last), line, told);
        } else {
            layers.pass((out, leaves), (out, before), line, told);
            layers.pass((out.min(into) - 1, before), (out.max(into) + 1, before), line, told);
            layers.pass((into, before), (into, last), line, told);
        }
        layers.tip((into, enters), towards, BLACK);
    }
}

/// The next place down on the grid of the patterns.
fn on_grid(y: i32) -> i32 {
    (y + TILE - 1) / TILE * TILE
}

/// The text with an ellipsis where it has more letters than fit; nothing if not even that fits.
fn shortened(text: &str, size: Size, room: i32) -> String {
    if wide(text, size) <= room {
        return text.to_owned();
    }
    let mut letters: Vec<char> = text.chars().collect();
    while letters.pop().is_some() {
        let short: String = letters.iter().collect::<String>().trim_end().to_owned() + "…";
        if wide(&short, size) <= room {
            return short;
        }
    }
    String::new()
}

/// The picture in a few sentences.
fn told(timeline: &Timeline, stretch: Stretch) -> String {
    let mut steps: Vec<usize> = timeline.bars().map(|bar| bar.step).collect();
    steps.sort_unstable();
    steps.dedup();
    let moment = |moment| timeline.moment(moment);
    let mut told = format!(
        "{} steps in {} lanes from {} to {}.",
        steps.len(),
        timeline.rows.len(),
        moment(stretch.from),
        moment(stretch.to)
    );
    for landing in &timeline.landings {
        told += &format!(" {}.", landing_told(timeline, landing));
    }
    let mut chain: Vec<_> = timeline.bars().filter(|bar| bar.critical && bar.standing != BarStanding::Ended).collect();
    chain.sort_by_key(|bar| (bar.start, bar.step));
    chain.dedup_by_key(|bar| bar.step);
    if !chain.is_empty() {
        let names: Vec<String> = chain.iter().map(|bar| timeline.called(bar)).collect();
        told += &format!(" What makes it as late as it is: {}.", names.join(", "));
    }
    told
}

/// What a pointer on a bar tells.
fn bar_told(timeline: &Timeline, bar: &super::Bar) -> String {
    let moment = |moment| timeline.moment(moment);
    let mut told = format!("{}: {} to {}", timeline.called(bar), moment(bar.start), moment(bar.end));
    if bar.low() != bar.high() {
        told += &format!(", ends between {} and {}", moment(bar.low()), moment(bar.high()));
    }
    match bar.standing {
        BarStanding::Open => {
            if let Some(latest) = bar.latest {
                let slack = times::span(latest.since(bar.start));
                told += &format!(", latest start {} (slack {slack})", moment(latest));
            }
        }
        BarStanding::Running => told += ", under way",
        BarStanding::Ended => told += ", over",
    }
    if bar.critical {
        told += ", critical";
    }
    told
}
