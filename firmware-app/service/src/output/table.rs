use anstyle::Style;
use comfy_table::{ContentArrangement, presets};

/// Rows under headings, for people; programs read `--json`.
#[derive(Clone, Debug)]
pub struct Table {
    heads: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// Starts with the headings.
    pub fn new<const N: usize>(heads: [&str; N]) -> Self {
        Self { heads: heads.map(str::to_owned).into(), rows: Vec::new() }
    }

    /// Adds a row with a cell for each heading.
    pub fn row<const N: usize>(&mut self, cells: [String; N]) {
        debug_assert_eq!(cells.len(), self.heads.len(), "a cell for each heading");
        self.rows.push(cells.into());
    }

    /// Whether there is no row.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// As lines; cells are folded to keep to `width` if one is given.
    pub(super) fn drawn(&self, width: Option<u16>, head: Style) -> String {
        let mut drawn = comfy_table::Table::new();
        drawn.load_preset(presets::NOTHING).set_header(&self.heads).add_rows(&self.rows);
        if let Some(width) = width {
            drawn.set_content_arrangement(ContentArrangement::Dynamic).set_width(width);
        }
        let columns = drawn.column_count();
        for (index, column) in drawn.column_iter_mut().enumerate() {
            column.set_padding((0, if index + 1 == columns { 0 } else { 2 }));
        }
        let mut text = String::new();
        for (index, line) in drawn.lines().enumerate() {
            let line = line.trim_end();
            text += &if index == 0 { format!("{head}{line}{head:#}\n") } else { format!("{line}\n") };
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up_and_wide_letters_count_twice() {
        let mut table = Table::new(["dish", "time"]);
        table.row(["loin".into(), "52 min".into()]);
        table.row(["焼き".into(), "9 min".into()]);
        table.row(["Küche".into(), "1 h".into()]);
        assert_eq!(table.drawn(None, Style::new()), "dish   time\nloin   52 min\n焼き   9 min\nKüche  1 h\n");
    }

    #[test]
    fn a_long_cell_is_folded_on_a_narrow_terminal_and_nothing_is_lost() {
        let mut table = Table::new(["name", "about"]);
        table.row(["a".into(), "one two three four five six seven eight nine ten".into()]);
        let drawn = table.drawn(Some(30), Style::new());
        assert!(drawn.lines().all(|line| line.chars().count() <= 30), "{drawn}");
        for word in "one two three four five six seven eight nine ten".split(' ') {
            assert!(drawn.contains(word), "{word} is missing in\n{drawn}");
        }
    }
}
