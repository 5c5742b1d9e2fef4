DROP TRIGGER quotes_text_on_update;
DROP TRIGGER quotes_text_on_insert;
DROP TABLE quote_texts;
