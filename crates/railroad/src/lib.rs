//! The whole road: load, save, the checks that cross departments.
