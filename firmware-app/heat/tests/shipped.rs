//! The shipped bank is what the seed gives, and finds cooks that it holds.

use doneness::{Appliance, bank::Bank, course::Course, signs::unmeasure};
use heat::packing::{bank, bank_cook};

const CURVES: &[u8] = include_bytes!("../../doneness/data/curves.bin");
const RESTS: &[u8] = include_bytes!("../../doneness/data/rests.bin");
/// Mark, version, seed, count.
const HEAD: usize = 20;

#[test]
fn the_first_shipped_cooks_are_made_again_to_the_bit() {
    let shipped = Bank::open(CURVES, RESTS).expect("the shipped files are whole");
    let (curves, rests) = bank(shipped.seed, 40);
    assert_eq!(curves[HEAD..curves.len() - 8], CURVES[HEAD..curves.len() - 8]);
    assert_eq!(rests[HEAD..rests.len() - 8], RESTS[HEAD..rests.len() - 8]);
}

#[test]
fn bank_and_models_are_within_five_megabytes() {
    assert!(doneness::Knowledge::size() <= 5_000_000, "{}", doneness::Knowledge::size());
}

#[test]
fn a_cook_that_the_bank_holds_is_found_at_half_its_time() {
    let shipped = Bank::open(CURVES, RESTS).expect("the shipped files are whole");
    let mut tried = 0;
    for item in 0..60 {
        let (_, cooked) = bank_cook(shipped.seed, item);
        let Some(end) = cooked.reaches(65.0).filter(|end| *end > 900.0) else { continue };
        if cooked.appliance != Appliance::Oven || !cooked.told.is_empty() || cooked.tip[0] < 0.0 {
            continue;
        }
        let mut course = Course::new(cooked.setting.map(|set| set as f32));
        let mut place = 0;
        let mut second = 0.0;
        while second < 0.5 * end {
            // without lag the course runs ahead of what the bank takes for granted
            course.reading(second, cooked.tip_at((second - 5.5).max(0.0), &mut place));
            second += 1.0;
        }
        let Some(likely) = shipped.time_left(&course, Appliance::Oven, 65.0) else { continue };
        tried += 1;
        let low = unmeasure(likely.left[0]) * course.seconds() + course.seconds();
        let high = unmeasure(likely.left[2]) * course.seconds() + course.seconds();
        assert!(low * 0.9 < end && end < high * 1.1, "cook {item}: {low} to {high} for {end}");
    }
    assert!(tried > 15, "{tried}");
}
