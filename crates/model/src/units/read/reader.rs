//! A place in a text, and the numbers that stand there.

use std::ops::Range;

use super::{Fault, ReadError};

/// A number as it stood in the text.
#[derive(Debug, Clone)]
pub(crate) struct Number {
    /// The value, never negative and always finite.
    pub(crate) value: f64,
    /// Where it stands.
    pub(crate) at: Range<usize>,
    /// No decimals and no fraction.
    pub(crate) whole: bool,
    /// The value if the comma in `169,000` separates thousands; `value` is then the one where it precedes decimals.
    pub(crate) grouped: Option<f64>,
}

/// A place in a text being read.
#[derive(Debug, Clone)]
pub(crate) struct Reader<'a> {
    text: &'a str,
    pos: usize,
}

impl<'a> Reader<'a> {
    pub(crate) fn new(text: &'a str) -> Self {
        Self { text, pos: 0 }
    }

    /// The start of `text`, after blanks; an error if there is nothing else.
    pub(crate) fn start(text: &'a str, expected: &str) -> Result<Self, ReadError> {
        let mut reader = Self::new(text);
        reader.skip_space();
        if reader.at_end() {
            return Err(ReadError::new(
                0..text.len(),
                Fault::Empty {
                    expected: expected.to_owned(),
                },
            ));
        }
        Ok(reader)
    }

    pub(crate) fn pos(&self) -> usize {
        self.pos
    }

    pub(crate) fn rest(&self) -> &'a str {
        &self.text[self.pos..]
    }

    pub(crate) fn slice(&self, range: Range<usize>) -> &'a str {
        &self.text[range]
    }

    pub(crate) fn at_end(&self) -> bool {
        self.pos == self.text.len()
    }

    pub(crate) fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    pub(crate) fn skip_space(&mut self) {
        let rest = self.rest();
        self.pos += rest.len() - rest.trim_start().len();
    }

    /// Takes `what` if it stands here exactly.
    pub(crate) fn eat(&mut self, what: &str) -> bool {
        let found = self.rest().starts_with(what);
        if found {
            self.pos += what.len();
        }
        found
    }

    /// Takes one of `chars` if it stands here.
    pub(crate) fn eat_any(&mut self, chars: &[char]) -> Option<char> {
        let c = self.peek().filter(|c| chars.contains(c))?;
        self.pos += c.len_utf8();
        Some(c)
    }

    /// Takes a leading sign; true for minus.
    pub(crate) fn sign(&mut self) -> bool {
        let minus = match self.eat_any(&['-', '\u{2212}', '+']) {
            Some(c) => c != '+',
            None => false,
        };
        self.skip_space();
        minus
    }

    /// A run of ASCII digits, perhaps empty.
    pub(crate) fn digits(&mut self) -> (&'a str, Range<usize>) {
        let rest = self.rest();
        let len = rest.bytes().take_while(u8::is_ascii_digit).count();
        let at = self.pos..self.pos + len;
        self.pos += len;
        (&rest[..len], at)
    }

    /// A run of letters, which may hold a slash between letters as in `km/h`; perhaps empty.
    pub(crate) fn word(&mut self) -> (&'a str, Range<usize>) {
        let start = self.pos;
        loop {
            let rest = self.rest();
            let letters: usize = rest
                .chars()
                .take_while(|c| c.is_alphabetic())
                .map(char::len_utf8)
                .sum();
            self.pos += letters;
            let mut after = self.rest().chars();
            let joined = letters > 0
                && after.next() == Some('/')
                && after.next().is_some_and(char::is_alphabetic);
            if !joined {
                break;
            }
            self.pos += 1;
        }
        (&self.text[start..self.pos], start..self.pos)
    }

    /// Takes the next word if `accept` likes it (given in lower case).
    pub(crate) fn word_if(&mut self, accept: impl Fn(&str) -> bool) -> bool {
        let before = self.pos;
        let (word, _) = self.word();
        if !word.is_empty() && accept(&word.to_lowercase()) {
            return true;
        }
        self.pos = before;
        false
    }

    /// What stands here, for a message: the run up to the next blank.
    pub(crate) fn found(&self) -> (String, Range<usize>) {
        let rest = self.rest();
        let len = rest.find(char::is_whitespace).unwrap_or(rest.len());
        if len == 0 {
            return ("the end of the text".to_owned(), self.pos..self.pos);
        }
        (format!("`{}`", &rest[..len]), self.pos..self.pos + len)
    }

    pub(crate) fn unexpected(&self, expected: impl Into<String>) -> ReadError {
        let (found, at) = self.found();
        ReadError::new(
            at,
            Fault::Unexpected {
                found,
                expected: expected.into(),
            },
        )
    }

    /// Nothing but blanks may be left.
    pub(crate) fn finish(&mut self, expected: &str) -> Result<(), ReadError> {
        self.skip_space();
        if self.at_end() {
            Ok(())
        } else {
            Err(self.unexpected(expected))
        }
    }

    /// A number without sign: `12`, `12.5`, `12,5`, `1,234.5`, `1/2`, `6 1/2`, `6-1/2`, `6½`, `.5`.
    ///
    /// `None` if no number stands here. A number such as `1,000`, which could be two, is refused.
    pub(crate) fn number(&mut self) -> Result<Option<Number>, ReadError> {
        match self.number_either_way()? {
            Some(number) if number.grouped.is_some() => Err(self.two_ways(&number)),
            number => Ok(number),
        }
    }

    /// The fault of a number that could be two.
    pub(crate) fn two_ways(&self, number: &Number) -> ReadError {
        let found = self.slice(number.at.clone());
        let readings = format!("{} or {}", found.replace(',', ""), found.replace(',', "."));
        let hint = format!("write {readings}");
        let fault = Fault::Ambiguous {
            found: found.to_owned(),
            readings,
        };
        ReadError::new(number.at.clone(), fault).hint(hint)
    }

    /// As [`Reader::number`], but leaves it to the caller which of two readings is meant.
    pub(crate) fn number_either_way(&mut self) -> Result<Option<Number>, ReadError> {
        let start = self.pos;
        if let Some(value) = self.vulgar() {
            return Ok(Some(Number {
                value,
                at: start..self.pos,
                whole: false,
                grouped: None,
            }));
        }
        let mut runs: Vec<&str> = Vec::new();
        let mut marks: Vec<char> = Vec::new();
        let (first, _) = self.digits();
        runs.push(first);
        loop {
            let mut ahead = self.clone();
            let Some(mark) = ahead.eat_any(&['.', ',']) else {
                break;
            };
            let (run, _) = ahead.digits();
            if run.is_empty() || (first.is_empty() && mark == ',') {
                break;
            }
            *self = ahead;
            marks.push(mark);
            runs.push(run);
        }
        if first.is_empty() && marks.is_empty() {
            return Ok(None);
        }
        let text = &self.text[start..self.pos];
        let plain = decimal_text(text, &runs, &marks)
            .map_err(|fault| ReadError::new(start..self.pos, fault))?;
        let either_way = marks == [','] && runs[0] != "0" && is_grouped(&runs);
        let grouped = either_way.then(|| runs.concat().parse().unwrap_or(f64::INFINITY));
        // Digits and one point: the only failure left is a value too large, which parses as infinite.
        let mut value: f64 = plain.parse().unwrap_or(f64::INFINITY);
        let mut whole = !plain.contains('.');
        if whole && let Some(fraction) = self.fraction(value, start)? {
            value = fraction;
            whole = false;
        }
        if !value.is_finite() {
            return Err(ReadError::new(
                start..self.pos,
                Fault::OutOfRange {
                    found: text.to_owned(),
                    expected: "a number that can be reckoned with".to_owned(),
                },
            ));
        }
        Ok(Some(Number {
            value,
            at: start..self.pos,
            whole,
            grouped,
        }))
    }

    /// What follows the whole number `value` and makes it a fraction (`/2`) or a mixed number (` 1/2`, `-1/2`, `½`).
    fn fraction(&mut self, value: f64, start: usize) -> Result<Option<f64>, ReadError> {
        const SLASH: [char; 2] = ['/', '\u{2044}'];
        let mut ahead = self.clone();
        if ahead.eat_any(&SLASH).is_some() {
            let (below, _) = ahead.digits();
            if !below.is_empty() {
                *self = ahead;
                return self.divide(value, below, start).map(Some);
            }
            return Ok(None);
        }
        ahead.skip_space();
        if ahead.eat_any(&['-']).is_some() {
            ahead.skip_space();
        }
        if let Some(part) = ahead.vulgar() {
            *self = ahead;
            return Ok(Some(value + part));
        }
        let from = ahead.pos;
        let (above, _) = ahead.digits();
        if from == self.pos || above.is_empty() || ahead.eat_any(&SLASH).is_none() {
            return Ok(None);
        }
        let (below, _) = ahead.digits();
        if below.is_empty() {
            return Ok(None);
        }
        *self = ahead;
        let part = self.divide(above.parse().unwrap_or(f64::INFINITY), below, from)?;
        Ok(Some(value + part))
    }

    fn divide(&self, above: f64, below: &str, start: usize) -> Result<f64, ReadError> {
        let below: f64 = below.parse().unwrap_or(f64::INFINITY);
        if below == 0.0 {
            return Err(ReadError::new(
                start..self.pos,
                Fault::OutOfRange {
                    found: self.text[start..self.pos].to_owned(),
                    expected: "a fraction with something other than 0 below the line".to_owned(),
                },
            ));
        }
        Ok(above / below)
    }

    /// A fraction written as one character.
    fn vulgar(&mut self) -> Option<f64> {
        let c = self.peek()?;
        let (above, below) = match c {
            '½' => (1, 2),
            '⅓' => (1, 3),
            '⅔' => (2, 3),
            '¼' => (1, 4),
            '¾' => (3, 4),
            '⅕' => (1, 5),
            '⅖' => (2, 5),
            '⅗' => (3, 5),
            '⅘' => (4, 5),
            '⅙' => (1, 6),
            '⅚' => (5, 6),
            '⅐' => (1, 7),
            '⅛' => (1, 8),
            '⅜' => (3, 8),
            '⅝' => (5, 8),
            '⅞' => (7, 8),
            '⅑' => (1, 9),
            '⅒' => (1, 10),
            _ => return None,
        };
        self.pos += c.len_utf8();
        Some(f64::from(above) / f64::from(below))
    }
}

/// Whether these runs of digits are those of a number with its thousands set apart.
fn is_grouped(runs: &[&str]) -> bool {
    (1..=3).contains(&runs[0].len()) && runs[1..].iter().all(|run| run.len() == 3)
}

/// The digit runs of a number, put together with a point for the decimals.
///
/// A mark that occurs twice, or before the other one, separates thousands and must do so properly.
fn decimal_text(text: &str, runs: &[&str], marks: &[char]) -> Result<String, Fault> {
    let malformed = || Fault::Unexpected {
        found: format!("`{text}`"),
        expected: "a number such as 1234.5 or 1234,5".to_owned(),
    };
    match marks {
        [] => Ok(runs[0].to_owned()),
        [_] => Ok(format!("{}.{}", runs[0], runs[1])),
        [group @ .., last] if group.iter().all(|m| *m == group[0]) => {
            let (whole, decimals) = if *last == group[0] {
                (runs, None)
            } else {
                (&runs[..runs.len() - 1], runs.last())
            };
            if !is_grouped(whole) {
                return Err(malformed());
            }
            Ok(match decimals {
                Some(decimals) => format!("{}.{decimals}", whole.concat()),
                None => whole.concat(),
            })
        }
        _ => Err(malformed()),
    }
}
