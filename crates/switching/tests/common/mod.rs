//! Towns of our own for tests and benchmarks; lengths in feet. An imaginary inland basin.
#![allow(dead_code, unreachable_pub)]

use switching::{Departure, Goal, NodeId, NodeKind, PlaceId, Port, Town, TrackId, Work};

pub const THROUGH: Port = Port::Through;
pub const POINTS: Port = Port::Points;
pub const NORMAL: Port = Port::Normal;
pub const REVERSE: Port = Port::Reverse;

/// A town with the handles that work needs.
pub struct Local {
    pub town: Town,
    /// Where the train stands when it arrives (front to rear), and the node it looks towards.
    pub arrival: (Vec<TrackId>, NodeId),
    /// Where it leaves.
    pub exit: NodeId,
    /// Tracks with work: the place and how many spots it has (0: any position).
    pub jobs: Vec<(PlaceId, u16)>,
}

fn hand() -> NodeKind {
    NodeKind::Switch { by_hand: true }
}

/// A dead-end track at a switch leg.
fn spur(t: &mut Town, name: &str, from: (NodeId, Port), length: u32) -> PlaceId {
    let end = t.node(&format!("{name} bumper"), NodeKind::End);
    let track = t.track(name, from, (end, THROUGH), length);
    t.stand(name, &[track])
}

/// The main west of a town: an approach for the train to stand on, and a shorter piece next to the
/// first switch where cars may be left.
fn west_main(t: &mut Town, w: NodeId, to: (NodeId, Port), length: u32) -> (TrackId, TrackId) {
    let j = t.node("west approach", NodeKind::Joint);
    let approach = t.track("west approach", (w, THROUGH), (j, THROUGH), length - 650);
    (approach, t.track("west main", (j, THROUGH), to, 650))
}

/// Marks `n` doors 60 ft apart, the first 60 ft from end 0.
fn doors(t: &mut Town, p: PlaceId, n: u16) {
    for i in 0..n {
        t.spot(p, &format!("door {}", i + 1), 60 + 60 * u32::from(i), 12);
    }
}

/// Eastbound town with a siding, a facing-point elevator spur off the main, and a trailing-point
/// team track off the siding. Seven places.
pub fn pell_crossing() -> Local {
    let mut t = Town::new("Pell Crossing");
    let w = t.node("west end", NodeKind::Boundary);
    let e = t.node("east end", NodeKind::Boundary);
    let s1 = t.node("west siding switch", hand());
    let s4 = t.node("east siding switch", hand());
    let f = t.node("elevator switch", hand());
    let g = t.node("team switch", hand());
    let (approach, main_w) = west_main(&mut t, w, (s1, POINTS), 1400);
    let mid1 = t.track("main by the depot", (s1, NORMAL), (f, POINTS), 300);
    let mid2 = t.track("main by the elevator", (f, NORMAL), (s4, NORMAL), 450);
    let sid1 = t.track("west siding", (s1, REVERSE), (g, NORMAL), 350);
    let sid2 = t.track("east siding", (g, POINTS), (s4, REVERSE), 400);
    let main_e = t.track("east main", (s4, POINTS), (e, THROUGH), 700);
    for m in [approach, main_w, mid1, mid2, main_e] {
        t.main(m);
    }
    for (name, list) in [
        ("west main", &[main_w][..]),
        ("main track", &[mid1, mid2]),
        ("east main", &[main_e]),
    ] {
        let p = t.stand(name, list);
        t.places[p.index()].clear_at_end = true;
    }
    t.stand("siding", &[sid1, sid2]);
    let elevator = spur(&mut t, "elevator spur", (f, REVERSE), 320);
    doors(&mut t, elevator, 4);
    let team = spur(&mut t, "team track", (g, REVERSE), 280);
    Local {
        town: t,
        arrival: (vec![main_w, approach], s1),
        exit: e,
        jobs: vec![(elevator, 4), (team, 0)],
    }
}

/// Trailing spurs only, and a short tail beyond the last switch. Six places.
pub fn sand_wash() -> Local {
    let mut t = Town::new("Sand Wash");
    let w = t.node("west end", NodeKind::Boundary);
    let e = t.node("east yard limit", NodeKind::Boundary);
    let a = t.node("packing house switch", hand());
    let b = t.node("oil dealer switch", hand());
    let c = t.node("stock pen switch", hand());
    let (approach, main_w) = west_main(&mut t, w, (a, NORMAL), 1500);
    let m1 = t.track("main by the packing house", (a, POINTS), (b, NORMAL), 200);
    let m2 = t.track("main by the oil dealer", (b, POINTS), (c, NORMAL), 200);
    let tail = t.track("east tail", (c, POINTS), (e, THROUGH), 420);
    for m in [approach, main_w, m1, m2, tail] {
        t.main(m);
    }
    for (name, tr) in [("west main", main_w), ("east tail", tail)] {
        let p = t.stand(name, &[tr]);
        t.places[p.index()].clear_at_end = true;
    }
    let p = t.stand("main track", &[m1, m2]);
    t.places[p.index()].clear_at_end = true;
    let packing = spur(&mut t, "packing house", (a, REVERSE), 300);
    doors(&mut t, packing, 3);
    let oil = spur(&mut t, "oil dealer", (b, REVERSE), 180);
    let pens = spur(&mut t, "stock pens", (c, REVERSE), 200);
    t.places[pens.index()].on_grade = true;
    Local {
        town: t,
        arrival: (vec![main_w, approach], a),
        exit: e,
        jobs: vec![(packing, 3), (oil, 0), (pens, 0)],
    }
}

/// A junction town: siding, two-ended house track, interchange track, a facing and a trailing
/// spur. Ten places.
pub fn basin_junction() -> Local {
    let mut t = Town::new("Basin Junction");
    let w = t.node("west end", NodeKind::Boundary);
    let e = t.node("east end", NodeKind::Boundary);
    let s1 = t.node("west siding switch", hand());
    let s2 = t.node("east siding switch", hand());
    let h1 = t.node("west house switch", hand());
    let h2 = t.node("east house switch", hand());
    let x = t.node("interchange switch", hand());
    let f = t.node("coal dealer switch", hand());
    let g = t.node("creamery switch", hand());
    let (approach, main_w) = west_main(&mut t, w, (f, POINTS), 1300);
    let m0 = t.track("main at the coal dealer", (f, NORMAL), (s1, POINTS), 120);
    let m1 = t.track("main track", (s1, NORMAL), (s2, NORMAL), 900);
    let m2 = t.track("main at the creamery", (s2, POINTS), (g, NORMAL), 150);
    let main_e = t.track("east main", (g, POINTS), (e, THROUGH), 900);
    t.track("siding, west", (s1, REVERSE), (h1, POINTS), 100);
    let d2 = t.track("siding", (h1, NORMAL), (h2, NORMAL), 600);
    t.track("siding, middle", (h2, POINTS), (x, NORMAL), 80);
    t.track("siding, east", (x, POINTS), (s2, REVERSE), 80);
    let house = t.track("house track", (h1, REVERSE), (h2, REVERSE), 520);
    for m in [approach, main_w, m0, m1, m2, main_e] {
        t.main(m);
    }
    for (name, tr) in [
        ("west main", main_w),
        ("main track", m1),
        ("east main", main_e),
    ] {
        let p = t.stand(name, &[tr]);
        t.places[p.index()].clear_at_end = true;
    }
    t.stand("siding", &[d2]);
    let house = t.stand("house track", &[house]);
    for i in 0..4 {
        t.spot(house, &format!("freight door {}", i + 1), 140 + 60 * i, 12);
    }
    let interchange = spur(&mut t, "interchange", (x, REVERSE), 600);
    let coal = spur(&mut t, "coal dealer", (f, REVERSE), 220);
    let creamery = spur(&mut t, "creamery", (g, REVERSE), 200);
    doors(&mut t, creamery, 2);
    Local {
        town: t,
        arrival: (vec![main_w, approach], f),
        exit: e,
        jobs: vec![(house, 4), (interchange, 0), (coal, 0), (creamery, 2)],
    }
}

/// Numbers from a seed; the same on every machine.
pub struct Dice(pub u64);

impl Dice {
    pub fn roll(&mut self, n: u32) -> u32 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let x = (self.0 ^ (self.0 >> 33)).wrapping_mul(0xFF51_AFD7_ED55_8CCD);
        ((x >> 33) as u32) % n
    }
}

/// A local's work: a train with `through` cars, `set_outs`, `pick_ups` and a caboose.
pub fn local_work(l: &Local, dice: &mut Dice, through: u32, set_outs: u32, pick_ups: u32) -> Work {
    let mut w = Work::new("engine 417", 75, &l.arrival.0, l.arrival.1);
    let mut lengths = [40, 40, 44, 50];
    let mut length = |d: &mut Dice| {
        lengths.rotate_left(1);
        lengths[d.roll(4) as usize] + 4
    };
    // Room left at each place with work, and free spots.
    let mut room: Vec<u32> = l.jobs.iter().map(|j| l.town.place_length(j.0)).collect();
    let mut free: Vec<Vec<u16>> = l.jobs.iter().map(|j| (0..j.1).collect()).collect();
    let mut no = 100;
    let mut name = || {
        no += 1;
        format!("PB {no}")
    };
    // Cars to pick up stand at spots (or anywhere on places without).
    let mut standing: Vec<Vec<(u32, switching::CarId, Option<u32>)>> = vec![vec![]; l.jobs.len()];
    for _ in 0..pick_ups {
        let len = length(dice);
        let j = dice.roll(l.jobs.len() as u32) as usize;
        let (p, spots) = l.jobs[j];
        if spots > 0 {
            if free[j].is_empty() {
                continue;
            }
            let k = dice.roll(free[j].len() as u32) as usize;
            let s = free[j].remove(k);
            let centre = l.town.places[p.index()].spots[s as usize].centre;
            let id = w.car(&name(), len, Goal::Leave { block: 0 });
            standing[j].push((centre, id, Some(centre - len / 2)));
        } else if room[j] >= 2 * len + 60 {
            room[j] -= len;
            let id = w.car(&name(), len, Goal::Leave { block: 0 });
            let no = standing[j].len() as u32;
            standing[j].push((no, id, None));
        }
    }
    for (j, list) in standing.iter_mut().enumerate() {
        list.sort();
        for &(_, id, at) in list.iter() {
            match at {
                Some(at) => w.stands_at(l.jobs[j].0, id, at),
                None => w.stands(l.jobs[j].0, &[id]),
            }
        }
    }
    let mut all_spots: Vec<Vec<u16>> = l.jobs.iter().map(|j| (0..j.1).collect()).collect();
    let mut train = vec![];
    for _ in 0..set_outs {
        let len = length(dice);
        let j = dice.roll(l.jobs.len() as u32) as usize;
        let (p, spots) = l.jobs[j];
        let goal = if spots > 0 {
            if all_spots[j].is_empty() {
                continue;
            }
            let k = dice.roll(all_spots[j].len() as u32) as usize;
            Goal::Spot {
                place: p,
                spots: vec![all_spots[j].remove(k)],
            }
        } else {
            if room[j] < len + 60 {
                continue;
            }
            room[j] -= len;
            Goal::Track {
                places: vec![p],
                rank: None,
            }
        };
        train.push(w.car(&name(), len, goal));
    }
    for _ in 0..through {
        let len = length(dice);
        train.push(w.car(&name(), len, Goal::Leave { block: 0 }));
    }
    // Shuffle.
    for i in (1..train.len()).rev() {
        train.swap(i, dice.roll(i as u32 + 1) as usize);
    }
    let caboose = w.car("caboose 12", 34, Goal::Leave { block: 1 });
    train.push(caboose);
    w.train.behind = train;
    w.departure = Some(Departure {
        boundary: l.exit,
        engine_ahead: true,
        caboose: Some(caboose),
    });
    w
}

/// A town drawn by lot: a main with up to five spurs facing either way, with or without a siding
/// to run round on, of lengths that are often too short.
pub fn random_town(dice: &mut Dice) -> Local {
    let mut t = Town::new("by lot");
    let w = t.node("west end", NodeKind::Boundary);
    let e = t.node("east end", NodeKind::Boundary);
    let mut at = (w, THROUGH);
    let mut jobs = vec![];
    let mut first = None;
    let siding = dice.roll(3) > 0;
    let n = 1 + dice.roll(4);
    let opens = dice.roll(n + 1);
    let mut closing: Option<(NodeId, u32)> = None;
    let mut main_no = 0;
    let mut step = |t: &mut Town, at: &mut (NodeId, Port), to: (NodeId, Port), len: u32| {
        main_no += 1;
        let name = format!("main {main_no}");
        let tr = t.track(&name, *at, to, len);
        t.main(tr);
        let p = t.stand(&name, &[tr]);
        t.places[p.index()].clear_at_end = true;
        (tr, to.0)
    };
    for i in 0..n {
        if siding && i == opens && closing.is_none() {
            let s = t.node("west siding switch", hand());
            let len = if first.is_none() {
                1500
            } else {
                60 + dice.roll(300)
            };
            let got = step(&mut t, &mut at, (s, POINTS), len);
            first.get_or_insert(got);
            at = (s, NORMAL);
            closing = Some((s, i));
        }
        let s = t.node(&format!("switch {i}"), hand());
        let len = if first.is_none() {
            1500
        } else {
            60 + dice.roll(300)
        };
        let facing = dice.roll(2) == 0;
        let into = if facing { POINTS } else { NORMAL };
        let got = step(&mut t, &mut at, (s, into), len);
        first.get_or_insert(got);
        at = (s, if facing { NORMAL } else { POINTS });
        let spur_len = 120 + dice.roll(250);
        let p = spur(&mut t, &format!("spur {i}"), (s, REVERSE), spur_len);
        let spots = if dice.roll(3) == 0 {
            spur_len.saturating_sub(60) / 60
        } else {
            0
        };
        doors(&mut t, p, spots as u16);
        jobs.push((p, spots as u16));
        if let Some((s1, began)) = closing
            && (i > began || i + 1 == n)
            && began != u32::MAX
        {
            let s2 = t.node("east siding switch", hand());
            let len = 60 + dice.roll(300);
            step(&mut t, &mut at, (s2, NORMAL), len);
            at = (s2, POINTS);
            let sid = t.track("siding", (s1, REVERSE), (s2, REVERSE), 150 + dice.roll(500));
            t.stand("siding", &[sid]);
            closing = Some((s1, u32::MAX));
        }
    }
    let len = 100 + dice.roll(700);
    step(&mut t, &mut at, (e, THROUGH), len);
    Local {
        town: t,
        arrival: first.map(|f| (vec![f.0], f.1)).expect("at least one"),
        exit: e,
        jobs,
    }
}
