-- Hand-off to accounting: a feed of what happened to offers, the ledger's receipts, and its accounts. What happened
-- before this step gets its rows in the order of time.

-- The position of the feed's newest row. Whoever adds a row moves it in the same transaction, as its last write: the row
-- stays locked to the commit, so that positions have no gap and their order is the order of commits.
CREATE TABLE accounting_feed_end (
    id       INTEGER NOT NULL PRIMARY KEY CHECK (id = 1),
    position BIGINT NOT NULL CHECK (position >= 0)
);

-- Every move of an offer or a change order, with what it comes to in minor units; of a change order, what it moves.
-- estimator is who issued it.
CREATE TABLE accounting_feed (
    position     BIGINT NOT NULL PRIMARY KEY CHECK (position >= 1),
    quote_id     TEXT COLLATE "C" NOT NULL,
    transition   INTEGER NOT NULL,
    change_order INTEGER NOT NULL,
    revision     INTEGER NOT NULL,
    state        TEXT NOT NULL,
    at           TEXT COLLATE "C" NOT NULL,
    estimator    TEXT NOT NULL,
    currency     TEXT NOT NULL,
    net          BIGINT NOT NULL,
    tax          BIGINT NOT NULL,
    total        BIGINT NOT NULL CHECK (total = net + tax),
    UNIQUE (quote_id, transition),
    FOREIGN KEY (quote_id, transition) REFERENCES transitions (quote_id, position)
);
CREATE INDEX accounting_feed_by_state ON accounting_feed (state, position);
CREATE INDEX accounting_feed_of_revision ON accounting_feed (quote_id, change_order, revision, state);
CREATE INDEX accounting_feed_by_time ON accounting_feed (at);

-- The ledger's word that it has an acceptance: one for each, never changed.
CREATE TABLE accounting_receipts (
    quote_id     TEXT COLLATE "C" NOT NULL,
    change_order INTEGER NOT NULL,
    reference    TEXT NOT NULL,
    currency     TEXT NOT NULL,
    total        BIGINT NOT NULL,
    received_at  TEXT COLLATE "C" NOT NULL,
    received_by  TEXT NOT NULL,
    PRIMARY KEY (quote_id, change_order),
    FOREIGN KEY (quote_id, change_order) REFERENCES acceptances (quote_id, change_order)
);

-- Receipts that were refused: each different one once.
CREATE TABLE accounting_refusals (
    quote_id     TEXT COLLATE "C" NOT NULL,
    change_order INTEGER NOT NULL,
    reference    TEXT COLLATE "C" NOT NULL,
    currency     TEXT NOT NULL,
    total        BIGINT NOT NULL,
    refused_at   TEXT COLLATE "C" NOT NULL,
    sent_by      TEXT NOT NULL,
    PRIMARY KEY (quote_id, change_order, reference, currency, total),
    FOREIGN KEY (quote_id, change_order) REFERENCES acceptances (quote_id, change_order)
);

-- Versions of what the company's ledger calls things: accounts, registration, days for a receipt.
CREATE TABLE accounting_settings (
    version    INTEGER NOT NULL PRIMARY KEY CHECK (version >= 1),
    body       TEXT NOT NULL,
    created_at TEXT NOT NULL,
    created_by TEXT NOT NULL
);

INSERT INTO accounting_feed (position, quote_id, transition, change_order, revision, state, at, estimator, currency, net, tax, total)
SELECT row_number() OVER (ORDER BY at, quote_id, transition), quote_id, transition, change_order, revision, state, at,
    estimator, currency, net, total - net, total
FROM (
    SELECT t.quote_id, t.position AS transition, t.change_order, t.revision, t.to_state AS state, t.moved_at AS at,
        i.issued_by AS estimator,
        CAST(i.document AS json) #>> '{estimate,currency}' AS currency,
        CAST(replace(CAST(coalesce(a.document, i.document) AS json) #>> '{estimate,totals,net,amount}', '.', '') AS BIGINT)
            - coalesce(CAST(replace(CAST(i.document AS json) #>> '{change,net_before,amount}', '.', '') AS BIGINT), 0) AS net,
        CAST(replace(CAST(coalesce(a.document, i.document) AS json) #>> '{estimate,totals,total,amount}', '.', '') AS BIGINT)
            - coalesce(CAST(replace(CAST(i.document AS json) #>> '{change,total_before,amount}', '.', '') AS BIGINT), 0) AS total
    FROM transitions t
    JOIN issued_revisions i ON i.quote_id = t.quote_id AND i.change_order = t.change_order AND i.revision = t.revision
    LEFT JOIN acceptances a ON a.quote_id = t.quote_id AND a.change_order = t.change_order AND t.to_state = 'accepted'
) AS moves;
INSERT INTO accounting_feed_end (id, position) SELECT 1, count(*) FROM accounting_feed;

CREATE TRIGGER accounting_feed_kept BEFORE UPDATE OR DELETE ON accounting_feed
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER accounting_feed_not_emptied BEFORE TRUNCATE ON accounting_feed
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER accounting_receipts_kept BEFORE UPDATE OR DELETE ON accounting_receipts
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER accounting_receipts_not_emptied BEFORE TRUNCATE ON accounting_receipts
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER accounting_refusals_kept BEFORE UPDATE OR DELETE ON accounting_refusals
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER accounting_refusals_not_emptied BEFORE TRUNCATE ON accounting_refusals
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER accounting_settings_kept BEFORE UPDATE OR DELETE ON accounting_settings
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER accounting_settings_not_emptied BEFORE TRUNCATE ON accounting_settings
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER accounting_feed_end_kept BEFORE DELETE ON accounting_feed_end
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER accounting_feed_end_not_emptied BEFORE TRUNCATE ON accounting_feed_end
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER accounting_feed_end_forward BEFORE UPDATE ON accounting_feed_end FOR EACH ROW
    WHEN (NEW.position < OLD.position) EXECUTE FUNCTION kept_row();
