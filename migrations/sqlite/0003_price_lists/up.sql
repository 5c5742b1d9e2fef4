-- Supplier price lists: how they are read, which have been applied, and what each of their rows did. Policies get the
-- first day of each version; the versions that are there hold from the first day that can be written.

ALTER TABLE policies ADD COLUMN valid_from TEXT NOT NULL DEFAULT '0001-01-01'
    CHECK (valid_from GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]');

CREATE TABLE price_list_mappings (
    id         TEXT NOT NULL,
    version    INTEGER NOT NULL CHECK (version >= 1),
    body       TEXT NOT NULL,
    created_at TEXT NOT NULL,
    PRIMARY KEY (id, version)
) STRICT;

CREATE TABLE price_lists (
    number          INTEGER NOT NULL PRIMARY KEY CHECK (number >= 1),
    supplier        TEXT NOT NULL,
    source          TEXT NOT NULL,
    valid_from      TEXT NOT NULL CHECK (valid_from GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    mapping_id      TEXT,
    mapping_version INTEGER,
    takes_back      INTEGER REFERENCES price_lists (number),
    digest          TEXT CHECK (length(digest) = 64),
    body            TEXT NOT NULL,
    created_at      TEXT NOT NULL,
    FOREIGN KEY (mapping_id, mapping_version) REFERENCES price_list_mappings (id, version),
    CHECK ((mapping_id IS NULL) = (mapping_version IS NULL)),
    CHECK ((mapping_id IS NULL) <> (takes_back IS NULL))
) STRICT;
CREATE INDEX price_lists_by_mapping ON price_lists (mapping_id, mapping_version);
CREATE INDEX price_lists_by_takes_back ON price_lists (takes_back);

-- `replaced` is the price that held on that day before; none where there was none.
CREATE TABLE price_list_rows (
    price_list INTEGER NOT NULL REFERENCES price_lists (number),
    position   INTEGER NOT NULL,
    kind       TEXT NOT NULL,
    item_code  TEXT NOT NULL,
    pack_size  TEXT NOT NULL,
    valid_from TEXT NOT NULL CHECK (valid_from GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    amount     TEXT NOT NULL,
    replaced   TEXT,
    PRIMARY KEY (price_list, position)
) STRICT;

CREATE TRIGGER price_list_mappings_kept_on_update BEFORE UPDATE ON price_list_mappings
BEGIN SELECT RAISE(ABORT, 'a mapping version is never changed'); END;
CREATE TRIGGER price_list_mappings_kept_on_delete BEFORE DELETE ON price_list_mappings
BEGIN SELECT RAISE(ABORT, 'a mapping version is never deleted'); END;
CREATE TRIGGER price_lists_kept_on_update BEFORE UPDATE ON price_lists
BEGIN SELECT RAISE(ABORT, 'an applied price list is never changed'); END;
CREATE TRIGGER price_lists_kept_on_delete BEFORE DELETE ON price_lists
BEGIN SELECT RAISE(ABORT, 'an applied price list is never deleted'); END;
CREATE TRIGGER price_list_rows_kept_on_update BEFORE UPDATE ON price_list_rows
BEGIN SELECT RAISE(ABORT, 'a row of a price list is never changed'); END;
CREATE TRIGGER price_list_rows_kept_on_delete BEFORE DELETE ON price_list_rows
BEGIN SELECT RAISE(ABORT, 'a row of a price list is never deleted'); END;
