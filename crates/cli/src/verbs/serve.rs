//! `sawby serve`: the railroad's office, in a browser.

use std::{net::IpAddr, process::ExitCode, sync::Arc};

use railroad::Folder;
use web::{Office, bind};

mod services;

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
    /// The address to listen on. Only this machine can come in if left out; `0.0.0.0` lets the
    /// club's network in: anyone there may then change the railroad.
    #[arg(long, value_name = "ADDRESS", default_value = "127.0.0.1")]
    listen: IpAddr,
    /// A name by which browsers may call the office, besides its address. May be given again.
    #[arg(long, value_name = "NAME")]
    name: Vec<String>,
}

pub(super) fn run(args: &ServeArgs) -> Outcome {
    // The port first: nobody waits for a railroad that cannot be shown.
    let serving = bind((args.listen, args.port).into()).map_err(|no_port| {
        Failure::no_port(no_port.to_string()).help("`--port 0` takes any that is free")
    })?;
    let office = office(&args.which)?;
    let name = office.name();
    office.prepare();
    say(&format!(
        "{name}: the office is open at http://{}/\n{}Ctrl-C closes it.\n",
        serving.at,
        if args.listen.is_loopback() {
            ""
        } else {
            "Anyone on this network may come in and change the railroad.\n"
        }
    ));
    serving
        .run(office, args.name.clone())
        .map_err(|error| Failure::no_port(error.to_string()))?;
    say("The office is closed.\n");
    Ok(ExitCode::SUCCESS)
}

fn office(which: &Which) -> Result<Arc<Office>, Failure> {
    let services = services::services();
    if which.example {
        let folder = Folder::built_in("example").unwrap_or_default();
        return Ok(Office::in_memory(folder, services));
    }
    // Says what is wrong with the folder as every verb does.
    crate::outcome::load(which)?;
    Ok(Office::open(&which.folder, services)?)
}
