//! Shippers' rows joined into lanes, and the orders that come of them.

use railroad::{Folder, Railroad, fixture};
use traffic::demand::{Lane, Misfit, Stream, lanes};

fn read(folder: &Folder) -> (Railroad, Vec<Lane>, Vec<Misfit>) {
    let railroad = railroad::load(folder).railroad;
    let (lanes, misfits) = lanes(&railroad.traffic, &railroad.way);
    (railroad, lanes, misfits)
}

/// What two rows say of one stream is counted once, and nothing is forgotten.
#[test]
fn the_example_has_two_rows_for_what_stays_on_it() {
    let (railroad, lanes, misfits) = read(&Folder::built_in("example").unwrap());
    assert_eq!(misfits, []);
    let rows = |lane: &Lane| [lane.from.flow, lane.to.flow].iter().flatten().count();
    let all: usize = lanes.iter().map(rows).sum();
    assert_eq!(all, railroad.traffic.flows.len());
    let wheat: Vec<f64> = lanes
        .iter()
        .filter(|lane| lane.commodity == "wheat")
        .map(|lane| lane.rate)
        .collect();
    assert_eq!(wheat, [5.0, 4.0]);
    let bridge = lanes.iter().filter(|lane| lane.is_bridge()).count();
    assert_eq!(bridge, 6);
}

const HEAD: &str = "shipper,station,track,spots,does,commodity,car_kind,cars_per_week,place\n";

fn lanes_of(rows: &str) -> (Vec<(String, f64)>, Vec<String>) {
    let folder = fixture::folder(&format!("--- shippers.csv\n{HEAD}{rows}"));
    let (railroad, lanes, misfits) = read(&folder);
    let way = &railroad.way;
    let at = |stand: &traffic::bill::Stand| way.station(stand.station).name.value.clone();
    let lanes = lanes
        .iter()
        .map(|lane| {
            let words = format!(
                "{} {} to {}",
                lane.commodity,
                at(&lane.from.stand),
                at(&lane.to.stand)
            );
            (words, lane.rate)
        })
        .collect();
    let misfits = misfits.iter().map(|one| format!("{one:?}")).collect();
    (lanes, misfits)
}

#[test]
fn rows_that_name_nobody_share_what_is_shipped() {
    let (lanes, misfits) = lanes_of(
        "Mill,Alder,mill,,ships,flour,boxcar,6,\n\
         Feed,Birch,siding,,receives,flour,boxcar,2,\n\
         Bakery,Alder,siding,,receives,flour,boxcar,1,\n",
    );
    assert_eq!(
        lanes,
        [
            ("flour Alder to Birch".into(), 2.0),
            ("flour Alder to Alder".into(), 1.0)
        ]
    );
    // Three cars a week of what the mill ships are wanted by nobody.
    assert_eq!(misfits.len(), 1);
    assert!(misfits[0].starts_with("RatesDiffer") && misfits[0].ends_with("cars: 3.0 }"));
}

#[test]
fn who_is_named_goes_before_who_is_not() {
    let (lanes, misfits) = lanes_of(
        "Mill,Alder,mill,,ships,flour,boxcar,4,Bakery\n\
         Feed,Birch,siding,,receives,flour,boxcar,2,\n\
         Bakery,Alder,siding,,receives,flour,boxcar,4,Mill\n",
    );
    assert_eq!(lanes, [("flour Alder to Alder".into(), 4.0)]);
    assert_eq!(misfits, ["NoOtherEnd(FlowId(1))"]);
}

/// The stream of a shipper does not know of other shippers, and another seed is another year.
#[test]
fn a_new_shipper_changes_no_other_ones_orders() {
    let orders = |rows: &str, seed: u64| -> Vec<u32> {
        let folder = fixture::folder(&format!("--- shippers.csv\n{HEAD}{rows}"));
        let (railroad, lanes, _) = read(&folder);
        let mill = lanes.iter().find(|lane| lane.commodity == "flour").unwrap();
        let stream = Stream::new(&railroad.traffic, mill, seed, 0);
        (0..400)
            .map(|day| stream.cars(mill, day, 6, (day % 7) as u8))
            .collect()
    };
    let mill =
        "Mill,Alder,mill,,ships,flour,boxcar,6,\nFeed,Birch,siding,,receives,flour,boxcar,6,\n";
    let more = format!("Quarry,Birch,siding,,ships,stone,gondola,3,Alder\n{mill}");
    let alone = orders(mill, 5);
    assert_eq!(alone, orders(&more, 5));
    assert_ne!(alone, orders(mill, 6));
    // Six cars a week for 400 days: 342.9, with a standard deviation of its square root.
    let sum: u32 = alone.iter().sum();
    assert!(
        (f64::from(sum) - 342.9).abs() < 5.0 * 342.9_f64.sqrt(),
        "{sum}"
    );
}

/// A unit comes whole; house cars run as evenly as whole cars can; nothing comes on other days.
#[test]
fn units_house_cars_and_days() {
    let head = "shipper,station,track,does,commodity,car_kind,cars_per_week,place,days,cars_at_once,moves\n";
    let folder = fixture::folder(&format!(
        "--- shippers.csv\n{head}\
         Mine,Alder,mill,ships,ore,hopper,30,Birch,Mon-Sat,5,\n\
         House,Alder,siding,ships,parcels,boxcar,6,Birch,Mon Wed Fri,,less-than-carload\n\
         Dump,Birch,siding,receives,ore,hopper,30,Alder,,,\n\
         Depot,Birch,siding,receives,parcels,boxcar,6,Alder,,,\n"
    ));
    let (railroad, lanes, misfits) = read(&folder);
    assert_eq!(misfits, []);
    let draw = |at: usize, day: u32| {
        let lane: &Lane = &lanes[at];
        Stream::new(&railroad.traffic, lane, 1, 0).cars(lane, day, 6, (day % 7) as u8)
    };
    let mut ore = 0;
    for day in 0..700 {
        let cars = draw(0, day);
        assert!(cars.is_multiple_of(5) && (day % 7 != 6 || cars == 0));
        ore += cars;
        assert_eq!(draw(1, day), [2, 0, 2, 0, 2, 0, 0][day as usize % 7]);
    }
    // 3,000 cars in units of five: the standard deviation is that of 600 units.
    assert!(
        (f64::from(ore) - 3000.0).abs() < 5.0 * 5.0 * 600_f64.sqrt(),
        "{ore}"
    );
}
