//! Access keys: who may come in, and in which role.

use actix_web::http::{StatusCode, header};
use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, get, post};
use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::acting::Repeatable;
use super::at_desk;
use super::body::Json;
use super::input::Members;
use super::page::{PageQuery, keyset};
use super::problem::{Body, InputError, Problem};
use super::reply::Reply;
use super::who::CallersDesk;
use crate::desk::access::{AccessKey, KeyState, NewAccessKey, Role, Secret};

/// Longest name, in characters.
const PERSON_MOST: usize = 100;
/// Days for which a key holds when nothing is said.
const USUAL_DAYS: u32 = 365;
/// Most days for which a key holds.
const MOST_DAYS: u32 = 730;
/// Hours for which the secret before a rotation holds when nothing is said.
const USUAL_GRACE: u32 = 24;
/// Most hours for which it does.
const MOST_GRACE: u32 = 168;

/// An access key without its secret.
#[derive(Serialize, ToSchema)]
#[schema(as = AccessKey)]
struct KeyView<'a> {
    /// By which it is known.
    id: &'a str,
    /// Whose it is: a person, or an application for many.
    person: &'a str,
    /// What it lets do.
    #[schema(schema_with = role_schema)]
    role: &'a str,
    /// Whether it is an application's: then writes name the person who acts in `Acting-Person`.
    shared: bool,
    /// Whether it lets in.
    #[schema(value_type = String, pattern = "^(active|expired|revoked)$")]
    state: &'static str,
    /// When it ends.
    #[schema(format = DateTime)]
    expires_at: &'a str,
    /// Until when the secret before the last rotation holds.
    #[schema(value_type = Option<String>, format = DateTime)]
    previous_until: Option<&'a str>,
    /// When it was made.
    #[schema(format = DateTime)]
    created_at: &'a str,
    /// By whom.
    created_by: &'a str,
    /// When it was revoked.
    #[schema(value_type = Option<String>, format = DateTime)]
    revoked_at: Option<&'a str>,
    /// By whom.
    revoked_by: Option<&'a str>,
    /// The key itself. It is told once, by the answer to the request that made it, and kept nowhere.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "trk_…")]
    key: Option<&'a str>,
}

impl<'a> KeyView<'a> {
    fn new(key: &'a AccessKey, secret: Option<&'a Secret>) -> Self {
        let row = key.row();
        Self {
            id: &row.id,
            person: &row.person,
            role: &row.role,
            shared: row.shared,
            state: match key.state {
                KeyState::Active => "active",
                KeyState::Expired => "expired",
                KeyState::Revoked => "revoked",
            },
            expires_at: &row.expires_at,
            previous_until: row.previous_until.as_deref(),
            created_at: &row.created_at,
            created_by: &row.created_by,
            revoked_at: row.revoked_at.as_deref(),
            revoked_by: row.revoked_by.as_deref(),
            key: secret.map(Secret::text),
        }
    }
}

fn role_schema() -> utoipa::openapi::schema::Object {
    utoipa::openapi::schema::ObjectBuilder::new()
        .schema_type(utoipa::openapi::schema::Type::String)
        .enum_values(Some(Role::ALL.map(Role::word)))
        .build()
}

/// A page of access keys.
#[derive(ToSchema)]
#[schema(as = AccessKeyPage)]
#[expect(dead_code, reason = "only its shape is used, by the contract")]
struct KeyPage<'a> {
    /// The keys, by id.
    data: Vec<KeyView<'a>>,
    /// The id after which the next page begins.
    next: Option<&'a str>,
}

/// A key that is to be made.
#[derive(ToSchema)]
#[schema(as = NewAccessKey)]
#[expect(dead_code, reason = "only its shape is used, by the contract")]
struct NewKeyBody {
    /// Whose it is: a person, or an application for many.
    #[schema(min_length = 1, max_length = 100, example = "Ines Corvane")]
    person: String,
    /// What it lets do.
    #[schema(schema_with = role_schema)]
    role: String,
    /// Whether it is an application's, whose users act by name.
    #[schema(default = false)]
    shared: Option<bool>,
    /// Days for which it holds.
    #[schema(minimum = 1, maximum = 730, default = 365)]
    valid_days: Option<u32>,
}

/// How a key gets a new secret.
#[derive(ToSchema)]
#[schema(as = RotateAccessKey)]
#[expect(dead_code, reason = "only its shape is used, by the contract")]
struct RotateBody {
    /// Hours for which the secret before still holds; 0 where it may be in wrong hands.
    #[schema(minimum = 0, maximum = 168, default = 24)]
    grace_hours: Option<u32>,
    /// Days for which the key holds from now on; where none are said, it ends when it would have.
    #[schema(minimum = 1, maximum = 730)]
    valid_days: Option<u32>,
}

/// The routes of this file, and that of the audit.
pub(super) fn routes(config: &mut ServiceConfig) {
    config
        .service(list_access_keys)
        .service(create_access_key)
        .service(read_access_key)
        .service(rotate_access_key)
        .service(revoke_access_key)
        .service(super::audit_entries::list_audit_entries);
}

/// A whole number within bounds.
fn whole(value: &Value, least: u32, most: u32) -> Option<u32> {
    let number = u32::try_from(value.as_u64()?).ok()?;
    (least..=most).contains(&number).then_some(number)
}

fn valid_days(members: &mut Members<'_>) -> Option<u32> {
    members.maybe_null("valid_days", "a whole number from 1 to 730", |value| {
        whole(value, 1, MOST_DAYS)
    })
}

fn new_key(value: &Value) -> Result<NewAccessKey, Vec<InputError>> {
    let mut members = Members::of(value);
    let person = members.take("person", "a name of 1 to 100 characters", |value| {
        let name = value.as_str()?.trim();
        let length = name.chars().count();
        ((1..=PERSON_MOST).contains(&length) && !name.chars().any(char::is_control)).then_some(name)
    });
    let words = Role::ALL.map(Role::word).join(", ");
    let role = members.take("role", &format!("one of {words}"), |value| {
        Role::of_word(value.as_str()?)
    });
    let shared = members.maybe_null("shared", "true or false", Value::as_bool);
    let valid_days = valid_days(&mut members).unwrap_or(USUAL_DAYS);
    let errors = members.finish();
    match (person, role) {
        (Some(person), Some(role)) if errors.is_empty() => Ok(NewAccessKey {
            person: person.to_owned(),
            role,
            shared: shared.unwrap_or(false),
            valid_days,
        }),
        _ => Err(errors),
    }
}

/// List the access keys
///
/// By id, those that were revoked too, without their secrets.
#[utoipa::path(tag = "access", params(PageQuery), responses(
    (status = 200, description = "A page of keys", body = KeyPage),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/access-keys")]
pub async fn list_access_keys(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<PageQuery>,
) -> Result<Reply, Problem> {
    let limit = query.limit()?;
    let after = query.after().unwrap_or_default().to_owned();
    let keys = at_desk(&desk, move |desk| desk.access_keys(&after, limit + 1)).await?;
    let rows: Vec<KeyView<'_>> = keys.iter().map(|key| KeyView::new(key, None)).collect();
    keyset(&request, limit, &rows, "", |row| row.id.to_owned())
}

/// Make an access key
///
/// The answer has the key itself, this once. Sent again under the same Idempotency-Key, it makes no second key, and the answer
/// is the key as it stands, without its secret, which is kept nowhere: where the first answer was lost, give the key a new
/// secret by `rotate`.
#[utoipa::path(tag = "access", params(
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect, for 48 hours; the secret is in the first answer alone")),
    request_body(content = NewKeyBody, content_type = "application/json"), responses(
    (status = 201, description = "The key", body = KeyView),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/access-keys")]
pub async fn create_access_key(
    desk: CallersDesk,
    repeatable: Repeatable,
    body: Json,
) -> Result<Reply, Problem> {
    let new = new_key(&body.0).map_err(Problem::invalid_input)?;
    let request = repeatable.with(&body.0);
    let made = at_desk(&desk, move |desk| {
        desk.create_access_key_once(request.as_ref(), &new)
    });
    let (key, secret) = made.await?;
    let location = format!("/v1/access-keys/{}", key.row().id);
    Ok(Reply::json(&KeyView::new(&key, secret.as_ref()))?
        .without_tag()
        .with_status(StatusCode::CREATED)
        .with_header(header::LOCATION, location))
}

/// Read an access key
#[utoipa::path(tag = "access", params(("id" = String, Path, description = "The key's id")), responses(
    (status = 200, description = "The key", body = KeyView),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/access-keys/{id}")]
pub async fn read_access_key(desk: CallersDesk, id: Path<String>) -> Result<Reply, Problem> {
    let key = at_desk(&desk, move |desk| desk.access_key(&id)).await?;
    Reply::json(&KeyView::new(&key, None))
}

/// Give an access key a new secret
///
/// The secret before holds for the hours of grace, so that nobody is shut out while it is exchanged; one that has its grace
/// from a rotation before keeps that, unless `grace_hours` is 0, which ends them all. The key ends when it would have, unless
/// `valid_days` says another end. Sent again under the same Idempotency-Key, it makes no further secret, and the answer is
/// the key without one.
#[utoipa::path(tag = "access", params(("id" = String, Path, description = "The key's id"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect, for 48 hours; the secret is in the first answer alone")),
    request_body(content = RotateBody, content_type = "application/json"), responses(
    (status = 200, description = "The key with its new secret", body = KeyView),
    (status = 409, description = "It was revoked, has expired and no end is said, or too many of its secrets have their grace", body = Body, content_type = "application/problem+json"),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/access-keys/{id}/rotate")]
pub async fn rotate_access_key(
    desk: CallersDesk,
    id: Path<String>,
    repeatable: Repeatable,
    body: Json,
) -> Result<Reply, Problem> {
    let mut members = Members::of(&body.0);
    let grace = members.maybe_null("grace_hours", "a whole number from 0 to 168", |value| {
        whole(value, 0, MOST_GRACE)
    });
    let (grace, days) = (grace.unwrap_or(USUAL_GRACE), valid_days(&mut members));
    match members.finish() {
        errors if errors.is_empty() => {}
        errors => return Err(Problem::invalid_input(errors)),
    }
    let request = repeatable.with(&body.0);
    let rotated = at_desk(&desk, move |desk| {
        desk.rotate_access_key(request.as_ref(), &id, grace, days)
    });
    let (key, secret) = rotated.await?;
    Ok(Reply::json(&KeyView::new(&key, secret.as_ref()))?.without_tag())
}

/// Take an access key back
///
/// At once and for ever. Sent again, it changes nothing and has the same answer.
#[utoipa::path(tag = "access", params(("id" = String, Path, description = "The key's id")), responses(
    (status = 200, description = "The key", body = KeyView),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/access-keys/{id}/revoke")]
pub async fn revoke_access_key(desk: CallersDesk, id: Path<String>) -> Result<Reply, Problem> {
    let key = at_desk(&desk, move |desk| desk.revoke_access_key(&id)).await?;
    Reply::json(&KeyView::new(&key, None))
}
