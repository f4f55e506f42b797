//! The test pulls say that cars roll by themselves, or that curves push.

use model::{Diagnostics, Rule, Severity};

use crate::tonnage::Tonnage;

/// The test pulls say that cars roll by themselves, or that curves push.
pub static RULE: Rule = Rule {
    code: "test-pulls-disagree",
    severity: Severity::Warning,
    title: "The test pulls say that cars roll by themselves, or that curves push.",
    explain: "From all test pulls together come a rolling resistance and a drag of curves. Where one of them is negative, a \
              pull is mistyped or was taken down a grade that is not recorded, and the usual value counts instead. The pull \
              that is furthest from the others is pointed at.",
    fixture: r#"
--- test-pulls.csv
cars,weight,pull,grade,radius
ten boxcars,40 oz,1.0 oz,,
ten boxcars,40 oz,0.9 oz,,24 in
ten boxcars,40 oz,0.1 oz,,24 in
"#,
    rendered: r#"
warning[test-pulls-disagree]: the test pulls give curves that push
 --> test-pulls.csv:4:1
  |
4 | ten boxcars,40 oz,0.1 oz,,24 in
  | ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ the lowest pull for its weight, grade and curve
"#,
    file: file!(),
};

/// Looks for it.
pub(crate) fn check(tonnage: &Tonnage, out: &mut Diagnostics) {
    let Some(found) = &tonnage.calibration else {
        return;
    };
    let rolls = found.rolling.value <= 0.0;
    let pushes = found.curve_m.is_some_and(|curve| curve.value < 0.0);
    if !rolls && !pushes {
        return;
    }
    // The least likely pull is the one furthest below what common practice expects.
    let lowest = tonnage
        .pulls
        .iter()
        .zip(&tonnage.pull_spans)
        .min_by(|(a, _), (b, _)| {
            let share = |pull: &crate::resistance::TestPull| {
                pull.pull / pull.cars
                    - pull.grade.ratio()
                    - pull
                        .radius
                        .map_or(0.0, |radius| tonnage.rolling.curve(radius))
            };
            share(a).total_cmp(&share(b))
        })
        .map(|(_, span)| *span);
    let Some(span) = lowest else { return };
    let message = if rolls {
        format!(
            "the test pulls give a rolling resistance of {:.2} %",
            found.rolling.value * 100.0
        )
    } else {
        "the test pulls give curves that push".to_owned()
    };
    out.push(
        RULE.at(span, message)
            .label("the lowest pull for its weight, grade and curve"),
    );
}
