//! Whose tokens the server takes.

use std::time::Duration;

use tallyrule::desk::access::{KeySource, TokenAlgorithm, TokenIssuer, TokenSettings};

use super::Told;

/// How long the issuer's keys are kept.
const KEEP_KEYS: Duration = Duration::from_secs(600);
/// How soon they are read again for a key that is not among them.
const LOOK_AGAIN: Duration = Duration::from_secs(30);

/// The identity provider (OpenID Connect) whose tokens let in beside the access keys.
#[derive(Debug, Clone, clap::Args)]
pub struct TokenArgs {
    /// Issuer whose tokens let in beside the access keys; letter by letter as in their claim iss
    #[arg(long, value_name = "URL", env = "TALLYRULE_TOKEN_ISSUER")]
    token_issuer: Option<String>,
    /// For whom its tokens must be: one of their claim aud
    #[arg(long, value_name = "NAME", env = "TALLYRULE_TOKEN_AUDIENCE")]
    token_audience: Option<String>,
    /// Its public keys (JWKS): a file, or an address over https
    #[arg(long, value_name = "PLACE", env = "TALLYRULE_TOKEN_KEYS")]
    token_keys: Option<KeySource>,
    /// How its tokens may be signed: RS256, ES256, EdDSA, separated by commas
    #[arg(
        long,
        value_name = "NAMES",
        env = "TALLYRULE_TOKEN_ALGORITHMS",
        value_delimiter = ',',
        default_value = "RS256"
    )]
    token_algorithms: Vec<TokenAlgorithm>,
    /// The claim that names the role, or a JSON Pointer to it
    #[arg(
        long,
        value_name = "NAME",
        env = "TALLYRULE_TOKEN_ROLE_CLAIM",
        default_value = "roles"
    )]
    token_role_claim: String,
    /// The claim that names the person
    #[arg(
        long,
        value_name = "NAME",
        env = "TALLYRULE_TOKEN_PERSON_CLAIM",
        default_value = "name"
    )]
    token_person_claim: String,
}

impl TokenArgs {
    /// The issuer, where one is named.
    pub fn issuer(&self) -> Result<Option<TokenIssuer>, Told> {
        let named = (&self.token_issuer, &self.token_audience, &self.token_keys);
        let (issuer, audience, keys) = match named {
            (Some(issuer), Some(audience), Some(keys)) => (issuer, audience, keys),
            (None, None, None) => return Ok(None),
            _ => {
                let word = "token_issuer, token_audience and token_keys go together: name all three or none";
                return Err(Told(word.to_owned()));
            }
        };
        let settings = TokenSettings {
            issuer: issuer.clone(),
            audience: audience.clone(),
            keys: keys.clone(),
            algorithms: self.token_algorithms.clone(),
            role_claim: self.token_role_claim.clone(),
            person_claim: self.token_person_claim.clone(),
            keep_keys: KEEP_KEYS,
            look_again: LOOK_AGAIN,
        };
        Ok(Some(TokenIssuer::new(settings)?))
    }
}
