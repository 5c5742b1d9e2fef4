-- What the office knows: one company, what it buys, who works for it, its rules and its policy.
-- Bodies are JSON as text, byte for byte as written; decimals are text, since a NUMERIC column is a float here.

CREATE TABLE catalogue_state (
    id       INTEGER NOT NULL PRIMARY KEY CHECK (id = 1),
    revision INTEGER NOT NULL CHECK (revision >= 0),
    seed     TEXT
) STRICT;
INSERT INTO catalogue_state (id, revision, seed) VALUES (1, 0, NULL);

CREATE TABLE company (
    id   INTEGER NOT NULL PRIMARY KEY CHECK (id = 1),
    body TEXT NOT NULL
) STRICT;

CREATE TABLE items (
    code     TEXT NOT NULL PRIMARY KEY,
    position INTEGER NOT NULL,
    body     TEXT NOT NULL
) STRICT;

CREATE TABLE item_prices (
    item_code  TEXT NOT NULL REFERENCES items (code),
    pack_size  TEXT NOT NULL,
    valid_from TEXT NOT NULL CHECK (valid_from GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    amount     TEXT NOT NULL,
    source     TEXT NOT NULL,
    PRIMARY KEY (item_code, pack_size, valid_from)
) STRICT;

CREATE TABLE labour_classes (
    code     TEXT NOT NULL PRIMARY KEY,
    position INTEGER NOT NULL,
    body     TEXT NOT NULL
) STRICT;

CREATE TABLE labour_rates (
    labour_class TEXT NOT NULL REFERENCES labour_classes (code),
    valid_from   TEXT NOT NULL CHECK (valid_from GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    body         TEXT NOT NULL,
    PRIMARY KEY (labour_class, valid_from)
) STRICT;

CREATE TABLE equipment (
    class    TEXT NOT NULL PRIMARY KEY,
    position INTEGER NOT NULL,
    body     TEXT NOT NULL
) STRICT;

CREATE TABLE policies (
    id         TEXT NOT NULL,
    version    INTEGER NOT NULL CHECK (version >= 1),
    body       TEXT NOT NULL,
    created_at TEXT NOT NULL,
    PRIMARY KEY (id, version)
) STRICT;

CREATE TABLE rulebooks (
    id         TEXT NOT NULL,
    version    INTEGER NOT NULL CHECK (version >= 1),
    state      TEXT NOT NULL CHECK (state IN ('draft', 'published')),
    text       TEXT NOT NULL,
    digest     TEXT NOT NULL CHECK (length(digest) = 64),
    created_at TEXT NOT NULL,
    PRIMARY KEY (id, version)
) STRICT;

-- What has been used to price a job stays as it was: a change is a new row.
CREATE TRIGGER item_prices_kept_on_update BEFORE UPDATE ON item_prices
BEGIN SELECT RAISE(ABORT, 'a price row is never changed'); END;
CREATE TRIGGER item_prices_kept_on_delete BEFORE DELETE ON item_prices
BEGIN SELECT RAISE(ABORT, 'a price row is never deleted'); END;
CREATE TRIGGER labour_rates_kept_on_update BEFORE UPDATE ON labour_rates
BEGIN SELECT RAISE(ABORT, 'a labour rate is never changed'); END;
CREATE TRIGGER labour_rates_kept_on_delete BEFORE DELETE ON labour_rates
BEGIN SELECT RAISE(ABORT, 'a labour rate is never deleted'); END;
CREATE TRIGGER policies_kept_on_update BEFORE UPDATE ON policies
BEGIN SELECT RAISE(ABORT, 'a policy version is never changed'); END;
CREATE TRIGGER policies_kept_on_delete BEFORE DELETE ON policies
BEGIN SELECT RAISE(ABORT, 'a policy version is never deleted'); END;
CREATE TRIGGER rulebooks_kept_on_update BEFORE UPDATE ON rulebooks WHEN OLD.state = 'published'
BEGIN SELECT RAISE(ABORT, 'a published rulebook is never changed'); END;
CREATE TRIGGER rulebooks_kept_on_delete BEFORE DELETE ON rulebooks WHEN OLD.state = 'published'
BEGIN SELECT RAISE(ABORT, 'a published rulebook is never deleted'); END;
