//! Short ways to declare the fields of a page.

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
