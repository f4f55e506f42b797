//! The office on a port.

use std::{
    fmt, io,
    net::{SocketAddr, TcpListener},
    sync::Arc,
    time::Duration,
};

use axum::{
    extract::connect_info::Connected,
    serve::{IncomingStream, Listener},
};
use tokio::sync::watch;

use crate::{
    Office, app,
    secure::{Certificate, Secured},
};

/// Why the office cannot be opened.
#[derive(Debug)]
pub struct NoPort {
    /// Where it was to be.
    pub at: SocketAddr,
    /// What the system says.
    pub error: io::Error,
}

impl fmt::Display for NoPort {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.error.kind() {
            io::ErrorKind::AddrInUse => write!(
                f,
                "port {} is taken: perhaps an office is open there already",
                self.at.port()
            ),
            io::ErrorKind::PermissionDenied => write!(
                f,
                "port {} may not be opened by everyone; ports from 1024 may",
                self.at.port()
            ),
            _ => write!(f, "{}: {}", self.at, self.error),
        }
    }
}

impl std::error::Error for NoPort {}

/// An office with its door open; [`Serving::run`] lets people in.
#[derive(Debug)]
pub struct Serving {
    listener: TcpListener,
    /// Where it is.
    pub at: SocketAddr,
}

/// Opens a port. Port 0 takes any that is free.
///
/// # Errors
/// [`NoPort`] if it is taken.
pub fn bind(at: SocketAddr) -> Result<Serving, NoPort> {
    let no_port = |error| NoPort { at, error };
    let listener = TcpListener::bind(at).map_err(no_port)?;
    listener.set_nonblocking(true).map_err(no_port)?;
    let at = listener.local_addr().map_err(no_port)?;
    Ok(Serving { listener, at })
}

impl Serving {
    /// Serves until the interrupt key or a request to end; then lets whatever is being answered
    /// finish. `names` are those by which the office may be called besides its addresses.
    ///
    /// # Errors
    /// What the system says.
    pub fn run(self, office: Arc<Office>, names: Vec<String>) -> io::Result<()> {
        self.run_with(office, names, None)
    }

    /// The same, over TLS if there is a certificate.
    ///
    /// # Errors
    /// What the system says.
    pub fn run_with(
        self,
        office: Arc<Office>,
        names: Vec<String>,
        certificate: Option<Certificate>,
    ) -> io::Result<()> {
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()?;
        runtime.block_on(async move {
            let listener = tokio::net::TcpListener::from_std(self.listener)?;
            let watching = tokio::spawn(look_outside(office.clone()));
            let result = match certificate {
                Some(certificate) => {
                    let secured = Secured::new(listener, certificate);
                    answer(secured, office, names).await
                }
                None => answer(listener, office, names).await,
            };
            watching.abort();
            result
        })
    }
}

/// Answers all who come to a door, until the program is asked to stop.
async fn answer<L>(listener: L, office: Arc<Office>, names: Vec<String>) -> io::Result<()>
where
    L: Listener<Addr = SocketAddr>,
    for<'a> From: Connected<IncomingStream<'a, L>>,
{
    let (stop, mut stopped) = watch::channel(false);
    let closing = office.clone();
    tokio::spawn(async move {
        asked_to_stop().await;
        closing.close();
        let _ = stop.send(true);
    });
    // Where a request comes from is asked where codes are guessed.
    let service = app(office, names).into_make_service_with_connect_info::<From>();
    let mut late = stopped.clone();
    let serving = axum::serve(listener, service).with_graceful_shutdown(async move {
        let _ = stopped.wait_for(|stop| *stop).await;
    });
    // A browser that never closes its side must not keep the office open.
    tokio::select! {
        result = async { serving.await } => result,
        () = async {
            let _ = late.wait_for(|stop| *stop).await;
            tokio::time::sleep(Duration::from_secs(3)).await;
        } => Ok(()),
    }
}

/// Where a request comes from.
#[derive(Debug, Clone, Copy)]
pub(crate) struct From(pub SocketAddr);

impl Connected<IncomingStream<'_, tokio::net::TcpListener>> for From {
    fn connect_info(stream: IncomingStream<'_, tokio::net::TcpListener>) -> Self {
        Self(*stream.remote_addr())
    }
}

impl Connected<IncomingStream<'_, Secured>> for From {
    fn connect_info(stream: IncomingStream<'_, Secured>) -> Self {
        Self(*stream.remote_addr())
    }
}

/// Looks once a second whether somebody changed the folder with another program.
async fn look_outside(office: Arc<Office>) {
    loop {
        tokio::time::sleep(Duration::from_secs(1)).await;
        let office = office.clone();
        let _ = tokio::task::spawn_blocking(move || office.look_outside()).await;
    }
}

#[cfg(unix)]
async fn asked_to_stop() {
    use tokio::signal::unix::{SignalKind, signal};
    match signal(SignalKind::terminate()) {
        Ok(mut ended) => {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = ended.recv() => {}
            }
        }
        Err(_) => {
            let _ = tokio::signal::ctrl_c().await;
        }
    }
}

#[cfg(not(unix))]
async fn asked_to_stop() {
    let _ = tokio::signal::ctrl_c().await;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_port_that_is_taken_is_said_plainly() {
        let first = bind(([127, 0, 0, 1], 0).into()).unwrap();
        let second = bind(first.at).unwrap_err();
        assert_eq!(
            second.to_string(),
            format!(
                "port {} is taken: perhaps an office is open there already",
                first.at.port()
            )
        );
    }
}
