//! Readers of single settings, which tell in words what they ask for.

use std::net::SocketAddr;
use std::str::FromStr;

/// A whole number that fits its place.
pub(super) fn whole<T: FromStr>(text: &str) -> Result<T, String> {
    let digits = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    match text.parse() {
        Ok(number) if digits => Ok(number),
        _ if digits => Err("the number is too large".to_owned()),
        _ => Err("a whole number is asked for".to_owned()),
    }
}

/// A whole number from 1.
pub(super) fn from_one<T: FromStr + Default + PartialEq>(text: &str) -> Result<T, String> {
    match whole(text)? {
        number if number == T::default() => Err("at least 1 is asked for".to_owned()),
        number => Ok(number),
    }
}

/// Threads that the HTTP library starts at most.
const WORKERS_MOST: usize = 512;

/// A number of threads that serve.
pub(super) fn workers(text: &str) -> Result<usize, String> {
    match from_one(text)? {
        workers if workers > WORKERS_MOST => Err(format!("at most {WORKERS_MOST} is asked for")),
        workers => Ok(workers),
    }
}

/// A number of seconds in which something can happen.
pub(super) fn seconds(text: &str) -> Result<u64, String> {
    match whole(text)? {
        0 => Err("at least one second is asked for".to_owned()),
        seconds => Ok(seconds),
    }
}

/// An address to listen on.
pub(super) fn address(text: &str) -> Result<SocketAddr, String> {
    text.parse().map_err(|_| {
        "an address of this machine with a port is asked for, as 127.0.0.1:8080 or [::1]:8080".to_owned()
    })
}

/// An origin of pages, as browsers send it: scheme, host and perhaps a port.
pub(super) fn origin(text: &str) -> Result<String, String> {
    let host = text
        .strip_prefix("https://")
        .or_else(|| text.strip_prefix("http://"));
    let plain = |byte: u8| byte.is_ascii_lowercase() || byte.is_ascii_digit() || b"-.:[]".contains(&byte);
    match host {
        Some(host) if !host.is_empty() && host.bytes().all(plain) => Ok(text.to_owned()),
        _ => Err(
            "an origin is asked for as browsers send it, with neither a path nor a slash at its end: \
             https://office.example"
                .to_owned(),
        ),
    }
}

/// How much is logged.
pub(super) fn level(text: &str) -> Result<tracing::Level, String> {
    text.parse()
        .map_err(|_| "one of error, warn, info, debug, trace is asked for".to_owned())
}
