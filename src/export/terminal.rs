//! An answer on a terminal: the answer, what to do, the numbers, and the rest where it is asked for.

use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Table, Width, presets};

use textwrap::WordSplitter;

use crate::results::{Report, ReportPart, ReportSection, ReportTable, Warning, as_sentence};

/// How much of an answer is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Detail {
    /// The answer and what to do.
    Least,
    /// With the numbers behind it and warnings.
    Usual,
    /// With all there is.
    Full,
}

/// Narrowest terminal that is written for, in columns.
pub const NARROWEST: usize = 40;

/// Widest lines of prose, in columns: longer ones are hard to read.
const PROSE: usize = 100;

/// Indent of what there is to do.
const HANGING: &str = "         ";

/// Warnings that are shown where not all is asked for.
const MOST_WARNINGS: usize = 3;

/// Lines of a screen: an answer of which not all is asked for takes no more where its tables and warnings can give way.
const SCREEN: usize = 24;

/// Rows that a table keeps when it gives way, and those that it keeps when the warnings have given way too.
const FEW_ROWS: usize = 5;
/// See above.
const FEWEST_ROWS: usize = 2;

/// What gives way so that an answer fits a screen.
#[derive(Clone, Copy, Debug)]
struct Room {
    /// Rows of a table that may be shortened.
    rows: usize,
    /// Warnings.
    warnings: usize,
    /// Other ways to do what there is to do, of each.
    ways: usize,
    /// Whether a warning is told with its advice.
    advice: bool,
}

impl Room {
    const ALL: Self = Self { rows: usize::MAX, warnings: usize::MAX, ways: usize::MAX, advice: true };
    const USUAL: Self = Self { warnings: MOST_WARNINGS, ..Self::ALL };

    const fn is_all(self) -> bool {
        self.warnings == usize::MAX
    }

    /// From more to less that an answer is told with: first the tables give way, then the warnings, then other ways to do a
    /// thing, then the tables again.
    fn from_most_to_least() -> impl Iterator<Item = Self> {
        let rows = (FEW_ROWS..=LONGEST).rev().map(|rows| Self { rows, ..Self::USUAL });
        let few = Self { rows: FEW_ROWS, warnings: 1, ..Self::USUAL };
        let bare = Self { advice: false, ..few };
        let ways = (1..=FEW_WAYS).rev().map(move |ways| Self { ways, ..bare });
        let least = Self { ways: 1, ..bare };
        rows.chain([few, bare]).chain(ways).chain((FEWEST_ROWS..FEW_ROWS).rev().map(move |rows| Self { rows, ..least }))
    }
}

/// Other ways that are told of each thing to do when they give way.
const FEW_WAYS: usize = 3;

/// Rows of the longest table that is shown where not all is asked for.
const LONGEST: usize = 12;

/// An answer in so many columns.
#[must_use]
pub fn terminal(report: &Report, width: usize, detail: Detail) -> String {
    let width = width.max(NARROWEST);
    let all = lead(report, width, detail, Room::ALL);
    match detail {
        Detail::Least if !report.numbers_are_the_answer => all,
        Detail::Least => all + &numbers(report, width, Room::ALL),
        Detail::Full => {
            all + &numbers(report, width, Room::ALL) + &warnings(report, width, Room::ALL, true) + &rest(report, width)
        }
        Detail::Usual => {
            let caution = caution(report, width);
            let told = |room| {
                let lead = lead(report, width, detail, room);
                format!("{lead}{}{}{caution}", numbers(report, width, room), warnings(report, width, room, false))
            };
            let mut text = told(Room::USUAL);
            // Narrow terminals scroll as they must: what gives way is chosen for the usual width.
            let mut less = Room::from_most_to_least().filter(|_| width >= USUAL);
            while text.lines().count() > SCREEN
                && let Some(room) = less.next()
            {
                text = told(room);
            }
            text
        }
    }
}

/// Columns of the usual terminal.
const USUAL: usize = 80;

/// What it is about, the answer, and what to do.
fn lead(report: &Report, width: usize, detail: Detail, room: Room) -> String {
    let mut out = String::new();
    let heading: Vec<&str> =
        [&report.title, &report.about].into_iter().map(String::as_str).filter(|w| !w.is_empty()).collect();
    if detail != Detail::Least && !heading.is_empty() {
        out += &prose(&heading.join(" · "), "", "  ", width);
        out += "\n";
    }
    out += &prose(&report.answer, "", "", width);
    for (i, action) in report.todo.iter().enumerate() {
        let next = if report.in_turn { "   Then: " } else { "   Also: " };
        let first = if i == 0 { "Do this: " } else { next };
        out += &prose(&action.what, first, HANGING, width);
        for other in action.or.iter().take(room.ways) {
            out += &prose(&other.what, "     Or: ", HANGING, width);
        }
        out += &prose(&more(action.or.len(), room.ways, "way"), HANGING, HANGING, width);
    }
    out
}

fn numbers(report: &Report, width: usize, room: Room) -> String {
    report.numbers.iter().map(|part| part_text(part, width, room)).collect()
}

/// Warnings, with the fixed word by which programs know them where all is shown.
fn warnings(report: &Report, width: usize, room: Room, coded: bool) -> String {
    let mut out = String::new();
    if !report.warnings.is_empty() {
        out += "\n";
    }
    for warning in Warning::by_urgency(&report.warnings).into_iter().take(room.warnings) {
        let code = if coded { format!(" ({})", warning.code) } else { String::new() };
        let advice = if room.advice { format!(" {}", as_sentence(&warning.advice)) } else { String::new() };
        out += &prose(&format!("Warning{code}: {}{advice}", as_sentence(&warning.text)), "", "  ", width);
    }
    out + &prose(&more(report.warnings.len(), room.warnings, "warning"), "", "", width)
}

/// How many more there are than are shown; nothing where there are none.
fn more(count: usize, shown: usize, what: &str) -> String {
    match count.saturating_sub(shown) {
        0 => String::new(),
        1 => format!("1 more {what}: --full"),
        more => format!("{more} more {what}s: --full"),
    }
}

/// The caution that the answer calls for, and where the others are.
fn caution(report: &Report, width: usize) -> String {
    if report.cautions.is_empty() {
        return String::new();
    }
    let caution =
        report.caution.map_or("these are computed values: measure salinity before you change water.", |c| c.text());
    format!("\n{}", prose(&format!("{caution} More: brinecast guide safety"), "Caution: ", "  ", width))
}

/// The sections, where it comes from, and every caution.
fn rest(report: &Report, width: usize) -> String {
    let mut out: String = report.sections.iter().map(|section| section_text(section, width)).collect();
    if !report.provenance.is_empty() {
        let rows = report.provenance.iter().map(|(label, value)| vec![label.clone(), value.clone()]).collect();
        let parts = vec![ReportPart::table("Where this comes from", &["", ""], rows)];
        out += &section_text(&ReportSection::new("Where this comes from", parts), width);
    }
    if !report.cautions.is_empty() {
        out += "\n";
    }
    for caution in &report.cautions {
        out += &prose(caution, "Caution: ", "  ", width);
    }
    out
}

fn section_text(section: &ReportSection, width: usize) -> String {
    let parts: String = section.parts.iter().map(|part| part_text(part, width, Room::ALL)).collect();
    if parts.is_empty() {
        parts
    } else {
        let line = "-".repeat(section.heading.chars().count().min(width));
        format!("\n{}\n{line}\n{}", section.heading, parts.trim_start_matches('\n'))
    }
}

/// A part; of a long table, where not all is asked for, the first rows.
fn part_text(part: &ReportPart, width: usize, room: Room) -> String {
    match part {
        ReportPart::Text(text) => format!("\n{}", prose(text, "", "  ", width)),
        ReportPart::Table(table) => {
            let head =
                if table.shows_caption { prose(&format!("{}:", table.caption), "", "", width) } else { String::new() };
            let first = table.first.filter(|_| !room.is_all()).map_or(table.rows.len(), |first| first.min(room.rows));
            let shown = ReportTable { rows: table.rows.iter().take(first).cloned().collect(), ..table.clone() };
            let more = match table.rows.len().saturating_sub(first) {
                0 => String::new(),
                more => format!("{more} more: --full\n"),
            };
            format!("\n{head}{}{more}", table_text(&shown, width))
        }
    }
}

/// Prose, line by line.
fn prose(text: &str, first: &str, then: &str, width: usize) -> String {
    let width = width.min(PROSE);
    let mut out = String::new();
    for (i, line) in text.lines().enumerate() {
        // A line of its own begins where the first one does.
        let start = if i > 0 && first.is_empty() {
            ""
        } else if i == 0 {
            first
        } else {
            then
        };
        let options = textwrap::Options::new(width)
            .initial_indent(start)
            .subsequent_indent(then)
            .break_words(false)
            .word_splitter(WordSplitter::NoHyphenation);
        for row in textwrap::wrap(line, options) {
            out += row.trim_end();
            out += "\n";
        }
    }
    out
}

/// A table that fits: cells wrap, and where even that does not do, each row is told by itself.
fn table_text(table: &ReportTable, width: usize) -> String {
    let gap = usize::from(GAP);
    let columns = 0..table.head.len();
    let of = |least: &dyn Fn(usize) -> usize| columns.clone().map(least).collect::<Vec<usize>>();
    let fits = |least: &[usize]| least.iter().map(|l| l + gap).sum::<usize>() <= width + gap;
    // Short cells stay whole where there is room.
    let Some(least) =
        [SHORT, 0].map(|whole| of(&|column| least_width(table, column, whole))).into_iter().find(|l| fits(l))
    else {
        return row_by_row(table, width);
    };
    let mut drawn = Table::new();
    drawn.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic);
    drawn.set_width(u16::try_from(width + gap).unwrap_or(u16::MAX));
    if table.head.iter().any(|head| !head.is_empty()) {
        drawn.set_header(&table.head);
    }
    for row in &table.rows {
        drawn.add_row(row);
    }
    for (column, least) in least.into_iter().enumerate() {
        if let Some(drawn) = drawn.column_mut(column) {
            let numbers = table.is_numbers(column);
            drawn.set_padding((0, GAP));
            drawn.set_cell_alignment(if numbers { CellAlignment::Right } else { CellAlignment::Left });
            let least = u16::try_from(least + gap).unwrap_or(u16::MAX);
            drawn.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(least)));
        }
    }
    drawn.lines().fold(String::new(), |out, line| out + line.trim_end() + "\n")
}

/// Signs of a cell that is not broken where there is room.
const SHORT: usize = 12;

/// How narrow a column may become: numbers, and texts of up to some signs, are not broken.
fn least_width(table: &ReportTable, column: usize, whole: usize) -> usize {
    let longest_word = |text: &String| text.split(' ').map(|word| word.chars().count()).max().unwrap_or(0);
    let cells = || table.rows.iter().filter_map(|row| row.get(column));
    let widest = cells().map(|cell| cell.chars().count()).max().unwrap_or(0);
    let body =
        if table.is_numbers(column) || widest <= whole { widest } else { cells().map(longest_word).max().unwrap_or(0) };
    body.max(longest_word(&table.head[column]))
}

/// Columns between two columns of a table.
const GAP: u16 = 2;

/// A row after the other, each cell with its head: for narrow terminals.
fn row_by_row(table: &ReportTable, width: usize) -> String {
    let mut out = String::new();
    for row in &table.rows {
        for (i, cell) in row.iter().enumerate().filter(|(_, cell)| !cell.is_empty()) {
            let head = table.head.get(i).filter(|head| !head.is_empty());
            let text = head.map_or_else(|| cell.clone(), |head| format!("{head}: {cell}"));
            out += &prose(&text, if i == 0 { "" } else { "  " }, "    ", width);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(rows: &[&[&str]]) -> Vec<Vec<String>> {
        rows.iter().map(|row| row.iter().map(|c| (*c).to_owned()).collect()).collect()
    }

    #[test]
    fn a_table_fits_its_terminal() {
        let rows = cells(&[
            &["salinity", "34 to 36", "33.53", "a long word about it that has to be wrapped somewhere", "psu"],
            &["nitrate", "below 20", "8.00", "ok", "mg/L"],
        ]);
        let table = ReportPart::table("x", &["", "band", "lowest", "why", "unit"], rows);
        for width in [40, 60, 80, 200] {
            let text = part_text(&table, width, Room::ALL);
            assert!(text.lines().all(|line| line.chars().count() <= width), "{width}\n{text}");
            assert!(text.contains("33.53") && text.contains("wrapped"), "{text}");
        }
    }

    /// What comes after the sections is set apart from them.
    #[test]
    fn cautions_stand_apart() {
        let report = Report { cautions: vec!["wear gloves".into()], ..Report::default() };
        assert_eq!(rest(&report, 80), "\nCaution: wear gloves\n");
        assert_eq!(rest(&Report::default(), 80), "");
    }

    /// Too narrow for its columns: a row's first cell stands out, the others hang below it.
    #[test]
    fn a_narrow_table_goes_row_by_row() {
        let table = ReportPart::table("x", &["", "band"], cells(&[&["salinity", "34 to 36"], &["nitrate", "20"]]));
        let ReportPart::Table(table) = table else { panic!("a table") };
        assert_eq!(row_by_row(&table, 30), "salinity\n  band: 34 to 36\nnitrate\n  band: 20\n");
    }

    #[test]
    fn numbers_stand_by_their_last_digit() {
        let table = ReportPart::table("x", &["", "value"], cells(&[&["a", "1.5"], &["b", "100.25"]]));
        let text = part_text(&table, 80, Room::ALL);
        let ends: Vec<usize> = text.lines().skip(1).map(str::len).collect();
        assert!(ends.windows(2).all(|pair| pair[0] == pair[1]), "{text}");
    }
}
