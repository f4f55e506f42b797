//! Every element of these pages in one place: what they look like in each light and on paper.

use maud::{Markup, html};
use model::Severity;

use super::{Lack, attention::sign, caution};
use crate::frame::{Ask, Page, ledger};

/// The style page.
#[derive(Debug)]
pub struct StylePage;

impl StylePage {
    /// The page.
    pub fn of(_: &Ask) -> Result<Self, Lack> {
        Ok(Self)
    }
}

impl Page for StylePage {
    fn title(&self) -> String {
        "How these pages are set".into()
    }

    fn document(&self) -> &'static str {
        ""
    }

    fn body(&self) -> Markup {
        html! {
            p.lead { "A lead says in a sentence or two what the page is about, before any table." }
            p { "Text is set in a roman face, figures in tables are all of one width, and rules do the work of boxes. "
                "A word in " code { "type of its own" } " is to be written just so. " a href="/" { "A way to another page" } " is underlined." }
            p.quiet { "Quiet text is for what may be skipped." }
            h2 { "A heading" }
            h3 { "A lesser one" }
            h2 { "What needs attention" }
            ul.attention {
                li { (sign(Severity::Error)) " the railroad cannot be worked as written" }
                li { (sign(Severity::Warning)) " probably not what was meant" }
                li { (sign(Severity::Note)) " worth knowing" }
            }
            (caution("What can hurt somebody is said in one sentence, beside what it is about, in every light."))
            h2 { "Facts" }
            dl.facts { dt { "Engines" } dd { "23" } dt { "Cars" } dd { "260" } }
            h2 { "A table" }
            (ledger("A table to show the setting", &html! {
                table {
                    thead { tr { th scope="col" { "Station" } th.number scope="col" { "Mile" } th.time scope="col" { "Leaves" } } }
                    tbody {
                        @for (name, mile, time) in [("Alder", "0.0", "7:05 AM"), ("Birch", "4.5", "7:20 AM"), ("Cedar", "11.0", "12:40 PM")] {
                            tr { th scope="row" { (name) } td.number { (mile) } td.time { (time) } }
                        }
                    }
                }
            }))
            h2 { "Fields" }
            form.edit method="get" action="/style" {
                div.fields {
                    div.field {
                        label for="style-a" { "length " span.must { "(must be there)" } }
                        input #style-a name="a" value="9'-6\"" aria-describedby="style-a-hint";
                        p.hint #style-a-hint { "Along the center line." }
                    }
                    div.field {
                        label for="style-b" { "use" }
                        select #style-b name="b" { option { "siding" } option { "spur" } }
                    }
                    div.field {
                        label for="style-c" { "mile" }
                        input #style-c name="c" value="far" aria-invalid="true" aria-describedby="style-c-notes";
                        div.notes #style-c-notes { p { (sign(Severity::Error)) " found " code { "far" } ", expected a number" } }
                    }
                }
                p.actions { button.primary type="submit" { "Review the change" } " " button type="submit" { "Leave it" } }
            }
            h2 { "A change of text" }
            (crate::diff::diff(Some(b"mile = 4\nname = \"Alder\"\n"), Some(b"mile = 4.5\nname = \"Alder\"\n")))
        }
    }
}
