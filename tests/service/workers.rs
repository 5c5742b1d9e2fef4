//! A worker that breaks down: the caller is told nothing but that, and the log has the rest under the request's id.

use std::io;
use std::sync::{Arc, Mutex};

use actix_web::ResponseError;
use actix_web::http::StatusCode;
use tallyrule::api::blocking::blocking;
use tracing::Instrument;
use tracing_subscriber::fmt::MakeWriter;

/// A log that is kept.
#[derive(Clone, Default)]
struct Log(Arc<Mutex<Vec<u8>>>);

impl io::Write for Log {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.lock().unwrap().extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl<'a> MakeWriter<'a> for Log {
    type Writer = Self;

    fn make_writer(&'a self) -> Self {
        self.clone()
    }
}

#[test]
fn a_worker_that_breaks_down_is_told_to_the_log_alone() {
    let log = Log::default();
    let subscriber = tracing_subscriber::fmt()
        .with_writer(log.clone())
        .with_ansi(false)
        .finish();
    let problems = tracing::subscriber::with_default(subscriber, || {
        actix_web::rt::System::new().block_on(async {
            let span = tracing::info_span!("request", id = "request-of-the-test");
            let first = blocking(|| -> u8 { panic!("the secret of line {}", 7) });
            let second = blocking(|| -> u8 { std::panic::panic_any(7_u8) });
            let both = async { (first.await.unwrap_err(), second.await.unwrap_err()) };
            let (first, second) = both.instrument(span).await;
            // The next one is served as ever.
            assert_eq!(blocking(|| 7).await.unwrap(), 7);
            [first, second]
        })
    });
    for problem in problems {
        assert_eq!(problem.status_code(), StatusCode::INTERNAL_SERVER_ERROR);
        assert_eq!(
            problem.detail(),
            "the cause is in the service's log, under this request's id"
        );
    }
    let log = String::from_utf8(log.0.lock().unwrap().clone()).unwrap();
    let told = log
        .lines()
        .find(|line| line.contains("the secret of line 7"))
        .unwrap();
    assert!(
        told.contains("request-of-the-test") && told.contains("a worker broke down"),
        "{log}"
    );
    assert!(log.contains("without a word"), "{log}");
}
