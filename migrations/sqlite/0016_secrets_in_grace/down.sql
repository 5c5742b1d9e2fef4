ALTER TABLE access_keys DROP COLUMN earlier;
