use core::ops::Range;

/// A recipe file: its name for messages, and its text.
#[derive(Clone, Copy, Debug)]
pub struct Source<'t> {
    /// The name shown in front of every complaint.
    pub name: &'t str,
    /// The whole text.
    pub text: &'t str,
}

impl<'t> Source<'t> {
    /// Line and column of a byte, both from 1; the column counts letters.
    pub fn line_and_column(&self, at: usize) -> (usize, usize) {
        let before = &self.text[..self.boundary(at)];
        let start = before.rfind('\n').map_or(0, |newline| newline + 1);
        (before.matches('\n').count() + 1, before[start..].chars().count() + 1)
    }

    /// The line with this number, from 1, without its end.
    pub fn line(&self, number: usize) -> &'t str {
        self.text.split('\n').nth(number.saturating_sub(1)).unwrap_or("").trim_end_matches('\r')
    }

    /// The text at a place, on one line and at most 60 letters of it.
    pub(crate) fn excerpt(&self, place: &Range<usize>) -> String {
        let text = &self.text[self.boundary(place.start)..self.boundary(place.end.max(place.start))];
        shortened(text.lines().next().unwrap_or("").trim())
    }

    /// The nearest start of a letter at or before a byte.
    fn boundary(&self, at: usize) -> usize {
        self.text.floor_char_boundary(at.min(self.text.len()))
    }
}

/// At most 60 letters of a text, so that a hostile file cannot fill a report.
pub(crate) fn shortened(text: &str) -> String {
    match text.char_indices().nth(60) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}
