-- Supplier price lists: how they are read, which have been applied, and what each of their rows did. Policies get the
-- first day of each version; the versions that are there hold from the first day that can be written.

ALTER TABLE policies ADD COLUMN valid_from DATE NOT NULL DEFAULT '0001-01-01';

CREATE TABLE price_list_mappings (
    id         TEXT COLLATE "C" NOT NULL,
    version    INTEGER NOT NULL CHECK (version >= 1),
    body       TEXT NOT NULL,
    created_at TEXT NOT NULL,
    PRIMARY KEY (id, version)
);

CREATE TABLE price_lists (
    number          INTEGER NOT NULL PRIMARY KEY CHECK (number >= 1),
    supplier        TEXT NOT NULL,
    source          TEXT NOT NULL,
    valid_from      DATE NOT NULL,
    mapping_id      TEXT COLLATE "C",
    mapping_version INTEGER,
    takes_back      INTEGER REFERENCES price_lists (number),
    digest          TEXT CHECK (length(digest) = 64),
    body            TEXT NOT NULL,
    created_at      TEXT NOT NULL,
    FOREIGN KEY (mapping_id, mapping_version) REFERENCES price_list_mappings (id, version),
    CHECK ((mapping_id IS NULL) = (mapping_version IS NULL)),
    CHECK ((mapping_id IS NULL) <> (takes_back IS NULL))
);
CREATE INDEX price_lists_by_mapping ON price_lists (mapping_id, mapping_version);
CREATE INDEX price_lists_by_takes_back ON price_lists (takes_back);

-- `replaced` is the price that held on that day before; none where there was none.
CREATE TABLE price_list_rows (
    price_list INTEGER NOT NULL REFERENCES price_lists (number),
    position   INTEGER NOT NULL,
    kind       TEXT NOT NULL,
    item_code  TEXT COLLATE "C" NOT NULL,
    pack_size  TEXT COLLATE "C" NOT NULL,
    valid_from DATE NOT NULL,
    amount     TEXT NOT NULL,
    replaced   TEXT,
    PRIMARY KEY (price_list, position)
);

CREATE TRIGGER price_list_mappings_kept BEFORE UPDATE OR DELETE ON price_list_mappings
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER price_lists_kept BEFORE UPDATE OR DELETE ON price_lists
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER price_list_rows_kept BEFORE UPDATE OR DELETE ON price_list_rows
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER price_list_mappings_not_emptied BEFORE TRUNCATE ON price_list_mappings
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER price_lists_not_emptied BEFORE TRUNCATE ON price_lists
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER price_list_rows_not_emptied BEFORE TRUNCATE ON price_list_rows
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
