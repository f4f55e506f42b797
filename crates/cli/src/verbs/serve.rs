//! `sawby serve`: the railroad's office, in a browser.

use std::{
    fs,
    io::Write as _,
    net::{IpAddr, Ipv4Addr},
    path::{Path, PathBuf},
    process::ExitCode,
    sync::Arc,
};

use railroad::Folder;
use session::Journal;
use web::{
    Certificate, Office, bind,
    live::{Door, Room, Secret, addresses, announce, printed, real_now},
};

mod replan;
mod services;

pub(super) use services::{opening, services};

use crate::{
    args::Which,
    outcome::{Failure, Outcome, say},
};

/// What may stand after `serve`.
#[derive(Debug, clap::Args)]
pub struct ServeArgs {
    #[command(flatten)]
    which: Which,
    /// The port; 0 takes any that is free.
    #[arg(long, value_name = "PORT", default_value_t = 7087)]
    port: u16,
    /// Let the club's network in: prints the address and a square code for phones, and asks everyone for
    /// a code. What may be changed by whom is the superintendent's to grant.
    #[arg(long)]
    lan: bool,
    /// The address to listen on, where `--lan` is not particular enough. Any address but this machine's
    /// own asks for codes, too.
    #[arg(long, value_name = "ADDRESS")]
    listen: Option<IpAddr>,
    /// Ask for codes even though only this machine can come in: to try what others will see.
    #[arg(long)]
    codes: bool,
    /// A name by which browsers may call the office, besides its address. May be given again.
    #[arg(long, value_name = "NAME")]
    name: Vec<String>,
    /// With `--lan`: the name by which the network may find this machine, as `NAME.local`.
    #[arg(long, value_name = "NAME", default_value = "sawby")]
    local_name: String,
    /// Serve over TLS with this certificate (PEM, the whole chain).
    #[arg(long, value_name = "FILE", requires = "key")]
    certificate: Option<PathBuf>,
    /// The certificate's key (PEM).
    #[arg(long, value_name = "FILE", requires = "certificate")]
    key: Option<PathBuf>,
}

pub(super) fn run(args: &ServeArgs) -> Outcome {
    let listen = match (args.listen, args.lan) {
        (Some(listen), _) => listen,
        (None, true) => IpAddr::V4(Ipv4Addr::UNSPECIFIED),
        (None, false) => IpAddr::V4(Ipv4Addr::LOCALHOST),
    };
    let certificate = certificate(args)?;
    // The port first: nobody waits for a railroad that cannot be shown.
    let serving = bind((listen, args.port).into()).map_err(|no_port| {
        Failure::no_port(no_port.to_string()).help("`--port 0` takes any that is free")
    })?;
    let office = office(&args.which)?;
    let name = office.name();
    office.prepare();
    let scheme = if certificate.is_some() {
        "https"
    } else {
        "http"
    };
    let port = serving.at.port();
    let others = if listen.is_unspecified() {
        addresses()
    } else {
        vec![listen]
    };
    let mut names = args.name.clone();
    let mut ways: Vec<String> = others
        .iter()
        .map(|at| match at {
            IpAddr::V4(at) => format!("{scheme}://{at}:{port}"),
            IpAddr::V6(at) => format!("{scheme}://[{at}]:{port}"),
        })
        .collect();
    let announced = if listen.is_loopback() {
        None
    } else {
        announce(&args.local_name, port, &others).ok()
    };
    if announced.is_some() {
        let local = format!("{}.local", args.local_name);
        ways.push(format!("{scheme}://{local}:{port}"));
        names.push(local);
    }
    // A certificate is for a name: that way first.
    for name in args.name.iter().rev().filter(|_| certificate.is_some()) {
        ways.insert(0, format!("{scheme}://{name}:{port}"));
    }
    let place = place(&args.which)?;
    let asks = args.codes || !listen.is_loopback();
    let door = if asks {
        Some(door(&place, ways.clone())?)
    } else {
        None
    };
    let journal = Journal::open(&place.join("journal.sqlite"), Arc::new(real_now))
        .map_err(|trouble| Failure::misunderstood(trouble.to_string()))?;
    // Nobody can go to "every address".
    let here = if listen.is_unspecified() {
        format!("localhost:{port}")
    } else {
        serving.at.to_string()
    };
    let mut words = format!("{name}: the office is open at {scheme}://{here}/\n");
    if let Some(door) = &door {
        let code = door.join_code();
        for way in &ways {
            words.push_str(&format!("Others come in at {way}/join\n"));
        }
        words.push_str(&format!("Code to come in: {code}\n"));
        words.push_str(&format!(
            "Superintendent's code, for nobody else: {}\n",
            door.chief_code()
        ));
        if let Some(square) = ways
            .first()
            .and_then(|way| printed(&format!("{way}/join?code={code}")))
        {
            words.push_str(&square);
            words.push('\n');
        }
        if certificate.is_none() && !listen.is_loopback() {
            words.push_str(
                "Without a certificate what is said on this network can be overheard: use it on a network \
                 that the club trusts.\n",
            );
        }
    }
    words.push_str("Ctrl-C closes it.\n");
    say(&words);
    office.hold_sessions(Room::new(journal, door));
    serving
        .run_with(office, names, certificate)
        .map_err(|error| Failure::no_port(error.to_string()))?;
    drop(announced);
    say("The office is closed.\n");
    Ok(ExitCode::SUCCESS)
}

fn certificate(args: &ServeArgs) -> Result<Option<Certificate>, Failure> {
    let (Some(chain), Some(key)) = (&args.certificate, &args.key) else {
        return Ok(None);
    };
    let read = |path: &Path| fs::read(path).map_err(|error| Failure::file(path, &error));
    Certificate::read(&read(chain)?, &read(key)?)
        .map(Some)
        .map_err(Failure::misunderstood)
}

/// Where the journal is and what the door keeps: `session/` in the railroad's folder; for the example,
/// which is not on disk, a folder that goes with it.
fn place(which: &Which) -> Result<PathBuf, Failure> {
    let place = if which.example {
        std::env::temp_dir().join(format!("sawby-example-{}", std::process::id()))
    } else {
        which.folder.join("session")
    };
    fs::create_dir_all(&place).map_err(|error| Failure::file(&place, &error))?;
    Ok(place)
}

/// The door with its secret, kept where only the owner of the folder may read it.
fn door(place: &Path, ways: Vec<String>) -> Result<Door, Failure> {
    let path = place.join("door");
    let kept = match fs::read_to_string(&path) {
        Ok(text) => Some(Secret::from_text(&text).ok_or_else(|| {
            Failure::misunderstood(format!("{} is no door's secret", path.display()))
                .help("take the file away: new codes are made then, and everyone comes in anew")
        })?),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => None,
        Err(error) => return Err(Failure::file(&path, &error)),
    };
    let secret = match kept {
        Some(secret) => secret,
        None => {
            let secret = Secret::new().map_err(Failure::misunderstood)?;
            keep(&path, &secret).map_err(|error| Failure::file(&path, &error))?;
            secret
        }
    };
    Ok(Door::new(secret, ways, move |secret| {
        keep(&path, secret).map_err(|error| error.to_string())
    }))
}

/// Writes beside the file, then renames: a plug pulled in between leaves the old secret.
fn keep(path: &Path, secret: &Secret) -> std::io::Result<()> {
    let beside = path.with_extension("new");
    let mut options = fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        options.mode(0o600);
    }
    let mut file = options.open(&beside)?;
    file.write_all(secret.to_text().as_bytes())?;
    file.sync_all()?;
    fs::rename(&beside, path)
}

fn office(which: &Which) -> Result<Arc<Office>, Failure> {
    let services = services(which);
    if which.example {
        let folder = Folder::built_in("example").unwrap_or_default();
        return Ok(Office::in_memory(folder, services));
    }
    // Says what is wrong with the folder as every verb does.
    crate::outcome::load(which)?;
    Ok(Office::open(&which.folder, services)?)
}
