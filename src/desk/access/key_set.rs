//! The issuer's public keys (RFC 7517), from a file or an address, kept for a while and read again when a token names one
//! that is not among them.

use std::fmt;
use std::fs::File;
use std::io::Read;
use std::path::PathBuf;
use std::str::FromStr;
use std::sync::{Arc, Mutex, PoisonError, RwLock};
use std::time::{Duration, Instant};

use jsonwebtoken::jwk::{AlgorithmParameters, Jwk, JwkSet, KeyOperations, PublicKeyUse};
use serde::Deserialize;
use serde_json::Value;
use thiserror::Error;
use ureq::Agent;
use ureq::tls::{Certificate, RootCerts, TlsConfig};

use super::token::{TokenFault, TokenSettings};

/// Largest set that is read, in bytes.
const SET_MOST: u64 = 262_144;
/// Bits of the shortest RSA key that signatures are held against (RFC 7518, section 3.3).
const RSA_LEAST: usize = 2048;
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

/// An address is told without its user, password and options, which may be secret.
impl fmt::Display for KeySource {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File(file) => write!(f, "{}", file.display()),
            Self::Address(address) => {
                let (scheme, rest) = address.split_once("://").unwrap_or_default();
                let rest = rest.split(['?', '#']).next().unwrap_or_default();
                let host = rest.find('/').unwrap_or(rest.len());
                let user = rest.get(..host).and_then(|host| host.rfind('@'));
                let place = user
                    .and_then(|at| rest.get(at.saturating_add(1)..))
                    .unwrap_or(rest);
                write!(f, "{scheme}://{place}")
            }
        }
    }
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
        /// Which, without what is secret in it.
        address: String,
        /// What was said.
        fault: String,
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
                address: source.to_string(),
                fault: fault.to_string().replace(address, &source.to_string()),
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
    let set: Set = serde_json::from_slice(&text).map_err(KeySetFault::Shape)?;
    let keys: Vec<Jwk> = set.keys.into_iter().filter_map(usable).collect();
    if keys.is_empty() {
        tracing::warn!("among the keys in {source} is none that can be used: no token lets anybody in");
    }
    Ok(JwkSet { keys })
}

/// A set of keys, each as it came: one that is of no use here does not spoil the others (RFC 7517, section 5).
#[derive(Deserialize)]
struct Set {
    keys: Vec<Value>,
}

/// A key that a signature may be held against. Why another is left out is told in the log.
fn usable(came: Value) -> Option<Jwk> {
    let id = came.get("kid").and_then(Value::as_str).unwrap_or("without a kid");
    let id = id.to_owned();
    let word = match serde_json::from_value::<Jwk>(came) {
        Err(fault) => format!("cannot be read: {fault}"),
        Ok(key) if !is_to_verify(&key) => "is not meant for signatures".to_owned(),
        Ok(key) => match &key.algorithm {
            AlgorithmParameters::RSA(rsa) if bits(&rsa.n) < RSA_LEAST => {
                format!("has fewer than {RSA_LEAST} bits")
            }
            _ => return Some(key),
        },
    };
    tracing::warn!("the token key {id} is not used: it {word}");
    None
}

/// Whether a key says nothing against it that signatures are held against it (RFC 7517, sections 4.2 and 4.3).
fn is_to_verify(key: &Jwk) -> bool {
    let common = &key.common;
    let usage = common.public_key_use.as_ref();
    let operations = common.key_operations.as_ref();
    usage.is_none_or(|usage| *usage == PublicKeyUse::Signature)
        && operations.is_none_or(|all| all.contains(&KeyOperations::Verify))
}

/// How many bits a number has that is written in base64url, the first byte first.
fn bits(text: &str) -> usize {
    let digit = |sign: u8| match sign {
        b'A'..=b'Z' => Some(sign - b'A'),
        b'a'..=b'z' => Some(sign - b'a' + 26),
        b'0'..=b'9' => Some(sign - b'0' + 52),
        b'-' => Some(62),
        b'_' => Some(63),
        _ => None,
    };
    let digits: Vec<u8> = text.bytes().filter_map(digit).collect();
    let nothing: usize = digits.iter().take_while(|digit| **digit == 0).count();
    let first = digits
        .get(nothing)
        .map_or(0, |digit| digit.leading_zeros() as usize - 2);
    // The last digit has bits that belong to no byte.
    (6 * (digits.len() - nothing)).saturating_sub(first + 6 * digits.len() % 8)
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
