//! Mechanical designations: the letters by which the trade classifies cars, and the car type codes
//! that came beside them in 1970.
//!
//! The letters of freight cars are those listed in the equipment register of October 1967 and in an
//! Army manual on freight cars (TM 55-2200-002-12), as far as those were read; the entries marked
//! `from memory` in the table are not. Passenger and company-service letters are from memory.

use std::fmt;

use model::date::Date;

/// The class a designation's letters begin with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Class {
    /// X: house cars.
    Box,
    /// V: ventilated house cars.
    Ventilator,
    /// R: refrigerator cars.
    Refrigerator,
    /// S: stock cars.
    Stock,
    /// G: gondolas.
    Gondola,
    /// H: hoppers.
    Hopper,
    /// F: flats.
    Flat,
    /// T: tanks.
    Tank,
    /// L: special cars, covered hoppers among them.
    Special,
    /// N: cabooses.
    Caboose,
    /// B, C, D, P and the like: cars of passenger trains.
    Passenger,
    /// M: maintenance of way and other company service.
    Maintenance,
}

impl Class {
    /// What its cars are called.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Box => "box cars",
            Self::Ventilator => "ventilator cars",
            Self::Refrigerator => "refrigerator cars",
            Self::Stock => "stock cars",
            Self::Gondola => "gondolas",
            Self::Hopper => "hoppers",
            Self::Flat => "flat cars",
            Self::Tank => "tank cars",
            Self::Special => "special cars",
            Self::Caboose => "cabooses",
            Self::Passenger => "passenger-train cars",
            Self::Maintenance => "company-service cars",
        }
    }
}

/// How a designation is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// Letters, as `XM`.
    Letters,
    /// A letter and three digits, as `A302`: car type codes, from 1970 on.
    TypeCode,
}

/// A mechanical designation as written on the car record.
#[derive(Debug, Clone, PartialEq)]
pub struct Designation {
    /// In capitals, without blanks.
    pub text: String,
    /// What it classifies the car as; `None` if the letters are unknown.
    pub class: Option<Class>,
    /// Letters or type code.
    pub form: Form,
}

/// Known designations, their meaning, and whether they were read in a source.
const KNOWN: &[(&str, &str)] = &[
    ("XM", "general box car"),
    ("XA", "automobile box car"),         // from memory
    ("XAR", "automobile box car, racks"), // from memory
    ("XR", "box car with automobile devices"),
    ("XL", "box car with loading devices"),
    ("XP", "box car for one commodity"),
    ("XT", "box car with tanks"),
    ("XC", "box car with compartments"),
    ("XF", "box car for food"),                             // from memory
    ("XI", "insulated box car"),                            // from memory
    ("XMI", "insulated general box car"),                   // from memory
    ("VA", "ventilator car"),                               // from memory
    ("VM", "ventilator car"),                               // from memory
    ("VS", "ventilator car, insulated"),                    // from memory
    ("RS", "iced refrigerator car"),                        // from memory
    ("RSM", "iced refrigerator car with meat rails"),       // from memory
    ("RSB", "iced refrigerator car with fans"),             // from memory
    ("RA", "brine-tank refrigerator car"),                  // from memory
    ("RAM", "brine-tank refrigerator car with meat rails"), // from memory
    ("RB", "insulated car without ice"),                    // from memory
    ("RBL", "insulated car with loading devices"),          // from memory
    ("RP", "mechanical refrigerator car"),                  // from memory
    ("SM", "single-deck stock car"),                        // from memory
    ("SF", "double-deck stock car"),                        // from memory
    ("SC", "stock car, convertible"),                       // from memory
    ("SP", "poultry car"),                                  // from memory
    ("GA", "gondola with drop bottom between the rails"),   // from memory
    ("GB", "gondola with fixed sides and solid bottom"),
    ("GD", "side-dump gondola"),      // from memory
    ("GE", "gondola with drop ends"), // from memory
    ("GH", "gondola with drop ends and outside doors"),
    ("GM", "gondola"), // from memory
    ("GR", "gondola"), // from memory
    ("GS", "general-service drop-bottom gondola"),
    ("GT", "high-side gondola for a rotary dumper"),
    ("HD", "divided hopper"),            // from memory
    ("HE", "hopper with doors outside"), // from memory
    ("HFA", "hopper with longitudinal doors"),
    ("HK", "hopper that dumps outside the rails"),
    ("HM", "twin hopper"),
    ("HMA", "twin hopper with lengthwise doors"),
    ("HT", "triple hopper or more"),                // from memory
    ("HTA", "triple hopper with lengthwise doors"), // from memory
    ("FA", "flat car with automobile racks"),
    ("FB", "bulkhead flat car"),
    ("FC", "flat car for trailers and containers"),
    ("FCA", "articulated trailer flat car"),
    ("FD", "depressed-center flat car"), // from memory
    ("FG", "gun flat car"),              // from memory
    ("FL", "log flat car"),              // from memory
    ("FM", "general flat car"),
    ("FMS", "flat car for special service"),
    ("FW", "well flat car"),        // from memory
    ("TA", "acid tank car"),        // from memory
    ("TG", "glass-lined tank car"), // from memory
    ("TL", "lined tank car"),       // from memory
    ("TM", "general tank car"),
    ("TMI", "insulated tank car"),
    ("TP", "pressure tank car"),
    ("TPI", "insulated pressure tank car"),
    ("TW", "wooden tank car"), // from memory
    ("LB", "special car with half doors"),
    ("LC", "special car with roof hatches"),
    ("LF", "container car"),     // from memory
    ("LG", "container gondola"), // from memory
    ("LM", "special car"),       // from memory
    ("LO", "covered hopper"),
    ("LP", "pulpwood car"), // from memory
    ("LRC", "dry-ice car"),
    ("LS", "special car for heavy loads"), // from memory
    ("LU", "house car with drop sides"),
    ("NE", "eight-wheel caboose"),
    ("NM", "four-wheel caboose"),
    ("BX", "box car for express"),
];

impl Designation {
    /// Reads a designation. Never fails: unknown letters have no class.
    pub fn parse(text: &str) -> Self {
        let text: String = text
            .chars()
            .filter(|c| !c.is_whitespace() && *c != '-')
            .collect::<String>()
            .to_uppercase();
        let letters: String = text.chars().take_while(char::is_ascii_uppercase).collect();
        let digits = &text[letters.len()..];
        let form = if letters.len() == 1
            && digits.len() == 3
            && digits.bytes().all(|b| b.is_ascii_digit())
        {
            Form::TypeCode
        } else {
            Form::Letters
        };
        let class = match form {
            Form::TypeCode => type_code_class(&letters),
            Form::Letters => letter_class(&letters),
        };
        Self { text, class, form }
    }

    /// What the very letters mean, if they are among those known.
    pub fn meaning(&self) -> Option<&'static str> {
        KNOWN
            .iter()
            .find(|(code, _)| *code == self.text)
            .map(|(_, meaning)| *meaning)
    }

    /// The designations known, for guessing what was meant.
    pub(crate) fn known() -> impl Iterator<Item = &'static str> {
        KNOWN.iter().map(|(code, _)| *code)
    }

    /// Whether designations of this form were in use on a day: type codes came in 1970.
    pub fn in_use(&self, day: Date) -> bool {
        self.form == Form::Letters || day.year() >= 1970
    }
}

/// By the first letter; passenger-train cars share B, C, D and P with nothing else.
fn letter_class(letters: &str) -> Option<Class> {
    let mut chars = letters.chars();
    let first = chars.next()?;
    // A class letter alone designates nothing.
    chars.next()?;
    Some(match first {
        'X' => Class::Box,
        'V' => Class::Ventilator,
        'R' => Class::Refrigerator,
        'S' => Class::Stock,
        'G' => Class::Gondola,
        'H' => Class::Hopper,
        'F' => Class::Flat,
        'T' => Class::Tank,
        'L' => Class::Special,
        'N' => Class::Caboose,
        'B' | 'C' | 'D' | 'P' => Class::Passenger,
        // MW.. is maintenance of way; MA, MB, MR carry mail.
        'M' if letters.starts_with("MW") => Class::Maintenance,
        'M' => Class::Passenger,
        _ => return None,
    })
}

/// The first letter of the car type codes of 1970.
fn type_code_class(letter: &str) -> Option<Class> {
    Some(match letter {
        "A" | "B" => Class::Box,
        "C" => Class::Hopper,
        "E" | "G" | "J" => Class::Gondola,
        "F" | "V" | "P" | "Q" | "S" => Class::Flat,
        "H" | "K" => Class::Hopper,
        "L" => Class::Special,
        // Cabooses are among the cars that earn no revenue: N110 for a four-wheel one.
        "M" => Class::Maintenance,
        "N" => Class::Caboose,
        "R" => Class::Refrigerator,
        "T" => Class::Tank,
        _ => return None,
    })
}

impl fmt::Display for Designation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Letters against the class headings of the equipment register of October 1967.
    #[test]
    fn letters_fall_in_the_registers_classes() {
        for (code, class) in [
            ("XM", Class::Box),
            ("XL", Class::Box),
            ("GS", Class::Gondola),
            ("HMA", Class::Hopper),
            ("FCA", Class::Flat),
            ("TPI", Class::Tank),
            ("LO", Class::Special),
            ("NE", Class::Caboose),
            ("x m", Class::Box),
        ] {
            assert_eq!(Designation::parse(code).class, Some(class), "{code}");
        }
    }

    /// First letters of the car type codes in use from 1970.
    #[test]
    fn type_codes_are_told_from_letters() {
        let code = Designation::parse("B207");
        assert_eq!((code.form, code.class), (Form::TypeCode, Some(Class::Box)));
        assert_eq!(Designation::parse("T104").class, Some(Class::Tank));
        assert_eq!(Designation::parse("R").class, None);
        assert_eq!(Designation::parse("QQ").class, None);
        assert_eq!(Designation::parse("").class, None);
    }

    #[test]
    fn every_known_designation_has_a_class() {
        for code in Designation::known() {
            assert!(Designation::parse(code).class.is_some(), "{code}");
        }
    }
}
