//! No train runs during the session.

use model::{Diagnostics, Rule, Severity, time::RailSpan};

use super::context::Context;

/// No train runs during the session.
pub static RULE: Rule = Rule {
    code: "session-without-trains",
    severity: Severity::Warning,
    title: "No train runs during the session.",
    explain: "The session begins at `begins` and lasts `real_time` by the clock on the wall, which the \
              fast clock makes longer. All trains run before or after.",
    fixture: r#"
--- railroad.toml
format = 1
name = "Smallest Railroad"
marks = "SMR"
scale = "HO"
date = 1941-10-14
equipment_from = 1915
clock = 4

[session]
begins = "6:00 PM"
real_time = "1 h"
"#,
    rendered: r#"
warning[session-without-trains]: the session is from 6:00 PM to 10:00 PM, and no train runs then
  --> railroad.toml:10:1
   |
10 | / begins = "6:00 PM"
11 | | real_time = "1 h"
   | |________________^
   |
   = help: begin the session when trains run, or give the trains other times
"#,
    file: file!(),
};

/// Trains with both times, where there are any.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let identity = &context.road.identity;
    let Some(session) = identity.session else {
        return;
    };
    let begins = session.begins;
    #[allow(clippy::cast_possible_truncation, reason = "a session is hours long")]
    let length = (session.real_time.minutes() * identity.clock * 60.0).round() as i64;
    let ends = begins + RailSpan::from_seconds(length);
    let mut hours = context
        .road
        .service
        .trains
        .iter()
        .filter_map(transportation::Train::hours)
        .peekable();
    if hours.peek().is_some() && hours.all(|(leave, arrive)| arrive < begins || leave > ends) {
        let message = format!(
            "the session is from {} to {}, and no train runs then",
            context.time(begins),
            context.time(ends)
        );
        out.push(
            RULE.at(session.span, message)
                .help("begin the session when trains run, or give the trains other times"),
        );
    }
}
