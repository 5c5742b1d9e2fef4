//! Work that waits for the database or computes for long goes to threads of its own.
//!
//! Where such work breaks down, the caller gets a 500 with nothing in it but the request's id in its header, and the log,
//! under that id, has what broke down.

use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};

use actix_web::web;

use super::problem::Problem;

/// Runs `work` on a thread where it may wait.
///
/// # Errors
/// It panicked, or the service is being stopped.
pub async fn blocking<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, Problem> {
    // What was half done when it panicked is dropped with the work: a transaction without its commit is none.
    let caught = web::block(move || catch_unwind(AssertUnwindSafe(work)));
    match caught.await {
        Ok(Ok(answer)) => Ok(answer),
        Ok(Err(panic)) => {
            let cause = format!("a worker broke down: {}", words(panic.as_ref()));
            Err(Problem::internal(&cause))
        }
        Err(stopped) => Err(Problem::internal(&stopped)),
    }
}

/// What a panic says.
fn words(panic: &(dyn Any + Send)) -> &str {
    panic
        .downcast_ref::<&str>()
        .copied()
        .or_else(|| panic.downcast_ref::<String>().map(String::as_str))
        .unwrap_or("without a word")
}
