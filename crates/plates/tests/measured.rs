//! Plates measured in what is written: the PDF's own strokes read back by an independent library, the
//! PDF rasterized by another, the DXF reopened by a third. Where a tool is not installed its test says
//! so and passes.

#![allow(clippy::print_stdout, reason = "a test says what it could not measure")]

use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
    process::Command,
};

use engineering::turnout::{
    self, Build, Clearances, Feed, Plan, Practice, Side, Site, Slips, Style, TieTable,
};
use lopdf::{Document, Object, content::Content};
use model::scale::ScaleAndGauge;
use plates::{Heading, Paper, Plate, pdf, shape::Layer, shape::Shape};

fn style(scale: &str) -> Style {
    let size = ScaleAndGauge::parse(scale).unwrap();
    let clearances = Clearances::find(&size, None).unwrap();
    let ratio = size.scale.ratio();
    Style {
        build: Build::new(ratio, clearances, Practice::Model),
        feed: Feed::Live,
        ties: TieTable::usual(clearances.gauge, ratio),
    }
}

fn plate(plan: &Plan, scale: &str) -> Plate {
    let heading = Heading {
        scale: scale.into(),
        revision: "1".into(),
        ..Heading::default()
    };
    Plate::new(plan, &heading)
}

fn turnout(scale: &str) -> Plan {
    turnout::lateral(&style(scale), 6.0, Side::Left, &Site::straight()).unwrap()
}

const MM: f64 = 25.4 / 72.0;

/// A stroke of a page: its width and its points, in mm from the lower left corner; curves by their ends.
struct Stroke {
    width: f64,
    points: Vec<(f64, f64)>,
}

/// Reads the strokes of each page: what the page's operators draw, with their transformations.
fn strokes(bytes: &[u8]) -> Vec<((f64, f64), Vec<Stroke>)> {
    let document = Document::load_mem(bytes).unwrap();
    document
        .get_pages()
        .values()
        .map(|&id| {
            let page = document.get_dictionary(id).unwrap();
            let media = page.get(b"MediaBox").unwrap().as_array().unwrap();
            let side = |at: usize| f64::from(media[at].as_float().unwrap());
            let content = Content::decode(&document.get_page_content(id)).unwrap();
            (
                ((side(2) - side(0)) * MM, (side(3) - side(1)) * MM),
                run(&content),
            )
        })
        .collect()
}

type Matrix = [f64; 6];

fn run(content: &Content) -> Vec<Stroke> {
    let mut stack: Vec<(Matrix, f64)> = Vec::new();
    let mut matrix: Matrix = [1.0, 0.0, 0.0, 1.0, 0.0, 0.0];
    let mut width = 1.0;
    let mut open: Vec<Vec<(f64, f64)>> = Vec::new();
    let mut strokes = Vec::new();
    let number = |object: &Object| f64::from(object.as_float().unwrap());
    for operation in &content.operations {
        let numbers: Vec<f64> = operation
            .operands
            .iter()
            .filter(|object| matches!(object, Object::Integer(_) | Object::Real(_)))
            .map(number)
            .collect();
        let at = |x: f64, y: f64| {
            let [a, b, c, d, e, f] = matrix;
            ((a * x + c * y + e) * MM, (b * x + d * y + f) * MM)
        };
        match operation.operator.as_str() {
            "q" => stack.push((matrix, width)),
            "Q" => (matrix, width) = stack.pop().unwrap(),
            "cm" => {
                let [a, b, c, d, e, f] = matrix;
                let [p, q, r, s, t, u] = numbers[..] else {
                    panic!("a matrix has six numbers")
                };
                matrix = [
                    a * p + c * q,
                    b * p + d * q,
                    a * r + c * s,
                    b * r + d * s,
                    a * t + c * u + e,
                    b * t + d * u + f,
                ];
            }
            "w" => width = numbers[0],
            "m" => open.push(vec![at(numbers[0], numbers[1])]),
            "l" => open.last_mut().unwrap().push(at(numbers[0], numbers[1])),
            "c" => open.last_mut().unwrap().push(at(numbers[4], numbers[5])),
            "S" | "B" | "s" | "b" => {
                let scale = (matrix[0] * matrix[3] - matrix[1] * matrix[2]).abs().sqrt();
                for points in open.drain(..) {
                    strokes.push(Stroke {
                        width: width * scale * MM,
                        points,
                    });
                }
            }
            "f" | "f*" | "n" => open.clear(),
            _ => {}
        }
    }
    strokes
}

fn length(stroke: &Stroke) -> f64 {
    stroke
        .points
        .windows(2)
        .map(|pair| (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1))
        .sum()
}

/// Level strokes of about a length.
fn level(strokes: &[Stroke], about: f64) -> Vec<f64> {
    strokes
        .iter()
        .filter(|stroke| stroke.points.len() == 2)
        .filter(|stroke| (stroke.points[0].1 - stroke.points[1].1).abs() < 1e-3)
        .map(length)
        .filter(|found| (found - about).abs() < 0.5)
        .collect()
}

/// On every sheet of either paper the two bars are 100 mm and 4 in to 0.01 mm, and the paper has its
/// size.
#[test]
fn every_sheet_has_true_bars() {
    let slip = turnout::crossing(&style("O"), 0.16, Slips::Double).unwrap();
    let long = turnout::curve(&style("HO"), 0.6, 1.8, 0.3).unwrap();
    for (paper, size) in [(Paper::Letter, (215.9, 279.4)), (Paper::A4, (210.0, 297.0))] {
        let plates = [
            plate(&turnout("HO"), "HO"),
            plate(&slip, "O"),
            plate(&long, "HO"),
        ];
        let (bytes, count) = pdf(&plates, paper).unwrap();
        let pages = strokes(&bytes);
        assert_eq!(pages.len(), count);
        assert!(count > 9, "{count}");
        for (at, ((w, h), strokes)) in pages.iter().enumerate() {
            let (short, tall) = (w.min(*h), w.max(*h));
            assert!((short - size.0).abs() < 0.01 && (tall - size.1).abs() < 0.01);
            for bar in [100.0, 101.6] {
                let found = level(strokes, bar);
                assert!(
                    found.iter().any(|found| (found - bar).abs() < 0.01),
                    "sheet {}: {found:?}, not {bar}",
                    at + 1
                );
            }
        }
    }
}

/// The two gauge lines of straight track lie a gauge apart to a hundredth of a millimetre, by the
/// strokes in the file: they are as wide as no other layer's.
#[test]
fn the_gauge_is_true_in_the_file() {
    for scale in ["N", "HO", "O"] {
        let plan = turnout(scale);
        let gauge = plan.build.clearances.gauge * 1000.0;
        let (bytes, _) = pdf(&[plate(&plan, scale)], Paper::A4).unwrap();
        let mut found = Vec::new();
        for (_, strokes) in strokes(&bytes) {
            let level: Vec<f64> = strokes
                .iter()
                .filter(|stroke| (stroke.width - Layer::Face.width()).abs() < 1e-3)
                .filter(|stroke| stroke.points.len() == 2)
                .filter(|stroke| (stroke.points[0].1 - stroke.points[1].1).abs() < 1e-4)
                .filter(|stroke| length(stroke) > 0.5 * gauge)
                .map(|stroke| stroke.points[0].1)
                .collect();
            for a in &level {
                found.extend(
                    level
                        .iter()
                        .map(|b| b - a)
                        .filter(|apart| *apart > 0.9 * gauge),
                );
            }
        }
        assert!(
            found.iter().any(|apart| (apart - gauge).abs() < 0.01),
            "{scale}: {found:?}, not {gauge}"
        );
    }
}

/// Windows of a long plate overlap: each point of the track is on a sheet, and every registration cross
/// stands on two sheets.
#[test]
fn crosses_stand_on_two_sheets() {
    let long = turnout::curve(&style("HO"), 0.6, 1.8, 0.3).unwrap();
    let plate = plate(&long, "HO");
    for paper in [Paper::Letter, Paper::A4] {
        let sheets: Vec<_> = plate
            .sheets(paper)
            .into_iter()
            .filter(|sheet| sheet.window.is_some())
            .collect();
        assert!(sheets.len() > 3);
        let mut seen = 0;
        for sheet in &sheets {
            let window = sheet.window.unwrap();
            seen += sheet
                .seen
                .items
                .iter()
                .filter(|(layer, _)| *layer == Layer::Register)
                .filter_map(|(_, shape)| match shape {
                    Shape::Arc(center, ..) => Some(*center),
                    _ => None,
                })
                .filter(|center| window.contains(*center))
                .count();
        }
        // Two crosses at each of the joints between sheets, on both.
        assert_eq!(seen, 4 * (sheets.len() - 1));
    }
}

fn scratch(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("plates");
    fs::create_dir_all(&folder).unwrap();
    folder.join(name)
}

/// A picture in gray: width, height, and a byte for each pixel.
fn gray(path: &Path) -> (usize, usize, Vec<u8>) {
    let bytes = fs::read(path).unwrap();
    let mut at = 0;
    let mut fields = Vec::new();
    while fields.len() < 4 {
        let end = bytes[at..]
            .iter()
            .position(u8::is_ascii_whitespace)
            .unwrap()
            + at;
        fields.push(String::from_utf8(bytes[at..end].to_vec()).unwrap());
        at = end + 1;
    }
    assert_eq!(fields[0], "P5");
    (
        fields[1].parse().unwrap(),
        fields[2].parse().unwrap(),
        bytes[at..].to_vec(),
    )
}

/// The middles of dark runs along a column or a row of pixels, weighted by darkness.
fn dark(pixels: impl Iterator<Item = u8>) -> Vec<f64> {
    let mut middles = Vec::new();
    let (mut sum, mut moment) = (0.0, 0.0);
    for (at, pixel) in pixels.chain([255]).enumerate() {
        // Rail heads are light gray and ties lighter: only lines count.
        let ink = if pixel < 160 {
            f64::from(255 - pixel)
        } else {
            0.0
        };
        if ink > 0.0 {
            sum += ink;
            moment += ink * (at as f64 + 0.5);
        } else if sum > 0.0 {
            middles.push(moment / sum);
            (sum, moment) = (0.0, 0.0);
        }
    }
    middles
}

/// The first sheet rasterized by poppler at 1200 dots to the inch: bar and gauge to 0.05 mm.
#[test]
fn a_rasterized_sheet_measures_true() {
    if Command::new("pdftoppm").arg("-v").output().is_err() {
        println!("pdftoppm is not installed: the rasterized sheet is not measured");
        return;
    }
    const DPI: f64 = 1200.0;
    let pixel = 25.4 / DPI;
    let plan = turnout("HO");
    let plate = plate(&plan, "HO");
    for (paper, name) in [(Paper::Letter, "letter"), (Paper::A4, "a4")] {
        let file = scratch(&format!("{name}.pdf"));
        fs::write(&file, pdf(std::slice::from_ref(&plate), paper).unwrap().0).unwrap();
        let out = scratch(name);
        let status = Command::new("pdftoppm")
            .args(["-gray", "-r", "1200", "-f", "1", "-l", "1", "-singlefile"])
            .args([&file, &out])
            .status()
            .unwrap();
        assert!(status.success());
        let (w, h, pixels) = gray(&out.with_extension("pgm"));
        let sheets = plate.sheets(paper);
        let sheet = &sheets[0];
        assert!((w as f64 * pixel - sheet.size.0).abs() < 0.05);
        let row = |y: f64| ((sheet.size.1 - y) / pixel) as usize;
        let column = |x: f64| (x / pixel) as usize;
        // The upright ticks of the 100 mm bar, cut two millimetres above it: the tall ones at its ends.
        let cut = row(9.0 + 20.0 + 2.6);
        let ticks: Vec<f64> = dark(pixels[cut * w..cut * w + column(113.0)].iter().copied())
            .into_iter()
            .map(|at| at * pixel)
            .collect();
        assert_eq!(ticks.len(), 2, "{name}: {ticks:?}");
        let bar = ticks[1] - ticks[0];
        assert!((bar - 100.0).abs() < 0.05, "{name}: the bar is {bar} mm");
        let cut = row(9.0 + 9.0 + 2.6);
        let ticks: Vec<f64> = dark(pixels[cut * w..cut * w + column(113.0)].iter().copied())
            .into_iter()
            .map(|at| at * pixel)
            .collect();
        assert_eq!(ticks.len(), 2, "{name}: {ticks:?}");
        let bar = ticks[1] - ticks[0];
        assert!((bar - 101.6).abs() < 0.05, "{name}: the bar is {bar} mm");
        println!("{name}, rasterized: the 4 in bar is {bar:.4} mm");
        // The gauge, in a column through plain track before the points, between two ties.
        let gauge = plan.build.clearances.gauge * 1000.0;
        let seen = sheet.window.unwrap();
        let faces: Vec<(f64, f64)> = sheet
            .seen
            .items
            .iter()
            .filter(|(layer, _)| *layer == Layer::Face)
            .filter_map(|(_, shape)| match shape {
                Shape::Line(a, b) if (a.y - b.y).abs() < 1e-9 && (b.x - a.x).abs() > gauge => {
                    Some((a.x.min(b.x), a.y))
                }
                _ => None,
            })
            .collect();
        let begin = faces
            .iter()
            .map(|face| face.0)
            .fold(f64::INFINITY, f64::min);
        // Ties, as areas, lie where they are drawn: a column without one.
        let ties: Vec<(f64, f64)> = sheet
            .seen
            .items
            .iter()
            .filter(|(layer, _)| *layer == Layer::Tie)
            .map(|(_, shape)| {
                let bounds = shape.bounds();
                (bounds.x0, bounds.x1)
            })
            .collect();
        let free = (0..200)
            .map(|step| begin + 1.0 + 0.1 * f64::from(step))
            .find(|x| ties.iter().all(|(a, b)| *x < a - 0.5 || *x > b + 0.5))
            .unwrap();
        let at = column(free);
        let (top, low) = (row(seen.y1 - 1.0), row(seen.y0 + 1.0));
        let lines: Vec<f64> = dark((top..low.min(h)).map(|y| pixels[y * w + at]))
            .into_iter()
            .map(|at| at * pixel)
            .collect();
        // Two faces, two backs and perhaps a dash of the center line: the faces are a gauge apart.
        let apart: Vec<f64> = lines
            .iter()
            .flat_map(|a| lines.iter().map(move |b| b - a))
            .filter(|apart| *apart > 0.0)
            .collect();
        let best = apart
            .iter()
            .copied()
            .min_by(|a, b| (a - gauge).abs().total_cmp(&(b - gauge).abs()))
            .unwrap();
        assert!(
            (best - gauge).abs() < 0.05,
            "{name}: {lines:?}, {best} is no {gauge}"
        );
        println!("{name}, rasterized: gauge {best:.4} mm for {gauge:.4} mm");
    }
}

/// Pairs of a group code and a value of an ASCII DXF, read by rule and not by our writer.
fn groups(text: &str) -> Vec<(i32, &str)> {
    let lines: Vec<&str> = text.lines().collect();
    lines
        .chunks(2)
        .map(|pair| (pair[0].trim().parse().unwrap(), pair[1]))
        .collect()
}

/// Length of everything on each layer, from the drawing.
fn drawn(plate: &Plate) -> BTreeMap<&'static str, f64> {
    let mut lengths = BTreeMap::new();
    for (layer, shape) in &plate.art.items {
        let length = match shape {
            Shape::Line(a, b) => (*b - *a).hypot(),
            Shape::Arc(_, radius, _, turn) => radius * turn.abs(),
            Shape::Curve(_) | Shape::Polygon(_) => {
                let mut points = shape.points(1e-3);
                if matches!(shape, Shape::Polygon(_)) {
                    points.extend(points.first().copied());
                }
                points
                    .windows(2)
                    .map(|pair| (pair[1] - pair[0]).hypot())
                    .sum()
            }
            Shape::Text(..) => continue,
        };
        *lengths.entry(layer.name()).or_insert(0.0) += length;
    }
    lengths
}

fn plates_to_reopen() -> Vec<(&'static str, Plate)> {
    let ho = style("HO");
    let bent = turnout::curve(&ho, 0.6, 1.0, 0.2).unwrap();
    let slip = turnout::crossing(&ho, 0.1663, Slips::Double).unwrap();
    vec![
        ("turnout", plate(&turnout("HO"), "HO")),
        ("curve", plate(&bent, "HO")),
        ("slip", plate(&slip, "HO")),
    ]
}

/// The DXF by its own rules: sections close, entities have layers that are declared.
#[test]
fn a_dxf_is_well_formed() {
    for (name, plate) in plates_to_reopen() {
        let text = plate.dxf();
        assert!(text.is_ascii(), "{name}");
        let groups = groups(&text);
        let count = |code: i32, value: &str| {
            groups
                .iter()
                .filter(|group| **group == (code, value))
                .count()
        };
        assert_eq!(count(0, "SECTION"), count(0, "ENDSEC"));
        assert_eq!(count(0, "POLYLINE"), count(0, "SEQEND"));
        assert_eq!(groups.last(), Some(&(0, "EOF")));
        let declared: Vec<&str> = groups
            .windows(2)
            .filter(|pair| pair[0] == (0, "LAYER"))
            .map(|pair| pair[1].1)
            .collect();
        for (code, value) in &groups {
            assert!(
                *code != 8 || declared.contains(value),
                "{name}: layer {value}"
            );
        }
    }
}

/// Reopened by ezdxf, an independent reader: no errors, millimetres, and on each layer the same length
/// of lines, arcs and polylines as was drawn, to a micrometre in a metre.
#[test]
fn an_independent_reader_finds_the_same_lengths() {
    let python = std::env::var("SAWBY_PYTHON").unwrap_or_else(|_| "python3".into());
    let there = Command::new(&python).args(["-c", "import ezdxf"]).output();
    if !there.is_ok_and(|out| out.status.success()) {
        println!("{python} has no ezdxf (say another with SAWBY_PYTHON): the DXF is not reopened");
        return;
    }
    const READ: &str = r#"
import sys, math, collections, ezdxf
doc = ezdxf.readfile(sys.argv[1])
assert not doc.audit().errors
print("units", doc.header.get("$INSUNITS", 0))
lengths = collections.defaultdict(float)
for e in doc.modelspace():
    kind, layer = e.dxftype(), e.dxf.layer
    if kind == "LINE":
        lengths[layer] += (e.dxf.end - e.dxf.start).magnitude
    elif kind == "ARC":
        lengths[layer] += e.dxf.radius * math.radians((e.dxf.end_angle - e.dxf.start_angle) % 360.0)
    elif kind == "CIRCLE":
        lengths[layer] += math.tau * e.dxf.radius
    elif kind == "POLYLINE":
        points = list(e.points())
        if e.is_closed:
            points.append(points[0])
        lengths[layer] += sum((b - a).magnitude for a, b in zip(points, points[1:]))
for layer, length in lengths.items():
    print(layer, repr(length))
"#;
    for (name, plate) in plates_to_reopen() {
        let file = scratch(&format!("{name}.dxf"));
        fs::write(&file, plate.dxf()).unwrap();
        let out = Command::new(&python)
            .args(["-c", READ])
            .arg(&file)
            .output()
            .unwrap();
        let said = String::from_utf8(out.stdout).unwrap();
        assert!(
            out.status.success(),
            "{name}: {}",
            String::from_utf8_lossy(&out.stderr)
        );
        let found: BTreeMap<&str, f64> = said
            .lines()
            .filter_map(|line| line.split_once(' '))
            .map(|(layer, length)| (layer, length.parse().unwrap()))
            .collect();
        for (layer, expected) in drawn(&plate) {
            let length = found.get(layer).copied().unwrap_or(0.0);
            assert!(
                (length - expected).abs() < 1e-6 * expected + 1e-4,
                "{name}, {layer}: {length}, not {expected}"
            );
        }
        assert_eq!(found.get("units"), Some(&4.0), "{name}: millimetres");
    }
}

/// The SVG is in true units: its width in millimetres is that of its own coordinates.
#[test]
fn an_svg_is_in_true_units() {
    let plate = plate(&turnout("HO"), "HO");
    let svg = plate.svg();
    let value = |key: &str| {
        let at = svg.find(key).unwrap() + key.len();
        let end = svg[at..].find('"').unwrap() + at;
        svg[at..end].to_owned()
    };
    let width: f64 = value("width=\"").trim_end_matches("mm").parse().unwrap();
    assert!(value("width=\"").ends_with("mm"));
    let view: Vec<f64> = value("viewBox=\"")
        .split(' ')
        .map(|v| v.parse().unwrap())
        .collect();
    assert_eq!(view[2], width);
    assert!(svg.contains("100 mm exactly") && svg.contains("Bill of material"));
}
