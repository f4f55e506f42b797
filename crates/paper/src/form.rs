//! A form: what is said on it, with the head and foot that all forms share.

use serde::Serialize;

use crate::{
    press::{Press, PressError, Printed},
    sheet::Size,
    words::Wording,
};

/// What stands at the head and foot of every form.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Head {
    /// The railroad's name.
    pub railroad: String,
    /// The form's title.
    pub title: String,
    /// The form's own name, for the foot.
    pub form: String,
    /// The railroad's date, written out.
    pub date: String,
    /// Which session it is for; empty if for any.
    pub session: String,
    /// Which revision of it this is.
    pub revision: String,
    /// Tag of the language.
    pub language: String,
}

/// What changes from one printing to another, whatever the form.
#[derive(Debug, Clone, PartialEq)]
pub struct Occasion {
    /// Paper and type.
    pub size: Size,
    /// The wording.
    pub wording: Wording,
    /// Which session it is for; empty if for any.
    pub session: String,
    /// Which revision.
    pub revision: String,
}

/// A kind of form: its sheet and the texts it is filled with.
pub trait Form: Serialize {
    /// The sheet's file under `forms/`.
    const SHEET: Sheet;
    /// Key of the form's title in the wording.
    const TITLE: &'static str;
}

/// A sheet built in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sheet {
    /// Its path on the press.
    pub path: &'static str,
    /// Its text.
    pub text: &'static str,
}

const STYLE: &str = include_str!("../forms/style.typ");

#[derive(Serialize)]
struct Given<'a, F> {
    size: Size,
    head: Head,
    words: &'a std::collections::BTreeMap<String, String>,
    body: &'a F,
}

/// Sets a form for a railroad.
///
/// # Errors
/// If its sheet is faulty.
pub fn set<F: Form>(
    form: &F,
    identity: &railroad::Identity,
    occasion: &Occasion,
    drawings: &[(String, String)],
) -> Result<Printed, PressError> {
    let title = occasion.wording.at(F::TITLE).to_owned();
    let head = Head {
        railroad: identity.name.clone(),
        form: title.clone(),
        title,
        date: identity.date.map_or_else(String::new, |date| {
            date.value.show(model::date::DateStyle::Full).to_string()
        }),
        session: occasion.session.clone(),
        revision: occasion.revision.clone(),
        language: occasion.wording.language.clone(),
    };
    let given = Given {
        size: occasion.size,
        head,
        words: occasion.wording.all(),
        body: form,
    };
    let data = serde_json::to_vec(&given).map_err(|error| PressError::data(&error))?;
    let mut press = Press::new()
        .with("/style.typ", STYLE)
        .with(F::SHEET.path, F::SHEET.text)
        .with("/form.json", data);
    for (name, svg) in drawings {
        press = press.with(&format!("/{name}.svg"), svg.as_bytes());
    }
    press.set(F::SHEET.path)
}
