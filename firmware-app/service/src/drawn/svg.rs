use std::{collections::BTreeSet, fmt::Write};

use face::Size;

use super::{
    colour::Colour,
    scene::{Area, DASH, HALO, Line, Paint, Part, Pattern, Scene, Shape, TILE, Towards, wide},
};

/// Faces of about the same width as the panel's; whatever is there, its letters are fitted to the panel's widths.
const FACES: &str = "'Roboto Condensed','Arial Narrow','Liberation Sans Narrow','DejaVu Sans Condensed',sans-serif";

/// Writes the scene as SVG. Its parts keep their places whatever typeface it is shown with.
pub(super) fn written(scene: &Scene) -> String {
    let Scene { width, height, .. } = scene;
    let id = id_of(&scene.title);
    let mut out = String::new();
    // writing to a string cannot fail
    let _ = writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" role=\"img\" \
         aria-labelledby=\"{id}-title {id}-told\" font-family=\"{FACES}\" font-weight=\"500\">\n\
         <title id=\"{id}-title\">{}</title>\n<desc id=\"{id}-told\">{}</desc>\n\
         <style>@media print{{svg{{print-color-adjust:exact;-webkit-print-color-adjust:exact}}}}</style>",
        escaped(&scene.title),
        escaped(&scene.told)
    );
    out += &patterns(scene, &id);
    let mut open: Option<&str> = None;
    for part in &scene.parts {
        let told = part.told.as_deref();
        if told != open {
            if open.is_some() {
                out += "</g>\n";
            }
            if let Some(told) = told {
                let _ = writeln!(out, "<g><title>{}</title>", escaped(told));
            }
            open = told;
        }
        out += &shape(part, &id);
        out.push('\n');
    }
    if open.is_some() {
        out += "</g>\n";
    }
    out + "</svg>\n"
}

fn shape(part: &Part, id: &str) -> String {
    match &part.shape {
        Shape::Fill { area: Area { x, y, w, h }, paint } => {
            let paint = match paint {
                Paint::Plain(colour) => colour.hex(),
                Paint::Pattern(pattern, colour) => format!("url(#{})", pattern_id(*pattern, *colour, id)),
            };
            format!("<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" fill=\"{paint}\"/>")
        }
        Shape::Outline { area, line } => {
            // the line lies within the area: half its thickness inwards, in half pixels
            let half = |place: i32| f64::from(place) / 2.0;
            let (x, y) = (half(2 * area.x + line.thick), half(2 * area.y + line.thick));
            let (w, h) = ((area.w - line.thick).max(0), (area.h - line.thick).max(0));
            format!("<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" fill=\"none\"{}/>", stroke(*line))
        }
        Shape::Stroke { from, to, line } => {
            // lines of odd thickness lie on half pixels
            let shift = f64::from(line.thick % 2) / 2.0;
            let at = |(x, y): (i32, i32)| {
                if from.0 == to.0 { (f64::from(x) + shift, f64::from(y)) } else { (f64::from(x), f64::from(y) + shift) }
            };
            let ((x1, y1), (x2, y2)) = (at(*from), at(*to));
            format!("<line x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\"{}/>", stroke(*line))
        }
        Shape::Tip { at: (x, y), towards, colour } => {
            let (one, other) = match towards {
                Towards::Down => ((x - 5, y - 8), (x + 5, y - 8)),
                Towards::Up => ((x - 5, y + 8), (x + 5, y + 8)),
                Towards::Right => ((x - 8, y - 5), (x - 8, y + 5)),
            };
            format!("<path d=\"M{x} {y}L{} {}L{} {}z\" fill=\"{}\"/>", one.0, one.1, other.0, other.1, colour.hex())
        }
        Shape::Text { at: (x, y), text, size, colour, halo } => {
            let halo = halo.map(|halo| {
                format!(
                    " stroke=\"{}\" stroke-width=\"{}\" stroke-linejoin=\"round\" paint-order=\"stroke\"",
                    halo.hex(),
                    2 * HALO
                )
            });
            format!(
                "<text x=\"{x}\" y=\"{y}\" font-size=\"{}\" textLength=\"{}\" lengthAdjust=\"spacingAndGlyphs\" \
                 fill=\"{}\"{}>{}</text>",
                em(*size),
                wide(text, *size),
                colour.hex(),
                halo.unwrap_or_default(),
                escaped(text)
            )
        }
    }
}

fn stroke(line: Line) -> String {
    let dashes = if line.dashed { format!(" stroke-dasharray=\"{DASH}\"") } else { String::new() };
    format!(" stroke=\"{}\" stroke-width=\"{}\"{dashes}", line.colour.hex(), line.thick)
}

/// The size of letters whose capitals are as high as those of the panel's: 1456 of 2048 units of Roboto Condensed.
fn em(size: Size) -> String {
    format!("{:.1}", f64::from(size.capital()) * 2048.0 / 1456.0)
}

fn patterns(scene: &Scene, id: &str) -> String {
    let used: BTreeSet<(Pattern, (u8, u8, u8))> = scene
        .parts
        .iter()
        .filter_map(|part| match part.shape {
            Shape::Fill { paint: Paint::Pattern(pattern, Colour(red, green, blue)), .. } => {
                Some((pattern, (red, green, blue)))
            }
            Shape::Fill { paint: Paint::Plain(_), .. }
            | Shape::Outline { .. }
            | Shape::Stroke { .. }
            | Shape::Tip { .. }
            | Shape::Text { .. } => None,
        })
        .collect();
    if used.is_empty() {
        return String::new();
    }
    let mut out = String::from("<defs>\n");
    for (pattern, (red, green, blue)) in used {
        let colour = Colour(red, green, blue);
        // slanted ones run on over the edge of the tile
        let ink = match pattern {
            Pattern::Stripes => "M0 0h4L0 4zM8 0v4L4 8H0z",
            Pattern::Dots => "M2 2h4v4h-4z",
            Pattern::Bars => "M0 0h3v8h-3z",
            Pattern::Hatch => "M0 0h1L0 1zM4 0h1L0 5V4zM8 0v1L1 8H0zM8 4v1L5 8H4z",
        };
        let _ = writeln!(
            out,
            "<pattern id=\"{}\" width=\"{TILE}\" height=\"{TILE}\" patternUnits=\"userSpaceOnUse\">\
             <path d=\"{ink}\" fill=\"{}\"/></pattern>",
            pattern_id(pattern, colour, id),
            colour.hex()
        );
    }
    out + "</defs>\n"
}

fn pattern_id(pattern: Pattern, colour: Colour, id: &str) -> String {
    let name = match pattern {
        Pattern::Stripes => "stripes",
        Pattern::Dots => "dots",
        Pattern::Bars => "bars",
        Pattern::Hatch => "hatch",
    };
    format!("{id}-{name}-{}", &colour.hex()[1..])
}

/// Letters and figures of the title, so that two pictures on one page do not share names.
fn id_of(title: &str) -> String {
    let kept: String = title.chars().map(|letter| if letter.is_ascii_alphanumeric() { letter } else { '-' }).collect();
    format!("plan-{}", kept.trim_matches('-').to_ascii_lowercase())
}

/// Text for XML; what XML cannot hold is left out.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out += "&amp;",
            '<' => out += "&lt;",
            '>' => out += "&gt;",
            '"' => out += "&quot;",
            '\n' | '\t' => out.push(' '),
            letter if letter.is_control() || matches!(letter, '\u{fffe}' | '\u{ffff}') => {}
            letter => out.push(letter),
        }
    }
    out
}
