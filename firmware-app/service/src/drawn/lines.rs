use std::collections::BTreeMap;

use comfy_table::{ContentArrangement, presets};
use quantities::RunTime;

use super::{Bar, BarKind, BarStanding, Row, Timeline, layout, times::Stretch};

/// Narrower is not drawn.
const LEAST_WIDTH: usize = 48;
/// The widest name of a lane.
const WIDEST_NAME: usize = 14;

/// Draws the timeline in plain characters for a terminal so many columns wide, with everything it holds in a table below.
///
/// No line is wider than `width` or 48 columns, whichever is more, and none ends in blanks.
pub fn text(timeline: &Timeline, width: usize) -> String {
    let width = width.max(LEAST_WIDTH);
    let names = timeline.rows.iter().map(|row| row.label.chars().count()).max().unwrap_or(0).clamp(4, WIDEST_NAME);
    let plot =
        Plot { timeline, stretch: Stretch::of(timeline), columns: width - names - 1, numbers: numbers(timeline) };
    let mut lines: Vec<String> = Vec::new();
    if !timeline.title.is_empty() {
        lines.push(cut(&timeline.title, width));
    }
    for landing in &timeline.landings {
        lines.push(cut(&layout::landing_told(timeline, landing), width));
    }
    if let Some(now) = timeline.now {
        lines.push(format!("now {}", timeline.moment(now)));
    }
    lines.push(String::new());
    lines.push(format!("{:names$} {}", "", plot.axis()));
    for row in &timeline.rows {
        for (index, lane) in plot.lanes(row).into_iter().enumerate() {
            let name = if index == 0 { cut(&row.label, names) } else { String::new() };
            lines.push(format!("{name:names$} {lane}"));
        }
    }
    lines.push(String::new());
    lines.extend(key(timeline, width));
    lines.push(String::new());
    lines.extend(table(timeline, &plot.numbers, width).lines().map(str::to_owned));
    lines.iter().map(|line| line.trim_end().to_owned() + "\n").collect()
}

struct Plot<'a> {
    timeline: &'a Timeline,
    stretch: Stretch,
    columns: usize,
    numbers: BTreeMap<usize, usize>,
}

impl Plot<'_> {
    fn column(&self, moment: RunTime) -> usize {
        let last = i32::try_from(self.columns - 1).unwrap_or(i32::MAX);
        usize::try_from(self.stretch.place(moment, 0, last)).unwrap_or(0)
    }

    fn axis(&self) -> String {
        let mut cells = vec![' '; self.columns];
        let last = i32::try_from(self.columns - 1).unwrap_or(i32::MAX);
        for tick in self.stretch.ticks(self.timeline, 0, last, 9) {
            let (column, text) = (self.column(tick), self.timeline.moment(tick));
            if column + text.len() <= self.columns {
                write(&mut cells, column, &text);
            }
        }
        cells.into_iter().collect()
    }

    /// Bars in as few lines as they need.
    fn lanes(&self, row: &Row) -> Vec<String> {
        let mut order: Vec<&Bar> = row.bars.iter().collect();
        order.sort_by_key(|bar| (bar.start, bar.step));
        let mut lanes: Vec<(usize, Vec<char>)> = Vec::new();
        for bar in order {
            let start = self.column(bar.start).min(self.columns - 1);
            let end = self.column(bar.end).max(start + 1);
            let high = self.column(bar.high()).max(end);
            let label = self.label(bar, end - start);
            // a number that fills its bar keeps away from the next
            let reach = high.max(start + label.chars().count() + 1);
            // near the right edge a short bar is moved left by as many columns as its number takes
            let back = reach.saturating_sub(self.columns + 1);
            let (start, end, high, reach) = (start - back.min(start), end, high, reach - back);
            let lane = lanes.iter().position(|(taken, _)| *taken <= start).unwrap_or(lanes.len());
            if lane == lanes.len() {
                lanes.push((0, vec![' '; self.columns]));
            }
            let (taken, cells) = &mut lanes[lane];
            *taken = reach;
            cells[start..end].fill(sign(bar.kind));
            if end < high {
                cells[end..high].fill(':');
            }
            write(cells, start, &label);
        }
        if lanes.is_empty() {
            lanes.push((0, vec![' '; self.columns]));
        }
        let mut lanes: Vec<Vec<char>> = lanes.into_iter().map(|lane| lane.1).collect();
        self.slack(row, &mut lanes);
        for lane in &mut lanes {
            let landings = self.timeline.landings.iter().map(|landing| (landing.at, '|'));
            let now = self.timeline.now.filter(|now| self.stretch.holds(*now)).map(|now| (now, '!'));
            for (moment, sign) in landings.chain(now) {
                let cell = &mut lane[self.column(moment)];
                if matches!(*cell, ' ' | '.') {
                    *cell = sign;
                }
            }
        }
        lanes.into_iter().map(|cells| cells.into_iter().collect()).collect()
    }

    /// Dots behind the bars that can begin later, as far as their line is free.
    fn slack(&self, row: &Row, lanes: &mut [Vec<char>]) {
        for bar in row.bars.iter().filter(|bar| bar.standing == BarStanding::Open) {
            let Some(to) = bar.slack_end() else { continue };
            let start = self.column(bar.start).min(self.columns - 1);
            let label: Vec<char> = self.label(bar, 0).chars().collect();
            // its own lane is the one where its number stands
            let own = |cells: &&mut Vec<char>| cells.get(start..start + label.len()) == Some(label.as_slice());
            let Some(cells) = lanes.iter_mut().find(own) else { continue };
            let from = self.column(bar.high()).max(start + label.len());
            for cell in &mut cells[from.min(self.columns)..=self.column(to).max(from).min(self.columns - 1)] {
                if *cell != ' ' {
                    break;
                }
                *cell = '.';
            }
        }
    }

    /// Its number in the table, a star if it is critical, and its name if a bar of that many columns has room for it.
    fn label(&self, bar: &Bar, columns: usize) -> String {
        let star = if bar.critical { "*" } else { "" };
        let number = format!("{}{star}", self.numbers.get(&bar.step).copied().unwrap_or(0));
        let named = format!("{number} {} ", self.timeline.called(bar));
        let narrow = named.chars().all(|letter| letter < '\u{300}');
        if narrow && named.chars().count() < columns { named } else { number }
    }
}

fn numbers(timeline: &Timeline) -> BTreeMap<usize, usize> {
    let mut steps: Vec<(RunTime, usize)> = timeline.bars().map(|bar| (bar.start, bar.step)).collect();
    steps.sort_unstable();
    let mut numbers = BTreeMap::new();
    for (_, step) in steps {
        let next = numbers.len() + 1;
        numbers.entry(step).or_insert(next);
    }
    numbers
}

fn sign(kind: BarKind) -> char {
    match kind {
        BarKind::Hands => '#',
        BarKind::Cooks => '=',
        BarKind::Waits => '~',
        BarKind::SetsUp => '+',
    }
}

fn key(timeline: &Timeline, width: usize) -> Vec<String> {
    let mut signs: Vec<String> = BarKind::ALL
        .into_iter()
        .filter(|kind| timeline.bars().any(|bar| bar.kind == *kind))
        .map(|kind| format!("{} {}", sign(kind), kind.word()))
        .collect();
    for (text, there) in [
        (": may end here", timeline.bars().any(|bar| bar.high() > bar.end)),
        (". may begin so much later", timeline.bars().any(|bar| bar.slack_end().is_some())),
        ("* makes the landing as late as it is", timeline.bars().any(|bar| bar.critical)),
        ("| lands", !timeline.landings.is_empty()),
        ("! now", timeline.now.is_some()),
    ] {
        if there {
            signs.push(text.to_owned());
        }
    }
    let mut lines: Vec<String> = Vec::new();
    for sign in signs {
        match lines.last_mut() {
            Some(line) if line.len() + 3 + sign.len() <= width => *line += &format!("   {sign}"),
            _ => lines.push(sign),
        }
    }
    lines
}

fn table(timeline: &Timeline, numbers: &BTreeMap<usize, usize>, width: usize) -> String {
    let mut rows: Vec<[String; 8]> = Vec::new();
    let mut order: Vec<(usize, usize)> = numbers.iter().map(|(step, number)| (*number, *step)).collect();
    order.sort_unstable();
    for (number, step) in order {
        let Some(bar) = timeline.bars().find(|bar| bar.step == step) else { continue };
        let with = timeline.rows.iter().filter(|row| row.bars.iter().any(|bar| bar.step == step));
        let moment = |moment| timeline.moment(moment);
        let latest = match bar.standing {
            BarStanding::Open => bar.latest.map(moment).unwrap_or_default(),
            BarStanding::Running => "runs".to_owned(),
            BarStanding::Ended => "over".to_owned(),
        };
        let unsure = bar.low() != bar.high();
        rows.push([
            number.to_string(),
            if bar.critical { "*".to_owned() } else { String::new() },
            timeline.called(bar),
            moment(bar.start),
            latest,
            moment(bar.end),
            if unsure { format!("{}-{}", moment(bar.low()), moment(bar.high())) } else { String::new() },
            with.map(|row| row.label.as_str()).collect::<Vec<_>>().join(", "),
        ]);
    }
    let mut drawn = comfy_table::Table::new();
    drawn
        .load_preset(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(u16::try_from(width).unwrap_or(u16::MAX))
        .set_header(["no", "", "step", "start", "latest", "end", "between", "with"])
        .add_rows(rows);
    let columns = drawn.column_count();
    for (index, column) in drawn.column_iter_mut().enumerate() {
        column.set_padding((0, if index + 1 == columns { 0 } else { 1 }));
    }
    drawn.to_string()
}

fn write(cells: &mut [char], at: usize, text: &str) {
    for (cell, letter) in cells.iter_mut().skip(at).zip(text.chars()) {
        *cell = letter;
    }
}

fn cut(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        return text.to_owned();
    }
    text.chars().take(width.saturating_sub(1)).collect::<String>().trim_end().to_owned() + "…"
}
