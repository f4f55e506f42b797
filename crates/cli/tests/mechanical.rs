//! Engines and cars on the command line: era, weigh, rating, fit, import.

mod common;

use std::{
    fs,
    path::{Path, PathBuf},
};

use tempfile::TempDir;

use common::sawby;

fn here(args: &[&str]) -> (String, String, i32) {
    sawby(Path::new("."), args)
}

/// The smallest railroad with some files laid over it.
fn road(files: &[(&str, &str)]) -> (TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let road = dir.path().join("road");
    let (_, err, code) = here(&["new", road.to_str().unwrap()]);
    assert_eq!(code, 0, "{err}");
    for (path, text) in files {
        fs::write(road.join(path), text).unwrap();
    }
    (dir, road)
}

fn name(path: &Path) -> &str {
    path.to_str().unwrap()
}

const CARS: &str = "marks,number,aar,kind,length,built,brake,weight
SMR,101,XM,boxcar,6 in,1928,K,3.5 oz
BTC,7,XM,boxcar,6 in,1931,K,3.9 oz
BTC,9,XM,boxcar,6 in,1947,AB,3.8 oz
";

#[test]
fn era_says_what_is_not_right_and_what_would_have_to_change() {
    let (_dir, road) = road(&[("cars.csv", CARS)]);
    let (out, err, code) = here(&["era", name(&road)]);
    assert_eq!((err.as_str(), code), ("", 1), "{out}");
    assert!(
        out.contains("BTC 9 was built only in 1947, after 1941-10-14; keep it off the railroad"),
        "{out}"
    );
    let (out, _, code) = here(&["era", name(&road), "--on", "1954-05-01"]);
    assert_eq!(code, 1);
    assert!(out.contains("give it AB brakes: 1 (BTC 7)"), "{out}");
    assert!(out.contains("right then and not now: 1 (BTC 9)"), "{out}");
    let (_, err, code) = here(&["era", name(&road), "--on", "sometime"]);
    assert_eq!(code, 2, "{err}");
    let (out, _, code) = here(&["era", "--rules"]);
    assert_eq!(code, 0);
    assert!(
        out.contains("1941-08-01 by a supplement to a field guide of 1941"),
        "both dates are told: {out}"
    );
    let (out, _, _) = here(&["era", name(&road), "--json"]);
    assert!(serde_json::from_str::<serde_json::Value>(&out).is_ok());
}

#[test]
fn weigh_tells_how_far_under_a_car_is_and_what_a_track_holds() {
    let (_dir, road) = road(&[("cars.csv", CARS)]);
    let (out, _, code) = here(&["weigh", name(&road), "--within", "5"]);
    assert_eq!(code, 0);
    assert!(
        out.contains("SMR 101  3.8 oz        3.5 oz  0.3 oz under  -9 %"),
        "{out}"
    );
    let (out, _, _) = here(&["weigh", name(&road), "--train", "12, SMR 101, BTC 7"]);
    assert!(
        out.starts_with("3 cars and engines: 1'-9\" long, 7.4 oz."),
        "{out}"
    );
    assert!(out.contains("1 not weighed"), "{out}");
    let (out, _, _) = here(&["weigh", name(&road), "--track", "Alder / mill"]);
    let (usable, rest) = out.split_once('\n').unwrap();
    assert!(
        usable.starts_with("Alder / mill: ") && rest.contains("boxcar"),
        "{out}"
    );
    let (_, err, code) = here(&["weigh", name(&road), "--track", "Alder / mil"]);
    assert_eq!(code, 2);
    assert!(err.contains("did you mean `Alder / mill`?"), "{err}");
}

#[test]
fn rating_draws_and_answers_for_one_train() {
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("plots");
    let (out, err, code) = here(&["rating", "--example", "-o", name(&folder)]);
    assert_eq!(code, 0, "{err}");
    assert!(
        out.contains("Main Line, east") && out.contains("helper for a full train"),
        "{out}"
    );
    let drawn: Vec<_> = fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    assert_eq!(drawn.len(), 4);
    for file in drawn {
        let text = fs::read_to_string(file).unwrap();
        assert!(text.starts_with("<svg") && !text.contains("NaN") && text.contains("curves add"));
    }
    let (out, _, code) = here(&["rating", "--example", "--train", "31"]);
    assert_eq!(code, 0);
    assert!(out.contains("start wherever they are stopped"), "{out}");
    let (out, _, _) = here(&["rating", "--example", "--json"]);
    let value: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(value["governs"], "model");
    let (_, err, code) = here(&["rating", "--example", "--season", "monsoon"]);
    assert_eq!(code, 2);
    assert!(
        err.contains("there are: fair, wet rail, cold, severe cold"),
        "{err}"
    );
}

#[test]
fn fit_says_where_an_engine_may_go() {
    let (out, _, code) = here(&["fit", "--example", "--of", "601"]);
    assert_eq!(code, 0);
    assert!(
        out.starts_with("engine 601 may run on: Main Line."),
        "{out}"
    );
    let (out, _, code) = here(&["fit", "--example"]);
    assert_eq!(code, 0);
    assert!(out.contains("Hobnail / table: turntable"), "{out}");
}

#[test]
fn cars_are_imported_into_the_record_and_only_once() {
    let (_dir, road) = road(&[]);
    let sheet = road.parent().unwrap().join("sheet.csv");
    fs::write(
        &sheet,
        "Road;No;Type;Length;Weight\nBTC;12;Box;40';4\nBTC;;Box;40';4\n",
    )
    .unwrap();
    let (out, err, code) = here(&["import", "cars", name(&sheet), name(&road), "--add"]);
    // One row was left out.
    assert_eq!((err.as_str(), code), ("", 1), "{out}");
    assert!(
        out.contains("1 car added") && out.contains("line 3: has no number"),
        "{out}"
    );
    let cars = fs::read_to_string(road.join("cars.csv")).unwrap();
    assert!(cars.contains("BTC,12,,boxcar,6.06 in"), "{cars}");
    let (out, _, _) = here(&["check", name(&road)]);
    assert!(!out.contains("error["), "{out}");
    let (out, _, _) = here(&["import", "cars", name(&sheet), name(&road), "--add"]);
    assert!(out.contains("BTC 12 is on the record already"), "{out}");
    let (_, err, code) = here(&[
        "import",
        "cars",
        name(&sheet),
        name(&road),
        "--map",
        "Type=knd",
    ]);
    assert_eq!(code, 2);
    assert!(err.contains("did you mean `kind`?"), "{err}");
    fs::write(&sheet, b"PK\x03\x04").unwrap();
    let (_, err, code) = here(&["import", "cars", name(&sheet), name(&road)]);
    assert_eq!(code, 2);
    assert!(err.contains("save the sheet as CSV"), "{err}");
}

/// A workbook as spreadsheet programs write it, by ISO/IEC 29500: the parts a reader needs, and no more.
#[test]
fn a_workbook_is_imported_without_saving_it_as_text() {
    let (_dir, road) = road(&[]);
    let file = road.parent().unwrap().join("roster.xlsx");
    fs::write(&file, include_bytes!("roster.xlsx")).unwrap();
    let (out, err, code) = here(&["import", "cars", name(&file), name(&road), "--add"]);
    assert_eq!((err.as_str(), code), ("", 0), "{out}");
    assert!(out.contains("2 cars added"), "{out}");
    let cars = fs::read_to_string(road.join("cars.csv")).unwrap();
    assert!(
        cars.contains("BTC,204,") && cars.contains("1937-06-01"),
        "{cars}"
    );
    let (_, err, code) = here(&[
        "import",
        "cars",
        name(&file),
        name(&road),
        "--sheet",
        "Engines",
    ]);
    assert_eq!(code, 2);
    assert!(err.contains("its sheets are: Cars"), "{err}");
}

const ENGINES: &str = "\
Road number,Whyte,Driver dia,T.E.,Length o/a,BP,DCC,Painted by
#12,2-8-0,57,\"45,100\",82'-6\",200 psi,3,RW
14,2/8/2002,63,plenty,11.4 in,190,14,
,4-6-0,57,,66',,,
12,2-8-0,57,,66',,,
";

const ENGINES_REPORT: &str = r#"2 engines. Columns:
  Road number  number           a usual heading for it
  Whyte        wheels           a usual heading for it
  Driver dia   drivers          a usual heading for it
  T.E.         tractive_effort  a usual heading for it
  Length o/a   length           a usual heading for it
  BP           pressure         a usual heading for it
  DCC          address          a usual heading for it
  Painted by   -                left out: nothing in the record is like it

Not taken as written:
  line 2  12  drivers `57`              is 57 in     a number alone is taken for inches
  line 2  12  tractive_effort `45,100`  is 45100 lb  a number of 1000 or more is taken for pounds
  line 2  12  length `82'-6"`           is 11.37 in  82.5 ft is taken for its full-size length over the pulling faces
  line 2  12  pressure `200 psi`        is 200       what else stands in the cell is left out
  line 2  12  kind ``                   is steam     from its wheel arrangement 2-8-0
  line 3  14  wheels `2/8/2002`         is 2-8-2     a spreadsheet took it for a day
  line 3  14  drivers `63`              is 63 in     a number alone is taken for inches
  line 3  14  tractive_effort `plenty`  left out     no tractive effort in pounds
  line 3  14  kind ``                   is steam     from its wheel arrangement 2-8-2

Rows left out:
  line 4: has no number
  line 5: 12 stands in the spreadsheet before
2 engines added to engines.csv.
"#;

const ENGINES_RECORD: &str = "\
number,kind,length,wheels,drivers,pressure,tractive_effort,address
12,steam,11.37 in,2-8-0,57 in,200,45100 lb,3
14,steam,11.4 in,2-8-2,63 in,190,,14
";

#[test]
fn engines_are_imported_with_a_report_of_all_that_was_guessed() {
    let (_dir, road) = road(&[("engines.csv", "number,kind,length\n")]);
    let sheet = road.parent().unwrap().join("sheet.csv");
    fs::write(&sheet, ENGINES).unwrap();
    let (out, err, code) = here(&["import", "engines", name(&sheet), name(&road), "--add"]);
    assert_eq!((err.as_str(), code), ("", 1), "{out}");
    assert_eq!(out, ENGINES_REPORT);
    let engines = fs::read_to_string(road.join("engines.csv")).unwrap();
    assert_eq!(engines, ENGINES_RECORD);
    let (out, _, _) = here(&["check", name(&road)]);
    assert!(!out.contains("error["), "{out}");
    let (out, _, code) = here(&["import", "engines", name(&sheet), name(&road), "--add"]);
    assert_eq!(code, 1);
    assert!(out.contains("line 3: 14 is on the record already"), "{out}");
    let (_, err, code) = here(&[
        "import",
        "engines",
        name(&sheet),
        name(&road),
        "--map",
        "Painted by=marks",
    ]);
    assert_eq!(code, 2);
    assert!(
        err.contains("there is no column of the engine record `marks`"),
        "{err}"
    );
}
