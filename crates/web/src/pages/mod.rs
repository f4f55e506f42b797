//! The pages, a file for each document.

pub mod attention;
pub mod books;
pub mod cars;
pub mod clearances;
pub mod crews;
pub mod diagram;
pub mod edit;
pub mod engines;
pub mod era;
pub mod folder;
mod lack;
pub mod orders;
pub mod paste;
pub mod planned;
pub mod print;
pub mod retime;
pub mod review;
pub mod rooms;
pub mod shippers;
pub mod station;
pub mod stations;
pub mod studies;
pub mod style;
pub mod switching;
pub mod timetable;
pub mod today;
pub mod tonnage;
pub mod town;
pub mod track_chart;
pub mod waybills;
pub mod yard;

pub use lack::Lack;

use maud::{Markup, html};

use crate::show;

/// How many rows a long table shows at a time.
pub const ROWS: usize = 60;

/// Which rows of a long table are shown, and the way to the others.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Leaf {
    /// From 0.
    pub at: usize,
    /// Of how many rows.
    pub of: usize,
    /// How many rows a leaf has.
    pub size: usize,
    /// The address without the leaf, ending in `?` or `&`.
    pub address: String,
}

impl Leaf {
    /// The leaf that is asked for, of so many rows. `keep` are the parts of the query that stay.
    pub fn of(ask: &crate::frame::Ask, rows: usize, keep: &[&str]) -> Self {
        Self::of_size(ask, rows, keep, ROWS)
    }

    /// The same with leaves of another size.
    pub fn of_size(ask: &crate::frame::Ask, rows: usize, keep: &[&str], size: usize) -> Self {
        let last = rows.saturating_sub(1) / size;
        let at = ask
            .query("leaf")
            .and_then(|leaf| leaf.parse::<usize>().ok());
        let mut address = format!("{}?", ask.path);
        for name in keep {
            if let Some(value) = ask.query(name) {
                address.push_str(&format!("{name}={}&", show::escape(value)));
            }
        }
        Self {
            at: at.unwrap_or(1).saturating_sub(1).min(last),
            of: rows,
            size,
            address,
        }
    }

    /// The rows it shows.
    pub fn range(&self) -> std::ops::Range<usize> {
        let from = self.at * self.size;
        from..(from + self.size).min(self.of)
    }

    /// Links to the other leaves.
    pub fn links(&self) -> Markup {
        let last = self.of.saturating_sub(1) / self.size;
        if last == 0 {
            return html! {};
        }
        let range = self.range();
        html! {
            nav.leaves aria-label="Leaves of the table" {
                @if self.at > 0 {
                    a rel="prev" href={ (self.address) "leaf=" (self.at) } { "\u{2190} Before" }
                }
                span { (range.start + 1) "\u{2013}" (range.end) " of " (self.of) }
                @if self.at < last {
                    a rel="next" href={ (self.address) "leaf=" (self.at + 2) } { "After \u{2192}" }
                }
            }
        }
    }
}

/// A station's name as a link to its page.
pub fn station_link(name: &str) -> Markup {
    html! { a href=(show::url(&["stations", name])) { (name) } }
}

/// A train's symbol as a link to its page.
pub fn train_link(symbol: &str) -> Markup {
    html! { a href=(show::url(&["trains", symbol])) { (symbol) } }
}

/// A word of warning beside what can hurt: no more than that, and in every case.
pub fn caution(words: &str) -> Markup {
    html! {
        p.caution { strong { "Caution. " } (words) }
    }
}

#[cfg(test)]
pub(crate) mod testing {
    use std::sync::Arc;

    use engineering::{
        ids::{StationId, TrackRef},
        station::StationKind,
    };
    use mechanical::CarId;
    use model::{
        time::RailTime,
        units::{Actual, Weight},
    };
    use traffic::{
        Bill, Leg, Stand, WaybillNo,
        books::{Books, Moment, Movement, What, Whereabouts},
    };
    use transportation::{
        MadeUp,
        make_up::{CarMove, Haul, StationWork},
    };

    use crate::{
        Office, Services,
        frame::{Ask, Page, Theme, frame},
        services::{BillWords, SessionBooks},
    };

    /// The example's office, without services.
    pub fn example() -> Arc<Office> {
        let folder = railroad::Folder::built_in("example").unwrap();
        Office::in_memory(folder, Services::default())
    }

    /// The example's office with a session of one car, which train 45 takes at 10 and leaves at 11 on
    /// another track of the same yard; and that car's name.
    pub fn session() -> (Arc<Office>, String) {
        let folder = railroad::Folder::built_in("example").unwrap();
        let loaded = railroad::load(&folder);
        let (books, _) = railroad::books::open(&loaded.railroad);
        let (_, to) = yard_and_track(&loaded.railroad);
        let car = first_car(&loaded.railroad, &books);
        let name = loaded.railroad.roster.car(car).name.value.clone();
        let services = Services {
            books: Some(Box::new(move |railroad, _, _| {
                let (opening, _) = railroad::books::open(railroad);
                let (station, _) = yard_and_track(railroad);
                let happens = |hour: i64, what| Movement {
                    car,
                    when: Moment {
                        day: 0,
                        time: RailTime::from_seconds(hour * 3600),
                    },
                    what,
                };
                let train = railroad.service.find_train("45").unwrap();
                let moved = CarMove {
                    car,
                    bill: WaybillNo(7),
                    block: "Wendry".into(),
                    rank: 1,
                    track: None,
                    spot: None,
                    off_spot: false,
                };
                let at = opening.standing(to).len();
                Ok(SessionBooks {
                    movements: vec![
                        happens(10, What::PickUp { train: "45".into() }),
                        happens(
                            11,
                            What::SetOut {
                                track: to,
                                spot: None,
                                at,
                            },
                        ),
                    ],
                    opening,
                    bills: vec![Bill {
                        no: WaybillNo(7),
                        car,
                        from: Stand::at(station),
                        to: Stand::at(station),
                        flow: None,
                        commodity: Some("felt".into()),
                        state: traffic::CarLoad::Loaded,
                        priority: 1,
                        restrictions: vec![],
                        legs: vec![Leg {
                            day: 0,
                            train: "45".into(),
                            from: station,
                            to: station,
                            block: "Wendry".into(),
                        }],
                        route: "45 around the yard".into(),
                        written: None,
                    }],
                    words: vec![BillWords {
                        contents: "felt".into(),
                        from: "the hat works".into(),
                        to: "the haberdasher".into(),
                        why: "loaded".into(),
                        mind: vec!["rush".into()],
                    }],
                    made_up: vec![MadeUp {
                        train,
                        works: vec![
                            StationWork {
                                station,
                                set_out: vec![],
                                pick_up: vec![moved.clone()],
                            },
                            StationWork {
                                station,
                                set_out: vec![moved],
                                pick_up: vec![],
                            },
                        ],
                        hauls: vec![Haul {
                            from: station,
                            to: station,
                            cars: 1,
                            length: Actual::from_feet(3.0),
                            tons: 50.0,
                            weight: Weight::ZERO,
                            allowed: Default::default(),
                            governs: None,
                        }],
                        left: vec![],
                    }],
                    left: vec![],
                    amiss: vec![],
                })
            })),
            ..Services::default()
        };
        (Office::in_memory(folder, services), name)
    }

    /// A yard and a track of it with room for one car more.
    fn yard_and_track(railroad: &railroad::Railroad) -> (StationId, TrackRef) {
        let (books, _) = railroad::books::open(railroad);
        let (station, page) = railroad
            .way
            .stations()
            .find(|(_, page)| page.kind == StationKind::Yard)
            .unwrap();
        page.tracks()
            .map(|(track, _)| TrackRef { station, track })
            .find(|track| {
                books.ground().track(*track).is_some_and(|on| on.holds_cars)
                    && books.room(*track) > Actual::from_feet(1.0)
            })
            .map(|track| (station, track))
            .unwrap()
    }

    /// The first car that stands on some track.
    fn first_car(railroad: &railroad::Railroad, books: &Books) -> CarId {
        railroad
            .roster
            .car_ids()
            .map(|(id, _)| id)
            .find(|id| matches!(books.car(*id).at, Whereabouts::Track { .. }))
            .unwrap()
    }

    /// A request for an address as the router would hand it over.
    pub fn ask(
        office: &Arc<Office>,
        path: &str,
        params: &[(&str, &str)],
        query: &[(&str, &str)],
    ) -> Ask {
        let own = |list: &[(&str, &str)]| {
            list.iter()
                .map(|(a, b)| ((*a).to_owned(), (*b).to_owned()))
                .collect()
        };
        Ask {
            now: office.now(),
            office: office.clone(),
            theme: Theme::Own,
            path: path.to_owned(),
            params: own(params),
            query: own(query),
            who: Some(session::Who::office()),
        }
    }

    /// The whole page as text.
    pub fn whole(ask: &Ask, page: &dyn Page) -> String {
        frame(ask, page).into_string()
    }
}
