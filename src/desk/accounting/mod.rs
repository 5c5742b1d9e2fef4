//! Hand-off to accounting: the feed, what was accepted in the formats that a ledger reads, and its receipts.

mod feed;
mod hand_over;
mod receipt;
mod reconcile;
mod settings;
mod verify;

pub use feed::{FeedEntry, FeedQuery, FeedTold};
pub use hand_over::Format;
pub use receipt::{Receipt, ReceiptTold};
pub use settings::SettingsVersion;
