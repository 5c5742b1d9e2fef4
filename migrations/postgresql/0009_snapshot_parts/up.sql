-- Long snapshots are kept in parts, and a part that two of them have in common is kept once: a catalogue in which one
-- price is another is the same text but for that place. `parts` are the digests of the parts, one after the other; what
-- stands in `content` comes before them.

CREATE TABLE snapshot_parts (
    digest  TEXT COLLATE "C" NOT NULL PRIMARY KEY CHECK (length(digest) = 64),
    content TEXT NOT NULL
);
ALTER TABLE snapshots ADD COLUMN parts TEXT NOT NULL DEFAULT '' CHECK (length(parts) % 64 = 0);

CREATE TRIGGER snapshot_parts_kept BEFORE UPDATE OR DELETE ON snapshot_parts
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER snapshot_parts_not_emptied BEFORE TRUNCATE ON snapshot_parts
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
