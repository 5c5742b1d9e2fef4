-- The key of a row that is kept is not moved either, even while its content may still change.
CREATE TRIGGER rulebooks_key_kept BEFORE UPDATE ON rulebooks FOR EACH ROW
    WHEN (NEW.id <> OLD.id OR NEW.version <> OLD.version)
    EXECUTE FUNCTION kept_row();
CREATE TRIGGER revisions_key_kept BEFORE UPDATE ON revisions FOR EACH ROW
    WHEN (NEW.quote_id <> OLD.quote_id OR NEW.change_order <> OLD.change_order OR NEW.revision <> OLD.revision)
    EXECUTE FUNCTION kept_row();
CREATE TRIGGER accounting_feed_end_key_kept BEFORE UPDATE ON accounting_feed_end FOR EACH ROW
    WHEN (NEW.id <> OLD.id)
    EXECUTE FUNCTION kept_row();

-- What an entry of the audit wrote: table, key and SHA-256 of each row, as JSON. `after` is the digest of this text, so it
-- stands in the chain. Entries from before have none.
ALTER TABLE audit_entries ADD COLUMN written TEXT;

-- The texts of customers and sites by their trigrams, where the server can, as those of quotes.
DO $$
BEGIN
    CREATE EXTENSION IF NOT EXISTS pg_trgm;
    CREATE INDEX customers_by_text ON customers USING gin (search gin_trgm_ops);
    CREATE INDEX sites_by_text ON sites USING gin (search gin_trgm_ops);
EXCEPTION
    WHEN insufficient_privilege OR undefined_file OR undefined_object OR feature_not_supported THEN
        RAISE WARNING 'no index for the text of customers and sites: %', SQLERRM;
END
$$;
