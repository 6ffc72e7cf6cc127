//! Lines of at most 80 columns.

/// Most columns of a line.
pub const COLUMNS: usize = 80;

/// Breaks `text` at spaces into lines of at most `width` columns. A word longer than
/// that has a line of its own: names are copied, so none is broken, nor at its hyphens.
#[must_use]
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let text = words.join(" ");
    let how = textwrap::Options::new(width)
        .break_words(false)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .wrap_algorithm(textwrap::WrapAlgorithm::FirstFit);
    let lines = textwrap::wrap(&text, how);
    lines
        .into_iter()
        .map(std::borrow::Cow::into_owned)
        .collect()
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
