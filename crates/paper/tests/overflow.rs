//! No text sticks out of its page or its box, nor runs into other text, whatever things are called.

mod common;

use paper::{
    Form, Occasion, Paper, Session, Size, Wording,
    forms::{
        bulletin::Bulletin, call_board::CallBoard, car_cards::CarCards, packet::Packet,
        plans::Plans, roster::Roster, stations::Stations, timetable::Timetable, tonnage::Tonnage,
        train_sheet::TrainSheet,
    },
    set,
};

fn check<F: Form>(
    form: &F,
    railroad: &railroad::Railroad,
    occasion: &Occasion,
    drawings: &[(String, String)],
    faults: &mut Vec<String>,
) {
    let printed = set(form, &railroad.identity, occasion, drawings).unwrap();
    for out in printed.overflows() {
        faults.push(format!(
            "{} page {}: {:?} by {:.1} pt into {:?}",
            F::TITLE,
            out.page + 1,
            out.text,
            out.by_pt,
            out.into.as_deref().unwrap_or("nothing")
        ));
    }
}

/// So many railroads by default; 500 with `SAWBY_SLOW=1`.
#[test]
fn no_text_overflows_its_box() {
    let count = if std::env::var_os("SAWBY_SLOW").is_some() {
        500
    } else {
        2
    };
    let sizes = [
        Size::whole(Paper::Letter),
        Size::whole(Paper::A4),
        Size::whole(Paper::Letter).large(),
        Size::half(Paper::A4),
    ];
    let mut faults = vec![];
    for seed in 0..count {
        let railroad = common::renamed(seed);
        let occasion = Occasion {
            size: sizes[(seed % 4) as usize],
            wording: Wording::of(Wording::LANGUAGES[(seed / 2 % 2) as usize]).unwrap(),
            session: "Session 117".into(),
            revision: "revision 12".into(),
            office: None,
            logo: None,
        };
        let words = &occasion.wording;
        let session = Session::blank(&railroad);
        let before = faults.len();
        let see = &mut faults;
        check(
            &Stations::new(&railroad, words),
            &railroad,
            &occasion,
            &[],
            see,
        );
        let timetable = Timetable::new(&railroad, words, occasion.size, Some("Some words."));
        check(&timetable, &railroad, &occasion, &[], see);
        let wide = Occasion {
            size: occasion.size.sideways(),
            ..occasion.clone()
        };
        check(
            &TrainSheet::new(&session, wide.size),
            &railroad,
            &wide,
            &[],
            see,
        );
        check(&Roster::new(&railroad), &railroad, &occasion, &[], see);
        check(&CallBoard::new(&session), &railroad, &occasion, &[], see);
        check(
            &Tonnage::new(&railroad, words),
            &railroad,
            &occasion,
            &[],
            see,
        );
        check(
            &Bulletin::new(&railroad, words, &[]),
            &railroad,
            &occasion,
            &[],
            see,
        );
        check(
            &CarCards::new(&session, None, &[]),
            &railroad,
            &occasion,
            &[],
            see,
        );
        let (plans, drawings) = Plans::new(&railroad, None);
        check(&plans, &railroad, &occasion, &drawings, see);
        for job in railroad.service.jobs.iter().skip(1).step_by(4) {
            let (packet, drawings) = Packet::new(&session, words, job);
            check(&packet, &railroad, &occasion, &drawings, see);
        }
        for fault in &mut faults[before..] {
            *fault = format!("seed {seed}, {fault}");
        }
    }
    assert!(
        faults.is_empty(),
        "{} texts overflow:\n{}",
        faults.len(),
        faults[..faults.len().min(40)].join("\n")
    );
}
