-- How the office's papers look, in versions; a paper of a revision has the version that held when it was issued.

CREATE TABLE house_styles (
    id         TEXT COLLATE "C" NOT NULL,
    version    INTEGER NOT NULL CHECK (version >= 1),
    body       TEXT NOT NULL,
    created_at TEXT NOT NULL,
    PRIMARY KEY (id, version)
);

CREATE TRIGGER house_styles_kept BEFORE UPDATE OR DELETE ON house_styles
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER house_styles_not_emptied BEFORE TRUNCATE ON house_styles
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
