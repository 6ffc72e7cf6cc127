//! Lines of at most 80 columns, of characters that can be seen.

use std::borrow::Cow;

/// Most columns of a line.
pub const COLUMNS: usize = 80;

/// `text` with its control characters made visible, `\u{1b}` for that number: what was
/// read from a file must not command the terminal.
#[must_use]
pub fn visible(text: &str) -> Cow<'_, str> {
    if !text.contains(char::is_control) {
        return Cow::Borrowed(text);
    }
    let mut seen = String::with_capacity(text.len());
    for letter in text.chars() {
        if letter.is_control() {
            seen.extend(letter.escape_default());
        } else {
            seen.push(letter);
        }
    }
    Cow::Owned(seen)
}

/// Breaks `text` at spaces into lines of at most `width` columns. A word longer than
/// that has a line of its own: names are copied, so none is broken, nor at its hyphens.
/// What is no space and cannot be seen is made [`visible`].
#[must_use]
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let words: Vec<Cow<'_, str>> = text.split_whitespace().map(visible).collect();
    let text = words.join(" ");
    let how = textwrap::Options::new(width)
        .break_words(false)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .wrap_algorithm(textwrap::WrapAlgorithm::FirstFit);
    let lines = textwrap::wrap(&text, how);
    lines.into_iter().map(Cow::into_owned).collect()
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
    fn what_commands_a_terminal_is_seen_and_nothing_else_is_changed() {
        assert_eq!(visible("\u{1b}[31mred\u{9b}\n"), "\\u{1b}[31mred\\u{9b}\\n");
        assert_eq!(visible("a b \u{e9}"), "a b \u{e9}");
        assert_eq!(wrap("one\n\u{7}two", 20), ["one \\u{7}two"]);
    }

    #[test]
    fn nothing_is_one_empty_line() {
        assert_eq!(wrap("", 10), [""]);
    }
}
