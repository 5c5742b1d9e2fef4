//! TLS of the door itself, by a certificate and a key in files.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use parking_lot::RwLock;
use rustls::ServerConfig;
use rustls::crypto::ring::default_provider;
use rustls::pki_types::pem::{self, PemObject};
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::server::{ClientHello, ResolvesServerCert};
use rustls::sign::CertifiedKey;
use thiserror::Error;

/// Why it cannot serve over TLS.
#[derive(Debug, Error)]
pub enum TlsFault {
    /// A file cannot be read.
    #[error("{path}: cannot be read: {source}")]
    Read {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// A file has not what it should have.
    #[error("{path}: it has no {wanted} in PEM")]
    Nothing {
        /// The file.
        path: PathBuf,
        /// What it should have.
        wanted: &'static str,
    },
    /// Certificate and key do not fit one another.
    #[error("the certificate and the key cannot be used together: {0}")]
    Unfit(rustls::Error),
}

fn fault(path: &Path, wanted: &'static str, fault: pem::Error) -> TlsFault {
    let path = path.to_owned();
    match fault {
        pem::Error::Io(source) => TlsFault::Read { path, source },
        _ => TlsFault::Nothing { path, wanted },
    }
}

/// The certificate that is shown from the next connection on.
#[derive(Debug)]
struct Shown(RwLock<Arc<CertifiedKey>>);

impl ResolvesServerCert for Shown {
    fn resolve(&self, _: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        Some(Arc::clone(&self.0.read()))
    }
}

/// The files of a certificate and its key, which may be read anew while it serves by them.
#[derive(Debug, Clone)]
pub struct Tls {
    certificate: PathBuf,
    key: PathBuf,
    shown: Arc<Shown>,
    config: ServerConfig,
}

impl Tls {
    /// What serves over TLS 1.2 and 1.3 with this certificate chain and key.
    ///
    /// # Errors
    /// A file cannot be read, or the two do not belong together.
    pub fn read(certificate: &Path, key: &Path) -> Result<Self, TlsFault> {
        let shown = Arc::new(Shown(RwLock::new(Arc::new(certified(certificate, key)?))));
        let config = ServerConfig::builder_with_provider(Arc::new(default_provider()))
            .with_safe_default_protocol_versions()
            .map_err(TlsFault::Unfit)?
            .with_no_client_auth()
            .with_cert_resolver(Arc::clone(&shown) as Arc<dyn ResolvesServerCert>);
        Ok(Self {
            certificate: certificate.to_owned(),
            key: key.to_owned(),
            shown,
            config,
        })
    }

    /// Reads the files anew; connections that are made from now on see what is in them.
    ///
    /// # Errors
    /// As at first; then it goes on with what it has.
    pub fn renew(&self) -> Result<(), TlsFault> {
        let new = certified(&self.certificate, &self.key)?;
        *self.shown.0.write() = Arc::new(new);
        Ok(())
    }

    pub(super) fn config(&self) -> ServerConfig {
        self.config.clone()
    }
}

fn certified(certificate: &Path, key: &Path) -> Result<CertifiedKey, TlsFault> {
    let wrong = |said| fault(certificate, "certificate", said);
    let chain: Vec<CertificateDer<'static>> = CertificateDer::pem_file_iter(certificate)
        .map_err(wrong)?
        .collect::<Result<_, _>>()
        .map_err(wrong)?;
    if chain.is_empty() {
        return Err(wrong(pem::Error::NoItemsFound));
    }
    let key = PrivateKeyDer::from_pem_file(key).map_err(|said| fault(key, "private key", said))?;
    CertifiedKey::from_der(chain, key, &default_provider()).map_err(TlsFault::Unfit)
}
