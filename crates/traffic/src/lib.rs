//! Shippers and waybills: what moves over the railroad, in which cars, how often.

pub mod shipper;
pub mod waybill;

pub use shipper::{Does, Flow, FlowId, Place, Season, Shipper, ShipperId};
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
