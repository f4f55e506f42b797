//! Closed lists of words, written once: the enum, the choices its page offers, and the way between.

/// Declares an enum whose variants are words of a page.
///
/// Gives it `CHOICES` for [`Kind::OneOf`](crate::text::Kind::OneOf), `ALL`, `word`, `from_word`,
/// `read` and `Display`.
#[macro_export]
macro_rules! words {
    (
        $(#[$meta:meta])*
        pub enum $name:ident { $($variant:ident = $word:literal, $about:literal;)+ }
    ) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name {
            $(#[doc = concat!("`", $word, "`: ", $about, ".")] $variant,)+
        }

        impl $name {
            /// The words and their meaning, for the page.
            pub const CHOICES: &'static [$crate::text::Choice] =
                &[$($crate::text::Choice { word: $word, about: $about }),+];

            /// All of them, in the order of the page.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The word for it.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }

            /// What the word stands for, if it is one of them.
            pub fn from_word(word: &str) -> Option<Self> {
                match word { $($word => Some(Self::$variant),)+ _ => None }
            }

            /// The value of a key declared with [`Self::CHOICES`].
            pub fn read(
                record: &$crate::text::Record,
                key: &str,
            ) -> Option<$crate::Spanned<Self>> {
                let word = record.word(key)?;
                Self::from_word(word.value).map(|value| $crate::Spanned { value, span: word.span })
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.word())
            }
        }
    };
}
