//! Tokens of an identity provider: whose are taken, and which are not.

use std::fs;
use std::io::{Read, Write};
use std::net::TcpListener;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use ed25519_dalek::pkcs8::EncodePrivateKey as _;
use jsonwebtoken::{Algorithm, EncodingKey, Header, encode};
use rsa::pkcs1::EncodeRsaPrivateKey;
use rsa::traits::PublicKeyParts;
use rsa::{BigUint, RsaPrivateKey};
use serde_json::{Value, json};
use tallyrule::desk::Entrances;
use tallyrule::desk::access::{KeySource, TokenAlgorithm, TokenIssuer, TokenSettings};

use crate::harness::{Engine, Office, fresh_name, scratch};
use crate::quotes_desk::{job, new_quote, send};

const ISSUER: &str = "https://id.tarrant.example";
const AUDIENCE: &str = "tallyrule";

/// A key of the issuer, with what others see of it.
struct Signer {
    id: String,
    algorithm: Algorithm,
    key: EncodingKey,
    public: Value,
}

/// Base64 for addresses without padding (RFC 4648, section 5).
fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    let mut text = String::new();
    for chunk in bytes.chunks(3) {
        let whole = chunk
            .iter()
            .fold(0_u32, |whole, byte| (whole << 8) | u32::from(*byte))
            << (8 * (3 - chunk.len()));
        for place in 0..=chunk.len() {
            text.push(char::from(SIGNS[(whole >> (18 - 6 * place)) as usize & 63]));
        }
    }
    text
}

fn unbase64(text: &str) -> Vec<u8> {
    let mut bytes = Vec::new();
    let (mut whole, mut bits) = (0_u32, 0);
    for sign in text.bytes() {
        let value = match sign {
            b'A'..=b'Z' => sign - b'A',
            b'a'..=b'z' => sign - b'a' + 26,
            b'0'..=b'9' => sign - b'0' + 52,
            b'-' => 62,
            _ => 63,
        };
        whole = (whole << 6) | u32::from(value);
        bits += 6;
        if bits >= 8 {
            bits -= 8;
            bytes.push((whole >> bits) as u8);
        }
    }
    bytes
}

fn seed() -> [u8; 32] {
    let mut seed = [0_u8; 32];
    fs::File::open("/dev/urandom")
        .unwrap()
        .read_exact(&mut seed)
        .unwrap();
    seed
}

fn elliptic(id: &str) -> Signer {
    let secret = p256::SecretKey::from_slice(&seed()).unwrap();
    let point = p256::elliptic_curve::sec1::ToEncodedPoint::to_encoded_point(&secret.public_key(), false);
    Signer {
        id: id.to_owned(),
        algorithm: Algorithm::ES256,
        key: EncodingKey::from_ec_der(secret.to_pkcs8_der().unwrap().as_bytes()),
        public: json!({"kty": "EC", "crv": "P-256", "kid": id, "use": "sig",
            "x": base64(point.x().unwrap()), "y": base64(point.y().unwrap())}),
    }
}

fn edwards(id: &str) -> Signer {
    let secret = ed25519_dalek::SigningKey::from_bytes(&seed());
    Signer {
        id: id.to_owned(),
        algorithm: Algorithm::EdDSA,
        key: EncodingKey::from_ed_der(secret.to_pkcs8_der().unwrap().as_bytes()),
        public: json!({"kty": "OKP", "crv": "Ed25519", "kid": id, "x": base64(secret.verifying_key().as_bytes())}),
    }
}

/// The RSA key of RFC 7515, appendix A.2.1, so that no test waits for primes.
fn rsa(id: &str) -> Signer {
    let text =
        fs::read_to_string(crate::harness::project().join("tests/reference/rfc7515_a2_key.json")).unwrap();
    let members: Value = serde_json::from_str(&text).unwrap();
    let number = |name: &str| BigUint::from_bytes_be(&unbase64(members[name].as_str().unwrap()));
    let primes = vec![number("p"), number("q")];
    let key = RsaPrivateKey::from_components(number("n"), number("e"), number("d"), primes).unwrap();
    Signer {
        id: id.to_owned(),
        algorithm: Algorithm::RS256,
        key: EncodingKey::from_rsa_der(key.to_pkcs1_der().unwrap().as_bytes()),
        public: json!({"kty": "RSA", "kid": id, "alg": "RS256", "n": members["n"], "e": members["e"]}),
    }
}

impl Signer {
    fn sign(&self, claims: &Value) -> String {
        let mut header = Header::new(self.algorithm);
        header.kid = Some(self.id.clone());
        encode(&header, claims, &self.key).unwrap()
    }
}

fn now() -> u64 {
    SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_secs()
}

fn claims() -> Value {
    json!({
        "iss": ISSUER, "aud": AUDIENCE, "sub": "248289761001", "name": "Orla Finnimore", "exp": now() + 300,
        "roles": ["estimator", "staff"],
    })
}

fn with(member: &str, value: Value) -> Value {
    let mut claims = claims();
    claims[member] = value;
    claims
}

fn without(member: &str) -> Value {
    let mut claims = claims();
    claims.as_object_mut().unwrap().remove(member);
    claims
}

fn settings(keys: KeySource) -> TokenSettings {
    TokenSettings {
        issuer: ISSUER.to_owned(),
        audience: AUDIENCE.to_owned(),
        keys,
        algorithms: vec![
            TokenAlgorithm::Rs256,
            TokenAlgorithm::Es256,
            TokenAlgorithm::EdDsa,
        ],
        role_claim: "roles".to_owned(),
        person_claim: "name".to_owned(),
        keep_keys: Duration::from_secs(600),
        look_again: Duration::from_millis(50),
    }
}

fn set(signers: &[&Signer]) -> Value {
    json!({"keys": signers.iter().map(|signer| signer.public.clone()).collect::<Vec<_>>()})
}

fn file(set: &Value) -> PathBuf {
    let path = scratch().join(fresh_name("keys")).with_extension("json");
    fs::write(&path, set.to_string()).unwrap();
    path
}

fn office(settings: TokenSettings) -> Office {
    let own = Office::open(Engine::Sqlite).unwrap();
    let entrances = Entrances {
        tokens: Some(TokenIssuer::new(settings).unwrap()),
        ..Entrances::default()
    };
    own.another_with(entrances)
}

fn by_file(signers: &[&Signer]) -> Office {
    office(settings(KeySource::File(file(&set(signers)))))
}

#[track_caller]
fn refused(office: &Office, token: &str, word: &str) {
    let answer = office.ask_by(Some(token), "GET", "/v1/quotes", &[], b"");
    let told = answer.problem(401, "unauthorized");
    assert!(told["detail"].as_str().unwrap().contains(word), "{told}");
}

#[test]
fn a_token_by_each_algorithm_lets_its_person_in() {
    let signers = [rsa("r"), elliptic("e"), edwards("d")];
    let office = by_file(&signers.each_ref());
    let customer = json!({"name": "Wren Aldous", "address": {"lines": ["3 Low Row"]}}).to_string();
    for signer in &signers {
        let token = signer.sign(&claims());
        let headers = [("content-type", "application/json")];
        let made = office.ask_by(
            Some(&token),
            "POST",
            "/v1/customers",
            &headers,
            customer.as_bytes(),
        );
        let made = made.expect(201);
        assert_eq!(made["created_by"], "Orla Finnimore");
        let subject = format!(
            "/v1/audit-entries?subject=customers/{}",
            made["id"].as_str().unwrap()
        );
        let entry = office.get(&subject).expect(200)["data"][0].clone();
        assert_eq!(
            (&entry["key"], &entry["role"]),
            (&json!("248289761001"), &json!("estimator"))
        );
        // The role of the token counts as that of a key does.
        let asked = office.ask_by(Some(&token), "GET", "/v1/access-keys", &[], b"");
        asked.problem(403, "forbidden");
        let headers = [("acting-person", "Somebody Else")];
        office
            .ask_by(Some(&token), "GET", "/v1/quotes", &headers, b"")
            .problem(403, "forbidden");
    }
}

#[test]
fn what_the_claims_do_not_say_lets_nobody_in() {
    let signer = elliptic("e");
    let office = by_file(&[&signer]);
    let good = |claims: &Value| {
        let token = signer.sign(claims);
        office
            .ask_by(Some(&token), "GET", "/v1/quotes", &[], b"")
            .expect(200);
    };
    good(&with("aud", json!(["other", AUDIENCE])));
    good(&with("nbf", json!(now() + 20)));
    good(&with("exp", json!(now() - 20)));
    good(&with("exp", json!(now() as f64 + 20.5)));
    good(&with("roles", json!("owner")));
    for (claims, word) in [
        (
            with("iss", json!("https://id.tarrant.example/")),
            "another issuer",
        ),
        (with("iss", json!([ISSUER])), "another issuer"),
        (without("iss"), "another issuer"),
        (with("aud", json!("other")), "another audience"),
        (with("aud", json!(["other"])), "another audience"),
        (without("aud"), "another audience"),
        (with("exp", json!(now() - 31)), "expired"),
        (with("exp", json!((now() + 300).to_string())), "when it expires"),
        (without("exp"), "when it expires"),
        (with("nbf", json!(now() + 60)), "not valid yet"),
        (with("nbf", json!("soon")), "not valid yet"),
        (without("name"), "name a person"),
        (with("name", json!(" ")), "name a person"),
        (with("name", json!("x".repeat(101))), "name a person"),
        (without("sub"), "name a person"),
        (without("roles"), "one role"),
        (with("roles", json!([])), "one role"),
        (with("roles", json!("Owner")), "one role"),
        (with("roles", json!(["owner", "field"])), "one role"),
        (with("roles", json!({"owner": true})), "one role"),
    ] {
        refused(&office, &signer.sign(&claims), word);
    }
}

#[test]
fn a_token_that_the_issuer_did_not_sign_lets_nobody_in() {
    let (signer, other, curve) = (elliptic("e"), elliptic("e"), edwards("d"));
    let office = by_file(&[&signer, &curve]);
    let token = signer.sign(&claims());
    let parts: Vec<&str> = token.split('.').collect();
    refused(&office, &other.sign(&claims()), "signature");
    let forged = base64(with("roles", json!(["owner"])).to_string().as_bytes());
    refused(
        &office,
        &format!("{}.{forged}.{}", parts[0], parts[2]),
        "signature",
    );
    refused(&office, &format!("{}.{}.", parts[0], parts[1]), "signature");
    refused(
        &office,
        &format!("{}.{}.{}", parts[0], parts[1], &parts[2][1..]),
        "signature",
    );
    let none = base64(br#"{"alg":"none","typ":"JWT"}"#);
    refused(&office, &format!("{none}.{}.", parts[1]), "cannot be read");
    refused(&office, "a.b.c", "cannot be read");
    // The public key taken for a shared secret: the confusion that RFC 8725, section 2.1, warns of.
    let mut header = Header::new(Algorithm::HS256);
    header.kid = Some("e".to_owned());
    let secret = EncodingKey::from_secret(signer.public.to_string().as_bytes());
    refused(
        &office,
        &encode(&header, &claims(), &secret).unwrap(),
        "algorithm",
    );
    // A key of one kind under the name of another.
    let mut header = Header::new(Algorithm::EdDSA);
    header.kid = Some("e".to_owned());
    refused(
        &office,
        &encode(&header, &claims(), &curve.key).unwrap(),
        "no key",
    );
    let mut header = Header::new(Algorithm::ES256);
    header.kid = Some("e".to_owned());
    header.crit = Some(vec!["b64".to_owned()]);
    refused(
        &office,
        &encode(&header, &claims(), &signer.key).unwrap(),
        "not understood",
    );
    // A token that brings its own key is not signed by the issuer.
    let mut header = Header::new(Algorithm::ES256);
    header.jwk = Some(serde_json::from_value(other.public.clone()).unwrap());
    refused(
        &office,
        &encode(&header, &claims(), &other.key).unwrap(),
        "signature",
    );
    refused(&office, &elliptic("unheard-of").sign(&claims()), "no key");
}

/// The signed example of RFC 7515, appendix A.2.2: its signature holds, and what is refused is what it says.
#[test]
fn the_published_example_is_signed_and_of_somebody_else() {
    let text =
        fs::read_to_string(crate::harness::project().join("tests/reference/rfc7515_a2_key.json")).unwrap();
    let signed = serde_json::from_str::<Value>(&text).unwrap()["signed"]
        .as_str()
        .unwrap()
        .to_owned();
    let office = by_file(&[&rsa("r")]);
    refused(&office, &signed, "another issuer");
    let (message, signature) = signed.rsplit_once('.').unwrap();
    refused(&office, &format!("{message}.d{}", &signature[1..]), "signature");
}

#[test]
fn only_the_algorithms_that_were_named_are_taken() {
    let (signer, curve) = (elliptic("e"), edwards("d"));
    let mut settings = settings(KeySource::File(file(&set(&[&signer, &curve]))));
    settings.algorithms = vec![TokenAlgorithm::EdDsa];
    settings.role_claim = "/realm/roles".to_owned();
    settings.person_claim = "preferred_username".to_owned();
    let office = office(settings);
    let mut claims = with("realm", json!({"roles": ["auditor"]}));
    claims["preferred_username"] = json!("orla");
    let asked = office.ask_by(Some(&curve.sign(&claims)), "GET", "/v1/audit-entries", &[], b"");
    asked.expect(200);
    refused(&office, &signer.sign(&claims), "algorithm");
}

/// Serves what is in the cell as a set of keys.
fn address(served: Arc<Mutex<String>>) -> String {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = format!("http://{}/keys", listener.local_addr().unwrap());
    thread::spawn(move || {
        for stream in listener.incoming() {
            let mut stream = stream.unwrap();
            let mut request = [0_u8; 2_048];
            let _ = stream.read(&mut request).unwrap();
            let body = served.lock().unwrap().clone();
            let length = body.len();
            let head = format!("HTTP/1.1 200 OK\r\ncontent-length: {length}\r\nconnection: close\r\n\r\n");
            stream.write_all((head + &body).as_bytes()).unwrap();
        }
    });
    address
}

#[test]
fn keys_at_an_address_may_be_exchanged_while_the_service_runs() {
    let (old, new) = (elliptic("1"), elliptic("2"));
    let served = Arc::new(Mutex::new(set(&[&old]).to_string()));
    let place: KeySource = address(Arc::clone(&served)).parse().unwrap();
    let office = office(settings(place));
    let asked = |signer: &Signer| office.ask_by(Some(&signer.sign(&claims())), "GET", "/v1/quotes", &[], b"");
    asked(&old).expect(200);
    refused(&office, &new.sign(&claims()), "no key");
    *served.lock().unwrap() = set(&[&old, &new]).to_string();
    thread::sleep(Duration::from_millis(80));
    asked(&new).expect(200);
    asked(&old).expect(200);
    // An answer that is no set of keys takes nothing away.
    *served.lock().unwrap() = "out of order".to_owned();
    thread::sleep(Duration::from_millis(80));
    refused(&office, &elliptic("3").sign(&claims()), "no key");
    asked(&new).expect(200);
}

#[test]
fn keys_that_cannot_be_had_are_told_at_the_start() {
    let missing = scratch().join(fresh_name("missing"));
    let fault = TokenIssuer::new(settings(KeySource::File(missing.clone()))).unwrap_err();
    assert!(
        fault.to_string().contains(&missing.display().to_string()),
        "{fault}"
    );
    let empty = scratch().join(fresh_name("empty"));
    fs::write(&empty, "{}").unwrap();
    let fault = TokenIssuer::new(settings(KeySource::File(empty))).unwrap_err();
    assert!(fault.to_string().contains("RFC 7517"), "{fault}");
    let closed = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    let place: KeySource = format!("http://{closed}/keys").parse().unwrap();
    assert!(TokenIssuer::new(settings(place)).is_err());
    for slip in [
        "http://id.tarrant.example/keys",
        "http://127.0.0.1.tarrant.example/keys",
        "ftp://x/keys",
    ] {
        assert!(slip.parse::<KeySource>().is_err(), "{slip}");
    }
}

/// Keys by which no signature may be held against are left out, and the others let in as ever.
#[test]
fn a_key_that_is_weak_broken_or_not_meant_for_signatures_is_not_used() {
    let good = elliptic("good");
    let other_use = |member: &str, value: Value| {
        let mut signer = elliptic("other");
        signer.public.as_object_mut().unwrap().remove("use");
        signer.public[member] = value;
        signer
    };
    let short = RsaPrivateKey::new(&mut Random, 1024).unwrap();
    let number = |number: &BigUint| json!(base64(&number.to_bytes_be()));
    let weak = Signer {
        id: "weak".to_owned(),
        algorithm: Algorithm::RS256,
        key: EncodingKey::from_rsa_der(short.to_pkcs1_der().unwrap().as_bytes()),
        public: json!({"kty": "RSA", "kid": "weak", "n": number(short.n()), "e": number(short.e())}),
    };
    let broken = other_use("x5c", json!(7));
    for signer in [
        weak,
        broken,
        other_use("use", json!("enc")),
        other_use("key_ops", json!(["sign"])),
    ] {
        let office = by_file(&[&signer, &good]);
        refused(&office, &signer.sign(&claims()), "no key");
        let asked = office.ask_by(Some(&good.sign(&claims())), "GET", "/v1/quotes", &[], b"");
        asked.expect(200);
    }
    let verifies = other_use("key_ops", json!(["verify"]));
    let office = by_file(&[&verifies]);
    office
        .ask_by(Some(&verifies.sign(&claims())), "GET", "/v1/quotes", &[], b"")
        .expect(200);
}

/// Numbers of the system, as the library of RSA asks for them.
struct Random;

impl rsa::rand_core::RngCore for Random {
    fn next_u32(&mut self) -> u32 {
        rsa::rand_core::impls::next_u32_via_fill(self)
    }

    fn next_u64(&mut self) -> u64 {
        rsa::rand_core::impls::next_u64_via_fill(self)
    }

    fn fill_bytes(&mut self, bytes: &mut [u8]) {
        fs::File::open("/dev/urandom").unwrap().read_exact(bytes).unwrap();
    }

    fn try_fill_bytes(&mut self, bytes: &mut [u8]) -> Result<(), rsa::rand_core::Error> {
        self.fill_bytes(bytes);
        Ok(())
    }
}

impl rsa::rand_core::CryptoRng for Random {}

on_both_engines! {
    /// A token's name is what its issuer says today; the person is who its subject names.
    fn who_wrote_a_draft_does_not_approve_it_under_another_name(office) {
        let signer = elliptic("e");
        let issuer = || TokenIssuer::new(settings(KeySource::File(file(&set(&[&signer]))))).unwrap();
        let office = office.another_with(Entrances { tokens: Some(issuer()), ..Entrances::default() });
        let mut dear = json!({"request": job("wickerlamp-restaurant")});
        dear["request"]["discount"] = json!({"percent": "9"});
        let by = |subject: &str, name: &str| {
            let mut claims = claims();
            (claims["sub"], claims["name"], claims["roles"]) = (json!(subject), json!(name), json!(["owner"]));
            let token = signer.sign(&claims);
            let office = &office;
            move |method: &str, path: &str, tag: &str, body: &Value| {
                let headers = [("content-type", "application/json"), ("if-match", tag)];
                office.ask_by(Some(&token), method, path, &headers, body.to_string().as_bytes())
            }
        };
        let ann = by("ann", "Ann Author");
        let made = ann("POST", "/v1/quotes", "*", &new_quote(&office, &dear));
        let quote = made.header("location").unwrap().to_owned();
        let (approvals, issue, first) = (format!("{quote}/approvals"), format!("{quote}/issue"), json!({"revision": 1}));
        for name in ["Ann Author", "ann author", "Ann  Author", "Ann\u{a0}Author", "\u{ff21}nn Author", "Ann Newname"] {
            let told = by("ann", name)("POST", &approvals, "*", &first).problem(409, "approval-needed");
            assert!(told["detail"].as_str().unwrap().contains("has written at this draft"), "{told}");
        }
        // A shared key knows a person by the name alone.
        send(&office, "ANN  author", "POST", &approvals, &[], &first).problem(409, "approval-needed");
        ann("POST", &issue, "*", &first).problem(409, "approval-needed");
        // Whoever approved and then writes at it, as somebody else by name, has written at it.
        by("bea", "Bea Second")("POST", &approvals, "*", &first).expect(201);
        let revision = format!("{quote}/revisions/1");
        let seen = office.get(&revision);
        assert_eq!(seen.expect(200)["approvals"][0]["stands"], true);
        let edited = by("bea", "Beatrix Third")("PUT", &revision, seen.header("etag").unwrap(), &dear);
        assert_eq!(edited.expect(200)["approvals"][0]["stands"], false);
        ann("POST", &issue, "*", &first).problem(409, "approval-needed");
        by("cleo", "Cleo Fourth")("POST", &approvals, "*", &first).expect(201);
        ann("POST", &issue, "*", &first).expect(200);
    }
}
