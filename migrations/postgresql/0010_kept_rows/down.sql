DROP INDEX IF EXISTS sites_by_text;
DROP INDEX IF EXISTS customers_by_text;
ALTER TABLE audit_entries DROP COLUMN written;
DROP TRIGGER accounting_feed_end_key_kept ON accounting_feed_end;
DROP TRIGGER revisions_key_kept ON revisions;
DROP TRIGGER rulebooks_key_kept ON rulebooks;
