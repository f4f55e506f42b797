//! Reporting marks and numbers, however a spreadsheet spells them.

/// Marks in capitals, with single blanks and none beside an `&`: `d & rgw` is `D&RGW`.
pub fn canonical_marks(text: &str) -> String {
    let words: Vec<String> = text.split_whitespace().map(str::to_uppercase).collect();
    words.join(" ").replace(" &", "&").replace("& ", "&")
}

/// A car number without what a spreadsheet adds: `1,234` and `1234.0` are `1234`. A number column
/// that repeats the marks is taken without them.
pub fn canonical_number(text: &str, marks: &str) -> String {
    let text = text.trim().trim_start_matches('#').trim_start();
    let upper = text.to_uppercase();
    let text = match upper.strip_prefix(marks) {
        Some(rest) if !marks.is_empty() && !rest.trim().is_empty() => rest.trim(),
        _ => upper.as_str(),
    };
    let whole = match text.split_once('.') {
        Some((whole, zeros)) if !zeros.is_empty() && zeros.bytes().all(|b| b == b'0') => whole,
        _ => text,
    };
    if grouped(whole) {
        whole.replace(',', "")
    } else {
        whole.to_owned()
    }
}

/// `1,234` or `12,345,678`: digits parted in threes.
fn grouped(text: &str) -> bool {
    let mut parts = text.split(',');
    let first = parts.next().unwrap_or_default();
    let digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
    let mut rest = parts.peekable();
    rest.peek().is_some()
        && (1..=3).contains(&first.len())
        && digits(first)
        && rest.all(|part| part.len() == 3 && digits(part))
}

/// A car's name: marks and number.
pub fn car_name(marks: &str, number: &str) -> String {
    format!("{marks} {number}")
}

/// A car's name as someone wrote it, in the spelling of the car record: `smr  1,234` is `SMR 1234`.
pub fn canonical_car_name(text: &str) -> String {
    let text = text.trim();
    match text.rsplit_once(char::is_whitespace) {
        Some((marks, number)) => {
            let marks = canonical_marks(marks);
            let number = canonical_number(number, &marks);
            car_name(&marks, &number)
        }
        None => match text.find(|c: char| c.is_ascii_digit()) {
            // `SMR101`, as often typed.
            Some(at) if at > 0 => {
                let marks = canonical_marks(&text[..at]);
                let number = canonical_number(&text[at..], &marks);
                car_name(&marks, &number)
            }
            _ => text.to_uppercase(),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_capitals_with_single_blanks() {
        assert_eq!(canonical_marks(" smr "), "SMR");
        assert_eq!(canonical_marks("b & tc"), "B&TC");
        assert_eq!(canonical_marks("B&TC"), "B&TC");
        assert_eq!(canonical_marks("W  V  Ry"), "W V RY");
    }

    #[test]
    fn a_spreadsheets_additions_to_a_number_go() {
        assert_eq!(canonical_number("1,234", "SMR"), "1234");
        assert_eq!(canonical_number("1234.0", "SMR"), "1234");
        assert_eq!(canonical_number("12,345,678", "SMR"), "12345678");
        assert_eq!(canonical_number("SMR 101", "SMR"), "101");
        assert_eq!(canonical_number("#77", "SMR"), "77");
        // Neither of these is a number parted in threes, or a number with an empty fraction.
        assert_eq!(canonical_number("12,34", "SMR"), "12,34");
        assert_eq!(canonical_number("12.5", "SMR"), "12.5");
        // Letters are part of a number: X101, 90A.
        assert_eq!(canonical_number("x101", "SMR"), "X101");
        assert_eq!(canonical_number("SMR", "SMR"), "SMR");
    }

    #[test]
    fn a_name_is_found_however_it_is_typed() {
        for text in ["SMR 101", "smr 101", " smr   101 ", "SMR101", "SMR 101.0"] {
            assert_eq!(canonical_car_name(text), "SMR 101", "{text}");
        }
        assert_eq!(canonical_car_name("b & tc 1,204"), "B&TC 1204");
        assert_eq!(canonical_car_name("101"), "101");
    }
}
