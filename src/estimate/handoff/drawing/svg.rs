//! The sheet as SVG: attributes only, no style sheet, no script, no outside reference.

use std::fmt::Write as _;

use super::labels::NUMBER;
use super::lettering::{LINE, SIZE, width};
use super::plane::{Area, Point, shortened};
use super::sheet::{SYMBOL, Shape, Sheet, Stroke, WIDTH};
use crate::handoff::words::Language;
use crate::handoff::xml::escaped;

/// Writes the sheet.
pub fn write(sheet: &Sheet, language: Language) -> String {
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}mm\" height=\"{}mm\" viewBox=\"0 0 {WIDTH} {}\" \
         font-family=\"Noto Sans, sans-serif\" font-size=\"{SIZE}\" fill=\"none\" stroke=\"#000\" \
         stroke-linejoin=\"round\">\n<title>{}</title>\n<rect width=\"{WIDTH}\" height=\"{}\" fill=\"#fff\" stroke=\"none\"/>\n",
        hundredths(WIDTH),
        hundredths(sheet.height),
        sheet.height,
        escaped(language.words().drawing),
        sheet.height,
    );
    for leader in sheet.labels.iter().filter_map(|label| label.leader) {
        let drawn = shortened(leader, 45);
        out += &path(&[drawn.0, drawn.1], "stroke-width=\"12\"");
        // On a stroke it is seen; under a symbol it is not.
        let end = leader.1;
        let _ = writeln!(
            out,
            "<circle cx=\"{}\" cy=\"{}\" r=\"50\" fill=\"#000\" stroke=\"none\"/>",
            end.x, end.y
        );
    }
    for shape in &sheet.shapes {
        out += &drawn(shape);
    }
    for label in &sheet.labels {
        for (area, line) in label.written() {
            out += &if sheet.key.is_empty() {
                text(&area, line)
            } else {
                number(&label.area, line)
            };
        }
    }
    for (at, entry) in sheet.key.iter().enumerate() {
        out += &text(&entry.number, &(at + 1).to_string());
        out += &text(&entry.area, &entry.text);
    }
    out += &legend(sheet, language);
    out + "</svg>\n"
}

fn hundredths(value: i64) -> String {
    format!("{}.{:02}", value / 100, value % 100)
}

fn strokes(stroke: Stroke) -> &'static str {
    match stroke {
        Stroke::LineSet => "stroke-width=\"60\"",
        Stroke::Drain => "stroke-width=\"40\" stroke-dasharray=\"180 90\"",
        Stroke::Cable => "stroke-width=\"25\" stroke-dasharray=\"30 70\" stroke-linecap=\"round\"",
        Stroke::Wall => "stroke-width=\"35\"",
        Stroke::Thin => "stroke-width=\"25\" fill=\"#fff\"",
    }
}

fn path(points: &[Point], attributes: &str) -> String {
    let mut places = String::new();
    for point in points {
        let _ = write!(places, "{},{} ", point.x, point.y);
    }
    format!("<polyline points=\"{}\" {attributes}/>\n", places.trim_end())
}

fn drawn(shape: &Shape) -> String {
    let polygon = |corners: [(i64, i64); 4], at: &Point| {
        let corners = corners.map(|(x, y)| format!("{},{}", at.x + x, at.y + y));
        format!(
            "<polygon points=\"{}\" stroke-width=\"25\" fill=\"#fff\"/>\n",
            corners.join(" ")
        )
    };
    match shape {
        Shape::Path(points, stroke) => path(points, strokes(*stroke)),
        Shape::Box(area, stroke) => format!(
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" {}/>\n",
            area.left,
            area.top,
            area.right - area.left,
            area.bottom - area.top,
            strokes(*stroke)
        ),
        Shape::Circle(middle, radius) => format!(
            "<circle cx=\"{}\" cy=\"{}\" r=\"{radius}\" stroke-width=\"25\" fill=\"#fff\"/>\n",
            middle.x, middle.y
        ),
        Shape::Diamond(at) => polygon([(0, -SYMBOL), (SYMBOL, 0), (0, SYMBOL), (-SYMBOL, 0)], at),
        Shape::Triangle(at) => polygon([(-SYMBOL, 0), (SYMBOL, 0), (0, SYMBOL), (0, SYMBOL)], at),
    }
}

/// A text whose letters stand on a line a little above the lower edge of its area.
fn text(area: &Area, words: &str) -> String {
    format!(
        "<text x=\"{}\" y=\"{}\" fill=\"#000\" stroke=\"none\">{}</text>\n",
        area.left,
        area.bottom - LINE / 4,
        escaped(words)
    )
}

/// A number in its circle.
fn number(area: &Area, digits: &str) -> String {
    let middle = area.middle();
    let letters = Area {
        left: middle.x - width(digits) / 2,
        bottom: middle.y + LINE / 2,
        ..*area
    };
    let circle = format!(
        "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" stroke-width=\"15\" fill=\"#fff\"/>\n",
        middle.x,
        middle.y,
        NUMBER / 2 - 10
    );
    circle + &text(&letters, digits)
}

/// The strokes by name, and the scale.
fn legend(sheet: &Sheet, language: Language) -> String {
    let words = language.words();
    let middle = sheet.figure_bottom + 400;
    let mut x = 100;
    let mut out = String::new();
    let named = [
        (words.line_set, Stroke::LineSet),
        (words.drain, Stroke::Drain),
        (words.cable, Stroke::Cable),
    ];
    let at = |x, wide| Area {
        left: x,
        top: middle - LINE / 2,
        right: x + wide,
        bottom: middle + LINE / 2,
    };
    for (name, stroke) in named {
        let line = [
            Point { x, y: middle },
            Point {
                x: x + 800,
                y: middle,
            },
        ];
        out += &path(&line, strokes(stroke));
        out += &text(&at(x + 950, width(name)), name);
        x += 950 + width(name) + 600;
    }
    let scale = format!("{} 1:{}", words.scale, sheet.scale);
    let (bar, length) = &sheet.bar;
    let needed = bar + 200 + width(length) + 500 + width(&scale);
    let mut x = WIDTH - 100 - needed;
    out += &text(&at(x, width(&scale)), &scale);
    x += width(&scale) + 500;
    let ends = [
        Point { x, y: middle - 90 },
        Point { x, y: middle },
        Point {
            x: x + bar,
            y: middle,
        },
        Point {
            x: x + bar,
            y: middle - 90,
        },
    ];
    out += &path(&ends, "stroke-width=\"25\"");
    out + &text(&at(x + bar + 200, width(length)), length)
}
