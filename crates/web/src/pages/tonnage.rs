//! Tonnage ratings: what each engine class may take over each line.

use std::sync::Arc;

use maud::{Markup, html};
use mechanical::{
    rating::{Limit, Rating},
    tonnage::{Governs, Missing, RatedFor},
};
use railroad::{
    Loaded,
    rating::{LineRatings, Rated, Sheet, place_words, sheet},
};

use super::Lack;
use crate::{
    frame::{Ask, Page, drawing, ledger},
    show,
};

/// The sheet of ratings.
#[derive(Debug)]
pub struct TonnagePage {
    loaded: Arc<Loaded>,
    sheet: Sheet,
    drawn: Option<usize>,
}

impl TonnagePage {
    /// The page; `draw` in the query draws one line and direction, from 1.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let sheet = sheet(ask.railroad());
        let drawn = ask
            .query("draw")
            .and_then(|at| at.parse::<usize>().ok())
            .and_then(|at| at.checked_sub(1))
            .filter(|at| *at < sheet.lines.len());
        Ok(Self {
            loaded: ask.now.loaded.clone(),
            sheet,
            drawn,
        })
    }
}

fn cars(rating: &Rating) -> String {
    match (rating.moves_itself, rating.limit) {
        (false, _) => "not itself".to_owned(),
        (true, Limit::Length) => format!("{}+", rating.cars),
        (true, Limit::Grade(_)) => rating.cars.to_string(),
    }
}

fn both(rated: &Result<Rated, Missing>) -> String {
    match rated {
        Ok(rated) => format!("{} / {}", cars(&rated.starting), cars(&rated.moving)),
        Err(_) => "?".to_owned(),
    }
}

impl TonnagePage {
    fn weight(&self, weight: model::units::Weight) -> String {
        match self.sheet.governs {
            Governs::Model => show::model_weight(&self.loaded.railroad, weight),
            Governs::FullSize => show::tons(weight),
        }
    }

    fn table(&self, line: &LineRatings) -> Markup {
        let railroad = &self.loaded.railroad;
        let sheet = &self.sheet;
        html! {
            table {
                thead { tr {
                    th scope="col" { "Class" }
                    th scope="col" { "Engines" }
                    th.number scope="col" { "Cars" }
                    th.number scope="col" { "Weight" }
                    th scope="col" { "Governed by" }
                    th.number scope="col" { "Model" }
                    th.number scope="col" { "Full size" }
                    th scope="col" { "Helper for a full train" }
                } }
                tbody {
                    @for class in &line.classes {
                        @let numbers: Vec<&str> = class.engines.iter().map(|id| railroad.roster.engine(*id).number.value.as_str()).collect();
                        tr {
                            th scope="row" { (class.class) }
                            td { (numbers.join(", ")) }
                            @match class.governing(sheet) {
                                Err(missing) => { td colspan="3" { "not rated: " (missing) } }
                                Ok(rated) => {
                                    @let rating = rated.rating(sheet.rated_for);
                                    td.number { strong { (cars(rating)) } }
                                    td.number { (self.weight(rated.weight)) }
                                    td {
                                        @match rating.limit {
                                            Limit::Length => "the length of the line",
                                            Limit::Grade(hardest) => {
                                                (format!("{:.2} %", 100.0 * hardest.mean)) ", front "
                                                (place_words(railroad, &line.profile, hardest.front))
                                            }
                                        }
                                    }
                                }
                            }
                            td.number { (both(&class.model)) }
                            td.number { (both(&class.full_size[sheet.season])) }
                            td {
                                @if let Ok(rated) = class.governing(sheet) {
                                    (helpers(sheet, line, rated))
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn helpers(sheet: &Sheet, line: &LineRatings, rated: &Rated) -> String {
    let place = |at: usize| {
        line.profile
            .places
            .get(at)
            .map_or("the end of the line", |place| place.name.as_str())
    };
    let each: Vec<String> = rated
        .hills
        .iter()
        .map(|hill| {
            let who = match (&hill.help, &hill.doubling) {
                (Some(help), _) => sheet.helpers[help.helper].clone(),
                (None, Some(doubling)) => format!("{} trips", doubling.parts),
                (None, None) => "no way".to_owned(),
            };
            format!("{who} {} to {}", place(hill.on), place(hill.off))
        })
        .collect();
    each.join("; ")
}

impl Page for TonnagePage {
    fn title(&self) -> String {
        "Tonnage ratings".into()
    }

    fn document(&self) -> &'static str {
        "/tonnage"
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let sheet = &self.sheet;
        let by = match sheet.governs {
            Governs::Model => "what the models pull",
            Governs::FullSize => "what the full-size engines would pull",
        };
        let of = match sheet.rated_for {
            RatedFor::Starting => "start wherever they are stopped",
            RatedFor::Moving => "keep moving",
        };
        html! {
            p.lead {
                "By " (by) ", of trains that " (of) "; season: " (sheet.seasons[sheet.season]) ". The rating car is "
                (show::length(railroad, sheet.car.length)) " long and weighs "
                (show::model_weight(railroad, sheet.car.model)) "."
            }
            @for (at, line) in sheet.lines.iter().enumerate() {
                h2 id={ "l" (at + 1) } { (line.name) ", " (line.direction) }
                (ledger(&format!("Ratings, {}, {}", line.name, line.direction), &self.table(line)))
                @if self.drawn == Some(at) {
                    (drawing(&format!("Grade against capacity, {}, {}", line.name, line.direction), &drawing::tonnage::plot(railroad, sheet, line)))
                } @else {
                    p { a href={ "/tonnage?draw=" (at + 1) "#l" (at + 1) } { "Draw it: grade against capacity, " (line.name) " " (line.direction) } }
                }
            }
            p.key { "Under model and full size: cars of a train that starts wherever it is stopped / that keeps moving. A plus: the line is too short to find more." }
            p.actions { a.button href="/edit?file=tonnage.toml" { "What ratings are reckoned by" } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn each_line_and_direction_is_rated_and_can_be_drawn() {
        let office = example();
        let ask = ask(&office, "/tonnage", &[], &[("draw", "1")]);
        let page = TonnagePage::of(&ask).unwrap();
        let text = whole(&ask, &page);
        for line in &page.sheet.lines {
            assert!(text.contains(&format!("{}, {}", line.name, line.direction)));
        }
        assert_eq!(text.matches("<svg").count(), 1);
        assert!(text.len() < 150_000, "{} bytes", text.len());
    }
}
