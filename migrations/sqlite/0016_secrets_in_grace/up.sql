-- Every secret of a key that still has its grace, beside the one before the last rotation: a list in JSON of digest and end.
ALTER TABLE access_keys ADD COLUMN earlier TEXT;
