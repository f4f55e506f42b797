//! Whole towns: every plan passes the judge.

mod common;

use common::{Dice, Local, basin_junction, local_work, pell_crossing, sand_wash};
use switching::{Answer, Options, replay, solve};

#[test]
fn smoke() {
    let towns: [(fn() -> Local, u32, u32, u32); 3] = [
        (pell_crossing, 4, 3, 3),
        (sand_wash, 4, 3, 2),
        (basin_junction, 4, 4, 4),
    ];
    for (make, a, b, c) in towns {
        let l = make();
        assert_eq!(l.town.check(), vec![]);
        let (mut sum, mut low, mut gave) = (0, 0, 0);
        for seed in 0..8 {
            let mut dice = Dice(seed);
            let w = local_work(&l, &mut dice, a, b, c);
            assert_eq!(w.check(&l.town), vec![]);
            let t = std::time::Instant::now();
            let ans = solve(&l.town, &w, &Options::default(), &|| false).unwrap();
            let el = t.elapsed();
            match &ans {
                Answer::Solved(s) => {
                    sum += s.moves;
                    low += s.bound;
                    if std::env::var("V").is_ok() {
                        println!(
                            "{} {seed}: moves {} bound {} nodes {} {:.0} min {el:?}",
                            l.town.name,
                            s.moves,
                            s.bound,
                            s.nodes,
                            s.time.seconds / 60.0
                        );
                    }
                    match replay(&l.town, &w, &s.plan) {
                        Ok(_) => {}
                        Err(e) => {
                            println!("{e}");
                            for m in &s.plan.moves {
                                println!("{m:?}");
                            }
                            panic!("{e}")
                        }
                    }
                }
                x => {
                    gave += 1;
                    println!("{} {seed}: {x:?} {el:?}", l.town.name);
                }
            }
        }
        println!("{} SUM {sum} LOW {low} GAVE {gave}", l.town.name);
    }
}
