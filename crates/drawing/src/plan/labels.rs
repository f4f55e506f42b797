//! Texts that do not lie over one another.

/// A rectangle taken, in millimetres: left, top, right, bottom.
pub(super) type Box = [f64; 4];

/// What is taken already.
#[derive(Debug, Clone, Default)]
pub(super) struct Taken {
    boxes: Vec<Box>,
    /// Squares of lines that texts should not cover, with how bad it is.
    points: std::collections::HashMap<(i32, i32), u32>,
    /// Size of the sheet, beyond which there is nothing.
    sheet: (f64, f64),
}

/// Side of the squares by which lines are kept, millimetres.
const SQUARE: f64 = 1.0;

impl Taken {
    /// Nothing yet on a sheet of this size.
    pub(super) fn new(sheet: (f64, f64)) -> Self {
        Self {
            sheet,
            ..Self::default()
        }
    }

    /// Keeps texts off a point of a line, this much.
    pub(super) fn keep_off(&mut self, at: (f64, f64), much: u32) {
        let square = (
            (at.0 / SQUARE).floor() as i32,
            (at.1 / SQUARE).floor() as i32,
        );
        let worst = self.points.entry(square).or_insert(0);
        *worst = (*worst).max(much);
    }

    /// Keeps texts off a straight line.
    pub(super) fn keep_off_line(&mut self, a: (f64, f64), b: (f64, f64), much: u32) {
        let steps = ((b.0 - a.0).hypot(b.1 - a.1) / (0.7 * SQUARE))
            .ceil()
            .max(1.0);
        for step in 0..=steps as u32 {
            let part = f64::from(step) / steps;
            self.keep_off((a.0 + (b.0 - a.0) * part, a.1 + (b.1 - a.1) * part), much);
        }
    }

    /// How bad a place is: texts covered count much, squares of line little.
    fn cost(&self, place: Box) -> f64 {
        let over = self
            .boxes
            .iter()
            .filter(|other| {
                place[0] < other[2]
                    && other[0] < place[2]
                    && place[1] < other[3]
                    && other[1] < place[3]
            })
            .count();
        let mut crossed = 0;
        for x in (place[0] / SQUARE).floor() as i32..=(place[2] / SQUARE).floor() as i32 {
            for y in (place[1] / SQUARE).floor() as i32..=(place[3] / SQUARE).floor() as i32 {
                crossed += self.points.get(&(x, y)).copied().unwrap_or(0);
            }
        }
        let outside = place[0] < 4.0
            || place[1] < 4.0
            || place[2] > self.sheet.0 - 4.0
            || place[3] > self.sheet.1 - 4.0;
        1000.0 * (over as f64 + f64::from(u8::from(outside))) + f64::from(crossed)
    }

    /// The best of some places, the first of equals, which is then taken. Nothing if every one of
    /// them would cover another text.
    pub(super) fn place(&mut self, places: &[Box]) -> Option<usize> {
        let costs = places.iter().map(|place| self.cost(*place));
        let (best, cost) = costs.enumerate().min_by(|a, b| a.1.total_cmp(&b.1))?;
        (cost < 1000.0).then(|| {
            self.boxes.push(places[best]);
            best
        })
    }

    /// Takes a rectangle whatever is there.
    pub(super) fn take(&mut self, place: Box) {
        self.boxes.push(place);
    }
}
