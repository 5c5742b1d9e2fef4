-- What the office knows: one company, what it buys, who works for it, its rules and its policy.
-- Bodies are JSON as text, byte for byte as written (jsonb would reorder them); decimals are canonical text.

CREATE TABLE catalogue_state (
    id       INTEGER NOT NULL PRIMARY KEY CHECK (id = 1),
    revision BIGINT NOT NULL CHECK (revision >= 0),
    seed     TEXT
);
INSERT INTO catalogue_state (id, revision, seed) VALUES (1, 0, NULL);

CREATE TABLE company (
    id   INTEGER NOT NULL PRIMARY KEY CHECK (id = 1),
    body TEXT NOT NULL
);

CREATE TABLE items (
    code     TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    position INTEGER NOT NULL,
    body     TEXT NOT NULL
);

CREATE TABLE item_prices (
    item_code  TEXT COLLATE "C" NOT NULL REFERENCES items (code),
    pack_size  TEXT COLLATE "C" NOT NULL,
    valid_from DATE NOT NULL,
    amount     TEXT NOT NULL,
    source     TEXT NOT NULL,
    PRIMARY KEY (item_code, pack_size, valid_from)
);

CREATE TABLE labour_classes (
    code     TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    position INTEGER NOT NULL,
    body     TEXT NOT NULL
);

CREATE TABLE labour_rates (
    labour_class TEXT COLLATE "C" NOT NULL REFERENCES labour_classes (code),
    valid_from   DATE NOT NULL,
    body         TEXT NOT NULL,
    PRIMARY KEY (labour_class, valid_from)
);

CREATE TABLE equipment (
    class    TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    position INTEGER NOT NULL,
    body     TEXT NOT NULL
);

CREATE TABLE policies (
    id         TEXT COLLATE "C" NOT NULL,
    version    INTEGER NOT NULL CHECK (version >= 1),
    body       TEXT NOT NULL,
    created_at TEXT NOT NULL,
    PRIMARY KEY (id, version)
);

CREATE TABLE rulebooks (
    id         TEXT COLLATE "C" NOT NULL,
    version    INTEGER NOT NULL CHECK (version >= 1),
    state      TEXT NOT NULL CHECK (state IN ('draft', 'published')),
    text       TEXT NOT NULL,
    digest     TEXT NOT NULL CHECK (length(digest) = 64),
    created_at TEXT NOT NULL,
    PRIMARY KEY (id, version)
);

-- What has been used to price a job stays as it was: a change is a new row.
CREATE FUNCTION kept_row() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'a row of % is never changed or deleted', TG_TABLE_NAME USING ERRCODE = 'integrity_constraint_violation';
END;
$$;
CREATE TRIGGER item_prices_kept BEFORE UPDATE OR DELETE ON item_prices
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER labour_rates_kept BEFORE UPDATE OR DELETE ON labour_rates
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER policies_kept BEFORE UPDATE OR DELETE ON policies
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER rulebooks_kept BEFORE UPDATE OR DELETE ON rulebooks
    FOR EACH ROW WHEN (OLD.state = 'published') EXECUTE FUNCTION kept_row();
CREATE TRIGGER item_prices_not_emptied BEFORE TRUNCATE ON item_prices
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER labour_rates_not_emptied BEFORE TRUNCATE ON labour_rates
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER policies_not_emptied BEFORE TRUNCATE ON policies
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER rulebooks_not_emptied BEFORE TRUNCATE ON rulebooks
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
