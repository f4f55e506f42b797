//! Trains, the jobs that work them and the people who hold the jobs.
//!
//! Times are by the railroad's clock. Engines, stations and tracks go by their names here: whether
//! they exist, and whether the train fits them, is asked in `railroad`.

pub mod authority;
pub mod crew_call;
pub mod day;
pub mod job;
pub mod make_up;
pub mod method;
pub mod order;
pub mod person;
pub mod rights;
pub mod train;

pub use day::{DayPlan, TrainPlan};
pub use job::{Job, JobId};
pub use make_up::MadeUp;
pub use method::{Method, Operating};
pub use person::{Person, PersonId, Role};
pub use train::{Helper, Meet, Stop, StopWork, Train, TrainId, TrainKind};

use std::collections::HashMap;

use model::{
    Diagnostics, Rule,
    text::{Page, Reader, Record},
};

/// The pages of this department.
pub static PAGES: &[&Page] = &[&train::PAGE, &job::PAGE, &person::PAGE, &method::PAGE];

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
    /// How trains are run.
    pub operating: Operating,
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
        operating: Option<&Record>,
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
            operating: operating.map(Operating::build).unwrap_or_default(),
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

#[cfg(test)]
mod tests {
    use model::{Sources, scale::Scale, time::RailTime};

    use super::*;

    fn read(trains: &str, jobs: &str) -> Service {
        let mut sources = Sources::default();
        let trains = sources.add("trains.toml", trains.as_bytes());
        let jobs = sources.add("jobs.toml", jobs.as_bytes());
        let mut reader = Reader::new(&sources, Scale::new(87.1).unwrap());
        let trains = reader.toml(&train::PAGE, trains);
        let jobs = reader.toml(&job::PAGE, jobs);
        let service = Service::build(&mut reader, &[trains], &[jobs], &[], None);
        let found: Vec<String> = reader
            .out
            .into_sorted()
            .into_iter()
            .map(|found| found.message)
            .collect();
        assert_eq!(found, [] as [String; 0]);
        service
    }

    const TRAINS: &str = r#"
[trains.7]
class = 1
kind = "passenger"
direction = "east"
days = "Mon-Fri"
from = "Alder"
to = "Cedar"
leave = "11:50 PM"
arrive = "24:40"
stops = [
  { station = "Birch", arrive = "24:05", leave = "12:10 AM +1", work = "passenger stop" },
  { station = "Beech", leave = "24:20" },
]

[trains."Extra West"]
class = 3
direction = "west"
days = "Sat Sun"
from = "Cedar"
to = "Alder"
leave = "8:00"
"#;

    #[test]
    fn a_train_is_where_its_times_say() {
        let service = read(TRAINS, "");
        let train = service.train(service.find_train("7").unwrap());
        let at = |hours, minutes| RailTime::from_hm(hours, minutes);
        assert_eq!(train.hours(), Some((at(23, 50), at(24, 40))));
        assert_eq!(train.time_at("Alder"), Some((at(23, 50), at(23, 50))));
        assert_eq!(train.time_at("Birch"), Some((at(24, 5), at(24, 10))));
        assert_eq!(train.time_at("Beech"), Some((at(24, 20), at(24, 20))));
        assert_eq!(train.time_at("Dogwood"), None);
        let extra = service.train(service.find_train("Extra West").unwrap());
        // Without an arrival nobody knows when it is out.
        assert_eq!(extra.hours(), None);
        assert!(!train.shares_a_day_with(extra) && train.shares_a_day_with(train));
    }

    #[test]
    fn a_caboose_goes_with_freight_unless_the_train_says_otherwise() {
        let service = read(TRAINS, "");
        assert!(!service.trains[0].caboose);
        assert!(service.trains[1].caboose);
        let without = TRAINS.replace("class = 3", "class = 3\ncaboose = false");
        assert!(!read(&without, "").trains[1].caboose);
    }

    #[test]
    fn a_desk_is_worked_without_trains() {
        let service = read(
            TRAINS,
            "[jobs.Desk]\nroles = [\"dispatcher\"]\n\n[jobs.Mail]\ntrains = [\"7\"]\npeople = 2\nroles = \"engineer\"\n",
        );
        let desk = service.job(service.find_job("Desk").unwrap());
        assert!(desk.stands());
        assert_eq!(desk.people.value, 1);
        let mail = service.job(service.find_job("Mail").unwrap());
        assert!(!mail.stands());
        assert_eq!(mail.roles[0].value, Role::Engineer);
    }
}
