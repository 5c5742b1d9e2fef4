//! Whatever reads what strangers send, each as a function over bytes: it may refuse them, and nothing else may happen.
//!
//! The fuzz targets call these, and so does `tests/service/any_bytes.rs`, which needs no fuzzer.

use std::fs;
use std::io::{Cursor, Write};
use std::path::Path;
use std::sync::OnceLock;
use std::time::Duration;

use chrono::{NaiveDate, Utc};
use estimate::catalogue::price_list::{Choices, Mapping};
use estimate::rules::formula::parse;
use estimate::rules::render;
use jsonwebtoken::{Algorithm, EncodingKey, crypto};
use serde_json::{Map, Value, json};
use tallyrule::api;
use tallyrule::desk::access::{KeySource, TokenAlgorithm, TokenIssuer, TokenSettings};
use tallyrule::desk::price_list::{Intake, ReadList};
use tallyrule::desk::{Desk, DeskFault, Entrances, Office, SeedFolder, Told, strict_json};
use tallyrule::store::{Location, Store};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// The project's own folder, from it or from the folder of the fuzz targets.
pub fn project() -> &'static Path {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let parent = here.parent().filter(|_| !here.join("seed-data").exists());
    parent.unwrap_or(here)
}

fn seed() -> SeedFolder {
    SeedFolder::read(&project().join("seed-data")).unwrap()
}

fn office() -> &'static Office {
    static OFFICE: OnceLock<Office> = OnceLock::new();
    OFFICE.get_or_init(|| Office::of_seed(seed()).unwrap())
}

/// Opens what stands behind the doors, before any time is taken.
pub fn open() {
    office();
    desk();
}

/// A formula. What is read prints itself, and reads as the same again; in a rulebook each finding has its place there.
pub fn formula(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    match parse(text) {
        Ok(formula) => {
            let printed = formula.to_string();
            let again = parse(&printed).map(|again| again.to_string());
            assert_eq!(again.as_ref(), Ok(&printed), "{text}");
        }
        Err(flaw) => assert!(text.get(flaw.span.start..flaw.span.end).is_some(), "{flaw:?}"),
    }
    let rules = format!(
        "[rulebook]\nid = \"tried\"\ntitle = \"Tried\"\nadopted_codes = [\"none\"]\n\n[[check]]\ncode = \"tried\"\n\
         level = \"caution\"\nwhen = {}\nmessage = \"Tried.\"\n",
        Value::from(text)
    );
    if let Err(DeskFault::Rulebook(findings)) = office().compile(&rules, 1) {
        assert!(!render(&findings, "rules.toml", &rules).is_empty());
    }
}

/// An estimate request. It is priced, or its faults are told.
pub fn job(bytes: &[u8]) {
    let Ok(request) = strict_json::read(bytes) else {
        return;
    };
    match office().estimate_job(&request, true, |estimate| serde_json::to_value(estimate).is_ok()) {
        Ok(written) => assert!(written),
        Err(DeskFault::Input(faults)) => assert!(!faults.list.is_empty()),
        Err(DeskFault::Named { .. } | DeskFault::UnknownVersion { .. } | DeskFault::Estimate(_)) => {}
        Err(other) => panic!("{other:?}"),
    }
}

/// A supplier's list as CSV, in two pieces that the first byte divides.
pub fn price_list_csv(bytes: &[u8]) {
    let at = bytes
        .first()
        .map_or(0, |first| usize::from(*first).min(bytes.len()));
    let (one, other) = bytes.split_at(at);
    let mut file = begin("larkholt").csv();
    if file.push(one).and_then(|()| file.push(other)).is_ok()
        && let Ok(list) = file.finish()
    {
        compared(&list);
    }
}

/// A supplier's list as a workbook: the bytes as they are, or, where they do not begin as an archive does, as the sheet
/// and the shared texts of a workbook, with a zero byte between.
pub fn price_list_workbook(bytes: &[u8]) {
    let book = if bytes.starts_with(b"PK") {
        bytes.to_vec()
    } else {
        workbook(bytes)
    };
    if let Ok(list) = begin("larkholt").workbook(&book) {
        compared(&list);
    }
}

/// A place in the accounting feed. What is taken is written as it came.
pub fn cursor(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    if let Ok(position) = api::position_in_feed(text) {
        assert!(
            text.starts_with(&format!("{position:016x}")),
            "{text} is {position}"
        );
    }
}

/// The key of RFC 8037, appendix A.1 and A.2: known to everybody, so that what is tried can be signed.
const SECRET: [u8; 48] = [
    0x30, 0x2e, 0x02, 0x01, 0x00, 0x30, 0x05, 0x06, 0x03, 0x2b, 0x65, 0x70, 0x04, 0x22, 0x04, 0x20, //
    0x9d, 0x61, 0xb1, 0x9d, 0xef, 0xfd, 0x5a, 0x60, 0xba, 0x84, 0x4a, 0xf4, 0x92, 0xec, 0x2c, 0xc4, //
    0x44, 0x49, 0xc5, 0x69, 0x7b, 0x32, 0x69, 0x19, 0x70, 0x3b, 0xac, 0x03, 0x1c, 0xae, 0x7f, 0x60,
];
const PUBLIC: &str = "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwUaaPcHUUo";
const ISSUER: &str = "https://id.tarrant.example";
const AUDIENCE: &str = "tallyrule";

/// What lets somebody in: the bytes as they are, and as the header and the claims of a token that is signed as it should
/// be, with a zero byte between. Only a token of the issuer, for the service, and in its time lets anybody in.
pub fn token(bytes: &[u8]) {
    if let Ok(text) = std::str::from_utf8(bytes) {
        assert!(desk().admit(text).is_err(), "{text}");
    }
    let mut parts = bytes.splitn(2, |byte| *byte == 0);
    let (header, claims) = (parts.next().unwrap_or_default(), parts.next().unwrap_or_default());
    let covered = format!("{}.{}", base64(header), base64(claims));
    let key = EncodingKey::from_ed_der(&SECRET);
    let signature = crypto::sign(covered.as_bytes(), &key, Algorithm::EdDSA).unwrap();
    if desk().admit(&format!("{covered}.{signature}")).is_ok() {
        let header: Map<String, Value> = serde_json::from_slice(header).unwrap();
        let claims: Map<String, Value> = serde_json::from_slice(claims).unwrap();
        assert_eq!(header["alg"], "EdDSA");
        assert_eq!(claims["iss"], ISSUER);
        assert!(claims["exp"].as_f64().unwrap() > Utc::now().timestamp() as f64 - 60.0);
        assert!(claims["aud"].to_string().contains(AUDIENCE));
    }
}

/// A desk over a data file of its own, with the demonstration, its mapping of a supplier's list, and an issuer of tokens.
fn desk() -> &'static Desk {
    static DESK: OnceLock<Desk> = OnceLock::new();
    DESK.get_or_init(|| {
        let folder = std::env::temp_dir().join(format!("tallyrule-doors-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let keys = folder.join("keys.json");
        let key = json!({"kty": "OKP", "crv": "Ed25519", "x": PUBLIC});
        fs::write(&keys, json!({"keys": [key]}).to_string()).unwrap();
        let issuer = TokenIssuer::new(TokenSettings {
            issuer: ISSUER.to_owned(),
            audience: AUDIENCE.to_owned(),
            keys: KeySource::File(keys),
            algorithms: vec![TokenAlgorithm::EdDsa],
            role_claim: "roles".to_owned(),
            person_claim: "name".to_owned(),
            keep_keys: Duration::from_secs(86_400),
            look_again: Duration::from_secs(86_400),
        });
        let entrances = Entrances {
            demo_keys: false,
            tokens: Some(issuer.unwrap()),
        };
        let file = Location::File(folder.join("office.sqlite"));
        let desk = Desk::open(Store::open(file, 1, true).unwrap(), entrances);
        desk.load_seed(seed()).unwrap();
        let mapping = fs::read(project().join("seed-data/price-lists/larkholt-mapping.json")).unwrap();
        let mapping: Mapping = serde_json::from_slice(&mapping).unwrap();
        desk.save_price_list_mapping(None, &mapping, 0, |_| {
            Ok(Told {
                tag: None,
                body: Value::Null,
            })
        })
        .unwrap();
        desk
    })
}

fn begin(mapping: &str) -> Intake {
    desk()
        .begin_price_list(mapping, NaiveDate::from_ymd_opt(2025, 9, 1))
        .unwrap()
}

fn compared(list: &ReadList) {
    let comparison = desk().compare_price_list(list, &Choices::default()).unwrap();
    assert!(comparison.entries.len() <= comparison.rows, "{comparison:?}");
}

/// A workbook (ISO/IEC 29500) of one sheet.
fn workbook(bytes: &[u8]) -> Vec<u8> {
    let mut parts = bytes.splitn(2, |byte| *byte == 0);
    let (sheet, texts) = (parts.next().unwrap_or_default(), parts.next().unwrap_or_default());
    let main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
    let related = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let package = "http://schemas.openxmlformats.org/package/2006";
    let book = format!(
        r#"<workbook xmlns="{main}" xmlns:r="{related}"><sheets><sheet name="List" sheetId="1" r:id="a"/></sheets></workbook>"#
    );
    let relations = format!(
        r#"<Relationships xmlns="{package}/relationships"><Relationship Id="a" Type="{related}/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="b" Type="{related}/sharedStrings" Target="sharedStrings.xml"/></Relationships>"#
    );
    let files = [
        ("xl/workbook.xml", book.as_bytes()),
        ("xl/_rels/workbook.xml.rels", relations.as_bytes()),
        ("xl/worksheets/sheet1.xml", sheet),
        ("xl/sharedStrings.xml", texts),
    ];
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    let stored = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    for (name, content) in files {
        archive.start_file(name, stored).unwrap();
        archive.write_all(content).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

/// Base64 for addresses without padding (RFC 4648, section 5).
fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    let mut text = String::new();
    for chunk in bytes.chunks(3) {
        let whole = chunk
            .iter()
            .fold(0_u32, |whole, byte| (whole << 8) | u32::from(*byte));
        let whole = whole << (8 * (3 - chunk.len()));
        for place in 0..=chunk.len() {
            text.push(char::from(SIGNS[(whole >> (18 - 6 * place)) as usize & 63]));
        }
    }
    text
}
