//! Track at full size on paper: a plan becomes PDF sheets that are laid side by side, an SVG, or a DXF
//! for a cutting machine.
//!
//! Everything is drawn in millimetres on the model and written in true units. A printer that scales is
//! caught by the bars on every sheet.

mod draw;
mod dxf;
mod letters;
mod pdf;
pub mod shape;
mod sheet;
mod svg;
mod table;
mod tile;
mod words;

use engineering::turnout::{Line, Plan, Route};

pub use shape::Art;
pub use sheet::{Paper, Sheet, Title};
pub use table::Section;

/// A plate: one or more plans with a title.
#[derive(Debug, Clone)]
pub struct Plate {
    /// What the title block says.
    pub title: Title,
    /// What is drawn, millimetres.
    pub art: Art,
    /// The track that a long drawing is parted along.
    pub along: Option<Line>,
    /// The tables.
    pub sections: Vec<Section>,
}

/// What stands in the title block besides the plan's own facts.
#[derive(Debug, Clone, Default)]
pub struct Heading {
    /// The railroad's name; empty if there is none.
    pub railroad: String,
    /// The scale by name.
    pub scale: String,
    /// The railroad's date; empty if there is none.
    pub date: String,
    /// Revision, as the owner counts them.
    pub revision: String,
    /// Which track or switch this is for; empty if none.
    pub place: String,
}

impl Plate {
    /// The plate of a plan.
    pub fn new(plan: &Plan, heading: &Heading) -> Self {
        Self {
            title: title(plan, heading),
            art: draw::draw(plan),
            along: (!plan.axis.is_empty()).then(|| Route::smooth("", plan.axis.clone()).center()),
            sections: table::sections(plan),
        }
        .leveled()
    }

    /// Turned so that its track runs along the paper from end to end.
    fn leveled(mut self) -> Self {
        let Some(line) = &self.along else { return self };
        let (from, to) = (line.at(0.0).point(), line.at(line.reach()).point());
        let chord = to - from;
        // A loop has no direction.
        if chord.hypot() < 0.2 * line.length() {
            return self;
        }
        let turn = -chord.atan2();
        let placing = shape::Placing {
            turn,
            shift: kurbo::Vec2::ZERO,
        };
        let mut art = Art::default();
        art.place(&self.art, placing);
        let mut turned = Line::default();
        for part in line.parts() {
            let pieces = part.path.pieces().iter().map(|piece| {
                let mut piece = *piece;
                let at = placing.apply(piece.begin().point());
                (piece.x, piece.y) = (at.x, at.y);
                piece.heading += turn;
                piece
            });
            let path = engineering::curve::Path::new(pieces);
            turned.push(&path, part.left, 0.0, path.length());
        }
        self.art = art;
        self.along = Some(turned);
        self
    }

    /// Its sheets: first the drawing, then the tables.
    pub fn sheets(&self, paper: Paper) -> Vec<Sheet> {
        let along = self.along.as_ref();
        let tables = |drawn| table::sheets(&self.sections, paper, &self.title, drawn);
        let mut sheets = tile::sheets(&self.art, along, paper, &self.title, |drawn| {
            tables(drawn).len()
        });
        sheets.extend(tables(sheets.len()));
        sheets
    }

    /// As a drawing in SVG.
    pub fn svg(&self) -> String {
        svg::write(&self.art, &self.title, &self.sections)
    }

    /// As a DXF.
    pub fn dxf(&self) -> String {
        dxf::write(&self.art)
    }
}

/// Several plates as one PDF, and how many sheets it has.
///
/// # Errors
/// What the PDF library says; it has no reason to.
pub fn pdf(plates: &[Plate], paper: Paper) -> Result<(Vec<u8>, usize), String> {
    let sheets: Vec<Sheet> = plates
        .iter()
        .flat_map(|plate| plate.sheets(paper))
        .collect();
    let title = plates.first().map_or("", |plate| plate.title.what.as_str());
    Ok((pdf::write(&sheets, title)?, sheets.len()))
}

fn title(plan: &Plan, heading: &Heading) -> Title {
    let build = &plan.build;
    let what = if heading.place.is_empty() {
        plan.title.clone()
    } else {
        format!("{}: {}", heading.place, plan.title)
    };
    let mut lines = vec![format!(
        "scale {} 1:{}, gauge {} ({}), rail code {}",
        heading.scale,
        words::number(build.ratio),
        words::mm(build.clearances.gauge),
        words::inches(build.clearances.gauge),
        build.rail.code
    )];
    let pick = |start: &str| {
        plan.table
            .iter()
            .find(|fact| fact.what.starts_with(start))
            .map(|fact| words::amount(&fact.amount)[0].clone())
    };
    let facts: Vec<String> = [
        ("frog angle", "frog angle"),
        ("angle of crossing", "angle"),
        ("lead, points to theoretical", "lead to PF"),
        ("closure radius, center", "closure radius"),
        ("radius, center line", "radius"),
        ("slip curve", "slip radius"),
    ]
    .into_iter()
    .filter_map(|(start, name)| pick(start).map(|amount| format!("{name} {amount}")))
    .collect();
    if !facts.is_empty() {
        lines.push(facts.join(", "));
    }
    lines.push(format!(
        "clearances {}; practice {}; ties {}",
        build.clearances.standard, build.practice, plan.tie_table
    ));
    let mut last = Vec::new();
    if !heading.date.is_empty() {
        last.push(format!("railroad as of {}", heading.date));
    }
    last.push(format!("revision {}", heading.revision));
    lines.push(last.join("; "));
    Title {
        what,
        railroad: heading.railroad.clone(),
        lines,
    }
}
