//! All stations, line by line.

use std::sync::Arc;

use maud::{Markup, html};
use railroad::Loaded;

use super::{Lack, station_link};
use crate::{
    frame::{Ask, Page, ledger},
    show,
};

/// The list.
#[derive(Debug)]
pub struct Stations {
    loaded: Arc<Loaded>,
}

impl Stations {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            loaded: ask.now.loaded.clone(),
        })
    }
}

impl Page for Stations {
    fn title(&self) -> String {
        "Stations".into()
    }

    fn document(&self) -> &'static str {
        "/stations"
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        html! {
            @for (id, line) in show::lines(railroad) {
                h2 { (line.name.value) }
                p.quiet { (line.directions[0]) " above, " (line.directions[1]) " below" }
                (ledger(&line.name.value, &html! {
                    table {
                        thead { tr {
                            th.number scope="col" { "Mile" }
                            th scope="col" { "Station" }
                            th scope="col" { "Call" }
                            th scope="col" { "Kind" }
                            th.number scope="col" { "Tracks" }
                            th.number scope="col" { "Spots" }
                            th scope="col" { "Office" }
                            th scope="col" { "Facilities" }
                        } }
                        tbody {
                            @for station in railroad.way.line_stations(id) {
                                @let page = railroad.way.station(*station);
                                tr {
                                    td.number { (page.mile(id).map_or(String::new(), |mile| format!("{mile:.1}"))) }
                                    th scope="row" { (station_link(&page.name.value)) }
                                    td.call { (page.call.as_ref().map_or("", |call| call.value.as_str())) }
                                    td { (page.kind.word()) }
                                    td.number { (page.tracks.len()) }
                                    td.number { (page.tracks.iter().map(|track| track.spots.len()).sum::<usize>()) }
                                    td {
                                        @if let Some(office) = &page.office {
                                            @match office.hours {
                                                Some([from, to]) => {
                                                    (show::time(railroad, from)) "\u{2013}" (show::time(railroad, to))
                                                }
                                                None => "day and night",
                                            }
                                        }
                                    }
                                    td { (page.facilities.iter().map(|f| f.word()).collect::<Vec<_>>().join(", ")) }
                                }
                            }
                        }
                    }
                }))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn every_station_is_listed() {
        let office = example();
        let ask = ask(&office, "/stations", &[], &[]);
        let page = whole(&ask, &Stations::of(&ask).unwrap());
        for (_, station) in office.now().loaded.railroad.way.stations() {
            assert!(page.contains(&station.name.value));
        }
    }
}
