//! The tables of a verdict, and which accepted figures were missed.

use std::{collections::BTreeMap, fmt::Write as _};

use super::{CAREFUL, Group, LINE, LOOKS, Look, MEAN_10, MEAN_30, Verdict};

/// Look, accepted median and 90 % of the error.
const ACCEPT: [(usize, f64, f64); 3] = [(0, 12.0, 45.0), (5, 5.0, 16.0), (10, 1.5, 6.5)];
const AIM: [(usize, f64, f64); 3] = [(0, 8.0, 25.0), (5, 3.0, 10.0), (10, 1.0, 4.0)];

pub(super) fn times(groups: &BTreeMap<String, Group>, verdict: &mut Verdict) {
    let text = &mut verdict.text;
    text.push_str("Time to the target: error in % of the whole time, median / 90 % (told of all)\n");
    let _ = writeln!(text, "{:26} {:>22} {:>22} {:>22}  inside  late", "", "at 25 %", "at 50 %", "at 75 %");
    for (name, group) in groups {
        let _ = write!(text, "{name:26}");
        for (look, ..) in ACCEPT {
            let scores = group.looks.get(&look).map_or(&[][..], Vec::as_slice);
            let mut errors: Vec<f64> = scores.iter().map(|score| score.0).collect();
            let withheld: u32 = group.withheld.get(&look).map_or(0, |why| why.values().sum());
            let (half, nine) = (quantile(&mut errors, 0.5), quantile(&mut errors, 0.9));
            let _ = write!(text, " {half:6.1} /{nine:6.1} ({:2}/{:2})", scores.len(), scores.len() as u32 + withheld);
        }
        let all: Vec<&Look> = group.looks.values().flatten().collect();
        let _ = writeln!(text, "  {:5.0}  {:4.0}", percent(&all, |s| s.1), percent(&all, |s| s.2));
    }
    let _ = writeln!(text, "inside and late count looks at 25, 30 ... 95 % of the time");
    let Some(all) = groups.get("all") else { return };
    for (why, count) in all.withheld.values().flatten().fold(BTreeMap::new(), |mut sum, (why, count)| {
        *sum.entry(*why).or_insert(0) += count;
        sum
    }) {
        let _ = writeln!(text, "withheld {why:?}: {count} looks");
    }
    for ((look, half, nine), (_, aim_half, aim_nine)) in ACCEPT.iter().zip(&AIM) {
        let mut errors: Vec<f64> = all.looks.get(look).map_or(&[][..], Vec::as_slice).iter().map(|s| s.0).collect();
        let at = LOOKS[*look] * 100.0;
        for (share, accept, aim) in [(0.5, half, aim_half), (0.9, nine, aim_nine)] {
            let found = quantile(&mut errors, share);
            let met = if found <= *aim {
                "aim met"
            } else if found <= *accept {
                "accepted"
            } else {
                "missed"
            };
            let _ = writeln!(
                text,
                "at {at:.0} %, {:.0} % of errors: {found:.2} (accept {accept}, aim {aim}): {met}",
                share * 100.0
            );
            if found.is_nan() || found > *accept {
                verdict.missed.push(format!("error at {at:.0} %: {found:.2} is over {accept}"));
            }
        }
    }
    let looks: Vec<Look> = all.looks.values().flatten().copied().collect();
    let (inside, late) = (percent(&looks, |s| s.1), percent(&looks, |s| s.2));
    let _ = writeln!(
        text,
        "80 % interval: holds the truth {inside:.1} % (accept 76 to 90, aim 78 to 86), later {late:.1} % (accept 12, aim 10)"
    );
    if !(76.0..=90.0).contains(&inside) {
        verdict.missed.push(format!("the 80 % interval holds the truth in {inside:.1} %, not in 76 to 90"));
    }
    if late.is_nan() || late > 12.0 {
        verdict.missed.push(format!("the truth is later in {late:.1} %, over 12"));
    }
    for (name, group) in groups.iter().filter(|(name, _)| name.starts_with("family")) {
        let from_half: Vec<Look> =
            group.looks.iter().filter(|(look, _)| **look >= 5).flat_map(|(_, scores)| scores.iter().copied()).collect();
        let inside = percent(&from_half, |s| s.1);
        let _ =
            writeln!(text, "{name}: from half-time the interval holds the truth in {inside:.0} % (accept 50, aim 70)");
        if inside < 50.0 {
            verdict
                .missed
                .push(format!("{name}: from half-time the interval holds the truth in {inside:.0} %, under 50"));
        }
    }
}

pub(super) fn reached(groups: &BTreeMap<String, Group>, verdict: &mut Verdict) {
    let text = &mut verdict.text;
    text.push_str("\nReached: seconds after the truth, 10 % / median / 90 %; called more than 0.5 °C under\n");
    let Some(all) = groups.get("all") else { return };
    for (rule, calls) in &all.reached {
        let mut late: Vec<f64> = calls.iter().map(|call| call.0).collect();
        let under = percent(calls, |call| call.1 > 0.5);
        let q = [0.1, 0.5, 0.9].map(|share| quantile(&mut late, share));
        let not = all.missed.get(rule).copied().unwrap_or(0);
        let _ = writeln!(
            text,
            "{rule:34} {:+4.0} / {:+4.0} / {:+4.0}  {under:4.1} %  ({} called, {not} not before the record's end)",
            q[0],
            q[1],
            q[2],
            calls.len()
        );
        let accept = match *rule {
            MEAN_10 | MEAN_30 | CAREFUL => 0.0,
            LINE => 2.0,
            _ => 100.0,
        };
        if under > accept {
            verdict.missed.push(format!("{rule}: {under:.1} % called more than 0.5 °C under, over {accept}"));
        }
    }
}

pub(super) fn carry(groups: &BTreeMap<String, Group>, verdict: &mut Verdict) {
    let text = &mut verdict.text;
    text.push_str("\nCarry-over: error of the peak in °C, median / 90 %; inside the interval; under its lower end; error of its time in s, median\n");
    for (name, group) in groups {
        let mut errors: Vec<f64> = group.carry.iter().map(|c| c.0).collect();
        let mut after: Vec<f64> = group.carry.iter().map(|c| c.3).collect();
        let withheld: u32 = group.no_carry.values().sum();
        let (half, nine) = (quantile(&mut errors, 0.5), quantile(&mut errors, 0.9));
        let _ = writeln!(
            text,
            "{name:26} {half:5.1} /{nine:5.1}  {:4.0} %  {:4.0} %  {:5.0} s  ({} told, {withheld} withheld)",
            percent(&group.carry, |c| c.1),
            percent(&group.carry, |c| c.2),
            quantile(&mut after, 0.5),
            group.carry.len()
        );
        if name == "appliance Oven" && half > 1.5 {
            verdict.missed.push(format!("carry-over in the oven: median error {half:.2} °C is over 1.5"));
        }
    }
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
