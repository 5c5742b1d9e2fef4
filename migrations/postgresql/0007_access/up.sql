-- Who may come in, and what was written by whom.

-- A key is known by its id; of its secret only the SHA-256 is kept. After a rotation the secret before holds until
-- previous_until.
CREATE TABLE access_keys (
    id              TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    person          TEXT NOT NULL,
    role            TEXT NOT NULL
        CHECK (role IN ('estimator', 'rule_keeper', 'accounting', 'field', 'owner', 'auditor')),
    shared          BOOLEAN NOT NULL,
    digest          TEXT NOT NULL CHECK (length(digest) = 64),
    expires_at      TEXT COLLATE "C" NOT NULL,
    previous_digest TEXT CHECK (length(previous_digest) = 64),
    previous_until  TEXT COLLATE "C",
    created_at      TEXT COLLATE "C" NOT NULL,
    created_by      TEXT NOT NULL,
    revoked_at      TEXT COLLATE "C",
    revoked_by      TEXT,
    CHECK ((previous_digest IS NULL) = (previous_until IS NULL)),
    CHECK ((revoked_at IS NULL) = (revoked_by IS NULL))
);

CREATE TRIGGER access_keys_kept BEFORE DELETE ON access_keys
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER access_keys_not_emptied BEFORE TRUNCATE ON access_keys
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER access_keys_kept_on_update BEFORE UPDATE ON access_keys FOR EACH ROW
    WHEN (OLD.revoked_at IS NOT NULL OR NEW.id <> OLD.id OR NEW.person <> OLD.person OR NEW.role <> OLD.role
    OR NEW.shared <> OLD.shared OR NEW.created_at <> OLD.created_at OR NEW.created_by <> OLD.created_by)
    EXECUTE FUNCTION kept_row();

-- Every write leaves an entry. The digest of each covers the digest of the one before it.
CREATE TABLE audit_entries (
    sequence   BIGINT NOT NULL PRIMARY KEY CHECK (sequence >= 1),
    written_at TEXT COLLATE "C" NOT NULL,
    person     TEXT COLLATE "C" NOT NULL,
    role       TEXT NOT NULL,
    key_id     TEXT,
    operation  TEXT NOT NULL,
    subject    TEXT COLLATE "C" NOT NULL,
    before     TEXT CHECK (length(before) = 64),
    after      TEXT CHECK (length(after) = 64),
    request_id TEXT,
    previous   TEXT NOT NULL CHECK (length(previous) = 64),
    digest     TEXT NOT NULL UNIQUE CHECK (length(digest) = 64)
);
CREATE INDEX audit_entries_of_subject ON audit_entries (subject, sequence);
CREATE INDEX audit_entries_of_person ON audit_entries (person, sequence);

-- One row: the newest entry. It is the lock that gives the entries one order, and it tells when the last is missing.
CREATE TABLE audit_head (
    id       INTEGER NOT NULL PRIMARY KEY CHECK (id = 1),
    sequence BIGINT NOT NULL CHECK (sequence >= 0),
    digest   TEXT NOT NULL CHECK (length(digest) = 64)
);
INSERT INTO audit_head (id, sequence, digest)
VALUES (1, 0, '0000000000000000000000000000000000000000000000000000000000000000');

CREATE TRIGGER audit_entries_kept BEFORE UPDATE OR DELETE ON audit_entries
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER audit_entries_not_emptied BEFORE TRUNCATE ON audit_entries
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER audit_head_kept BEFORE DELETE ON audit_head
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER audit_head_not_emptied BEFORE TRUNCATE ON audit_head
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER audit_head_one_on BEFORE UPDATE ON audit_head FOR EACH ROW
    WHEN (NEW.id <> OLD.id OR NEW.sequence <> OLD.sequence + 1)
    EXECUTE FUNCTION kept_row();
