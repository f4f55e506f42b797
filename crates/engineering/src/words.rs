//! Short ways to declare pages: fields, and closed lists of words that are enums inside.

use model::text::{Field, Kind, Need};

/// A key that must be written.
pub(crate) const fn must(key: &'static str, kind: Kind, about: &'static str) -> Field {
    Field {
        key,
        kind,
        need: Need::Required,
        about,
    }
}

/// A key that may be left out.
pub(crate) const fn may(key: &'static str, kind: Kind, about: &'static str) -> Field {
    Field {
        key,
        kind,
        need: Need::Optional,
        about,
    }
}

/// A key that counts as `text` if left out.
pub(crate) const fn or(
    key: &'static str,
    kind: Kind,
    text: &'static str,
    about: &'static str,
) -> Field {
    Field {
        key,
        kind,
        need: Need::Default(text),
        about,
    }
}

/// An enum whose variants are the words of a page's closed list. The first is what counts where the
/// owner wrote something that could not be read.
macro_rules! words {
    (
        $(#[$meta:meta])*
        pub enum $name:ident { $($variant:ident $word:literal $about:literal,)+ }
    ) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
        pub enum $name { #[default] $(#[doc = $about] $variant,)+ }

        impl $name {
            /// Every one of them, in the order of the handbook.
            pub const ALL: &[Self] = &[$(Self::$variant),+];

            /// The words, for the page's declaration.
            pub(crate) const CHOICES: &[model::text::Choice] =
                &[$(model::text::Choice { word: $word, about: $about }),+];

            /// As it is written.
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }

            /// From one of the words of the declaration.
            #[allow(dead_code, reason = "not every list is read by this way")]
            pub(crate) fn from_word(word: &str) -> Self {
                Self::ALL.iter().copied().find(|one| one.word() == word).unwrap_or_default()
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.word())
            }
        }
    };
}
pub(crate) use words;
