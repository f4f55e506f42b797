//! A model car weighs far more or less than it should.

use model::{Diagnostics, Rule, Severity};

use crate::{Context, car::Car};

/// A model car weighs far more or less than it should.
pub static RULE: Rule = Rule {
    code: "car-weight-implausible",
    severity: Severity::Warning,
    title: "A model car weighs far more or less than it should.",
    explain: "NMRA Recommended Practice 20.1 gives a weight for each scale: in HO one ounce and half \
              an ounce more for each inch of body. What weighs less than a third or more than three \
              times that was probably weighed in another unit.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,weight
SMR,101,XM,boxcar,6 in,42 oz
"#,
    rendered: r#"
warning[car-weight-implausible]: SMR 101 weighs 42.0 oz; for its length 4.0 oz is recommended
 --> cars.csv:2:24
  |
2 | SMR,101,XM,boxcar,6 in,42 oz
  |                        ^^^^^
  |
  = help: is it in another unit: grams, or the weight of the full-size car?
"#,
    file: file!(),
};

/// Ounces, and ounces for each inch of length, by NMRA RP-20.1; scales by their ratio.
const RECOMMENDED: [(std::ops::RangeInclusive<f64>, f64, f64); 5] = [
    (43.0..=48.5, 5.0, 1.0),
    (63.5..=64.5, 2.0, 0.5),
    (86.5..=87.5, 1.0, 0.5),
    (119.5..=120.5, 0.75, 0.375),
    (159.5..=160.5, 0.5, 0.15),
];

/// Judged by the length over couplers, which is a little more than the body's: the bounds are wide.
pub(crate) fn check(car: &Car, context: &Context, out: &mut Diagnostics) {
    let (Some(weight), Some(length)) = (&car.weight, &car.length) else {
        return;
    };
    let ratio = context.scale.ratio();
    let Some((_, first, more)) = RECOMMENDED
        .iter()
        .find(|(ratios, ..)| ratios.contains(&ratio))
    else {
        return;
    };
    let recommended = first + more * length.value.inches();
    let ounces = weight.value.ounces();
    if ounces < recommended / 3.0 || ounces > recommended * 3.0 {
        let message = format!(
            "{} weighs {ounces:.1} oz; for its length {recommended:.1} oz is recommended",
            car.name.value
        );
        out.push(
            RULE.at(weight.span, message)
                .help("is it in another unit: grams, or the weight of the full-size car?"),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example that NMRA RP-20.1 is usually quoted with: 6 inches in HO, 4 ounces.
    #[test]
    fn the_published_example() {
        let (_, first, more) = RECOMMENDED
            .iter()
            .find(|(ratios, ..)| ratios.contains(&87.1))
            .unwrap();
        assert_eq!(first + more * 6.0, 4.0);
    }
}
