//! The session as the office has it: the journal, the door, and who is told when something happens.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::{Arc, Mutex, PoisonError},
    time::{SystemTime, UNIX_EPOCH},
};

use axum::http::{HeaderMap, header};
use session::{
    Answer, Command, Event, Journal, Opening, RealMillis, Receipt, Request, Role, State, Subject,
    Trouble, Who,
};
use tokio::sync::broadcast;

use super::door::{Badge, Door};
use crate::{
    services::{Replanned, Sorry},
    works::Work,
};

/// The cookie a badge goes by.
pub const COOKIE: &str = "badge";

/// What everyone is told: what changed, and what it is about.
#[derive(Debug, Clone)]
pub struct Bulletin {
    /// The journal's revision.
    pub revision: u64,
    /// What the events are about, by the words pages watch for.
    pub about: BTreeSet<String>,
}

/// An opening being worked out.
pub type Beginning = Arc<Work<Opening>>;

/// A new plan being worked out or waiting for the dispatcher's word.
#[derive(Debug, Clone)]
pub struct Offered {
    /// Its number, so that no other than the one looked at is accepted.
    pub number: u64,
    /// The revision it was asked for at.
    pub revision: u64,
    /// The work.
    pub work: Arc<Work<Replanned>>,
}

/// The session as the office has it.
pub struct Room {
    /// The journal.
    pub journal: Journal,
    /// The door; none if only this machine can come in.
    pub door: Option<Door>,
    told: broadcast::Sender<Arc<Bulletin>>,
    wishes: Mutex<BTreeMap<String, Role>>,
    /// The session about to begin.
    pub beginning: Mutex<Option<Beginning>>,
    /// The plan on offer.
    pub offer: Mutex<Option<Offered>>,
    /// The plan the office worked out by itself, ready to be looked at.
    pub ready: Mutex<Option<Offered>>,
}

impl std::fmt::Debug for Room {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Room")
            .field("door", &self.door)
            .finish_non_exhaustive()
    }
}

impl Room {
    /// A room around a journal.
    pub fn new(journal: Journal, door: Option<Door>) -> Arc<Self> {
        let (told, _) = broadcast::channel(256);
        let teller = told.clone();
        journal.listen(Box::new(
            move |events: &[Arc<Event>], state: &Arc<State>| {
                let about = events
                    .iter()
                    .flat_map(|event| {
                        let mut words: Vec<String> =
                            event.what.subjects().iter().map(word).collect();
                        words.push(kind(&event.what).to_owned());
                        words
                    })
                    .collect();
                // Nobody may be listening.
                let _ = teller.send(Arc::new(Bulletin {
                    revision: state.revision(),
                    about,
                }));
            },
        ));
        Arc::new(Self {
            journal,
            door,
            told,
            wishes: Mutex::default(),
            beginning: Mutex::default(),
            offer: Mutex::default(),
            ready: Mutex::default(),
        })
    }

    /// The session that is open.
    pub fn state(&self) -> Option<Arc<State>> {
        self.journal.state()
    }

    /// Hears of everything from now on.
    pub fn listen(&self) -> broadcast::Receiver<Arc<Bulletin>> {
        self.told.subscribe()
    }

    /// Tells all screens to look again, where something changed that is in no journal.
    pub fn look_again(&self) {
        self.tell("all");
    }

    /// Tells the screens that watch for a word to look again.
    pub fn tell(&self, word: &str) {
        let revision = self.state().map_or(0, |state| state.revision());
        let _ = self.told.send(Arc::new(Bulletin {
            revision,
            about: BTreeSet::from([word.to_owned()]),
        }));
    }

    /// Who asks, by the badge; nobody where a badge is needed and there is none.
    pub fn who(&self, headers: &HeaderMap) -> Option<Who> {
        let Some(door) = &self.door else {
            return Some(Who::office());
        };
        let badge = door.read(badge_of(headers)?)?;
        Some(self.who_of(&badge))
    }

    /// The holder of a badge, with the role the session gives them.
    pub fn who_of(&self, badge: &Badge) -> Who {
        let usual = if badge.chief {
            Role::Superintendent
        } else {
            Role::Visitor
        };
        let role = self
            .state()
            .filter(|state| state.sheet.devices.contains_key(&badge.device))
            .map_or(usual, |state| state.role_of(&badge.device));
        Who {
            name: badge.name.clone(),
            device: badge.device.clone(),
            role,
        }
    }

    /// Writes in the journal that a device is here, if a session is open that does not know it. What
    /// goes wrong is no reason to shut anyone out: reports will say the same with more words.
    pub fn enter(&self, badge: &Badge) {
        let Some(state) = self.state().filter(|state| state.sheet.closed.is_none()) else {
            return;
        };
        if state.sheet.devices.contains_key(&badge.device) {
            return;
        }
        let device = badge.device.clone();
        let join = Request {
            key: format!("join-{device}"),
            seen: None,
            command: Command::Join {
                device: device.clone(),
                name: badge.name.clone(),
            },
        };
        let who = self.who_of(badge);
        if self.journal.submit(&who, &join).is_ok() && badge.chief {
            let grant = Request {
                key: format!("chief-{device}"),
                seen: None,
                command: Command::Grant {
                    device,
                    role: Role::Superintendent,
                },
            };
            let _ = self.journal.submit(&Who::office(), &grant);
        }
    }

    /// Whether a badge's holder is to be entered in the journal first.
    pub fn is_new(&self, headers: &HeaderMap) -> Option<Badge> {
        let badge = self.door.as_ref()?.read(badge_of(headers)?)?;
        let state = self.state()?;
        (state.sheet.closed.is_none() && !state.sheet.devices.contains_key(&badge.device))
            .then_some(badge)
    }

    /// Sends a device out: its badge is void, and the journal says so.
    ///
    /// # Errors
    /// What the disk says.
    pub fn send_out(&self, who: &Who, device: &str) -> Result<(), String> {
        if let Some(door) = &self.door {
            door.send_out(device)?;
        }
        let leaving = super::request(Command::Leave {
            device: device.to_owned(),
        });
        match self.journal.submit(who, &leaving) {
            // No session, or one that never knew the device: then it is out all the same.
            Ok(_) | Err(Answer::Refused(_) | Answer::Trouble(Trouble::NoSession)) => Ok(()),
            Err(Answer::Trouble(trouble)) => Err(trouble.to_string()),
        }
    }

    /// Notes what someone would like to do.
    pub fn wish(&self, device: &str, role: Role) {
        let mut wishes = self.wishes.lock().unwrap_or_else(PoisonError::into_inner);
        // So many have never come to one session: more are a mistake or mischief.
        if wishes.len() < 1000 {
            wishes.insert(device.to_owned(), role);
        }
    }

    /// What someone would like to do.
    pub fn wished(&self, device: &str) -> Option<Role> {
        let wishes = self.wishes.lock().unwrap_or_else(PoisonError::into_inner);
        wishes.get(device).copied()
    }

    /// Puts a command in the journal; back when it is on disk.
    ///
    /// # Errors
    /// Why it was not carried out.
    pub fn say(&self, who: &Who, request: &Request) -> Result<Receipt, Answer> {
        self.journal.submit(who, request)
    }

    /// Opens the session that was worked out.
    ///
    /// # Errors
    /// What the journal says, or that nothing is ready.
    pub fn begin(&self, who: &Who) -> Result<u64, Sorry> {
        let sorry = |what: String| Sorry { what, help: None };
        let mut beginning = self
            .beginning
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        let ready = beginning.as_ref().and_then(|work| work.result());
        let Some(Ok(opening)) = ready else {
            return Err(sorry("No session is ready to be opened".into()));
        };
        let id = self
            .journal
            .begin((*opening).clone(), who)
            .map_err(|trouble: Trouble| sorry(trouble.to_string()))?;
        *beginning = None;
        drop(beginning);
        self.look_again();
        Ok(id)
    }
}

/// The real time, for the fast clock.
pub fn now() -> RealMillis {
    SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0, |passed| {
            RealMillis::try_from(passed.as_millis()).unwrap_or(RealMillis::MAX)
        })
}

/// The badge among the cookies.
pub fn badge_of(headers: &HeaderMap) -> Option<&str> {
    headers
        .get(header::COOKIE)?
        .to_str()
        .ok()?
        .split(';')
        .find_map(|cookie| cookie.trim().strip_prefix(COOKIE)?.strip_prefix('='))
}

/// The word by which pages watch for a subject.
fn word(subject: &Subject) -> String {
    match subject {
        Subject::Clock => "clock".into(),
        Subject::Train(name) => format!("train:{name}"),
        Subject::Car(name) => format!("car:{name}"),
        Subject::Order(number) => format!("order:{number}"),
        Subject::Person(_) => "people".into(),
        Subject::Device(_) => "devices".into(),
        Subject::Track(_) | Subject::Bridge(_) => "tracks".into(),
        Subject::Stop => "stop".into(),
        Subject::Plan => "plan".into(),
    }
}

/// The kind of an event, where a page watches all of a kind.
fn kind(what: &session::What) -> &'static str {
    use session::What;
    match what {
        What::OrderIssued { .. }
        | What::OrderRepeated { .. }
        | What::OrderCompleted { .. }
        | What::GivenBack { .. } => "orders",
        What::Arrived { .. }
        | What::Departed { .. }
        | What::Passed { .. }
        | What::InClear { .. }
        | What::TiedUp { .. }
        | What::Called { .. }
        | What::ExtraCreated { .. }
        | What::Annulled { .. }
        | What::Combined { .. }
        | What::EnginesChanged { .. }
        | What::Delayed { .. } => "trains",
        What::PickedUp { .. }
        | What::SetOut { .. }
        | What::Shifted { .. }
        | What::Left { .. }
        | What::WorkAdded { .. }
        | What::WorkDropped { .. }
        | What::BadOrdered { .. }
        | What::Repaired { .. }
        | What::Found { .. }
        | What::Walked { .. } => "cars",
        What::Undone { .. } => "all",
        _ => "other",
    }
}
