//! The operating day, from folder to plan.

use model::time::RailSpan;
use planning::day::{Day, NoDay, Options, day};
use railroad::{Folder, Railroad, load};

fn example(change: impl Fn(&str, String) -> String) -> Railroad {
    let folder = Folder::built_in("example").unwrap();
    let mut changed = Folder::default();
    for (path, bytes) in folder.iter() {
        let text = String::from_utf8(bytes.to_vec()).unwrap();
        changed.insert(path, change(path, text).into_bytes());
    }
    load(&changed).railroad
}

fn planned(railroad: &Railroad) -> Day {
    plan(railroad).unwrap_or_else(|no_day| panic!("{no_day}"))
}

fn plan(railroad: &Railroad) -> Result<Day, NoDay> {
    day(railroad, &Options::default(), &[], &|| false, &mut |_| {})
}

#[test]
fn the_examples_day_is_on_time_and_no_plan_is_better() {
    let railroad = example(|_, text| text);
    let day = planned(&railroad);
    assert_eq!(day.plan.trains.len(), 23);
    for loss in &day.plan.losses {
        assert_eq!(loss.lost, RailSpan::ZERO, "class {}", loss.class);
        assert!(loss.is_proven());
    }
}
