-- A kept row is not replaced either. REPLACE deletes without asking the triggers of deletion, and any connection may say
-- it: so no row comes in whose key is there, and no key is moved onto another row's. The rowid is a key as well.

CREATE TRIGGER item_prices_not_replaced BEFORE INSERT ON item_prices WHEN EXISTS (SELECT 1 FROM item_prices
    WHERE rowid = NEW.rowid
    OR item_code = NEW.item_code AND pack_size = NEW.pack_size AND valid_from = NEW.valid_from)
BEGIN SELECT RAISE(ABORT, 'a row of item_prices is never replaced'); END;
CREATE TRIGGER labour_rates_not_replaced BEFORE INSERT ON labour_rates WHEN EXISTS (SELECT 1 FROM labour_rates
    WHERE rowid = NEW.rowid
    OR labour_class = NEW.labour_class AND valid_from = NEW.valid_from)
BEGIN SELECT RAISE(ABORT, 'a row of labour_rates is never replaced'); END;
CREATE TRIGGER policies_not_replaced BEFORE INSERT ON policies WHEN EXISTS (SELECT 1 FROM policies
    WHERE rowid = NEW.rowid
    OR id = NEW.id AND version = NEW.version)
BEGIN SELECT RAISE(ABORT, 'a row of policies is never replaced'); END;
CREATE TRIGGER rulebooks_not_replaced BEFORE INSERT ON rulebooks WHEN EXISTS (SELECT 1 FROM rulebooks
    WHERE rowid = NEW.rowid
    OR id = NEW.id AND version = NEW.version)
BEGIN SELECT RAISE(ABORT, 'a row of rulebooks is never replaced'); END;
CREATE TRIGGER rulebooks_key_kept BEFORE UPDATE ON rulebooks
    WHEN NEW.rowid <> OLD.rowid
    OR NEW.id <> OLD.id
    OR NEW.version <> OLD.version
BEGIN SELECT RAISE(ABORT, 'the key of a row of rulebooks is never changed'); END;
CREATE TRIGGER quote_counters_not_replaced BEFORE INSERT ON quote_counters WHEN EXISTS (SELECT 1 FROM quote_counters
    WHERE year = NEW.year)
BEGIN SELECT RAISE(ABORT, 'a row of quote_counters is never replaced'); END;
CREATE TRIGGER quote_counters_key_kept BEFORE UPDATE ON quote_counters
    WHEN NEW.year <> OLD.year
BEGIN SELECT RAISE(ABORT, 'the key of a row of quote_counters is never changed'); END;
CREATE TRIGGER quotes_not_replaced BEFORE INSERT ON quotes WHEN EXISTS (SELECT 1 FROM quotes
    WHERE rowid = NEW.rowid
    OR id = NEW.id
    OR year = NEW.year AND counter = NEW.counter
    OR number = NEW.number)
BEGIN SELECT RAISE(ABORT, 'a row of quotes is never replaced'); END;
CREATE TRIGGER quotes_key_kept BEFORE UPDATE ON quotes
    WHEN NEW.rowid <> OLD.rowid
    OR NEW.id <> OLD.id
    OR NEW.year <> OLD.year
    OR NEW.counter <> OLD.counter
    OR NEW.number <> OLD.number
BEGIN SELECT RAISE(ABORT, 'the key of a row of quotes is never changed'); END;
CREATE TRIGGER snapshots_not_replaced BEFORE INSERT ON snapshots WHEN EXISTS (SELECT 1 FROM snapshots
    WHERE rowid = NEW.rowid
    OR digest = NEW.digest)
BEGIN SELECT RAISE(ABORT, 'a row of snapshots is never replaced'); END;
CREATE TRIGGER revisions_not_replaced BEFORE INSERT ON revisions WHEN EXISTS (SELECT 1 FROM revisions
    WHERE rowid = NEW.rowid
    OR quote_id = NEW.quote_id AND change_order = NEW.change_order AND revision = NEW.revision)
BEGIN SELECT RAISE(ABORT, 'a row of revisions is never replaced'); END;
CREATE TRIGGER revisions_key_kept BEFORE UPDATE ON revisions
    WHEN NEW.rowid <> OLD.rowid
    OR NEW.quote_id <> OLD.quote_id
    OR NEW.change_order <> OLD.change_order
    OR NEW.revision <> OLD.revision
BEGIN SELECT RAISE(ABORT, 'the key of a row of revisions is never changed'); END;
CREATE TRIGGER issued_revisions_not_replaced BEFORE INSERT ON issued_revisions WHEN EXISTS (SELECT 1 FROM issued_revisions
    WHERE rowid = NEW.rowid
    OR quote_id = NEW.quote_id AND change_order = NEW.change_order AND revision = NEW.revision
    OR digest = NEW.digest)
BEGIN SELECT RAISE(ABORT, 'a row of issued_revisions is never replaced'); END;
CREATE TRIGGER acceptances_not_replaced BEFORE INSERT ON acceptances WHEN EXISTS (SELECT 1 FROM acceptances
    WHERE rowid = NEW.rowid
    OR quote_id = NEW.quote_id AND change_order = NEW.change_order
    OR digest = NEW.digest)
BEGIN SELECT RAISE(ABORT, 'a row of acceptances is never replaced'); END;
CREATE TRIGGER approvals_not_replaced BEFORE INSERT ON approvals WHEN EXISTS (SELECT 1 FROM approvals
    WHERE rowid = NEW.rowid
    OR quote_id = NEW.quote_id AND change_order = NEW.change_order AND revision = NEW.revision AND position = NEW.position)
BEGIN SELECT RAISE(ABORT, 'a row of approvals is never replaced'); END;
CREATE TRIGGER transitions_not_replaced BEFORE INSERT ON transitions WHEN EXISTS (SELECT 1 FROM transitions
    WHERE rowid = NEW.rowid
    OR quote_id = NEW.quote_id AND position = NEW.position)
BEGIN SELECT RAISE(ABORT, 'a row of transitions is never replaced'); END;
CREATE TRIGGER price_list_mappings_not_replaced BEFORE INSERT ON price_list_mappings WHEN EXISTS (SELECT 1 FROM price_list_mappings
    WHERE rowid = NEW.rowid
    OR id = NEW.id AND version = NEW.version)
BEGIN SELECT RAISE(ABORT, 'a row of price_list_mappings is never replaced'); END;
CREATE TRIGGER price_lists_not_replaced BEFORE INSERT ON price_lists WHEN EXISTS (SELECT 1 FROM price_lists
    WHERE number = NEW.number)
BEGIN SELECT RAISE(ABORT, 'a row of price_lists is never replaced'); END;
CREATE TRIGGER price_list_rows_not_replaced BEFORE INSERT ON price_list_rows WHEN EXISTS (SELECT 1 FROM price_list_rows
    WHERE rowid = NEW.rowid
    OR price_list = NEW.price_list AND position = NEW.position)
BEGIN SELECT RAISE(ABORT, 'a row of price_list_rows is never replaced'); END;
CREATE TRIGGER rulebook_calendar_not_replaced BEFORE INSERT ON rulebook_calendar WHEN EXISTS (SELECT 1 FROM rulebook_calendar
    WHERE rowid = NEW.rowid
    OR rulebook = NEW.rulebook AND position = NEW.position)
BEGIN SELECT RAISE(ABORT, 'a row of rulebook_calendar is never replaced'); END;
CREATE TRIGGER rulebook_retirements_not_replaced BEFORE INSERT ON rulebook_retirements WHEN EXISTS (SELECT 1 FROM rulebook_retirements
    WHERE rowid = NEW.rowid
    OR rulebook = NEW.rulebook AND version = NEW.version)
BEGIN SELECT RAISE(ABORT, 'a row of rulebook_retirements is never replaced'); END;
CREATE TRIGGER accounting_feed_end_not_replaced BEFORE INSERT ON accounting_feed_end WHEN EXISTS (SELECT 1 FROM accounting_feed_end
    WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'a row of accounting_feed_end is never replaced'); END;
CREATE TRIGGER accounting_feed_end_key_kept BEFORE UPDATE ON accounting_feed_end
    WHEN NEW.id <> OLD.id
BEGIN SELECT RAISE(ABORT, 'the key of a row of accounting_feed_end is never changed'); END;
CREATE TRIGGER accounting_feed_not_replaced BEFORE INSERT ON accounting_feed WHEN EXISTS (SELECT 1 FROM accounting_feed
    WHERE position = NEW.position
    OR quote_id = NEW.quote_id AND transition = NEW.transition)
BEGIN SELECT RAISE(ABORT, 'a row of accounting_feed is never replaced'); END;
CREATE TRIGGER accounting_receipts_not_replaced BEFORE INSERT ON accounting_receipts WHEN EXISTS (SELECT 1 FROM accounting_receipts
    WHERE rowid = NEW.rowid
    OR quote_id = NEW.quote_id AND change_order = NEW.change_order)
BEGIN SELECT RAISE(ABORT, 'a row of accounting_receipts is never replaced'); END;
CREATE TRIGGER accounting_refusals_not_replaced BEFORE INSERT ON accounting_refusals WHEN EXISTS (SELECT 1 FROM accounting_refusals
    WHERE rowid = NEW.rowid
    OR quote_id = NEW.quote_id AND change_order = NEW.change_order AND reference = NEW.reference AND currency = NEW.currency AND total = NEW.total)
BEGIN SELECT RAISE(ABORT, 'a row of accounting_refusals is never replaced'); END;
CREATE TRIGGER accounting_settings_not_replaced BEFORE INSERT ON accounting_settings WHEN EXISTS (SELECT 1 FROM accounting_settings
    WHERE version = NEW.version)
BEGIN SELECT RAISE(ABORT, 'a row of accounting_settings is never replaced'); END;
CREATE TRIGGER house_styles_not_replaced BEFORE INSERT ON house_styles WHEN EXISTS (SELECT 1 FROM house_styles
    WHERE rowid = NEW.rowid
    OR id = NEW.id AND version = NEW.version)
BEGIN SELECT RAISE(ABORT, 'a row of house_styles is never replaced'); END;
CREATE TRIGGER access_keys_not_replaced BEFORE INSERT ON access_keys WHEN EXISTS (SELECT 1 FROM access_keys
    WHERE rowid = NEW.rowid
    OR id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'a row of access_keys is never replaced'); END;
CREATE TRIGGER access_keys_key_kept BEFORE UPDATE ON access_keys
    WHEN NEW.rowid <> OLD.rowid
    OR NEW.id <> OLD.id
BEGIN SELECT RAISE(ABORT, 'the key of a row of access_keys is never changed'); END;
CREATE TRIGGER audit_entries_not_replaced BEFORE INSERT ON audit_entries WHEN EXISTS (SELECT 1 FROM audit_entries
    WHERE sequence = NEW.sequence
    OR digest = NEW.digest)
BEGIN SELECT RAISE(ABORT, 'a row of audit_entries is never replaced'); END;
CREATE TRIGGER audit_head_not_replaced BEFORE INSERT ON audit_head WHEN EXISTS (SELECT 1 FROM audit_head
    WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'a row of audit_head is never replaced'); END;
CREATE TRIGGER audit_head_key_kept BEFORE UPDATE ON audit_head
    WHEN NEW.id <> OLD.id
BEGIN SELECT RAISE(ABORT, 'the key of a row of audit_head is never changed'); END;
CREATE TRIGGER snapshot_parts_not_replaced BEFORE INSERT ON snapshot_parts WHEN EXISTS (SELECT 1 FROM snapshot_parts
    WHERE rowid = NEW.rowid
    OR digest = NEW.digest)
BEGIN SELECT RAISE(ABORT, 'a row of snapshot_parts is never replaced'); END;

-- What an entry of the audit wrote: table, key and SHA-256 of each row, as JSON. `after` is the digest of this text, so it
-- stands in the chain. Entries from before have none.
ALTER TABLE audit_entries ADD COLUMN written TEXT;

-- The texts of customers and sites by their trigrams, as those of quotes. A key is a text here, and so it is kept beside.
CREATE VIRTUAL TABLE customer_texts USING fts5 (id UNINDEXED, search, tokenize = 'trigram', detail = 'none');
INSERT INTO customer_texts (id, search) SELECT id, search FROM customers;
CREATE TRIGGER customers_text_on_insert AFTER INSERT ON customers
BEGIN INSERT INTO customer_texts (id, search) VALUES (NEW.id, NEW.search); END;
CREATE TRIGGER customers_text_on_update AFTER UPDATE OF search ON customers WHEN NEW.search <> OLD.search
BEGIN UPDATE customer_texts SET search = NEW.search WHERE id = NEW.id; END;

CREATE VIRTUAL TABLE site_texts USING fts5 (id UNINDEXED, search, tokenize = 'trigram', detail = 'none');
INSERT INTO site_texts (id, search) SELECT id, search FROM sites;
CREATE TRIGGER sites_text_on_insert AFTER INSERT ON sites
BEGIN INSERT INTO site_texts (id, search) VALUES (NEW.id, NEW.search); END;
CREATE TRIGGER sites_text_on_update AFTER UPDATE OF search ON sites WHEN NEW.search <> OLD.search
BEGIN UPDATE site_texts SET search = NEW.search WHERE id = NEW.id; END;
