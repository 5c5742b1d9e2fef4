ALTER TABLE snapshots DISABLE TRIGGER snapshots_kept;
UPDATE snapshots SET content = content || (
    SELECT string_agg(part.content, '' ORDER BY place)
    FROM generate_series(1, length(snapshots.parts), 64) AS place
    JOIN snapshot_parts AS part ON part.digest = substr(snapshots.parts, place, 64)
) WHERE parts <> '';
ALTER TABLE snapshots ENABLE TRIGGER snapshots_kept;
ALTER TABLE snapshots DROP COLUMN parts;
DROP TABLE snapshot_parts;
