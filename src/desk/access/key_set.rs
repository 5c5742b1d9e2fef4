//! The issuer's public keys (RFC 7517), from a file or an address, kept for a while and read again when a token names one
//! that is not among them.

use std::fs::File;
use std::io::Read;
use std::path::PathBuf;
use std::str::FromStr;
use std::sync::{Arc, Mutex, PoisonError, RwLock};
use std::time::{Duration, Instant};

use jsonwebtoken::jwk::{Jwk, JwkSet};
use thiserror::Error;
use ureq::Agent;
use ureq::tls::{Certificate, RootCerts, TlsConfig};

use super::token::{TokenFault, TokenSettings};

/// Largest set that is read, in bytes.
const SET_MOST: u64 = 262_144;
/// How long an address may take to answer.
const WAIT: Duration = Duration::from_secs(5);

/// Where an issuer's keys are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum KeySource {
    /// In a file.
    File(PathBuf),
    /// At an address: https, or http on this machine.
    Address(String),
}

impl FromStr for KeySource {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let local = ["http://127.0.0.1", "http://[::1]", "http://localhost"]
            .iter()
            .filter_map(|start| text.strip_prefix(start))
            .any(|rest| rest.is_empty() || rest.starts_with([':', '/']));
        if text.starts_with("https://") || local {
            Ok(Self::Address(text.to_owned()))
        } else if text.contains("://") {
            Err("keys come from a file, over https, or over http from this machine".to_owned())
        } else {
            Ok(Self::File(PathBuf::from(text)))
        }
    }
}

/// Why keys cannot be read.
#[derive(Debug, Error)]
pub enum KeySetFault {
    /// The file.
    #[error("the keys in {file} cannot be read: {fault}")]
    File {
        /// Which.
        file: PathBuf,
        /// What the system says.
        fault: std::io::Error,
    },
    /// The address.
    #[error("the keys at {address} cannot be had: {fault}")]
    Address {
        /// Which.
        address: String,
        /// What was said.
        fault: Box<ureq::Error>,
    },
    /// The certificates of this machine.
    #[error("this machine has no certificates to trust for https")]
    NoRoots,
    /// What was read is no set of keys.
    #[error("what was read is no set of keys (RFC 7517): {0}")]
    Shape(serde_json::Error),
}

/// The keys as they were read last.
#[derive(Debug)]
pub(super) struct KeySet {
    agent: Option<Agent>,
    kept: RwLock<Kept>,
    /// Held while they are read; holds when that was begun last.
    reading: Mutex<Instant>,
}

#[derive(Debug)]
struct Kept {
    keys: Arc<JwkSet>,
    at: Instant,
}

impl KeySet {
    pub(super) fn open(settings: &TokenSettings) -> Result<Self, KeySetFault> {
        let agent = match &settings.keys {
            KeySource::Address(address) => Some(agent(address)?),
            KeySource::File(_) => None,
        };
        let keys = Arc::new(load(&settings.keys, agent.as_ref())?);
        let at = Instant::now();
        Ok(Self {
            agent,
            kept: RwLock::new(Kept { keys, at }),
            reading: Mutex::new(at),
        })
    }

    /// The one key that fits. Where none does, or the keys are old, they are read again, by one caller at a time.
    pub(super) fn find(
        &self,
        settings: &TokenSettings,
        fits: impl Fn(&Jwk) -> bool,
    ) -> Result<Jwk, TokenFault> {
        let (keys, at) = self.now();
        if at.elapsed() < settings.keep_keys
            && let Some(key) = only(&keys, &fits)
        {
            return Ok(key);
        }
        self.look_again(settings, at);
        let (keys, at) = self.now();
        if at.elapsed() >= settings.keep_keys.saturating_mul(2) {
            return Err(TokenFault::NoKeys);
        }
        only(&keys, &fits).ok_or(TokenFault::NoKey)
    }

    fn now(&self) -> (Arc<JwkSet>, Instant) {
        let kept = self.kept.read().unwrap_or_else(PoisonError::into_inner);
        (Arc::clone(&kept.keys), kept.at)
    }

    /// Reads the keys again, unless somebody did since `seen` or it was tried a moment ago. Where it fails, the ones that
    /// are kept stay.
    fn look_again(&self, settings: &TokenSettings, seen: Instant) {
        let mut begun = self.reading.lock().unwrap_or_else(PoisonError::into_inner);
        if self.now().1 != seen || begun.elapsed() < settings.look_again {
            return;
        }
        *begun = Instant::now();
        match load(&settings.keys, self.agent.as_ref()) {
            Ok(keys) => {
                let mut kept = self.kept.write().unwrap_or_else(PoisonError::into_inner);
                *kept = Kept {
                    keys: Arc::new(keys),
                    at: Instant::now(),
                };
            }
            Err(fault) => tracing::warn!("{fault}"),
        }
    }
}

/// The key that fits, where no other does.
fn only(keys: &JwkSet, fits: impl Fn(&Jwk) -> bool) -> Option<Jwk> {
    let mut found = keys.keys.iter().filter(|key| fits(key));
    let key = found.next()?;
    found.next().is_none().then(|| key.clone())
}

fn load(source: &KeySource, agent: Option<&Agent>) -> Result<JwkSet, KeySetFault> {
    let mut text = Vec::new();
    match (source, agent) {
        (KeySource::Address(address), Some(agent)) => {
            let said = |fault: ureq::Error| KeySetFault::Address {
                address: address.clone(),
                fault: Box::new(fault),
            };
            let mut answer = agent.get(address).call().map_err(said)?;
            let body = answer.body_mut().with_config().limit(SET_MOST);
            text = body.read_to_vec().map_err(said)?;
        }
        (KeySource::File(file), _) => {
            let said = |fault| KeySetFault::File {
                file: file.clone(),
                fault,
            };
            let open = File::open(file).map_err(said)?;
            open.take(SET_MOST).read_to_end(&mut text).map_err(said)?;
        }
        (KeySource::Address(_), None) => return Err(KeySetFault::NoRoots),
    }
    serde_json::from_slice(&text).map_err(KeySetFault::Shape)
}

/// Asks an address, over TLS where it begins with https: by the certificates that this machine trusts.
fn agent(address: &str) -> Result<Agent, KeySetFault> {
    let config = Agent::config_builder()
        .timeout_global(Some(WAIT))
        .max_redirects(0);
    if !address.starts_with("https://") {
        return Ok(config.build().into());
    }
    let roots: Vec<Certificate<'static>> = rustls_native_certs::load_native_certs()
        .certs
        .iter()
        .map(|root| Certificate::from_der(root).to_owned())
        .collect();
    if roots.is_empty() {
        return Err(KeySetFault::NoRoots);
    }
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let tls = TlsConfig::builder()
        .root_certs(RootCerts::from(roots.into_iter()))
        .unversioned_rustls_crypto_provider(provider)
        .build();
    Ok(config.https_only(true).tls_config(tls).build().into())
}
