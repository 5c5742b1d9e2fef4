//! The documentation: pages of the contract that need no internet, each made ready when it is first asked for.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use actix_web::web::{Data, Path};
use utoipa_swagger_ui::Config;

use super::problem::{Kind, Problem};
use super::reply::{Ready, Reply};

/// Where the documentation is.
const PLACE: &str = "/docs";

/// Whether an address is one of the documentation, which no operation of the contract is.
pub fn is_documentation(path: &str) -> bool {
    path.strip_prefix(PLACE)
        .is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
}

/// The files of the documentation.
pub struct Documentation {
    config: Arc<Config<'static>>,
    ready: Mutex<BTreeMap<String, Ready>>,
}

impl Documentation {
    /// The documentation of the contract that is served.
    pub fn new() -> Self {
        Self {
            config: Arc::new(Config::from("/openapi.json").validator_url("none")),
            ready: Mutex::default(),
        }
    }

    /// The file of this name; none where there is none.
    fn file(&self, name: &str) -> Result<Option<Ready>, Problem> {
        let mut ready = self.ready.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = ready.get(name) {
            return Ok(Some(known.clone()));
        }
        let found = utoipa_swagger_ui::serve(name, Arc::clone(&self.config));
        let Some(file) = found.map_err(|fault| Problem::internal(&fault))? else {
            return Ok(None);
        };
        let made = Ready::new(file.bytes.into_owned(), media_type(&file.content_type));
        ready.insert(name.to_owned(), made.clone());
        Ok(Some(made))
    }
}

/// The media types of its files.
fn media_type(name: &str) -> &'static str {
    match name {
        "text/html" => "text/html; charset=utf-8",
        "text/css" => "text/css; charset=utf-8",
        "text/javascript" | "application/javascript" => "text/javascript; charset=utf-8",
        "image/png" => "image/png",
        "application/json" => "application/json",
        _ => "application/octet-stream",
    }
}

/// Answers with a file of the documentation.
pub async fn read(documentation: Data<Documentation>, name: Path<String>) -> Result<Reply, Problem> {
    match documentation.file(&name)? {
        Some(file) => Ok(Reply::ready(&file)),
        None => Err(Problem::new(
            Kind::NotFound,
            "the documentation has no such file; it begins at /docs/",
        )),
    }
}
