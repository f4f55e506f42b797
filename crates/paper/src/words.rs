//! The wording of the forms, a file a language.
//!
//! A form asks for a wording by its key; the key says the place, not the English. Every language has
//! every key of English: a test holds them to it.

use std::collections::BTreeMap;

use serde::Deserialize;

/// The wording of one language.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Wording {
    /// Its tag, as `en`.
    pub language: String,
    words: BTreeMap<String, String>,
}

/// Why a wording could not be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum WordingError {
    /// The file is no TOML of the right shape.
    #[error("the wording could not be read: {0}")]
    Unreadable(String),
    /// It has a key that no form asks for.
    #[error("no form asks for {0}")]
    Unknown(String),
}

const ENGLISH: &str = include_str!("../words/en.toml");
const GERMAN: &str = include_str!("../words/de.toml");

impl Wording {
    /// The built-in wording of a language, if there is one.
    pub fn of(language: &str) -> Option<Self> {
        let text = match language {
            "en" => ENGLISH,
            "de" => GERMAN,
            _ => return None,
        };
        toml::from_str(text).ok()
    }

    /// English.
    pub fn english() -> Self {
        Self::of("en").unwrap_or_else(|| Self {
            language: "en".into(),
            words: BTreeMap::new(),
        })
    }

    /// The languages built in.
    pub const LANGUAGES: [&'static str; 2] = ["en", "de"];

    /// This wording with an owner's own in its place wherever the owner gives one.
    ///
    /// # Errors
    /// If the owner's file cannot be read, or has a key that no form asks for.
    pub fn with_own(mut self, toml_text: &str) -> Result<Self, WordingError> {
        let own: Self = toml::from_str(toml_text)
            .map_err(|error| WordingError::Unreadable(error.to_string()))?;
        for (key, value) in own.words {
            match self.words.get_mut(&key) {
                Some(place) => *place = value,
                None => return Err(WordingError::Unknown(key)),
            }
        }
        self.language = own.language;
        Ok(self)
    }

    /// The wording at a key; the key itself if there is none, so that the lack shows.
    pub fn at<'a>(&'a self, key: &'a str) -> &'a str {
        self.words.get(key).map_or(key, String::as_str)
    }

    /// Every key and its wording.
    pub fn all(&self) -> &BTreeMap<String, String> {
        &self.words
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_language_says_everything() {
        let english = Wording::english();
        assert!(!english.words.is_empty());
        for language in Wording::LANGUAGES {
            let other = Wording::of(language).unwrap();
            assert_eq!(other.language, language);
            let keys = |wording: &Wording| wording.words.keys().cloned().collect::<Vec<_>>();
            assert_eq!(keys(&other), keys(&english), "{language}");
            assert!(other.words.values().all(|word| !word.trim().is_empty()));
        }
    }

    #[test]
    fn owners_may_say_it_otherwise() {
        let own = "language = \"en\"\n[words]\nsiding = \"Passing track\"\n";
        let wording = Wording::english().with_own(own).unwrap();
        assert_eq!(wording.at("siding"), "Passing track");
        let wrong = "language = \"en\"\n[words]\nsidings = \"x\"\n";
        assert_eq!(
            Wording::english().with_own(wrong),
            Err(WordingError::Unknown("sidings".into()))
        );
    }
}
