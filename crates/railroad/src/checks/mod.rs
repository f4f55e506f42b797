//! Checks.
use mechanical::{Context as Shop, Era, car::canonical_marks};
use model::{Diagnostics, Rule};

use crate::{Railroad, identity::RoadKind};

/// All of them.
pub const RULES: &[&Rule] = &[];

/// Looks for all that is wrong within a department and across departments.
pub(crate) fn check(railroad: &Railroad, out: &mut Diagnostics) {
    let identity = &railroad.identity;
    let own = identity
        .roads
        .iter()
        .filter(|road| road.kind == RoadKind::Own)
        .map(|r| &r.marks);
    let shop = Shop {
        era: Era {
            date: identity.date,
            from: identity.equipment_from,
            to: identity.equipment_to,
        },
        scale: identity.scale.scale,
        own_marks: own
            .chain([&identity.marks])
            .map(|marks| canonical_marks(marks))
            .collect(),
    };
    mechanical::check(&railroad.roster, &shop, out);
    traffic::check(&railroad.traffic, out);
    transportation::check(&railroad.service, out);
}
