-- The text of quotes by its trigrams, so that a rare word is found without reading every quote. A server without the
-- extension, or one that does not let this user add it, goes on without the index: the same is found, later.

DO $$
BEGIN
    CREATE EXTENSION IF NOT EXISTS pg_trgm;
    CREATE INDEX quotes_by_text ON quotes USING gin (search gin_trgm_ops);
EXCEPTION
    WHEN insufficient_privilege OR undefined_file OR undefined_object OR feature_not_supported THEN
        RAISE WARNING 'no index for the text of quotes: %', SQLERRM;
END
$$;
