//! Cars built from the rows of their page.

use model::{
    Spanned,
    text::{Noun, Reader, Record},
};

use super::{
    Car, CarKind, CarState, Designation, RunningBoard, Underframe, canonical_marks,
    canonical_number, car_name,
};

impl Car {
    /// A car from its row. A row without a number still gives a car, named by what there is.
    pub(crate) fn build(record: &Record, reader: &mut Reader<'_>) -> Self {
        let owned = |key| record.text(key).map(|text| text.map(str::to_owned));
        let plain = |key| record.text(key).map(|text| text.value.to_owned());
        let marks = match record.text("marks") {
            Some(marks) => marks.map(canonical_marks),
            None => Spanned {
                value: String::new(),
                span: record.span,
            },
        };
        let written = record.text("number");
        let number = written.map_or(String::new(), |number| {
            canonical_number(number.value, &marks)
        });
        let span = written.map_or(record.span, |number| number.span);
        let name = car_name(&marks, &number).trim().to_owned();
        if !marks.is_empty() && !number.is_empty() {
            reader
                .names
                .declare(Noun::Car, &name, span, &mut reader.out);
        }
        Self {
            span: record.span,
            name: Spanned { value: name, span },
            marks,
            number,
            designation: record.text("aar").map(|text| text.map(Designation::parse)),
            kind: CarKind::read(record, "kind"),
            length: record.length("length"),
            inside_length: record.full_size("inside_length"),
            height: record.full_size("height"),
            capacity: record.weight("capacity"),
            light_weight: record.weight("light_weight"),
            built: record.partial_date("built"),
            rebuilt: record.partial_date("rebuilt"),
            painted: record.partial_date("painted"),
            retired: record.partial_date("retired"),
            truck: owned("truck"),
            brake: owned("brake"),
            underframe: Underframe::read(record, "underframe"),
            running_board: RunningBoard::read(record, "running_board"),
            home_road: owned("home_road"),
            weight: record.weight("weight"),
            couplers: plain("couplers"),
            wheels: plain("wheels"),
            state: CarState::read(record, "state").map_or(CarState::InService, |state| state.value),
            at: owned("at"),
            pool: plain("pool"),
            outside_length: record.full_size("outside_length"),
            width: record.full_size("width"),
            truck_centers: record.full_size("truck_centers"),
            log: crate::log::read(record),
            photo: plain("photo"),
            note: plain("note"),
        }
    }
}
