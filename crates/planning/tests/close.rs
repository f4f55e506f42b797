//! Sessions closed one after another through the folder's own files.

use engineering::ids::{StationId, TrackRef};
use planning::{
    bill::{Options, bill, opening},
    close::close,
};
use railroad::{Folder, Railroad, books::edits, edit::propose, load};
use traffic::books::{Facts, Whereabouts, judge, judge::judge_movements};

fn calls(railroad: &Railroad, symbol: &str) -> Vec<StationId> {
    let Some(id) = railroad.service.find_train(symbol) else {
        return vec![];
    };
    let places = railroad.service.train(id).times();
    places
        .into_iter()
        .filter_map(|place| railroad.way.find_station(&place.station?.value))
        .collect()
}

/// Each session is billed, closed and written; the next one reads what was written. No car is lost or
/// jumps, and of the car record nothing but the places of moved cars changes.
#[test]
fn a_session_is_closed_into_the_folder_and_the_next_one_opened_from_it() {
    let mut folder = Folder::built_in("example").unwrap();
    let mut moved = 0;
    for session in 0..3 {
        let loaded = load(&folder);
        let railroad = &loaded.railroad;
        let usable = |track: TrackRef| railroad.network.usable(&railroad.way, track).length;
        let facts = Facts {
            way: &railroad.way,
            roster: &railroad.roster,
            traffic: &railroad.traffic,
            usable: &usable,
        };
        let books = opening(railroad, session);
        let billed = bill(railroad, &books, &Options::default()).unwrap();
        // One car is found where nobody billed it.
        let stray = railroad.roster.find_car("CVBE 10238").unwrap();
        let track = railroad.way.find_track("Whistle Ledge / siding").unwrap();
        let there = Whereabouts::Track {
            track,
            spot: None,
            at: 0,
        };
        let found = [(stray, there)];
        let found = if session == 1 { &found[..] } else { &[] };
        let closed = close(railroad, &books, &billed, found).unwrap();
        let wrong = judge(closed.books.cars(), &facts);
        assert_eq!(wrong, [], "session {session}");
        let wrong = judge_movements(books.cars(), &closed.movements, &facts, &|train| {
            calls(railroad, train)
        });
        assert_eq!(wrong, [], "session {session}");
        let day = railroad.identity.date.map(|date| date.value);
        let before = folder.clone();
        let mut now = loaded.clone();
        for edit in edits(railroad, &closed.books, &closed.settled, day) {
            let proposal = propose(&folder, &now, &edit).unwrap();
            folder.insert(proposal.file, proposal.after.unwrap());
            now = proposal.loaded;
        }
        // Where the books have every car is where the folder has it.
        let (reopened, left) = railroad::books::open(&now.railroad);
        assert_eq!(left, []);
        for book in closed.books.cars() {
            let car = now.railroad.roster.car(book.car);
            if car.state.on_the_railroad() && !matches!(book.at, Whereabouts::Train { .. }) {
                let at = &reopened.car(book.car).at;
                assert_eq!(at.station(), book.at.station(), "{}", car.name.value);
            }
        }
        if session == 1 {
            assert_eq!(reopened.car(stray).at.station(), Some(track.station));
        }
        let lines = |folder: &Folder| -> Vec<String> {
            let text = String::from_utf8(folder.get("cars.csv").unwrap().to_vec()).unwrap();
            text.lines().map(str::to_owned).collect()
        };
        let (old, new) = (lines(&before), lines(&folder));
        assert_eq!(old.len(), new.len());
        for (old, new) in old.iter().zip(&new).filter(|(old, new)| old != new) {
            let differs = old.split(',').zip(new.split(',')).filter(|(a, b)| a != b);
            assert_eq!(differs.count(), 1, "{old}\n{new}");
            moved += 1;
        }
        let old = before.get("waybills.csv").unwrap();
        let new = folder.get("waybills.csv").unwrap();
        assert!(
            new.len() > old.len()
                && now.railroad.traffic.waybills.len() > railroad.traffic.waybills.len()
        );
        assert!(
            now.railroad
                .traffic
                .waybills
                .iter()
                .any(|waybill| waybill.delivered.is_some())
        );
    }
    assert!(moved > 60, "{moved}");
}
