-- Surveys that are kept while they are not whole. What a survey says is judged when it is read, by the rules of that day.

CREATE TABLE surveys (
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

CREATE TRIGGER surveys_kept_on_delete BEFORE DELETE ON surveys
BEGIN SELECT RAISE(ABORT, 'a survey is put away, never deleted'); END;
CREATE TRIGGER surveys_not_replaced BEFORE INSERT ON surveys
WHEN EXISTS (SELECT 1 FROM surveys WHERE rowid = NEW.rowid OR id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'a row of surveys is never replaced'); END;
CREATE TRIGGER surveys_key_kept BEFORE UPDATE ON surveys WHEN NEW.rowid <> OLD.rowid OR NEW.id <> OLD.id
BEGIN SELECT RAISE(ABORT, 'the key of a row of surveys is never changed'); END;
