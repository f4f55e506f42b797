//! The track chart on paper.

use engineering::{
    line::{StructureKind, Turn},
    station::{Control, Hand, TrackUse},
};
use model::units::{Actual, GradeStyle};
use railroad::identity::UnitsStyle;

use super::facts::{ChartStation, ChartTrack, Facts, TrackShape};
use crate::svg::{Anchor, Sheet, Stroke, Type};

/// Paper the chart is to be printed on, lying on its side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 11 by 8.5 inches.
    Letter,
    /// 297 by 210 mm.
    A4,
}

impl Paper {
    /// Width and height lying on its side, in millimetres.
    pub fn size(self) -> (f64, f64) {
        match self {
            Self::Letter => (279.4, 215.9),
            Self::A4 => (297.0, 210.0),
        }
    }
}

// Ink that stays apart when printed in grey and for colour-blind eyes: told apart by lightness first.
const INK: &str = "#1b1b1b";
const FAINT: &str = "#8a8a8a";
const RULE: &str = "#d5d5d5";
const EARTH: &str = "#efe7d6";
const RISE: &str = "#7a4b12";
const CURVE: &str = "#1f4e79";
const WATER: &str = "#2b6ca3";

const MARGIN: f64 = 12.0;
/// Millimetres on paper for a metre of track: about 6 mm to the foot.
const PER_METRE: f64 = 20.0;
const LANE: f64 = 7.0;

const HEAD: f64 = 16.0;
const RULER: f64 = 9.0;
const NAMES: f64 = 10.0;
const CURVES: f64 = 11.0;
const PROFILE: f64 = 20.0;
const AFTER: f64 = 4.5;

/// The whole chart as one sheet, for a screen: strips as wide as the paper, one under another.
pub fn whole(facts: &Facts, units: UnitsStyle, paper: Paper) -> String {
    let (width, _) = paper.size();
    let strips = strips(facts, units, width - 2.0 * MARGIN);
    let height = HEAD + MARGIN + strips.iter().map(Sheet::height).sum::<f64>() + MARGIN;
    let mut sheet = Sheet::new(width, height, title(facts));
    head(&mut sheet, facts, units, width, None);
    let mut y = HEAD + MARGIN;
    for strip in &strips {
        sheet.place(strip, (MARGIN, y));
        y += strip.height();
    }
    sheet.finish()
}

/// The chart as pages of paper.
pub fn pages(facts: &Facts, units: UnitsStyle, paper: Paper) -> Vec<String> {
    let (width, height) = paper.size();
    let room = height - HEAD - MARGIN - MARGIN;
    let mut pages: Vec<Vec<Sheet>> = Vec::new();
    let mut left = 0.0;
    for strip in strips(facts, units, width - 2.0 * MARGIN) {
        if pages.is_empty() || strip.height() > left {
            pages.push(Vec::new());
            left = room;
        }
        left -= strip.height();
        if let Some(page) = pages.last_mut() {
            page.push(strip);
        }
    }
    let count = pages.len();
    pages
        .iter()
        .enumerate()
        .map(|(at, strips)| {
            let mut sheet = Sheet::new(width, height, title(facts));
            head(&mut sheet, facts, units, width, Some((at + 1, count)));
            let mut y = HEAD + MARGIN;
            for strip in strips {
                sheet.place(strip, (MARGIN, y));
                y += strip.height();
            }
            sheet.finish()
        })
        .collect()
}

/// One station as large as the width of the paper, in millimetres, lets it be, at most four times as
/// large as on the chart: its tracks, switches, spots and what they hold. `None` if the line has no
/// station of that name.
pub fn station(facts: &Facts, name: &str, units: UnitsStyle, width: f64) -> Option<String> {
    /// Open line shown at either end, metres.
    const BEYOND: f64 = 0.15;
    let station = facts.stations.iter().find(|station| station.name == name)?;
    // A lead may reach past the end of the station's main.
    let ends = station.tracks.iter().filter(|track| track.placed);
    let [low, high] = ends.fold(
        [station.at, station.at + station.length],
        |[low, high], track| [low.min(track.reach[0]), high.max(track.reach[1])],
    );
    let length = (high - low).meters() + 2.0 * BEYOND;
    let per_metre = (width / length).min(4.0 * PER_METRE);
    let from = (low.meters() - BEYOND) * per_metre;
    let alone = Facts {
        stations: vec![station.clone()],
        mileposts: vec![],
        gaps: vec![],
        ..facts.clone()
    };
    let mut strip = Strip {
        per_metre,
        ..Strip::new(&alone, units, from, from + length * per_metre, width)
    };
    strip.reach_of_lanes();
    let mut body = Sheet::new(width, 0.0, "");
    strip.open_line(&mut body);
    strip.station(&mut body, station);
    strip.structures(&mut body);
    let bottom = strip.main_y() + LANE * (f64::from(strip.below) + 0.7);
    let bottom = strip.key(&mut body, bottom);
    let mut sheet = Sheet::new(width, bottom, format!("The tracks of {name}"));
    sheet.place(&body, (0.0, 0.0));
    Some(sheet.finish())
}

fn title(facts: &Facts) -> String {
    format!("{}: track chart of the {}", facts.railroad, facts.line)
}

fn head(
    sheet: &mut Sheet,
    facts: &Facts,
    units: UnitsStyle,
    width: f64,
    page: Option<(usize, usize)>,
) {
    sheet.text(
        (MARGIN, MARGIN + 4.0),
        &facts.railroad,
        Type::bold(5.5, INK),
        Anchor::Start,
    );
    sheet.text(
        (MARGIN, MARGIN + 9.5),
        &format!("Track chart: {}", facts.line),
        Type::plain(3.8, INK),
        Anchor::Start,
    );
    let right = width - MARGIN;
    let [low, high] = &facts.directions;
    let way = format!("\u{2190} {low}      {high} \u{2192}");
    sheet.text(
        (right, MARGIN + 4.0),
        &way,
        Type::bold(3.8, INK),
        Anchor::End,
    );
    let ruling: Vec<String> = [1, 0]
        .into_iter()
        .filter_map(|side| {
            let grade = facts.ruling[side]?;
            Some(format!(
                "{} {}",
                facts.directions[side],
                grade.show(GradeStyle::Percent { decimals: 1 })
            ))
        })
        .collect();
    let mut notes = vec![format!("cars of {}", units.show(facts.car))];
    if !ruling.is_empty() {
        notes.insert(0, format!("steepest grade {}", ruling.join(", ")));
    }
    if let Some((page, of)) = page {
        notes.push(format!("sheet {page} of {of}"));
    }
    let notes = notes.join("  \u{b7}  ");
    sheet.text(
        (right, MARGIN + 9.5),
        &notes,
        Type::plain(3.0, INK),
        Anchor::End,
    );
    sheet.line(
        (MARGIN, HEAD + 8.0),
        (right, HEAD + 8.0),
        Stroke::solid(INK, 0.5),
    );
}

/// Cuts the line into strips that break between stations where they can.
fn strips(facts: &Facts, units: UnitsStyle, width: f64) -> Vec<Sheet> {
    let whole = facts.length.meters() * PER_METRE;
    let mut cuts = vec![0.0];
    loop {
        let from = cuts[cuts.len() - 1];
        if whole - from <= width + 1e-6 {
            cuts.push(whole.max(from + 1.0));
            break;
        }
        // The last place within reach that is in no station and no structure; what is longer than the
        // paper is cut all the same.
        let mut cut = from + width;
        while let Some(before) = whole_things(facts).find_map(|[at, length]| {
            let (start, end) = (
                at.meters() * PER_METRE - 8.0,
                (at + length).meters() * PER_METRE + 8.0,
            );
            (cut > start + 1e-9 && cut < end).then_some(start)
        }) {
            cut = before;
        }
        if cut < from + width * 0.35 {
            cut = from + width;
        }
        cuts.push(cut);
    }
    cuts.windows(2)
        .map(|cut| Strip::new(facts, units, cut[0], cut[1], width).draw())
        .collect()
}

/// What is not to be cut in two: place and length.
fn whole_things(facts: &Facts) -> impl Iterator<Item = [Actual; 2]> {
    let stations = facts
        .stations
        .iter()
        .map(|station| [station.at, station.length]);
    let structures = facts
        .structures
        .iter()
        .map(|s| [s.reach[0], s.reach[1] - s.reach[0]]);
    let gaps = facts.gaps.iter().map(|gap| [gap.at, Actual::ZERO]);
    stations.chain(structures).chain(gaps)
}

struct Strip<'a> {
    facts: &'a Facts,
    units: UnitsStyle,
    from: f64,
    to: f64,
    width: f64,
    /// Millimetres on paper for a metre of track.
    per_metre: f64,
    above: i32,
    below: i32,
    taken: Vec<(f64, f64, f64, f64)>,
    keys: Vec<String>,
}

impl<'a> Strip<'a> {
    fn new(facts: &'a Facts, units: UnitsStyle, from: f64, to: f64, width: f64) -> Self {
        let mut strip = Self {
            facts,
            units,
            from,
            to,
            width,
            per_metre: PER_METRE,
            above: 1,
            below: 1,
            taken: Vec::new(),
            keys: Vec::new(),
        };
        strip.reach_of_lanes();
        strip
    }

    /// Finds how many lanes there are above and below the main.
    fn reach_of_lanes(&mut self) {
        for station in self.stations() {
            for track in &station.tracks {
                self.above = self.above.max(track.lane);
                self.below = self.below.max(-track.lane);
            }
        }
    }

    fn stations(&self) -> impl Iterator<Item = &'a ChartStation> + use<'a> {
        let (from, to, per_metre) = (self.from, self.to, self.per_metre);
        self.facts.stations.iter().filter(move |station| {
            let at = station.at.meters() * per_metre;
            at < to && at + station.length.meters() * per_metre > from
        })
    }

    fn x(&self, at: Actual) -> f64 {
        at.meters() * self.per_metre - self.from
    }

    /// A text centred on `x`, or as near as the strip's edges let it.
    fn centred(&self, sheet: &mut Sheet, (x, y): (f64, f64), text: &str, kind: Type) {
        let half = kind.width(text) / 2.0;
        let x = x.clamp(
            half.min(self.width / 2.0),
            (self.width - half).max(self.width / 2.0),
        );
        sheet.text((x, y), text, kind, Anchor::Middle);
    }

    /// Within the strip, or none.
    fn clip(&self, reach: [Actual; 2]) -> Option<(f64, f64)> {
        let (a, b) = (
            self.x(reach[0]).max(0.0),
            self.x(reach[1]).min(self.to - self.from),
        );
        (b > a + 0.05).then_some((a, b))
    }

    fn main_y(&self) -> f64 {
        RULER + NAMES + LANE * (f64::from(self.above) + 0.6)
    }

    fn y(&self, lane: i32) -> f64 {
        self.main_y() - LANE * f64::from(lane)
    }

    fn draw(mut self) -> Sheet {
        let tracks_end = self.main_y() + LANE * (f64::from(self.below) + 0.7);
        let mut body = Sheet::new(self.width, 0.0, "");
        self.ruler(&mut body, tracks_end);
        self.open_line(&mut body);
        for station in self.stations() {
            self.station(&mut body, station);
        }
        self.structures(&mut body);
        let mut y = tracks_end;
        y = self.key(&mut body, y);
        self.curves(&mut body, y);
        y += CURVES;
        self.profile(&mut body, y);
        y += PROFILE + AFTER;
        let mut sheet = Sheet::new(self.width, y, "");
        sheet.place(&body, (0.0, 0.0));
        sheet
    }

    fn ruler(&self, sheet: &mut Sheet, bottom: f64) {
        let right = self.to - self.from;
        let bottom = bottom + CURVES + PROFILE;
        sheet.line((0.0, RULER), (right, RULER), Stroke::solid(INK, 0.3));
        for &(at, mile) in &self.facts.mileposts {
            let x = self.x(at);
            if (0.0..=right).contains(&x) {
                sheet.line(
                    (x, RULER - 2.5),
                    (x, bottom),
                    Stroke::dashed(RULE, 0.15, "0.6 0.9"),
                );
                sheet.line((x, RULER - 2.5), (x, RULER), Stroke::solid(INK, 0.3));
                let text = format!("{mile:.0}");
                self.centred(sheet, (x, RULER - 3.2), &text, Type::bold(2.8, INK));
            }
        }
        sheet.text((0.0, 2.2), "miles", Type::italic(2.2, FAINT), Anchor::Start);
    }

    fn open_line(&self, sheet: &mut Sheet) {
        for &(at, length, tracks, _) in &self.facts.open {
            let Some((a, b)) = self.clip([at, at + length]) else {
                continue;
            };
            for track in 0..tracks {
                let y = self.y(-i32::from(track));
                sheet.line((a, y), (b, y), Stroke::solid(INK, 0.9));
            }
        }
        for gap in &self.facts.gaps {
            let x = self.x(gap.at);
            if x < 0.0 || x > self.to - self.from {
                continue;
            }
            let y = self.main_y();
            // Two strokes across the track, as a drawing is broken.
            let white = Stroke::solid("#fff", 1.6);
            sheet.line((x - 0.6, y + 2.2), (x + 0.6, y - 2.2), white);
            for side in [-0.9, 0.9] {
                sheet.line(
                    (x + side - 0.6, y + 2.4),
                    (x + side + 0.6, y - 2.4),
                    Stroke::solid(INK, 0.35),
                );
            }
            let text = format!("{:.1} mi left out", gap.length.miles());
            self.centred(sheet, (x, y + 5.4), &text, Type::italic(2.2, FAINT));
        }
    }

    fn station(&mut self, sheet: &mut Sheet, station: &ChartStation) {
        let reach = [station.at, station.at + station.length];
        let Some((a, b)) = self.clip(reach) else {
            return;
        };
        let middle = f64::midpoint(a, b);
        let name = match &station.call {
            Some(call) => format!("{}  ({call})", station.name),
            None => station.name.clone(),
        };
        self.centred(sheet, (middle, RULER + 5.0), &name, Type::bold(3.6, INK));
        let mut under = Vec::new();
        if let Some(mile) = station.mile {
            under.push(format!("mile {mile:.1}"));
        }
        under.extend(
            station
                .facilities
                .iter()
                .map(|facility| facility.word().to_owned()),
        );
        let under = under.join(" \u{b7} ");
        self.centred(sheet, (middle, RULER + 8.3), &under, Type::plain(2.3, INK));
        for x in [self.x(reach[0]), self.x(reach[1])] {
            if (0.0..=self.to - self.from).contains(&x) {
                let tick = Stroke::solid(FAINT, 0.2);
                sheet.line((x, RULER + 9.3), (x, self.main_y() + LANE * 0.5), tick);
            }
        }
        for track in &station.tracks {
            self.track(sheet, track);
        }
        for switch in &station.switches {
            let x = self.x(switch.at);
            if x < 0.0 || x > self.to - self.from {
                continue;
            }
            let y = self.y(switch.lane);
            // The points: a wedge toward the frog, full where thrown by hand, open where by power.
            let to = if switch.toward_high { 1.9 } else { -1.9 };
            let fill = if switch.control == Control::Hand {
                INK
            } else {
                "#fff"
            };
            let wedge = [(x, y - 0.9), (x + to, y), (x, y + 0.9)];
            sheet.path(&wedge, Stroke::solid(INK, 0.25), Some(fill));
            self.taken.push((x - 1.0, y - 1.0, x + 1.0, y + 1.0));
            if let Some(number) = switch.number {
                let up = switch.hand == Hand::Left || switch.hand == Hand::ThreeWay;
                let below = up == switch.toward_high;
                let text = format!("{number}");
                let at = (x, if below { y + 2.9 } else { y - 1.5 });
                sheet.text(at, &text, Type::plain(1.8, FAINT), Anchor::Middle);
                self.taken.push((x - 1.0, at.1 - 1.5, x + 1.0, at.1));
            }
        }
        for table in &station.turntables {
            let (x, y) = (self.x(table.at), self.y(table.lane));
            if !(0.0..=self.to - self.from).contains(&x) {
                continue;
            }
            for stall in 0..table.stalls {
                // Spokes around the upper half, away from the track that leads in.
                let turn =
                    std::f64::consts::PI * (stall as f64 + 1.0) / (table.stalls as f64 + 1.0);
                let (dx, dy) = (turn.cos(), -turn.sin());
                let (inner, outer) = (2.6, 4.8);
                sheet.line(
                    (x + dx * inner, y + dy * inner),
                    (x + dx * outer, y + dy * outer),
                    Stroke::solid(INK, 0.35),
                );
            }
            sheet.circle((x, y), 2.6, Stroke::solid(INK, 0.4), "#fff");
            sheet.line((x - 2.6, y), (x + 2.6, y), Stroke::solid(INK, 0.6));
            let mut text = table
                .length
                .map_or(String::new(), |length| self.units.show(length));
            match table.stalls {
                0 => {}
                1 => text.push_str(" \u{b7} 1 stall"),
                stalls => text.push_str(&format!(" \u{b7} {stalls} stalls")),
            }
            let kind = Type::plain(2.2, INK);
            self.centred(sheet, (x, y + 5.4), &text, kind);
            let half = kind.width(&text) / 2.0;
            self.taken.push((x - 4.8, y - 4.8, x + 4.8, y + 3.0));
            self.taken.push((x - half, y + 3.4, x + half, y + 5.8));
        }
        for (_, at, lane) in &station.crossings {
            let (x, y) = (self.x(*at), self.y(*lane));
            if (0.0..=self.to - self.from).contains(&x) {
                let half = [
                    (x, y - 1.3),
                    (x + 1.3, y),
                    (x, y + 1.3),
                    (x - 1.3, y),
                    (x, y - 1.3),
                ];
                sheet.path(&half, Stroke::solid(INK, 0.3), Some("#fff"));
            }
        }
        for track in &station.tracks {
            self.label(sheet, track);
        }
    }

    fn track(&mut self, sheet: &mut Sheet, track: &ChartTrack) {
        let right = self.to - self.from;
        let (a, b) = (self.x(track.reach[0]), self.x(track.reach[1]));
        if b < 0.0 || a > right {
            return;
        }
        let y = self.y(track.lane);
        let stroke = match track.usage {
            TrackUse::Main => Stroke::solid(INK, 0.9),
            TrackUse::Siding => Stroke::solid(INK, 0.6),
            _ => Stroke::solid(INK, 0.4),
        };
        let points: Vec<(f64, f64)> = self
            .course(track)
            .into_iter()
            .map(|(x, y)| (x.clamp(0.0, right), y))
            .collect();
        sheet.path(&points, stroke, None);
        if track.slopes {
            return;
        }
        for (shape, x) in [(track.ends[0], a), (track.ends[1], b)] {
            if !(0.0..=right).contains(&x) {
                continue;
            }
            match shape {
                TrackShape::Bumper => {
                    sheet.line((x, y - 1.1), (x, y + 1.1), Stroke::solid(INK, 0.6));
                }
                TrackShape::Nowhere => {
                    sheet.text((x, y + 1.0), "?", Type::bold(3.5, RISE), Anchor::Middle);
                }
                _ => {}
            }
        }
        let count = track.spots.len();
        for at in 0..count {
            // Spots are shared out over the far three quarters: where they are exactly is the
            // switching plan's affair.
            let (low, high) = (a + (b - a) * 0.3, b - (b - a) * 0.06);
            let (low, high) = match track.ends {
                [TrackShape::Bumper, _] => (a + (b - a) * 0.06, a + (b - a) * 0.7),
                _ => (low, high),
            };
            let x = low + (high - low) * (at as f64 + 0.5) / count as f64;
            if (0.0..=right).contains(&x) {
                sheet.rect(
                    (x - 0.7, y + 0.55),
                    (1.4, 0.9),
                    Stroke::solid(INK, 0.2),
                    "#fff",
                );
            }
        }
    }

    /// Name, length and capacity beside a track, or a number that the key under the tracks explains.
    fn label(&mut self, sheet: &mut Sheet, track: &ChartTrack) {
        if track.slopes {
            return;
        }
        let right = self.to - self.from;
        let (a, b) = (
            self.x(track.reach[0]).max(0.0),
            self.x(track.reach[1]).min(right),
        );
        if b <= a {
            return;
        }
        let y = self.y(track.lane);
        let usable = self.units.show(track.usable);
        let full = match track.usage {
            TrackUse::Main | TrackUse::Lead | TrackUse::Connection | TrackUse::Crossover => {
                track.name.clone()
            }
            TrackUse::Wye | TrackUse::Tail => format!("{}  {usable}", track.name),
            _ => format!("{}  {usable}  {} cars", track.name, track.cars),
        };
        let kind = Type::plain(2.2, INK);
        let texts = [full.clone(), track.name.clone()];
        for (which, text) in texts.iter().enumerate() {
            if which == 1 && track.usage != TrackUse::Main {
                break;
            }
            let width = kind.width(text);
            let middle = f64::midpoint(a, b) - width / 2.0;
            let tries = [
                (middle, y - 1.1),
                (middle, y + 3.3),
                (b + 1.2, y + 0.8),
                (a - 1.2 - width, y + 0.8),
                (a + 4.0, y - 1.1),
                (b - width - 4.0, y - 1.1),
            ];
            for (x, base) in tries {
                let frame = (x, base - 1.9, x + width, base + 0.4);
                let inside = x >= 0.0 && x + width <= self.width;
                let free = self.taken.iter().all(|&(x0, y0, x1, y1)| {
                    frame.2 < x0 || frame.0 > x1 || frame.3 < y0 || frame.1 > y1
                });
                if inside && free && !self.crosses_track(frame, track) {
                    sheet.text((x, base), text, kind, Anchor::Start);
                    self.taken.push(frame);
                    return;
                }
            }
        }
        self.keys.push(full);
        let x = f64::midpoint(a, b);
        let number = self.keys.len().to_string();
        sheet.circle((x, y), 1.6, Stroke::solid(INK, 0.2), "#fff");
        sheet.text((x, y + 0.75), &number, Type::bold(2.0, INK), Anchor::Middle);
        self.taken.push((x - 1.6, y - 1.6, x + 1.6, y + 1.6));
    }

    /// The corners of a track's line, from the low-mile end. It leaves its switch's lane at a slope
    /// and is on its own before the first switch that lies on it.
    fn course(&self, track: &ChartTrack) -> Vec<(f64, f64)> {
        let (a, b) = (self.x(track.reach[0]), self.x(track.reach[1]));
        let y = self.y(track.lane);
        let lane = |shape: TrackShape| match shape {
            TrackShape::Switch { lane } => lane,
            // Of two tracks joined end to end the one farther from the main slopes to the other.
            TrackShape::Joint { lane } if lane.abs() < track.lane.abs() => lane,
            _ => track.lane,
        };
        let [low, high] = track.ends.map(lane);
        if track.slopes {
            return vec![(a, self.y(low)), (b, self.y(high))];
        }
        let run = |lane: i32, room: f64| {
            (f64::from((lane - track.lane).abs()) * LANE * 0.9)
                .min((b - a) * 0.45)
                .min(room.max(0.5))
        };
        let room = match track.switches {
            Some([first, last]) => [self.x(first) - a - 1.2, b - self.x(last) - 1.2],
            None => [f64::INFINITY; 2],
        };
        let mut points = vec![(a, self.y(low))];
        if low != track.lane {
            points.push((a + run(low, room[0]), y));
        }
        if high != track.lane {
            points.push((b - run(high, room[1]), y));
        }
        points.push((b, self.y(high)));
        points
    }

    /// Whether a text's frame would lie on another track, or on this one's legs.
    fn crosses_track(&self, frame: (f64, f64, f64, f64), own: &ChartTrack) -> bool {
        self.stations()
            .flat_map(|station| &station.tracks)
            .any(|track| {
                self.course(track).windows(2).any(|pair| {
                    let (from, to) = (pair[0], pair[1]);
                    let level = (from.1 - to.1).abs() < 1e-9;
                    if level && track.name == own.name {
                        return false;
                    }
                    // Close enough together not to step over a frame two millimetres high.
                    let steps = ((to.0 - from.0).hypot(to.1 - from.1) / 0.8)
                        .ceil()
                        .clamp(1.0, 2000.0);
                    (0..=steps as u32).any(|step| {
                        let t = f64::from(step) / steps;
                        let (x, y) = (from.0 + (to.0 - from.0) * t, from.1 + (to.1 - from.1) * t);
                        x > frame.0 - 0.4 && x < frame.2 + 0.4 && y > frame.1 && y < frame.3
                    })
                })
            })
    }

    fn key(&self, sheet: &mut Sheet, y: f64) -> f64 {
        let kind = Type::plain(2.2, INK);
        let (mut x, mut base) = (0.0, y + 1.5);
        for (at, text) in self.keys.iter().enumerate() {
            let text = format!("{}  {text}", at + 1);
            let width = kind.width(&text) + 5.0;
            if x > 0.0 && x + width > self.width {
                x = 0.0;
                base += 3.4;
            }
            sheet.text((x, base), &text, kind, Anchor::Start);
            x += width;
        }
        if self.keys.is_empty() { y } else { base + 2.0 }
    }

    fn structures(&self, sheet: &mut Sheet) {
        let y = self.main_y();
        for structure in &self.facts.structures {
            let Some((a, b)) = self.clip(structure.reach) else {
                continue;
            };
            let color = match structure.kind {
                StructureKind::Drawbridge | StructureKind::LiftOut => WATER,
                _ => INK,
            };
            match structure.kind {
                StructureKind::Tunnel | StructureKind::Snowshed => {
                    let dash = Stroke::dashed(color, 0.35, "1.4 0.8");
                    sheet.line((a, y - 1.9), (b, y - 1.9), dash);
                    sheet.line((a, y + 1.9), (b, y + 1.9), dash);
                }
                _ => {
                    let line = Stroke::solid(color, 0.35);
                    for side in [-1.7, 1.7] {
                        let out = side * 1.5;
                        sheet.path(
                            &[
                                (a - 0.8, y + out),
                                (a, y + side),
                                (b, y + side),
                                (b + 0.8, y + out),
                            ],
                            line,
                            None,
                        );
                    }
                    if structure.kind == StructureKind::Drawbridge {
                        let x = f64::midpoint(a, b);
                        sheet.circle((x, y), 1.1, Stroke::solid(color, 0.35), "#fff");
                    }
                }
            }
            let word = structure.kind.word();
            let text = match &structure.name {
                Some(name) if name.to_lowercase().contains(word) => name.clone(),
                Some(name) => format!("{name}, {word}"),
                None => word.to_owned(),
            };
            let x = f64::midpoint(a, b);
            self.centred(sheet, (x, y - 3.4), &text, Type::italic(2.2, color));
        }
        for (from, to, speed, why) in &self.facts.slow {
            let Some((a, b)) = self.clip([*from, *to]) else {
                continue;
            };
            let y = self.main_y() + LANE * 0.95;
            sheet.line((a, y), (b, y), Stroke::dashed(RISE, 0.5, "0.9 0.6"));
            let speed = speed.map_or(String::new(), |speed| format!("{:.0} mph", speed.mph()));
            let text = if why.is_empty() {
                speed
            } else {
                format!("{speed}: {why}")
            };
            self.centred(
                sheet,
                (f64::midpoint(a, b), y + 2.8),
                &text,
                Type::plain(2.2, RISE),
            );
        }
    }

    /// Curves as boxes above the line (to the left) or below it (to the right).
    fn curves(&self, sheet: &mut Sheet, top: f64) {
        let axis = top + CURVES * 0.5;
        let right = self.to - self.from;
        sheet.line((0.0, axis), (right, axis), Stroke::solid(CURVE, 0.25));
        for curve in &self.facts.curves {
            let Some((a, b)) = self.clip(curve.reach) else {
                continue;
            };
            let side = if curve.turn == Some(Turn::Right) {
                1.0
            } else {
                -1.0
            };
            // Sharper curves stand further out, up to the band's edge.
            let out = (curve.degrees / 40.0).clamp(0.25, 1.0) * CURVES * 0.36;
            let points = [
                (a, axis),
                (a, axis + side * out),
                (b, axis + side * out),
                (b, axis),
            ];
            let fill = Some("#dfe9f3");
            sheet.path(&points, Stroke::solid(CURVE, 0.3), fill);
            let text = format!("R {}", self.units.show(curve.radius));
            let kind = Type::plain(2.1, CURVE);
            let base = if side < 0.0 { axis + 2.6 } else { axis - 0.9 };
            if kind.width(&text) < b - a + 4.0 {
                sheet.text((f64::midpoint(a, b), base), &text, kind, Anchor::Middle);
            }
        }
        sheet.text(
            (right + 0.0, axis - CURVES * 0.38),
            "curves",
            Type::italic(2.0, FAINT),
            Anchor::End,
        );
    }

    fn profile(&self, sheet: &mut Sheet, top: f64) {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for (_, height) in &self.facts.elevations {
            low = low.min(height.meters());
            high = high.max(height.meters());
        }
        if !low.is_finite() {
            return;
        }
        let span = (high - low).max(0.05);
        let (floor, ceiling) = (top + PROFILE - 1.0, top + 6.0);
        let y =
            |height: Actual| floor - 3.0 - (height.meters() - low) / span * (floor - 3.0 - ceiling);
        let right = self.to - self.from;
        let mut points: Vec<(f64, f64)> = Vec::new();
        for pair in self.facts.elevations.windows(2) {
            let ((a, ha), (b, hb)) = (pair[0], pair[1]);
            let (xa, xb) = (self.x(a), self.x(b));
            if xb < 0.0 || xa > right || xb <= xa {
                continue;
            }
            let at = |x: f64| y(ha + (hb - ha) * ((x - xa) / (xb - xa)));
            let (ca, cb) = (xa.max(0.0), xb.min(right));
            points.push((ca, at(ca)));
            points.push((cb, at(cb)));
        }
        let (Some(first), Some(last)) = (points.first().copied(), points.last().copied()) else {
            return;
        };
        let mut ground = points.clone();
        ground.push((last.0, floor));
        ground.push((first.0, floor));
        sheet.path(&ground, Stroke::solid(EARTH, 0.0), Some(EARTH));
        sheet.path(&points, Stroke::solid(RISE, 0.6), None);
        sheet.line((0.0, floor), (right, floor), Stroke::solid(INK, 0.3));
        let mut last_label = f64::NEG_INFINITY;
        for grade in &self.facts.grades {
            let Some((a, b)) = self.clip(grade.reach) else {
                continue;
            };
            let percent = grade.grade.percent();
            if percent.abs() < 0.05 {
                continue;
            }
            let arrow = if percent > 0.0 {
                "\u{2197}"
            } else {
                "\u{2198}"
            };
            let text = format!("{arrow} {:.1} %", percent.abs());
            let kind = Type::plain(2.2, RISE);
            let x = f64::midpoint(a, b);
            let half = kind.width(&text) / 2.0;
            if x - half > last_label && b - a > 3.0 {
                sheet.text((x, floor - 0.9), &text, kind, Anchor::Middle);
                last_label = x + half + 0.6;
            }
        }
        // Heights where the strip begins and ends and at stations.
        let mut told = f64::NEG_INFINITY;
        for (at, height) in &self.facts.elevations {
            let x = self.x(*at);
            let text = self.units.show(*height);
            let kind = Type::plain(2.0, INK);
            let half = kind.width(&text) / 2.0 + 1.0;
            if x < half || x > right - half || x - half < told {
                continue;
            }
            sheet.circle((x, y(*height)), 0.5, Stroke::solid(RISE, 0.2), "#fff");
            sheet.text((x, y(*height) - 1.4), &text, kind, Anchor::Middle);
            told = x + half;
        }
    }
}
