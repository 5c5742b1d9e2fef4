-- Hand-off to accounting: a feed of what happened to offers, the ledger's receipts, and its accounts. What happened
-- before this step gets its rows in the order of time.

-- The position of the feed's newest row. Whoever adds a row moves it in the same transaction, as its last write: the row
-- stays locked to the commit, so that positions have no gap and their order is the order of commits.
CREATE TABLE accounting_feed_end (
    id       INTEGER NOT NULL PRIMARY KEY CHECK (id = 1),
    position INTEGER NOT NULL CHECK (position >= 0)
) STRICT;

-- Every move of an offer or a change order, with what it comes to in minor units; of a change order, what it moves.
-- estimator is who issued it.
CREATE TABLE accounting_feed (
    position     INTEGER NOT NULL PRIMARY KEY CHECK (position >= 1),
    quote_id     TEXT NOT NULL,
    transition   INTEGER NOT NULL,
    change_order INTEGER NOT NULL,
    revision     INTEGER NOT NULL,
    state        TEXT NOT NULL,
    at           TEXT NOT NULL,
    estimator    TEXT NOT NULL,
    currency     TEXT NOT NULL,
    net          INTEGER NOT NULL,
    tax          INTEGER NOT NULL,
    total        INTEGER NOT NULL CHECK (total = net + tax),
    UNIQUE (quote_id, transition),
    FOREIGN KEY (quote_id, transition) REFERENCES transitions (quote_id, position)
) STRICT;
CREATE INDEX accounting_feed_by_state ON accounting_feed (state, position);
CREATE INDEX accounting_feed_of_revision ON accounting_feed (quote_id, change_order, revision, state);
CREATE INDEX accounting_feed_by_time ON accounting_feed (at);

-- The ledger's word that it has an acceptance: one for each, never changed.
CREATE TABLE accounting_receipts (
    quote_id     TEXT NOT NULL,
    change_order INTEGER NOT NULL,
    reference    TEXT NOT NULL,
    currency     TEXT NOT NULL,
    total        INTEGER NOT NULL,
    received_at  TEXT NOT NULL,
    received_by  TEXT NOT NULL,
    PRIMARY KEY (quote_id, change_order),
    FOREIGN KEY (quote_id, change_order) REFERENCES acceptances (quote_id, change_order)
) STRICT;

-- Receipts that were refused: each different one once.
CREATE TABLE accounting_refusals (
    quote_id     TEXT NOT NULL,
    change_order INTEGER NOT NULL,
    reference    TEXT NOT NULL,
    currency     TEXT NOT NULL,
    total        INTEGER NOT NULL,
    refused_at   TEXT NOT NULL,
    sent_by      TEXT NOT NULL,
    PRIMARY KEY (quote_id, change_order, reference, currency, total),
    FOREIGN KEY (quote_id, change_order) REFERENCES acceptances (quote_id, change_order)
) STRICT;

-- Versions of what the company's ledger calls things: accounts, registration, days for a receipt.
CREATE TABLE accounting_settings (
    version    INTEGER NOT NULL PRIMARY KEY CHECK (version >= 1),
    body       TEXT NOT NULL,
    created_at TEXT NOT NULL,
    created_by TEXT NOT NULL
) STRICT;

INSERT INTO accounting_feed (position, quote_id, transition, change_order, revision, state, at, estimator, currency, net, tax, total)
SELECT row_number() OVER (ORDER BY at, quote_id, transition), quote_id, transition, change_order, revision, state, at,
    estimator, currency, net, total - net, total
FROM (
    SELECT t.quote_id, t.position AS transition, t.change_order, t.revision, t.to_state AS state, t.moved_at AS at,
        i.issued_by AS estimator,
        json_extract(i.document, '$.estimate.currency') AS currency,
        CAST(replace(json_extract(coalesce(a.document, i.document), '$.estimate.totals.net.amount'), '.', '') AS INTEGER)
            - coalesce(CAST(replace(json_extract(i.document, '$.change.net_before.amount'), '.', '') AS INTEGER), 0) AS net,
        CAST(replace(json_extract(coalesce(a.document, i.document), '$.estimate.totals.total.amount'), '.', '') AS INTEGER)
            - coalesce(CAST(replace(json_extract(i.document, '$.change.total_before.amount'), '.', '') AS INTEGER), 0) AS total
    FROM transitions t
    JOIN issued_revisions i ON i.quote_id = t.quote_id AND i.change_order = t.change_order AND i.revision = t.revision
    LEFT JOIN acceptances a ON a.quote_id = t.quote_id AND a.change_order = t.change_order AND t.to_state = 'accepted'
) AS moves;
INSERT INTO accounting_feed_end (id, position) SELECT 1, count(*) FROM accounting_feed;

CREATE TRIGGER accounting_feed_kept_on_update BEFORE UPDATE ON accounting_feed
BEGIN SELECT RAISE(ABORT, 'what happened is never changed'); END;
CREATE TRIGGER accounting_feed_kept_on_delete BEFORE DELETE ON accounting_feed
BEGIN SELECT RAISE(ABORT, 'what happened is never deleted'); END;
CREATE TRIGGER accounting_receipts_kept_on_update BEFORE UPDATE ON accounting_receipts
BEGIN SELECT RAISE(ABORT, 'a receipt is never changed'); END;
CREATE TRIGGER accounting_receipts_kept_on_delete BEFORE DELETE ON accounting_receipts
BEGIN SELECT RAISE(ABORT, 'a receipt is never deleted'); END;
CREATE TRIGGER accounting_refusals_kept_on_update BEFORE UPDATE ON accounting_refusals
BEGIN SELECT RAISE(ABORT, 'a refusal is never changed'); END;
CREATE TRIGGER accounting_refusals_kept_on_delete BEFORE DELETE ON accounting_refusals
BEGIN SELECT RAISE(ABORT, 'a refusal is never deleted'); END;
CREATE TRIGGER accounting_settings_kept_on_update BEFORE UPDATE ON accounting_settings
BEGIN SELECT RAISE(ABORT, 'a version of the settings is never changed'); END;
CREATE TRIGGER accounting_settings_kept_on_delete BEFORE DELETE ON accounting_settings
BEGIN SELECT RAISE(ABORT, 'a version of the settings is never deleted'); END;
CREATE TRIGGER accounting_feed_end_kept_on_delete BEFORE DELETE ON accounting_feed_end
BEGIN SELECT RAISE(ABORT, 'the end of the feed is never deleted'); END;
CREATE TRIGGER accounting_feed_end_forward BEFORE UPDATE ON accounting_feed_end WHEN NEW.position < OLD.position
BEGIN SELECT RAISE(ABORT, 'the feed never goes back'); END;
