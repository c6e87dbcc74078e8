use core::fmt::Write;

use crate::{Complaint, Severity, Source};

const RED: &str = "\u{1b}[1;31m";
const YELLOW: &str = "\u{1b}[1;33m";
const BLUE: &str = "\u{1b}[1;34m";
const PLAIN: &str = "\u{1b}[0m";

/// A complaint as shown to the writer of the recipe: place and message, the line with the fault underlined, and what to
/// write instead. Ends with a newline. With `colour` the same text carries terminal colours.
pub fn render(complaint: &Complaint, source: &Source<'_>, colour: bool) -> String {
    let paint = |on: &'static str| if colour { on } else { "" };
    let (off, edge) = (paint(PLAIN), paint(BLUE));
    let hue = match complaint.severity {
        Severity::Error => paint(RED),
        Severity::Warning => paint(YELLOW),
    };
    let Complaint { rule, severity, line, column, message, help, .. } = complaint;
    // a long line is shown around the fault only
    let letters: Vec<char> = source.line(*line).chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let from =
        if letters.len() > WIDEST { column.saturating_sub(1 + WIDEST / 3).min(letters.len() - WIDEST) } else { 0 };
    let shown: String = letters.iter().skip(from).take(WIDEST).collect();
    let before = column - 1 - from.min(column - 1);
    let spanned = source.text.get(complaint.span.clone()).unwrap_or("");
    let length = spanned.lines().next().unwrap_or("").trim_end().chars().count();
    let marks = length.clamp(1, (shown.chars().count() + 1).saturating_sub(before).max(1));
    let gutter = " ".repeat(line.to_string().len());
    let mut out = String::new();
    // writing to a string cannot fail
    let _ = writeln!(out, "{}:{line}:{column}: {hue}{severity}[{rule}]{off}: {message}", source.name);
    let _ = writeln!(out, "{gutter} {edge}|{off}");
    let _ = writeln!(out, "{edge}{line} |{off} {}", shown.trim_end());
    let _ = writeln!(out, "{gutter} {edge}|{off} {}{hue}{}{off}", " ".repeat(before), "^".repeat(marks));
    if !help.is_empty() {
        let _ = writeln!(out, "{gutter} {edge}={off} help: {help}");
    }
    out
}

/// The most letters of a line that are shown.
const WIDEST: usize = 110;
