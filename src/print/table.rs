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
        let texts: Vec<Text> = (0..self.columns.len())
            .filter(|at| matches!(self.columns.get(*at), Some(Column::Text(_))))
            .map(|at| Text::of(at, &self.rows))
            .collect();
        let mut heights: Vec<Vec<usize>> = texts
            .iter()
            .map(|text| text.heights(widths.get(text.column).copied().unwrap_or_default()))
            .collect();
        for _ in 0..over {
            // One character at a time from the text that costs the fewest lines, of equals from the widest.
            let narrowed = texts.iter().enumerate().filter_map(|(index, text)| {
                let width = widths.get(text.column).filter(|width| **width > TEXT_LEAST)?;
                let mut tried = heights.clone();
                *tried.get_mut(index)? = text.heights(width - 1);
                Some((tallest(&tried), std::cmp::Reverse(*width), text.column, tried))
            });
            let Some((_, _, column, tried)) = narrowed.min_by_key(|(lines, width, ..)| (*lines, *width))
            else {
                break;
            };
            if let Some(width) = widths.get_mut(column) {
                *width -= 1;
            }
            heights = tried;
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

/// A column of running text: the lengths of the words of each of its cells.
struct Text {
    column: usize,
    cells: Vec<Vec<usize>>,
}

impl Text {
    fn of(column: usize, rows: &[Row]) -> Self {
        let cells = rows.iter().filter_map(|row| match row {
            Row::Cells(cells) => Some(cells.get(column)?.split_whitespace().map(length).collect()),
            _ => None,
        });
        Self {
            column,
            cells: cells.collect(),
        }
    }

    /// How many lines each cell takes at a width.
    fn heights(&self, width: usize) -> Vec<usize> {
        self.cells.iter().map(|words| height(words, width)).collect()
    }
}

/// How many lines [`lines`] breaks words of these lengths into.
fn height(words: &[usize], width: usize) -> usize {
    let (mut count, mut used) = (1, 0);
    for word in words {
        if used > 0 && used + 1 + word > width {
            count += 1;
            used = 0;
        }
        let space = usize::from(used > 0);
        let long = word.saturating_sub(1) / width.max(1);
        count += long;
        used = used + space + word - long * width;
    }
    count
}

/// How many lines rows take whose cells have these heights, column by column.
fn tallest(columns: &[Vec<usize>]) -> usize {
    let rows = columns.first().map_or(0, Vec::len);
    let row = |at: usize| columns.iter().filter_map(|cells| cells.get(at)).max();
    (0..rows).filter_map(row).sum()
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
