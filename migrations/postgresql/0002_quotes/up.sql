-- Customers, sites and quotes. An offer and each change order under it are tracks of revisions: change_order 0 is the
-- offer itself. Documents are stored as the bytes that were digested; moments are RFC 3339 in UTC of a fixed width,
-- so that the order of text is the order of time.

CREATE TABLE customers (
    id         TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    body       TEXT NOT NULL,
    search     TEXT NOT NULL,
    version    BIGINT NOT NULL CHECK (version >= 1),
    archived   BOOLEAN NOT NULL,
    created_at TEXT COLLATE "C" NOT NULL,
    created_by TEXT NOT NULL,
    changed_at TEXT COLLATE "C" NOT NULL,
    changed_by TEXT NOT NULL
);

CREATE TABLE sites (
    id          TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    customer_id TEXT COLLATE "C" NOT NULL REFERENCES customers (id),
    body        TEXT NOT NULL,
    search      TEXT NOT NULL,
    version     BIGINT NOT NULL CHECK (version >= 1),
    archived    BOOLEAN NOT NULL,
    created_at  TEXT COLLATE "C" NOT NULL,
    created_by  TEXT NOT NULL,
    changed_at  TEXT COLLATE "C" NOT NULL,
    changed_by  TEXT NOT NULL
);
CREATE INDEX sites_of_customer ON sites (customer_id, id);

-- The last number that was given away in a year. It is moved in the transaction that makes the quote.
CREATE TABLE quote_counters (
    year    INTEGER NOT NULL PRIMARY KEY,
    counter INTEGER NOT NULL CHECK (counter >= 1)
);

-- version moves with every write to the quote or anything under it. state and ends_at sum the offer up for lists.
CREATE TABLE quotes (
    id          TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    number      TEXT COLLATE "C" NOT NULL UNIQUE,
    year        INTEGER NOT NULL,
    counter     INTEGER NOT NULL,
    customer_id TEXT COLLATE "C" NOT NULL REFERENCES customers (id),
    site_id     TEXT COLLATE "C" NOT NULL REFERENCES sites (id),
    title       TEXT NOT NULL,
    search      TEXT NOT NULL,
    state       TEXT COLLATE "C" NOT NULL,
    ends_at     TEXT COLLATE "C",
    archived    BOOLEAN NOT NULL,
    version     BIGINT NOT NULL CHECK (version >= 1),
    created_on  TEXT COLLATE "C" NOT NULL,
    created_at  TEXT COLLATE "C" NOT NULL,
    created_by  TEXT NOT NULL,
    UNIQUE (year, counter)
);
CREATE INDEX quotes_by_state ON quotes (state, year, counter);
CREATE INDEX quotes_of_customer ON quotes (customer_id, year, counter);
CREATE INDEX quotes_of_site ON quotes (site_id);
CREATE INDEX quotes_by_end ON quotes (state, ends_at);

-- What estimates were made from: written once, found by the digest of its bytes.
CREATE TABLE snapshots (
    digest     TEXT COLLATE "C" NOT NULL PRIMARY KEY CHECK (length(digest) = 64),
    kind       TEXT NOT NULL CHECK (kind IN ('catalogue', 'policy', 'rulebook')),
    content    TEXT NOT NULL,
    created_at TEXT COLLATE "C" NOT NULL
);

-- A revision: its state, and its content while it is a draft. sources is what it is estimated from.
CREATE TABLE revisions (
    quote_id     TEXT COLLATE "C" NOT NULL REFERENCES quotes (id),
    change_order INTEGER NOT NULL CHECK (change_order >= 0),
    revision     INTEGER NOT NULL CHECK (revision >= 1),
    state        TEXT COLLATE "C" NOT NULL,
    ends_at      TEXT COLLATE "C",
    version      BIGINT NOT NULL CHECK (version >= 1),
    draft        TEXT NOT NULL,
    sources      TEXT NOT NULL,
    authors      TEXT NOT NULL,
    created_at   TEXT COLLATE "C" NOT NULL,
    created_by   TEXT NOT NULL,
    changed_at   TEXT COLLATE "C" NOT NULL,
    changed_by   TEXT NOT NULL,
    PRIMARY KEY (quote_id, change_order, revision)
);
CREATE INDEX revisions_by_end ON revisions (state, ends_at);

CREATE TABLE issued_revisions (
    quote_id     TEXT COLLATE "C" NOT NULL,
    change_order INTEGER NOT NULL,
    revision     INTEGER NOT NULL,
    document     TEXT NOT NULL,
    digest       TEXT COLLATE "C" NOT NULL UNIQUE CHECK (length(digest) = 64),
    previous     TEXT COLLATE "C",
    issued_at    TEXT COLLATE "C" NOT NULL,
    issued_by    TEXT NOT NULL,
    catalogue    TEXT COLLATE "C" NOT NULL REFERENCES snapshots (digest),
    rulebook     TEXT COLLATE "C" NOT NULL REFERENCES snapshots (digest),
    policy       TEXT COLLATE "C" NOT NULL REFERENCES snapshots (digest),
    PRIMARY KEY (quote_id, change_order, revision),
    FOREIGN KEY (quote_id, change_order, revision) REFERENCES revisions (quote_id, change_order, revision)
);
CREATE INDEX issued_revisions_of_catalogue ON issued_revisions (catalogue);
CREATE INDEX issued_revisions_of_rulebook ON issued_revisions (rulebook);
CREATE INDEX issued_revisions_of_policy ON issued_revisions (policy);

CREATE TABLE acceptances (
    quote_id     TEXT COLLATE "C" NOT NULL,
    change_order INTEGER NOT NULL,
    revision     INTEGER NOT NULL,
    document     TEXT NOT NULL,
    digest       TEXT COLLATE "C" NOT NULL UNIQUE CHECK (length(digest) = 64),
    accepted_at  TEXT COLLATE "C" NOT NULL,
    PRIMARY KEY (quote_id, change_order),
    FOREIGN KEY (quote_id, change_order, revision) REFERENCES issued_revisions (quote_id, change_order, revision)
);
CREATE INDEX acceptances_of_revision ON acceptances (quote_id, change_order, revision);

CREATE TABLE approvals (
    quote_id     TEXT COLLATE "C" NOT NULL,
    change_order INTEGER NOT NULL,
    revision     INTEGER NOT NULL,
    position     INTEGER NOT NULL,
    subject      TEXT NOT NULL CHECK (length(subject) = 64),
    given_at     TEXT COLLATE "C" NOT NULL,
    given_by     TEXT NOT NULL,
    note         TEXT,
    PRIMARY KEY (quote_id, change_order, revision, position),
    FOREIGN KEY (quote_id, change_order, revision) REFERENCES revisions (quote_id, change_order, revision)
);

CREATE TABLE transitions (
    quote_id     TEXT COLLATE "C" NOT NULL,
    position     INTEGER NOT NULL CHECK (position >= 1),
    change_order INTEGER NOT NULL,
    revision     INTEGER NOT NULL,
    event        TEXT NOT NULL,
    from_state   TEXT NOT NULL,
    to_state     TEXT NOT NULL,
    moved_at     TEXT COLLATE "C" NOT NULL,
    moved_by     TEXT NOT NULL,
    reason       TEXT,
    PRIMARY KEY (quote_id, position),
    FOREIGN KEY (quote_id, change_order, revision) REFERENCES revisions (quote_id, change_order, revision)
);
CREATE INDEX transitions_of_revision ON transitions (quote_id, change_order, revision);

-- The answer to a request that a caller may send again. It goes in the transaction of its effect.
CREATE TABLE idempotency_keys (
    id         TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    request    TEXT NOT NULL,
    answer     TEXT NOT NULL,
    created_at TEXT COLLATE "C" NOT NULL
);
CREATE INDEX idempotency_keys_by_age ON idempotency_keys (created_at);

-- What went out, was accepted, approved or decided stays as it was.
CREATE TRIGGER issued_revisions_kept BEFORE UPDATE OR DELETE ON issued_revisions
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER acceptances_kept BEFORE UPDATE OR DELETE ON acceptances
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER approvals_kept BEFORE UPDATE OR DELETE ON approvals
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER transitions_kept BEFORE UPDATE OR DELETE ON transitions
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER snapshots_kept BEFORE UPDATE OR DELETE ON snapshots
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER issued_revisions_not_emptied BEFORE TRUNCATE ON issued_revisions
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER acceptances_not_emptied BEFORE TRUNCATE ON acceptances
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER approvals_not_emptied BEFORE TRUNCATE ON approvals
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER transitions_not_emptied BEFORE TRUNCATE ON transitions
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER snapshots_not_emptied BEFORE TRUNCATE ON snapshots
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER quotes_not_emptied BEFORE TRUNCATE ON quotes
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER revisions_not_emptied BEFORE TRUNCATE ON revisions
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER quote_counters_not_emptied BEFORE TRUNCATE ON quote_counters
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();

-- A number that was given away stays with its quote; a quote is archived, never deleted.
CREATE TRIGGER quotes_kept BEFORE DELETE ON quotes
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER quotes_numbers_kept BEFORE UPDATE ON quotes FOR EACH ROW
    WHEN (NEW.id <> OLD.id OR NEW.number <> OLD.number OR NEW.year <> OLD.year OR NEW.counter <> OLD.counter)
    EXECUTE FUNCTION kept_row();
CREATE TRIGGER quote_counters_kept BEFORE DELETE ON quote_counters
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER quote_counters_one_on BEFORE UPDATE ON quote_counters FOR EACH ROW
    WHEN (NEW.year <> OLD.year OR NEW.counter <> OLD.counter + 1)
    EXECUTE FUNCTION kept_row();

-- Once a revision is no draft any more, only its state moves, and only while it is issued.
CREATE TRIGGER revisions_kept BEFORE DELETE ON revisions
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER revisions_content_kept BEFORE UPDATE ON revisions FOR EACH ROW
    WHEN (OLD.state <> 'draft' AND (NEW.quote_id <> OLD.quote_id
    OR NEW.change_order <> OLD.change_order
    OR NEW.revision <> OLD.revision
    OR NEW.draft <> OLD.draft
    OR NEW.sources <> OLD.sources
    OR NEW.authors <> OLD.authors
    OR NEW.created_at <> OLD.created_at
    OR NEW.created_by <> OLD.created_by
    OR NEW.ends_at IS DISTINCT FROM OLD.ends_at))
    EXECUTE FUNCTION kept_row();
CREATE TRIGGER revisions_state_kept BEFORE UPDATE ON revisions FOR EACH ROW
    WHEN (NEW.state <> OLD.state AND NOT (OLD.state = 'issued' OR OLD.state = 'draft' AND NEW.state = 'issued')
    OR OLD.state = 'issued' AND NEW.state = 'draft')
    EXECUTE FUNCTION kept_row();
