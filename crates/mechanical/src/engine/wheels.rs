//! Wheel arrangements and cylinders as people write them.

/// A wheel arrangement.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wheels {
    /// Whyte notation: leading, driving (one number for each set) and trailing wheels.
    Whyte(Vec<u8>),
    /// Trucks by letters, as `B-B` or `A1A-A1A`: the driven axles of each letter and the idle ones of
    /// each figure.
    Trucks(Vec<String>),
}

impl Wheels {
    /// Reads a wheel arrangement; `None` if it is neither form. A tank engine's `T` may follow.
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim().to_uppercase();
        // What a spreadsheet makes of the hyphen, and tank engines' suffix.
        let text = text.replace(['–', '—', '\u{2212}'], "-");
        let core = text.strip_suffix('T').map_or(text.as_str(), str::trim_end);
        let parts: Vec<&str> = core.split(['-', '+']).map(str::trim).collect();
        if parts.len() >= 3
            && let Some(wheels) = parts
                .iter()
                .map(|part| part.parse::<u8>().ok())
                .collect::<Option<Vec<_>>>()
        {
            let even = wheels.iter().all(|count| count % 2 == 0 && *count <= 16);
            let driven = wheels[1..wheels.len() - 1].iter().all(|count| *count > 0);
            return (even && driven).then_some(Self::Whyte(wheels));
        }
        let truck = |part: &&str| {
            !part.is_empty()
                && part.chars().any(|c| ('A'..='E').contains(&c))
                && part
                    .chars()
                    .all(|c| ('A'..='E').contains(&c) || ('1'..='4').contains(&c))
        };
        parts
            .iter()
            .all(truck)
            .then(|| Self::Trucks(parts.iter().map(|&p| p.to_owned()).collect()))
    }

    /// How many axles are driven.
    pub fn driven_axles(&self) -> u32 {
        match self {
            Self::Whyte(wheels) => wheels[1..wheels.len() - 1]
                .iter()
                .map(|&count| u32::from(count) / 2)
                .sum(),
            Self::Trucks(trucks) => trucks
                .iter()
                .flat_map(|truck| truck.bytes())
                .filter(u8::is_ascii_uppercase)
                .map(|letter| u32::from(letter - b'A') + 1)
                .sum(),
        }
    }
}

/// Bore and stroke.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cylinders {
    /// How many cylinders.
    pub count: u8,
    /// Bore in inches, full size.
    pub bore_in: f64,
    /// Stroke in inches, full size.
    pub stroke_in: f64,
}

impl Cylinders {
    /// Reads `22 x 28`, `4 22x28` or `26" × 30"`; `None` if it is not that, or no engine's.
    pub fn parse(text: &str) -> Option<Self> {
        let text = text
            .to_lowercase()
            .replace(['×', '*'], "x")
            .replace(['"', '″'], " ");
        let (head, stroke) = text.rsplit_once('x')?;
        let mut words: Vec<&str> = head.split_whitespace().collect();
        let bore = fraction(words.pop()?)?;
        let stroke = fraction(stroke.trim().trim_end_matches("in").trim())?;
        let count = match words.as_slice() {
            [] => 2,
            [count] => count.parse().ok()?,
            _ => return None,
        };
        let plausible = (5.0..60.0).contains(&bore) && (8.0..60.0).contains(&stroke);
        (plausible && (2..=6).contains(&count)).then_some(Self {
            count,
            bore_in: bore,
            stroke_in: stroke,
        })
    }
}

/// `23.75` or `23-3/4`.
fn fraction(text: &str) -> Option<f64> {
    match text.split_once('-') {
        Some((whole, part)) => {
            let (above, below) = part.split_once('/')?;
            let below: f64 = below.parse().ok()?;
            let value = whole.parse::<f64>().ok()? + above.parse::<f64>().ok()? / below;
            value.is_finite().then_some(value)
        }
        None => text.parse().ok().filter(|value: &f64| value.is_finite()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arrangements_are_read_in_both_notations() {
        assert_eq!(Wheels::parse("2-8-0"), Some(Wheels::Whyte(vec![2, 8, 0])));
        assert_eq!(Wheels::parse("2–6–6–2T").map(|w| w.driven_axles()), Some(6));
        assert_eq!(Wheels::parse("B-B").map(|w| w.driven_axles()), Some(4));
        assert_eq!(Wheels::parse("A1A-A1A").map(|w| w.driven_axles()), Some(4));
        assert_eq!(Wheels::parse("b+b").map(|w| w.driven_axles()), Some(4));
        assert_eq!(Wheels::parse("2-7-0"), None);
        assert_eq!(Wheels::parse("2-0-0"), None);
        assert_eq!(Wheels::parse("two-eight-oh"), None);
    }

    #[test]
    fn cylinders_are_read() {
        let read = |text| Cylinders::parse(text).map(|c| (c.count, c.bore_in, c.stroke_in));
        assert_eq!(read("26 x 30"), Some((2, 26.0, 30.0)));
        assert_eq!(read("4 23-3/4 x 32"), Some((4, 23.75, 32.0)));
        assert_eq!(read("22\"×28\""), Some((2, 22.0, 28.0)));
        assert_eq!(read("22"), None);
        assert_eq!(read("220 x 280"), None);
    }
}
