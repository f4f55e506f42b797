use model::time::RailTime;

use super::*;
use crate::order::{District, DistrictNo, Place, Run, Visit, judge::Fault};

/// Two trains over three stations that meet in the middle: east arrives there at 8:20, west at 8:30.
fn territory() -> Territory {
    let hm = |minutes: u16| RailTime::from_hm(8, minutes);
    let visit = |place: u32, arrive: u16, leave: u16, next: Option<u32>| Visit {
        place: PlaceNo(place),
        due: None,
        arrive: hm(arrive),
        leave: hm(leave),
        next: next.map(DistrictNo),
        stops: arrive != leave,
    };
    let run = |name: &str, visits: Vec<Visit>| Run {
        name: name.to_owned(),
        class: None,
        visits,
        runs: true,
        works: None,
    };
    Territory {
        places: ["Alder", "Birch", "Cedar"]
            .map(|name| Place {
                name: name.to_owned(),
                office: None,
                hands_out: false,
            })
            .to_vec(),
        districts: (0..2)
            .map(|low| District {
                ends: [PlaceNo(low), PlaceNo(low + 1)],
                tracks: 1,
                blocks: 1,
                superior_up: true,
            })
            .collect(),
        runs: vec![
            run(
                "1",
                vec![
                    visit(0, 0, 0, Some(0)),
                    visit(1, 20, 30, Some(1)),
                    visit(2, 50, 50, None),
                ],
            ),
            run(
                "2",
                vec![
                    visit(2, 10, 10, Some(1)),
                    visit(1, 30, 30, Some(0)),
                    visit(0, 50, 50, None),
                ],
            ),
        ],
    }
}

fn limits() -> Vec<Limits> {
    let give = |number, train, from, to, given: u16, clear: u16| Limits {
        number,
        train: RunNo(train),
        from,
        to,
        given: RailTime::from_hm(8, given),
        after: Vec::new(),
        clear: vec![(to, RailTime::from_hm(8, clear))],
    };
    vec![
        give(1, 0, 0, 1, 0, 20),
        give(2, 1, 0, 1, 10, 30),
        give(3, 0, 1, 2, 30, 50),
        give(4, 1, 1, 2, 30, 50),
    ]
}

fn faults(all: &[Limits]) -> Vec<Fault> {
    let found = judge::limits(&territory(), all, TimeStyle::TwentyFour);
    found.into_iter().map(|finding| finding.fault).collect()
}

#[test]
fn every_way_of_spoiling_limits_is_found() {
    let good = limits();
    assert_eq!(faults(&good), []);
    for at in 0..good.len() {
        let mut fewer = good.clone();
        fewer.remove(at);
        assert_eq!(faults(&fewer), [Fault::NoAuthority]);
    }
    // Given all the way to Cedar, against the train that is coming.
    let mut longer = good.clone();
    longer[0].to = 2;
    assert!(faults(&longer).contains(&Fault::BothAuthorized));
    // Given before the other has reported.
    let mut sooner = good.clone();
    sooner[2].given = RailTime::from_hm(8, 25);
    assert_eq!(faults(&sooner), [Fault::BothAuthorized]);
    // Unless it is to wait for the other's arrival.
    sooner[2].after = vec![(RunNo(1), PlaceNo(1))];
    assert_eq!(faults(&sooner), []);
    // Not for its arrival short of the track.
    sooner[2].after = vec![(RunNo(1), PlaceNo(2))];
    assert_eq!(faults(&sooner), [Fault::BothAuthorized]);
    // A report of where the train is not yet.
    let mut lie = good;
    lie[1].clear = vec![(1, RailTime::from_hm(8, 29))];
    assert_eq!(faults(&lie), [Fault::Garbled]);
}

fn steps() -> Vec<Step> {
    let step = |number, train, from, to, after: &[u32]| Step {
        number,
        train: RunNo(train),
        from,
        to,
        after: after.to_vec(),
    };
    vec![
        step(1, 0, 0, 1, &[]),
        step(2, 1, 0, 1, &[]),
        step(3, 0, 1, 2, &[2]),
        step(4, 1, 1, 2, &[1]),
    ]
}

#[test]
fn a_list_without_a_clock_keeps_trains_apart_at_any_pace() {
    let found = |list: &[Step]| {
        judge::steps(&territory(), list)
            .into_iter()
            .map(|finding| finding.fault)
            .collect::<Vec<_>>()
    };
    assert_eq!(found(&steps()), []);
    let mut loose = steps();
    loose[2].after.clear();
    assert_eq!(found(&loose), [Fault::BothAuthorized]);
    let mut knot = steps();
    knot[1].after = vec![3];
    assert_eq!(found(&knot), [Fault::NoAuthority]);
    assert_eq!(found(&steps()[..3]), [Fault::NoAuthority,]);
}
