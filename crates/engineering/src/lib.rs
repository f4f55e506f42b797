//! Way and structures: the track network, its lengths, curves and grades.
