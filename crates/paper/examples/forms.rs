//! Prints the forms of the example railroad into a folder, to be looked at: `forms FOLDER`.

use std::{error::Error, fs, path::PathBuf};

use paper::{
    Occasion, Paper, Size, Wording,
    forms::{stations::Stations, timetable::Timetable},
    set,
};

fn main() -> Result<(), Box<dyn Error>> {
    let out = PathBuf::from(std::env::args().nth(1).ok_or("where to?")?);
    fs::create_dir_all(&out)?;
    let folder = railroad::Folder::from_disk(std::path::Path::new("railroads/example"))?;
    let railroad = railroad::load(&folder).railroad;
    let occasion = Occasion {
        size: Size::whole(Paper::Letter),
        wording: Wording::english(),
        session: String::new(),
        revision: "revision 1".into(),
    };
    let form = Stations::new(&railroad, &occasion.wording);
    let printed = set(&form, &railroad.identity, &occasion, &[])?;
    fs::write(out.join("stations.pdf"), printed.pdf()?)?;
    let own = fs::read_to_string("railroads/example/special-instructions.txt").ok();
    let form = Timetable::new(&railroad, &occasion.wording, occasion.size, own.as_deref());
    let printed = set(&form, &railroad.identity, &occasion, &[])?;
    fs::write(out.join("timetable.pdf"), printed.pdf()?)?;
    Ok(())
}
