//! What is known of the company's ledger: its references, and what it calls things.

diesel::table! {
    /// Which acceptance a reference of the ledger is of; never changed.
    accounting_references (reference) {
        reference -> Text,
        quote_id -> Text,
        change_order -> Integer,
    }
}

diesel::table! {
    /// Versions of what the company's ledger calls things; never changed.
    accounting_settings (version) {
        version -> Integer,
        body -> Text,
        created_at -> Text,
        created_by -> Text,
    }
}
