//! TLS of the door itself, by a certificate and a key in files.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use rustls::ServerConfig;
use rustls::pki_types::pem::{self, PemObject};
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
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

/// What serves over TLS 1.2 and 1.3 with this certificate chain and key.
///
/// # Errors
/// A file cannot be read, or the two do not belong together.
pub fn tls(certificate: &Path, key: &Path) -> Result<ServerConfig, TlsFault> {
    let wrong = |said| fault(certificate, "certificate", said);
    let chain: Vec<CertificateDer<'static>> = CertificateDer::pem_file_iter(certificate)
        .map_err(wrong)?
        .collect::<Result<_, _>>()
        .map_err(wrong)?;
    if chain.is_empty() {
        return Err(wrong(pem::Error::NoItemsFound));
    }
    let key = PrivateKeyDer::from_pem_file(key).map_err(|said| fault(key, "private key", said))?;
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    ServerConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .and_then(|builder| builder.with_no_client_auth().with_single_cert(chain, key))
        .map_err(TlsFault::Unfit)
}
