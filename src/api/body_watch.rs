//! Whether the body of a request has come by the time of the answer: where it has not, the connection ends with it.

use std::cell::RefCell;
use std::pin::Pin;
use std::rc::Rc;
use std::task::{Context, Poll, Waker};

use actix_web::HttpMessage;
use actix_web::dev::{Payload, ServiceRequest};
use actix_web::error::PayloadError;
use actix_web::web::Bytes;
use futures_util::Stream;

/// The body of a request, beside whoever reads it.
pub(super) struct Watched(Rc<RefCell<Payload>>);

impl Watched {
    /// Watches the body of `request`.
    pub(super) fn of(request: &mut ServiceRequest) -> Self {
        let body = Rc::new(RefCell::new(request.take_payload()));
        let reading = Box::pin(Reading(Rc::clone(&body)));
        request.set_payload(Payload::Stream { payload: reading });
        Self(body)
    }

    /// Whether all of it has come. What nobody has read by now is given up.
    pub(super) fn has_come(self) -> bool {
        let mut body = self.0.borrow_mut();
        let mut context = Context::from_waker(Waker::noop());
        loop {
            match Pin::new(&mut *body).poll_next(&mut context) {
                Poll::Ready(None) => return true,
                Poll::Ready(Some(Ok(_))) => {}
                Poll::Ready(Some(Err(_))) | Poll::Pending => return false,
            }
        }
    }
}

/// What a reader gets of it.
struct Reading(Rc<RefCell<Payload>>);

impl Stream for Reading {
    type Item = Result<Bytes, PayloadError>;

    fn poll_next(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        Pin::new(&mut *self.0.borrow_mut()).poll_next(context)
    }
}
