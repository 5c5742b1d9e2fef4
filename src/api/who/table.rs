//! Who may do what: one row an operation. The door reads it at every request, and so do the contract, the page
//! `docs/who-may-do-what.md` and the tests. An operation without a row keeps the service from starting.
//!
//! Each role has what its work needs and no more. What shows cost, margin or wages as they are is closed to the field;
//! what the field may ask after shows it through a view.

use super::view::{self, View};
use crate::desk::access::Role;
use crate::desk::access::Role::{Accounting, Auditor, Estimator, Field, Owner, RuleKeeper};

/// An operation, and who may do it.
#[derive(Debug, Clone, Copy)]
pub struct Row {
    /// The HTTP method.
    pub method: &'static str,
    /// The address, with its parameters in braces.
    pub path: &'static str,
    /// The name of the operation in the contract.
    pub operation: &'static str,
    /// Who may; nobody in particular where everybody may without a key.
    pub who: Who,
    /// Whether it writes, so that somebody has to answer for it.
    pub writes: bool,
    /// What the field may send.
    pub takes: View,
    /// What the field sees of the answer.
    pub view: View,
}

/// Who may do an operation.
#[derive(Debug, Clone, Copy)]
pub enum Who {
    /// Everybody, without a key.
    Everybody,
    /// These roles.
    Roles(&'static [Role]),
}

impl Row {
    /// Whether `role` may do it.
    pub fn admits(&self, role: Role) -> bool {
        match self.who {
            Who::Everybody => true,
            Who::Roles(roles) => roles.contains(&role),
        }
    }

    /// Whether it is counted how often somebody asks. What watches over the service is answered however often it does.
    pub fn is_counted(&self) -> bool {
        !matches!(self.operation, "healthz" | "readyz")
    }

    /// The words of the roles that may do it.
    pub fn roles(&self) -> Vec<&'static str> {
        match self.who {
            Who::Everybody => Vec::new(),
            Who::Roles(roles) => roles.iter().map(|role| role.word()).collect(),
        }
    }
}

/// Everybody who comes in.
const ANYBODY: &[Role] = &[Estimator, RuleKeeper, Accounting, Field, Owner, Auditor];
/// Who prices jobs.
const PRICING: &[Role] = &[Estimator, RuleKeeper, Owner];
/// Who prices jobs, and who surveys them.
const SURVEYING: &[Role] = &[Estimator, RuleKeeper, Field, Owner];
/// Who reads rules and catalogue.
const RULES: &[Role] = &[Estimator, RuleKeeper, Owner, Auditor];
/// Who changes rules and catalogue.
const KEEPING: &[Role] = &[RuleKeeper, Owner];
/// Who reads how suppliers' lists were taken.
const LISTS: &[Role] = &[RuleKeeper, Owner, Auditor];
/// Who reads quotes as they are. The rule keeper reads none, and no papers of them: rules are tried on worked examples and on
/// jobs, and how papers look is seen with `tallyrule price JOB --style FILE`.
const READING: &[Role] = &[Estimator, Accounting, Owner, Auditor];
/// Who reads quotes, cost apart.
const SEEING: &[Role] = &[Estimator, Accounting, Field, Owner, Auditor];
/// Who begins quotes.
const BEGINNING: &[Role] = &[Estimator, Field, Owner];
/// Who takes over what was accepted.
const LEDGER: &[Role] = &[Accounting, Owner];
/// Who reads that.
const LEDGER_READING: &[Role] = &[Accounting, Owner, Auditor];
/// Who makes offers.
const OFFERING: &[Role] = &[Estimator, Owner];
/// Who decides on margins, and on who comes in.
const OWNING: &[Role] = &[Owner];
/// Who looks on.
const WATCHING: &[Role] = &[Owner, Auditor];

const fn reads(
    who: &'static [Role],
    method: &'static str,
    path: &'static str,
    operation: &'static str,
) -> Row {
    Row {
        method,
        path,
        operation,
        who: Who::Roles(who),
        writes: false,
        takes: View::Whole,
        view: View::Whole,
    }
}

const fn writes(
    who: &'static [Role],
    method: &'static str,
    path: &'static str,
    operation: &'static str,
) -> Row {
    Row {
        writes: true,
        ..reads(who, method, path, operation)
    }
}

const fn open(path: &'static str, operation: &'static str) -> Row {
    Row {
        who: Who::Everybody,
        ..reads(&[], "GET", path, operation)
    }
}

impl Row {
    const fn seen_as(self, view: View) -> Self {
        Self { view, ..self }
    }

    const fn taken_as(self, takes: View) -> Self {
        Self { takes, ..self }
    }
}

/// Every operation, a line each.
#[rustfmt::skip]
pub const ROWS: &[Row] = &[
    open("/healthz", "healthz"),
    open("/readyz", "readyz"),
    open("/openapi.json", "read_contract"),
    open("/problems/{name}", "read_problem_kind"),
    reads(WATCHING, "GET", "/metrics", "read_metrics"),
    reads(SURVEYING, "POST", "/v1/estimates", "create_estimate").taken_as(view::REQUEST).seen_as(view::ESTIMATE),
    reads(SURVEYING, "POST", "/v1/sizing-reports", "create_sizing_report").taken_as(view::REQUEST),
    reads(RULES, "GET", "/v1/facts", "list_facts"),
    reads(ANYBODY, "GET", "/v1/job-spec-form", "read_form"),
    reads(RULES, "GET", "/v1/rulebooks", "list_rulebooks"),
    reads(PRICING, "POST", "/v1/rulebooks/check", "check_rulebook"),
    reads(RULES, "GET", "/v1/rulebooks/{id}", "read_rulebook"),
    writes(KEEPING, "PUT", "/v1/rulebooks/{id}", "edit_rulebook"),
    reads(RULES, "GET", "/v1/items", "list_items"),
    reads(RULES, "GET", "/v1/items/{code}", "read_item"),
    reads(RULES, "GET", "/v1/items/{code}/prices", "read_item_prices"),
    writes(KEEPING, "POST", "/v1/items/{code}/prices", "add_price"),
    reads(ANYBODY, "GET", "/v1/equipment", "list_equipment"),
    reads(ANYBODY, "GET", "/v1/equipment/{class}", "read_equipment"),
    reads(RULES, "GET", "/v1/labour-classes", "list_labour_classes"),
    writes(KEEPING, "POST", "/v1/labour-classes", "add_labour_class"),
    reads(RULES, "GET", "/v1/labour-classes/{code}", "read_labour_class"),
    writes(KEEPING, "POST", "/v1/labour-classes/{code}/rates", "add_labour_rate"),
    reads(RULES, "GET", "/v1/policies", "list_policies"),
    writes(OWNING, "POST", "/v1/policies", "create_policy"),
    reads(RULES, "GET", "/v1/policies/{id}", "read_policy"),
    reads(RULES, "GET", "/v1/policies/{id}/versions", "list_policy_versions"),
    writes(OWNING, "POST", "/v1/policies/{id}/versions", "edit_policy"),
    reads(LISTS, "GET", "/v1/price-list-mappings", "list_price_list_mappings"),
    writes(KEEPING, "POST", "/v1/price-list-mappings", "create_price_list_mapping"),
    reads(LISTS, "GET", "/v1/price-list-mappings/{id}", "read_price_list_mapping"),
    writes(KEEPING, "PUT", "/v1/price-list-mappings/{id}", "edit_price_list_mapping"),
    reads(LISTS, "GET", "/v1/price-lists", "list_price_lists"),
    writes(KEEPING, "POST", "/v1/price-lists", "take_price_list"),
    reads(LISTS, "GET", "/v1/price-lists/{number}", "read_price_list"),
    reads(LISTS, "GET", "/v1/price-lists/{number}/differences", "list_price_list_differences"),
    writes(KEEPING, "POST", "/v1/price-lists/{number}/take-back", "take_price_list_back"),
    reads(SEEING, "GET", "/v1/customers", "list_customers"),
    writes(BEGINNING, "POST", "/v1/customers", "create_customer"),
    reads(SEEING, "GET", "/v1/customers/{id}", "read_customer"),
    writes(OFFERING, "PUT", "/v1/customers/{id}", "change_customer"),
    writes(OFFERING, "POST", "/v1/customers/{id}/archive", "archive_customer"),
    reads(SEEING, "GET", "/v1/sites", "list_sites"),
    writes(BEGINNING, "POST", "/v1/sites", "create_site"),
    reads(SEEING, "GET", "/v1/sites/{id}", "read_site"),
    writes(OFFERING, "PUT", "/v1/sites/{id}", "change_site"),
    writes(OFFERING, "POST", "/v1/sites/{id}/archive", "archive_site"),
    reads(SEEING, "GET", "/v1/surveys", "list_surveys"),
    writes(BEGINNING, "POST", "/v1/surveys", "create_survey"),
    reads(SEEING, "GET", "/v1/surveys/{id}", "read_survey"),
    writes(BEGINNING, "PUT", "/v1/surveys/{id}", "change_survey"),
    writes(BEGINNING, "POST", "/v1/surveys/{id}/archive", "archive_survey"),
    reads(READING, "GET", "/v1/company/quote-numbers", "read_quote_numbers"),
    writes(OWNING, "PUT", "/v1/company/quote-numbers", "set_quote_numbers"),
    writes(BEGINNING, "POST", "/v1/quotes", "create_quote").taken_as(view::NEW_QUOTE),
    reads(SEEING, "GET", "/v1/quotes", "list_quotes"),
    reads(SEEING, "GET", "/v1/quotes/{id}", "read_quote"),
    writes(OFFERING, "POST", "/v1/quotes/{id}/archive", "archive_quote"),
    reads(READING, "GET", "/v1/quotes/{id}/transitions", "list_transitions"),
    writes(OFFERING, "POST", "/v1/quotes/{id}/revisions", "create_revision"),
    reads(SEEING, "GET", "/v1/quotes/{id}/revisions/{revision}", "read_revision").seen_as(view::REVISION),
    writes(OFFERING, "PUT", "/v1/quotes/{id}/revisions/{revision}", "edit_draft"),
    reads(SEEING, "GET", "/v1/quotes/{id}/revisions/{revision}/estimate", "read_revision_estimate").seen_as(view::REVISION_ESTIMATE),
    reads(READING, "GET", "/v1/quotes/{id}/revisions/{revision}/document", "read_document"),
    reads(READING, "GET", "/v1/quotes/{id}/revisions/{revision}/comparison", "compare_revisions"),
    writes(OFFERING, "POST", "/v1/quotes/{id}/revisions/{revision}/refresh", "refresh_draft"),
    writes(OFFERING, "POST", "/v1/quotes/{id}/approvals", "approve_draft"),
    writes(OFFERING, "POST", "/v1/quotes/{id}/issue", "issue"),
    writes(OFFERING, "POST", "/v1/quotes/{id}/accept", "accept"),
    writes(OFFERING, "POST", "/v1/quotes/{id}/decline", "decline"),
    writes(OFFERING, "POST", "/v1/quotes/{id}/withdraw", "withdraw"),
    writes(OFFERING, "POST", "/v1/quotes/{id}/change-orders", "create_change_order"),
    writes(OFFERING, "POST", "/v1/quotes/{id}/change-orders/{order}/revisions", "create_revision_of_change_order"),
    reads(READING, "GET", "/v1/quotes/{id}/change-orders/{order}/revisions/{revision}", "read_revision_of_change_order"),
    writes(OFFERING, "PUT", "/v1/quotes/{id}/change-orders/{order}/revisions/{revision}", "edit_draft_of_change_order"),
    reads(READING, "GET", "/v1/quotes/{id}/change-orders/{order}/revisions/{revision}/estimate", "read_revision_estimate_of_change_order"),
    reads(READING, "GET", "/v1/quotes/{id}/change-orders/{order}/revisions/{revision}/document", "read_document_of_change_order"),
    reads(READING, "GET", "/v1/quotes/{id}/change-orders/{order}/revisions/{revision}/comparison", "compare_revisions_of_change_order"),
    writes(OFFERING, "POST", "/v1/quotes/{id}/change-orders/{order}/approvals", "approve_draft_of_change_order"),
    writes(OFFERING, "POST", "/v1/quotes/{id}/change-orders/{order}/issue", "issue_of_change_order"),
    writes(OFFERING, "POST", "/v1/quotes/{id}/change-orders/{order}/accept", "accept_of_change_order"),
    writes(OFFERING, "POST", "/v1/quotes/{id}/change-orders/{order}/decline", "decline_of_change_order"),
    writes(OFFERING, "POST", "/v1/quotes/{id}/change-orders/{order}/withdraw", "withdraw_of_change_order"),
    reads(PRICING, "POST", "/v1/estimates/sweeps", "create_sweep"),
    reads(PRICING, "POST", "/v1/price-curves", "draw_price_curve"),
    reads(LISTS, "GET", "/v1/rulebook-drafts", "list_rulebook_drafts"),
    writes(KEEPING, "POST", "/v1/rulebook-drafts", "create_rulebook_draft"),
    reads(LISTS, "GET", "/v1/rulebook-drafts/{draft}", "read_rulebook_draft"),
    writes(KEEPING, "PUT", "/v1/rulebook-drafts/{draft}", "replace_rulebook_draft"),
    writes(KEEPING, "DELETE", "/v1/rulebook-drafts/{draft}", "discard_rulebook_draft"),
    reads(LISTS, "GET", "/v1/rulebook-drafts/{draft}/comparison", "compare_rulebook_draft"),
    reads(LISTS, "GET", "/v1/rulebook-drafts/{draft}/examples", "try_rulebook_draft"),
    writes(KEEPING, "POST", "/v1/rulebook-drafts/{draft}/examples", "take_example_figures"),
    reads(LISTS, "GET", "/v1/rulebook-drafts/{draft}/findings", "check_rulebook_draft"),
    writes(KEEPING, "POST", "/v1/rulebook-drafts/{draft}/format", "format_rulebook_draft"),
    reads(KEEPING, "POST", "/v1/rulebook-drafts/{draft}/impact", "try_rulebook_draft_on_job"),
    reads(LISTS, "GET", "/v1/rulebook-drafts/{draft}/parts", "list_rulebook_parts"),
    reads(LISTS, "GET", "/v1/rulebook-drafts/{draft}/parts/{kind}/{name}", "read_rulebook_part"),
    writes(KEEPING, "PUT", "/v1/rulebook-drafts/{draft}/parts/{kind}/{name}", "put_rulebook_part"),
    writes(KEEPING, "DELETE", "/v1/rulebook-drafts/{draft}/parts/{kind}/{name}", "remove_rulebook_part"),
    writes(KEEPING, "POST", "/v1/rulebook-drafts/{draft}/publish", "publish_rulebook_draft"),
    writes(KEEPING, "POST", "/v1/rulebooks/{id}/calendar", "make_rulebook_current"),
    reads(RULES, "GET", "/v1/rulebooks/{id}/versions", "list_rulebook_versions"),
    reads(RULES, "GET", "/v1/rulebooks/{id}/versions/{version}", "read_rulebook_version"),
    reads(RULES, "GET", "/v1/rulebooks/{id}/versions/{version}/comparison", "compare_rulebook_versions"),
    reads(LISTS, "GET", "/v1/rulebooks/{id}/versions/{version}/examples", "try_rulebook_version"),
    reads(PRICING, "POST", "/v1/rulebooks/{id}/versions/{version}/impact", "try_rulebook_version_on_job"),
    writes(KEEPING, "POST", "/v1/rulebooks/{id}/versions/{version}/retire", "retire_rulebook"),
    reads(READING, "GET", "/v1/quotes/{id}/revisions/{revision}/proposal", "read_proposal"),
    reads(SEEING, "GET", "/v1/quotes/{id}/revisions/{revision}/job-sheet", "read_job_sheet"),
    reads(SEEING, "GET", "/v1/quotes/{id}/revisions/{revision}/drawing", "read_drawing"),
    reads(READING, "GET", "/v1/quotes/{id}/revisions/{revision}/purchase-list", "read_purchase_list"),
    reads(READING, "GET", "/v1/quotes/{id}/change-orders/{order}/revisions/{revision}/proposal", "read_proposal_of_change_order"),
    reads(SEEING, "GET", "/v1/quotes/{id}/change-orders/{order}/revisions/{revision}/job-sheet", "read_job_sheet_of_change_order"),
    reads(SEEING, "GET", "/v1/quotes/{id}/change-orders/{order}/revisions/{revision}/drawing", "read_drawing_of_change_order"),
    reads(READING, "GET", "/v1/quotes/{id}/change-orders/{order}/revisions/{revision}/purchase-list", "read_purchase_list_of_change_order"),
    reads(READING, "POST", "/v1/purchase-lists", "merge_purchase_lists"),
    reads(READING, "GET", "/v1/quotes/{id}/revisions/{revision}/cost-breakdown", "read_cost_breakdown"),
    reads(SEEING, "GET", "/v1/quotes/{id}/revisions/{revision}/cellar-load", "read_cellar_load"),
    reads(RULES, "GET", "/v1/house-styles", "list_house_styles"),
    reads(RULES, "GET", "/v1/house-styles/{id}", "read_house_style"),
    writes(KEEPING, "PUT", "/v1/house-styles/{id}", "edit_house_style"),
    reads(LEDGER_READING, "GET", "/v1/accounting/quotes", "list_accounting_quotes"),
    reads(LEDGER_READING, "GET", "/v1/accounting/without-receipt", "list_without_receipt"),
    reads(LEDGER_READING, "GET", "/v1/accounting/reconciliation", "read_reconciliation"),
    reads(LEDGER_READING, "GET", "/v1/accounting/quotes/{number}", "read_accounting_quote"),
    reads(LEDGER_READING, "GET", "/v1/accounting/quotes/{number}/journal", "read_journal"),
    reads(LEDGER_READING, "GET", "/v1/accounting/quotes/{number}/invoices", "list_invoices"),
    reads(LEDGER_READING, "GET", "/v1/accounting/quotes/{number}/invoices/{instalment}", "read_invoice"),
    writes(LEDGER, "PUT", "/v1/accounting/quotes/{number}/receipt", "put_receipt"),
    reads(LEDGER_READING, "GET", "/v1/accounting/quotes/{number}/receipt", "read_receipt"),
    reads(LEDGER_READING, "GET", "/v1/accounting/settings", "read_accounting_settings"),
    writes(LEDGER, "PUT", "/v1/accounting/settings", "edit_accounting_settings"),
    reads(WATCHING, "GET", "/v1/access-keys", "list_access_keys"),
    writes(OWNING, "POST", "/v1/access-keys", "create_access_key"),
    reads(WATCHING, "GET", "/v1/access-keys/{id}", "read_access_key"),
    writes(OWNING, "POST", "/v1/access-keys/{id}/rotate", "rotate_access_key"),
    writes(OWNING, "POST", "/v1/access-keys/{id}/revoke", "revoke_access_key"),
    reads(WATCHING, "GET", "/v1/audit-entries", "list_audit_entries"),
];

/// The row of a request; none where no operation has this address and method. An address matches as it is written:
/// with another spelling of the same, percent-encoded perhaps, nobody comes in.
pub fn row_of(method: &str, path: &str) -> Option<&'static Row> {
    ROWS.iter()
        .find(|row| row.method == method && fits(row.path, path))
}

/// Whether an address is one of a template.
pub fn fits(template: &str, path: &str) -> bool {
    let (mut wanted, mut given) = (template.split('/'), path.split('/'));
    loop {
        match (wanted.next(), given.next()) {
            (None, None) => return true,
            (Some(part), Some(text)) if part == text || (part.starts_with('{') && !text.is_empty()) => {}
            _ => return false,
        }
    }
}
