//! A load goes to or comes from a place that nothing leads to.

use engineering::station::{Station, StationKind, TrackUse};
use model::{Diagnostics, Rule, Severity};
use traffic::Place;

use super::context::Context;

/// A load goes to or comes from a place that nothing leads to.
pub static RULE: Rule = Rule {
    code: "place-unknown",
    severity: Severity::Warning,
    title: "A load goes to or comes from a place that nothing leads to.",
    explain: "A place is a station or a shipper of this railroad; or it lies off the line, and is \
              written with the staging or interchange by which it is reached, as `Harlan via East \
              Staging`.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week,place
Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3,Brich
"#,
    rendered: r#"
warning[place-unknown]: `Brich` is neither a station nor a shipper
 --> shippers.csv:2:62
  |
2 | Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3,Brich
  |                                                              ^^^^^
  |
  = help: did you mean `Birch`?
  = help: if it lies off the line, write how it is reached: `Brich via East Staging`
"#,
    file: file!(),
};

/// Places of flows and of waybills.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let road = context.road;
    let flows = road
        .traffic
        .flows
        .iter()
        .filter_map(|flow| flow.place.as_ref());
    let waybills = road
        .traffic
        .waybills
        .iter()
        .flat_map(|bill| bill.from.iter().chain(&bill.to));
    let mut known: Option<Vec<&str>> = None;
    for place in flows.chain(waybills) {
        match place {
            Place::Named(name) => {
                if road.way.find_station(&name.value).is_some()
                    || road.traffic.find_shipper(&name.value).is_some()
                {
                    continue;
                }
                let known = known.get_or_insert_with(|| {
                    let stations = road
                        .way
                        .stations
                        .iter()
                        .map(|page| page.name.value.as_str());
                    let shippers = road
                        .traffic
                        .shippers
                        .iter()
                        .map(|one| one.name.value.as_str());
                    stations.chain(shippers).collect()
                });
                let message = format!("`{}` is neither a station nor a shipper", name.value);
                let found = RULE
                    .at(name.span, message)
                    .did_you_mean(&name.value, known.iter().copied());
                let via = leads_off(context)
                    .next()
                    .map_or("East Staging", |page| &page.name.value);
                out.push(found.help(format!(
                    "if it lies off the line, write how it is reached: `{} via {via}`",
                    name.value
                )));
            }
            Place::Via { via, .. } => match road.way.find_station(&via.value) {
                None => {
                    let names = leads_off(context).map(|page| page.name.value.as_str());
                    let message = format!("there is no station `{}`", via.value);
                    out.push(RULE.at(via.span, message).did_you_mean(&via.value, names));
                }
                Some(id) if !is_way_off(road.way.station(id)) => {
                    let message =
                        format!("{} has neither staging nor interchange tracks", via.value);
                    let names: Vec<&str> = leads_off(context)
                        .map(|page| page.name.value.as_str())
                        .collect();
                    let found = RULE.at(via.span, message);
                    out.push(if names.is_empty() {
                        found.help("no station of this railroad has any")
                    } else {
                        found.help(format!("these have: {}", names.join(", ")))
                    });
                }
                Some(_) => {}
            },
        }
    }
}

/// Whether cars leave the railroad here.
fn is_way_off(page: &Station) -> bool {
    page.kind == StationKind::Staging
        || page
            .tracks
            .iter()
            .any(|track| matches!(track.usage, TrackUse::Staging | TrackUse::Interchange))
}

fn leads_off<'a>(context: &Context<'a>) -> impl Iterator<Item = &'a Station> {
    context
        .road
        .way
        .stations
        .iter()
        .filter(|page| is_way_off(page))
}
