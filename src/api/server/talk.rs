//! What the application has to do with a connection: how many requests it was given, and of how many the answer is done.

use std::cell::Cell;
use std::error::Error;
use std::pin::Pin;
use std::rc::Rc;
use std::task::{Context, Poll, Waker};

use actix_web::body::{BodySize, BoxBody, MessageBody};
use actix_web::web::Bytes;

/// Most bytes that come of a body in chunks beside its content: sizes, extensions, the trailer. What has come of the content
/// and nobody has read yet counts with them, which is far less.
pub const FRAMING_MOST: u64 = 1_048_576;

/// The requests of one connection.
#[derive(Default)]
pub struct Talk {
    begun: Cell<u64>,
    done: Cell<u64>,
    ending: Cell<bool>,
    cut: Cell<bool>,
    broken: Cell<bool>,
    /// What has come of a body in chunks and is no content that was read; none where no such body is on its way.
    framing: Cell<Option<u64>>,
    /// Who reads that body.
    reader: Cell<Option<Waker>>,
}

impl Talk {
    /// Counts a request as begun.
    pub fn begin(self: &Rc<Self>) -> UnderWay {
        self.begun.set(self.begun.get().wrapping_add(1));
        UnderWay(Rc::clone(self))
    }

    /// The answer to the last that was begun is the last.
    pub fn end(&self) {
        self.ending.set(true);
    }

    /// Whether no further request is carried out.
    pub fn is_ending(&self) -> bool {
        self.ending.get()
    }

    /// Whatever comes behind the last answer is not read as a request: the line ends with it.
    pub fn cut(&self) {
        self.cut.set(true);
    }

    /// Whether the line ends with the last answer, whatever came behind it.
    pub fn is_cut(&self) -> bool {
        self.cut.get()
    }

    /// A body broke off before anybody read so far.
    pub fn break_off(&self) {
        self.broken.set(true);
    }

    /// Whether one did.
    pub fn is_broken(&self) -> bool {
        self.broken.get()
    }

    /// A body in chunks is on its way.
    pub fn begin_chunks(&self) {
        self.framing.set(Some(0));
    }

    /// All of it has come.
    pub fn end_chunks(&self) {
        self.framing.set(None);
    }

    /// So many bytes have come. Where they are too many beside the content, whoever reads it is told.
    pub fn take_in(&self, bytes: usize) {
        self.count(|framing| framing.saturating_add(u64::try_from(bytes).unwrap_or(u64::MAX)));
        if self.is_overrun()
            && let Some(reader) = self.reader.take()
        {
            reader.wake();
        }
    }

    /// So many bytes of content were read.
    pub fn take_content(&self, bytes: usize) {
        self.count(|framing| framing.saturating_sub(u64::try_from(bytes).unwrap_or(u64::MAX)));
    }

    fn count(&self, new: impl FnOnce(u64) -> u64) {
        self.framing.set(self.framing.get().map(new));
    }

    /// Whether more came of a body in chunks than is read.
    pub fn is_overrun(&self) -> bool {
        self.framing.get().is_some_and(|framing| framing > FRAMING_MOST)
    }

    /// Whoever reads the body waits for more of it.
    pub fn wait(&self, reader: Waker) {
        self.reader.set(Some(reader));
    }

    /// How many were begun.
    pub fn begun(&self) -> u64 {
        self.begun.get()
    }

    /// Whether every one that was begun is done.
    pub fn is_at_rest(&self) -> bool {
        self.begun == self.done
    }
}

/// A request whose answer is not done.
pub struct UnderWay(Rc<Talk>);

impl Drop for UnderWay {
    fn drop(&mut self) {
        self.0.done.set(self.0.done.get().wrapping_add(1));
    }
}

/// The body of an answer; once it is sent or given up, the answer is done.
pub struct Told {
    body: BoxBody,
    _under_way: Option<UnderWay>,
}

impl Told {
    /// The body of the answer to this request.
    pub fn new(body: impl MessageBody + 'static, under_way: Option<UnderWay>) -> Self {
        Self {
            body: body.boxed(),
            _under_way: under_way,
        }
    }
}

impl MessageBody for Told {
    type Error = Box<dyn Error>;

    fn size(&self) -> BodySize {
        self.body.size()
    }

    fn poll_next(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Bytes, Self::Error>>> {
        Pin::new(&mut self.body).poll_next(context)
    }
}
