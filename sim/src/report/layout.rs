//! Lines of at most 80 columns.

/// Most columns of a line.
pub const COLUMNS: usize = 80;

/// Breaks `text` at spaces into lines of at most `width` columns. A word longer than
/// that has a line of its own.
#[must_use]
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = line.chars().count() + 1 + word.chars().count();
        if !line.is_empty() && longer > width {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_asked_and_no_word_is_lost() {
        let text = "the mast is not driven below the clearance position";
        let lines = wrap(text, 12);
        assert!(
            lines.iter().all(|line| line.chars().count() <= 12),
            "{lines:?}"
        );
        assert_eq!(lines.join(" "), text);
    }

    #[test]
    fn nothing_is_one_empty_line() {
        assert_eq!(wrap("", 10), [""]);
    }
}
