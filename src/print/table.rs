//! Tables in plain text, within a width that a terminal and a sheet of paper have.

/// Widest line, in characters.
pub const WIDTH: usize = 100;
/// Between two columns.
const GAP: usize = 2;
/// The narrowest that a column of running text gets.
const TEXT_LEAST: usize = 12;

/// How a column stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Column {
    /// Left, as wide as its widest cell.
    Left(&'static str),
    /// Right, as wide as its widest cell: numbers.
    Right(&'static str),
    /// Left, and broken between words where the line would be too wide.
    Text(&'static str),
}

impl Column {
    fn title(self) -> &'static str {
        match self {
            Self::Left(title) | Self::Right(title) | Self::Text(title) => title,
        }
    }
}

/// A table that is being filled.
#[derive(Debug)]
pub struct Table {
    columns: Vec<Column>,
    rows: Vec<Row>,
}

#[derive(Debug)]
enum Row {
    Cells(Vec<String>),
    Heading(String),
    Note(String),
    Rule,
}

impl Table {
    /// An empty table. Titles that are all empty are not printed.
    pub fn new(columns: &[Column]) -> Self {
        Self {
            columns: columns.to_vec(),
            rows: Vec::new(),
        }
    }

    /// One more row; a cell for each column.
    pub fn row<const N: usize>(&mut self, cells: [String; N]) {
        self.rows.push(Row::Cells(cells.into()));
    }

    /// A heading over the rows that follow.
    pub fn heading(&mut self, text: &str) {
        self.rows.push(Row::Heading(text.to_owned()));
    }

    /// Words under the row before, across the columns.
    pub fn note(&mut self, text: String) {
        self.rows.push(Row::Note(text));
    }

    /// A line across.
    pub fn rule(&mut self) {
        self.rows.push(Row::Rule);
    }

    fn widths(&self) -> Vec<usize> {
        let cell = |row: &Row, at: usize| match row {
            Row::Cells(cells) => cells.get(at).map_or(0, |cell| length(cell)),
            _ => 0,
        };
        let widest = |at: usize| self.rows.iter().map(|row| cell(row, at)).max().unwrap_or(0);
        let mut widths: Vec<usize> = self
            .columns
            .iter()
            .enumerate()
            .map(|(at, column)| widest(at).max(length(column.title())))
            .collect();
        let gaps = GAP * self.columns.len().saturating_sub(1);
        let over = (widths.iter().sum::<usize>() + gaps).saturating_sub(WIDTH);
        for _ in 0..over {
            // One character at a time from the widest text, so that no text is starved for another.
            let texts = self.columns.iter().zip(&mut widths);
            let texts = texts
                .filter(|(column, _)| matches!(column, Column::Text(_)))
                .map(|(_, width)| width);
            if let Some(width) = texts
                .max_by_key(|width| **width)
                .filter(|width| **width > TEXT_LEAST)
            {
                *width -= 1;
            }
        }
        widths
    }

    /// The table as text; every line ends with a line break.
    pub fn text(&self) -> String {
        let widths = self.widths();
        let across = widths.iter().sum::<usize>() + GAP * widths.len().saturating_sub(1);
        let mut out = String::new();
        let titles: Vec<String> = self
            .columns
            .iter()
            .map(|column| column.title().to_owned())
            .collect();
        if titles.iter().any(|title| !title.is_empty()) {
            self.put(&mut out, &titles, &widths);
            out.push_str(&format!("{}\n", "-".repeat(across)));
        }
        for row in &self.rows {
            match row {
                Row::Cells(cells) => self.put(&mut out, cells, &widths),
                Row::Heading(text) => out.push_str(&format!("{text}\n")),
                Row::Note(text) => out.push_str(&wrapped(text, "    ", WIDTH)),
                Row::Rule => out.push_str(&format!("{}\n", "-".repeat(across))),
            }
        }
        out
    }

    fn put(&self, out: &mut String, cells: &[String], widths: &[usize]) {
        let broken: Vec<Vec<String>> = cells
            .iter()
            .zip(widths)
            .map(|(cell, width)| lines(cell, *width))
            .collect();
        let height = broken.iter().map(Vec::len).max().unwrap_or(0);
        for at in 0..height {
            let mut line = String::new();
            for ((column, parts), width) in self.columns.iter().zip(&broken).zip(widths) {
                let part = parts.get(at).map_or("", String::as_str);
                let space = " ".repeat(width.saturating_sub(length(part)));
                match column {
                    Column::Right(_) => line.push_str(&format!("{space}{part}")),
                    _ => line.push_str(&format!("{part}{space}")),
                }
                line.push_str(&" ".repeat(GAP));
            }
            out.push_str(line.trim_end());
            out.push('\n');
        }
    }
}

fn length(text: &str) -> usize {
    text.chars().count()
}

/// `text` broken between words into lines of at most `width` characters; a longer word is cut.
fn lines(text: &str, width: usize) -> Vec<String> {
    let width = width.max(1);
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let mut rest: Vec<char> = word.chars().collect();
        while !rest.is_empty() {
            let Some(line) = lines.last_mut() else { break };
            let used = length(line);
            let space = usize::from(used > 0);
            if used + space + rest.len() <= width {
                line.push_str(&" ".repeat(space));
                line.extend(rest.drain(..));
            } else if used > 0 {
                lines.push(String::new());
            } else {
                line.extend(rest.drain(..width.min(rest.len())));
            }
        }
    }
    lines
}

/// `text` broken between words, each line after `indent`, within `width`; every line ends with a line break.
pub fn wrapped(text: &str, indent: &str, width: usize) -> String {
    let inner = width.saturating_sub(length(indent));
    let whole = text.split('\n').flat_map(|paragraph| lines(paragraph, inner));
    whole
        .map(|line| format!("{indent}{line}").trim_end().to_owned() + "\n")
        .collect()
}
