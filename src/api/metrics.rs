//! What a monitoring system reads (Prometheus text format 0.0.4): requests by the address as the contract writes it, never
//! with ids in it, and how it stands with the database and the process.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::Duration;

use actix_web::get;
use actix_web::web::Data;
use parking_lot::Mutex;

use super::at_desk;
use super::problem::{Body, Problem};
use super::reply::Reply;
use super::who::CallersDesk;
use crate::desk::Standing;

const MEDIA_TYPE: &str = "text/plain; version=0.0.4";
/// Upper ends of the classes of durations, in milliseconds.
const CLASSES: [u64; 14] = [
    1, 2, 5, 10, 25, 50, 100, 250, 500, 1_000, 2_500, 5_000, 10_000, 30_000,
];
/// What methods are called that no operation has.
const OTHER_METHOD: &str = "other";

/// What requests came to, since the program began.
#[derive(Default)]
pub struct Metrics {
    series: Mutex<BTreeMap<(&'static str, &'static str), Series>>,
    under_way: AtomicI64,
}

/// Requests of one method at one address.
#[derive(Default)]
struct Series {
    by_status: BTreeMap<u16, u64>,
    by_class: [u64; CLASSES.len()],
    count: u64,
    time: Duration,
}

/// A request that is under way.
pub struct UnderWay<'a>(&'a Metrics);

impl Drop for UnderWay<'_> {
    fn drop(&mut self) {
        self.0.under_way.fetch_sub(1, Ordering::Relaxed);
    }
}

impl Metrics {
    /// Counts a request as under way.
    pub fn begin(&self) -> UnderWay<'_> {
        self.under_way.fetch_add(1, Ordering::Relaxed);
        UnderWay(self)
    }

    /// Counts a request that was answered.
    pub fn answered(&self, method: &str, route: &'static str, status: u16, time: Duration) {
        let known = ["GET", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"];
        let method = known.into_iter().find(|known| *known == method);
        let mut all = self.series.lock();
        let series = all.entry((route, method.unwrap_or(OTHER_METHOD))).or_default();
        let counted = series.by_status.entry(status).or_default();
        *counted = counted.saturating_add(1);
        series.count = series.count.saturating_add(1);
        series.time = series.time.saturating_add(time);
        for (class, end) in series.by_class.iter_mut().zip(CLASSES) {
            if time <= Duration::from_millis(end) {
                *class = class.saturating_add(1);
            }
        }
    }

    fn write(&self, text: &mut Text) {
        let all = self.series.lock();
        text.head(
            "tallyrule_http_requests_total",
            "counter",
            "Requests that were answered.",
        );
        for ((route, method), series) in all.iter() {
            for (status, count) in &series.by_status {
                let labels = format!("method=\"{method}\",route=\"{route}\",status=\"{status}\"");
                text.line("tallyrule_http_requests_total", &labels, count);
            }
        }
        let name = "tallyrule_http_request_duration_seconds";
        text.head(name, "histogram", "From the head of a request to its answer.");
        for ((route, method), series) in all.iter() {
            let labels = format!("method=\"{method}\",route=\"{route}\"");
            for (count, end) in series.by_class.iter().zip(CLASSES) {
                let labels = format!("{labels},le=\"{}\"", seconds(Duration::from_millis(end)));
                text.line(&format!("{name}_bucket"), &labels, count);
            }
            text.line(
                &format!("{name}_bucket"),
                &format!("{labels},le=\"+Inf\""),
                &series.count,
            );
            text.line(&format!("{name}_sum"), &labels, &seconds(series.time));
            text.line(&format!("{name}_count"), &labels, &series.count);
        }
        text.gauge(
            "tallyrule_http_requests_under_way",
            "Requests that are not answered yet.",
            &[("", self.under_way.load(Ordering::Relaxed))],
        );
    }
}

/// Seconds with all their digits.
fn seconds(time: Duration) -> String {
    let text = format!("{}.{:06}", time.as_secs(), time.subsec_micros());
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Text that grows by lines.
#[derive(Default)]
struct Text(String);

impl Text {
    fn head(&mut self, name: &str, kind: &str, help: &str) {
        // Writing into a text does not fail.
        let _ = write!(self.0, "# HELP {name} {help}\n# TYPE {name} {kind}\n");
    }

    fn line(&mut self, name: &str, labels: &str, value: &dyn std::fmt::Display) {
        let _ = match labels {
            "" => writeln!(self.0, "{name} {value}"),
            labels => writeln!(self.0, "{name}{{{labels}}} {value}"),
        };
    }

    fn gauge<N: std::fmt::Display>(&mut self, name: &str, help: &str, values: &[(&str, N)]) {
        self.head(name, "gauge", help);
        for (labels, value) in values {
            self.line(name, labels, value);
        }
    }
}

fn write_standing(text: &mut Text, standing: &Standing) {
    let pool = &standing.connections;
    text.gauge(
        "tallyrule_database_connections",
        "Connections to the database.",
        &[("state=\"idle\"", pool.idle), ("state=\"used\"", pool.used)],
    );
    text.gauge(
        "tallyrule_database_connections_most",
        "As many as there may be.",
        &[("", pool.most)],
    );
    text.gauge(
        "tallyrule_writers_waiting",
        "Writes to the data file that wait for their turn or are in it.",
        &[("", standing.writers)],
    );
    let labelled: Vec<(String, i64)> = standing
        .quotes
        .iter()
        .map(|(state, count)| (format!("state=\"{state}\""), *count))
        .collect();
    let quotes: Vec<(&str, i64)> = labelled
        .iter()
        .map(|(label, count)| (label.as_str(), *count))
        .collect();
    text.gauge(
        "tallyrule_quotes",
        "Quotes that are not put away, by their state.",
        &quotes,
    );
}

fn write_process(text: &mut Text) {
    if let Some(bytes) = resident_bytes() {
        let help = "Memory of the process that is in use.";
        text.gauge("process_resident_memory_bytes", help, &[("", bytes)]);
    }
    if let Ok(files) = std::fs::read_dir("/proc/self/fd") {
        text.gauge("process_open_fds", "Files that are open.", &[("", files.count())]);
    }
}

/// What Linux tells of it.
fn resident_bytes() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"))?;
    let kilobytes: u64 = line.trim().strip_suffix(" kB")?.trim().parse().ok()?;
    kilobytes.checked_mul(1024)
}

/// How it stands with the service
///
/// For a monitoring system: requests, durations, the database, quotes by state, the process.
#[utoipa::path(tag = "service", responses(
    (status = 200, description = "The figures (Prometheus text format)", body = String, content_type = "text/plain"),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/metrics")]
pub async fn read_metrics(metrics: Data<Metrics>, desk: CallersDesk) -> Result<Reply, Problem> {
    let standing = at_desk(&desk, |desk| desk.standing()).await?;
    let mut text = Text::default();
    metrics.write(&mut text);
    write_standing(&mut text, &standing);
    write_process(&mut text);
    Ok(Reply::document(text.0.into_bytes(), MEDIA_TYPE).without_tag())
}
