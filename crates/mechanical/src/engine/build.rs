//! Engines built from the rows of their page.

use model::{
    Spanned,
    text::{Reader, Record},
};

use super::{Engine, EngineKind};
use crate::car::CarState;

impl Engine {
    /// An engine from its row. A row without a number still gives an engine, without a name.
    pub(crate) fn build(record: &Record, _reader: &mut Reader<'_>) -> Self {
        let owned = |key| record.text(key).map(|text| text.map(str::to_owned));
        let plain = |key| record.text(key).map(|text| text.value.to_owned());
        Self {
            span: record.span,
            number: owned("number").unwrap_or_else(|| Spanned {
                value: String::new(),
                span: record.span,
            }),
            kind: EngineKind::read(record, "kind"),
            class: plain("class"),
            wheels: owned("wheels"),
            drivers: record.full_size("drivers"),
            cylinders: owned("cylinders"),
            pressure: record.number("pressure"),
            engine_weight: record.weight("engine_weight"),
            tender_weight: record.weight("tender_weight"),
            weight_on_drivers: record.weight("weight_on_drivers"),
            tractive_effort: record.weight("tractive_effort"),
            horsepower: record.number("horsepower").map(|power| power.value),
            length: record.length("length"),
            height: record.full_size("height"),
            width: record.full_size("width"),
            minimum_radius: record.radius("minimum_radius"),
            drawbar_pull: record.weight("drawbar_pull"),
            weight: record.weight("weight"),
            address: record.whole("address"),
            built: record.partial_date("built"),
            retired: record.partial_date("retired"),
            state: CarState::read(record, "state").map_or(CarState::InService, |state| state.value),
            at: owned("at"),
            consist: plain("consist"),
            log: crate::log::read(record),
            photo: plain("photo"),
            note: plain("note"),
        }
    }
}
