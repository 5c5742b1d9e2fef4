//! Surveys, whole or not.

diesel::table! {
    /// Surveys, whole or not.
    surveys (id) {
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
