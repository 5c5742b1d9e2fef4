//! The tables, equal on both engines.

mod access;
mod ledger;
mod survey;

pub use access::{access_keys, audit_entries, audit_head};
pub use ledger::{accounting_references, accounting_settings};
pub use survey::surveys;

diesel::table! {
    /// One row: the number that every write moves, and what was loaded as seed data.
    catalogue_state (id) {
        id -> Integer,
        revision -> BigInt,
        seed -> Nullable<Text>,
    }
}

diesel::table! {
    /// One row.
    company (id) {
        id -> Integer,
        body -> Text,
    }
}

diesel::table! {
    /// Items without their prices.
    items (code) {
        code -> Text,
        position -> Integer,
        body -> Text,
    }
}

diesel::table! {
    /// Dated prices of packs; never changed.
    item_prices (item_code, pack_size, valid_from) {
        item_code -> Text,
        pack_size -> Text,
        valid_from -> Date,
        amount -> Text,
        source -> Text,
    }
}

diesel::table! {
    /// Labour classes without their rates.
    labour_classes (code) {
        code -> Text,
        position -> Integer,
        body -> Text,
    }
}

diesel::table! {
    /// Dated rates; never changed.
    labour_rates (labour_class, valid_from) {
        labour_class -> Text,
        valid_from -> Date,
        body -> Text,
    }
}

diesel::table! {
    /// Cooling equipment by class.
    equipment (class) {
        class -> Text,
        position -> Integer,
        body -> Text,
    }
}

diesel::table! {
    /// Versions of policies; never changed.
    policies (id, version) {
        id -> Text,
        version -> Integer,
        body -> Text,
        created_at -> Text,
        valid_from -> Date,
    }
}

diesel::table! {
    /// How papers look, in versions; never changed.
    house_styles (id, version) {
        id -> Text,
        version -> Integer,
        body -> Text,
        created_at -> Text,
    }
}

diesel::table! {
    /// How suppliers' price lists are read, in versions; never changed.
    price_list_mappings (id, version) {
        id -> Text,
        version -> Integer,
        body -> Text,
        created_at -> Text,
    }
}

diesel::table! {
    /// Price lists that were applied; never changed.
    price_lists (number) {
        number -> Integer,
        supplier -> Text,
        source -> Text,
        valid_from -> Date,
        mapping_id -> Nullable<Text>,
        mapping_version -> Nullable<Integer>,
        takes_back -> Nullable<Integer>,
        digest -> Nullable<Text>,
        body -> Text,
        created_at -> Text,
    }
}

diesel::table! {
    /// What each row of an applied list did; never changed.
    price_list_rows (price_list, position) {
        price_list -> Integer,
        position -> Integer,
        kind -> Text,
        item_code -> Text,
        pack_size -> Text,
        valid_from -> Date,
        amount -> Text,
        replaced -> Nullable<Text>,
    }
}

diesel::table! {
    /// Versions of rulebooks; a published one is never changed.
    rulebooks (id, version) {
        id -> Text,
        version -> Integer,
        state -> Text,
        text -> Text,
        digest -> Text,
        created_at -> Text,
    }
}

diesel::table! {
    /// Which version of a rulebook is current from which day on; never changed.
    rulebook_calendar (rulebook, position) {
        rulebook -> Text,
        position -> Integer,
        version -> Integer,
        current_from -> Date,
        entered_at -> Text,
        entered_by -> Text,
    }
}

diesel::table! {
    /// Versions of rulebooks that are not offered any more; never changed.
    rulebook_retirements (rulebook, version) {
        rulebook -> Text,
        version -> Integer,
        reason -> Text,
        retired_at -> Text,
        retired_by -> Text,
    }
}

diesel::table! {
    /// Drafts of rulebooks.
    rulebook_drafts (id) {
        id -> Text,
        rulebook -> Text,
        base_version -> Integer,
        text -> Text,
        edit -> BigInt,
        created_at -> Text,
        created_by -> Text,
        changed_at -> Text,
        changed_by -> Text,
    }
}

diesel::table! {
    /// Customers; `search` is what a list is searched in.
    customers (id) {
        id -> Text,
        body -> Text,
        search -> Text,
        version -> BigInt,
        archived -> Bool,
        created_at -> Text,
        created_by -> Text,
        changed_at -> Text,
        changed_by -> Text,
    }
}

diesel::table! {
    /// Sites of customers.
    sites (id) {
        id -> Text,
        customer_id -> Text,
        body -> Text,
        search -> Text,
        version -> BigInt,
        archived -> Bool,
        created_at -> Text,
        created_by -> Text,
        changed_at -> Text,
        changed_by -> Text,
    }
}

diesel::table! {
    /// The last number that was given away in a year.
    quote_counters (year) {
        year -> Integer,
        counter -> Integer,
    }
}

diesel::table! {
    /// Quotes, with what lists show of the offer.
    quotes (id) {
        id -> Text,
        number -> Text,
        year -> Integer,
        counter -> Integer,
        customer_id -> Text,
        site_id -> Text,
        title -> Text,
        search -> Text,
        state -> Text,
        ends_at -> Nullable<Text>,
        archived -> Bool,
        version -> BigInt,
        created_on -> Text,
        created_at -> Text,
        created_by -> Text,
        survey_id -> Nullable<Text>,
    }
}

diesel::table! {
    /// What estimates were made from, by digest; never changed.
    snapshots (digest) {
        digest -> Text,
        kind -> Text,
        content -> Text,
        created_at -> Text,
        parts -> Text,
    }
}

diesel::table! {
    /// Parts of long snapshots; never changed.
    snapshot_parts (digest) {
        digest -> Text,
        content -> Text,
    }
}

diesel::table! {
    /// Revisions of offers (`change_order` 0) and change orders.
    revisions (quote_id, change_order, revision) {
        quote_id -> Text,
        change_order -> Integer,
        revision -> Integer,
        state -> Text,
        ends_at -> Nullable<Text>,
        version -> BigInt,
        draft -> Text,
        sources -> Text,
        authors -> Text,
        created_at -> Text,
        created_by -> Text,
        changed_at -> Text,
        changed_by -> Text,
    }
}

diesel::table! {
    /// Documents of issued revisions; never changed.
    issued_revisions (quote_id, change_order, revision) {
        quote_id -> Text,
        change_order -> Integer,
        revision -> Integer,
        document -> Text,
        digest -> Text,
        previous -> Nullable<Text>,
        issued_at -> Text,
        issued_by -> Text,
        catalogue -> Text,
        rulebook -> Text,
        policy -> Text,
    }
}

diesel::table! {
    /// Documents of acceptances; never changed.
    acceptances (quote_id, change_order) {
        quote_id -> Text,
        change_order -> Integer,
        revision -> Integer,
        document -> Text,
        digest -> Text,
        accepted_at -> Text,
    }
}

diesel::table! {
    /// Approvals of drafts; never changed.
    approvals (quote_id, change_order, revision, position) {
        quote_id -> Text,
        change_order -> Integer,
        revision -> Integer,
        position -> Integer,
        subject -> Text,
        given_at -> Text,
        given_by -> Text,
        note -> Nullable<Text>,
    }
}

diesel::table! {
    /// Moves of revisions; never changed.
    transitions (quote_id, position) {
        quote_id -> Text,
        position -> Integer,
        change_order -> Integer,
        revision -> Integer,
        event -> Text,
        from_state -> Text,
        to_state -> Text,
        moved_at -> Text,
        moved_by -> Text,
        reason -> Nullable<Text>,
    }
}

diesel::table! {
    /// Answers to requests that may be sent again.
    idempotency_keys (id) {
        id -> Text,
        request -> Text,
        answer -> Text,
        created_at -> Text,
    }
}

diesel::table! {
    /// One row: the position of the feed's newest row.
    accounting_feed_end (id) {
        id -> Integer,
        position -> BigInt,
    }
}

diesel::table! {
    /// Every move of an offer or a change order, in the order of commits; never changed.
    accounting_feed (position) {
        position -> BigInt,
        quote_id -> Text,
        transition -> Integer,
        change_order -> Integer,
        revision -> Integer,
        state -> Text,
        at -> Text,
        estimator -> Text,
        currency -> Text,
        net -> BigInt,
        tax -> BigInt,
        total -> BigInt,
    }
}

diesel::table! {
    /// The ledger's word that it has an acceptance; never changed.
    accounting_receipts (quote_id, change_order) {
        quote_id -> Text,
        change_order -> Integer,
        reference -> Text,
        currency -> Text,
        total -> BigInt,
        received_at -> Text,
        received_by -> Text,
    }
}

diesel::table! {
    /// Receipts that were refused; never changed.
    accounting_refusals (quote_id, change_order, reference, currency, total) {
        quote_id -> Text,
        change_order -> Integer,
        reference -> Text,
        currency -> Text,
        total -> BigInt,
        refused_at -> Text,
        sent_by -> Text,
    }
}

diesel::allow_tables_to_appear_in_same_query!(
    accounting_feed,
    accounting_receipts,
    accounting_references,
    accounting_refusals,
    quotes,
);

diesel::allow_tables_to_appear_in_same_query!(item_prices, price_list_rows);
