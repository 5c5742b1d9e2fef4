DROP TABLE accounting_settings;
DROP TABLE accounting_refusals;
DROP TABLE accounting_receipts;
DROP TABLE accounting_feed;
DROP TABLE accounting_feed_end;
