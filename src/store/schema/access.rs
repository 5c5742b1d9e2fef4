//! Who may come in, and what was written by whom.

diesel::table! {
    /// Access keys; of a secret only its digest.
    access_keys (id) {
        id -> Text,
        person -> Text,
        role -> Text,
        shared -> Bool,
        digest -> Text,
        expires_at -> Text,
        previous_digest -> Nullable<Text>,
        previous_until -> Nullable<Text>,
        created_at -> Text,
        created_by -> Text,
        revoked_at -> Nullable<Text>,
        revoked_by -> Nullable<Text>,
        earlier -> Nullable<Text>,
    }
}

diesel::table! {
    /// Who wrote what; never changed.
    audit_entries (sequence) {
        sequence -> BigInt,
        written_at -> Text,
        person -> Text,
        role -> Text,
        key_id -> Nullable<Text>,
        operation -> Text,
        subject -> Text,
        before -> Nullable<Text>,
        after -> Nullable<Text>,
        request_id -> Nullable<Text>,
        previous -> Text,
        digest -> Text,
        written -> Nullable<Text>,
    }
}

diesel::table! {
    /// One row: the newest audit entry.
    audit_head (id) {
        id -> Integer,
        sequence -> BigInt,
        digest -> Text,
    }
}
