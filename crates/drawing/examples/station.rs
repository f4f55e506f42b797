//! Draws a station of the example railroad, to be looked at: `station NAME FILE`.

use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let mut words = std::env::args().skip(1);
    let (name, file) = words.next().zip(words.next()).ok_or("station NAME FILE")?;
    let folder = railroad::Folder::built_in("example").ok_or("no example")?;
    let railroad = railroad::load(&folder).railroad;
    let id = railroad.way.find_station(&name).ok_or("no such station")?;
    let line = railroad.way.station(id).line().ok_or("on no line")?;
    let facts = drawing::track_chart::facts(&railroad, line);
    let units = railroad.identity.units;
    let svg =
        drawing::track_chart::station(&facts, &name, units, 180.0).ok_or("not on the chart")?;
    std::fs::write(file, svg)?;
    Ok(())
}
