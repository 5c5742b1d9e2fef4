//! Who comes in, who may do what, and what they see.
//!
//! In: a request with what it presents. Out: the desk in the caller's hands, or a problem. The table says who may; the
//! view says what the field sees; nothing else in the door asks for a role.

mod admit;
mod contract;
mod page;
mod table;
mod view;

use std::future::{Ready, ready};
use std::ops::Deref;
use std::sync::Arc;

use actix_web::dev::Payload;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpMessage, HttpRequest};
use serde_json::Value;

use super::problem::Problem;
use crate::desk::access::{Caller, Role};
use crate::desk::{Desk, Told};
use crate::store::Hand;

pub use admit::{RequestId, admit};
pub use contract::describe;
pub use page::page;
pub use table::{ROWS, Row, Who, fits, row_of};
pub use view::{Shape, View};

/// A caller whom the table admits to an operation.
#[derive(Clone)]
pub struct Admitted {
    caller: Caller,
    row: &'static Row,
    request: Option<String>,
}

impl Admitted {
    /// The caller of a request.
    ///
    /// # Errors
    /// The request did not pass the door: a fault of this program.
    pub fn of(request: &HttpRequest) -> Result<Self, Problem> {
        let admitted = request.extensions().get::<Self>().cloned();
        admitted.ok_or_else(|| Problem::internal(&"a request reached its handler without being admitted"))
    }

    /// A revision with those of its moves that are for the caller.
    pub fn with_own_moves(&self, mut revision: Told) -> Told {
        let may = |word: &Value| {
            let path = word.as_str().map(|word| format!("/v1/quotes/any/{word}"));
            let row = path.and_then(|path| row_of("POST", &path));
            row.is_some_and(|row| row.admits(self.caller.role))
        };
        if let Some(Value::Array(moves)) = revision.body.get_mut("moves") {
            moves.retain(may);
        }
        revision
    }

    /// The form of what is sent to an operation, without what the caller may not send.
    pub fn may_send(&self, method: &str, path: &str, form: Value) -> Value {
        match row_of(method, path).map(|row| row.takes) {
            Some(View::Part(shape)) if self.caller.role == Role::Field => shape.asked(form),
            _ => form,
        }
    }

    /// The person who acts.
    pub fn person(self) -> String {
        self.caller.person
    }
}

impl FromRequest for Admitted {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(Self::of(request))
    }
}

/// Every place of a body that the caller of a request may not send.
pub fn beyond_the_caller(request: &HttpRequest, body: &Value) -> Vec<String> {
    let mut found = Vec::new();
    if let Some(admitted) = request.extensions().get::<Admitted>()
        && admitted.caller.role == Role::Field
        && let View::Part(shape) = admitted.row.takes
    {
        shape.beyond(body, "", &mut found);
    }
    found
}

/// Whether another caller might read another answer at the same address.
pub fn goes_by_role(request: &HttpRequest) -> bool {
    let extensions = request.extensions();
    let admitted = extensions.get::<Admitted>();
    request.method().is_safe() && admitted.is_some_and(|admitted| matches!(admitted.row.view, View::Part(_)))
}

/// What the caller of a request sees of its answer.
pub fn view_of(request: &HttpRequest) -> View {
    match request.extensions().get::<Admitted>() {
        Some(admitted) if admitted.caller.role == Role::Field => admitted.row.view,
        _ => View::Whole,
    }
}

/// The desk in the hands of the caller: the only way to it for what the table closes. What is written through it, the
/// audit puts down to them.
#[derive(Clone)]
pub struct CallersDesk(Arc<Desk>);

impl CallersDesk {
    /// The desk in nobody's hands, for what everybody may ask.
    pub fn of_nobody(desk: &Data<Desk>) -> Self {
        Self(Arc::clone(desk))
    }
}

impl Deref for CallersDesk {
    type Target = Desk;

    fn deref(&self) -> &Desk {
        &self.0
    }
}

impl FromRequest for CallersDesk {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let desk = request
            .app_data::<Data<Desk>>()
            .ok_or_else(|| Problem::internal(&"there is no desk"));
        ready(desk.and_then(|desk| {
            let Admitted { caller, row, request } = Admitted::of(request)?;
            Ok(Self(Arc::new(desk.by(Hand {
                person: caller.person,
                role: caller.role.word().to_owned(),
                key: Some(caller.key),
                operation: row.operation.to_owned(),
                request,
            }))))
        }))
    }
}
