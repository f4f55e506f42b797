//! TLS at the office's door, with a certificate and key that the club gives.

use std::{fmt, io, net::SocketAddr, sync::Arc, time::Duration};

use axum::serve::Listener;
use tokio::net::{TcpListener, TcpStream};
use tokio_rustls::{
    TlsAcceptor,
    rustls::{
        ServerConfig,
        crypto::ring,
        pki_types::{CertificateDer, PrivateKeyDer, pem::PemObject as _},
    },
    server::TlsStream,
};

/// How long a caller may take to greet.
const GREETING: Duration = Duration::from_secs(10);

/// A certificate with its key, ready to be shown.
#[derive(Clone)]
pub struct Certificate(Arc<ServerConfig>);

impl fmt::Debug for Certificate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Certificate")
    }
}

impl Certificate {
    /// From the texts of two PEM files: the chain, the office's own first, and its key.
    ///
    /// # Errors
    /// What is wrong with them, as a sentence.
    pub fn read(chain: &[u8], key: &[u8]) -> Result<Self, String> {
        let chain: Vec<CertificateDer<'static>> = CertificateDer::pem_slice_iter(chain)
            .collect::<Result<_, _>>()
            .map_err(|error| format!("the certificate cannot be read as PEM: {error}"))?;
        if chain.is_empty() {
            return Err(
                "the certificate's file holds no certificate; PEM was expected, with \
                        `-----BEGIN CERTIFICATE-----`"
                    .into(),
            );
        }
        let key = PrivateKeyDer::from_pem_slice(key)
            .map_err(|error| format!("the key cannot be read as PEM: {error}"))?;
        let config = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
            .with_safe_default_protocol_versions()
            .map_err(|error| error.to_string())?
            .with_no_client_auth()
            .with_single_cert(chain, key)
            .map_err(|error| format!("the certificate and the key do not fit: {error}"))?;
        Ok(Self(Arc::new(config)))
    }
}

/// A port behind TLS. Callers greet each on their own time, so that one who is silent holds nobody up.
pub(crate) struct Secured {
    greeted: tokio::sync::mpsc::Receiver<(TlsStream<TcpStream>, SocketAddr)>,
    at: io::Result<SocketAddr>,
}

impl Secured {
    pub(crate) fn new(listener: TcpListener, certificate: Certificate) -> Self {
        let at = listener.local_addr();
        let acceptor = TlsAcceptor::from(certificate.0);
        let (sender, greeted) = tokio::sync::mpsc::channel(64);
        tokio::spawn(async move {
            let mut listener = listener;
            loop {
                let (stream, from) = Listener::accept(&mut listener).await;
                let (acceptor, sender) = (acceptor.clone(), sender.clone());
                if sender.is_closed() {
                    return;
                }
                tokio::spawn(async move {
                    let greeting = tokio::time::timeout(GREETING, acceptor.accept(stream));
                    if let Ok(Ok(stream)) = greeting.await {
                        let _ = sender.send((stream, from)).await;
                    }
                });
            }
        });
        Self { greeted, at }
    }
}

impl Listener for Secured {
    type Io = TlsStream<TcpStream>;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Self::Io, Self::Addr) {
        match self.greeted.recv().await {
            Some(caller) => caller,
            // The port itself never ends; should its task have, nobody comes any more.
            None => std::future::pending().await,
        }
    }

    fn local_addr(&self) -> io::Result<Self::Addr> {
        match &self.at {
            Ok(at) => Ok(*at),
            Err(error) => Err(io::Error::new(error.kind(), error.to_string())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_certificate_is_said() {
        let said = Certificate::read(b"hello", b"").unwrap_err();
        assert!(said.contains("holds no certificate"), "{said}");
    }
}
