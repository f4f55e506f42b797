//! The forms, a file each, beside the sheets under `forms/`.

pub mod bulletin;
pub mod call_board;
pub mod car_cards;
pub mod interchange;
pub mod map;
pub mod orders;
pub mod packet;
pub mod plans;
pub mod restaging;
pub mod roster;
pub mod season;
pub mod stations;
pub mod switch_list;
pub mod timetable;
pub mod tonnage;
pub mod train_sheet;
pub mod wall_cards;
pub mod waybills;
pub mod yard_sheet;
