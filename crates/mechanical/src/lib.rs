//! Engines and cars.
