//! Booklets read by another program: every page stands whole in the place of the sheet where folding
//! and cutting wants it, with its text still text.

use std::process::Command;

use paper::{
    Binding, Document, For, Format, Occasion, Own, Paper, Session, Wording, bind, document::forms,
    impose,
};

/// The words within a rectangle of a page of a file, points from its upper left, by poppler's
/// `pdftotext`; nothing if that is not installed.
fn words(file: &std::path::Path, page: usize, [x, y, width, height]: [f64; 4]) -> Option<String> {
    let page = page.to_string();
    let [x, y, width, height] =
        [x, y, width, height].map(|points| format!("{}", points.round() as i64));
    let out = Command::new("pdftotext")
        .args(["-raw", "-r", "72", "-f", &page, "-l", &page])
        .args(["-x", &x, "-y", &y, "-W", &width, "-H", &height])
        .arg(file)
        .arg("-")
        .output()
        .ok()?;
    assert!(out.status.success(), "{out:?}");
    let text = String::from_utf8(out.stdout).unwrap();
    Some(text.split_whitespace().collect::<Vec<_>>().join(" "))
}

#[test]
#[allow(clippy::print_stderr, reason = "says why nothing was checked")]
fn every_page_stands_where_folding_wants_it() {
    let folder = railroad::Folder::built_in("example").unwrap();
    let railroad = railroad::load(&folder).railroad;
    let session = Session::blank(&railroad);
    for (format, binding, paper, places) in [
        (Format::Half, Binding::Booklet, Paper::Letter, [2, 1]),
        (Format::Pocket, Binding::Booklet, Paper::A4, [2, 2]),
        (Format::Half, Binding::Leaves, Paper::A4, [2, 1]),
    ] {
        let occasion = Occasion {
            size: format.size(paper),
            wording: Wording::english(),
            session: String::new(),
            revision: "test".into(),
            office: Some("http://10.0.0.5:7841".into()),
            logo: None,
        };
        let mut filled = vec![];
        for document in [Document::Stations, Document::Bulletin, Document::CallBoard] {
            filled
                .extend(forms(document, &session, &occasion, &For::All, &Own::default()).unwrap());
        }
        let pages = bind("Booklet", &filled).unwrap();
        let text: Vec<String> = pages
            .text()
            .iter()
            .map(|text| text.split_whitespace().collect::<Vec<_>>().join(" "))
            .collect();
        let sheets = impose(&pages, "Booklet", format, binding, paper, &occasion.wording).unwrap();
        let faces: Vec<_> = format.sheets(binding, pages.pages()).concat();
        assert_eq!(sheets.pages(), faces.len());
        let [mut width, mut height] = paper.size_mm().map(|mm| mm / 25.4 * 72.0);
        if format == Format::Half {
            (width, height) = (height, width);
        }
        for size in sheets.sizes_pt() {
            assert!((size[0] - width).abs() < 1e-3 && (size[1] - height).abs() < 1e-3);
        }
        let file =
            std::env::temp_dir().join(format!("imposed-{}-{format:?}.pdf", std::process::id()));
        std::fs::write(&file, sheets.pdf().unwrap()).unwrap();
        let cell = [width / places[0] as f64, height / places[1] as f64];
        for (at, face) in faces.iter().enumerate() {
            for (place, page) in face.iter().enumerate() {
                let corner = [(place % 2) as f64 * cell[0], (place / 2) as f64 * cell[1]];
                // Within the marks.
                let inner = [
                    corner[0] + 14.0,
                    corner[1] + 14.0,
                    cell[0] - 28.0,
                    cell[1] - 28.0,
                ];
                let Some(found) = words(&file, at + 1, inner) else {
                    eprintln!("pdftotext (poppler-utils) is not installed: nothing checked");
                    return;
                };
                let Some(page) = *page else {
                    assert_eq!(found, "", "an empty place");
                    continue;
                };
                // Another reader may join and part words otherwise.
                let letters = |text: &str| {
                    let mut letters: Vec<char> = text
                        .chars()
                        .filter(|letter| letter.is_alphanumeric())
                        .collect();
                    letters.sort_unstable();
                    letters
                };
                assert_eq!(
                    letters(&found),
                    letters(&text[page]),
                    "page {page} on side {at}: {found}\n{}",
                    text[page]
                );
            }
        }
        std::fs::remove_file(&file).unwrap();
    }
}
