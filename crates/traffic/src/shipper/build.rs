//! Shippers built from the rows of their page.

use mechanical::CarKind;
use model::{
    Spanned,
    text::{Noun, Reader, Record},
};

use super::{Does, Flow, FlowId, Place, Season, Shipper, ShipperId, rules::season_unreadable};
use crate::Traffic;

impl Traffic {
    pub(crate) fn add_flow(&mut self, record: &Record, reader: &mut Reader<'_>) {
        let owned = |key| record.text(key).map(|text| text.map(str::to_owned));
        let plain = |key| record.text(key).map(|text| text.value.to_owned());
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
