//! Which column of a spreadsheet is which of the record.

use model::{diagnostic::nearest, text::read::column_key};

use super::List;

/// A column of the spreadsheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its heading.
    pub heading: String,
    /// The key of the record it was taken for; `name` for a car's marks and number in one; none if it was left out.
    pub key: Option<&'static str>,
    /// Why.
    pub why: Why,
    /// A unit in the heading: `oz` of `Weight (oz)`.
    pub unit: Option<String>,
}

/// Why a column was taken for a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// The owner says so.
    Told,
    /// The heading is the key.
    Named,
    /// The heading usually means it.
    Usual,
    /// The heading is like the key.
    Alike,
    /// Nothing fits.
    Nothing,
}

impl Why {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Told => "as told",
            Self::Named => "by its name",
            Self::Usual => "a usual heading for it",
            Self::Alike => "its heading is like it",
            Self::Nothing => "left out: nothing in the record is like it",
        }
    }
}

/// Keys, and headings people use for them, as `column_key` makes them.
pub(super) type Usual = &'static [(&'static str, &'static [&'static str])];

/// In lists of cars.
pub(super) const CARS: Usual = &[
    (
        "name",
        &[
            "car",
            "car_name",
            "reporting_marks_and_number",
            "marks_and_number",
            "road_and_number",
            "id",
            "car_id",
        ],
    ),
    (
        "marks",
        &[
            "road",
            "road_name",
            "roadname",
            "rr",
            "railroad",
            "reporting_mark",
            "reporting_marks",
            "initial",
            "initials",
            "road_initials",
            "car_initials",
            "mark",
            "owner_marks",
        ],
    ),
    (
        "number",
        &[
            "no",
            "num",
            "nr",
            "car_no",
            "car_number",
            "car_num",
            "road_number",
            "road_no",
            "rd",
        ],
    ),
    (
        "aar",
        &[
            "aar_code",
            "aar_type",
            "aar_class",
            "mechanical_designation",
            "designation",
            "mech_des",
            "aar_designation",
            "car_code",
        ],
    ),
    (
        "kind",
        &[
            "type",
            "car_type",
            "kind_of_car",
            "car_kind",
            "description",
            "style",
            "category",
        ],
    ),
    (
        "length",
        &[
            "len",
            "car_length",
            "length_over_couplers",
            "over_pulling_faces",
            "model_length",
            "size",
        ],
    ),
    ("inside_length", &["il", "inside_len", "i_l"]),
    ("capacity", &["capy", "cap", "load_capacity"]),
    (
        "light_weight",
        &["lt_wt", "ltwt", "lightweight", "light_wt", "tare"],
    ),
    (
        "built",
        &[
            "blt",
            "build_date",
            "built_date",
            "year_built",
            "date_built",
            "year",
            "bld",
        ],
    ),
    ("rebuilt", &["reblt", "rebuild_date", "year_rebuilt"]),
    (
        "painted",
        &[
            "paint",
            "paint_date",
            "repainted",
            "painted_date",
            "lettered",
            "shopped",
        ],
    ),
    ("retired", &["retirement", "off_roster", "scrapped"]),
    ("truck", &["trucks", "truck_type", "truck_sides"]),
    (
        "brake",
        &["brakes", "brake_type", "brake_valve", "air_brakes"],
    ),
    ("underframe", &["frame", "uf"]),
    (
        "running_board",
        &["roofwalk", "roof_walk", "running_boards", "runningboard"],
    ),
    ("home_road", &["home", "owner", "home_rd"]),
    (
        "weight",
        &[
            "wt",
            "actual_weight",
            "actual_wt",
            "model_weight",
            "weight_oz",
            "weight_g",
            "car_weight",
            "ounces",
            "weighs",
        ],
    ),
    ("couplers", &["coupler", "coupler_type"]),
    ("wheels", &["wheel", "wheelsets", "wheel_sets"]),
    ("state", &["status", "condition", "in_service"]),
    ("at", &["location", "where", "track", "current_location"]),
    ("photo", &["picture", "image", "photograph", "photo_file"]),
    (
        "note",
        &["notes", "comment", "comments", "remark", "remarks", "memo"],
    ),
];

/// In lists of engines.
pub(super) const ENGINES: Usual = &[
    (
        "number",
        &[
            "no",
            "num",
            "nr",
            "engine",
            "engine_no",
            "engine_number",
            "loco",
            "loco_no",
            "loco_number",
            "locomotive",
            "unit",
            "unit_number",
            "road_number",
            "road_no",
            "rd",
            "cab_number",
            "id",
        ],
    ),
    (
        "kind",
        &[
            "type",
            "engine_type",
            "loco_type",
            "power",
            "description",
            "category",
        ],
    ),
    (
        "class",
        &["road_class", "engine_class", "loco_class", "series"],
    ),
    (
        "wheels",
        &[
            "whyte",
            "whyte_notation",
            "wheel_arrangement",
            "wheel_arr",
            "arrangement",
            "axles",
        ],
    ),
    (
        "drivers",
        &[
            "driver",
            "driver_dia",
            "driver_diameter",
            "drivers_dia",
            "dia_drivers",
            "dia_of_drivers",
            "driving_wheels",
            "driver_size",
        ],
    ),
    (
        "cylinders",
        &[
            "cyl",
            "cyls",
            "cylinder_size",
            "bore_and_stroke",
            "bore_x_stroke",
        ],
    ),
    (
        "pressure",
        &[
            "bp",
            "boiler_pressure",
            "steam_pressure",
            "psi",
            "boiler_psi",
        ],
    ),
    (
        "engine_weight",
        &["engine_wt", "eng_wt", "loco_weight", "weight_of_engine"],
    ),
    ("tender_weight", &["tender_wt", "weight_of_tender"]),
    (
        "weight_on_drivers",
        &[
            "wt_on_drivers",
            "on_drivers",
            "adhesive_weight",
            "driver_weight",
        ],
    ),
    (
        "tractive_effort",
        &[
            "te",
            "t_e",
            "tractive_force",
            "tractive_power",
            "starting_te",
        ],
    ),
    ("horsepower", &["hp", "h_p", "rated_hp"]),
    (
        "length",
        &[
            "len",
            "engine_length",
            "length_o_a",
            "length_oa",
            "length_overall",
            "overall_length",
            "length_over_all",
            "length_over_couplers",
            "over_pulling_faces",
            "model_length",
        ],
    ),
    ("height", &["overall_height", "height_o_a"]),
    ("width", &["overall_width", "width_o_a"]),
    (
        "minimum_radius",
        &[
            "min_radius",
            "min_rad",
            "radius",
            "min_curve",
            "minimum_curve",
        ],
    ),
    (
        "drawbar_pull",
        &["pull", "db_pull", "drawbar", "measured_pull", "pulls"],
    ),
    (
        "weight",
        &["wt", "actual_weight", "model_weight", "model_wt", "weighs"],
    ),
    (
        "address",
        &[
            "dcc",
            "dcc_address",
            "dcc_no",
            "decoder",
            "decoder_address",
            "addr",
        ],
    ),
    (
        "built",
        &[
            "blt",
            "build_date",
            "built_date",
            "year_built",
            "date_built",
            "year",
            "bld",
        ],
    ),
    ("retired", &["retirement", "off_roster", "scrapped"]),
    ("state", &["status", "condition", "in_service"]),
    ("at", &["location", "where", "track", "current_location"]),
    ("consist", &["consisting", "runs_with", "mu", "m_u"]),
    ("photo", &["picture", "image", "photograph", "photo_file"]),
    (
        "note",
        &["notes", "comment", "comments", "remark", "remarks", "memo"],
    ),
];

/// What each column is. A key is given to one column only: to the one that is told, else named, else usual, else alike.
pub(super) fn guess(list: List, headings: &[String], mapping: &[(String, String)]) -> Vec<Column> {
    let keys: Vec<&'static str> = list
        .page()
        .table
        .fields
        .iter()
        .map(|field| field.key)
        .collect();
    let known = |key: &str| -> Option<&'static str> {
        if key == "name" && list == List::Cars {
            return Some("name");
        }
        keys.iter().copied().find(|one| *one == key)
    };
    let mut columns: Vec<Column> = headings
        .iter()
        .map(|heading| Column {
            heading: heading.clone(),
            key: None,
            why: Why::Nothing,
            unit: unit(heading),
        })
        .collect();
    let mut taken: Vec<&'static str> = Vec::new();
    let mut settled = vec![false; columns.len()];
    // `#` and "Car #" are numbers however the rest is written.
    let plain = |heading: &str| {
        let bare = heading
            .split(['(', '['])
            .next()
            .unwrap_or(heading)
            .replace('#', " number ");
        column_key(&bare)
    };
    for step in [Why::Told, Why::Named, Why::Usual, Why::Alike] {
        for (at, column) in columns.iter_mut().enumerate() {
            if settled[at] {
                continue;
            }
            let key = plain(&column.heading);
            let found = match step {
                Why::Told => {
                    let told = mapping.iter().find(|(heading, _)| {
                        heading == &column.heading
                            || column_key(heading) == column_key(&column.heading)
                    });
                    if let Some((_, key)) = told {
                        settled[at] = true;
                        column.why = Why::Told;
                        known(key)
                    } else {
                        None
                    }
                }
                Why::Named => known(&key).filter(|_| key != "name"),
                Why::Usual => list
                    .usual()
                    .iter()
                    .find(|(_, usual)| usual.contains(&key.as_str()))
                    .map(|(key, _)| *key),
                // A slip of the finger, not a word that happens to begin alike: `Color` is no `couplers`.
                _ if key.len() > 3 => nearest(&key, keys.iter().copied())
                    .filter(|near| near.len().abs_diff(key.len()) <= 2)
                    .and_then(known),
                _ => None,
            };
            if let Some(found) = found
                && !taken.contains(&found)
            {
                column.key = Some(found);
                column.why = step;
                settled[at] = true;
                taken.push(found);
            }
        }
    }
    columns
}

/// The unit a heading ends in: `Weight (oz)`, `Weight, oz`, `Weight oz`.
fn unit(heading: &str) -> Option<String> {
    let words = heading.to_lowercase();
    let last = words
        .split(|c: char| !c.is_alphanumeric() && c != '"' && c != '\'')
        .rfind(|word| !word.is_empty())?;
    [
        "oz", "g", "grams", "ounces", "lb", "lbs", "kg", "in", "inches", "mm", "cm", "ft", "feet",
        "tons", "'", "\"",
    ]
    .contains(&last)
    .then(|| last.to_owned())
}
