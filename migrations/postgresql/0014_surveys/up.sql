-- Surveys that are kept while they are not whole. What a survey says is judged when it is read, by the rules of that day.

CREATE TABLE surveys (
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

CREATE TRIGGER surveys_kept BEFORE DELETE ON surveys
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER surveys_not_emptied BEFORE TRUNCATE ON surveys
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
CREATE TRIGGER surveys_key_kept BEFORE UPDATE ON surveys FOR EACH ROW
    WHEN (NEW.id <> OLD.id)
    EXECUTE FUNCTION kept_row();
