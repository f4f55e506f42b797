//! Trains, the jobs that work them and the people who hold the jobs.
//!
//! Times are by the railroad's clock. Engines, stations and tracks go by their names here: whether
//! they exist, and whether the train fits them, is asked in `railroad`.

pub mod job;
pub mod person;
pub mod train;

pub use job::{Job, JobId};
pub use person::{Person, PersonId, Role};
pub use train::{Helper, Meet, Stop, StopWork, Train, TrainId, TrainKind};

use std::collections::HashMap;

use model::{
    Diagnostics, Rule,
    text::{Page, Reader, Record},
};

/// The pages of this department.
pub static PAGES: &[&Page] = &[&train::PAGE, &job::PAGE, &person::PAGE];

/// The diagnostics of this department, in three lists: of trains, of jobs, of people.
pub const RULES: &[&[&Rule]] = &[train::rules::RULES, job::rules::RULES, person::rules::RULES];

/// All trains, jobs and people.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Service {
    /// The trains, in the order of their page.
    pub trains: Vec<Train>,
    /// The jobs, in the order of their page.
    pub jobs: Vec<Job>,
    /// The people, in the order of their page.
    pub people: Vec<Person>,
    train_ids: HashMap<String, TrainId>,
    job_ids: HashMap<String, JobId>,
}

impl Service {
    /// Builds the service from its pages: the records of `trains.toml` and `jobs.toml`, if there
    /// are such files, and the rows of `people.csv`. What is wrong goes to the reader.
    pub fn build(
        reader: &mut Reader<'_>,
        trains: &[Record],
        jobs: &[Record],
        people: &[Record],
    ) -> Self {
        let trains: Vec<Train> = trains
            .iter()
            .flat_map(|page| page.named("trains"))
            .map(|(symbol, record)| Train::build(symbol, record, reader))
            .collect();
        let jobs: Vec<Job> = jobs
            .iter()
            .flat_map(|page| page.named("jobs"))
            .map(|(name, record)| Job::build(name, record))
            .collect();
        let people = people.iter().map(Person::build).collect();
        // Of two things of one name the first has it; the second is reported.
        let mut train_ids = HashMap::with_capacity(trains.len());
        for (at, train) in trains.iter().enumerate() {
            train_ids
                .entry(train.symbol.value.clone())
                .or_insert(TrainId(at as u32));
        }
        let mut job_ids = HashMap::with_capacity(jobs.len());
        for (at, job) in jobs.iter().enumerate() {
            job_ids
                .entry(job.name.value.clone())
                .or_insert(JobId(at as u32));
        }
        Self {
            trains,
            jobs,
            people,
            train_ids,
            job_ids,
        }
    }

    /// A train.
    pub fn train(&self, id: TrainId) -> &Train {
        &self.trains[id.index()]
    }

    /// A job.
    pub fn job(&self, id: JobId) -> &Job {
        &self.jobs[id.index()]
    }

    /// The train of this number or symbol.
    pub fn find_train(&self, symbol: &str) -> Option<TrainId> {
        self.train_ids.get(symbol).copied()
    }

    /// The job of this name.
    pub fn find_job(&self, name: &str) -> Option<JobId> {
        self.job_ids.get(name).copied()
    }

    /// The trains with their ids.
    pub fn train_ids(&self) -> impl Iterator<Item = (TrainId, &Train)> {
        self.trains
            .iter()
            .enumerate()
            .map(|(at, train)| (TrainId(at as u32), train))
    }

    /// The jobs with their ids.
    pub fn job_ids(&self) -> impl Iterator<Item = (JobId, &Job)> {
        self.jobs
            .iter()
            .enumerate()
            .map(|(at, job)| (JobId(at as u32), job))
    }
}

/// Looks for all that is wrong within the service.
pub fn check(service: &Service, out: &mut Diagnostics) {
    train::rules::check(service, out);
    job::rules::check(service, out);
    person::rules::check(service, out);
}
