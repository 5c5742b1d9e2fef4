//! The tables, equal on both engines.

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
