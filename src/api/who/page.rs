//! The table as a page that a person reads.

use super::table::{ROWS, Who};
use super::view::View;
use crate::desk::access::Role;

const HEAD: &str = "\
# Who may do what

This page is written by the program from its table of operations; `UPDATE=1 cargo test --test service access` writes it
anew. Everybody else is answered 401 without a key, 403 with one of another role. `part` is what the role `field` sees:
no cost, no margin, no wage, no supplier's price.

";

/// The page, in Markdown.
pub fn page() -> String {
    let mut text = HEAD.to_owned();
    let mut put = |cells: Vec<&str>| {
        text.push_str("| ");
        text.push_str(&cells.join(" | "));
        text.push_str(" |\n");
    };
    let roles = Role::ALL.map(Role::word);
    put(["operation", "address"].into_iter().chain(roles).collect());
    put(vec!["---"; roles.len() + 2]);
    for row in ROWS {
        let address = format!("`{} {}`", row.method, row.path);
        let cell = |role: Role| match (row.who, row.admits(role)) {
            (Who::Everybody, _) => "without a key",
            (_, false) => "",
            _ if row.writes => "writes",
            _ if role == Role::Field && matches!(row.view, View::Part(_)) => "part",
            _ => "reads",
        };
        put([row.operation, &address]
            .into_iter()
            .chain(Role::ALL.map(cell))
            .collect());
    }
    text
}
