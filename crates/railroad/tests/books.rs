//! The car accountant's books: opened from a folder, moved on at random, and judged.

use engineering::ids::{StationId, TrackId, TrackRef};
use model::{time::RailTime, units::Actual};
use railroad::{Folder, Railroad, books};
use traffic::books::{
    Books, Facts, Load, Moment, Movement, Refused, What, Whereabouts, judge, judge::judge_movements,
};

fn example() -> Railroad {
    railroad::load(&Folder::built_in("example").unwrap()).railroad
}

fn judged(railroad: &Railroad, books: &Books) -> Vec<String> {
    let usable = |track| railroad.network.usable(&railroad.way, track).length;
    judge(books.cars(), &facts(railroad, &usable))
        .iter()
        .map(ToString::to_string)
        .collect()
}

fn facts<'a>(railroad: &'a Railroad, usable: &'a dyn Fn(TrackRef) -> Actual) -> Facts<'a> {
    Facts {
        way: &railroad.way,
        roster: &railroad.roster,
        traffic: &railroad.traffic,
        usable,
    }
}

#[test]
fn every_car_of_the_example_is_in_one_place() {
    let railroad = example();
    let (books, left) = books::open(&railroad);
    assert_eq!(left, []);
    assert_eq!(judged(&railroad, &books), [] as [&str; 0]);
    assert_eq!(books.cars().len(), railroad.roster.cars.len());
    let aside = books
        .cars()
        .iter()
        .filter(|book| book.at == Whereabouts::Aside)
        .count();
    let off = railroad
        .roster
        .cars
        .iter()
        .filter(|car| car.at.is_none())
        .count();
    assert_eq!(aside, off);
}

/// Dice of a fixed seed: xorshift64*, from Marsaglia, Xorshift RNGs (2003), and Vigna (2016).
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33) as usize % n
    }
}

/// Whatever is tried, the books either refuse it or stay right: and what they accepted moves no car
/// otherwise than trains, engines and other roads do. Most of what is tried here is nonsense.
#[test]
fn no_movement_leads_the_books_astray() {
    let railroad = example();
    let (mut books, _) = books::open(&railroad);
    let before = books.cars().to_vec();
    let usable = |track| railroad.network.usable(&railroad.way, track).length;
    let stations: Vec<StationId> = railroad.way.stations().map(|(id, _)| id).collect();
    let cars: Vec<_> = railroad.roster.car_ids().map(|(id, _)| id).collect();
    let mut dice = Dice(1);
    let (mut accepted, mut refused) = (vec![], 0);
    for step in 0..20_000_i64 {
        let car = cars[dice.below(cars.len())];
        // More often than not at a likely place, so that not all is refused.
        let station = match (books.car(car).at.station(), dice.below(4)) {
            (Some(at), 1..) => at,
            _ => stations[dice.below(stations.len())],
        };
        let tracks = railroad.way.station(station).tracks.len();
        let track = TrackRef {
            station,
            track: TrackId(dice.below(tracks) as u32),
        };
        let spot = (dice.below(3) == 0).then(|| dice.below(4));
        let at = match spot {
            Some(spot) => books.place_for_spot(track, spot),
            None => dice.below(books.standing(track).len() + 2),
        };
        let what = match dice.below(7) {
            0 => What::PickUp { train: "T".into() },
            1 | 2 => What::SetOut { track, spot, at },
            3 => What::Shift { track, spot, at },
            4 => What::Leave {
                place: None,
                back: None,
            },
            5 => What::Come { track, at },
            _ if books.car(car).load.is_some() => What::Unload,
            _ => What::Load(Load {
                flow: None,
                commodity: "stones".into(),
            }),
        };
        let movement = Movement {
            car,
            when: Moment {
                day: 0,
                time: RailTime::from_seconds(step),
            },
            what,
        };
        let was = books.cars().to_vec();
        match books.apply(&movement) {
            Ok(()) => accepted.push(movement),
            Err(_) => {
                refused += 1;
                assert_eq!(books.cars(), was, "refused, and changed all the same");
            }
        }
        if step % 50 == 0 {
            assert_eq!(judged(&railroad, &books), [] as [&str; 0], "step {step}");
        }
    }
    assert!(
        accepted.len() > 3000 && refused > 3000,
        "{} {refused}",
        accepted.len()
    );
    let everywhere = |_: &str| [stations.clone(), stations.clone()].concat();
    assert_eq!(
        judge_movements(&before, &accepted, &facts(&railroad, &usable), &everywhere),
        []
    );
}

#[test]
fn cars_found_elsewhere_change_places_or_nothing_changes() {
    let railroad = example();
    let (mut books, _) = books::open(&railroad);
    let on = |name: &str| railroad.way.find_track(name).unwrap();
    // Two cars of as full a track as there is, and one elsewhere.
    let here = on("Kellander / house");
    let there = on("Wendry / elevator");
    let one = books.standing(here)[0];
    let other = books.standing(there)[0];
    let place = |books: &Books, car| books.car(car).at.clone();
    let (p, q) = (place(&books, one), place(&books, other));
    books
        .found(&[(one, q.clone()), (other, p.clone())], Moment::midnight(1))
        .unwrap();
    assert_eq!(place(&books, one), q);
    assert_eq!(place(&books, other), p);
    assert_eq!(judged(&railroad, &books), [] as [&str; 0]);
    // As many cars as there are into one short spur.
    let all: Vec<_> = railroad
        .roster
        .car_ids()
        .map(|(car, _)| {
            let spur = Whereabouts::Track {
                track: on("Port Corvane / oil"),
                spot: None,
                at: 0,
            };
            (car, spur)
        })
        .collect();
    let was = books.cars().to_vec();
    let refused = books.found(&all, Moment::midnight(2)).unwrap_err();
    assert!(matches!(refused, Refused::NoRoom { .. }), "{refused}");
    assert_eq!(books.cars(), was);
}
