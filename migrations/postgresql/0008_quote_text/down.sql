DROP INDEX IF EXISTS quotes_by_text;
