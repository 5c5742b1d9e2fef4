-- Who may come in, and what was written by whom.

-- A key is known by its id; of its secret only the SHA-256 is kept. After a rotation the secret before holds until
-- previous_until.
CREATE TABLE access_keys (
    id              TEXT NOT NULL PRIMARY KEY,
    person          TEXT NOT NULL,
    role            TEXT NOT NULL
        CHECK (role IN ('estimator', 'rule_keeper', 'accounting', 'field', 'owner', 'auditor')),
    shared          INTEGER NOT NULL CHECK (shared IN (0, 1)),
    digest          TEXT NOT NULL CHECK (length(digest) = 64),
    expires_at      TEXT NOT NULL,
    previous_digest TEXT CHECK (length(previous_digest) = 64),
    previous_until  TEXT,
    created_at      TEXT NOT NULL,
    created_by      TEXT NOT NULL,
    revoked_at      TEXT,
    revoked_by      TEXT,
    CHECK ((previous_digest IS NULL) = (previous_until IS NULL)),
    CHECK ((revoked_at IS NULL) = (revoked_by IS NULL))
) STRICT;

CREATE TRIGGER access_keys_kept_on_delete BEFORE DELETE ON access_keys
BEGIN SELECT RAISE(ABORT, 'an access key is revoked, never deleted'); END;
CREATE TRIGGER access_keys_kept_on_update BEFORE UPDATE ON access_keys
    WHEN OLD.revoked_at IS NOT NULL OR NEW.id <> OLD.id OR NEW.person <> OLD.person OR NEW.role <> OLD.role
    OR NEW.shared <> OLD.shared OR NEW.created_at <> OLD.created_at OR NEW.created_by <> OLD.created_by
BEGIN SELECT RAISE(ABORT, 'whose key it is, and that it was revoked, is never changed'); END;

-- Every write leaves an entry. The digest of each covers the digest of the one before it.
CREATE TABLE audit_entries (
    sequence   INTEGER NOT NULL PRIMARY KEY CHECK (sequence >= 1),
    written_at TEXT NOT NULL,
    person     TEXT NOT NULL,
    role       TEXT NOT NULL,
    key_id     TEXT,
    operation  TEXT NOT NULL,
    subject    TEXT NOT NULL,
    before     TEXT CHECK (length(before) = 64),
    after      TEXT CHECK (length(after) = 64),
    request_id TEXT,
    previous   TEXT NOT NULL CHECK (length(previous) = 64),
    digest     TEXT NOT NULL UNIQUE CHECK (length(digest) = 64)
) STRICT;
CREATE INDEX audit_entries_of_subject ON audit_entries (subject, sequence);
CREATE INDEX audit_entries_of_person ON audit_entries (person, sequence);

-- One row: the newest entry. It is the lock that gives the entries one order, and it tells when the last is missing.
CREATE TABLE audit_head (
    id       INTEGER NOT NULL PRIMARY KEY CHECK (id = 1),
    sequence INTEGER NOT NULL CHECK (sequence >= 0),
    digest   TEXT NOT NULL CHECK (length(digest) = 64)
) STRICT;
INSERT INTO audit_head (id, sequence, digest)
VALUES (1, 0, '0000000000000000000000000000000000000000000000000000000000000000');

CREATE TRIGGER audit_entries_kept_on_update BEFORE UPDATE ON audit_entries
BEGIN SELECT RAISE(ABORT, 'an audit entry is never changed'); END;
CREATE TRIGGER audit_entries_kept_on_delete BEFORE DELETE ON audit_entries
BEGIN SELECT RAISE(ABORT, 'an audit entry is never deleted'); END;
CREATE TRIGGER audit_head_kept_on_delete BEFORE DELETE ON audit_head
BEGIN SELECT RAISE(ABORT, 'the head of the audit is never deleted'); END;
CREATE TRIGGER audit_head_one_on BEFORE UPDATE ON audit_head
    WHEN NEW.id <> OLD.id OR NEW.sequence <> OLD.sequence + 1
BEGIN SELECT RAISE(ABORT, 'the head of the audit never moves but by one'); END;
