//! Shippers and waybills: what moves over the railroad, in which cars, how often; and the books that
//! say where every car is.

pub mod balance;
pub mod bill;
pub mod books;
pub mod demand;
pub mod order;
pub mod shipper;
pub mod supply;
pub mod waybill;

pub use bill::{Bill, Leg, Restriction, Stand, WaybillNo};
pub use order::{CarOrder, Lacking, Short};
pub use shipper::{Does, Flow, FlowId, Moves, Place, Season, Shipper, ShipperId};
pub use waybill::{CarLoad, Waybill};

use std::collections::HashMap;

use model::{
    Diagnostics, Rule,
    text::{Page, Reader, Record},
};

/// The pages of this department.
pub static PAGES: &[&Page] = &[&shipper::PAGE, &waybill::PAGE];

/// The diagnostics of this department, in two lists: of shippers, of waybills.
pub const RULES: &[&[&Rule]] = &[shipper::rules::RULES, waybill::rules::RULES];

/// All shippers, what they ship and receive, and the waybills written so far.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Traffic {
    /// The shippers, in the order in which their page first names them.
    pub shippers: Vec<Shipper>,
    /// What they ship and receive, in the order of their page.
    pub flows: Vec<Flow>,
    /// The waybills, in the order of their page.
    pub waybills: Vec<Waybill>,
    shipper_ids: HashMap<String, ShipperId>,
}

impl Traffic {
    /// Builds the traffic from the rows of its pages. What is wrong goes to the reader.
    pub fn build(reader: &mut Reader<'_>, shippers: &[Record], waybills: &[Record]) -> Self {
        let mut traffic = Self::default();
        for record in shippers {
            traffic.add_flow(record, reader);
        }
        traffic.waybills = waybills
            .iter()
            .map(|record| Waybill::build(record, reader))
            .collect();
        traffic
    }

    /// A shipper.
    pub fn shipper(&self, id: ShipperId) -> &Shipper {
        &self.shippers[id.index()]
    }

    /// A flow.
    pub fn flow(&self, id: FlowId) -> &Flow {
        &self.flows[id.index()]
    }

    /// The shipper of this name.
    pub fn find_shipper(&self, name: &str) -> Option<ShipperId> {
        self.shipper_ids.get(name).copied()
    }

    /// The flows with their ids.
    pub fn flow_ids(&self) -> impl Iterator<Item = (FlowId, &Flow)> {
        self.flows
            .iter()
            .enumerate()
            .map(|(at, flow)| (FlowId(at as u32), flow))
    }
}

/// Looks for all that is wrong within the traffic.
pub fn check(traffic: &Traffic, out: &mut Diagnostics) {
    shipper::rules::check(traffic, out);
    waybill::rules::check(traffic, out);
}

#[cfg(test)]
mod tests {
    use model::{Sources, scale::Scale};

    use super::*;

    #[test]
    fn rows_of_one_name_are_one_shipper() {
        let mut sources = Sources::default();
        let text = "shipper,station,track,spots,does,commodity,car_kind,cars_per_week,place,season\n\
            Alder Milling,Alder,mill,door 1;door 2,ships,flour,boxcar,3,  Harlan  via East Staging,\n\
            Alder Milling,Alder,mill,,receives,grain,Boxcar,2.5,Birch,Sep-Nov\n\
            Birch Feed,Birch,team,,receives,flour,boxcar,1,,\n";
        let file = sources.add("shippers.csv", text.as_bytes());
        let mut reader = Reader::new(&sources, Scale::new(87.1).unwrap());
        let rows = reader.csv(&shipper::PAGE, file);
        let traffic = Traffic::build(&mut reader, &rows, &[]);
        assert!(reader.out.into_sorted().is_empty());
        assert_eq!(traffic.shippers.len(), 2);
        let mill = traffic.shipper(traffic.find_shipper("Alder Milling").unwrap());
        assert_eq!(mill.flows.len(), 2);
        let [ships, receives] = [0, 1].map(|at| traffic.flow(mill.flows[at]));
        let spots: Vec<&str> = ships
            .spots
            .iter()
            .map(|spot| sources.text(spot.span))
            .collect();
        assert_eq!(spots, ["door 1", "door 2"]);
        let Some(Place::Via { name, via }) = &ships.place else {
            panic!("{:?}", ships.place)
        };
        // Each part of the place is pointed at by itself.
        assert_eq!(
            (name.value.as_str(), sources.text(name.span)),
            ("Harlan", "Harlan")
        );
        assert_eq!(
            (via.value.as_str(), sources.text(via.span)),
            ("East Staging", "East Staging")
        );
        assert_eq!(receives.does.unwrap().value, Does::Receives);
        assert!(receives.season.contains(9) && !receives.season.contains(8));
        assert_eq!(traffic.flows[2].season, Season::ALL_YEAR);
        assert_eq!(traffic.flows[2].priority, 5);
    }
}
