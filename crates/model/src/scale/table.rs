//! The published scales and gauges, each with the document it was read in.
//!
//! The American ratios are those that NMRA S-3.2 prints beside its track dimensions; S-1.2 and S-1.3, which define them, were
//! not at hand. Where documents disagree, each has its own entry and the name tells them apart: O is 1:48 in America, 1:45 in
//! NEM and 1:43.5 in Britain and France.

use super::{Scale, ScaleAndGauge};
use crate::units::{Actual, Prototype};

/// Where an entry comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// NMRA Standard S-3.2, track for standard scales, edition of February 2010.
    NmraS32Of2010,
    /// NMRA Standard S-3.2, the older edition that gives gauges as a minimum and a maximum.
    NmraS32Older,
    /// NMRA Standard S-3.1, track for Proto and Fine scales, 2004.
    NmraS31Of2004,
    /// MOROP NEM 010, scales and gauges, edition of 2011 and its table as of 2015.
    Nem010,
    /// A printed list of common scales that is no standard.
    CommonList,
    /// Common practice, no source.
    CommonPractice,
}

impl Source {
    /// The document as one would cite it.
    #[must_use]
    pub const fn document(self) -> &'static str {
        match self {
            Self::NmraS32Of2010 => "NMRA S-3.2 (Feb 2010)",
            Self::NmraS32Older => "NMRA S-3.2 (earlier edition, min/max form)",
            Self::NmraS31Of2004 => "NMRA S-3.1 (2004)",
            Self::Nem010 => "MOROP NEM 010 (2011)",
            Self::CommonList => "printed list of common scales, not a standard",
            Self::CommonPractice => "common practice, no source",
        }
    }
}

/// How far the figures of an entry can be relied on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confidence {
    /// Ratio and gauge were read in the source named.
    Published,
    /// The ratio was read in the source named; the gauge is from memory.
    GaugeFromMemory,
    /// From memory, and unconfirmed.
    FromMemory,
}

/// A scale and gauge from the tables.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Listed {
    /// Its usual name.
    pub name: &'static str,
    /// Other names for it.
    pub aliases: &'static [&'static str],
    /// How many times larger the prototype is.
    pub ratio: f64,
    /// Gauge of the model's track, in millimeters.
    pub gauge_mm: f64,
    /// Gauge of the prototype it is meant for, in millimeters, where the name settles it.
    pub prototype_gauge_mm: Option<f64>,
    /// Where it comes from.
    pub source: Source,
    /// How far to rely on it.
    pub confidence: Confidence,
    /// What a reader should know: other editions, disagreements.
    pub note: &'static str,
}

impl Listed {
    /// The proportion.
    #[must_use]
    pub const fn scale(&self) -> Scale {
        Scale(self.ratio)
    }

    /// As a value that a railroad can own.
    #[must_use]
    pub fn to_scale_and_gauge(&self) -> ScaleAndGauge {
        ScaleAndGauge {
            name: self.name.to_owned(),
            scale: self.scale(),
            gauge: Actual::from_mm(self.gauge_mm),
            prototype_gauge: self.prototype_gauge_mm.map(Prototype::from_mm),
        }
    }

    const fn new(name: &'static str, ratio: f64, gauge_mm: f64, source: Source) -> Self {
        Self {
            name,
            aliases: &[],
            ratio,
            gauge_mm,
            prototype_gauge_mm: None,
            source,
            confidence: Confidence::Published,
            note: "",
        }
    }

    const fn also(mut self, aliases: &'static [&'static str]) -> Self {
        self.aliases = aliases;
        self
    }

    const fn of(mut self, prototype_gauge_mm: f64) -> Self {
        self.prototype_gauge_mm = Some(prototype_gauge_mm);
        self
    }

    const fn unsure(mut self, confidence: Confidence) -> Self {
        self.confidence = confidence;
        self
    }

    const fn note(mut self, note: &'static str) -> Self {
        self.note = note;
        self
    }
}

/// 4 ft 8½ in, kept as the 1435 mm of metric lines: the two differ by 0.1 mm.
const STANDARD: f64 = 1435.0;
const THREE_FOOT: f64 = 914.4;
const THIRTY_INCH: f64 = 762.0;
const TWO_FOOT: f64 = 609.6;
const METER: f64 = 1000.0;

use Confidence::{FromMemory, GaugeFromMemory};
use Source::{CommonList, CommonPractice, Nem010, NmraS31Of2004, NmraS32Of2010, NmraS32Older};

/// Every scale and gauge known by name.
#[must_use]
pub const fn listed() -> &'static [Listed] {
    LISTED
}

#[rustfmt::skip]
const LISTED: &[Listed] = &[
    // Standard gauge, America and everywhere.
    Listed::new("Z", 220.0, 6.5, Nem010).of(STANDARD),
    Listed::new("N", 160.0, 9.0, Nem010).of(STANDARD),
    Listed::new("TT", 120.0, 12.0, Nem010).of(STANDARD),
    Listed::new("HO", 87.1, 16.5, NmraS32Of2010).of(STANDARD)
        .note("3.5 mm to the foot is 1:87.0857, which NMRA rounds to 1:87.1; NEM's H0 is 1:87"),
    Listed::new("S", 64.0, 22.42, NmraS32Of2010).also(&["S standard"]).of(STANDARD)
        .note("the gauge is the 0.883 in minimum of the earlier S-3.2"),
    Listed::new("O", 48.0, 31.75, NmraS32Of2010).also(&["O 1:48"]).of(STANDARD)
        .note("1.250 in gauge stands for 5 ft; Proto:48 has the right gauge; NEM's 0 is 1:45, the British and French O 1:43.5"),
    Listed::new("1", 32.0, 45.0, Nem010).also(&["I", "No. 1", "1 gauge"]).of(STANDARD),
    // Standard gauge by the finer standards.
    Listed::new("Proto:48", 48.0, 29.90, NmraS31Of2004).also(&["P:48", "P48", "Proto48"]).of(STANDARD),
    Listed::new("Proto:32", 32.0, 44.86, NmraS31Of2004).also(&["P:32", "Proto32"]).of(STANDARD),
    // British.
    Listed::new("N British", 148.0, 9.0, CommonList).also(&["British N", "N 1:148"]).of(STANDARD)
        .note("2 1/16 mm to the foot, 1:147.8"),
    Listed::new("OO", 76.2, 16.5, NmraS32Of2010).also(&["00", "OO British"]).of(STANDARD).unsure(GaugeFromMemory)
        .note("4 mm to the foot on HO track, which stands for 4 ft 1 1/2 in; the American OO has 19.05 mm"),
    Listed::new("OO American", 76.2, 19.05, NmraS32Of2010).also(&["American OO"]).of(STANDARD),
    Listed::new("EM", 76.2, 18.2, NmraS32Of2010).of(STANDARD).unsure(GaugeFromMemory)
        .note("one printed list gives 18 mm"),
    Listed::new("P4", 76.2, 18.83, NmraS32Of2010).also(&["S4", "Protofour", "Scalefour"]).of(STANDARD).unsure(GaugeFromMemory)
        .note("1435 mm at 1:76.2 is 18.832 mm"),
    Listed::new("O 1:43.5", 43.5, 32.0, CommonList).also(&["O British", "O French", "British O"]).of(STANDARD)
        .note("7 mm to the foot"),
    // Narrow gauge, America.
    Listed::new("On3", 48.0, 19.05, NmraS32Of2010).of(THREE_FOOT),
    Listed::new("On30", 48.0, 16.5, NmraS32Of2010).also(&["On2 1/2", "On2½"]).of(THIRTY_INCH)
        .note("on HO track, which stands for 31.2 in"),
    Listed::new("On2", 48.0, 12.7, NmraS32Of2010).of(TWO_FOOT),
    Listed::new("Sn3", 64.0, 14.3, NmraS32Of2010).of(THREE_FOOT),
    Listed::new("HOn3", 87.1, 10.5, NmraS32Of2010).of(THREE_FOOT).unsure(GaugeFromMemory)
        .note("the 2010 target is 0.415 in, 10.54 mm"),
    Listed::new("HOn30", 87.1, 9.0, CommonPractice).also(&["HOn2 1/2", "HOn2½"]).of(THIRTY_INCH).unsure(FromMemory)
        .note("on N track, which stands for 30.9 in"),
    Listed::new("HOn2", 87.1, 7.01, NmraS32Older).of(TWO_FOOT),
    Listed::new("Nn3", 160.0, 6.5, CommonPractice).of(THREE_FOOT).unsure(FromMemory)
        .note("on Z track, which stands for 40.9 in"),
    Listed::new("Fn3", 20.3, 45.0, NmraS32Of2010).of(THREE_FOOT),
    // Out of doors.
    Listed::new("G", 22.5, 45.0, Nem010).also(&["IIm", "2m"]).of(METER)
        .note("meter gauge on 45 mm track; other railroads on this track are sold as G in scales from 1:20.3 to 1:32"),
    // NEM standard gauge, where it differs from the above in ratio or gauge.
    Listed::new("H0", 87.0, 16.5, Nem010).also(&["HO 1:87", "H0 1:87"]).of(STANDARD)
        .note("with the digit 0; NMRA's HO is 1:87.1"),
    Listed::new("S NEM", 64.0, 22.5, Nem010).of(STANDARD).unsure(FromMemory)
        .note("editions conflict: a reprinted table of NEM 010 gives 1:60, the 2011 edition from memory 1:64"),
    Listed::new("O 1:45", 45.0, 32.0, Nem010).also(&["0", "O NEM", "0 NEM"]).of(STANDARD),
    Listed::new("II", 22.5, 64.0, Nem010).of(STANDARD),
    Listed::new("III", 16.0, 89.0, Nem010).of(STANDARD),
    Listed::new("V", 11.0, 127.0, Nem010).of(STANDARD),
    Listed::new("VII", 8.0, 184.0, Nem010).of(STANDARD),
    Listed::new("X", 5.5, 260.0, Nem010).of(STANDARD),
    // NEM narrow gauges: m for 850 to 1250 mm, e for 650 to 850, i for 400 to 650, p for 300 to 400.
    Listed::new("Zm", 220.0, 4.5, Nem010),
    Listed::new("Nm", 160.0, 6.5, Nem010),
    Listed::new("Ne", 160.0, 4.5, Nem010),
    Listed::new("TTm", 120.0, 9.0, Nem010),
    Listed::new("TTe", 120.0, 6.5, Nem010),
    Listed::new("TTi", 120.0, 4.5, Nem010),
    Listed::new("H0m", 87.0, 12.0, Nem010).also(&["HOm"]),
    Listed::new("H0e", 87.0, 9.0, Nem010).also(&["HOe"]),
    Listed::new("H0i", 87.0, 6.5, Nem010).also(&["HOi", "H0f", "HOf"]),
    Listed::new("H0p", 87.0, 4.5, Nem010).also(&["HOp"]),
    Listed::new("0m", 45.0, 22.5, Nem010).also(&["Om"]),
    Listed::new("0e", 45.0, 16.5, Nem010).also(&["Oe"]),
    Listed::new("0i", 45.0, 12.0, Nem010).also(&["Oi", "0f", "Of"]),
    Listed::new("0p", 45.0, 9.0, Nem010).also(&["Op"]),
    Listed::new("Im", 32.0, 32.0, Nem010).also(&["1m"]),
    Listed::new("Ie", 32.0, 22.5, Nem010).also(&["1e"]),
    Listed::new("Ii", 32.0, 16.5, Nem010).also(&["1i", "If", "1f"]),
    Listed::new("Ip", 32.0, 12.0, Nem010).also(&["1p"]),
    Listed::new("IIe", 22.5, 32.0, Nem010).also(&["2e"]),
    Listed::new("IIi", 22.5, 22.5, Nem010).also(&["2i", "IIf", "2f"]),
    Listed::new("IIp", 22.5, 16.5, Nem010).also(&["2p"]),
];

#[cfg(test)]
mod tests {
    use super::super::look_up;
    use super::*;
    use std::collections::HashSet;

    fn at(name: &str) -> &'static Listed {
        look_up(name).unwrap()
    }

    /// Model gauge in inches times the ratio. NEM 010 and NMRA S-3.2 figures; the products reckoned.
    #[test]
    fn gauges_stand_for() {
        for (name, inches) in [
            ("Z", 56.30),
            ("N", 56.69),
            ("N British", 52.4),
            ("TT", 56.69),
            ("HO", 56.58),
            ("OO", 49.50),
            ("OO American", 57.15),
            ("EM", 54.60),
            ("P4", 56.49),
            ("S", 56.49),
            ("O", 60.00),
            ("O 1:45", 56.69),
            ("O 1:43.5", 54.80),
            ("Proto:48", 56.50),
            ("1", 56.69),
            ("G", 39.86),
            ("Fn3", 35.96),
            ("On3", 36.00),
            ("On30", 31.18),
            ("On2", 24.00),
            ("Sn3", 36.03),
            ("HOn3", 36.01),
            ("HOn2", 24.0),
            ("Nn3", 40.94),
        ] {
            let found = at(name).to_scale_and_gauge().represented_gauge().inches();
            assert!((found - inches).abs() < 0.06, "{name}: {found}");
        }
    }

    /// NMRA S-3.2 (both editions) and S-3.1 give these gauges in inches.
    #[test]
    fn gauges_in_inches() {
        for (name, least, most) in [
            ("O", 1.250, 1.285),
            ("On3", 0.750, 0.778),
            ("On2", 0.500, 0.522),
            ("S", 0.883, 0.905),
            ("Sn3", 0.563, 0.585),
            ("OO American", 0.750, 0.772),
            ("HO", 0.649, 0.672),
            ("On30", 0.649, 0.672),
            ("HOn2", 0.276, 0.290),
            ("HOn3", 0.413, 0.423),
            ("Proto:48", 1.177, 1.203),
            ("Proto:32", 1.766, 1.805),
        ] {
            let found = at(name).gauge_mm / 25.4;
            assert!(
                found >= least - 0.0005 && found <= most,
                "{name}: {found} in"
            );
        }
    }

    /// 1435 mm divided by the ratio.
    #[test]
    fn exact_gauges() {
        for (name, mm) in [
            ("Z", 6.523),
            ("N", 8.969),
            ("TT", 11.958),
            ("HO", 16.475),
            ("S", 22.422),
            ("O", 29.896),
            ("O 1:45", 31.889),
            ("P4", 18.832),
        ] {
            let scale = at(name).scale();
            assert!(
                (scale.to_actual(Prototype::from_mm(1435.0)).mm() - mm).abs() < 0.001,
                "{name}"
            );
        }
    }

    /// NEM 010: the gauge for one class of narrow gauge is the next larger class of the next smaller size.
    #[test]
    fn narrow_gauges_step_down_the_sizes() {
        let sizes = ["Z", "N", "TT", "H0", "S NEM", "O 1:45", "1", "II"];
        let prefixes = ["Z", "N", "TT", "H0", "S", "0", "I", "II"];
        let mut checked = 0;
        for (i, prefix) in prefixes.iter().enumerate() {
            for (step, letter) in ["m", "e", "i", "p"].iter().enumerate() {
                let Ok(narrow) = look_up(&format!("{prefix}{letter}")) else {
                    continue;
                };
                // Below Z there is only the 4.5 mm gauge of Zm.
                let expected = match i.checked_sub(step + 1) {
                    Some(size) => at(sizes[size]).gauge_mm,
                    None => 4.5,
                };
                assert_eq!(narrow.gauge_mm, expected, "{}", narrow.name);
                assert_eq!(narrow.ratio, at(sizes[i]).ratio);
                checked += 1;
            }
        }
        assert_eq!(checked, 1 + 2 + 3 + 4 + 4 + 4 + 4);
    }

    /// NEM 010's own examples of naming.
    #[test]
    fn nem_examples() {
        assert_eq!((at("H0").ratio, at("H0").gauge_mm), (87.0, 16.5));
        assert_eq!((at("0m").ratio, at("0m").gauge_mm), (45.0, 22.5));
    }

    #[test]
    fn names_are_unique_and_sound() {
        let mut seen = HashSet::new();
        for entry in listed() {
            assert!(Scale::new(entry.ratio).is_some() && entry.gauge_mm > 0.0);
            for name in std::iter::once(&entry.name).chain(entry.aliases) {
                assert!(seen.insert(*name), "{name} occurs twice");
            }
            if let Some(prototype) = entry.prototype_gauge_mm {
                let represented = entry.ratio * entry.gauge_mm;
                let off = (represented / prototype - 1.0).abs();
                assert!(
                    off < 0.14,
                    "{} is {:.0} % off its prototype gauge",
                    entry.name,
                    off * 100.0
                );
            }
        }
        for name in [
            "Z", "N", "TT", "HO", "OO", "EM", "P4", "S", "O", "On30", "On3", "HOn3", "Nn3", "G",
        ] {
            at(name);
        }
    }
}
