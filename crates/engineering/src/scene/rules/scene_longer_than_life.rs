//! A scene is longer on the model than in life.

use model::{Rule, Severity};

use crate::check::Check;

/// A scene is longer on the model than in life.
pub static RULE: Rule = Rule {
    code: "scene-longer-than-life",
    severity: Severity::Warning,
    title: "A scene is longer on the model than in life.",
    explain: "The model of a place is at most as long as the place, to scale. Perhaps one of the \
        two lengths has the wrong unit.",
    fixture: r#"
--- scenes.toml
[scenes.mill]
place = "The mill by the river"
station = "Alder"
full_size_length = "300 ft"
model_length = "4 ft"
"#,
    rendered: r#"
warning[scene-longer-than-life]: the scene `mill` is given 4'-0" of the model, but to scale it would be 3'-5 1/4"
 --> scenes.toml:5:17
  |
4 | full_size_length = "300 ft"
  |                     ------ in life
5 | model_length = "4 ft"
  |                 ^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for scene in &check.way.scenes {
        let (Some(model), Some(full)) = (scene.model_length, scene.full_size_length) else { continue };
        let to_scale = check.limits.scale.to_actual(full.value);
        if model.value <= to_scale * 1.01 {
            continue;
        }
        let message = format!(
            "the scene `{}` is given {} of the model, but to scale it would be {}",
            scene.name.value,
            check.show(model.value),
            check.show(to_scale)
        );
        check.out.push(RULE.at(model.span, message).also(full.span, "in life"));
    }
}
