use super::bars::Placed;

/// Between a name or a slack line and what comes next.
const APART: i32 = 10;
/// So many lanes more than without them a row may take for its slack lines.
const FOR_SLACK: i32 = 2;

/// Gives each bar a lane in which nothing of it meets another: bar, tail, name and slack line. Bars may touch.
///
/// Where slack lines would make the row much higher they are cut at what comes next in their lane.
pub(super) fn stacked(mut bars: Vec<Placed>) -> Vec<Placed> {
    let whole = lanes(&bars, |bar| {
        let (left, right) = bar.reach();
        (left, bar.slack.map_or(right, |slack| slack.max(right)))
    });
    let short = lanes(&bars, Placed::reach);
    let most = |lanes: &[i32]| lanes.iter().max().map_or(0, |lane| lane + 1);
    let cut = most(&whole) > most(&short) + FOR_SLACK;
    let lanes = if cut { short } else { whole };
    for (bar, lane) in bars.iter_mut().zip(&lanes) {
        bar.lane = *lane;
    }
    if cut {
        cut_slack(&mut bars);
    }
    bars
}

fn cut_slack(bars: &mut [Placed]) {
    for at in 0..bars.len() {
        let bar = &bars[at];
        let later = bars
            .iter()
            .enumerate()
            .filter(|(other, next)| *other != at && next.lane == bar.lane && next.reach().0 >= bar.end);
        let next = later.map(|(_, next)| next.reach().0).min();
        let (Some(slack), Some(next)) = (bar.slack, next) else { continue };
        if slack > next - APART {
            let least = bar.high + 12;
            bars[at].slack = Some(next - APART).filter(|slack| *slack >= least);
            bars[at].cut = true;
        }
    }
}

/// First lane that is free, from left to right.
fn lanes(bars: &[Placed], reach: impl Fn(&Placed) -> (i32, i32)) -> Vec<i32> {
    let mut order: Vec<usize> = (0..bars.len()).collect();
    order.sort_by_key(|at| (reach(&bars[*at]).0, bars[*at].start, *at));
    let mut lanes = vec![0; bars.len()];
    // the right edge of each lane, and whether it is that of a bar
    let mut ends: Vec<(i32, bool)> = Vec::new();
    for at in order {
        let (left, right) = reach(&bars[at]);
        let starts_with_bar = left == bars[at].start;
        let free = |(end, bar): &(i32, bool)| left >= end + if *bar && starts_with_bar { 0 } else { APART };
        let lane = ends.iter().position(free).unwrap_or(ends.len());
        let end = (right, right == bars[at].high);
        match ends.get_mut(lane) {
            Some(last) => *last = end,
            None => ends.push(end),
        }
        lanes[at] = lane as i32;
    }
    lanes
}
