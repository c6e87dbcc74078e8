use face::Size;

use super::super::{
    BarKind, BarStanding,
    colour::{BLACK, Colour, GREY, WHITE},
    scene::{Area, Line, Paint, Scene, wide},
};
use super::{LINE, Layers, MARGIN, STRIP, Sheet, bars, bars::outline, frame, on_grid, shortened};

/// How wide a sample is.
const SAMPLE: i32 = 44;
/// Height of a sample.
const HIGH: i32 = 2 * STRIP + 4;
/// Between an entry and the next.
const APART: i32 = 28;

enum Entry<'a> {
    Dish(Option<usize>, &'a str),
    Kind(BarKind),
    Critical,
    Tail,
    Slack,
    Band,
    Wanted,
    Running,
    Ended,
}

/// Explains what the picture has, and nothing that it has not; gives where it ends.
pub(super) fn draw(sheet: &Sheet<'_>, scene: &mut Scene, top: i32) -> i32 {
    let timeline = sheet.timeline;
    let mut entries: Vec<Entry<'_>> = Vec::new();
    if timeline.dishes.len() > 1 {
        let dishes = timeline.dishes.iter().enumerate();
        entries.extend(dishes.map(|(dish, name)| Entry::Dish(Some(dish), name)));
    }
    let has = |kind| timeline.bars().any(|bar| bar.kind == kind);
    entries.extend(BarKind::ALL.into_iter().filter(|kind| has(*kind)).map(Entry::Kind));
    let placed = || sheet.bars.iter().flatten();
    let standing = |standing| timeline.bars().any(|bar| bar.standing == standing);
    for (entry, there) in [
        (Entry::Critical, timeline.bars().any(|bar| bar.critical)),
        (Entry::Tail, placed().any(bars::Placed::has_tail)),
        (Entry::Slack, placed().any(|bar| bar.slack.is_some())),
        (Entry::Band, timeline.landings.iter().any(|landing| landing.likely.is_some())),
        (Entry::Wanted, frame::wanted(sheet).next().is_some()),
        (Entry::Running, standing(BarStanding::Running)),
        (Entry::Ended, standing(BarStanding::Ended)),
    ] {
        if there {
            entries.push(entry);
        }
    }
    // samples stand with their strips on the grid of the patterns
    let (mut x, mut y) = (MARGIN, on_grid(top) + STRIP - 4);
    let right = sheet.width - MARGIN;
    let mut layers = Layers::default();
    let last = entries.len();
    for entry in entries {
        let text = shortened(&entry.words(sheet), Size::S, right - MARGIN - SAMPLE - 8);
        let width = SAMPLE + 8 + wide(&text, Size::S);
        if x > MARGIN && x + width > right {
            (x, y) = (MARGIN, y + 4 * STRIP);
        }
        entry.sample(&mut layers, Area { x, y, w: SAMPLE, h: HIGH });
        let at = (x + SAMPLE + 8, y + 2 + Size::S.capital() as i32);
        layers.text(at, &text, BLACK, None, None);
        x += width + APART;
    }
    scene.parts.extend(layers.in_order());
    if last == 0 { top } else { y + LINE }
}

impl Entry<'_> {
    fn words(&self, sheet: &Sheet<'_>) -> String {
        match self {
            Self::Dish(dish, name) => sheet.timeline.letter(*dish).unwrap_or_default() + " " + name,
            Self::Kind(kind) => kind.word().into(),
            Self::Critical => "makes the landing as late as it is".into(),
            Self::Tail => "may end here".into(),
            Self::Slack => "may begin so much later".into(),
            Self::Band => "lands here 8 times in 10".into(),
            Self::Wanted => "wanted then".into(),
            Self::Running => "under way".into(),
            Self::Ended => "over".into(),
        }
    }

    fn sample(&self, layers: &mut Layers, area: Area) {
        let grey = Colour::of_dish(None);
        match self {
            Self::Dish(dish, _) => {
                let hue = Colour::of_dish(*dish);
                layers.fill(area, Paint::Plain(hue.tint()), None);
                let foot = Area { y: area.bottom() - STRIP, h: STRIP, ..area };
                layers.fill(foot, Paint::Plain(hue.deep()), None);
                outline(layers, area, Line::solid(hue.deep(), 1));
            }
            Self::Kind(kind) => bars::sample(layers, *kind, area, grey),
            Self::Critical => {
                layers.fill(area, Paint::Plain(grey.tint()), None);
                bars::critical(layers, area);
            }
            Self::Tail => bars::sample_tail(layers, area, grey),
            Self::Slack => {
                let (y, right) = (area.bottom() - STRIP / 2, area.right() - 2);
                let bar = Area { w: area.w / 3, ..area };
                layers.fill(bar, Paint::Plain(grey.tint()), None);
                outline(layers, bar, Line::solid(grey.deep(), 1));
                layers.line((bar.right(), y), (right, y), Line::solid(grey.deep(), 2), None);
                layers.line((right, y - 5), (right, y + 4), Line::solid(grey.deep(), 2), None);
            }
            Self::Band => {
                frame::band(layers, area, None);
                let x = area.x + area.w / 2;
                layers.line((x, area.y), (x, area.bottom()), Line::solid(BLACK, 3), None);
            }
            Self::Wanted => {
                let x = area.x + area.w / 2;
                layers.line((x, area.y), (x, area.bottom()), Line::dashed(BLACK, 1), None);
            }
            Self::Running => {
                layers.fill(area, Paint::Plain(grey.tint()), None);
                layers.fill(Area { w: area.w / 2, ..area }, Paint::Plain(grey.over(WHITE, 55)), None);
                outline(layers, area, Line::solid(grey.deep(), 1));
            }
            Self::Ended => outline(layers, area, Line::dashed(GREY, 1)),
        }
    }
}
