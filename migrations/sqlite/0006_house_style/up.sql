-- How the office's papers look, in versions; a paper of a revision has the version that held when it was issued.

CREATE TABLE house_styles (
    id         TEXT NOT NULL,
    version    INTEGER NOT NULL CHECK (version >= 1),
    body       TEXT NOT NULL,
    created_at TEXT NOT NULL,
    PRIMARY KEY (id, version)
) STRICT;

CREATE TRIGGER house_styles_kept_on_update BEFORE UPDATE ON house_styles
BEGIN SELECT RAISE(ABORT, 'a version of a house style is never changed'); END;

CREATE TRIGGER house_styles_kept_on_delete BEFORE DELETE ON house_styles
BEGIN SELECT RAISE(ABORT, 'a version of a house style is never deleted'); END;
