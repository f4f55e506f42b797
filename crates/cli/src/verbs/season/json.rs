//! A season for machines.

use planning::season::{Advice, Balance, Estimate, Season, Share};
use serde_json::{Value, json};

use crate::verbs::rating::round;

fn estimate(one: Estimate) -> Value {
    json!({ "mean": round(one.mean), "half": one.half.is_finite().then(|| round(one.half)) })
}

fn share(one: &Share) -> Value {
    json!({ "median": round(one.median), "p95": round(one.p95), "max": round(one.max) })
}

fn balanced(balance: &Balance) -> Value {
    json!({
        "flows": balance.flows.iter().map(|flow| json!({
            "who": flow.who, "commodity": flow.commodity, "kind": flow.kind.word(), "way": flow.way,
            "offered_a_week": round(flow.offered), "sustained_a_week": round(flow.sustained),
            "short_a_week": round(flow.short()), "because_of": flow.reasons,
        })).collect::<Vec<_>>(),
        "limits": balance.limits.iter().map(|limit| json!({
            "limit": limit.words, "used": round(limit.used), "binds": limit.binds,
        })).collect::<Vec<_>>(),
    })
}

pub(super) fn report(
    season: &Season,
    balance: Result<&Balance, &String>,
    advice: Option<&[Advice]>,
) -> Value {
    let report = &season.report;
    json!({
        "sessions": report.sessions,
        "runs": report.runs,
        "moved": estimate(report.moved),
        "delivered": estimate(report.delivered),
        "waiting": estimate(report.waiting),
        "held": estimate(report.held),
        "idle": estimate(report.idle),
        "broken": report.broken.iter().map(|one| json!({
            "what": one.words, "runs": one.runs, "session": one.session, "earliest": one.earliest,
        })).collect::<Vec<_>>(),
        "balance": balance.ok().map(balanced),
        "balance_fails": balance.err(),
        "advice": advice.map(|advice| advice.iter().map(|one| json!({
            "change": one.words, "saves": estimate(one.saves), "delivers": estimate(one.delivers),
        })).collect::<Vec<_>>()),
        "tracks": report.tracks.iter().map(|one| json!({
            "track": one.name, "inches": round(one.inches), "full": share(&one.share),
        })).collect::<Vec<_>>(),
        "stations": report.stations.iter().map(|one| json!({
            "station": one.name, "staging": one.staging, "inches": round(one.inches), "full": share(&one.share),
            "no_room": estimate(one.no_room),
            "by_session": one.by_session.iter().map(share).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "loads": report.lanes.iter().map(|one| json!({
            "who": one.who, "commodity": one.commodity, "kind": one.kind.word(), "way": one.way,
            "offered_a_week": round(one.offered), "delivered_a_week": round(one.delivered),
            "late_days": estimate(one.late), "waiting": estimate(one.waiting), "starved": round(one.starved),
        })).collect::<Vec<_>>(),
        "spots": report.places.iter().map(|one| json!({
            "who": one.who, "track": one.name, "spots": one.spots, "held": estimate(one.held),
            "flooded": round(one.flooded),
        })).collect::<Vec<_>>(),
        "kinds": report.kinds.iter().map(|one| json!({
            "kind": one.kind.word(), "cars": one.cars, "idle": estimate(one.idle), "least_idle": one.least_idle,
            "short": estimate(one.short),
        })).collect::<Vec<_>>(),
        "trains": report.trains.iter().map(|one| json!({
            "train": one.symbol, "runs_a_week": round(one.runs), "light": round(one.light),
            "cars": estimate(one.cars), "full": estimate(one.full), "minutes_over": estimate(one.over),
            "no_caboose": round(one.no_caboose),
        })).collect::<Vec<_>>(),
    })
}
