//! Plans in words and drawings.

mod common;

use common::{Dice, basin_junction, local_work, sand_wash};
use expect_test::expect;
use switching::{Options, Rates, describe, solve, strip};

#[test]
fn a_visitor_can_follow_the_words() {
    let l = sand_wash();
    let w = local_work(&l, &mut Dice(4), 2, 2, 2);
    let o = Options {
        node_budget: 100_000,
        ..Options::default()
    };
    let answer = solve(&l.town, &w, &o, &|| false).expect("usable");
    let s = answer.solved().expect("possible");
    assert!(s.proven, "so that the words do not change with the search");
    let words = describe(&l.town, &w, &s.plan, &Rates::default()).expect("legal");
    let text: String = words
        .iter()
        .map(|w| {
            format!(
                "{}\n{}",
                w.title,
                w.steps
                    .iter()
                    .map(|s| format!("  {s}\n"))
                    .collect::<String>()
            )
        })
        .collect();
    expect![[r#"
        Set out 3 cars on the west main
          Shove to the west main.
          Set out PB 105, PB 106 and caboose 12 on the west main and cut off.
        Set out 2 cars on the oil dealer
          Pull to the main by the oil dealer, and stop with the whole train clear of the oil dealer switch.
          Line the oil dealer switch for the oil dealer. Shove to the oil dealer. Line the oil dealer switch back.
          Set out PB 104 and PB 103 on the oil dealer and cut off.
        Couple to 1 car on the packing house
          Line the oil dealer switch for the oil dealer. Run light to the main by the oil dealer, and stop with the whole train clear of the oil dealer switch. Line the oil dealer switch back.
          Line the packing house switch for the packing house. Run light to the packing house.
          Couple to PB 101 and take it along.
        Couple to 1 car on the stock pens
          Line the packing house switch for the packing house. Pull to the east tail, and stop with the whole train clear of the stock pen switch. Line the packing house switch back.
          Line the stock pen switch for the stock pens. Shove to the stock pens. Line the stock pen switch back.
          Release the hand brakes on PB 102.
          Couple to PB 102 and take it along.
        Couple to 3 cars on the west main
          Line the stock pen switch for the stock pens. Pull to the east tail, and stop with the whole train clear of the stock pen switch. Line the stock pen switch back.
          Shove to the west main.
          Couple to PB 105, PB 106 and caboose 12 and take them all along.
        Leave by the east yard limit
          Pull to the east tail.
          The work is done. Leave by the east yard limit with 5 cars.
    "#]].assert_eq(&text);
    assert!(
        words
            .iter()
            .all(|w| w.time.seconds > 0.0 && w.time.spread > 0.0)
    );
}

/// Start and end tags in order, with nothing left open; attributes quoted. Enough of XML to catch
/// a drawing that no browser would show.
fn well_formed(svg: &str) -> Result<usize, String> {
    let mut open = vec![];
    let mut elements = 0;
    let mut rest = svg;
    while let Some(i) = rest.find('<') {
        if rest[..i].contains('&') && !rest[..i].contains(';') {
            return Err(format!("bare ampersand in {}", &rest[..i]));
        }
        let end = rest[i..].find('>').ok_or("tag not closed")? + i;
        let tag = &rest[i + 1..end];
        if !tag.matches('"').count().is_multiple_of(2) {
            return Err(format!("odd quotes in <{tag}>"));
        }
        if let Some(name) = tag.strip_prefix('/') {
            if open.pop() != Some(name) {
                return Err(format!("</{name}> closes nothing"));
            }
        } else {
            elements += 1;
            if !tag.ends_with('/') {
                open.push(tag.split(' ').next().unwrap_or(tag));
            }
        }
        rest = &rest[end + 1..];
    }
    if open.is_empty() {
        Ok(elements)
    } else {
        Err(format!("left open: {open:?}"))
    }
}

#[test]
fn the_strip_has_a_frame_for_every_move_in_black_and_white() {
    let mut l = basin_junction();
    l.town.name = "Basin <Junction> & \"yards\"".into();
    let w = local_work(&l, &mut Dice(4), 2, 2, 2);
    let o = Options {
        node_budget: 100_000,
        ..Options::default()
    };
    let answer = solve(&l.town, &w, &o, &|| false).expect("usable");
    let s = answer.solved().expect("possible");
    let svg = strip(&l.town, &w, &s.plan, &Rates::default()).expect("legal");
    let elements = well_formed(&svg).expect("well formed");
    assert!(elements > 50);
    // A frame for the start, each move and the departure.
    assert_eq!(
        svg.matches("font-weight=\"bold\"").count(),
        s.plan.moves.len() + 2
    );
    for w in ["black", "white", "none", "url(#hatch)"] {
        assert!(svg.contains(w));
    }
    let paints = svg
        .split("fill=\"")
        .skip(1)
        .chain(svg.split("stroke=\"").skip(1));
    for p in paints {
        let p = p.split('"').next().unwrap_or(p);
        assert!(
            ["black", "white", "none", "url(#hatch)"].contains(&p),
            "{p}"
        );
    }
    assert!(!svg.contains("NaN") && !svg.contains("inf\""));
    // An illegal plan is not drawn.
    let mut spoiled = s.plan.clone();
    spoiled.moves.remove(0);
    assert!(strip(&l.town, &w, &spoiled, &Rates::default()).is_err());
}
