//! Hand-off to accounting: the feed, the ledger's receipts, and what the ledger calls things.

pub(super) mod feed;
pub(super) mod receipts;
mod settings;

pub use feed::{FeedFilter, FeedPage, FeedRow, HappeningRow, TitledRow};
pub use receipts::{PutReceipt, ReceiptRow};
pub use settings::SettingsRow;
