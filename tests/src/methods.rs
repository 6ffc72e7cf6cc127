//! The table of the document of saboteurs that says by which method each is seen. Each
//! method has its columns, and a test of its own that holds them.

use std::path::{Path, PathBuf};

/// Where the table stands.
pub const DOCUMENT: &str = "docs/saboteurs.md";
/// Set to write a table anew instead of comparing it.
pub const RENEW: &str = "MASTWRIGHT_RENEW";
/// The column of the exploration.
pub const EXPLORATION: &str = "exploration";

const BEGIN: &str =
    "<!-- methods: written by tests/tests/sight.rs and exploration_saboteurs.rs -->\n";
const END: &str = "<!-- end of methods -->\n";

/// The document, taken apart.
#[derive(Debug)]
pub struct Document {
    path: PathBuf,
    head: String,
    /// The cells of each row, its heads first.
    rows: Vec<Vec<String>>,
    /// What stands below the table.
    below: String,
    tail: String,
}

impl Document {
    /// The document as it is.
    ///
    /// # Panics
    /// When it cannot be read or does not mark its table.
    #[must_use]
    pub fn read() -> Self {
        let path = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("..")
            .join(DOCUMENT);
        let text = std::fs::read_to_string(&path).expect("the document can be read");
        let (head, rest) = text.split_once(BEGIN).expect("it marks its table");
        let (table, tail) = rest.split_once(END).expect("it marks its table's end");
        let (lines, below) = table.split_once("\n\n").unwrap_or((table, ""));
        let cells = |line: &str| {
            let inner = line.trim_matches('|').split('|');
            inner.map(|cell| cell.trim().to_owned()).collect()
        };
        let rows = lines.lines().filter(|line| !line.starts_with("|---"));
        Self {
            rows: rows.map(cells).collect(),
            below: below.to_owned(),
            head: head.to_owned(),
            tail: tail.to_owned(),
            path,
        }
    }

    /// What stands in a column of the row of `saboteur`; nothing if there is none.
    #[must_use]
    pub fn cell(&self, saboteur: &str, column: &str) -> &str {
        let place = self.rows[0].iter().position(|head| head == column);
        let row = self.rows[1..].iter().find(|row| row[0] == saboteur);
        let cell = place.and_then(|place| row?.get(place));
        cell.map_or("", String::as_str)
    }

    /// Compares the table, and what stands `below` it, with what was found; or, when
    /// [`RENEW`] is set, writes it. `test` is the test that does.
    ///
    /// # Panics
    /// When they differ, or the document cannot be written.
    pub fn hold(&self, found: &[Vec<String>], below: &str, test: &str) {
        if std::env::var_os(RENEW).is_some() {
            let table: String = found.iter().enumerate().map(line).collect();
            let Self { head, tail, .. } = self;
            let text = format!("{head}{BEGIN}{table}\n{below}{END}{tail}");
            std::fs::write(&self.path, text).expect("the document can be written");
            return;
        }
        let differing = found.iter().find(|row| !self.rows.contains(row));
        assert!(
            self.rows == found && self.below == below,
            "{DOCUMENT} shows another table: {differing:?} was found; look at the difference, \
             then write it anew with\n    {RENEW}=1 cargo test -p mastwright-tests --test {test}"
        );
    }

    /// The rows, one column's cells taken from `found` by the name of the saboteur.
    #[must_use]
    pub fn with_column(&self, column: &str, found: impl Fn(&str) -> String) -> Vec<Vec<String>> {
        let place = self.rows[0].iter().position(|head| head == column);
        let place = place.expect("the column is there");
        let mut rows = self.rows.clone();
        for row in &mut rows[1..] {
            row[place] = found(&row[0]);
        }
        rows
    }

    /// What stands below the table.
    #[must_use]
    pub fn below(&self) -> &str {
        &self.below
    }
}

fn line((number, row): (usize, &Vec<String>)) -> String {
    let line = format!("| {} |\n", row.join(" | "));
    if number == 0 {
        return line + "|" + &"---|".repeat(row.len()) + "\n";
    }
    line
}
