//! Amounts in one or more parts, each with its unit: `12'-6"`, `1 h 20 min`.

use std::ops::Range;

use super::{Fault, Number, ReadError, Reader, nearest};

/// A unit and the words for it.
#[derive(Debug)]
pub(crate) struct Unit {
    /// Words and signs; a one-letter word counts only in the case given.
    pub(crate) names: &'static [&'static str],
    /// Its size in the base unit of the quantity.
    pub(crate) size: f64,
    /// Size of the unit meant by a bare number after this one, as the 6 in `12'-6`.
    pub(crate) bare_next: Option<f64>,
    /// Whether `169,000` of these are thousands. Elsewhere such a number is refused: in lengths it may be a decimal comma.
    pub(crate) grouped: bool,
}

impl Unit {
    pub(crate) const fn new(size: f64, names: &'static [&'static str]) -> Self {
        Self {
            names,
            size,
            bare_next: None,
            grouped: false,
        }
    }

    pub(crate) const fn then_bare(mut self, size: f64) -> Self {
        self.bare_next = Some(size);
        self
    }

    pub(crate) const fn in_thousands(mut self) -> Self {
        self.grouped = true;
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
            let Some(mut number) = reader.number_either_way()? else {
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
            if let Some(grouped) = number.grouped {
                if !unit.is_some_and(|u| u.grouped) {
                    return Err(reader.two_ways(&number));
                }
                (number.value, number.whole) = (grouped, true);
            }
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
            if ahead.clone().number_either_way()?.is_none() {
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
        let (word, at) = reader.word();
        if word.is_empty() {
            if let Some(size) = bare {
                return Ok(UnitFound::Implied(size));
            }
            if reader.at_end() || reader.peek().is_some_and(|c| c.is_ascii_digit()) {
                return Ok(UnitFound::Missing);
            }
            return Err(reader.unexpected(format!("a unit of {}", self.name)));
        }
        let called = |name: &str| self.units.iter().find(|u| u.is_called(name));
        let unit = called(word).or_else(|| {
            // `sft`, `smi`: scale feet, scale miles.
            let unit = called(word.strip_prefix(['s', 'S']).filter(|_| self.marked)?)?;
            *marked = Some(Mark::Scale);
            Some(unit)
        });
        let unit = unit.or_else(|| {
            // `long tons`
            let mut ahead = reader.clone();
            ahead.skip_space();
            let unit = called(&format!("{word} {}", ahead.word().0))?;
            *reader = ahead;
            Some(unit)
        });
        let Some(unit) = unit else {
            let word = word.to_owned();
            *reader = before;
            return Err(self.unknown_unit(word, at));
        };
        // The full stop of an abbreviation, as in `12 ft. 6 in.`
        let mut ahead = reader.clone();
        if ahead.eat(".") && ahead.peek().is_none_or(|c| c == '-' || c.is_whitespace()) {
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
