//! Packs simulated cooks into the two files of a bank.

use std::thread;

use doneness::{
    bank::{COLDEST, POINTS, PULLS},
    packed::{self, Mark},
};

use crate::{
    chance::Chance,
    cook::Cooked,
    family::{self, Family},
};

/// Runs a task for each item on two threads; answers come in the order of the items, whatever the threads do.
pub fn each<T: Send>(items: u64, task: impl Fn(u64) -> T + Sync) -> Vec<T> {
    let half = |first: u64| (first..items).step_by(2).map(&task).collect::<Vec<T>>();
    let (even, odd) = thread::scope(|scope| {
        let odd = scope.spawn(|| half(1));
        let even = half(0);
        (even, odd.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
    });
    let mut odd = odd.into_iter();
    let mut all = Vec::with_capacity(items as usize);
    for item in even {
        all.push(item);
        all.extend(odd.next());
    }
    all
}

/// One cook of a bank: pulled at fixed cores.
pub fn bank_cook(seed: u64, item: u64) -> (Family, Cooked) {
    let mut chance = Chance::of(seed, item);
    let family = family::drawn(&mut chance);
    let mut cook = family::cook(family, &mut chance);
    cook.pulls = PULLS.map(f64::from).to_vec();
    (family, cook.run())
}

/// The curves and the rests of a seed, packed; a pair of files.
pub fn bank(seed: u64, cooks: u64) -> (Vec<u8>, Vec<u8>) {
    let all = each(cooks, |item| {
        let (_, cooked) = bank_cook(seed, item);
        (curve(&cooked), rests(&cooked))
    });
    let (mut curves, mut rests) = (Vec::new(), Vec::new());
    for (curve, rest) in all {
        curves.extend(curve);
        rests.extend(rest);
    }
    let count = cooks as u32;
    (packed::pack(Mark::Curves, seed, count, &curves), packed::pack(Mark::Rests, seed, count, &rests))
}

fn curve(cooked: &Cooked) -> Vec<u8> {
    let end = cooked.end();
    let turns: Vec<f64> =
        cooked.told.iter().filter(|(_, change)| *change == doneness::Change::Turned).map(|(at, _)| *at).collect();
    let mut bytes = vec![cooked.appliance as u8, turns.len().min(255) as u8];
    bytes.extend((cooked.setting.unwrap_or(0.0) as u16).to_le_bytes());
    bytes.extend((end as f32).to_le_bytes());
    let first = turns.first().map_or(0.0, |at| at / end);
    bytes.extend(((first * 65_535.0) as u16).to_le_bytes());
    bytes.extend(0u16.to_le_bytes());
    let mut from = 0;
    for i in 0..POINTS {
        let tip = cooked.tip_at(end * i as f64 / (POINTS - 1) as f64, &mut from);
        let stored = libm::round((tip - f64::from(COLDEST)) * 256.0).clamp(0.0, 65_535.0);
        bytes.extend((stored as u16).to_le_bytes());
    }
    bytes
}

fn rests(cooked: &Cooked) -> Vec<u8> {
    let mut bytes = Vec::new();
    for pull in PULLS.map(f64::from) {
        // a cook that leapt over a pull has none there
        let near = cooked.rests.iter().find(|rest| (rest.tip - pull).abs() < 2.0);
        let (rise, after) = near.map_or((u16::MAX, 0), |rest| {
            (((rest.peak - rest.tip) * 200.0).clamp(0.0, 65_000.0) as u16, rest.after.min(65_000.0) as u16)
        });
        bytes.extend(rise.to_le_bytes());
        bytes.extend(after.to_le_bytes());
    }
    bytes
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_bank_has_the_same_bits_every_time_and_opens() {
        let (curves, rests) = bank(11, 12);
        assert_eq!((curves.clone(), rests.clone()), bank(11, 12));
        let opened = doneness::bank::Bank::open(&curves, &rests).unwrap();
        assert_eq!(opened.len(), 12);
        assert_ne!(curves, bank(12, 12).0);
    }

    #[test]
    fn the_first_cooks_do_not_depend_on_how_many_follow() {
        let (short, _) = bank(3, 3);
        let (long, _) = bank(3, 8);
        assert_eq!(short[20..short.len() - 8], long[20..short.len() - 8]);
    }
}
