//! The contract: OpenAPI 3.1, made from the routes that are served and the shapes that they answer with.

use std::sync::OnceLock;

use actix_web::web::Data;
use actix_web::{App, get};
use serde_json::{Map, Value, json};
use utoipa::OpenApi;
use utoipa_actix_web::AppExt;

use super::problem::Problem;
use super::reply::{Ready, Reply};
use super::who::{describe, fits};

#[derive(OpenApi)]
#[openapi(
    info(
        title = "Tallyrule",
        description = "Prices the installation of ceiling-mounted split cooling units in wine cellars: a job spec \
            goes in, a priced bill of materials and labour hours comes out. Amounts and quantities are decimals in \
            strings, exact. Errors are problem details (RFC 9457).",
        contact(name = "The office that runs the service"),
        license(name = "Apache-2.0", identifier = "Apache-2.0")
    ),
    tags(
        (name = "estimates", description = "From a job spec to a priced bill"),
        (name = "rules", description = "Rulebooks, and the facts that their formulas may use"),
        (name = "catalogue", description = "What is bought, who works, which units are installed"),
        (name = "price lists", description = "Suppliers' lists: read by a saved mapping, tried, applied, taken back"),
        (name = "policies", description = "How cost becomes price"),
        (name = "customers", description = "Whom offers are for, and where the work is done"),
        (name = "surveys", description = "What was found at a site, kept as far as it goes"),
        (name = "quotes", description = "Numbered offers: drafts, revisions that never change, their moves in time"),
        (name = "change orders", description = "Additions to and omissions from an accepted quote"),
        (name = "access", description = "Who may come in, and who wrote what"),
        (name = "accounting", description = "What was accepted, handed to the ledger in open formats, and its receipts"),
        (name = "papers", description = "What is printed, drawn and bought from a revision, and how papers look"),
        (name = "service", description = "The service itself")
    )
)]
struct Head;

/// The contract as it is served.
#[derive(Debug)]
pub struct Contract {
    document: Value,
    /// It as it goes out, made when it is first asked for.
    served: OnceLock<Ready>,
}

impl Contract {
    /// Collects the contract from the routes.
    ///
    /// # Errors
    /// A shape is not JSON, or two have one name.
    pub fn collect() -> Result<Self, ContractFault> {
        let (_, head) = App::new()
            .into_utoipa_app()
            .openapi(Head::openapi())
            .configure(super::routes)
            .split_for_parts();
        let mut document = serde_json::to_value(&head)?;
        let schemas = document
            .pointer_mut("/components/schemas")
            .and_then(Value::as_object_mut)
            .ok_or(ContractFault::NoSchemas)?;
        for (name, shape) in super::shapes::all()? {
            if schemas.insert(name.clone(), shape).is_some() {
                return Err(ContractFault::Twice(name));
            }
        }
        super::shapes::exemplify(schemas)?;
        describe(&mut document)?;
        super::usual_answers::describe(&mut document);
        super::shapes::plain(&mut document);
        if let Some(members) = document.as_object_mut() {
            // Wherever it is served, its addresses begin at its own root.
            members.insert("servers".to_owned(), json!([{"url": "/"}]));
        }
        Ok(Self {
            document,
            served: OnceLock::new(),
        })
    }

    /// The document, as text that ends with a line break.
    pub fn text(&self) -> String {
        format!("{:#}\n", self.document)
    }

    /// It as it goes out.
    fn served(&self) -> &Ready {
        let ready = || Ready::new(self.document.to_string().into_bytes(), "application/json");
        self.served.get_or_init(ready)
    }

    /// The operation of a method at an address, and the address as the contract writes it.
    pub fn operation(&self, method: &str, path: &str) -> Option<(&str, &Value)> {
        let method = method.to_ascii_lowercase();
        let paths = self.document.get("paths")?.as_object()?;
        let fitting = paths.iter().filter(|(template, _)| fits(template, path));
        let fitting = fitting.filter_map(|(template, found)| Some((template.as_str(), found.get(&method)?)));
        fitting.min_by_key(|(template, _)| template.matches('{').count())
    }

    /// The methods that an address takes; none when there is no such address.
    pub fn methods(&self, path: &str) -> Vec<String> {
        let paths = self.document.get("paths").and_then(Value::as_object);
        let Some((_, found)) =
            paths.and_then(|paths| paths.iter().find(|(template, _)| fits(template, path)))
        else {
            return Vec::new();
        };
        let names = found.as_object().into_iter().flat_map(Map::keys);
        let mut methods: Vec<String> = names.map(|name| name.to_ascii_uppercase()).collect();
        if methods.iter().any(|method| method == "GET") {
            methods.push("HEAD".to_owned());
        }
        methods
    }
}

/// Why the contract cannot be put together: a fault of this program, found by its tests.
#[derive(Debug, thiserror::Error)]
pub enum ContractFault {
    /// A shape is not JSON.
    #[error("a shape of the contract is not JSON: {0}")]
    Json(#[from] serde_json::Error),
    /// No route names a shape.
    #[error("the contract has no shapes")]
    NoSchemas,
    /// An operation is in no row of the table of who may do what.
    #[error("the table of who may do what has no row for {0}")]
    NobodyMay(String),
    /// A row of that table is of no operation.
    #[error("the table of who may do what has a row for {0}, and there is no such operation")]
    NoOperation(&'static str),
    /// An example is of a shape that is not there.
    #[error("the contract has an example of {0}, and no such shape")]
    NoShape(String),
    /// Two shapes have one name.
    #[error("the contract has two shapes called {0}")]
    Twice(String),
}

/// The contract
///
/// This document.
#[utoipa::path(tag = "service", responses(
    (status = 200, description = "OpenAPI 3.1", body = Object),
    (status = "default", description = "A problem", body = super::problem::Body, content_type = "application/problem+json")))]
#[get("/openapi.json")]
pub async fn read_contract(contract: Data<Contract>) -> Result<Reply, Problem> {
    Ok(Reply::ready(contract.served()))
}
