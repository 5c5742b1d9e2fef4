//! Whether the body of a request has come to its end.

use std::cell::Cell;
use std::pin::Pin;
use std::rc::Rc;
use std::task::{Context, Poll};

use actix_web::HttpMessage;
use actix_web::dev::{Payload, ServiceRequest};
use actix_web::error::PayloadError;
use actix_web::http::header;
use actix_web::web::Bytes;
use futures_util::Stream;
use futures_util::task::noop_waker;

use super::talk::Talk;

/// A body on its way: whether all of it was read.
#[derive(Debug, Clone)]
pub struct Came(Rc<Cell<bool>>);

impl Came {
    /// Watches the body of a request; none where it has none.
    pub fn of(request: &mut ServiceRequest, talk: Option<&Rc<Talk>>) -> Option<Self> {
        let headers = request.headers();
        let length = headers.get(header::CONTENT_LENGTH);
        if !headers.contains_key(header::TRANSFER_ENCODING) && length.is_none_or(|length| length == "0") {
            return None;
        }
        let came = Self(Rc::default());
        if let Some(talk) = talk.filter(|_| headers.contains_key(header::TRANSFER_ENCODING)) {
            talk.begin_chunks();
        }
        let body = Watched {
            body: request.take_payload(),
            came: came.clone(),
            talk: talk.cloned(),
        };
        request.set_payload(Payload::Stream {
            payload: Box::pin(body),
        });
        Some(came)
    }

    /// Whether it was read to its end.
    pub fn wholly(&self) -> bool {
        self.0.get()
    }
}

struct Watched {
    body: Payload,
    came: Came,
    talk: Option<Rc<Talk>>,
}

/// The library takes a chunk that is none for the client's end, and gives the request up with it.
impl Drop for Watched {
    fn drop(&mut self) {
        let waker = noop_waker();
        let mut context = Context::from_waker(&waker);
        let Some(talk) = self.talk.take().filter(|_| !self.came.wholly()) else {
            return;
        };
        while let Poll::Ready(Some(piece)) = Pin::new(&mut self.body).poll_next(&mut context) {
            if piece.is_err() {
                talk.break_off();
                return;
            }
        }
    }
}

impl Stream for Watched {
    type Item = Result<Bytes, PayloadError>;

    fn poll_next(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        let talk = self.talk.clone();
        let talk = talk.as_deref();
        if talk.is_some_and(Talk::is_overrun) {
            return Poll::Ready(Some(Err(PayloadError::Overflow)));
        }
        let piece = Pin::new(&mut self.body).poll_next(context);
        match (&piece, talk) {
            (Poll::Pending, Some(talk)) => talk.wait(context.waker().clone()),
            (Poll::Ready(Some(Ok(bytes))), Some(talk)) => talk.take_content(bytes.len()),
            (Poll::Ready(None), talk) => {
                self.came.0.set(true);
                talk.into_iter().for_each(Talk::end_chunks);
            }
            _ => {}
        }
        piece
    }
}
