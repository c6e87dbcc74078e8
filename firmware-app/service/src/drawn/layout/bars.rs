use face::Size;

use super::super::{
    Bar, BarKind, BarStanding, Timeline,
    colour::{BLACK, Colour, GREY, WHITE},
    scene::{Area, Line, Paint, Part, Pattern, Shape, Towards, wide},
    times::Stretch,
};
use super::{BAR, Layers, STRIP, Sheet, bar_told, shortened};

/// A bar with its places from left to right and its name where it has room.
#[derive(Clone, Debug)]
pub(super) struct Placed {
    pub(super) start: i32,
    low: i32,
    pub(super) end: i32,
    pub(super) high: i32,
    /// Where its slack ends.
    pub(super) slack: Option<i32>,
    /// Whether the slack is drawn only up to what comes next in its lane.
    pub(super) cut: bool,
    name: String,
    /// Where the name starts.
    name_at: i32,
    /// Which lane of its row, from the top.
    pub(super) lane: i32,
}

/// The widest name beside a bar.
const WIDEST: i32 = 320;
/// Between a bar and its name.
const GAP: i32 = 6;

pub(super) fn placed(timeline: &Timeline, bar: &Bar, stretch: Stretch, left: i32, right: i32) -> Placed {
    let x = |moment| stretch.place(moment, left, right);
    let start = x(bar.start).min(right - 4);
    let end = x(bar.end).max(start + 4);
    let high = x(bar.high()).max(end);
    // a tail of a pixel or two is no tail
    let (low, high) = if high - x(bar.low()) < 4 { (end, end) } else { (x(bar.low()).clamp(start, end), high) };
    let slack = bar.slack_end().filter(|_| bar.standing == BarStanding::Open).map(x).filter(|slack| *slack > high + 3);
    let called = timeline.called(bar);
    let width = wide(&called, Size::S);
    let inside = low - start - 2 * GAP;
    let behind = (right - high - GAP).min(WIDEST);
    let before = (start - GAP - left).min(WIDEST);
    let (room, name_at): (i32, fn(&Placed, i32) -> i32) = if width <= inside {
        (inside, |placed, _| placed.start + GAP)
    } else if width <= behind || (behind >= before && behind >= inside) {
        (behind, |placed, _| placed.high + GAP)
    } else if width <= before || before >= inside {
        (before, |placed, width| placed.start - GAP - width)
    } else {
        (inside, |placed, _| placed.start + GAP)
    };
    let name = shortened(&called, Size::S, room);
    let mut placed = Placed { start, low, end, high, slack, cut: false, name, name_at: 0, lane: 0 };
    placed.name_at = name_at(&placed, wide(&placed.name, Size::S));
    placed
}

impl Placed {
    /// Whether it may end earlier or later by more than a few pixels.
    pub(super) fn has_tail(&self) -> bool {
        self.low != self.high
    }

    #[cfg(test)]
    pub(super) fn bar_box(&self) -> Area {
        Area { x: self.start, y: self.lane * super::PITCH, w: self.high - self.start, h: BAR }
    }

    #[cfg(test)]
    pub(super) fn name_box(&self) -> Area {
        Area { x: self.name_at, y: self.lane * super::PITCH, w: wide(&self.name, Size::S), h: BAR }
    }

    /// From where to where its bar and its name reach.
    pub(super) fn reach(&self) -> (i32, i32) {
        let name_end = self.name_at + wide(&self.name, Size::S);
        (self.start.min(self.name_at), self.high.max(name_end))
    }
}

pub(super) fn draw(sheet: &Sheet<'_>, layers: &mut Layers, (row, index): (usize, usize), placed: &Placed) {
    let bar = &sheet.timeline.rows[row].bars[index];
    let area = sheet.area(row, placed);
    let told = bar_told(sheet.timeline, bar);
    let told = Some(told.as_str());
    let hue = sheet.timeline.hue(bar);
    slack(layers, placed, area, hue, told);
    let over = bar.standing == BarStanding::Ended;
    let surface = if over { WHITE } else { hue.tint() };
    layers.fill(area, Paint::Plain(surface), told);
    if let (BarStanding::Running, Some(now)) = (bar.standing, sheet.timeline.now) {
        let done = Area { w: (sheet.x(now) - area.x).clamp(0, area.w), ..area };
        layers.fill(done, Paint::Plain(hue.over(WHITE, 55)), told);
    }
    strip(layers, bar.kind, area, if over { hue.deep().over(WHITE, 60) } else { hue.deep() }, surface);
    tail(layers, placed, area, hue, told);
    let edge = if over { Line::dashed(GREY, 1) } else { Line::solid(hue.deep(), 1) };
    outline(layers, area, edge);
    if bar.critical && !over {
        critical(layers, area);
    }
    let baseline = area.y + 3 + Size::S.capital() as i32;
    let inside = (placed.start..placed.end).contains(&placed.name_at);
    // lines that pass behind a name leave it some air
    let halo = (!inside).then(|| sheet.ground(row));
    layers.text((placed.name_at, baseline), &placed.name, if over { GREY } else { BLACK }, halo, told);
}

pub(super) fn outline(layers: &mut Layers, area: Area, line: Line) {
    layers.lines.push(Part { shape: Shape::Outline { area, line }, told: None });
}

/// A thick outline round the bar, mostly outside it, so that the strip stays whole.
pub(super) fn critical(layers: &mut Layers, area: Area) {
    let area = Area { x: area.x - 2, y: area.y - 2, w: area.w + 4, h: area.h + 4 };
    outline(layers, area, Line::solid(BLACK, 3));
}

/// The strip along the foot, by what the step asks for.
pub(super) fn strip(layers: &mut Layers, kind: BarKind, area: Area, colour: Colour, surface: Colour) {
    let foot = Area { y: area.bottom() - STRIP, h: STRIP, ..area };
    let paint = match kind {
        BarKind::Hands => Paint::Plain(colour),
        BarKind::Cooks => Paint::Pattern(Pattern::Stripes, colour),
        BarKind::Waits => Paint::Pattern(Pattern::Dots, colour),
        BarKind::SetsUp => Paint::Pattern(Pattern::Bars, colour),
    };
    layers.fill(foot, Paint::Plain(surface.over(WHITE, 50)), None);
    layers.fill(foot, paint, None);
    let line = Line::solid(colour, 1);
    layers
        .lines
        .push(Part { shape: Shape::Stroke { from: (foot.x, foot.y), to: (foot.right(), foot.y), line }, told: None });
}

/// Where it may end: hatched, fading out towards the last moment, with a line at the expected one.
fn tail(layers: &mut Layers, placed: &Placed, area: Area, hue: Colour, told: Option<&str>) {
    let (low, high) = (placed.low, placed.high);
    if low == high {
        return;
    }
    let slices = 6.min(high - low);
    for slice in 0..slices {
        let (from, to) = (low + (high - low) * slice / slices, low + (high - low) * (slice + 1) / slices);
        let share = 100 - 55 * slice.unsigned_abs() / slices.unsigned_abs();
        let part = Area { x: from, w: to - from, h: area.h - STRIP, ..area };
        layers.fill(part, Paint::Pattern(Pattern::Hatch, hue.deep().over(WHITE, share)), told);
    }
    let line = Line::dashed(hue.deep(), 1);
    if high > placed.end {
        let across = |y: i32| ((placed.end, y), (high, y));
        for (from, to) in [across(area.y), across(area.bottom() - STRIP)] {
            layers.line(from, to, line, None);
        }
        layers.line((high, area.y), (high, area.bottom() - STRIP), Line::solid(hue.deep(), 1), None);
    }
}

/// A thin line from the bar to where it would end if it began as late as it can, with a stop there; an arrow if something
/// else comes first.
fn slack(layers: &mut Layers, placed: &Placed, area: Area, hue: Colour, told: Option<&str>) {
    let Some(to) = placed.slack.filter(|to| *to > placed.end) else { return };
    let y = area.bottom() - STRIP / 2;
    let line = Line::solid(hue.deep(), 2);
    if placed.cut {
        layers.line((placed.end, y), (to - 6, y), line, told);
        layers.tip((to, y), Towards::Right, hue.deep());
    } else {
        layers.line((placed.end, y), (to, y), line, told);
        layers.line((to, area.bottom() - STRIP - 3), (to, area.bottom()), line, None);
    }
}

/// A small bar for the legend.
pub(super) fn sample(layers: &mut Layers, kind: BarKind, area: Area, hue: Colour) {
    layers.fill(area, Paint::Plain(hue.tint()), None);
    strip(layers, kind, area, hue.deep(), hue.tint());
    outline(layers, area, Line::solid(hue.deep(), 1));
}

/// A small tail for the legend.
pub(super) fn sample_tail(layers: &mut Layers, area: Area, hue: Colour) {
    let end = area.x + area.w / 2;
    let placed = Placed {
        start: area.x,
        low: area.x + area.w / 4,
        end,
        high: area.right(),
        slack: None,
        cut: false,
        name: String::new(),
        name_at: 0,
        lane: 0,
    };
    let bar = Area { w: end - area.x, ..area };
    layers.fill(bar, Paint::Plain(hue.tint()), None);
    tail(layers, &placed, area, hue, None);
    outline(layers, bar, Line::solid(hue.deep(), 1));
}

const _: () = assert!(BAR - STRIP >= 22, "a line of small letters stands above the strip");
