//! What a change does to a file, line by line.

use maud::{Markup, html};
use similar::{ChangeTag, TextDiff};

/// The changed lines with two lines around each place.
pub fn diff(before: Option<&[u8]>, after: Option<&[u8]>) -> Markup {
    let text =
        |bytes: Option<&[u8]>| String::from_utf8_lossy(bytes.unwrap_or_default()).into_owned();
    let (before, after) = (text(before), text(after));
    let diff = TextDiff::from_lines(&before, &after);
    html! {
        div.diff role="region" aria-label="The change, line by line" tabindex="0" {
            @for (at, group) in diff.grouped_ops(2).iter().enumerate() {
                @if at > 0 { p.gap { "\u{22ee}" } }
                @for operation in group {
                    @for change in diff.iter_changes(operation) {
                        @let (class, sign, word) = match change.tag() {
                            ChangeTag::Delete => ("out", "\u{2212}", "out: "),
                            ChangeTag::Insert => ("in", "+", "in: "),
                            ChangeTag::Equal => ("same", " ", ""),
                        };
                        @let line = change.old_index().or(change.new_index()).unwrap_or(0) + 1;
                        p class=(class) {
                            span.line aria-hidden="true" { (line) }
                            span.sign aria-hidden="true" { (sign) }
                            span.visually-hidden { (word) }
                            code { (change.value().trim_end_matches(['\n', '\r'])) }
                        }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_goes_and_what_comes_is_marked_in_words_too() {
        let page = diff(Some(b"a\nb\nc\n"), Some(b"a\nB & b\nc\n")).into_string();
        assert!(page.contains("out: </span><code>b</code>"), "{page}");
        assert!(page.contains("in: </span><code>B &amp; b</code>"), "{page}");
        assert!(page.contains("<code>a</code>"));
    }
}
