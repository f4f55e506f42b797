//! What can be wrong with way and structures.

use model::{Diagnostics, units::Actual};

use crate::{
    Limits, Network, Profile, Way, alignment, ids::LineId, line, power, room, scene, station,
};

/// Makes a module of each rule, the list of them, and a function that runs their checks.
macro_rules! rules {
    ($($name:ident,)*) => {
        $(#[allow(missing_docs, reason = "each file says it at its head")] pub mod $name;)*

        /// All of them, by code.
        pub const RULES: &[&model::Rule] = &[$(&$name::RULE),*];

        /// Looks for all of them.
        pub(crate) fn check(check: &mut crate::check::Check<'_>) {
            $($name::check(check);)*
        }
    };
}
pub(crate) use rules;

/// The name that was probably meant. Of names as short as `s4` every other is a near miss, so only
/// their capitals are mended.
pub(crate) fn guess<'a>(
    written: &str,
    names: impl Iterator<Item = &'a str> + Clone,
) -> Option<&'a str> {
    let same = names
        .clone()
        .find(|name| name.eq_ignore_ascii_case(written));
    same.or_else(|| {
        (written.chars().count() > 2)
            .then(|| model::diagnostic::nearest(written, names))
            .flatten()
    })
}

/// What a check looks at, and where it reports.
pub(crate) struct Check<'a> {
    pub(crate) way: &'a Way,
    pub(crate) network: &'a Network,
    pub(crate) limits: &'a Limits,
    pub(crate) out: &'a mut Diagnostics,
    show: &'a dyn Fn(Actual) -> String,
}

impl Check<'_> {
    /// A length as the owner likes it.
    pub(crate) fn show(&self, length: Actual) -> String {
        (self.show)(length)
    }

    /// A small length, finer than owners like to read large ones.
    pub(crate) fn fine(&self, length: Actual) -> String {
        if length.abs() < Actual::from_inches(2.0) {
            format!("{:.2} in ({:.1} mm)", length.inches(), length.mm())
        } else {
            self.show(length)
        }
    }

    /// The profile of a line.
    pub(crate) fn profile(&self, line: LineId) -> Profile {
        Profile::new(self.way, self.network, line)
    }
}

impl Way {
    /// Looks for everything that can be wrong with way and structures. `network` is that of this way,
    /// and holds the limits; `show` prints a length as the owner likes it.
    pub fn check(&self, network: &Network, show: &dyn Fn(Actual) -> String, out: &mut Diagnostics) {
        let limits = network.limits();
        let mut check = Check {
            way: self,
            network,
            limits,
            out,
            show,
        };
        line::rules::check(&mut check);
        station::rules::check(&mut check);
        alignment::rules::check(&mut check);
        room::rules::check(&mut check);
        scene::rules::check(&mut check);
        power::rules::check(&mut check);
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::{
        fixture::{build, limits},
        ids::{EndId, TrackRef},
        profile::Going,
    };

    /// A bit of everything: double track, a branch, a wye, a slip, a turntable, joints, a loop.
    const ROAD: &str = r#"
--- lines/main.toml
name = "Main"
grade = "2 %"
radius = "30 in"
speed = "30 mph"
[[open]]
from = "A"
to = "B"
length = "20 ft"
tracks = 2
gap = "2 mi"
elevation = ["40 in", "43 in"]
profile = [["5 ft", "41 in"], ["10 ft", "42 in"]]
curves = [{ from = "2 ft", to = "6 ft", radius = "30 in", turn = "left" }]
slow = [{ from = "5 ft", to = "8 ft", speed = "10 mph" }]
structures = [{ at = "9 ft", length = "1 ft", kind = "trestle" }]
--- lines/branch.toml
name = "Branch"
kind = "branch"
ends = ["S", "N"]
[[open]]
from = "A"
to = "C"
length = "30 ft"
--- stations/a.toml
name = "A"
line = "Main"
mile = 0
also = [{ line = "Branch", mile = 0 }]
elevation = "40 in"
elevations = { s2 = "40 in" }
[joints]
j = "40 in"
[tracks]
main1 = { from = "W", to = "E1", length = "20 ft", use = "main" }
main2 = { from = "s1", to = "E2", length = "18 ft", use = "main", elevation = ["40 in", "40 in"] }
branch = { from = "N", to = "s2", length = "4 ft", use = "connection" }
"west leg" = { from = "s3", to = "j", length = "7 ft", use = "wye", radius = "30 in" }
"east leg" = { from = "s4", to = "s5", length = "4 ft", use = "wye" }
tail = { from = "j", to = "table", length = "4 ft", use = "tail" }
stall = { from = "table", to = "bumper", length = "1 ft", use = "engine", spots = ["a", "b"], spot_length = "3 in" }
over = { from = "s6", to = "s7", length = "6 ft", use = "crossover", usable = "2 ft" }
[turntables]
table = { length = "12 in" }
[crossings]
x = { on = ["main2", "over"], at = ["8 ft", "3 ft"], angle = 12, slip = "double" }
[switches]
s1 = { on = "main1", at = "1 ft", points = "W", hand = "right", number = 6 }
s2 = { on = "main1", at = "5 ft", points = "E", hand = "left", number = 6 }
s3 = { on = "main1", at = "6 ft", points = "W", hand = "left", number = 6 }
s4 = { on = "main1", at = "14 ft", points = "E", hand = "right", number = 6 }
s5 = { on = "west leg", at = "5 ft", points = "to", hand = "left", number = 6 }
s6 = { on = "main1", at = "8 ft", points = "W", hand = "right", number = 6 }
s7 = { on = "main2", at = "16 ft", points = "E", hand = "left", number = 6 }
--- stations/b.toml
name = "B"
line = "Main"
mile = 5
[tracks]
main1 = { from = "W1", to = "s2", length = "20 ft", use = "main" }
main2 = { from = "W2", to = "s1", length = "8 ft", use = "main" }
[switches]
s1 = { on = "main1", at = "9 ft", points = "to", hand = "right", number = 6 }
s2 = { on = "main1", at = "12 ft", points = "from", hand = "left", number = 6 }
--- stations/c.toml
name = "C"
line = "Branch"
mile = 7
[tracks]
main = { from = "S", to = "bumper", length = "10 ft", use = "main" }
--- alignments/c.toml
easement = "6 in"
[[center_lines]]
track = "C / main"
begin = { at = ["1 ft", "2 ft"], bearing = 90 }
elements = [{ tangent = "3 ft" }, { left = "40 in", angle = 30 }, { turnout = "x1", number = 6, hand = "left" }, { tangent = "57.06 in" }]
grades = [{ elevation = "40 in" }, { elevation = "40 in" }]
[[center_lines]]
name = "beside"
begin = { turnout = "x1", on = "C / main" }
elements = [{ parallel = "C / main", centers = "2 in", radius = "30 in" }]
[[center_lines]]
name = "round"
begin = { at = ["2 ft", "4 ft 2 in"], bearing = 90 }
elements = [{ connect = "24 in" }]
end = { at = ["8 ft", "5 ft 2 in"], bearing = 90 }
--- rooms/a.toml
name = "Cellar"
corners = [["0 ft", "-4 ft"], ["20 ft", "-4 ft"], ["20 ft", "12 ft"], ["0 ft", "12 ft"]]
benchwork = [{ name = "table", outline = [["0 ft", "6 in"], ["20 ft", "6 in"], ["20 ft", "5 ft 5 in"], ["0 ft", "5 ft 5 in"]] }]
--- scenes.toml
[scenes.mill]
station = "A"
full_size_length = "300 ft"
model_length = "3 ft"
--- power.toml
[districts.west]
stations = ["A", "B", "C"]
[districts.turn]
tracks = ["A / east leg"]
reversing = true
"#;

    fn check(text: &str) -> Vec<model::Diagnostic> {
        let built = build(text);
        let mut out = Diagnostics::default();
        out.extend(built.found);
        built
            .way
            .check(&built.network, &|length| format!("{length:?}"), &mut out);
        // Whatever was read must also be drawn, measured and run over.
        for (id, station) in built.way.stations() {
            let ends = station.ends.len() as u32;
            for (from, to) in (0..ends).flat_map(|a| (0..ends).map(move |b| (a, b))) {
                let [from, to] = [from, to].map(|end| built.network.end_node(id, EndId(end)));
                for route in built.network.routes(id, from, to, 16) {
                    assert!(built.network.is_route(&route.runs));
                }
            }
            for (track, page) in station.tracks() {
                let usable = built
                    .network
                    .usable(&built.way, TrackRef { station: id, track });
                assert!(usable.stretch.length() >= Actual::ZERO);
                built.network.position_on(id, track, page.run());
            }
        }
        for (line, _) in built.way.lines() {
            let profile = Profile::new(&built.way, &built.network, line);
            for pair in profile.points.windows(2) {
                assert!(pair[0].at < pair[1].at);
            }
            profile.ruling(
                &limits(),
                Going::Up,
                [Actual::ZERO, profile.length],
                Actual::from_feet(6.0),
            );
        }
        out.into_sorted()
    }

    #[test]
    fn a_bit_of_everything_is_nearly_clean() {
        let codes: Vec<_> = check(ROAD)
            .into_iter()
            .map(|found| found.rule.code)
            .collect();
        // The climb of 1 in in 5 ft is 1.67 %, and the curve worth 1.05 %; B's loop is not yet a
        // reversing section, as A's wye is.
        assert_eq!(
            codes,
            ["compensated-grade-too-steep", "reversing-section-missing"]
        );
    }

    fn codes(text: &str) -> Vec<&'static str> {
        check(text)
            .into_iter()
            .map(|found| found.rule.code)
            .collect()
    }

    #[test]
    fn one_slip_is_one_mistake() {
        let clean = ["compensated-grade-too-steep", "reversing-section-missing"];
        for (right, wrong, code) in [
            // The line in a station's page, and a station in a line's page.
            (
                "line = \"Branch\"\nmile = 7",
                "line = \"Brunch\"\nmile = 7",
                "unknown-name",
            ),
            ("to = \"C\"", "to = \"D\"", "unknown-name"),
            (
                "line = \"Branch\"\nmile = 7",
                "line = \"Branch\"",
                "missing-key",
            ),
            ("from = \"s4\"", "from = \"s44\"", "dangling-track-end"),
        ] {
            assert!(ROAD.contains(right));
            let mut found = codes(&ROAD.replacen(right, wrong, 1));
            found.retain(|code| !clean.contains(code));
            // The switch that the track was meant for has lost its track.
            found.retain(|other| {
                !(code == "dangling-track-end" && *other == "switch-without-track")
            });
            assert_eq!(found, [code], "{wrong}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(128))]
        /// Lines left out, and words put where others stood.
        #[test]
        fn a_half_written_railroad_is_read(
            lost in prop::collection::vec(any::<prop::sample::Index>(), 0..6),
            swaps in prop::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>()), 0..6),
        ) {
            let mut lines: Vec<String> = ROAD.lines().map(str::to_owned).collect();
            let words: Vec<&str> = ROAD.split('"').skip(1).step_by(2).collect();
            for (line, word) in swaps {
                let at = line.index(lines.len());
                let parts: Vec<String> = lines[at].split('"').map(str::to_owned).collect();
                if parts.len() > 2 {
                    let mut parts = parts;
                    let which = 2 * (word.index(words.len()) % (parts.len() / 2)) + 1;
                    parts[which] = (*word.get(&words)).to_owned();
                    lines[at] = parts.join("\"");
                }
            }
            for line in lost {
                let at = line.index(lines.len());
                if !lines[at].starts_with("---") {
                    lines[at].clear();
                }
            }
            check(&lines.join("\n"));
        }
    }
}
