//! A connection as the HTTP library gets it. Two things are different from what it has below. It ends where no request
//! comes in its time, after whatever has come is read, or where nobody takes the answer; and where the library answers by
//! itself, with a status and nothing else, a problem goes out instead.

use std::io;
use std::pin::Pin;
use std::rc::Rc;
use std::task::{Context, Poll, ready};
use std::time::{Duration, Instant};

use actix_web::web::{Buf, Bytes, Data};
use tokio::io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt, ReadBuf};
use tokio::runtime::Handle;
use tokio::time::{Sleep, sleep, timeout};

use super::super::metrics::Metrics;
use super::talk::Talk;
use super::unread;

/// How long, and how much, is still read of who was answered before all had come: else the answer is lost to a reset of
/// the connection (RFC 9112, section 9.6).
const LINGER: Duration = Duration::from_secs(2);
const LINGER_MOST: u64 = 4 * 1024 * 1024;

/// How long it still looks for what has come in time, once the time is over.
const LAST_LOOK: Duration = Duration::from_millis(50);

/// What is below: a plain connection, or TLS.
pub trait Stream: AsyncRead + AsyncWrite + Unpin + Send + 'static {}

impl<T: AsyncRead + AsyncWrite + Unpin + Send + 'static> Stream for T {}

/// What connections are held to.
#[derive(Clone)]
pub struct Terms {
    /// How long the head of a request may take to arrive.
    pub head: Duration,
    /// How long a connection stays open between two requests.
    pub idle: Duration,
    /// Where answers are counted.
    pub metrics: Data<Metrics>,
}

/// A connection.
pub struct Line<T: Stream> {
    /// Taken when it is dropped.
    io: Option<T>,
    talk: Rc<Talk>,
    terms: Terms,
    /// The requests that were begun when it was last at rest.
    rested_at: u64,
    /// Whether something was written since.
    wrote: bool,
    /// Whether the client takes nothing of what is written.
    stuck: bool,
    next: Next,
    /// Whether it has looked once more after the time was over.
    looked: bool,
    timer: Pin<Box<Sleep>>,
    /// What is left to send of an answer of its own, after which nothing is read.
    own: Option<Bytes>,
    over: bool,
}

/// What has come of the next request.
#[derive(Default)]
struct Next {
    since: Option<Instant>,
    line: usize,
    line_ended: bool,
    /// Ends of lines since anything else came: two of them end the head.
    ends: u8,
}

impl Next {
    /// Whether all of its head has come.
    fn is_whole(&self) -> bool {
        self.ends > 1
    }

    fn take_in(&mut self, came: &[u8]) {
        if !self.line_ended {
            let end = came.iter().position(|byte| *byte == b'\n');
            self.line = self.line.saturating_add(end.unwrap_or(came.len()));
            self.line_ended = end.is_some();
        }
        for byte in came {
            match byte {
                _ if self.is_whole() => break,
                b'\n' => self.ends = self.ends.saturating_add(1),
                b'\r' => {}
                _ => self.ends = 0,
            }
        }
    }
}

impl<T: Stream> Line<T> {
    /// A connection that was just made.
    pub fn new(io: T, terms: Terms) -> Self {
        Self {
            io: Some(io),
            talk: Rc::default(),
            timer: Box::pin(sleep(terms.head)),
            terms,
            rested_at: 0,
            wrote: false,
            stuck: false,
            next: Next::default(),
            looked: false,
            own: None,
            over: false,
        }
    }

    /// The requests on it.
    pub fn talk(&self) -> Rc<Talk> {
        Rc::clone(&self.talk)
    }

    /// Whether the application has been given nothing since it was last at rest.
    fn waits(&self) -> bool {
        self.rested_at == self.talk.begun()
    }

    fn wait_for(&mut self, time: Duration) {
        let end = tokio::time::Instant::now().checked_add(time);
        if let Some(end) = end {
            self.timer.as_mut().reset(end);
        }
    }

    fn took_in(&mut self, came: &[u8]) {
        if came.is_empty() || !self.waits() {
            return;
        }
        if self.next.since.is_none() {
            self.next.since = Some(Instant::now());
            self.looked = false;
            self.wait_for(self.terms.head);
        }
        self.next.take_in(came);
    }

    /// Whether the time is over, and nothing had come that this thread, held up itself, had not been told of yet.
    fn is_late(&mut self, context: &mut Context<'_>) -> bool {
        if self.timer.as_mut().poll(context).is_pending() {
            return false;
        }
        if !self.looked {
            self.looked = true;
            self.wait_for(LAST_LOOK);
            return self.timer.as_mut().poll(context).is_ready();
        }
        true
    }

    /// No request came in its time: whoever has begun one is told, and the line ends.
    fn end(&mut self) {
        self.over = true;
        if self.next.since.is_some() {
            self.answer(408);
        }
    }

    /// Whether nothing of an answer was taken for as long as a connection may rest.
    fn is_left_alone(&mut self, context: &mut Context<'_>) -> bool {
        if !self.stuck {
            self.stuck = true;
            self.wait_for(self.terms.idle);
        }
        self.timer.as_mut().poll(context).is_ready()
    }

    /// Answers by itself.
    fn answer(&mut self, status: u16) -> bool {
        let Some(problem) = unread::problem(status, self.next.line) else {
            return false;
        };
        let answer = unread::answer(&problem);
        let time = self.next.since.map(|since| since.elapsed()).unwrap_or_default();
        let unread::Answer { id, status, bytes } = answer;
        self.terms.metrics.answered("", "none", status, time);
        tracing::info!(%id, status, "answered what is no request: {}", problem.detail());
        self.own = Some(bytes);
        true
    }

    fn send_own(&mut self, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        while let Some(left) = self.own.as_mut().filter(|left| !left.is_empty()) {
            let Some(io) = self.io.as_mut() else { break };
            match ready!(Pin::new(io).poll_write(context, left))? {
                0 => return Poll::Ready(Err(io::ErrorKind::WriteZero.into())),
                sent => left.advance(sent),
            }
        }
        Poll::Ready(Ok(()))
    }

    fn io(&mut self) -> io::Result<Pin<&mut T>> {
        let io = self.io.as_mut().map(Pin::new);
        io.ok_or_else(|| io::ErrorKind::NotConnected.into())
    }
}

/// The status of an answer that begins here.
fn status(answer: &[u8]) -> Option<u16> {
    let digits = answer.strip_prefix(b"HTTP/1.1 ")?.get(..3)?;
    std::str::from_utf8(digits).ok()?.parse().ok()
}

impl<T: Stream> AsyncRead for Line<T> {
    fn poll_read(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let this = self.get_mut();
        if this.over {
            return Poll::Ready(Ok(()));
        }
        if this.talk.is_overrun() {
            // Whoever reads the body was told, and the answer ends the line.
            return Poll::Pending;
        }
        let before = into.filled().len();
        let read = this.io()?.poll_read(context, into);
        match read {
            Poll::Ready(Ok(())) => {
                let came = into.filled().get(before..).unwrap_or_default();
                this.talk.take_in(came.len());
                // Who ends in the middle of a head may still read.
                if came.is_empty() && this.waits() && this.next.since.is_some() && !this.next.is_whole() {
                    this.over = true;
                    this.answer(400);
                }
                this.took_in(came);
            }
            // Only now: what has come in time is not passed over because this thread comes to it late.
            Poll::Pending if this.waits() && this.is_late(context) => {
                this.end();
                return Poll::Ready(Ok(()));
            }
            _ => {}
        }
        read
    }
}

impl<T: Stream> AsyncWrite for Line<T> {
    fn poll_write(self: Pin<&mut Self>, context: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        let this = self.get_mut();
        if this.own.is_some() {
            return Poll::Ready(Ok(bytes.len()));
        }
        // Nobody but the library itself has anything to say here.
        if this.waits() && status(bytes).is_some_and(|status| this.answer(status)) {
            return Poll::Ready(Ok(bytes.len()));
        }
        this.wrote = true;
        let written = this.io()?.poll_write(context, bytes);
        if written.is_ready() {
            this.stuck = false;
        } else if this.is_left_alone(context) {
            return Poll::Ready(Err(io::ErrorKind::TimedOut.into()));
        }
        written
    }

    /// The library flushes when all that it had is written.
    fn poll_flush(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        let this = self.get_mut();
        ready!(this.send_own(context))?;
        ready!(this.io()?.poll_flush(context))?;
        if this.wrote && this.talk.is_at_rest() && this.talk.is_cut() {
            this.over = true;
            this.own = Some(Bytes::new());
            return Poll::Ready(Err(io::ErrorKind::ConnectionAborted.into()));
        }
        if this.wrote && this.talk.is_at_rest() {
            this.wrote = false;
            this.rested_at = this.talk.begun();
            this.next = Next::default();
            this.looked = false;
            this.wait_for(this.terms.idle);
            // So that it wakes this connection when the time is over.
            let _ = this.timer.as_mut().poll(context);
        }
        Poll::Ready(Ok(()))
    }

    fn poll_shutdown(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        let this = self.get_mut();
        ready!(this.send_own(context))?;
        this.io()?.poll_shutdown(context)
    }
}

impl<T: Stream> Drop for Line<T> {
    fn drop(&mut self) {
        // Given up for its broken body, a request is still owed its answer.
        if self.talk.is_broken() && !self.wrote && !self.over && self.own.is_none() {
            self.answer(400);
        }
        let (Some(io), Some(left)) = (self.io.take(), self.own.take()) else {
            return;
        };
        if let Ok(runtime) = Handle::try_current() {
            runtime.spawn(linger(io, left));
        }
    }
}

/// Sends what is left of the answer, and reads on for a while.
async fn linger(mut io: impl Stream, left: Bytes) {
    let mut rest = tokio::io::sink();
    let _ = timeout(LINGER, async {
        io.write_all(&left).await?;
        io.shutdown().await?;
        tokio::io::copy(&mut (&mut io).take(LINGER_MOST), &mut rest).await
    })
    .await;
}
