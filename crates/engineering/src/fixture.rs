//! Small ways written as a text, for tests: files headed `--- path`.

use model::{
    Diagnostic, Sources,
    scale::Scale,
    text::{Reader, Record},
    units::Actual,
};

use crate::{Limits, Network, Way, WayPages, line, power, scene, station};

/// What a text gives.
pub(crate) struct Built {
    pub(crate) way: Way,
    pub(crate) network: Network,
    /// What reading found wrong.
    pub(crate) found: Vec<Diagnostic>,
}

/// HO with the gauge of the published worked figures.
pub(crate) fn limits() -> Limits {
    let scale = Scale::new(87.1).unwrap();
    let mut limits = Limits::new(scale, Actual::from_inches(0.650));
    limits.track_centers = Actual::from_inches(2.0);
    limits
}

pub(crate) fn build(text: &str) -> Built {
    let limits = limits();
    let mut sources = Sources::default();
    let mut files = Vec::new();
    for part in text.split("--- ").skip(1) {
        let (path, body) = part.split_once('\n').unwrap_or((part, ""));
        let id = sources.add(path.trim(), body.as_bytes());
        files.push((path.trim().to_owned(), id));
    }
    let mut reader = Reader::new(&sources, limits.scale);
    let mut read = |prefix: &str, page| -> Vec<Record> {
        files
            .iter()
            .filter(|(path, _)| path.starts_with(prefix))
            .map(|(_, id)| reader.toml(page, *id))
            .collect()
    };
    let lines = read("lines/", &line::PAGE);
    let stations = read("stations/", &station::PAGE);
    let alignments = read("alignments/", &crate::alignment::PAGE);
    let rooms = read("rooms/", &crate::room::PAGE);
    let scenes = read("scenes", &scene::PAGE);
    let power = read("power", &power::PAGE);
    let mut way = Way::build(
        &mut reader,
        WayPages {
            lines: &lines,
            stations: &stations,
            alignments: &alignments,
            rooms: &rooms,
            scenes: scenes.first(),
            power: power.first(),
        },
    );
    way.locate(&limits);
    let network = Network::new(&way, &limits);
    way.level(&network);
    let Reader { mut out, names, .. } = reader;
    names.resolve(&mut out);
    Built {
        way,
        network,
        found: out.into_sorted(),
    }
}
