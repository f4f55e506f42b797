//! Prints the forms of the example railroad of which nothing is planned yet into a folder, to be looked
//! at: `forms FOLDER`.

use std::{error::Error, fs, path::PathBuf};

use paper::{
    Form, Occasion, Paper, Session, Size, Wording, bind, fill,
    forms::{
        bulletin::Bulletin, call_board::CallBoard, car_cards::CarCards, packet::Packet,
        plans::Plans, roster::Roster, stations::Stations, timetable::Timetable, tonnage::Tonnage,
        train_sheet::TrainSheet,
    },
    set,
};
use railroad::Railroad;

fn main() -> Result<(), Box<dyn Error>> {
    let out = PathBuf::from(std::env::args().nth(1).ok_or("where to?")?);
    fs::create_dir_all(&out)?;
    let folder = railroad::Folder::built_in("example").ok_or("no example")?;
    let railroad = railroad::load(&folder).railroad;
    let own = fs::read_to_string("railroads/example/special-instructions.txt").ok();
    for (paper, language) in [(Paper::Letter, "en"), (Paper::A4, "de")] {
        let occasion = Occasion {
            size: Size::whole(paper),
            wording: Wording::of(language).ok_or("no wording")?,
            session: "Session 1".into(),
            revision: "revision 1".into(),
            office: None,
            logo: None,
        };
        let wide = Occasion {
            size: occasion.size.sideways(),
            ..occasion.clone()
        };
        let to = out.join(language);
        fs::create_dir_all(&to)?;
        let session = Session::blank(&railroad);
        let words = &occasion.wording;
        print(&to, &railroad, &occasion, &Stations::new(&railroad, words))?;
        let timetable = Timetable::new(&railroad, words, occasion.size, own.as_deref());
        print(&to, &railroad, &occasion, &timetable)?;
        print(&to, &railroad, &wide, &TrainSheet::new(&session, wide.size))?;
        print(&to, &railroad, &occasion, &Roster::new(&railroad))?;
        print(&to, &railroad, &occasion, &CallBoard::new(&session))?;
        let (plans, drawings) = Plans::new(&railroad, None);
        let printed = set(&plans, &railroad.identity, &occasion, &drawings)?;
        fs::write(to.join("plans.pdf"), printed.pdf()?)?;
        let job = &railroad.service.jobs[0];
        let (packet, drawings) = Packet::new(&session, words, job);
        let bound = bind(
            "Session 1",
            &[
                fill(&packet, &railroad.identity, &occasion, drawings)?,
                fill(
                    &Bulletin::new(&railroad, words, &[]),
                    &railroad.identity,
                    &occasion,
                    vec![],
                )?,
                fill(
                    &Tonnage::new(&railroad, words),
                    &railroad.identity,
                    &occasion,
                    vec![],
                )?,
                fill(
                    &CarCards::new(&session, None, &[]),
                    &railroad.identity,
                    &occasion,
                    vec![],
                )?,
            ],
        )?;
        fs::write(to.join("bound.pdf"), bound.pdf()?)?;
    }
    Ok(())
}

fn print<F: Form>(
    to: &std::path::Path,
    railroad: &Railroad,
    occasion: &Occasion,
    form: &F,
) -> Result<(), Box<dyn Error>> {
    let printed = set(form, &railroad.identity, occasion, &[])?;
    fs::write(to.join(F::TITLE).with_extension("pdf"), printed.pdf()?)?;
    Ok(())
}
