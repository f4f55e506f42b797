//! A folder's bytes to a railroad and its diagnostics.

use engineering::{Way, WayPages, network::Network};
use model::{
    Diagnostic, FileId, Severity, Sources,
    diagnostic::{Look, render},
    scale::{Scale, ScaleAndGauge},
    text::{Form, Page, Reader, Record},
};

use mechanical::{Roster, Tonnage};
use traffic::Traffic;
use transportation::Service;

use crate::{Folder, Identity, checks, identity, pages, rules};

/// A whole railroad, as far as its folder could be read.
#[derive(Debug, Clone)]
pub struct Railroad {
    /// Which railroad this is.
    pub identity: Identity,
    /// Lines, stations, scenes and power.
    pub way: Way,
    /// The tracks of the way, joined.
    pub network: Network,
    /// Cars and engines.
    pub roster: Roster,
    /// What tonnage is rated by.
    pub tonnage: Tonnage,
    /// Shippers and waybills.
    pub traffic: Traffic,
    /// Trains, jobs and people.
    pub service: Service,
}

/// What reading a folder gives.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// What could be read.
    pub railroad: Railroad,
    /// All that is wrong, by file and place.
    pub diagnostics: Vec<Diagnostic>,
    /// The files as text, for showing diagnostics and for editing.
    pub sources: Sources,
}

impl Loaded {
    /// How many diagnostics are this bad.
    pub fn count(&self, severity: Severity) -> usize {
        self.diagnostics
            .iter()
            .filter(|found| found.rule.severity == severity)
            .count()
    }

    /// Whether some diagnostic points at a line (from 1) of a file.
    pub fn points_at(&self, file: &str, line: usize) -> bool {
        self.diagnostics.iter().any(|found| {
            std::iter::once(&found.primary)
                .chain(&found.others)
                .any(|label| {
                    let source = self.sources.get(label.span.file);
                    let range = label.span.range();
                    let (first, _) = source.line_column(range.start);
                    let (last, _) = source.line_column(range.end);
                    source.path == file && (first..=last).contains(&line)
                })
        })
    }

    /// All diagnostics as text, a blank line between them.
    pub fn report(&self, look: Look) -> String {
        let mut text = String::new();
        for found in &self.diagnostics {
            text.push_str(&render(found, &self.sources, look));
            text.push_str("\n\n");
        }
        text
    }
}

/// Reads a whole folder.
pub fn load(folder: &Folder) -> Loaded {
    let mut sources = Sources::default();
    let pages = pages();
    let mut files_of: Vec<Vec<FileId>> = vec![Vec::new(); pages.len()];
    let mut strays = Vec::new();
    for (path, bytes) in folder.iter() {
        let file = sources.add(path, bytes);
        match pages.iter().position(|page| matches(page.path, path)) {
            Some(page) => files_of[page].push(file),
            None => strays.push(file),
        }
    }
    // A page that is missing is pointed at as if it were there and empty.
    let absent: Vec<(&Page, FileId)> = pages
        .iter()
        .zip(&files_of)
        .filter(|(page, files)| page.required && files.is_empty())
        .map(|(page, _)| (*page, sources.add(page.path.replace('*', "..."), b"")))
        .collect();
    let mut reader = Reader::new(&sources, scale(&sources));
    for file in strays {
        reader
            .out
            .push(rules::stray_page::diagnostic(&sources, file, &pages));
    }
    for (page, file) in absent {
        reader.out.push(rules::missing_page::diagnostic(page, file));
    }
    let mut records: Vec<Vec<Record>> = Vec::with_capacity(pages.len());
    let mut identity = Identity::default();
    for (page, files) in pages.iter().zip(&files_of) {
        let mut read = Vec::new();
        for &file in files {
            match page.form {
                Form::Toml => read.push(reader.toml(page, file)),
                Form::Csv => read.extend(reader.csv(page, file)),
            }
        }
        if std::ptr::eq(*page, &identity::PAGE)
            && let Some(record) = read.first()
        {
            identity = Identity::build(record, &mut reader);
        }
        records.push(read);
    }
    let of = |page: &Page| of(page, &pages, &records);
    let mut way = Way::build(
        &mut reader,
        WayPages {
            lines: of(&engineering::line::PAGE),
            stations: of(&engineering::station::PAGE),
            alignments: of(&engineering::alignment::PAGE),
            rooms: of(&engineering::room::PAGE),
            scenes: of(&engineering::scene::PAGE).first(),
            power: of(&engineering::power::PAGE).first(),
        },
    );
    let roster = Roster::build(
        &mut reader,
        of(&mechanical::car::PAGE),
        of(&mechanical::engine::PAGE),
    );
    let tonnage = Tonnage::build(
        &mut reader,
        of(&mechanical::tonnage::PAGE).first(),
        of(&mechanical::tonnage::PULLS_PAGE),
    );
    let traffic = Traffic::build(
        &mut reader,
        of(&traffic::shipper::PAGE),
        of(&traffic::waybill::PAGE),
    );
    let service = Service::build(
        &mut reader,
        of(&transportation::train::PAGE),
        of(&transportation::job::PAGE),
        of(&transportation::person::PAGE),
        of(&transportation::method::PAGE).first(),
    );
    let limits = identity.way_limits();
    way.locate(&limits);
    let network = Network::new(&way, &limits);
    way.level(&network);
    way.check(
        &network,
        &|length| identity.units.show(length),
        &mut reader.out,
    );
    let railroad = Railroad {
        identity,
        way,
        network,
        roster,
        tonnage,
        traffic,
        service,
    };
    let Reader { names, mut out, .. } = reader;
    names.resolve(&mut out);
    checks::check(&railroad, &mut out);
    Loaded {
        railroad,
        diagnostics: out.into_sorted(),
        sources,
    }
}

/// The railroad's scale, which lengths on every page need, its own page included.
fn scale(sources: &Sources) -> Scale {
    let default = Identity::default().scale.scale;
    let Some(file) = sources.find(identity::PAGE.path) else {
        return default;
    };
    let record = Reader::new(sources, default).toml(&identity::PAGE, file);
    let written = record
        .text("scale")
        .and_then(|text| ScaleAndGauge::parse(text.value).ok());
    written.map_or(default, |found| found.scale)
}

/// Whether a path is of a page's family.
pub(crate) fn matches(pattern: &str, path: &str) -> bool {
    match pattern.split_once('*') {
        None => pattern.eq_ignore_ascii_case(path),
        Some((head, tail)) => {
            path.len() > head.len() + tail.len()
                && path.starts_with(head)
                && path.ends_with(tail)
                && !path[head.len()..].contains('/')
        }
    }
}

/// The records of one page among those read.
fn of<'a>(page: &Page, pages: &[&Page], records: &'a [Vec<Record>]) -> &'a [Record] {
    let at = pages.iter().position(|other| std::ptr::eq(*other, page));
    at.map_or(&[], |at| records[at].as_slice())
}
