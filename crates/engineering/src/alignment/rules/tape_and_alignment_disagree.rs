//! Tape and alignment disagree.

use model::{Rule, Severity};

use model::units::Actual;

use crate::{
    alignment::{Governs, tolerance},
    check::Check,
};

/// Tape and alignment disagree.
pub static RULE: Rule = Rule {
    code: "tape-and-alignment-disagree",
    severity: Severity::Warning,
    title: "Tape and alignment disagree.",
    explain: "What a page gives as measured along the track, and what follows from its \
        alignment, differ by more than a quarter of an inch or half a per cent. Unless \
        the alignment's page says `governs = \"tape\"`, the alignment holds \
        everywhere: lengths, usable lengths, places of switches.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "2 ft"], bearing = 90 }
elements = [{ tangent = "1 ft" }, { turnout = "s1" }, { tangent = "12 ft 3 in" }, { turnout = "s2" }, { tangent = "1 ft" }]
"#,
    rendered: r#"
warning[tape-and-alignment-disagree]: `Alder / main` is 14'-3" by its alignment, 3" longer than the 14'-0" by tape
 --> stations/alder.toml:7:42
  |
7 | main = { from = "W", to = "E", length = "14 ft", use = "main" }
  |                                          ^^^^^ by tape
  |
 ::: alignments/house.toml:2:10
  |
2 | track = "Alder / main"
  |          ------------ by its alignment
  |
  = help: the alignment holds; correct the tape, or let it hold with `governs = "tape"`

warning[tape-and-alignment-disagree]: `s2` is at 13'-3" by the alignment of `Alder / main`, and at 13'-0" by tape
  --> stations/alder.toml:13:27
   |
13 | s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
   |                           ^^^^^ by tape
   |
  ::: alignments/house.toml:4:85
   |
 4 | elements = [{ tangent = "1 ft" }, { turnout = "s1" }, { tangent = "12 ft 3 in" }, { turnout = "s2" }, { tangent = "1 ft" }]
   |                                                                                     ------------- by the alignment
   |
   = help: the alignment holds; correct the tape, or let it hold with `governs = "tape"`
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let located = &check.way.located;
    for (line, path) in located.laid() {
        let (described, Some(tape)) = (&located.described[line], located.taped[line]) else { continue };
        let length = Actual::from_meters(path.length());
        let off = length - tape.value;
        if off.abs() <= tolerance(tape.value) {
            continue;
        }
        let message = format!(
            "`{}` is {} by its alignment, {} {} than the {} by tape",
            described.name.value,
            check.show(length),
            check.show(off.abs()),
            if off > Actual::ZERO { "longer" } else { "shorter" },
            check.show(tape.value)
        );
        check.out.push(
            RULE.at(tape.span, message)
                .label("by tape")
                .also(described.name.span, "by its alignment")
                .help(holds(described.governs)),
        );
    }
    for (line, element, name, tape) in &located.switch_tapes {
        let Some(laid) = &located.solved.lines[*line] else { continue };
        let at = Actual::from_meters(laid.reach[*element][0]);
        if (at - tape.value).abs() <= tolerance(tape.value) {
            continue;
        }
        let described = &located.described[*line];
        let message = format!(
            "`{name}` is at {} by the alignment of `{}`, and at {} by tape",
            check.show(at),
            described.name.value,
            check.show(tape.value)
        );
        check.out.push(
            RULE.at(tape.span, message)
                .label("by tape")
                .also(described.elements[*element].span, "by the alignment")
                .help(holds(described.governs)),
        );
    }
}

fn holds(governs: Governs) -> &'static str {
    match governs {
        Governs::Alignment => "the alignment holds; correct the tape, or let it hold with `governs = \"tape\"`",
        Governs::Tape => "the tape holds; correct the alignment to what was laid",
    }
}
