//! Tokens of an identity provider: signed JSON Web Tokens (RFC 7519) of one issuer, for one audience.
//!
//! The library checks the signature, by a key of the issuer's set and an algorithm that the service was set up with. The
//! claims are checked here, each by its own line.

use std::str::FromStr;
use std::time::Duration;

use chrono::Utc;
use jsonwebtoken::jwk::Jwk;
use jsonwebtoken::{Algorithm, DecodingKey, Validation, decode, decode_header};
use serde_json::{Map, Value};
use thiserror::Error;

use super::key_set::KeySet;
use super::{Caller, Denied, Role};

pub use super::key_set::{KeySetFault, KeySource};

/// Seconds by which the issuer's clock may be off.
const LEEWAY: i64 = 30;
/// Longest name of a person, in characters.
const PERSON_MOST: usize = 100;
/// Longest name by which the issuer knows a person, in bytes (OpenID Connect Core 1.0, section 2).
const SUBJECT_MOST: usize = 255;

/// An algorithm by which tokens may be signed. The others that the standard names, those with a shared secret above all,
/// are never taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TokenAlgorithm {
    /// RSA with SHA-256.
    Rs256,
    /// ECDSA on P-256 with SHA-256.
    Es256,
    /// Ed25519.
    EdDsa,
}

impl TokenAlgorithm {
    fn own(self) -> Algorithm {
        match self {
            Self::Rs256 => Algorithm::RS256,
            Self::Es256 => Algorithm::ES256,
            Self::EdDsa => Algorithm::EdDSA,
        }
    }
}

impl FromStr for TokenAlgorithm {
    type Err = String;

    fn from_str(word: &str) -> Result<Self, String> {
        match word {
            "RS256" => Ok(Self::Rs256),
            "ES256" => Ok(Self::Es256),
            "EdDSA" => Ok(Self::EdDsa),
            _ => Err("RS256, ES256 or EdDSA is asked for".to_owned()),
        }
    }
}

/// Whose tokens are taken, and how they are read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TokenSettings {
    /// Who issues them: the claim `iss`, letter by letter.
    pub issuer: String,
    /// For whom they are: one of the claim `aud`.
    pub audience: String,
    /// Where the issuer's keys are.
    pub keys: KeySource,
    /// How they may be signed.
    pub algorithms: Vec<TokenAlgorithm>,
    /// The claim that names the role: its name, or a JSON Pointer to it.
    pub role_claim: String,
    /// The claim that names the person.
    pub person_claim: String,
    /// How long the issuer's keys are kept before they are read again.
    pub keep_keys: Duration,
    /// How soon they are read again for a key that is not among them.
    pub look_again: Duration,
}

/// The issuer whose tokens are taken.
#[derive(Debug)]
pub struct TokenIssuer {
    settings: TokenSettings,
    keys: KeySet,
}

/// Why a token is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum TokenFault {
    /// It has not the parts of a token.
    #[error("it cannot be read")]
    Shape,
    /// It is signed by another algorithm than those that are taken.
    #[error("its algorithm is not taken here")]
    Algorithm,
    /// It asks for something to be understood that is not.
    #[error("its header asks for what is not understood here")]
    Critical,
    /// The issuer has no such key.
    #[error("the issuer has no key that it could be signed with")]
    NoKey,
    /// The issuer's keys cannot be read.
    #[error("the issuer's keys cannot be had")]
    NoKeys,
    /// It was not signed by that key.
    #[error("its signature does not hold")]
    Signature,
    /// It is of somebody else.
    #[error("it is of another issuer")]
    Issuer,
    /// It is for somebody else.
    #[error("it is for another audience")]
    Audience,
    /// Its time is over.
    #[error("it has expired")]
    Expired,
    /// It says no end.
    #[error("it does not say when it expires (exp, a number)")]
    NoEnd,
    /// Its time has not come.
    #[error("it is not valid yet")]
    NotYet,
    /// It names nobody.
    #[error("it does not name a person")]
    Nobody,
    /// It names no role, or more than one.
    #[error("it does not name one role of this service")]
    Role,
}

impl TokenIssuer {
    /// An issuer of these settings. Its keys are read once now, so that a slip in the settings is told at the start.
    ///
    /// # Errors
    /// Its keys cannot be read.
    pub fn new(settings: TokenSettings) -> Result<Self, KeySetFault> {
        let keys = KeySet::open(&settings)?;
        Ok(Self { settings, keys })
    }

    /// Who comes in by `token`.
    ///
    /// # Errors
    /// Why it is refused.
    pub(super) fn admit(&self, token: &str) -> Result<Caller, Denied> {
        let claims = self.signed(token)?;
        Ok(self.caller(&claims, Utc::now().timestamp())?)
    }

    /// The claims of a token, once its signature holds.
    fn signed(&self, token: &str) -> Result<Map<String, Value>, TokenFault> {
        let header = decode_header(token).map_err(|_| TokenFault::Shape)?;
        let taken = self.settings.algorithms.iter().map(|taken| taken.own());
        let algorithm = taken.into_iter().find(|taken| *taken == header.alg);
        let algorithm = algorithm.ok_or(TokenFault::Algorithm)?;
        if header.crit.is_some() {
            return Err(TokenFault::Critical);
        }
        let fits = |key: &Jwk| fits(key, header.kid.as_deref(), algorithm);
        let key = self.keys.find(&self.settings, fits)?;
        let key = DecodingKey::from_jwk(&key).map_err(|_| TokenFault::NoKey)?;
        let mut only_signature = Validation::new(algorithm);
        only_signature.required_spec_claims.clear();
        only_signature.validate_exp = false;
        only_signature.validate_aud = false;
        let read = decode::<Map<String, Value>>(token, &key, &only_signature);
        read.map(|token| token.claims).map_err(|_| TokenFault::Signature)
    }

    /// Whoever the claims name, at a moment in seconds.
    fn caller(&self, claims: &Map<String, Value>, now: i64) -> Result<Caller, TokenFault> {
        let settings = &self.settings;
        let text = |name: &str| claims.get(name).and_then(Value::as_str);
        if text("iss") != Some(&settings.issuer) {
            return Err(TokenFault::Issuer);
        }
        if !texts(claims.get("aud")).any(|audience| audience == settings.audience) {
            return Err(TokenFault::Audience);
        }
        let ends = claims.get("exp").and_then(seconds).ok_or(TokenFault::NoEnd)?;
        if ends.saturating_add(LEEWAY) <= now {
            return Err(TokenFault::Expired);
        }
        if let Some(begins) = claims.get("nbf") {
            let begins = seconds(begins).ok_or(TokenFault::NotYet)?;
            if begins.saturating_sub(LEEWAY) > now {
                return Err(TokenFault::NotYet);
            }
        }
        let named = |text: &&str, most: usize| {
            !text.trim().is_empty() && text.chars().count() <= most && !text.chars().any(char::is_control)
        };
        let subject = text("sub").filter(|subject| named(subject, SUBJECT_MOST));
        let person = text(&settings.person_claim).map(str::trim);
        let person = person.filter(|person| named(person, PERSON_MOST));
        Ok(Caller {
            person: person.ok_or(TokenFault::Nobody)?.to_owned(),
            role: self.role(claims)?,
            key: subject.ok_or(TokenFault::Nobody)?.to_owned(),
            shared: false,
        })
    }

    /// The one role among the words of the claim; words that are no role are somebody else's.
    fn role(&self, claims: &Map<String, Value>) -> Result<Role, TokenFault> {
        let place = &self.settings.role_claim;
        let mut found = claims.get(place);
        if let Some(path) = place.strip_prefix('/') {
            let mut steps = path
                .split('/')
                .map(|step| step.replace("~1", "/").replace("~0", "~"));
            found = steps.next().and_then(|step| claims.get(&step));
            for step in steps {
                found = found.and_then(|value| value.get(&step));
            }
        }
        let mut roles = texts(found).filter_map(Role::of_word);
        match (roles.next(), roles.next()) {
            (Some(role), None) => Ok(role),
            _ => Err(TokenFault::Role),
        }
    }
}

/// Whether a key of the set may have signed a token with this header.
fn fits(key: &Jwk, id: Option<&str>, algorithm: Algorithm) -> bool {
    let common = &key.common;
    let named = id.is_none_or(|id| common.key_id.as_deref() == Some(id));
    let meant = common
        .key_algorithm
        .is_none_or(|own| Algorithm::from_str(&own.to_string()).is_ok_and(|own| own == algorithm));
    let family = DecodingKey::from_jwk(key).is_ok_and(|key| key.family() == algorithm.family());
    named && meant && family
}

/// A text, or each text of a list.
fn texts(value: Option<&Value>) -> impl Iterator<Item = &str> {
    let list = match value {
        Some(Value::Array(entries)) => entries.as_slice(),
        Some(one) => std::slice::from_ref(one),
        None => &[],
    };
    list.iter().filter_map(Value::as_str)
}

/// A moment in seconds (RFC 7519, section 2, NumericDate), which may have a fraction.
fn seconds(value: &Value) -> Option<i64> {
    let digits = value.as_number()?.to_string();
    digits.split('.').next()?.parse().ok()
}
