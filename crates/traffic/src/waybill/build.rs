//! Waybills built from the rows of their page.

use mechanical::car::canonical_car_name;
use model::text::{Noun, Reader, Record};

use super::{CarLoad, Waybill};
use crate::shipper::place;

impl Waybill {
    /// A waybill from its row.
    pub(crate) fn build(record: &Record, reader: &mut Reader<'_>) -> Self {
        let owned = |key| record.text(key).map(|text| text.map(str::to_owned));
        let car = record.text("car").map(|car| car.map(canonical_car_name));
        if let Some(car) = &car {
            reader.names.refer(Noun::Car, &car.value, car.span);
        }
        Self {
            span: record.span,
            date: record.date("date"),
            car,
            from: record.text("from").map(place),
            to: record.text("to").map(place),
            commodity: owned("commodity"),
            train: owned("train"),
            state: CarLoad::read(record, "state"),
            delivered: record.date("delivered"),
        }
    }
}
