//! Every setting, once: as a flag, with its name in the environment, what is usual, and what it is.

use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::time::Duration;

use super::words::{address, from_one, level, origin, seconds, whole, workers};
use crate::store::{Location, StoreFault};

/// The data file that is used when nothing is said.
pub const DATA_FILE: &str = "tallyrule-data/tallyrule.sqlite";

/// What requests may use where nothing is said.
pub mod usual {
    /// Largest body, in bytes.
    pub const BODY: usize = 1_048_576;
    /// Largest price list, in bytes.
    pub const PRICE_LIST: usize = 33_554_432;
    /// Requests a minute of one caller.
    pub const REQUESTS_A_MINUTE: u32 = 6_000;
    /// Seconds that a request may take.
    pub const REQUEST_SECONDS: u64 = 60;
    /// Seconds in which a body arrives.
    pub const BODY_SECONDS: u64 = 15;
    /// Seconds in which the head of a request arrives.
    pub const HEAD_SECONDS: u64 = 15;
    /// Seconds that a connection stays open between two requests: longer than a proxy or a pool of clients keeps one.
    pub const IDLE_SECONDS: u64 = 75;
}

/// What one request and one process may use.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Limits {
    /// Largest body of a request, in bytes.
    pub body: usize,
    /// Largest file of a supplier's price list, in bytes.
    pub price_list: usize,
    /// Requests a minute of one caller; 0 for no limit.
    pub requests_a_minute: u32,
    /// How long a request may take, from its head to its answer.
    pub request_time: Duration,
    /// How long the body of a request may take to arrive.
    pub body_time: Duration,
    /// How long the head of a request may take to arrive, from its first byte.
    pub head_time: Duration,
    /// How long a connection stays open between two requests.
    pub idle_time: Duration,
    /// Threads that serve requests.
    pub workers: usize,
    /// Origins whose pages may call the service from a browser; none for no such pages.
    pub cors_origins: Vec<String>,
}

/// Where the data is.
#[derive(Debug, Clone, clap::Args)]
pub struct DataArgs {
    /// Data file (SQLite)
    #[arg(long, value_name = "FILE", env = "TALLYRULE_DATA", default_value = DATA_FILE)]
    pub data: PathBuf,
    /// Database instead of a data file: postgres://USER@HOST/NAME or sqlite://PATH
    #[arg(
        long,
        value_name = "URL",
        env = "TALLYRULE_DATABASE_URL",
        hide_env_values = true
    )]
    pub database_url: Option<String>,
}

impl DataArgs {
    /// Whether nothing was said of where the data is.
    pub fn is_usual(&self) -> bool {
        self.database_url.is_none() && self.data == Path::new(DATA_FILE)
    }

    /// The location that is meant.
    ///
    /// # Errors
    /// The URL is of no database that is known.
    pub fn location(&self) -> Result<Location, StoreFault> {
        self.database_url
            .as_deref()
            .map_or_else(|| Ok(Location::File(self.data.clone())), Location::parse)
    }
}

/// How the log is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum LogFormat {
    /// A line a person reads.
    Text,
    /// An object of JSON a line.
    Json,
}

/// What TLS needs.
#[derive(Debug, Clone, clap::Args)]
pub struct TlsArgs {
    /// Certificate chain (PEM) with which it serves over TLS
    #[arg(long, value_name = "FILE", env = "TALLYRULE_TLS_CERTIFICATE")]
    pub tls_certificate: Option<PathBuf>,
    /// Private key (PEM) of the certificate
    #[arg(long, value_name = "FILE", env = "TALLYRULE_TLS_KEY")]
    pub tls_key: Option<PathBuf>,
}

/// How the server runs.
#[derive(Debug, Clone, clap::Args)]
pub struct ServeArgs {
    /// Where the data is.
    #[command(flatten)]
    pub data: DataArgs,
    /// Load the demonstration data into an empty database first
    #[arg(long)]
    pub demo: bool,
    /// Folder of the demonstration data
    #[arg(long, value_name = "DIR", env = "TALLYRULE_SEED", default_value = "seed-data")]
    pub seed: PathBuf,
    /// Address to listen on; only this machine unless another is given
    #[arg(long, value_name = "ADDRESS", env = "TALLYRULE_LISTEN", default_value = "127.0.0.1:8080", value_parser = address)]
    pub listen: SocketAddr,
    /// What it serves over TLS with.
    #[command(flatten)]
    pub tls: TlsArgs,
    /// Origins whose pages may call the service from a browser, separated by commas; none unless said
    #[arg(long, value_name = "ORIGINS", env = "TALLYRULE_CORS_ORIGINS", value_delimiter = ',', value_parser = origin)]
    pub cors_origins: Vec<String>,
    /// Largest request body, in bytes
    #[arg(long, value_name = "BYTES", env = "TALLYRULE_BODY_LIMIT", default_value_t = usual::BODY, value_parser = from_one::<usize>)]
    pub body_limit: usize,
    /// Largest file of a supplier's price list, in bytes
    #[arg(long, value_name = "BYTES", env = "TALLYRULE_PRICE_LIST_LIMIT", default_value_t = usual::PRICE_LIST, value_parser = from_one::<usize>)]
    pub price_list_limit: usize,
    /// Requests a minute that one caller may make; 0 for no limit
    #[arg(long, value_name = "COUNT", env = "TALLYRULE_REQUESTS_A_MINUTE", default_value_t = usual::REQUESTS_A_MINUTE, value_parser = whole::<u32>)]
    pub requests_a_minute: u32,
    /// Seconds that a request may take, from its head to its answer; as long a stop waits for what was begun
    #[arg(long, value_name = "SECONDS", env = "TALLYRULE_REQUEST_TIME", default_value_t = usual::REQUEST_SECONDS, value_parser = seconds)]
    pub request_time: u64,
    /// Seconds that the body of a request may take to arrive; a price list has the time of its request
    #[arg(long, value_name = "SECONDS", env = "TALLYRULE_BODY_TIME", default_value_t = usual::BODY_SECONDS, value_parser = seconds)]
    pub body_time: u64,
    /// Seconds that the head of a request may take to arrive, from its first byte
    #[arg(long, value_name = "SECONDS", env = "TALLYRULE_HEAD_TIME", default_value_t = usual::HEAD_SECONDS, value_parser = seconds)]
    pub head_time: u64,
    /// Seconds that a connection stays open between two requests; longer than a proxy in front keeps one
    #[arg(long, value_name = "SECONDS", env = "TALLYRULE_IDLE_TIME", default_value_t = usual::IDLE_SECONDS, value_parser = seconds)]
    pub idle_time: u64,
    /// Threads that serve requests; one a core when nothing is said
    #[arg(long, value_name = "COUNT", env = "TALLYRULE_WORKERS", value_parser = workers)]
    pub workers: Option<usize>,
    /// Connections to the database
    #[arg(long, value_name = "COUNT", env = "TALLYRULE_CONNECTIONS", default_value = "8", value_parser = from_one::<u32>)]
    pub connections: u32,
    /// Seconds between two passes that store which offers have expired
    #[arg(long, value_name = "SECONDS", env = "TALLYRULE_EXPIRY_INTERVAL", default_value = "300", value_parser = whole::<u64>)]
    pub expiry_interval: u64,
    /// How the log is written
    #[arg(
        long,
        value_name = "FORMAT",
        env = "TALLYRULE_LOG_FORMAT",
        value_enum,
        default_value = "text"
    )]
    pub log_format: LogFormat,
    /// How much is logged: error, warn, info, debug, trace
    #[arg(long, value_name = "LEVEL", env = "TALLYRULE_LOG_LEVEL", default_value = "info", value_parser = level)]
    pub log_level: tracing::Level,
}

impl ServeArgs {
    /// What requests may use.
    pub fn limits(&self) -> Limits {
        let cores = || std::thread::available_parallelism().map_or(1, usize::from);
        Limits {
            body: self.body_limit,
            price_list: self.price_list_limit,
            requests_a_minute: self.requests_a_minute,
            request_time: Duration::from_secs(self.request_time),
            body_time: Duration::from_secs(self.body_time),
            head_time: Duration::from_secs(self.head_time),
            idle_time: Duration::from_secs(self.idle_time),
            workers: self.workers.unwrap_or_else(cores),
            cors_origins: self.cors_origins.clone(),
        }
    }
}
