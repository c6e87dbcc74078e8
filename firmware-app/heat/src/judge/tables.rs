//! The tables of a verdict, and the figures that are held against them.

use std::{collections::BTreeMap, fmt::Write as _};

use super::{
    CAREFUL, Call, Group, HALF, LINE, LOOKS, Look, MEAN_10, MEAN_30, RULES, Verdict,
    figures::{Bound, Figure},
};

/// The error at a look: accepted median and 90 %, those aimed at.
const ERRORS: [(usize, [f64; 2], [f64; 2]); 3] =
    [(0, [12.0, 45.0], [8.0, 25.0]), (HALF, [5.0, 16.0], [3.0, 10.0]), (10, [1.5, 6.5], [1.0, 4.0])];
const SHARES: [(f64, &str); 2] = [(0.5, "median"), (0.9, "90th percentile")];
/// Doneness may be called more than 0.5 °C under in this share, and its seconds lie so near those of the method's rows.
const LINE_UNDER: f64 = 1.5;
const LINE_ROW: [(f64, &str, f64); 3] =
    [(0.1, "10th percentile", -14.0), (0.5, "median", 6.0), (0.9, "90th percentile", 20.0)];
const LINE_NEAR: f64 = 5.0;

type Groups = BTreeMap<String, Group>;

pub(super) fn times(groups: &Groups, verdict: &mut Verdict) {
    let text = &mut verdict.text;
    text.push_str("Time to the target: error in % of the whole time, median / 90th percentile (told/asked);\n");
    text.push_str(
        "inside and late: share of truths in the 80 % interval and later than it, at 25, 30 ... 95 % of the time\n",
    );
    let _ = writeln!(
        text,
        "{:24} {:>6} {:>23} {:>23} {:>23} {:>7} {:>5}",
        "", "curves", "at 25 %", "at 50 %", "at 75 %", "inside", "late"
    );
    for (name, group) in groups {
        let _ = write!(text, "{name:24} {:6}", group.curves);
        for (look, ..) in ERRORS {
            let (half, nine) = (group.error(look, 0.5), group.error(look, 0.9));
            let told = group.looks.get(&look).map_or(0, Vec::len);
            let asked = told + group.withheld.get(&look).map_or(0, |why| why.values().sum());
            let _ = write!(text, " {:>23}", format!("{} / {} ({told}/{asked})", one(half), one(nine)));
        }
        let all = group.from(0);
        let _ = writeln!(text, " {:>7} {:>5}", one(percent(&all, |s| s.inside)), one(percent(&all, |s| s.late)));
    }
    let Some(all) = groups.get("all") else { return };
    let looks: usize = all.looks.values().map(Vec::len).sum();
    let mut withheld: BTreeMap<String, usize> = BTreeMap::new();
    for (why, count) in all.withheld.values().flatten() {
        *withheld.entry(format!("{why:?}")).or_default() += count;
    }
    let _ = writeln!(text, "looks: {looks} told, withheld: {}", counts(&withheld));
    if all.never > 0 {
        let withheld = all.never_withheld.iter().map(|(why, count)| (format!("{why:?}"), *count)).collect();
        let _ = writeln!(
            text,
            "never reached: {} curves, not in the errors; after half their length {} looks told a time, withheld: {}",
            all.never,
            all.never_told,
            counts(&withheld)
        );
    }
    for (look, accept, aim) in ERRORS {
        for (i, (share, name)) in SHARES.iter().enumerate() {
            let name = format!("error at {:.0} % of the cook, {name}", LOOKS[look] * 100.0);
            let figure = Figure::new(name, all.error(look, *share), "%", Bound::AtMost(accept[i]));
            verdict.figures.push(figure.aim(Bound::AtMost(aim[i])).needed());
        }
    }
    let looks = all.from(0);
    let inside =
        Figure::new("80 % interval holds the truth", percent(&looks, |s| s.inside), "%", Bound::From(76.0, 90.0));
    verdict.figures.push(inside.aim(Bound::From(78.0, 86.0)).needed());
    let late = Figure::new("truth later than the interval", percent(&looks, |s| s.late), "%", Bound::AtMost(12.0));
    verdict.figures.push(late.aim(Bound::AtMost(10.0)).needed());
    for (name, group) in groups.iter().filter(|(name, _)| name.starts_with("family")) {
        let inside = percent(&group.from(HALF), |s| s.inside);
        let name = format!("{name}: interval holds the truth from half-time");
        verdict.figures.push(Figure::new(name, inside, "%", Bound::AtLeast(50.0)).aim(Bound::AtLeast(70.0)));
    }
}

pub(super) fn reached(groups: &Groups, verdict: &mut Verdict) {
    let text = &mut verdict.text;
    text.push_str("\nReached: seconds after the truth, 10th percentile / median / 90th percentile; called more than 0.5 °C under\n");
    let Some(all) = groups.get("all") else { return };
    for rule in RULES {
        let _ = writeln!(text, "{rule}");
        for (name, group) in groups {
            let calls = group.calls.get(rule).map_or(&[][..], Vec::as_slice);
            let count = |of: &BTreeMap<&str, usize>| of.get(rule).copied().unwrap_or(0);
            let (uncalled, wrong) = (count(&group.uncalled), count(&group.wrong));
            if calls.is_empty() && uncalled + wrong == 0 {
                continue;
            }
            let [ten, half, nine] = [0.1, 0.5, 0.9].map(|share| signed(late(calls, share)));
            let _ = write!(text, "  {name:24} {ten:>5} / {half:>5} / {nine:>5} {:>6} %", one(under(calls)));
            let _ = write!(text, "  ({} called", calls.len());
            if uncalled > 0 {
                let _ = write!(text, ", {uncalled} not before the end of the curve");
            }
            if wrong > 0 {
                let _ = write!(text, ", {wrong} though never reached");
            }
            text.push_str(")\n");
        }
    }
    for rule in [MEAN_10, MEAN_30, CAREFUL] {
        let calls = all.calls.get(rule).map_or(&[][..], Vec::as_slice);
        let name = format!("{rule}, called more than 0.5 °C under");
        verdict.figures.push(Figure::new(name, under(calls), "%", Bound::AtMost(0.0)).aim(Bound::AtMost(0.0)));
    }
    let calls = all.calls.get(LINE).map_or(&[][..], Vec::as_slice);
    let name = format!("{LINE}, called more than 0.5 °C under");
    verdict.figures.push(Figure::new(name, under(calls), "%", Bound::AtMost(LINE_UNDER)).aim(Bound::AtMost(0.7)));
    for (share, name, row) in LINE_ROW {
        let near = Bound::From(row - LINE_NEAR, row + LINE_NEAR);
        verdict.figures.push(Figure::new(format!("{LINE}, {name} after the truth"), late(calls, share), "s", near));
    }
}

pub(super) fn rises(groups: &Groups, verdict: &mut Verdict) {
    let text = &mut verdict.text;
    text.push_str("\nCarry-over: error of the peak in °C, median / 90th percentile; inside the 80 % interval; under it; error of its time, median\n");
    for (name, group) in groups {
        let mut after: Vec<f64> = group.rises.iter().filter_map(|rise| rise.after).collect();
        let withheld: BTreeMap<String, usize> =
            group.no_rise.iter().map(|(why, count)| (format!("{why:?}"), *count)).collect();
        let asked = group.rises.len() + withheld.values().sum::<usize>();
        if asked == 0 {
            continue;
        }
        let _ = writeln!(
            text,
            "{name:24} {:>5} / {:>5} {:>6} % {:>6} % {:>6} s  ({} told, withheld: {})",
            one(group.rise(0.5)),
            one(group.rise(0.9)),
            one(percent(&group.rises, |rise| rise.inside)),
            one(percent(&group.rises, |rise| rise.under)),
            one(quantile(&mut after, 0.5)),
            group.rises.len(),
            counts(&withheld)
        );
    }
    let oven = groups.get("appliance oven");
    let error = |share| oven.map_or(f64::NAN, |oven| oven.rise(share));
    let half = Figure::new("carry-over from the oven, median error", error(0.5), "°C", Bound::AtMost(1.5));
    verdict.figures.push(half.aim(Bound::AtMost(1.0)));
    let nine = ("carry-over from the oven, 90th percentile of the error", error(0.9));
    verdict.figures.push(Figure::aimed(nine.0, nine.1, "°C", Bound::AtMost(4.0)));
}

impl Group {
    fn error(&self, look: usize, share: f64) -> f64 {
        let looks = self.looks.get(&look).map_or(&[][..], Vec::as_slice);
        quantile(&mut looks.iter().map(|look| look.error).collect::<Vec<_>>(), share)
    }

    /// Looks from one on.
    fn from(&self, first: usize) -> Vec<Look> {
        self.looks.range(first..).flat_map(|(_, looks)| looks).copied().collect()
    }

    fn rise(&self, share: f64) -> f64 {
        quantile(&mut self.rises.iter().map(|rise| rise.error).collect::<Vec<_>>(), share)
    }
}

fn late(calls: &[Call], share: f64) -> f64 {
    quantile(&mut calls.iter().map(|call| call.late).collect::<Vec<_>>(), share)
}

fn under(calls: &[Call]) -> f64 {
    percent(calls, |call| call.under > 0.5)
}

fn counts(of: &BTreeMap<String, usize>) -> String {
    if of.is_empty() {
        return "none".to_owned();
    }
    of.iter().map(|(why, count)| format!("{count} {why}")).collect::<Vec<_>>().join(", ")
}

fn one(figure: f64) -> String {
    if figure.is_finite() { format!("{figure:.1}") } else { "-".to_owned() }
}

fn signed(figure: f64) -> String {
    if figure.is_finite() { format!("{figure:+.0}") } else { "-".to_owned() }
}

fn quantile(list: &mut [f64], share: f64) -> f64 {
    if list.is_empty() {
        return f64::NAN;
    }
    list.sort_by(f64::total_cmp);
    let place = share * (list.len() - 1) as f64;
    let i = place as usize;
    list[i] + (list[(i + 1).min(list.len() - 1)] - list[i]) * (place - i as f64)
}

fn percent<T>(list: &[T], pick: impl Fn(&T) -> bool) -> f64 {
    if list.is_empty() {
        f64::NAN
    } else {
        100.0 * list.iter().filter(|one| pick(one)).count() as f64 / list.len() as f64
    }
}
