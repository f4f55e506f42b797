//! Shippers built from the rows of their page.

use mechanical::CarKind;
use model::{
    Spanned,
    days::Days,
    text::{Noun, Reader, Record},
    time::RailSpan,
};

use super::{
    Does, Flow, FlowId, Moves, Place, Season, Shipper, ShipperId, rules::season_unreadable,
};
use crate::Traffic;

/// How long a car is away beyond the line if nothing is said: what the page declares.
const AWAY: RailSpan = RailSpan::from_minutes(24 * 60);

impl Traffic {
    pub(crate) fn add_flow(&mut self, record: &Record, reader: &mut Reader<'_>) {
        let owned = |key| record.text(key).map(|text| text.map(str::to_owned));
        let plain = |key| record.text(key).map(|text| text.value.to_owned());
        let flag = |key| record.flag(key).is_some_and(|flag| flag.value);
        let id = FlowId(self.flows.len() as u32);
        let shipper_name = owned("shipper");
        let shipper = shipper_name
            .as_ref()
            .map(|name| self.shipper_of(name, reader));
        if let Some(shipper) = shipper {
            self.shippers[shipper.index()].flows.push(id);
        }
        if let Some(commodity) = record.text("commodity")
            && reader
                .names
                .find(Noun::Commodity, commodity.value)
                .is_none()
        {
            reader.names.declare(
                Noun::Commodity,
                commodity.value,
                commodity.span,
                &mut reader.out,
            );
        }
        let season = record.text("season").map_or(Season::ALL_YEAR, |text| {
            Season::parse(text.value).unwrap_or_else(|word| {
                reader.out.push(season_unreadable::diagnostic(&text, &word));
                Season::ALL_YEAR
            })
        });
        self.flows.push(Flow {
            span: record.span,
            shipper,
            shipper_name,
            station: owned("station"),
            track: owned("track"),
            spots: record
                .texts("spots")
                .into_iter()
                .map(|spot| spot.map(str::to_owned))
                .collect(),
            does: Does::read(record, "does"),
            commodity: owned("commodity"),
            car_kind: CarKind::read(record, "car_kind"),
            cars_per_week: record.number("cars_per_week"),
            place: record.text("place").map(place),
            dwell: record.duration("dwell"),
            season,
            priority: record
                .whole("priority")
                .map_or(5, |priority| priority.value),
            pool: plain("pool"),
            days: record.days("days").unwrap_or(Spanned {
                value: Days::DAILY,
                span: record.span,
            }),
            moves: Moves::read(record, "moves").map_or(Moves::Carload, |moves| moves.value),
            cars_at_once: record.whole("cars_at_once").map_or(
                Spanned {
                    value: 1,
                    span: record.span,
                },
                |cars| cars.map(|cars| u32::try_from(cars).unwrap_or(1)),
            ),
            not_after: record
                .texts("not_after")
                .into_iter()
                .map(|commodity| commodity.map(str::to_owned))
                .collect(),
            clean: flag("clean"),
            dirties: flag("dirties"),
            captive: record
                .flag("captive")
                .filter(|captive| captive.value)
                .map(|captive| captive.span),
            away: record.duration("away").map_or(AWAY, |away| away.value),
            note: plain("note"),
        });
    }

    /// Rows of the same name are of one shipper.
    fn shipper_of(&mut self, name: &Spanned<String>, reader: &mut Reader<'_>) -> ShipperId {
        if let Some(&id) = self.shipper_ids.get(&name.value) {
            return id;
        }
        let id = ShipperId(self.shippers.len() as u32);
        reader
            .names
            .declare(Noun::Shipper, &name.value, name.span, &mut reader.out);
        self.shippers.push(Shipper {
            name: name.clone(),
            flows: Vec::new(),
        });
        self.shipper_ids.insert(name.value.clone(), id);
        id
    }
}

/// `Harlan via East Staging`, or a name alone.
pub(crate) fn place(text: Spanned<&str>) -> Place {
    let whole = text.value;
    match whole.find(" via ") {
        None => Place::Named(text.map(str::to_owned)),
        Some(at) => {
            let (name, via) = (&whole[..at], &whole[at + " via ".len()..]);
            let via_start = whole.len() - via.trim_start().len();
            let via = via.trim();
            Place::Via {
                name: Spanned {
                    value: name.trim().to_owned(),
                    span: text.span.part(0..name.trim_end().len()),
                },
                via: Spanned {
                    value: via.to_owned(),
                    span: text.span.part(via_start..via_start + via.len()),
                },
            }
        }
    }
}
