//! Stations, trains, timetable, crews and the rules they work by.
