//! The printed documents, for the office.

use std::path::PathBuf;

use paper::Document;
use web::services::{Press, PrintAsk, Sorry};

use crate::{args::Which, verbs::print::one_pdf};

/// The press. The folder is where the owner's own instructions and photographs lie.
pub fn press(which: &Which) -> Press {
    let folder: Option<PathBuf> = (!which.example).then(|| which.folder.clone());
    Press {
        documents: Document::CHOICES
            .iter()
            .map(|choice| (choice.word.to_owned(), choice.about.to_owned()))
            .collect(),
        print: Box::new(move |railroad, asked, _| {
            let folder = folder.as_ref().map(|folder| folder.to_string_lossy());
            one_pdf(railroad, &words(asked, folder.as_deref())).map_err(|failure| {
                let (what, help) = failure.words();
                Sorry { what, help }
            })
        }),
    }
}

/// The same as one would ask for at the command line.
fn words(asked: &PrintAsk, folder: Option<&str>) -> Vec<String> {
    let paper = if asked.a4 { "a4" } else { "letter" };
    let mut words = vec![format!("--paper={paper}")];
    words.extend(asked.whom.as_ref().map(|whom| format!("--for={whom}")));
    for (wanted, word) in [
        (asked.large, "--large"),
        (asked.half, "--half"),
        (folder.is_none(), "--example"),
    ] {
        words.extend(wanted.then(|| word.to_owned()));
    }
    // What follows is never taken for an option.
    words.push("--".to_owned());
    words.push(asked.what.clone());
    words.extend(folder.map(str::to_owned));
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_like_an_option_is_a_name() {
        let asked = PrintAsk {
            what: "yard sheets".into(),
            whom: Some("-Alder".into()),
            half: true,
            ..PrintAsk::default()
        };
        assert_eq!(
            words(&asked, Some("-road")),
            [
                "--paper=letter",
                "--for=-Alder",
                "--half",
                "--",
                "yard sheets",
                "-road"
            ]
        );
    }
}
