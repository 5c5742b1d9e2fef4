//! The text of an access key: a prefix by which it is recognised, the id by which it is found, and the secret.
//!
//! The secret is 256 random bits, so that nothing is gained by trying: its plain SHA-256 is kept, and a slow digest, as
//! for passwords, which people choose, would only slow every request down.

use estimate::quote::canonical::Digest;
use subtle::ConstantTimeEq;

use crate::desk::DeskFault;

/// What every key begins with.
const PREFIX: &str = "trk_";
const ID_BYTES: usize = 8;
const SECRET_BYTES: usize = 32;

/// A key as it is presented.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Presented<'a> {
    /// By which it is found.
    pub(super) id: &'a str,
    secret: &'a str,
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn random<const N: usize>() -> Result<String, DeskFault> {
    let mut bytes = [0_u8; N];
    getrandom::fill(&mut bytes).map_err(|fault| DeskFault::Defect(format!("no random numbers: {fault}")))?;
    Ok(hexadecimal(&bytes))
}

/// A new id.
pub(super) fn new_id() -> Result<String, DeskFault> {
    random::<ID_BYTES>()
}

/// A new secret.
pub(super) fn new_secret() -> Result<String, DeskFault> {
    random::<SECRET_BYTES>()
}

/// The key of this id and secret, as it is handed out.
pub(super) fn text(id: &str, secret: &str) -> String {
    format!("{PREFIX}{id}_{secret}")
}

/// What is kept of a secret.
pub(super) fn digest(secret: &str) -> String {
    Digest::of(secret.as_bytes()).to_string()
}

impl<'a> Presented<'a> {
    /// The parts of a key; none where the text has another shape.
    pub(super) fn read(text: &'a str) -> Option<Self> {
        let (id, secret) = text.strip_prefix(PREFIX)?.split_once('_')?;
        let digits = |part: &str, bytes: usize| {
            part.len() == 2 * bytes
                && part
                    .bytes()
                    .all(|sign| sign.is_ascii_digit() || (b'a'..=b'f').contains(&sign))
        };
        (digits(id, ID_BYTES) && digits(secret, SECRET_BYTES)).then_some(Self { id, secret })
    }

    /// Whether its secret is the one of this digest, in a time that tells nothing.
    pub(super) fn opens(&self, kept: &str) -> bool {
        bool::from(digest(self.secret).as_bytes().ct_eq(kept.as_bytes()))
    }
}
