//! A hall full of track: a plan of some five hundred elements.

use std::fmt::Write as _;

use railroad::Folder;

/// The smallest railroad with a hall of sixty center lines beside it.
pub fn hall() -> Folder {
    let mut folder = Folder::built_in("smallest").unwrap_or_default();
    folder.insert("alignments/hall.toml", page().into_bytes());
    folder.insert(
        "rooms/hall.toml",
        b"name = \"Hall\"\ncorners = [[\"0 ft\", \"0 ft\"], [\"90 ft\", \"0 ft\"], [\"90 ft\", \"45 ft\"], [\"0 ft\", \"45 ft\"]]\n".to_vec(),
    );
    folder
}

/// Ten lines across a hall, S-curves and turnouts, with spurs and a siding from each.
fn page() -> String {
    let mut text = String::from("easement = \"10 in\"\n");
    for row in 0..10 {
        let _ = write!(
            text,
            "\n[[center_lines]]\nname = \"line {row}\"\nbegin = {{ at = [\"1 ft\", \"{} ft\"], bearing = 90 }}\nelements = [\n",
            3 + 4 * row
        );
        for bay in 0..6 {
            let _ = writeln!(
                text,
                "  {{ tangent = \"30 in\" }}, {{ turnout = \"t{bay}\", number = 6, hand = \"{}\" }}, {{ tangent = \"40 in\" }},",
                if bay % 2 == 0 { "left" } else { "right" }
            );
            text.push_str("  { left = \"36 in\", angle = 28 }, { tangent = \"8 in\" }, { right = \"36 in\", angle = 28 },\n");
        }
        text.push_str("]\ngrades = [{ elevation = \"40 in\" }, { at = \"20 ft\", elevation = \"44 in\", curve = \"12 in\" }, { elevation = \"44 in\" }]\n");
        for bay in 0..4 {
            let turn = if bay % 2 == 0 { "right" } else { "left" };
            let _ = write!(
                text,
                "\n[[center_lines]]\nname = \"spur {row} {bay}\"\nbegin = {{ turnout = \"t{bay}\", on = \"line {row}\" }}\nelements = [{{ tangent = \"4 in\" }}, {{ {turn} = \"40 in\", angle = 9.5, easement = \"0 in\" }}, {{ tangent = \"18 in\" }}]\n"
            );
        }
        let _ = write!(
            text,
            "\n[[center_lines]]\nname = \"around {row}\"\nbegin = {{ after = \"line {row}\" }}\nelements = [{{ tangent = \"6 in\" }}, {{ connect = \"30 in\", easement = \"6 in\" }}]\nend = {{ at = [\"75 ft\", \"{} ft\"], bearing = 60 }}\n",
            5 + 4 * row
        );
    }
    text
}
