-- One entry of the ledger is the receipt of one acceptance: a reference is taken once. Where one was taken twice before
-- this step, the first that came has it.
CREATE TABLE accounting_references (
    reference    TEXT NOT NULL PRIMARY KEY,
    quote_id     TEXT NOT NULL,
    change_order INTEGER NOT NULL,
    FOREIGN KEY (quote_id, change_order) REFERENCES acceptances (quote_id, change_order)
) STRICT;
CREATE INDEX accounting_references_of_acceptance ON accounting_references (quote_id, change_order);

INSERT INTO accounting_references (reference, quote_id, change_order)
SELECT reference, quote_id, change_order FROM (
    SELECT reference, quote_id, change_order,
        row_number() OVER (PARTITION BY reference ORDER BY received_at, quote_id, change_order) AS place
    FROM accounting_receipts
) AS receipts WHERE place = 1;

CREATE TRIGGER accounting_references_kept_on_update BEFORE UPDATE ON accounting_references
BEGIN SELECT RAISE(ABORT, 'a reference is never changed'); END;
CREATE TRIGGER accounting_references_kept_on_delete BEFORE DELETE ON accounting_references
BEGIN SELECT RAISE(ABORT, 'a reference is never deleted'); END;
CREATE TRIGGER accounting_references_not_replaced BEFORE INSERT ON accounting_references
WHEN EXISTS (SELECT 1 FROM accounting_references WHERE rowid = NEW.rowid OR reference = NEW.reference)
BEGIN SELECT RAISE(ABORT, 'a row of accounting_references is never replaced'); END;
