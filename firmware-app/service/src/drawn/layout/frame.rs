use face::Size;
use quantities::RunTime;

use super::super::{
    LandingMark, Timeline,
    colour::{BAND, BLACK, GREY, PALE},
    scene::{Area, Line, Paint, Scene, Shape, Towards, wide},
};
use super::{LINE, Layers, MARGIN, Sheet, shortened};

/// The words of a landing above the picture, and the moment they stand at.
pub(super) struct Flag {
    /// Where the moment lies.
    pub(super) x: i32,
    text: String,
    whole: String,
    text_at: i32,
    /// Which line, from the bottom.
    pub(super) line: i32,
    /// Whether the line of the moment reaches up to its words.
    joined: bool,
}

pub(in super::super) fn landing_told(timeline: &Timeline, landing: &LandingMark) -> String {
    let moment = |moment| timeline.moment(moment);
    let mut told = lands(timeline, landing);
    if let Some((low, high)) = landing.likely {
        told += &format!(", 8 in 10 between {} and {}", moment(low), moment(high));
    }
    if let Some(wanted) = landing.wanted {
        told += &format!(", wanted {}", moment(wanted));
    }
    told
}

fn lands(timeline: &Timeline, landing: &LandingMark) -> String {
    let colon = if landing.name.is_empty() { "" } else { ": " };
    format!("{}{colon}lands {}", landing.name, timeline.moment(landing.at))
}

/// Finds a place for the words of each landing: left of its line, or right of it near the left edge, on the lowest line
/// where no words meet and no line of a moment goes through words.
pub(super) fn flags(sheet: &Sheet<'_>) -> Vec<Flag> {
    let mut flags: Vec<Flag> = Vec::new();
    let mut landings: Vec<&LandingMark> = sheet.timeline.landings.iter().collect();
    landings.sort_by_key(|landing| landing.at);
    for landing in landings {
        let whole = landing_told(sheet.timeline, landing);
        let x = sheet.x(landing.at);
        let short = lands(sheet.timeline, landing);
        let (to_left, to_right) = (x - 8 - MARGIN, sheet.width - MARGIN - x - 8);
        let room = to_left.max(to_right);
        let text = if wide(&whole, Size::S) <= room { whole.clone() } else { shortened(&short, Size::S, room) };
        let width = wide(&text, Size::S);
        let text_at = if width <= to_left { x - 8 - width } else { x + 8 };
        let mut flag = Flag { x, text, whole, text_at, line: 0, joined: true };
        loop {
            let (from, to) = flag.reach();
            let meets = |other: &Flag| from < other.reach().1 + 12 && other.reach().0 < to + 12;
            let taken = flags.iter().any(|other| {
                // words on words, or the line of one moment through the words of another
                (other.line == flag.line && meets(other))
                    || (other.line > flag.line && other.joined && from - 3 <= other.x && other.x <= to + 3)
            });
            if !taken {
                break;
            }
            flag.line += 1;
        }
        flag.joined = flags
            .iter()
            .all(|other| other.line >= flag.line || flag.x < other.reach().0 - 3 || other.reach().1 + 3 < flag.x);
        flags.push(flag);
    }
    flags
}

impl Flag {
    fn reach(&self) -> (i32, i32) {
        (self.text_at, self.text_at + wide(&self.text, Size::S))
    }
}

/// Shading of the rows and the lines of the grid.
pub(super) fn ground(sheet: &Sheet<'_>, scene: &mut Scene, top: i32, bottom: i32) {
    for (row, (from, to)) in sheet.rows.iter().enumerate() {
        let area = Area { x: MARGIN / 2, y: *from, w: sheet.width - MARGIN, h: to - from };
        scene.add(Shape::Fill { area, paint: Paint::Plain(sheet.ground(row)) });
        let line = Line::solid(PALE, 1);
        scene.add(Shape::Stroke { from: (area.x, *from), to: (area.right(), *from), line });
    }
    let mut layers = Layers::default();
    for landing in &sheet.timeline.landings {
        if let Some((low, high)) = landing.likely {
            let (low, high) = (sheet.x(low), sheet.x(high));
            let area = Area { x: low, y: top, w: (high - low).max(1), h: bottom - top };
            band(&mut layers, area, Some(&landing_told(sheet.timeline, landing)));
        }
    }
    scene.parts.extend(layers.in_order());
}

/// Eight in ten of a landing: a grey band with dashed edges.
pub(super) fn band(layers: &mut Layers, area: Area, told: Option<&str>) {
    layers.fill(area, Paint::Plain(BAND), told);
    for x in [area.x, area.right()] {
        layers.line((x, area.y), (x, area.bottom()), Line::dashed(GREY, 1), None);
    }
}

/// Landings that are wanted at another moment than they come, within the picture.
pub(super) fn wanted<'a>(sheet: &'a Sheet<'_>) -> impl Iterator<Item = (&'a LandingMark, RunTime)> {
    let wanted = sheet.timeline.landings.iter().filter_map(|landing| Some((landing, landing.wanted?)));
    wanted.filter(|(landing, wanted)| *wanted != landing.at && sheet.stretch.holds(*wanted))
}

/// Lines of the grid with their times above, and below a tall picture once more; gives where it ends.
pub(super) fn axes(sheet: &Sheet<'_>, scene: &mut Scene, flags: &[Flag], top: i32, bottom: i32) -> i32 {
    let widest = wide("00:00", Size::S);
    let ticks = sheet.stretch.ticks(sheet.timeline, sheet.left, sheet.right, widest + 26);
    let tall = bottom - top > 420;
    let now: Vec<i32> =
        sheet.timeline.now.into_iter().filter(|now| sheet.stretch.holds(*now)).map(|now| sheet.x(now)).collect();
    let flags: Vec<i32> = flags.iter().map(|flag| flag.x).collect();
    let free = |tick: i32, lines: &[i32]| lines.iter().all(|x| (x - tick).abs() > widest / 2 + 6);
    for moment in ticks {
        let x = sheet.x(moment);
        scene.add(Shape::Stroke { from: (x, top - 4), to: (x, bottom + 4), line: Line::solid(PALE, 1) });
        let text = sheet.timeline.moment(moment);
        let width = wide(&text, Size::S);
        let at = (x - width / 2).clamp(sheet.left - 30, sheet.width - width - 4);
        let mut write = |baseline| scene.write((at, baseline), &text, Size::S, GREY);
        if free(x, &flags) {
            write(top - 9);
        }
        if tall && free(x, &now) {
            write(bottom + 9 + Size::S.capital() as i32);
        }
    }
    for y in [top, bottom] {
        let line = Line::solid(GREY, 1);
        scene.add(Shape::Stroke { from: (sheet.left, y), to: (sheet.right, y), line });
    }
    bottom + if tall { LINE + 4 } else { 4 }
}

/// The line of each landing up to its words, and a mark where it was wanted.
pub(super) fn landings(sheet: &Sheet<'_>, layers: &mut Layers, flags: &[Flag], places: (i32, i32, i32)) {
    let (flags_top, top, bottom) = places;
    let lines = flags.iter().map(|flag| flag.line + 1).max().unwrap_or(0);
    for (landing, wanted) in wanted(sheet) {
        let x = sheet.x(wanted);
        let told = format!("{} wanted {}", landing.name, sheet.timeline.moment(wanted));
        layers.pass((x, top), (x, bottom), Line::dashed(BLACK, 1), Some(&told));
    }
    for flag in flags {
        let line_top = flags_top + (lines - 1 - flag.line) * LINE;
        let from = if flag.joined { line_top } else { top - 4 };
        layers.pass((flag.x, from), (flag.x, bottom + 4), Line::solid(BLACK, 3), Some(&flag.whole));
        let at = (flag.text_at, line_top + 3 + Size::S.capital() as i32);
        layers.text(at, &flag.text, BLACK, None, Some(&flag.whole));
    }
}

/// The present moment: a dashed line behind the bars, and its words below.
pub(super) fn now(sheet: &Sheet<'_>, layers: &mut Layers, top: i32, y: i32) {
    let Some(now) = sheet.timeline.now.filter(|now: &RunTime| sheet.stretch.holds(*now)) else { return };
    let x = sheet.x(now);
    let text = format!("now {}", sheet.timeline.moment(now));
    layers.pass((x, top), (x, y), Line::dashed(BLACK, 2), Some(&text));
    layers.tip((x, top), Towards::Down, BLACK);
    let width = wide(&text, Size::S);
    let at = (x - width / 2).clamp(MARGIN, sheet.width - MARGIN - width);
    let baseline = y + 5 + Size::S.capital() as i32;
    layers.text((at, baseline), &text, BLACK, None, None);
}
