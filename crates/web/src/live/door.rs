//! The door: codes by which people come in, badges by which their devices are known again, and how often
//! anyone may guess.
//!
//! A badge is a cookie that only this office can write: device, name and whether it came in by the
//! superintendent's code, with a code of authentication (HMAC with SHA-256, RFC 2104). Nothing about devices
//! has to be kept but the secret, so badges outlive a restart.

use std::{
    collections::{BTreeSet, HashMap},
    net::IpAddr,
    sync::{Mutex, MutexGuard, PoisonError},
    time::{Duration, Instant},
};

use hmac::{Hmac, KeyInit as _, Mac as _};
use sha2::Sha256;

/// What the door keeps from one start of the program to the next: 32 bytes of chance and two counters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Secret {
    key: [u8; 32],
    /// Counts new join codes.
    codes: u32,
    /// Counts the times when everyone was sent out.
    badges: u32,
    /// Devices that left or were sent out: their badges are void.
    out: BTreeSet<String>,
}

impl Secret {
    /// A new one, by the system's own dice.
    ///
    /// # Errors
    /// What the system says if it has none.
    pub fn new() -> Result<Self, String> {
        let mut key = [0; 32];
        getrandom::fill(&mut key).map_err(|error| error.to_string())?;
        Ok(Self {
            key,
            codes: 0,
            badges: 0,
            out: BTreeSet::new(),
        })
    }

    /// As it is kept.
    pub fn to_text(&self) -> String {
        let mut text = format!("{} {} {}", hex(&self.key), self.codes, self.badges);
        for device in &self.out {
            text.push(' ');
            text.push_str(device);
        }
        text.push('\n');
        text
    }

    /// As it was kept; nothing if it cannot be read.
    pub fn from_text(text: &str) -> Option<Self> {
        let mut words = text.split_whitespace();
        let key = unhex(words.next()?)?.try_into().ok()?;
        let codes = words.next()?.parse().ok()?;
        let badges = words.next()?.parse().ok()?;
        let out = words.map(str::to_owned).collect();
        Some(Self {
            key,
            codes,
            badges,
            out,
        })
    }

    fn mac(&self, what: &str) -> Hmac<Sha256> {
        // A key of any length serves.
        let mut mac = Hmac::<Sha256>::new_from_slice(&self.key).unwrap_or_else(|_| unreachable!());
        mac.update(what.as_bytes());
        mac
    }
}

/// Letters of a code: those that are not taken for one another on a wall or by ear.
const LETTERS: &[u8; 31] = b"23456789ABCDEFGHJKMNPQRSTUVWXYZ";

/// A device that came in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Badge {
    /// Its name, which is no secret.
    pub device: String,
    /// Who holds it.
    pub name: String,
    /// Whether it came in by the superintendent's code.
    pub chief: bool,
}

/// Where the secret is kept when it changes.
type Keep = Box<dyn Fn(&Secret) -> Result<(), String> + Send + Sync>;

/// The door.
pub struct Door {
    secret: Mutex<Secret>,
    keep: Keep,
    guesses: Mutex<Guesses>,
    /// The addresses by which the office is reached, for the square code on the wall.
    addresses: Vec<String>,
}

impl std::fmt::Debug for Door {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Door")
            .field("addresses", &self.addresses)
            .finish_non_exhaustive()
    }
}

/// Why nobody was let in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shut {
    /// It is no code of this office.
    Wrong,
    /// Too many guesses: wait so many seconds.
    Wait(u64),
    /// No name was given, or one nobody can read.
    NoName,
    /// The system has no dice.
    NoDice,
}

/// The longest name of a person, in letters.
const LONGEST: usize = 40;

impl Door {
    /// A door with a secret, which `keep` is told whenever it changes.
    pub fn new(
        secret: Secret,
        addresses: Vec<String>,
        keep: impl Fn(&Secret) -> Result<(), String> + Send + Sync + 'static,
    ) -> Self {
        Self {
            secret: Mutex::new(secret),
            keep: Box::new(keep),
            guesses: Mutex::default(),
            addresses,
        }
    }

    fn secret(&self) -> MutexGuard<'_, Secret> {
        self.secret.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The addresses of the office, the best first.
    pub fn addresses(&self) -> &[String] {
        &self.addresses
    }

    /// The code by which anyone comes in, as a visitor.
    pub fn join_code(&self) -> String {
        let secret = self.secret();
        letters(&secret, &format!("join {}", secret.codes), 6)
    }

    /// The code by which the superintendent comes in.
    pub fn chief_code(&self) -> String {
        let secret = self.secret();
        letters(&secret, &format!("superintendent {}", secret.badges), 12)
    }

    /// Makes a new join code; who is in stays in.
    ///
    /// # Errors
    /// What the disk says; then the old code stays.
    pub fn new_code(&self) -> Result<(), String> {
        self.change(|secret| secret.codes = secret.codes.wrapping_add(1))
    }

    /// Sends everyone out: all badges and codes are void, also the superintendent's.
    ///
    /// # Errors
    /// What the disk says; then nothing changes.
    pub fn all_out(&self) -> Result<(), String> {
        self.change(|secret| {
            secret.codes = secret.codes.wrapping_add(1);
            secret.badges = secret.badges.wrapping_add(1);
            // Badges of before are void anyhow.
            secret.out.clear();
        })
    }

    /// Makes one device's badge void.
    ///
    /// # Errors
    /// What the disk says; then nothing changes.
    pub fn send_out(&self, device: &str) -> Result<(), String> {
        // Only names that this door gives are kept.
        if device.len() != 12 || !device.bytes().all(|byte| byte.is_ascii_hexdigit()) {
            return Ok(());
        }
        self.change(|secret| {
            secret.out.insert(device.to_owned());
        })
    }

    fn change(&self, change: impl FnOnce(&mut Secret)) -> Result<(), String> {
        let mut secret = self.secret();
        let mut next = secret.clone();
        change(&mut next);
        (self.keep)(&next)?;
        *secret = next;
        Ok(())
    }

    /// Lets a person in by a code.
    ///
    /// # Errors
    /// [`Shut`].
    pub fn come_in(
        &self,
        from: Option<IpAddr>,
        code: &str,
        name: &str,
        now: Instant,
    ) -> Result<Badge, Shut> {
        let name = tidy(name).ok_or(Shut::NoName)?;
        let mut guesses = self.guesses.lock().unwrap_or_else(PoisonError::into_inner);
        guesses.may(from, now).map_err(Shut::Wait)?;
        let code: String = code
            .chars()
            .filter(char::is_ascii_alphanumeric)
            .map(|letter| letter.to_ascii_uppercase())
            .collect();
        let chief = same(&code, &self.chief_code());
        if !chief && !same(&code, &self.join_code()) {
            guesses.wrong(from, now);
            return Err(Shut::Wrong);
        }
        let mut chance = [0; 6];
        getrandom::fill(&mut chance).map_err(|_| Shut::NoDice)?;
        Ok(Badge {
            device: hex(&chance),
            name,
            chief,
        })
    }

    /// The badge as it goes into a cookie.
    pub fn write(&self, badge: &Badge) -> String {
        let secret = self.secret();
        let said = format!(
            "{}.{}.{}",
            badge.device,
            hex(badge.name.as_bytes()),
            u8::from(badge.chief)
        );
        let proof = secret
            .mac(&format!("badge {} {said}", secret.badges))
            .finalize()
            .into_bytes();
        format!("{said}.{}", hex(&proof))
    }

    /// The badge of a cookie; nothing if this office did not write it, or has sent everyone out since.
    pub fn read(&self, cookie: &str) -> Option<Badge> {
        let (said, proof) = cookie.rsplit_once('.')?;
        let secret = self.secret();
        secret
            .mac(&format!("badge {} {said}", secret.badges))
            .verify_slice(&unhex(proof)?)
            .ok()?;
        let mut parts = said.split('.');
        let device = parts.next()?.to_owned();
        let name = String::from_utf8(unhex(parts.next()?)?).ok()?;
        let chief = parts.next()? == "1";
        if secret.out.contains(&device) {
            return None;
        }
        Some(Badge {
            device,
            name,
            chief,
        })
    }
}

/// A name as it can be shown to others: no control characters, no rows of blanks, not too long.
fn tidy(name: &str) -> Option<String> {
    let words: Vec<&str> = name.split_whitespace().collect();
    let name: String = words
        .join(" ")
        .chars()
        .filter(|letter| !letter.is_control() && !hidden(*letter))
        .take(LONGEST)
        .collect();
    let name = name.trim().to_owned();
    (!name.is_empty()).then_some(name)
}

/// Marks that turn the direction of writing, or cannot be seen: they could disguise a name.
fn hidden(letter: char) -> bool {
    matches!(letter, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

fn letters(secret: &Secret, what: &str, count: usize) -> String {
    let bytes = secret.mac(what).finalize().into_bytes();
    // 256 bits over so few letters: what is lost by the remainder is of no account.
    bytes
        .chunks(2)
        .take(count)
        .map(|pair| {
            let number = usize::from(pair[0]) << 8 | usize::from(pair[1]);
            char::from(LETTERS[number % LETTERS.len()])
        })
        .collect()
}

/// Whether two codes are the same, in a time that does not tell where they differ.
fn same(one: &str, other: &str) -> bool {
    one.len() == other.len()
        && one
            .bytes()
            .zip(other.bytes())
            .fold(0, |differ, (a, b)| differ | (a ^ b))
            == 0
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn unhex(text: &str) -> Option<Vec<u8>> {
    if !text.is_ascii() || !text.len().is_multiple_of(2) {
        return None;
    }
    (0..text.len())
        .step_by(2)
        .map(|at| u8::from_str_radix(&text[at..at + 2], 16).ok())
        .collect()
}

/// Wrong guesses at one address before it has to wait, and how long until it may guess once more.
const AT_ONCE: u32 = 5;
const ONE_MORE: Duration = Duration::from_secs(20);
/// The same for all addresses together.
const ALL_AT_ONCE: u32 = 60;
const ALL_ONE_MORE: Duration = Duration::from_secs(2);

/// Wrong guesses not yet forgotten, by address.
#[derive(Debug, Default)]
struct Guesses {
    by: HashMap<Option<IpAddr>, (u32, Instant)>,
    all: Option<(u32, Instant)>,
}

fn forgotten((count, since): (u32, Instant), now: Instant, each: Duration) -> (u32, Instant) {
    let passed = now.saturating_duration_since(since).as_secs() / each.as_secs().max(1);
    let passed = u32::try_from(passed).unwrap_or(u32::MAX);
    match passed {
        0 => (count, since),
        _ if passed >= count => (0, now),
        _ => (count - passed, since + each * passed),
    }
}

impl Guesses {
    fn may(&mut self, from: Option<IpAddr>, now: Instant) -> Result<(), u64> {
        self.by.retain(|_, guess| {
            *guess = forgotten(*guess, now, ONE_MORE);
            guess.0 > 0
        });
        self.all = self
            .all
            .map(|guess| forgotten(guess, now, ALL_ONE_MORE))
            .filter(|guess| guess.0 > 0);
        let wait = |(_, since): (u32, Instant), each: Duration| {
            each.saturating_sub(now.saturating_duration_since(since))
                .as_secs()
                .max(1)
        };
        if let Some(guess) = self.by.get(&from)
            && guess.0 >= AT_ONCE
        {
            return Err(wait(*guess, ONE_MORE));
        }
        match self.all {
            Some(guess) if guess.0 >= ALL_AT_ONCE => Err(wait(guess, ALL_ONE_MORE)),
            _ => Ok(()),
        }
    }

    fn wrong(&mut self, from: Option<IpAddr>, now: Instant) {
        self.by.entry(from).or_insert((0, now)).0 += 1;
        self.all.get_or_insert((0, now)).0 += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn door() -> Door {
        Door::new(Secret::new().unwrap(), Vec::new(), |_| Ok(()))
    }

    #[test]
    fn a_code_gives_a_badge_that_only_this_door_writes() {
        let door = door();
        let now = Instant::now();
        let code = door.join_code();
        let spoken = format!("{} {}", code[..3].to_lowercase(), &code[3..]);
        let badge = door
            .come_in(None, &spoken, "  Ada\u{202e}  Marlow ", now)
            .unwrap();
        assert_eq!((badge.name.as_str(), badge.chief), ("Ada Marlow", false));
        let cookie = door.write(&badge);
        assert_eq!(door.read(&cookie), Some(badge.clone()));
        // Another door does not know it, and nobody promotes themselves.
        let other = Door::new(Secret::new().unwrap(), Vec::new(), |_| Ok(()));
        assert_eq!(other.read(&cookie), None);
        assert_eq!(door.read(&cookie.replacen(".0.", ".1.", 1)), None);
        for wrong in ["", ".", "a.b.c.d", "é.é", &cookie[..cookie.len() - 1]] {
            assert_eq!(door.read(wrong), None, "{wrong}");
        }
        // The door opened again after a restart knows it still.
        let kept = Secret::from_text(&door.secret().to_text()).unwrap();
        let again = Door::new(kept, Vec::new(), |_| Ok(()));
        assert_eq!(again.read(&cookie), Some(badge));
        assert_eq!(again.join_code(), code);
    }

    #[test]
    fn a_new_code_keeps_who_is_in_and_all_out_keeps_nobody() {
        let door = door();
        let now = Instant::now();
        let (old, chief) = (door.join_code(), door.chief_code());
        let badge = door.come_in(None, &chief, "Ida", now).unwrap();
        assert!(badge.chief);
        let cookie = door.write(&badge);
        door.new_code().unwrap();
        assert_ne!(door.join_code(), old);
        assert_eq!(door.come_in(None, &old, "Tom", now), Err(Shut::Wrong));
        assert!(door.read(&cookie).is_some());
        let tom = door.come_in(None, &door.join_code(), "Tom", now).unwrap();
        let other = door.write(&tom);
        door.send_out(&tom.device).unwrap();
        assert_eq!(door.read(&other), None);
        assert!(door.read(&cookie).is_some());
        door.all_out().unwrap();
        assert_eq!(door.read(&cookie), None);
        assert_ne!(door.chief_code(), chief);
        // What cannot be kept is not changed.
        let full = Door::new(Secret::new().unwrap(), Vec::new(), |_| {
            Err("the disk is full".into())
        });
        let code = full.join_code();
        assert!(full.new_code().is_err());
        assert_eq!(full.join_code(), code);
    }

    #[test]
    fn who_guesses_has_to_wait_and_nobody_else() {
        let door = door();
        let here = Some("192.168.1.7".parse().unwrap());
        let there = Some("192.168.1.8".parse().unwrap());
        let begun = Instant::now();
        for _ in 0..AT_ONCE {
            assert_eq!(door.come_in(here, "000000", "Guy", begun), Err(Shut::Wrong));
        }
        let right = door.join_code();
        assert!(matches!(
            door.come_in(here, &right, "Guy", begun),
            Err(Shut::Wait(1..=20))
        ));
        assert!(door.come_in(there, &right, "Ada", begun).is_ok());
        // One more guess after a while, not five.
        let later = begun + ONE_MORE;
        assert_eq!(door.come_in(here, "000000", "Guy", later), Err(Shut::Wrong));
        assert!(matches!(
            door.come_in(here, &right, "Guy", later),
            Err(Shut::Wait(_))
        ));
        // Many addresses together are held up too.
        for n in 0..ALL_AT_ONCE {
            let from = Some(IpAddr::from([10, 0, (n >> 8) as u8, n as u8]));
            let _ = door.come_in(from, "000000", "Guy", later);
        }
        assert!(matches!(
            door.come_in(there, &right, "Ada", later),
            Err(Shut::Wait(_))
        ));
    }
}
