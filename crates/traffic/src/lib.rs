//! Shippers, car orders and waybills.
