//! A form: what is said on it, with the head and foot that all forms share.

use std::{collections::BTreeMap, fmt::Write as _};

use serde::Serialize;

use crate::{
    code,
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
    /// The file of the owner's mark on the press; empty if there is none.
    pub logo: String,
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
    /// Address of the railroad's office on the club's network, as `http://10.0.0.5:7841`: forms carry
    /// codes that lead to its pages. Without it they carry none.
    pub office: Option<String>,
    /// The owner's mark for the letterheads.
    pub logo: Option<Logo>,
}

/// The owner's mark: a drawing or a picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Logo {
    /// Its file name, whose ending says what it is: `.svg`, `.png` or `.jpg`.
    pub file: String,
    /// The file.
    pub bytes: Vec<u8>,
}

/// A kind of form: its sheet and the texts it is filled with.
pub trait Form: Serialize {
    /// The sheet's file under `forms/`.
    const SHEET: Sheet;
    /// Key of the form's title in the wording.
    const TITLE: &'static str;

    /// The page of the office that shows the same live, as `/timetable`; empty if there is none.
    fn page(&self) -> String {
        String::new()
    }

    /// Further pages to which parts of the form lead.
    fn pages(&self) -> Vec<String> {
        vec![]
    }
}

/// A sheet built in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sheet {
    /// Its file name.
    pub path: &'static str,
    /// Its text.
    pub text: &'static str,
}

const STYLE: &str = include_str!("../forms/style.typ");

#[derive(Serialize)]
struct Given<'a, F> {
    size: Size,
    head: Head,
    words: &'a BTreeMap<String, String>,
    page: String,
    codes: BTreeMap<String, Code>,
    body: &'a F,
}

/// The code of a page.
#[derive(Serialize)]
struct Code {
    svg: String,
    address: String,
}

fn codes<F: Form>(form: &F, office: Option<&str>) -> BTreeMap<String, Code> {
    let Some(office) = office else {
        return BTreeMap::new();
    };
    let mut pages = form.pages();
    pages.push(form.page());
    pages
        .into_iter()
        .filter(|page| !page.is_empty())
        .filter_map(|page| {
            let address = format!("{}{page}", office.trim_end_matches('/'));
            let svg = code::code(&address)?;
            Some((page, Code { svg, address }))
        })
        .collect()
}

/// A form filled in, ready to be set by itself or bound with others.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled {
    sheet: Sheet,
    data: Vec<u8>,
    /// Pictures by file name.
    pictures: Vec<(String, Vec<u8>)>,
}

/// Fills a form in for a railroad. `drawings` are those it refers to: name and SVG.
///
/// # Errors
/// If what is said on it cannot be written as JSON: a fault of the form.
pub fn fill<F: Form>(
    form: &F,
    identity: &railroad::Identity,
    occasion: &Occasion,
    drawings: Vec<(String, String)>,
) -> Result<Filled, PressError> {
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
        logo: occasion
            .logo
            .as_ref()
            .map_or_else(String::new, |logo| logo.file.clone()),
    };
    let given = Given {
        size: occasion.size,
        head,
        words: occasion.wording.all(),
        page: form.page(),
        codes: codes(form, occasion.office.as_deref()),
        body: form,
    };
    Ok(Filled {
        sheet: F::SHEET,
        data: serde_json::to_vec(&given).map_err(|error| PressError::data(&error))?,
        pictures: drawings
            .into_iter()
            .map(|(name, svg)| (format!("{name}.svg"), svg.into_bytes()))
            .chain(
                occasion
                    .logo
                    .as_ref()
                    .map(|logo| (logo.file.clone(), logo.bytes.clone())),
            )
            .collect(),
    })
}

impl Filled {
    /// Lays a picture ready, such as a photograph, under the name by which the form refers to it.
    pub fn add_picture(&mut self, file: String, bytes: Vec<u8>) {
        self.pictures.push((file, bytes));
    }
}

/// Sets filled forms one after another as one document of that title, each with page numbers of its
/// own.
///
/// # Errors
/// If a sheet is faulty, or a picture is none.
pub fn bind(title: &str, forms: &[Filled]) -> Result<Printed, PressError> {
    let title = serde_json::to_vec(title).map_err(|error| PressError::data(&error))?;
    let mut press = Press::new();
    let mut main = String::new();
    for (at, form) in forms.iter().enumerate() {
        // Each has a folder of its own, so that all may call their data by one name.
        press = press
            .with(&format!("/{at}/style.typ"), STYLE)
            .with(&format!("/{at}/{}", form.sheet.path), form.sheet.text)
            .with(&format!("/{at}/form.json"), form.data.clone())
            .with(&format!("/{at}/bound.json"), title.clone());
        for (name, picture) in &form.pictures {
            press = press.with(&format!("/{at}/{name}"), picture.clone());
        }
        let _ = writeln!(main, "#include \"/{at}/{}\"", form.sheet.path);
    }
    press.with("/main.typ", main).set("/main.typ")
}

/// Sets one form.
///
/// # Errors
/// If its sheet is faulty.
pub fn set<F: Form>(
    form: &F,
    identity: &railroad::Identity,
    occasion: &Occasion,
    drawings: &[(String, String)],
) -> Result<Printed, PressError> {
    let form = fill(form, identity, occasion, drawings.to_vec())?;
    bind(occasion.wording.at(F::TITLE), &[form])
}
