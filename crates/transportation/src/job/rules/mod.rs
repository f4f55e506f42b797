//! What can be wrong with jobs: each kind in a file of its own.

pub(crate) mod job_begins_elsewhere;
pub(crate) mod job_on_duty_too_late;
pub(crate) mod job_trains_apart;
pub(crate) mod job_trains_overlap;
pub(crate) mod job_without_trains;
pub(crate) mod train_in_two_jobs;
pub(crate) mod train_without_job;

use model::{Diagnostics, Rule};

use crate::Service;

/// All of them.
pub const RULES: &[&Rule] = &[
    &job_begins_elsewhere::RULE,
    &job_on_duty_too_late::RULE,
    &job_trains_apart::RULE,
    &job_trains_overlap::RULE,
    &job_without_trains::RULE,
    &train_in_two_jobs::RULE,
    &train_without_job::RULE,
];

/// Looks for all of them.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    job_without_trains::check(service, out);
    job_trains_overlap::check(service, out);
    job_trains_apart::check(service, out);
    job_on_duty_too_late::check(service, out);
    job_begins_elsewhere::check(service, out);
    train_in_two_jobs::check(service, out);
    train_without_job::check(service, out);
}
