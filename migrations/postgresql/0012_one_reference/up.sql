-- One entry of the ledger is the receipt of one acceptance: a reference is taken once. Where one was taken twice before
-- this step, the first that came has it.
CREATE TABLE accounting_references (
    reference    TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    quote_id     TEXT COLLATE "C" NOT NULL,
    change_order INTEGER NOT NULL,
    FOREIGN KEY (quote_id, change_order) REFERENCES acceptances (quote_id, change_order)
);
CREATE INDEX accounting_references_of_acceptance ON accounting_references (quote_id, change_order);

INSERT INTO accounting_references (reference, quote_id, change_order)
SELECT reference, quote_id, change_order FROM (
    SELECT reference, quote_id, change_order,
        row_number() OVER (PARTITION BY reference ORDER BY received_at, quote_id, change_order) AS place
    FROM accounting_receipts
) AS receipts WHERE place = 1;

CREATE TRIGGER accounting_references_kept BEFORE UPDATE OR DELETE ON accounting_references
    FOR EACH ROW EXECUTE FUNCTION kept_row();
CREATE TRIGGER accounting_references_not_emptied BEFORE TRUNCATE ON accounting_references
    FOR EACH STATEMENT EXECUTE FUNCTION kept_row();
