-- Rulebooks in versions: which one is current from which day on, which are retired, and drafts of the next ones. What is
-- there holds from the day on which it was published.

-- On a day that row counts whose first day is the latest one not after it; of two of one day the later entry.
CREATE TABLE rulebook_calendar (
    rulebook     TEXT NOT NULL,
    position     INTEGER NOT NULL CHECK (position >= 1),
    version      INTEGER NOT NULL,
    current_from TEXT NOT NULL CHECK (current_from GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    entered_at   TEXT NOT NULL,
    entered_by   TEXT NOT NULL,
    PRIMARY KEY (rulebook, position),
    FOREIGN KEY (rulebook, version) REFERENCES rulebooks (id, version)
) STRICT;
CREATE INDEX rulebook_calendar_of_version ON rulebook_calendar (rulebook, version);
INSERT INTO rulebook_calendar (rulebook, position, version, current_from, entered_at, entered_by)
    SELECT id, row_number() OVER (PARTITION BY id ORDER BY version), version, substr(created_at, 1, 10), created_at,
        'not recorded'
    FROM rulebooks WHERE state = 'published';

CREATE TABLE rulebook_retirements (
    rulebook   TEXT NOT NULL,
    version    INTEGER NOT NULL,
    reason     TEXT NOT NULL,
    retired_at TEXT NOT NULL,
    retired_by TEXT NOT NULL,
    PRIMARY KEY (rulebook, version),
    FOREIGN KEY (rulebook, version) REFERENCES rulebooks (id, version)
) STRICT;

CREATE TABLE rulebook_drafts (
    id           TEXT NOT NULL PRIMARY KEY,
    rulebook     TEXT NOT NULL,
    base_version INTEGER NOT NULL,
    text         TEXT NOT NULL,
    edit         INTEGER NOT NULL CHECK (edit >= 1),
    created_at   TEXT NOT NULL,
    created_by   TEXT NOT NULL,
    changed_at   TEXT NOT NULL,
    changed_by   TEXT NOT NULL,
    FOREIGN KEY (rulebook, base_version) REFERENCES rulebooks (id, version)
) STRICT;
CREATE INDEX rulebook_drafts_of_version ON rulebook_drafts (rulebook, base_version);

CREATE TRIGGER rulebook_calendar_kept_on_update BEFORE UPDATE ON rulebook_calendar
BEGIN SELECT RAISE(ABORT, 'an entry of the calendar is never changed'); END;
CREATE TRIGGER rulebook_calendar_kept_on_delete BEFORE DELETE ON rulebook_calendar
BEGIN SELECT RAISE(ABORT, 'an entry of the calendar is never deleted'); END;
CREATE TRIGGER rulebook_retirements_kept_on_update BEFORE UPDATE ON rulebook_retirements
BEGIN SELECT RAISE(ABORT, 'a retirement is never changed'); END;
CREATE TRIGGER rulebook_retirements_kept_on_delete BEFORE DELETE ON rulebook_retirements
BEGIN SELECT RAISE(ABORT, 'a retirement is never deleted'); END;
