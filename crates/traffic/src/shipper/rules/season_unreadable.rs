//! A season cannot be read.

use model::{Diagnostic, Rule, Severity, Spanned};

/// A season cannot be read.
pub static RULE: Rule = Rule {
    code: "season-unreadable",
    severity: Severity::Error,
    title: "A season cannot be read.",
    explain: "A season is a list of months or of runs of months, as `Sep-Nov` or `Jun, Sep-Oct`, or \
              `spring`, `summer`, `fall`, `winter` (which begins in December), or `all year`.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week,season
Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3,harvest
"#,
    rendered: r#"
error[season-unreadable]: `harvest` is neither a month nor a season
 --> shippers.csv:2:62
  |
2 | Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3,harvest
  |                                                              ^^^^^^^
  |
  = help: write months, as `Sep-Nov` or `Jun, Sep-Oct`
"#,
    file: file!(),
};

/// `word` is the first that is neither a month nor a season.
pub(crate) fn diagnostic(written: &Spanned<&str>, word: &str) -> Diagnostic {
    RULE.at(
        written.span,
        format!("`{word}` is neither a month nor a season"),
    )
    .did_you_mean(
        word,
        ["spring", "summer", "fall", "autumn", "winter", "all year"],
    )
    .help("write months, as `Sep-Nov` or `Jun, Sep-Oct`")
}
