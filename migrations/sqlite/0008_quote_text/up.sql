-- The text of quotes by its trigrams, so that a rare word is found without reading every quote. Only the index is kept,
-- not the text. Its key is the quote's number in one: year and counter.

CREATE VIRTUAL TABLE quote_texts USING fts5 (
    search, content = '', contentless_delete = 1, tokenize = 'trigram', detail = 'none'
);
INSERT INTO quote_texts (rowid, search) SELECT year * 10000000000 + counter, search FROM quotes;

CREATE TRIGGER quotes_text_on_insert AFTER INSERT ON quotes
BEGIN INSERT INTO quote_texts (rowid, search) VALUES (NEW.year * 10000000000 + NEW.counter, NEW.search); END;
CREATE TRIGGER quotes_text_on_update AFTER UPDATE OF search ON quotes WHEN NEW.search <> OLD.search
BEGIN INSERT OR REPLACE INTO quote_texts (rowid, search) VALUES (NEW.year * 10000000000 + NEW.counter, NEW.search); END;
