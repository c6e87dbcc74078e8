//! Draws the letters that the panels use: for the colour panel into one atlas with 16 levels of grey, for the panel of one
//! bit into another.
//!
//! Writes `atlas.bin` (two pixels a byte, left one high; each glyph starts on a byte), `bits.bin` (eight pixels a byte,
//! left one high; each glyph starts on a byte) and `glyphs.rs` (one sorted table a size).

use std::{env, fmt::Write, fs, path::Path};

use fontdue::{Font, FontSettings};

/// Each glyph is drawn this much larger and averaged down.
const OVERSAMPLING: i32 = 4;

const FIGURES: &str = "0123456789";
const FEW: &str = " 0123456789+-−:.°hmsnow";
const ALL: &str = concat!(
    " !\"%&'()*+,-./0123456789:;<=>?",
    "ABCDEFGHIJKLMNOPQRSTUVWXYZ",
    "abcdefghijklmnopqrstuvwxyz",
    "°×–−’„“”…½¼¾µ→±#_",
    "ÄÖÜÅÆÇÉØàáâäåæçèéêëíîïñóôöøúûüœß",
);

/// Name, height of a capital in px, letters.
const SIZES: [(&str, u32, &str); 7] = [
    ("XXL", 78, FEW),
    ("BADGE", 66, FEW),
    ("XL", 44, FEW),
    ("L", 31, FEW),
    ("QUESTION", 26, ALL),
    ("M", 20, ALL),
    ("S", 16, ALL),
];

/// Letters of the figure sizes for the panel of one bit, in the order of their code points.
const FEW_SORTED: &str = " +-.0123456789:hmnosw°−";

/// Name and height of a capital in px, for the panel of one bit.
const BIT_SIZES: [(&str, u32); 3] = [("BIT_BAND", 29), ("BIT_PAGE", 22), ("BIT_ROW", 16)];

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-changed=fonts/RobotoCondensed-Medium.ttf");
    let file = fs::read("fonts/RobotoCondensed-Medium.ttf").expect("the font file lies beside build.rs");
    let font = Font::from_bytes(file, FontSettings { scale: 400.0, ..FontSettings::default() })
        .expect("the font file is a TrueType font");

    let mut atlas = Vec::new();
    let mut tables = String::new();
    for (name, capital, letters) in SIZES {
        let mut letters: Vec<char> = letters.chars().filter(|letter| is_drawn(&font, *letter)).collect();
        letters.sort_unstable();
        letters.dedup();
        let _ = writeln!(tables, "pub(crate) static {name}: [Entry; {}] = [", letters.len());
        for letter in letters {
            let glyph = draw(&font, letter, capital);
            let Drawn { advance, x, y, w, h, .. } = glyph;
            let at = atlas.len();
            atlas.extend(glyph.alpha.chunks(2).map(|pair| pair[0] << 4 | pair.get(1).copied().unwrap_or(0)));
            let _ = writeln!(
                tables,
                "    Entry {{ letter: {letter:?}, at: {at}, advance: {advance}, x: {x}, y: {y}, w: {w}, h: {h} }},"
            );
        }
        tables.push_str("];\n");
    }
    let mut bits = Vec::new();
    for (name, capital) in BIT_SIZES {
        let letters: Vec<char> = FEW_SORTED.chars().filter(|letter| is_drawn(&font, *letter)).collect();
        assert!(letters.is_sorted(), "the letters of a panel of one bit stand in order");
        let _ = writeln!(tables, "pub(crate) static {name}: [Entry; {}] = [", letters.len());
        for letter in letters {
            let Drawn { advance, x, y, w, h, alpha } = draw_bits(&font, letter, capital);
            let at = bits.len();
            let byte = |eight: &[u8]| eight.iter().enumerate().fold(0, |byte, (i, ink)| byte | ink << (7 - i));
            bits.extend(alpha.chunks(8).map(byte));
            let _ = writeln!(
                tables,
                "    Entry {{ letter: {letter:?}, at: {at}, advance: {advance}, x: {x}, y: {y}, w: {w}, h: {h} }},"
            );
        }
        tables.push_str("];\n");
    }
    let out = env::var("OUT_DIR").expect("cargo sets OUT_DIR for a build script");
    fs::write(Path::new(&out).join("atlas.bin"), atlas).expect("OUT_DIR can be written");
    fs::write(Path::new(&out).join("bits.bin"), bits).expect("OUT_DIR can be written");
    fs::write(Path::new(&out).join("glyphs.rs"), tables).expect("OUT_DIR can be written");
}

/// A letter that the font lacks is an error here, except for the few signs that other fonts have.
fn is_drawn(font: &Font, letter: char) -> bool {
    let found = font.lookup_glyph_index(letter) != 0;
    assert!(found || letter == '→', "the font has no {letter:?}");
    found || letter == '→'
}

struct Drawn {
    advance: i32,
    x: i32,
    y: i32,
    w: i32,
    h: i32,
    alpha: Vec<u8>,
}

fn draw(font: &Font, letter: char, capital: u32) -> Drawn {
    if letter == '→' && font.lookup_glyph_index(letter) == 0 {
        return arrow(capital as i32);
    }
    // the outline of H is as high as a capital by definition
    let capital_share = {
        let outline = font.metrics('H', 1000.0).bounds;
        outline.height / 1000.0
    };
    let px = (capital as i32 * OVERSAMPLING) as f32 / capital_share;
    let (metrics, coverage) = font.rasterize(letter, px);

    // figures all get the width of the widest, so that nothing jumps when a clock runs
    let own_advance = |letter| font.metrics(letter, px).advance_width;
    let advance = if letter.is_ascii_digit() {
        FIGURES.chars().map(own_advance).fold(0.0, f32::max)
    } else {
        own_advance(letter)
    };
    let advance = (advance / OVERSAMPLING as f32).round() as i32;
    let centring = ((advance * OVERSAMPLING) as f32 - own_advance(letter)) / 2.0;

    let left = metrics.xmin + centring.round() as i32;
    let top = -(metrics.ymin + metrics.height as i32);
    let (x0, y0) = (left.div_euclid(OVERSAMPLING), top.div_euclid(OVERSAMPLING));
    let w = (left + metrics.width as i32 - x0 * OVERSAMPLING + OVERSAMPLING - 1) / OVERSAMPLING;
    let h = (top + metrics.height as i32 - y0 * OVERSAMPLING + OVERSAMPLING - 1) / OVERSAMPLING;
    let mut sums = vec![0u32; (w * h) as usize];
    for (i, value) in coverage.iter().enumerate() {
        let column = (left + (i % metrics.width) as i32).div_euclid(OVERSAMPLING) - x0;
        let row = (top + (i / metrics.width) as i32).div_euclid(OVERSAMPLING) - y0;
        sums[(row * w + column) as usize] += u32::from(*value);
    }
    let full = 255 * (OVERSAMPLING * OVERSAMPLING) as u32;
    let alpha = sums.iter().map(|sum| ((sum * 15 + full / 2) / full) as u8).collect();
    trimmed(Drawn { advance, x: x0, y: y0, w, h, alpha })
}

/// A letter in one bit. A threshold alone makes strokes of a letter differ by a pixel, so of all places within a pixel the
/// one is taken at which the fewest pixels are half covered: there the edges of the stems lie on the grid.
fn draw_bits(font: &Font, letter: char, capital: u32) -> Drawn {
    const FINE: i32 = 10;
    let capital_share = font.metrics('H', 1000.0).bounds.height / 1000.0;
    let px = (capital as i32 * FINE) as f32 / capital_share;
    let (metrics, coverage) = font.rasterize(letter, px);
    let own_advance = |letter| font.metrics(letter, px).advance_width;
    let advance = if letter.is_ascii_digit() {
        FIGURES.chars().map(own_advance).fold(0.0, f32::max)
    } else {
        own_advance(letter)
    };
    // whole pixels, rounded up: a letter of one bit needs its full gap
    let advance = (advance / FINE as f32).ceil() as i32;
    let centring = ((advance * FINE) as f32 - own_advance(letter)) / 2.0;
    let top = -(metrics.ymin + metrics.height as i32);
    let full = FINE * FINE;
    let at = |shift: i32| {
        let left = metrics.xmin + centring.round() as i32 + shift;
        let (x, y) = (left.div_euclid(FINE), top.div_euclid(FINE));
        let w = (left + metrics.width as i32 - x * FINE + FINE - 1) / FINE;
        let h = (top + metrics.height as i32 - y * FINE + FINE - 1) / FINE;
        let mut sums = vec![0; (w * h) as usize];
        for (i, _) in coverage.iter().enumerate().filter(|(_, value)| **value >= 128) {
            let column = (left + (i % metrics.width) as i32).div_euclid(FINE) - x;
            let row = (top + (i / metrics.width) as i32).div_euclid(FINE) - y;
            sums[(row * w + column) as usize] += 1;
        }
        let half_covered: i32 = sums.iter().map(|sum: &i32| (*sum).min(full - sum)).sum();
        let alpha = sums.iter().map(|sum| u8::from(sum * 2 >= full)).collect();
        (half_covered, shift.abs(), Drawn { advance, x, y, w, h, alpha })
    };
    let places = (-FINE / 2..=FINE / 2).map(at);
    let (_, _, best) = places.min_by_key(|(half, shift, _)| (*half, *shift)).expect("the range has eleven places");
    trimmed(best)
}

/// Without the empty rows and columns at its edges.
fn trimmed(glyph: Drawn) -> Drawn {
    let Drawn { advance, x, y, w, h, alpha } = glyph;
    let inked = |column: i32, row: i32| alpha[(row * w + column) as usize] > 0;
    let columns: Vec<i32> = (0..w).filter(|c| (0..h).any(|r| inked(*c, r))).collect();
    let rows: Vec<i32> = (0..h).filter(|r| (0..w).any(|c| inked(c, *r))).collect();
    let (Some((&c0, &c1)), Some((&r0, &r1))) = (columns.first().zip(columns.last()), rows.first().zip(rows.last()))
    else {
        return Drawn { advance, x: 0, y: 0, w: 0, h: 0, alpha: Vec::new() };
    };
    let kept = (r0..=r1).flat_map(|r| (c0..=c1).map(move |c| (c, r)));
    let alpha = kept.map(|(c, r)| alpha[(r * w + c) as usize]).collect();
    Drawn { advance, x: x + c0, y: y + r0, w: c1 - c0 + 1, h: r1 - r0 + 1, alpha }
}

/// An arrow to the right in the weight of the letters, for a font that has none.
fn arrow(capital: i32) -> Drawn {
    let stroke = (capital as f32 * 0.13).max(2.0);
    let length = (capital as f32 * 0.86).round() as i32;
    let head = capital as f32 * 0.30;
    let half = head.ceil() as i32 + 2;
    let mut alpha = Vec::new();
    for row in -half..half {
        for column in 0..length {
            let mut hits = 0u32;
            for sub in 0..16 {
                let x = column as f32 + (sub % 4) as f32 / 4.0 + 0.125;
                let y = row as f32 + (sub / 4) as f32 / 4.0 + 0.125;
                let from_tip = length as f32 - x;
                let shaft = y.abs() <= stroke / 2.0 && from_tip >= stroke;
                // the two strokes of the head run at 45 degrees from the tip
                let barb = (from_tip - y.abs() - stroke * 0.7).abs() <= stroke * 0.7 && y.abs() <= head;
                hits += u32::from(shaft || barb);
            }
            alpha.push(((hits * 15 + 8) / 16) as u8);
        }
    }
    let middle = -(capital as f32 * 0.38).round() as i32;
    trimmed(Drawn { advance: length + 2, x: 1, y: middle - half, w: length, h: 2 * half, alpha })
}
