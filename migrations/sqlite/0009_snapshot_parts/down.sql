DROP TRIGGER snapshots_kept_on_update;
UPDATE snapshots SET content = content || (
    WITH RECURSIVE places (place) AS (
        SELECT 1 UNION ALL SELECT place + 64 FROM places WHERE place + 64 < length(snapshots.parts)
    )
    SELECT group_concat(snapshot_parts.content, '' ORDER BY place)
    FROM places JOIN snapshot_parts ON snapshot_parts.digest = substr(snapshots.parts, place, 64)
) WHERE parts <> '';
ALTER TABLE snapshots DROP COLUMN parts;
DROP TABLE snapshot_parts;
CREATE TRIGGER snapshots_kept_on_update BEFORE UPDATE ON snapshots
BEGIN SELECT RAISE(ABORT, 'a snapshot is never changed'); END;
