DROP TABLE audit_head;
DROP TABLE audit_entries;
DROP TABLE access_keys;
