//! A grade and the curve it lies in are together steeper than the limit.

use model::{Rule, Severity};

use model::units::{Grade, GradeStyle};

use crate::{check::Check, profile::SectionOf};

/// A grade and the curve it lies in are together steeper than the limit.
pub static RULE: Rule = Rule {
    code: "compensated-grade-too-steep",
    severity: Severity::Warning,
    title: "A grade and the curve it lies in are together steeper than the limit.",
    explain: "A train feels a curve as so much more grade: 0.04 % for each degree, where nothing \
        else is said. The grade alone is within the limit, but with its curve it stops a train \
        that the limit would let by. Ease the grade through the curve, or widen the curve.",
    fixture: r#"
--- lines/main.toml
name = "Main"
grade = "2 %"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "42 in"]
curves = [{ from = "4 ft", to = "12 ft", radius = "24 in", turn = "left" }]
"#,
    rendered: r#"
warning[compensated-grade-too-steep]: 0.83% of grade and 1.32% for the curve make 2.15% where 2.00% is the limit
 --> lines/main.toml:9:52
  |
9 | curves = [{ from = "4 ft", to = "12 ft", radius = "24 in", turn = "left" }]
  |                                                    ^^^^^
  |
  = help: in a curve of 2'-0" the grade may be 0.68%
"#,
    file: file!(),
};

const STYLE: GradeStyle = GradeStyle::Percent { decimals: 2 };

pub(crate) fn check(check: &mut Check<'_>) {
    let (way, limits) = (check.way, check.limits);
    for (id, line) in way.lines() {
        let Some(limit) = line.grade.or(limits.grade) else { continue };
        let profile = check.profile(id);
        let pieces = profile.grades(limits);
        let mut next = 0;
        for section in &profile.sections {
            let SectionOf::Open(open_id) = section.what else { continue };
            let open = way.open(open_id);
            while pieces.get(next).is_some_and(|piece| piece.reach[1] <= section.reach[0]) {
                next += 1;
            }
            // The steepest piece of each curve of the district.
            for curve in &open.curves {
                let (Some(reach), Some(radius)) = (&curve.reach, curve.radius) else { continue };
                let [from, to] = [0, 1].map(|at: usize| section.reach[0] + reach[at].value);
                let worst = pieces[next..]
                    .iter()
                    .take_while(|piece| piece.reach[0] < section.reach[1])
                    .filter(|piece| piece.radius.is_some() && piece.reach[0] < to && piece.reach[1] > from)
                    .map(|piece| (piece.grade.ratio().abs(), piece.compensation.ratio()))
                    // What is too steep by itself has been said already.
                    .filter(|(grade, _)| *grade <= limit.ratio() + 5e-5)
                    .max_by(|a, b| (a.0 + a.1).total_cmp(&(b.0 + b.1)));
                let Some((grade, curve_worth)) = worst else { continue };
                // A level curve may be as sharp as the radius allows.
                if grade + curve_worth <= limit.ratio() + 5e-5 || grade <= 1e-6 {
                    continue;
                }
                let room = (limit.ratio() - curve_worth).max(0.0);
                let show = |ratio: f64| Grade::from_ratio(ratio).show(STYLE).to_string();
                check.out.push(
                    RULE.at(
                        radius.span,
                        format!(
                            "{} of grade and {} for the curve make {} where {} is the limit",
                            show(grade),
                            show(curve_worth),
                            show(grade + curve_worth),
                            show(limit.ratio())
                        ),
                    )
                    .help(if room > 0.0 {
                        format!("in a curve of {} the grade may be {}", check.show(radius.value), show(room))
                    } else {
                        "the curve alone is worth more than the limit: lay it level, or widen it".to_owned()
                    }),
                );
            }
        }
    }
}
