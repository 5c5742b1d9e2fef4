-- Customers, sites and quotes. An offer and each change order under it are tracks of revisions: change_order 0 is the
-- offer itself. Documents are stored as the bytes that were digested; moments are RFC 3339 in UTC of a fixed width,
-- so that the order of text is the order of time.

CREATE TABLE customers (
    id         TEXT NOT NULL PRIMARY KEY,
    body       TEXT NOT NULL,
    search     TEXT NOT NULL,
    version    INTEGER NOT NULL CHECK (version >= 1),
    archived   INTEGER NOT NULL CHECK (archived IN (0, 1)),
    created_at TEXT NOT NULL,
    created_by TEXT NOT NULL,
    changed_at TEXT NOT NULL,
    changed_by TEXT NOT NULL
) STRICT;

CREATE TABLE sites (
    id          TEXT NOT NULL PRIMARY KEY,
    customer_id TEXT NOT NULL REFERENCES customers (id),
    body        TEXT NOT NULL,
    search      TEXT NOT NULL,
    version     INTEGER NOT NULL CHECK (version >= 1),
    archived    INTEGER NOT NULL CHECK (archived IN (0, 1)),
    created_at  TEXT NOT NULL,
    created_by  TEXT NOT NULL,
    changed_at  TEXT NOT NULL,
    changed_by  TEXT NOT NULL
) STRICT;
CREATE INDEX sites_of_customer ON sites (customer_id, id);

-- The last number that was given away in a year. It is moved in the transaction that makes the quote.
CREATE TABLE quote_counters (
    year    INTEGER NOT NULL PRIMARY KEY,
    counter INTEGER NOT NULL CHECK (counter >= 1)
) STRICT;

-- version moves with every write to the quote or anything under it. state and ends_at sum the offer up for lists.
CREATE TABLE quotes (
    id          TEXT NOT NULL PRIMARY KEY,
    number      TEXT NOT NULL UNIQUE,
    year        INTEGER NOT NULL,
    counter     INTEGER NOT NULL,
    customer_id TEXT NOT NULL REFERENCES customers (id),
    site_id     TEXT NOT NULL REFERENCES sites (id),
    title       TEXT NOT NULL,
    search      TEXT NOT NULL,
    state       TEXT NOT NULL,
    ends_at     TEXT,
    archived    INTEGER NOT NULL CHECK (archived IN (0, 1)),
    version     INTEGER NOT NULL CHECK (version >= 1),
    created_on  TEXT NOT NULL,
    created_at  TEXT NOT NULL,
    created_by  TEXT NOT NULL,
    UNIQUE (year, counter)
) STRICT;
CREATE INDEX quotes_by_state ON quotes (state, year, counter);
CREATE INDEX quotes_of_customer ON quotes (customer_id, year, counter);
CREATE INDEX quotes_of_site ON quotes (site_id);
CREATE INDEX quotes_by_end ON quotes (state, ends_at);

-- What estimates were made from: written once, found by the digest of its bytes.
CREATE TABLE snapshots (
    digest     TEXT NOT NULL PRIMARY KEY CHECK (length(digest) = 64),
    kind       TEXT NOT NULL CHECK (kind IN ('catalogue', 'policy', 'rulebook')),
    content    TEXT NOT NULL,
    created_at TEXT NOT NULL
) STRICT;

-- A revision: its state, and its content while it is a draft. sources is what it is estimated from.
CREATE TABLE revisions (
    quote_id     TEXT NOT NULL REFERENCES quotes (id),
    change_order INTEGER NOT NULL CHECK (change_order >= 0),
    revision     INTEGER NOT NULL CHECK (revision >= 1),
    state        TEXT NOT NULL,
    ends_at      TEXT,
    version      INTEGER NOT NULL CHECK (version >= 1),
    draft        TEXT NOT NULL,
    sources      TEXT NOT NULL,
    authors      TEXT NOT NULL,
    created_at   TEXT NOT NULL,
    created_by   TEXT NOT NULL,
    changed_at   TEXT NOT NULL,
    changed_by   TEXT NOT NULL,
    PRIMARY KEY (quote_id, change_order, revision)
) STRICT;
CREATE INDEX revisions_by_end ON revisions (state, ends_at);

CREATE TABLE issued_revisions (
    quote_id     TEXT NOT NULL,
    change_order INTEGER NOT NULL,
    revision     INTEGER NOT NULL,
    document     TEXT NOT NULL,
    digest       TEXT NOT NULL UNIQUE CHECK (length(digest) = 64),
    previous     TEXT,
    issued_at    TEXT NOT NULL,
    issued_by    TEXT NOT NULL,
    catalogue    TEXT NOT NULL REFERENCES snapshots (digest),
    rulebook     TEXT NOT NULL REFERENCES snapshots (digest),
    policy       TEXT NOT NULL REFERENCES snapshots (digest),
    PRIMARY KEY (quote_id, change_order, revision),
    FOREIGN KEY (quote_id, change_order, revision) REFERENCES revisions (quote_id, change_order, revision)
) STRICT;
CREATE INDEX issued_revisions_of_catalogue ON issued_revisions (catalogue);
CREATE INDEX issued_revisions_of_rulebook ON issued_revisions (rulebook);
CREATE INDEX issued_revisions_of_policy ON issued_revisions (policy);

CREATE TABLE acceptances (
    quote_id     TEXT NOT NULL,
    change_order INTEGER NOT NULL,
    revision     INTEGER NOT NULL,
    document     TEXT NOT NULL,
    digest       TEXT NOT NULL UNIQUE CHECK (length(digest) = 64),
    accepted_at  TEXT NOT NULL,
    PRIMARY KEY (quote_id, change_order),
    FOREIGN KEY (quote_id, change_order, revision) REFERENCES issued_revisions (quote_id, change_order, revision)
) STRICT;
CREATE INDEX acceptances_of_revision ON acceptances (quote_id, change_order, revision);

CREATE TABLE approvals (
    quote_id     TEXT NOT NULL,
    change_order INTEGER NOT NULL,
    revision     INTEGER NOT NULL,
    position     INTEGER NOT NULL,
    subject      TEXT NOT NULL CHECK (length(subject) = 64),
    given_at     TEXT NOT NULL,
    given_by     TEXT NOT NULL,
    note         TEXT,
    PRIMARY KEY (quote_id, change_order, revision, position),
    FOREIGN KEY (quote_id, change_order, revision) REFERENCES revisions (quote_id, change_order, revision)
) STRICT;

CREATE TABLE transitions (
    quote_id     TEXT NOT NULL,
    position     INTEGER NOT NULL CHECK (position >= 1),
    change_order INTEGER NOT NULL,
    revision     INTEGER NOT NULL,
    event        TEXT NOT NULL,
    from_state   TEXT NOT NULL,
    to_state     TEXT NOT NULL,
    moved_at     TEXT NOT NULL,
    moved_by     TEXT NOT NULL,
    reason       TEXT,
    PRIMARY KEY (quote_id, position),
    FOREIGN KEY (quote_id, change_order, revision) REFERENCES revisions (quote_id, change_order, revision)
) STRICT;
CREATE INDEX transitions_of_revision ON transitions (quote_id, change_order, revision);

-- The answer to a request that a caller may send again. It goes in the transaction of its effect.
CREATE TABLE idempotency_keys (
    id         TEXT NOT NULL PRIMARY KEY,
    request    TEXT NOT NULL,
    answer     TEXT NOT NULL,
    created_at TEXT NOT NULL
) STRICT;
CREATE INDEX idempotency_keys_by_age ON idempotency_keys (created_at);

-- What went out, was accepted, approved or decided stays as it was.
CREATE TRIGGER issued_revisions_kept_on_update BEFORE UPDATE ON issued_revisions
BEGIN SELECT RAISE(ABORT, 'an issued revision is never changed'); END;
CREATE TRIGGER issued_revisions_kept_on_delete BEFORE DELETE ON issued_revisions
BEGIN SELECT RAISE(ABORT, 'an issued revision is never deleted'); END;
CREATE TRIGGER acceptances_kept_on_update BEFORE UPDATE ON acceptances
BEGIN SELECT RAISE(ABORT, 'an acceptance is never changed'); END;
CREATE TRIGGER acceptances_kept_on_delete BEFORE DELETE ON acceptances
BEGIN SELECT RAISE(ABORT, 'an acceptance is never deleted'); END;
CREATE TRIGGER approvals_kept_on_update BEFORE UPDATE ON approvals
BEGIN SELECT RAISE(ABORT, 'an approval is never changed'); END;
CREATE TRIGGER approvals_kept_on_delete BEFORE DELETE ON approvals
BEGIN SELECT RAISE(ABORT, 'an approval is never deleted'); END;
CREATE TRIGGER transitions_kept_on_update BEFORE UPDATE ON transitions
BEGIN SELECT RAISE(ABORT, 'a transition is never changed'); END;
CREATE TRIGGER transitions_kept_on_delete BEFORE DELETE ON transitions
BEGIN SELECT RAISE(ABORT, 'a transition is never deleted'); END;
CREATE TRIGGER snapshots_kept_on_update BEFORE UPDATE ON snapshots
BEGIN SELECT RAISE(ABORT, 'a snapshot is never changed'); END;
CREATE TRIGGER snapshots_kept_on_delete BEFORE DELETE ON snapshots
BEGIN SELECT RAISE(ABORT, 'a snapshot is never deleted'); END;

-- A number that was given away stays with its quote; a quote is archived, never deleted.
CREATE TRIGGER quotes_kept_on_delete BEFORE DELETE ON quotes
BEGIN SELECT RAISE(ABORT, 'a quote is never deleted'); END;
CREATE TRIGGER quotes_numbers_kept BEFORE UPDATE ON quotes
    WHEN NEW.id <> OLD.id OR NEW.number <> OLD.number OR NEW.year <> OLD.year OR NEW.counter <> OLD.counter
BEGIN SELECT RAISE(ABORT, 'the number of a quote is never changed'); END;
CREATE TRIGGER quote_counters_kept_on_delete BEFORE DELETE ON quote_counters
BEGIN SELECT RAISE(ABORT, 'a counter is never deleted'); END;
CREATE TRIGGER quote_counters_one_on BEFORE UPDATE ON quote_counters
    WHEN NEW.year <> OLD.year OR NEW.counter <> OLD.counter + 1
BEGIN SELECT RAISE(ABORT, 'a counter never moves but by one'); END;

-- Once a revision is no draft any more, only its state moves, and only while it is issued.
CREATE TRIGGER revisions_kept_on_delete BEFORE DELETE ON revisions
BEGIN SELECT RAISE(ABORT, 'a revision is never deleted'); END;
CREATE TRIGGER revisions_content_kept BEFORE UPDATE ON revisions
    WHEN OLD.state <> 'draft' AND (NEW.quote_id <> OLD.quote_id
    OR NEW.change_order <> OLD.change_order
    OR NEW.revision <> OLD.revision
    OR NEW.draft <> OLD.draft
    OR NEW.sources <> OLD.sources
    OR NEW.authors <> OLD.authors
    OR NEW.created_at <> OLD.created_at
    OR NEW.created_by <> OLD.created_by
    OR NEW.ends_at IS NOT OLD.ends_at)
BEGIN SELECT RAISE(ABORT, 'an issued revision is never changed'); END;
CREATE TRIGGER revisions_state_kept BEFORE UPDATE ON revisions
    WHEN NEW.state <> OLD.state AND NOT (OLD.state = 'issued' OR OLD.state = 'draft' AND NEW.state = 'issued')
BEGIN SELECT RAISE(ABORT, 'this state is never left in this way'); END;
CREATE TRIGGER revisions_back_to_draft BEFORE UPDATE ON revisions WHEN OLD.state = 'issued' AND NEW.state = 'draft'
BEGIN SELECT RAISE(ABORT, 'an issued revision is never a draft again'); END;
