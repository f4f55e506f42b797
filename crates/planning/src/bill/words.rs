//! A session's billing in words.

use engineering::ids::StationId;
use model::time::RailTime;
use railroad::Railroad;
use traffic::{Bill, CarLoad};
use transportation::make_up::{LeftCar, Limit, WhyLeft};

use super::Why;

pub use railroad::stand;

/// A time as the railroad's clock shows it.
pub fn time(railroad: &Railroad, at: RailTime) -> String {
    let style = railroad.identity.clock_face.style();
    at.show(style).to_string()
}

fn name(railroad: &Railroad, station: StationId) -> &str {
    &railroad.way.station(station).name.value
}

/// What is in a car, or what it is for: `lumber`, `empty for apples`, `empty, home`.
pub fn contents(bill: &Bill, why: Why) -> String {
    match (bill.state, &bill.commodity, why) {
        (CarLoad::Loaded, Some(what), _) => what.clone(),
        (CarLoad::Loaded, None, _) => "loaded".to_owned(),
        (CarLoad::Empty, Some(what), _) => format!("empty for {what}"),
        (CarLoad::Empty, None, Why::Home) => "empty, home".to_owned(),
        (CarLoad::Empty, None, Why::Stock(_)) if bill.to.beyond.is_none() => {
            "empty, for the yard's stock".to_owned()
        }
        (CarLoad::Empty, None, Why::Stock(_)) => "empty, to be loaded beyond".to_owned(),
        (CarLoad::Empty, None, _) => "empty".to_owned(),
    }
}

/// Why a car is left.
pub fn why_left(railroad: &Railroad, left: &LeftCar) -> String {
    let named = |station| name(railroad, station);
    match &left.why {
        WhyLeft::Full { limit, from, to } => {
            let full = match limit {
                Limit::Length => "as long as it may be",
                Limit::Cars => "has as many cars as it may have",
                Limit::Tons => "as heavy as it may be",
                Limit::Rating => "at its engines' rating",
            };
            format!(
                "its train is {full} from {} to {}",
                named(*from),
                named(*to)
            )
        }
        WhyLeft::CutOff { comes, closes } => format!(
            "it comes at {} and would have to be there by {}",
            time(railroad, *comes),
            time(railroad, *closes)
        ),
        WhyLeft::NoRoom { at, track } => match track {
            Some(track) => format!(
                "no room at {}, {}",
                named(*at),
                railroad.way.station(*at).track(*track).name.value
            ),
            None => format!("no room at {}", named(*at)),
        },
        WhyLeft::NextSession(1) => "it arrives next session".to_owned(),
        WhyLeft::NextSession(days) => format!("it arrives in {days} sessions"),
        WhyLeft::NoWay => "no train takes it there".to_owned(),
        WhyLeft::Loading => "it is being loaded or unloaded".to_owned(),
        WhyLeft::Spotted => "it is where it is wanted".to_owned(),
        WhyLeft::Waiting => "nobody wants it: it waits for an order".to_owned(),
        WhyLeft::Unfit => "it is not fit to run".to_owned(),
    }
}

/// Why a car was billed.
pub fn why(railroad: &Railroad, why: Why) -> String {
    match why {
        Why::Loaded => "loaded".to_owned(),
        Why::Ordered(homeward) => format!("ordered; {}", homeward.words()),
        Why::Stock(flow) => {
            let flow = railroad.traffic.flow(flow);
            match &flow.shipper_name {
                Some(name) => format!(
                    "for the yard's stock: {} and others will want it",
                    name.value
                ),
                None => "for the yard's stock".to_owned(),
            }
        }
        Why::Home => "a foreign car nobody wants here: home by the way it came".to_owned(),
        Why::Released => "nobody wants it, and it stands in the way".to_owned(),
        Why::AsBilled => "as billed before".to_owned(),
    }
}
