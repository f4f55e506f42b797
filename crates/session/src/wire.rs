//! How the nouns of other departments are written in the journal: times as seconds, words as words.

/// A time by the railroad's clock, as seconds after midnight.
pub mod time {
    use model::time::RailTime;
    use serde::{Deserialize, Deserializer, Serializer};

    /// Writes it.
    ///
    /// # Errors
    /// What the writer says.
    pub fn serialize<S: Serializer>(time: &RailTime, out: S) -> Result<S::Ok, S::Error> {
        out.serialize_i64(time.seconds())
    }

    /// Reads it.
    ///
    /// # Errors
    /// If it is no whole number.
    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<RailTime, D::Error> {
        i64::deserialize(from).map(RailTime::from_seconds)
    }
}

/// The same where there may be none.
pub mod maybe_time {
    use model::time::RailTime;
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    /// Writes it.
    ///
    /// # Errors
    /// What the writer says.
    pub fn serialize<S: Serializer>(time: &Option<RailTime>, out: S) -> Result<S::Ok, S::Error> {
        time.map(RailTime::seconds).serialize(out)
    }

    /// Reads it.
    ///
    /// # Errors
    /// If it is no whole number.
    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Option<RailTime>, D::Error> {
        Ok(Option::<i64>::deserialize(from)?.map(RailTime::from_seconds))
    }
}

macro_rules! by_word {
    ($(#[$meta:meta])* $module:ident, $type:ty) => {
        $(#[$meta])*
        pub mod $module {
            use serde::{Deserialize, Deserializer, Serializer, de::Error as _};

            /// Writes the word.
            ///
            /// # Errors
            /// What the writer says.
            pub fn serialize<S: Serializer>(value: &$type, out: S) -> Result<S::Ok, S::Error> {
                out.serialize_str(value.word())
            }

            /// Reads the word.
            ///
            /// # Errors
            /// If it is none of the list.
            pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<$type, D::Error> {
                let word = String::deserialize(from)?;
                <$type>::from_word(&word)
                    .ok_or_else(|| D::Error::custom(format!("`{word}` is no known word here")))
            }
        }
    };
}

by_word! {
    /// The operating method, by its word.
    method, transportation::Method
}
by_word! {
    /// What a station is, by its word.
    station_kind, engineering::station::StationKind
}
by_word! {
    /// What a track is for, by its word.
    track_use, engineering::station::TrackUse
}
