//! Reading of quantities as people write them: numbers, fractions, unit words, and what is wrong with them.

use std::ops::Range;

/// Why a text could not be read as a quantity, a time or a date.
///
/// `Display` gives the fault followed by the hint in parentheses; take the fields apart to set them on lines of their own.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{fault}{}", .hint.as_ref().map(|h| format!(" ({h})")).unwrap_or_default())]
pub struct ReadError {
    /// Bytes of the input at fault. Empty at the end of the input when something is missing there.
    pub at: Range<usize>,
    /// What was found and what was expected.
    pub fault: Fault,
    /// What was probably meant, or what to write instead.
    pub hint: Option<String>,
}

/// The kinds of fault a text can have.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// There is nothing but blanks.
    #[error("nothing is written here: expected {expected}")]
    Empty {
        /// What should stand here.
        expected: String,
    },
    /// A number without a unit.
    #[error("{number} of what? Expected a unit of {quantity}")]
    MissingUnit {
        /// The number as written.
        number: String,
        /// The quantity wanted, such as "length".
        quantity: &'static str,
    },
    /// A word that is no unit of the quantity wanted.
    #[error("`{found}` is not a unit of {quantity}")]
    UnknownUnit {
        /// The word as written.
        found: String,
        /// The quantity wanted, such as "length".
        quantity: &'static str,
    },
    /// Something other than what was expected.
    #[error("found {found}, expected {expected}")]
    Unexpected {
        /// What stands there, in backquotes, or "the end of the text".
        found: String,
        /// What should stand there.
        expected: String,
    },
    /// A value that cannot be right.
    #[error("`{found}` is out of range: expected {expected}")]
    OutOfRange {
        /// The value as written.
        found: String,
        /// The range allowed.
        expected: String,
    },
    /// A text with two sensible readings.
    #[error("`{found}` can be read two ways: {readings}")]
    Ambiguous {
        /// The text as written.
        found: String,
        /// Both readings, joined by "or".
        readings: String,
    },
    /// A scale length where only a real one can be understood, or the other way about.
    #[error("`{found}` can be converted only where the railroad's scale is known")]
    NeedsScale {
        /// The text as written.
        found: String,
    },
}

impl ReadError {
    pub(crate) fn new(at: Range<usize>, fault: Fault) -> Self {
        Self {
            at,
            fault,
            hint: None,
        }
    }

    pub(crate) fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}

/// A number as it stood in the text.
#[derive(Debug, Clone)]
pub(crate) struct Number {
    /// The value, never negative and always finite.
    pub(crate) value: f64,
    /// Where it stands.
    pub(crate) at: Range<usize>,
    /// No decimals and no fraction.
    pub(crate) whole: bool,
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
    /// `None` if no number stands here.
    pub(crate) fn number(&mut self) -> Result<Option<Number>, ReadError> {
        let start = self.pos;
        if let Some(value) = self.vulgar() {
            return Ok(Some(Number {
                value,
                at: start..self.pos,
                whole: false,
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
            .map_err(|fault| with_reading_hint(ReadError::new(start..self.pos, fault)))?;
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

/// The digit runs of a number, put together with a point for the decimals.
///
/// A mark that occurs twice, or before the other one, separates thousands and must do so properly. A single comma before
/// three digits could be either, so it is refused rather than guessed: the two readings differ a thousandfold.
fn decimal_text(text: &str, runs: &[&str], marks: &[char]) -> Result<String, Fault> {
    let grouped = |groups: &[&str]| {
        (1..=3).contains(&groups[0].len()) && groups[1..].iter().all(|g| g.len() == 3)
    };
    let malformed = || Fault::Unexpected {
        found: format!("`{text}`"),
        expected: "a number such as 1234.5 or 1234,5".to_owned(),
    };
    match marks {
        [] => Ok(runs[0].to_owned()),
        [','] if runs[0] != "0" && grouped(runs) => Err(Fault::Ambiguous {
            found: text.to_owned(),
            readings: format!("{}{} or {}.{}", runs[0], runs[1], runs[0], runs[1]),
        }),
        [_] => Ok(format!("{}.{}", runs[0], runs[1])),
        [group @ .., last] if group.iter().all(|m| *m == group[0]) => {
            let (whole, decimals) = if *last == group[0] {
                (runs, None)
            } else {
                (&runs[..runs.len() - 1], runs.last())
            };
            if !grouped(whole) {
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

/// Tells the writer of an ambiguous number which spellings are not.
fn with_reading_hint(error: ReadError) -> ReadError {
    match &error.fault {
        Fault::Ambiguous { readings, .. } => {
            let hint = format!("write {readings}");
            error.hint(hint)
        }
        _ => error,
    }
}

/// A unit and the words for it.
#[derive(Debug)]
pub(crate) struct Unit {
    /// Words and signs; a one-letter word counts only in the case given.
    pub(crate) names: &'static [&'static str],
    /// Its size in the base unit of the quantity.
    pub(crate) size: f64,
    /// Size of the unit meant by a bare number after this one, as the 6 in `12'-6`.
    pub(crate) bare_next: Option<f64>,
}

impl Unit {
    pub(crate) const fn new(size: f64, names: &'static [&'static str]) -> Self {
        Self {
            names,
            size,
            bare_next: None,
        }
    }

    pub(crate) const fn then_bare(mut self, size: f64) -> Self {
        self.bare_next = Some(size);
        self
    }

    fn is_called(&self, word: &str) -> bool {
        self.names
            .iter()
            .any(|n| *n == word || (n.len() > 1 && n.to_lowercase() == word.to_lowercase()))
    }
}

/// A quantity that may be written in parts, as `12'-6"` or `1 h 20 min`.
#[derive(Debug)]
pub(crate) struct Quantity {
    /// Its name in messages.
    pub(crate) name: &'static str,
    /// What to write, in messages.
    pub(crate) expected: &'static str,
    /// Its units.
    pub(crate) units: &'static [Unit],
    /// Two usual units, offered when one is missing.
    pub(crate) usual: [&'static str; 2],
    /// Whether `scale` and `actual` may stand before a unit.
    pub(crate) marked: bool,
    /// The largest size accepted, in base units, and how to say it.
    pub(crate) most: (f64, &'static str),
}

/// Whether a unit was marked as of the scale or of the real world around the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mark {
    Scale,
    Actual,
}

/// A quantity read by [`Quantity::read`].
#[derive(Debug)]
pub(crate) struct Amount {
    /// Value in the base unit.
    pub(crate) value: f64,
    /// The mark found, if any.
    pub(crate) mark: Option<Mark>,
    /// Where the amount stands.
    pub(crate) at: Range<usize>,
}

fn mark(reader: &mut Reader<'_>) -> Option<Mark> {
    let found = if reader.word_if(|w| w == "scale") {
        Mark::Scale
    } else if reader.word_if(|w| w == "actual" || w == "real") {
        Mark::Actual
    } else {
        return None;
    };
    reader.skip_space();
    if reader.eat("-") {
        reader.skip_space();
    }
    Some(found)
}

impl Quantity {
    /// Reads the whole of `text` as one amount.
    pub(crate) fn read_all(&self, text: &str) -> Result<Amount, ReadError> {
        let mut reader = Reader::start(text, self.expected)?;
        let amount = self.read(&mut reader)?;
        reader.finish("nothing more")?;
        Ok(amount)
    }

    /// Reads an amount: a sign, then parts of ever smaller units.
    pub(crate) fn read(&self, reader: &mut Reader<'_>) -> Result<Amount, ReadError> {
        let start = reader.pos();
        let mut marked = if self.marked { mark(reader) } else { None };
        let minus = reader.sign();
        let mut total = 0.0;
        let mut previous: Option<(&Unit, Number)> = None;
        let mut end;
        loop {
            let Some(number) = reader.number()? else {
                return Err(reader.unexpected(self.expected));
            };
            end = reader.pos();
            reader.skip_space();
            if self.marked {
                let found = mark(reader);
                if marked.is_some() && found.is_some() && marked != found {
                    return Err(ReadError::new(
                        start..reader.pos(),
                        Fault::Unexpected {
                            found: "scale and actual parts together".to_owned(),
                            expected: "one or the other".to_owned(),
                        },
                    ));
                }
                marked = marked.or(found);
            }
            let bare = previous.as_ref().and_then(|(unit, _)| unit.bare_next);
            let (unit, size) = match self.unit(reader, bare, &mut marked)? {
                UnitFound::Named(unit) => (Some(unit), unit.size),
                UnitFound::Implied(size) => (None, size),
                UnitFound::Missing => return Err(self.missing_unit(reader, &number)),
            };
            end = end.max(reader.pos());
            if let Some((larger, before)) = &previous {
                self.check_part(reader, &number, size, larger, before)?;
            }
            total += number.value * size;
            let Some(unit) = unit else { break };
            previous = Some((unit, number));
            // Another part may follow, after a blank or a dash.
            let mut ahead = reader.clone();
            ahead.skip_space();
            if ahead
                .eat_any(&['-', '\u{2010}', '\u{2011}', '\u{2013}'])
                .is_none()
            {
                ahead.word_if(|w| w == "and");
            }
            ahead.skip_space();
            if ahead.clone().number()?.is_none() {
                break;
            }
            *reader = ahead;
        }
        if total > self.most.0 {
            return Err(ReadError::new(
                start..end,
                Fault::OutOfRange {
                    found: reader.slice(start..end).to_owned(),
                    expected: format!("at most {}", self.most.1),
                },
            ));
        }
        Ok(Amount {
            value: if minus { -total } else { total },
            mark: marked,
            at: start..end,
        })
    }

    /// A later part must be worth less than one of the unit before it, which must be whole.
    fn check_part(
        &self,
        reader: &Reader<'_>,
        number: &Number,
        size: f64,
        larger: &Unit,
        before: &Number,
    ) -> Result<(), ReadError> {
        let at = number.at.start..reader.pos();
        let found = reader.slice(at.clone()).trim_end().to_owned();
        let unit = larger.names[0];
        // One part in 10^12 forgives the rounding of a third of a foot and the like.
        if size >= larger.size || number.value * size >= larger.size * (1.0 - 1e-12) {
            return Err(ReadError::new(
                at,
                Fault::OutOfRange {
                    found,
                    expected: format!("less than 1 {unit} after the {unit}"),
                },
            ));
        }
        if !before.whole {
            return Err(ReadError::new(
                at,
                Fault::Unexpected {
                    found: format!("`{found}` after a broken number of {unit}"),
                    expected: "a fraction in the last part only".to_owned(),
                },
            ));
        }
        Ok(())
    }

    fn missing_unit(&self, reader: &Reader<'_>, number: &Number) -> ReadError {
        let written = reader.slice(number.at.clone());
        let [one, other] = self.usual;
        let fault = Fault::MissingUnit {
            number: written.to_owned(),
            quantity: self.name,
        };
        ReadError::new(number.at.clone(), fault)
            .hint(format!("write {written} {one} or {written} {other}"))
    }

    /// The unit that stands here.
    fn unit(
        &self,
        reader: &mut Reader<'_>,
        bare: Option<f64>,
        marked: &mut Option<Mark>,
    ) -> Result<UnitFound, ReadError> {
        // Signs first, the longest that fits: two primes are one inch sign.
        let sign = self
            .units
            .iter()
            .flat_map(|unit| unit.names.iter().map(move |name| (unit, *name)))
            .filter(|(_, name)| !name.starts_with(char::is_alphabetic))
            .filter(|(_, name)| reader.rest().starts_with(name))
            .max_by_key(|(_, name)| name.len());
        if let Some((unit, name)) = sign {
            reader.eat(name);
            return Ok(UnitFound::Named(unit));
        }
        let before = reader.clone();
        let (mut word, at) = reader.word();
        if word.is_empty() {
            if let Some(size) = bare {
                return Ok(UnitFound::Implied(size));
            }
            if reader.at_end() || reader.peek().is_some_and(|c| c.is_ascii_digit()) {
                return Ok(UnitFound::Missing);
            }
            return Err(reader.unexpected(format!("a unit of {}", self.name)));
        }
        let unit = self.units.iter().find(|u| u.is_called(word)).or_else(|| {
            // `sft`, `smi`: scale feet, scale miles.
            let short = word.strip_prefix(['s', 'S']).filter(|_| self.marked)?;
            let unit = self.units.iter().find(|u| u.is_called(short))?;
            *marked = Some(Mark::Scale);
            word = short;
            Some(unit)
        });
        let Some(unit) = unit else {
            let word = word.to_owned();
            *reader = before;
            return Err(self.unknown_unit(word, at));
        };
        // The full stop of an abbreviation, as in `12 ft. 6 in.`
        let mut ahead = reader.clone();
        if ahead.eat(".") && ahead.peek().is_none_or(char::is_whitespace) {
            *reader = ahead;
        }
        Ok(UnitFound::Named(unit))
    }

    fn unknown_unit(&self, found: String, at: Range<usize>) -> ReadError {
        let names = self.units.iter().flat_map(|u| u.names).copied();
        let hint = match nearest(&found, names) {
            Some(near) => format!("did you mean {near}?"),
            None => {
                let all: Vec<_> = self.units.iter().map(|u| u.names[0]).collect();
                format!("units of {}: {}", self.name, all.join(", "))
            }
        };
        ReadError::new(
            at,
            Fault::UnknownUnit {
                found,
                quantity: self.name,
            },
        )
        .hint(hint)
    }
}

enum UnitFound {
    Named(&'static Unit),
    Implied(f64),
    Missing,
}

/// The candidate most like `word`, if any is like enough to be worth offering.
pub(crate) fn nearest<'c>(
    word: &str,
    candidates: impl Iterator<Item = &'c str>,
) -> Option<&'c str> {
    let word = word.to_lowercase();
    candidates
        .map(|c| (strsim::damerau_levenshtein(&word, &c.to_lowercase()), c))
        .filter(|(distance, c)| *distance <= 1 + c.chars().count() / 4 && *distance < c.len())
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, c)| c)
}

/// `value` with that many decimals, without a minus before zero.
pub(crate) fn decimal(value: f64, decimals: u8) -> String {
    let text = format!("{value:.*}", usize::from(decimals));
    let zero = text.starts_with('-') && !text.contains(|c: char| ('1'..='9').contains(&c));
    if zero { text[1..].to_owned() } else { text }
}
